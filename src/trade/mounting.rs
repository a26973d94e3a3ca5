//! Mounting codes (NEMA MG 1 Figure 4-6, IEC 60034-7, and trade usage; sources in
//! `data/mounting_positions.csv`).

use super::table::{compact, rows};
use serde::Deserialize;
use std::sync::LazyLock;

/// One way to mount a motor.
#[derive(Debug, Clone, PartialEq, Deserialize)]
pub struct Mounting {
    /// `NEMA`, `IEC` or `HVAC`.
    pub system: String,
    /// The usual code, such as `F-1` or `IM B3`.
    pub code: String,
    spellings: String,
    /// What it is, in words.
    pub mounting: String,
    /// Where the conduit box sits, seen from the shaft end; empty when the code does not say.
    pub conduit_box: String,
    /// `read`, `memory`, or what is and what is not verified.
    pub confidence: String,
}

impl Mounting {
    /// All codes of the table.
    pub fn all() -> &'static [Mounting] {
        &MOUNTINGS
    }
}

static MOUNTINGS: LazyLock<Vec<Mounting>> =
    LazyLock::new(|| rows(include_str!("data/mounting_positions.csv")));

/// The mounting that a code or a word stands for, whatever its dashes and spaces.
pub fn mounting(spelling: &str) -> Option<&'static Mounting> {
    let wanted = compact(spelling);
    if wanted.is_empty() {
        return None;
    }
    MOUNTINGS.iter().find(|m| {
        compact(&m.code) == wanted || m.spellings.split('|').any(|s| compact(s) == wanted)
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_code_and_spelling_leads_to_its_row() {
        assert_eq!(Mounting::all().len(), 26);
        let wrong: Vec<String> = Mounting::all()
            .iter()
            .flat_map(|m| {
                m.spellings
                    .split('|')
                    .chain([m.code.as_str()])
                    .map(move |s| (m, s))
            })
            .filter(|(m, s)| mounting(s) != Some(*m))
            .map(|(m, s)| format!("{s}: not {}", m.code))
            .collect();
        assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    }

    /// Source: NEMA MG 1 Figure 4-6: box left (F-1), right (F-2), on top (F-3), seen from the shaft end.
    #[test]
    fn the_conduit_box_is_told_from_the_shaft_end() {
        for (code, side) in [("F1", "left"), ("F-2", "right"), ("F3", "top")] {
            assert!(
                mounting(code).is_some_and(|m| m.conduit_box.contains(side)),
                "{code}"
            );
        }
        assert!(mounting("").is_none());
    }
}
