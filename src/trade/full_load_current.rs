//! Full-load currents for conductors and overloads (NEC Tables 430.248 and 430.250; sources in `data/nec_flc_*.csv`).
//!
//! They are upper values for general-purpose motors; a plate usually prints less.

use super::table::rows;
use crate::units::{Amps, Horsepower, Volts};
use serde::Deserialize;
use std::sync::LazyLock;

/// One row: the full-load currents of a power at the rated voltages of the table.
#[derive(Debug, Clone, Deserialize)]
struct Row {
    #[serde(rename = "hp_decimal")]
    hp: f64,
    #[serde(rename = "A_115V")]
    at_115: Option<f64>,
    #[serde(rename = "A_200V")]
    at_200: Option<f64>,
    #[serde(rename = "A_208V")]
    at_208: Option<f64>,
    #[serde(rename = "A_230V")]
    at_230: Option<f64>,
    #[serde(rename = "A_460V", default)]
    at_460: Option<f64>,
    #[serde(rename = "A_575V", default)]
    at_575: Option<f64>,
    #[serde(rename = "A_2300V", default)]
    at_2300: Option<f64>,
}

static SINGLE_PHASE: LazyLock<Vec<Row>> =
    LazyLock::new(|| rows(include_str!("data/nec_flc_single_phase.csv")));
static THREE_PHASE: LazyLock<Vec<Row>> =
    LazyLock::new(|| rows(include_str!("data/nec_flc_three_phase.csv")));

/// A column: its rated voltage and the range of voltages that it serves.
const COLUMNS: &[(f64, f64, f64)] = &[
    (115.0, 110.0, 120.0),
    (200.0, 200.0, 200.0),
    (208.0, 208.0, 208.0),
    (230.0, 220.0, 240.0),
    (460.0, 440.0, 480.0),
    (575.0, 550.0, 600.0),
    (2300.0, 2300.0, 2400.0),
];

impl Row {
    fn at(&self, rated: f64) -> Option<f64> {
        match rated as u32 {
            115 => self.at_115,
            200 => self.at_200,
            208 => self.at_208,
            230 => self.at_230,
            460 => self.at_460,
            575 => self.at_575,
            2300 => self.at_2300,
            _ => None,
        }
    }

    /// The current at any voltage: the cell itself, or the cell of the nearest column in inverse proportion.
    fn scaled(&self, volts: f64) -> Option<f64> {
        let cells = COLUMNS
            .iter()
            .filter_map(|c| self.at(c.0).map(|a| (c.0, a)));
        let distance = |rated: f64| (rated / volts).ln().abs();
        let (rated, amps) = cells.min_by(|a, b| distance(a.0).total_cmp(&distance(b.0)))?;
        Some(amps * rated / volts)
    }
}

fn table(phase: u8) -> Option<&'static [Row]> {
    match phase {
        1 => Some(&SINGLE_PHASE),
        3 => Some(&THREE_PHASE),
        _ => None,
    }
}

/// The table's own cell: the full-load current that the code has conductors and protection chosen by.
///
/// `None` where the table has no such power (within 1 %) or voltage.
pub fn full_load_current(phase: u8, hp: Horsepower, volts: Volts) -> Option<Amps> {
    let row = table(phase)?
        .iter()
        .find(|r| (r.hp / hp.0 - 1.0).abs() < 0.01)?;
    let column = COLUMNS.iter().find(|c| c.1 <= volts.0 && volts.0 <= c.2)?;
    row.at(column.0).map(Amps)
}

/// The full-load current of any power and voltage that the table spans: between rows in proportion of the
/// logarithms, between voltages in inverse proportion. `None` outside the table's powers.
pub fn usual_full_load_current(phase: u8, hp: Horsepower, volts: Volts) -> Option<Amps> {
    if !(volts.0 > 0.0 && hp.0 > 0.0) {
        return None;
    }
    let table = table(phase)?;
    let above = table.iter().position(|r| r.hp >= hp.0 * 0.99)?;
    let upper = &table[above];
    if (upper.hp / hp.0 - 1.0).abs() < 0.01 {
        return upper.scaled(volts.0).map(Amps);
    }
    let lower = &table[above.checked_sub(1)?];
    let (low, high) = (lower.scaled(volts.0)?, upper.scaled(volts.0)?);
    let t = (hp.0 / lower.hp).ln() / (upper.hp / lower.hp).ln();
    Some(Amps((low.ln() + t * (high.ln() - low.ln())).exp()))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn flc(phase: u8, hp: f64, volts: f64) -> Option<f64> {
        full_load_current(phase, Horsepower(hp), Volts(volts)).map(|a| a.0)
    }

    /// Source: NFPA 70 (NEC) 2023 Tables 430.248 and 430.250.
    #[test]
    fn cells_of_the_code() {
        let cases = [
            (1, 1.0 / 6.0, 115.0, Some(4.4)),
            (1, 0.5, 230.0, Some(4.9)),
            (1, 0.5, 220.0, Some(4.9)),
            (1, 10.0, 208.0, Some(55.0)),
            (3, 0.5, 115.0, Some(4.4)),
            (3, 5.0, 208.0, Some(16.7)),
            (3, 5.0, 480.0, Some(7.6)),
            (3, 7.5, 200.0, Some(25.3)),
            (3, 200.0, 460.0, Some(240.0)),
            (3, 500.0, 2300.0, Some(118.0)),
            (3, 3.0, 115.0, None),
            (3, 0.25, 230.0, None),
            (1, 5.0, 460.0, None),
            (2, 5.0, 230.0, None),
        ];
        for (phase, hp, volts, expected) in cases {
            assert_eq!(flc(phase, hp, volts), expected, "{phase} {hp} {volts}");
        }
    }

    /// Source: NFPA 70 (NEC) 2023, "usable for system voltage ranges": the table's own rows, each twice.
    #[test]
    fn every_row_is_found_by_its_own_power_and_currents_rise_with_it() {
        for phase in [1, 3] {
            let table = table(phase).expect("a table");
            for row in table {
                for &(rated, _, _) in COLUMNS {
                    assert_eq!(flc(phase, row.hp, rated), row.at(rated));
                    let usual = usual_full_load_current(phase, Horsepower(row.hp), Volts(rated));
                    if let Some(cell) = row.at(rated) {
                        assert!((usual.expect("inside").0 - cell).abs() < 1e-9);
                    }
                }
            }
            assert!(table.windows(2).all(|w| w[0].hp < w[1].hp));
            assert!(
                table
                    .windows(2)
                    .all(|w| w[0].at_230 < w[1].at_230 || w[1].at_230.is_none())
            );
        }
        assert_eq!((SINGLE_PHASE.len(), THREE_PHASE.len()), (12, 27));
    }

    #[test]
    fn between_rows_and_columns() {
        let usual = |phase, hp, volts| {
            usual_full_load_current(phase, Horsepower(hp), Volts(volts)).map(|a| a.0)
        };
        // 277 V lies between 230 V and 460 V: 4.9 A x 230 / 277.
        assert!((usual(1, 0.5, 277.0).expect("inside") - 4.07).abs() < 0.01);
        let between = usual(3, 4.0, 230.0).expect("inside");
        assert!(9.6 < between && between < 15.2);
        assert_eq!(usual(1, 0.1, 115.0), None);
        assert_eq!(usual(3, 1000.0, 460.0), None);
        assert_eq!(usual(1, 0.5, 0.0), None);
    }
}
