//! Synchronous speed, poles and slip (120 f / p; speeds seen on plates with sources in `data/synchronous_speeds.csv`).

use super::table::rows;
use crate::units::{Hertz, Rpm};
use serde::Deserialize;
use std::sync::LazyLock;

#[derive(Debug, Clone, Deserialize)]
struct Row {
    kind: String,
    hertz: Option<u32>,
    poles: String,
    rpm: Option<f64>,
    #[serde(rename = "use_or_note")]
    note: String,
    confidence: String,
}

/// A speed as plates print it.
#[derive(Debug, Clone, PartialEq)]
pub struct PlateSpeed {
    /// Frequency.
    pub hertz: Hertz,
    /// Number of poles.
    pub poles: u32,
    /// Full-load speed.
    pub rpm: Rpm,
    /// Where it is usual, such as `PSC condenser fan`; may be empty.
    pub usual_for: String,
    /// Whether the row was read on a public page; otherwise trade memory.
    pub read: bool,
}

static ROWS: LazyLock<Vec<Row>> =
    LazyLock::new(|| rows(include_str!("data/synchronous_speeds.csv")));

static PLATE_SPEEDS: LazyLock<Vec<PlateSpeed>> = LazyLock::new(|| {
    let full_load = ROWS.iter().filter(|r| r.kind == "full_load");
    full_load
        .filter_map(|r| {
            Some(PlateSpeed {
                hertz: Hertz(f64::from(r.hertz?)),
                poles: r.poles.parse().ok()?,
                rpm: Rpm(r.rpm?),
                usual_for: r.note.clone(),
                read: r.confidence == "read",
            })
        })
        .collect()
});

/// The highest number of poles of a usual motor.
const MOST_POLES: u32 = 24;

/// Full-load speeds that plates print.
pub fn plate_speeds() -> &'static [PlateSpeed] {
    &PLATE_SPEEDS
}

/// Synchronous speed of a number of poles.
pub fn synchronous_speed(hertz: Hertz, poles: u32) -> Rpm {
    Rpm(120.0 * hertz.0 / f64::from(poles))
}

/// The poles that a full-load speed implies: the largest even number whose synchronous speed is not below it.
/// `None` for a speed that no induction motor has at that frequency, or that would need over 24 poles.
pub fn poles(rpm: Rpm, hertz: Hertz) -> Option<u32> {
    if !(rpm.0 > 0.0 && hertz.0 > 0.0) {
        return None;
    }
    let pairs = (60.0 * hertz.0 / rpm.0 + 1e-6).floor();
    (1.0..=f64::from(MOST_POLES / 2))
        .contains(&pairs)
        .then_some(2 * pairs as u32)
}

/// Slip as a fraction of synchronous speed.
pub fn slip(rpm: Rpm, synchronous: Rpm) -> f64 {
    (synchronous.0 - rpm.0) / synchronous.0
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Source: 120 f / poles, the synchronous rows of the table (motor speed tables 3600/1800/1200).
    #[test]
    fn synchronous_speeds_of_the_table() {
        let rows = ROWS.iter().filter(|r| r.kind == "synchronous");
        let mut seen = 0;
        for row in rows {
            let hertz = Hertz(f64::from(row.hertz.expect("hertz")));
            let poles = row.poles.parse().expect("poles");
            let printed = row.rpm.expect("rpm");
            assert!((synchronous_speed(hertz, poles).0 - printed).abs() < 0.06);
            seen += 1;
        }
        assert_eq!(seen, 16);
    }

    /// Source: typical full-load speeds of "Metric Motors" (engineering note), a minimum-sheave table, a
    /// fan-coil electrical table and trade pages; some rows from memory, as the table marks them.
    #[test]
    fn every_full_load_speed_implies_its_poles() {
        assert_eq!(plate_speeds().len(), 65);
        let wrong: Vec<_> = plate_speeds()
            .iter()
            .filter(|s| poles(s.rpm, s.hertz) != Some(s.poles))
            .collect();
        assert!(wrong.is_empty(), "{wrong:?}");
    }

    #[test]
    fn poles_of_speeds() {
        let cases = [
            (1725.0, 60.0, Some(4)),
            (1800.0, 60.0, Some(4)),
            (3450.0, 60.0, Some(2)),
            (1075.0, 60.0, Some(6)),
            (825.0, 60.0, Some(8)),
            (1425.0, 50.0, Some(4)),
            (1450.0, 60.0, Some(4)),
            (3700.0, 60.0, None),
            (0.0, 60.0, None),
            (10.0, 60.0, None),
            (f64::NAN, 60.0, None),
        ];
        for (rpm, hertz, expected) in cases {
            assert_eq!(poles(Rpm(rpm), Hertz(hertz)), expected, "{rpm} at {hertz}");
        }
    }

    /// Source: a slip rate calculator page: 1800 and 1750 rpm give 2.78 %.
    #[test]
    fn slip_of_a_worked_example() {
        assert!((slip(Rpm(1750.0), Rpm(1800.0)) - 0.0278).abs() < 0.0001);
    }
}
