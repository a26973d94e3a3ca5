//! From the raw probability of the joint choice to one that means what it says.
//!
//! The map is fitted on plates that nothing else is tuned on and compiled in from `models/calibration.json`.

use crate::record::Field;
use serde::Deserialize;
use std::collections::BTreeMap;
use std::sync::LazyLock;

/// A rising, piecewise-linear map for each group of fields.
#[derive(Debug, Clone, Deserialize)]
pub(super) struct Calibration {
    /// For each group the points (raw, calibrated), rising in both.
    groups: BTreeMap<String, Vec<(f64, f64)>>,
}

static SHIPPED: LazyLock<Calibration> = LazyLock::new(|| {
    Calibration::from_json(include_str!("../../models/calibration.json"))
        .expect("the shipped calibration is well-formed")
});

impl Calibration {
    /// The map that is compiled in.
    pub fn shipped() -> &'static Calibration {
        &SHIPPED
    }

    /// Takes a map from JSON; `None` when a group does not rise or leaves 0 to 1.
    pub fn from_json(text: &str) -> Option<Calibration> {
        let calibration: Calibration = serde_json::from_str(text).ok()?;
        let unit = |v: f64| (0.0..=1.0).contains(&v);
        let well_formed = |points: &Vec<(f64, f64)>| {
            points.iter().all(|p| unit(p.0) && unit(p.1))
                && points
                    .windows(2)
                    .all(|w| w[0].0 < w[1].0 && w[0].1 <= w[1].1)
        };
        calibration
            .groups
            .values()
            .all(well_formed)
            .then_some(calibration)
    }

    /// The calibrated probability of a raw one.
    pub fn apply(&self, field: Field, raw: f64) -> f64 {
        let raw = if raw.is_nan() {
            0.0
        } else {
            raw.clamp(0.0, 1.0)
        };
        let Some(points) = self.groups.get(group(field)) else {
            return raw;
        };
        let ends = [(0.0, 0.0), (1.0, 1.0)];
        let above = points.iter().position(|p| p.0 >= raw);
        let low = above
            .unwrap_or(points.len())
            .checked_sub(1)
            .map_or(ends[0], |i| points[i]);
        let high = above.map_or(ends[1], |i| points[i]);
        if high.0 <= low.0 {
            return high.1;
        }
        low.1 + (raw - low.0) / (high.0 - low.0) * (high.1 - low.1)
    }
}

/// Fields that fail alike share a map.
fn group(field: Field) -> &'static str {
    use Field::*;
    match field {
        Phase | Hertz | Rotation | InsulationClass | Duty | Enclosure | KvaCode | Design => "word",
        Frame => "frame",
        Model | Serial => "free",
        _ => "number",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_shipped_map_rises_and_stays_between_0_and_1() {
        for &field in Field::ALL {
            let values: Vec<f64> = (0..=1000)
                .map(|i| Calibration::shipped().apply(field, f64::from(i) / 1000.0))
                .collect();
            assert!(values.windows(2).all(|w| w[0] <= w[1]), "{field}");
            assert!(values.iter().all(|v| (0.0..=1.0).contains(v)), "{field}");
        }
    }

    #[test]
    fn points_are_joined_by_lines() {
        let map = Calibration::from_json(
            r#"{"groups": {"number": [[0.5, 0.3], [0.9, 0.7], [0.99, 0.97]]}}"#,
        )
        .expect("well-formed");
        for (raw, expected) in [
            (0.0, 0.0),
            (0.25, 0.15),
            (0.5, 0.3),
            (0.7, 0.5),
            (0.9, 0.7),
            (0.99, 0.97),
            (0.995, 0.985),
            (1.0, 1.0),
            (f64::NAN, 0.0),
        ] {
            assert!(
                (map.apply(Field::Amps, raw) - expected).abs() < 1e-9,
                "{raw}"
            );
        }
        assert_eq!(map.apply(Field::Serial, 0.4), 0.4);
        for broken in [
            "{}",
            "[]",
            r#"{"groups": {"number": [[0.9, 0.3], [0.5, 0.7]]}}"#,
            r#"{"groups": {"number": [[0.5, 1.3]]}}"#,
        ] {
            assert!(Calibration::from_json(broken).is_none(), "{broken}");
        }
    }
}
