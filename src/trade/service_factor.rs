//! Service factors (NEMA MG 1 12.51; source in `data/service_factors.csv`).

use super::table::rows;
use crate::units::{Horsepower, Rpm};
use serde::Deserialize;
use std::sync::LazyLock;

#[derive(Debug, Clone, Deserialize)]
struct Row {
    enclosure: String,
    hp: String,
    sync_rpm: Option<f64>,
    service_factor: String,
}

static ROWS: LazyLock<Vec<Row>> = LazyLock::new(|| rows(include_str!("data/service_factors.csv")));

static ON_PLATES: LazyLock<Vec<f64>> = LazyLock::new(|| {
    let series = ROWS.iter().filter(|r| r.enclosure == "any");
    series
        .flat_map(|r| r.service_factor.split('|'))
        .filter_map(|s| s.parse().ok())
        .collect::<Vec<f64>>()
});

/// Service factors that plates print.
pub fn service_factors_on_plates() -> &'static [f64] {
    &ON_PLATES
}

/// The standard's service factor of an open general-purpose motor of that power (within 1 % of a row) and
/// synchronous speed; a totally enclosed one has 1.0.
pub fn standard_service_factor(enclosed: bool, hp: Horsepower, synchronous: Rpm) -> Option<f64> {
    if enclosed {
        return Some(1.0);
    }
    let holds = |row: &Row| match row.hp.split_once('-') {
        Some((low, high)) => match (low.parse::<f64>(), high.parse::<f64>()) {
            (Ok(low), Ok(high)) => (low..=high).contains(&hp.0),
            _ => false,
        },
        None => match row.hp.strip_prefix("over ") {
            Some(above) => above.parse::<f64>().is_ok_and(|above| hp.0 > above),
            None => row
                .hp
                .parse::<f64>()
                .is_ok_and(|p| (hp.0 / p - 1.0).abs() < 0.01),
        },
    };
    ROWS.iter()
        .find(|r| r.enclosure == "open" && r.sync_rpm == Some(synchronous.0) && holds(r))
        .and_then(|r| r.service_factor.parse().ok())
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Source: NEMA MG 1 12.51 as printed in "Electrical Motors - Service Factors" (engineering handbook
    /// page) and a motor training manual; rows below 1/6 hp and above 200 hp from memory.
    #[test]
    fn the_standard_series() {
        let cases = [
            (0.05, [1.40, 1.40, 1.40, 1.40]),
            (1.0 / 8.0, [1.40, 1.40, 1.40, 1.40]),
            (1.0 / 6.0, [1.35, 1.35, 1.35, 1.35]),
            (0.25, [1.35, 1.35, 1.35, 1.35]),
            (1.0 / 3.0, [1.35, 1.35, 1.35, 1.35]),
            (0.5, [1.25, 1.25, 1.25, 1.25]),
            (0.75, [1.25, 1.25, 1.15, 1.15]),
            (1.0, [1.25, 1.15, 1.15, 1.15]),
            (1.5, [1.15, 1.15, 1.15, 1.15]),
            (200.0, [1.15, 1.15, 1.15, 1.15]),
            (250.0, [1.0, 1.0, 1.0, 1.0]),
        ];
        for (hp, expected) in cases {
            for (sync, factor) in [3600.0, 1800.0, 1200.0, 900.0].into_iter().zip(expected) {
                let got = standard_service_factor(false, Horsepower(hp), Rpm(sync));
                assert_eq!(got, Some(factor), "{hp} hp {sync}");
                assert!(service_factors_on_plates().contains(&factor));
            }
        }
        assert_eq!(
            standard_service_factor(true, Horsepower(5.0), Rpm(1800.0)),
            Some(1.0)
        );
        assert_eq!(
            standard_service_factor(false, Horsepower(0.6), Rpm(1800.0)),
            None
        );
    }
}
