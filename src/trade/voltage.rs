//! System voltages and the voltages that plates print for them (NEMA MG 1 12.44, ANSI C84.1, notes to NEC
//! Tables 430.248 and 430.250; sources in `data/voltage_pairs.csv`).

use super::table::rows;
use crate::units::{Hertz, Volts};
use serde::Deserialize;
use std::sync::LazyLock;

#[derive(Debug, Clone, Deserialize)]
struct Row {
    hertz: f64,
    phase: Option<u8>,
    #[serde(rename = "system_nominal_V")]
    system: String,
    #[serde(rename = "nameplate_V")]
    nameplate: String,
    seen_on_plates: String,
    older: String,
    #[serde(rename = "min_V")]
    min: String,
    #[serde(rename = "max_V")]
    max: String,
}

/// A supply and the motors made for it.
#[derive(Debug, Clone, PartialEq)]
pub struct SupplySystem {
    /// Frequency.
    pub hertz: Hertz,
    /// Phases.
    pub phase: u8,
    /// Nominal voltage of the supply as it is called, such as `480` or `120/240`.
    pub system: String,
    /// The plate voltage meant for it, such as `460` or `115/230`.
    pub nameplate: String,
    /// How plates print it.
    pub seen_on_plates: Vec<String>,
    /// Voltages that older plates print for it.
    pub older: Vec<Volts>,
    /// What a motor of that plate voltage stands, lowest and highest; `None` for several voltages.
    pub tolerance: Option<(Volts, Volts)>,
}

static SYSTEMS: LazyLock<Vec<SupplySystem>> = LazyLock::new(|| {
    let all: Vec<Row> = rows(include_str!("data/voltage_pairs.csv"));
    all.into_iter().filter_map(supply_system).collect()
});

fn supply_system(row: Row) -> Option<SupplySystem> {
    let older = row.older.split(['|', '/']);
    let tolerance = row.min.parse().ok().zip(row.max.parse().ok());
    Some(SupplySystem {
        hertz: Hertz(row.hertz),
        // Rows without a phase are rules in words.
        phase: row.phase?,
        system: row.system,
        nameplate: row.nameplate,
        seen_on_plates: row
            .seen_on_plates
            .split('|')
            .filter(|s| !s.is_empty())
            .map(str::to_owned)
            .collect(),
        older: older.filter_map(|v| v.parse().ok().map(Volts)).collect(),
        tolerance: tolerance.map(|(low, high)| (Volts(low), Volts(high))),
    })
}

/// All supply systems of the table.
pub fn supply_systems() -> &'static [SupplySystem] {
    &SYSTEMS
}

static SERIES: LazyLock<Vec<f64>> = LazyLock::new(|| {
    let printed = SYSTEMS.iter().flat_map(|s| {
        let names = [s.system.as_str(), s.nameplate.as_str()];
        let seen = s.seen_on_plates.iter().map(String::as_str);
        names.into_iter().chain(seen).collect::<Vec<_>>()
    });
    let numbers = printed
        .flat_map(|p| p.split(['/', '-']))
        .filter_map(|v| v.parse().ok());
    let older = SYSTEMS.iter().flat_map(|s| s.older.iter().map(|v| v.0));
    let mut series: Vec<f64> = numbers.chain(older).collect();
    series.sort_by(f64::total_cmp);
    series.dedup();
    series
});

/// Every voltage that plates and supplies are known by, ascending.
pub fn voltage_series() -> &'static [f64] {
    &SERIES
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Source: NEMA MG 1 12.44: ±10 %; "Motor nameplate and terminology" prints 414-506 V for 460 V, a pump
    /// motor manual 207-253 V for 230 V and 103-126 V for 115 V.
    #[test]
    fn tolerances() {
        for (nameplate, low, high) in [
            ("460", 414.0, 506.0),
            ("230", 207.0, 253.0),
            ("115", 103.5, 126.5),
        ] {
            let system = supply_systems()
                .iter()
                .find(|s| s.nameplate == nameplate && s.hertz == Hertz(60.0))
                .expect(nameplate);
            assert_eq!(system.tolerance, Some((Volts(low), Volts(high))));
        }
    }

    #[test]
    fn rows_and_series() {
        assert_eq!(supply_systems().len(), 17);
        for volts in [
            110.0, 115.0, 120.0, 200.0, 208.0, 220.0, 230.0, 240.0, 265.0, 277.0, 380.0, 400.0,
            415.0, 440.0, 460.0, 480.0, 550.0, 575.0, 600.0, 2300.0, 4000.0,
        ] {
            assert!(voltage_series().contains(&volts), "{volts}");
        }
        assert!(!voltage_series().contains(&203.0) && !voltage_series().contains(&280.0));
    }
}
