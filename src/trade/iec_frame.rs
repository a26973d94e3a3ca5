//! IEC frames: shaft height, feet and shaft (IEC 60072-1; sources in `data/iec_frames.csv`).

use super::table::rows;
use crate::units::Inches;
use serde::Deserialize;
use std::sync::LazyLock;

/// Millimetres in an inch, exact.
const MM: f64 = 25.4;

/// Dimensions of a foot-mounted IEC frame, millimetres.
#[derive(Debug, Clone, PartialEq, Deserialize)]
pub struct IecFrame {
    /// Frame designation, such as `90L`.
    pub frame: String,
    /// Shaft height.
    #[serde(rename = "H")]
    pub h_mm: f64,
    /// Between the foot holes across the shaft.
    #[serde(rename = "A")]
    pub a_mm: f64,
    /// Between the foot holes along the shaft.
    #[serde(rename = "B")]
    pub b_mm: f64,
    /// From the shaft's shoulder to the first foot hole.
    #[serde(rename = "C")]
    pub c_mm: f64,
    #[serde(rename = "D_2pole")]
    d_2pole_mm: f64,
    #[serde(rename = "E_2pole")]
    e_2pole_mm: f64,
    #[serde(rename = "D_4to8pole")]
    d_4to8pole_mm: f64,
    #[serde(rename = "E_4to8pole")]
    e_4to8pole_mm: f64,
    /// The NEMA frames nearest by shaft height; feet and shaft never match.
    pub nearest_nema: String,
    /// `read` or `memory`.
    pub confidence: String,
}

impl IecFrame {
    /// All frames of the table.
    pub fn all() -> &'static [IecFrame] {
        &FRAMES
    }

    /// Shaft height in inches.
    pub fn shaft_height(&self) -> Inches {
        Inches(self.h_mm / MM)
    }

    /// Diameter and length of the shaft in inches; large frames have a thinner one at two poles.
    pub fn shaft(&self, two_pole: bool) -> (Inches, Inches) {
        let (d, e) = if two_pole {
            (self.d_2pole_mm, self.e_2pole_mm)
        } else {
            (self.d_4to8pole_mm, self.e_4to8pole_mm)
        };
        (Inches(d / MM), Inches(e / MM))
    }
}

static FRAMES: LazyLock<Vec<IecFrame>> =
    LazyLock::new(|| rows(include_str!("data/iec_frames.csv")));

/// The frame with this designation, such as `90L`; `71` alone is `71M`, since that size has one length only.
pub fn iec_frame(designation: &str) -> Option<&'static IecFrame> {
    let exact = FRAMES.iter().find(|f| f.frame == designation);
    exact.or_else(|| {
        let mut of_size = FRAMES
            .iter()
            .filter(|f| f.frame.trim_end_matches(['S', 'M', 'L']) == designation);
        let first = of_size.next()?;
        of_size.next().is_none().then_some(first)
    })
}

/// The shaft heights of the table, millimetres, each once.
pub fn iec_heights() -> &'static [u16] {
    static HEIGHTS: LazyLock<Vec<u16>> = LazyLock::new(|| {
        let mut heights: Vec<u16> = FRAMES.iter().map(|f| f.h_mm as u16).collect();
        heights.sort_unstable();
        heights.dedup();
        heights
    });
    &HEIGHTS
}

/// Largest diameter of a range, and the width of its parallel key, millimetres.
/// Source: ISO/R 773, which IEC 60072-1 follows (from memory).
const KEYS: &[(f64, f64)] = &[
    (8.0, 2.0),
    (10.0, 3.0),
    (12.0, 4.0),
    (17.0, 5.0),
    (22.0, 6.0),
    (30.0, 8.0),
    (38.0, 10.0),
    (44.0, 12.0),
    (50.0, 14.0),
    (58.0, 16.0),
    (65.0, 18.0),
    (75.0, 20.0),
    (85.0, 22.0),
    (95.0, 25.0),
];

/// Width of the key of a metric shaft of this diameter.
pub fn iec_key(diameter: Inches) -> Option<Inches> {
    let mm = (diameter.0 * MM * 100.0).round() / 100.0;
    let (_, key) = KEYS.iter().find(|(most, _)| mm <= *most)?;
    (mm >= 6.0).then_some(Inches(key / MM))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Source: IEC 60072-1: the number of a frame is its shaft height in millimetres.
    #[test]
    fn the_number_is_the_shaft_height() {
        assert!(IecFrame::all().len() >= 25);
        for f in IecFrame::all() {
            let digits: String = f.frame.chars().take_while(char::is_ascii_digit).collect();
            assert_eq!(digits.parse::<f64>().unwrap(), f.h_mm, "{}", f.frame);
            let (thin, thick) = (f.shaft(true), f.shaft(false));
            assert!(thin.0 <= thick.0 && thin.1 <= thick.1, "{}", f.frame);
        }
    }

    /// Source: IEC 60072-1 shaft extensions and their keys, F x GD (from memory).
    #[test]
    fn keys_follow_from_the_diameter() {
        for (shaft, key) in [
            (9.0, 3.0),
            (11.0, 4.0),
            (14.0, 5.0),
            (19.0, 6.0),
            (24.0, 8.0),
            (28.0, 8.0),
            (38.0, 10.0),
            (42.0, 12.0),
            (48.0, 14.0),
            (55.0, 16.0),
            (60.0, 18.0),
            (65.0, 18.0),
            (75.0, 20.0),
            (80.0, 22.0),
        ] {
            let width = iec_key(Inches(shaft / MM)).map(|k| (k.0 * MM).round());
            assert_eq!(width, Some(key), "{shaft} mm");
        }
        assert_eq!(iec_key(Inches(0.1)), None);
        assert_eq!(iec_heights().len(), 15);
    }

    #[test]
    fn a_size_with_one_length_needs_no_letter() {
        assert_eq!(iec_frame("71").map(|f| f.frame.as_str()), Some("71M"));
        assert!(iec_frame("90").is_none());
        assert_eq!(iec_frame("90L").map(|f| f.b_mm), Some(125.0));
    }
}
