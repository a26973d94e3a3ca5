//! Locked-rotor currents (NEC 430.251(A) and (B); sources in `data/nec_locked_rotor.csv`).

use super::table::rows;
use crate::units::Amps;
use serde::Deserialize;
use std::sync::LazyLock;

/// The locked-rotor current that the code gives for one rating.
#[derive(Debug, Clone, PartialEq, Deserialize)]
pub struct LockedRotor {
    /// 1 or 3.
    pub phase: u8,
    /// Horsepower.
    #[serde(rename = "hp_decimal")]
    pub hp: f64,
    /// Rated voltage of the motor.
    pub volts: f64,
    /// Current, amperes.
    #[serde(rename = "locked_rotor_A")]
    pub amps: Amps,
    /// What is odd about the row.
    pub note: String,
}

impl LockedRotor {
    /// All rows of the table.
    pub fn all() -> &'static [LockedRotor] {
        &ROWS
    }
}

static ROWS: LazyLock<Vec<LockedRotor>> =
    LazyLock::new(|| rows(include_str!("data/nec_locked_rotor.csv")));

/// Locked-rotor current of a rating that stands in the table; `None` between and beyond its rows.
pub fn locked_rotor(phase: u8, hp: f64, volts: f64) -> Option<Amps> {
    let row = ROWS
        .iter()
        .find(|r| r.phase == phase && r.volts == volts && (r.hp - hp).abs() < 1e-3)?;
    Some(row.amps)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Source: NEC 430.251: six times the full-load current, within the rounding of its rows. One row of
    /// 430.251(A) (10 hp, 115 V) reads 1000 A in the copy used and says so.
    #[test]
    fn every_row_is_found_and_goes_with_the_inverse_of_the_voltage() {
        assert_eq!(LockedRotor::all().len(), 149);
        let mut wrong = Vec::new();
        for row in LockedRotor::all() {
            if locked_rotor(row.phase, row.hp, row.volts) != Some(row.amps) {
                wrong.push(format!("{row:?}: not found"));
            }
            let at_230 = locked_rotor(row.phase, row.hp, 230.0);
            if let (Some(base), true) = (at_230, row.note.is_empty()) {
                let ratio = row.amps.0 * row.volts / (base.0 * 230.0);
                if !(0.95..1.05).contains(&ratio) {
                    wrong.push(format!("{row:?}: {ratio:.3} of the 230 V row"));
                }
            }
        }
        assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    }

    #[test]
    fn between_the_rows_there_is_nothing() {
        assert_eq!(locked_rotor(3, 10.0, 460.0), Some(Amps(81.0)));
        assert_eq!(locked_rotor(3, 11.0, 460.0), None);
        assert_eq!(locked_rotor(1, 10.0, 460.0), None);
    }
}
