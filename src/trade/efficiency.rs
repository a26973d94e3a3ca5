//! Nominal efficiencies (NEMA MG 1 Tables 12-10 to 12-12, 10 CFR 431.25 and 431.446; sources in the tables).

use super::table::rows;
use crate::units::Horsepower;
use serde::Deserialize;
use std::sync::LazyLock;

/// One cell of Tables 12-11 (energy efficient) and 12-12 (premium).
#[derive(Debug, Clone, Deserialize)]
pub struct NominalEfficiency {
    /// `energy_efficient` or `premium`.
    pub class: String,
    /// Power.
    pub hp: Horsepower,
    /// Poles.
    pub poles: u32,
    /// `open` or `enclosed`.
    pub enclosure: String,
    /// Nominal full-load efficiency, per cent.
    #[serde(rename = "nominal_percent")]
    pub nominal: f64,
    /// The least that a motor with that nominal value may have, per cent.
    #[serde(rename = "minimum_percent")]
    pub minimum: f64,
}

/// One step of Table 12-10.
#[derive(Debug, Clone, Deserialize)]
pub struct EfficiencyBand {
    /// Nominal value, per cent.
    #[serde(rename = "nominal_percent")]
    pub nominal: f64,
    /// Guaranteed minimum, per cent.
    #[serde(rename = "minimum_percent")]
    pub minimum: f64,
}

/// One row for small three-phase open motors (10 CFR 431.446).
#[derive(Debug, Clone, Deserialize)]
pub struct SmallMotorEfficiency {
    /// Power; thirds are rounded to two decimals.
    pub hp: Horsepower,
    /// Poles.
    pub poles: u32,
    /// Average full-load efficiency, per cent.
    #[serde(rename = "average_percent")]
    pub average: f64,
}

static NOMINAL: LazyLock<Vec<NominalEfficiency>> =
    LazyLock::new(|| rows(include_str!("data/nema_efficiency.csv")));
static BANDS: LazyLock<Vec<EfficiencyBand>> =
    LazyLock::new(|| rows(include_str!("data/nema_efficiency_bands.csv")));
static SMALL: LazyLock<Vec<SmallMotorEfficiency>> =
    LazyLock::new(|| rows(include_str!("data/small_motor_efficiency.csv")));

/// All cells of Tables 12-11 and 12-12.
pub fn nominal_efficiencies() -> &'static [NominalEfficiency] {
    &NOMINAL
}

/// The steps of Table 12-10, the highest first.
pub fn efficiency_bands() -> &'static [EfficiencyBand] {
    &BANDS
}

/// The rows for small three-phase open motors.
pub fn small_motor_efficiencies() -> &'static [SmallMotorEfficiency] {
    &SMALL
}

/// The step of Table 12-10 with this nominal value.
pub fn efficiency_band(nominal_percent: f64) -> Option<&'static EfficiencyBand> {
    BANDS
        .iter()
        .find(|b| (b.nominal - nominal_percent).abs() < 0.005)
}

/// Lowest and highest nominal efficiency that the tables give a three-phase motor of that power (and of
/// those poles, where they are known), per cent. `None` where they have no such power.
pub fn nominal_efficiency_range(hp: Horsepower, poles: Option<u32>) -> Option<(f64, f64)> {
    let fits = |power: Horsepower, p: u32| {
        (power.0 / hp.0 - 1.0).abs() < 0.02 && poles.is_none_or(|wanted| wanted == p)
    };
    let nominal = NOMINAL
        .iter()
        .filter(|e| fits(e.hp, e.poles))
        .map(|e| e.nominal);
    let small = SMALL
        .iter()
        .filter(|e| fits(e.hp, e.poles))
        .map(|e| e.average);
    nominal.chain(small).fold(None, |range, e| match range {
        None => Some((e, e)),
        Some((low, high)) => Some((e.min(low), e.max(high))),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn cell(class: &str, hp: f64, poles: u32, enclosure: &str) -> Option<f64> {
        let mut cells = NOMINAL.iter();
        cells
            .find(|e| {
                e.class == class && e.hp.0 == hp && e.poles == poles && e.enclosure == enclosure
            })
            .map(|e| e.nominal)
    }

    /// Source: 10 CFR 431.25 (Federal efficiency tables, 1997 and 2010), NEMA MG 1 Tables 12-11 and 12-12.
    #[test]
    fn spot_values_of_the_tables() {
        for (class, hp, poles, enclosure, expected) in [
            ("energy_efficient", 1.0, 4, "enclosed", 82.5),
            ("energy_efficient", 2.0, 6, "enclosed", 86.5),
            ("energy_efficient", 3.0, 2, "open", 84.0),
            ("premium", 1.0, 4, "enclosed", 85.5),
            ("premium", 5.0, 4, "open", 89.5),
            ("premium", 10.0, 4, "enclosed", 91.7),
            ("premium", 100.0, 4, "enclosed", 95.4),
        ] {
            assert_eq!(
                cell(class, hp, poles, enclosure),
                Some(expected),
                "{class} {hp} {poles}"
            );
        }
    }

    /// Source: NEMA MG 1 Table 12-10 (from memory): every nominal value lies on its ladder.
    #[test]
    fn every_row_lies_on_the_ladder() {
        for e in nominal_efficiencies() {
            let band = efficiency_band(e.nominal).expect("on the ladder");
            assert_eq!(band.minimum, e.minimum, "{e:?}");
        }
        assert_eq!(efficiency_bands().len(), 51);
        assert!(
            efficiency_bands()
                .windows(2)
                .all(|w| w[0].nominal > w[1].nominal)
        );
        assert!(efficiency_bands().iter().all(|b| b.minimum < b.nominal));
        assert!(efficiency_band(90.0).is_none());
    }

    /// Source: 10 CFR 431.446 (small electric motors, polyphase open).
    #[test]
    fn small_motors() {
        assert_eq!(small_motor_efficiencies().len(), 22);
        assert_eq!(
            nominal_efficiency_range(Horsepower(0.25), Some(4)),
            Some((69.5, 69.5))
        );
        assert_eq!(
            nominal_efficiency_range(Horsepower(1.0 / 3.0), Some(6)),
            Some((71.4, 71.4))
        );
        assert_eq!(nominal_efficiency_range(Horsepower(0.07), None), None);
    }
}
