//! NEMA frames: shaft height, feet and shaft (NEMA MG 1 4.4.1; sources in `data/nema_frames.csv`).

use super::table::rows;
use crate::units::Inches;
use serde::Deserialize;
use std::collections::{HashMap, HashSet};
use std::sync::LazyLock;

/// Dimensions of a foot-mounted NEMA frame with a single straight shaft, inches.
#[derive(Debug, Clone, PartialEq, Deserialize)]
pub struct NemaFrame {
    /// Frame designation without face and mounting suffixes, such as `184T`.
    pub frame: String,
    /// `two_digit`, `T`, `TS`, `U`, `US` or `original` (before 1952).
    pub era: String,
    /// Shaft height: from the feet to the centre of the shaft.
    #[serde(rename = "D")]
    pub d: Inches,
    /// Between the foot holes across the shaft.
    #[serde(rename = "2E")]
    pub two_e: Inches,
    /// Between the foot holes along the shaft.
    #[serde(rename = "2F")]
    pub two_f: Inches,
    /// From the shaft's shoulder to the first foot hole.
    #[serde(rename = "BA")]
    pub ba: Inches,
    /// Foot hole diameter or slot width.
    #[serde(rename = "H")]
    pub h: Inches,
    /// `hole` or `slot`.
    #[serde(rename = "H_kind")]
    pub h_kind: String,
    /// Shaft diameter.
    #[serde(rename = "U")]
    pub u: Inches,
    /// Length of the shaft from its shoulder.
    #[serde(rename = "N-W")]
    pub n_w: Inches,
    /// `square` or `flat`.
    pub key_kind: String,
    /// Width of a square key; `None` where the shaft has a flat.
    pub key_width: Option<Inches>,
    /// A second hole pattern along the shaft, where the feet have one.
    #[serde(rename = "alt_2F")]
    pub alt_two_f: Option<Inches>,
    /// `read`, `mixed` or `memory`.
    pub confidence: String,
}

impl NemaFrame {
    /// All frames of the table.
    pub fn all() -> &'static [NemaFrame] {
        &FRAMES.0
    }
}

/// The frames and where each name stands among them.
static FRAMES: LazyLock<(Vec<NemaFrame>, HashMap<String, usize>)> = LazyLock::new(|| {
    let frames: Vec<NemaFrame> = rows(include_str!("data/nema_frames.csv"));
    let names = frames
        .iter()
        .enumerate()
        .map(|(i, f)| (f.frame.clone(), i))
        .collect();
    (frames, names)
});

/// The frame with exactly this designation, such as `56`, `56H`, `184T` or `364TS`.
pub fn nema_frame(designation: &str) -> Option<&'static NemaFrame> {
    FRAMES.1.get(designation).and_then(|&i| FRAMES.0.get(i))
}

/// Whether a frame of the table has this number, such as `184` or `56`.
pub fn is_nema_number(digits: &str) -> bool {
    static NUMBERS: LazyLock<HashSet<&str>> = LazyLock::new(|| {
        let frames = NemaFrame::all().iter();
        frames
            .map(|f| f.frame.trim_end_matches(|c: char| c.is_ascii_alphabetic()))
            .collect()
    });
    NUMBERS.contains(digits)
}

/// The shaft height that the digits of a NEMA frame stand for: two digits are sixteenths of an inch, of
/// three and four digits the first two are quarters. `None` when it is no number of two to four digits.
///
/// Source: NEMA MG 1 4.4.1 and 4.2 (frame numbering).
pub fn shaft_height(digits: &str) -> Option<Inches> {
    if !(2..=4).contains(&digits.len()) || !digits.bytes().all(|b| b.is_ascii_digit()) {
        return None;
    }
    let first_two: f64 = digits[..2].parse().ok()?;
    Some(Inches(
        first_two / if digits.len() == 2 { 16.0 } else { 4.0 },
    ))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Source: NEMA MG 1 4.4.1: D is the first two digits over 4, or the two digits over 16.
    #[test]
    fn shaft_heights_follow_from_the_digits() {
        assert!(NemaFrame::all().len() >= 80);
        let wrong: Vec<String> = NemaFrame::all()
            .iter()
            .filter(|f| {
                let digits: String = f.frame.chars().take_while(char::is_ascii_digit).collect();
                shaft_height(&digits) != Some(f.d)
            })
            .map(|f| format!("{}: {}", f.frame, f.d))
            .collect();
        assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    }

    /// Source: key widths by shaft diameter, NEMA MG 1 4.4.1 as given in `data/nema_frames.csv`.
    #[test]
    fn key_widths_follow_from_the_shaft() {
        let expected = |u: f64| match u {
            u if u <= 0.875 => 0.1875,
            u if u <= 1.25 => 0.25,
            u if u <= 1.375 => 0.3125,
            u if u <= 1.75 => 0.375,
            u if u <= 2.25 => 0.5,
            u if u <= 2.75 => 0.625,
            u if u <= 3.25 => 0.75,
            _ => 0.875,
        };
        let wrong: Vec<String> = NemaFrame::all()
            .iter()
            .filter_map(|f| Some((f, f.key_width?)))
            .filter(|(f, key)| key.0 != expected(f.u.0))
            .map(|(f, key)| format!("{}: shaft {}, key {key}", f.frame, f.u))
            .collect();
        assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    }

    #[test]
    fn designations_are_found_as_they_are_written() {
        assert_eq!(nema_frame("184T").map(|f| f.two_f), Some(Inches(5.5)));
        assert_eq!(
            nema_frame("56H").and_then(|f| f.alt_two_f),
            Some(Inches(3.0))
        );
        assert_eq!(nema_frame("48").and_then(|f| f.key_width), None);
        assert!(nema_frame("999T").is_none());
        assert!(is_nema_number("184") && is_nema_number("42") && !is_nema_number("183"));
        assert_eq!(shaft_height("1840"), Some(Inches(4.5)));
        assert_eq!(shaft_height("5"), None);
        assert_eq!(shaft_height("5x"), None);
    }
}
