//! Insulation classes (NEMA MG 1 12.42/12.43, IEC 60085; sources in `data/insulation_classes.csv`).

use super::table::rows;
use crate::units::Celsius;
use serde::Deserialize;
use std::sync::LazyLock;

/// One thermal class.
#[derive(Debug, Clone, Deserialize)]
pub struct InsulationClass {
    #[serde(rename = "class")]
    letters: String,
    /// Temperature that the insulation stands.
    #[serde(rename = "temperature_C")]
    pub temperature: Celsius,
    /// Permitted rise at service factor 1.0 and 40 °C ambient, kelvins.
    #[serde(rename = "rise_sf_1_0_C")]
    pub rise: Option<f64>,
    /// Permitted rise at the service factor load, kelvins.
    #[serde(rename = "rise_sf_above_1_C")]
    pub rise_at_service_factor: Option<f64>,
}

impl InsulationClass {
    /// Its letters; the highest class has two.
    pub fn letters(&self) -> impl Iterator<Item = &str> {
        self.letters.split('|')
    }
}

static CLASSES: LazyLock<Vec<InsulationClass>> =
    LazyLock::new(|| rows(include_str!("data/insulation_classes.csv")));

/// All classes, as the table lists them.
pub fn insulation_classes() -> &'static [InsulationClass] {
    &CLASSES
}

/// The class of a letter, upper case.
pub fn insulation_class(letter: &str) -> Option<&'static InsulationClass> {
    CLASSES.iter().find(|c| c.letters().any(|l| l == letter))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Source: NEMA MG 1 12.42/12.43 and IEC 60085; E, Y, N, R and the rises of H from memory.
    #[test]
    fn temperatures_and_rises() {
        let cases = [
            ("A", 105.0, Some(60.0), Some(70.0)),
            ("E", 120.0, Some(75.0), None),
            ("B", 130.0, Some(80.0), Some(90.0)),
            ("F", 155.0, Some(105.0), Some(115.0)),
            ("H", 180.0, Some(125.0), Some(135.0)),
            ("Y", 90.0, None, None),
            ("N", 200.0, None, None),
            ("R", 220.0, None, None),
            ("C", 220.0, None, None),
        ];
        for (letter, temperature, rise, at_sf) in cases {
            let class = insulation_class(letter).expect(letter);
            assert_eq!(class.temperature, Celsius(temperature), "{letter}");
            assert_eq!(
                (class.rise, class.rise_at_service_factor),
                (rise, at_sf),
                "{letter}"
            );
        }
        assert_eq!(insulation_classes().len(), 8);
        assert!(insulation_class("G").is_none());
    }
}
