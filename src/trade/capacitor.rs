//! Motor capacitors: the steps and voltages that are made (`data/capacitors.csv`; steps mostly trade memory,
//! EIA-456 is the governing standard).

use super::table::rows;
use crate::units::{Amps, Hertz, Microfarads, Volts};
use serde::Deserialize;
use std::sync::LazyLock;

#[derive(Debug, Clone, Deserialize)]
struct Row {
    item: String,
    value: String,
}

static ROWS: LazyLock<Vec<Row>> = LazyLock::new(|| rows(include_str!("data/capacitors.csv")));

fn numbers(item: &str) -> Vec<f64> {
    let values = ROWS.iter().filter(|r| r.item == item);
    values.filter_map(|r| r.value.parse().ok()).collect()
}

static RUN_STEPS: LazyLock<Vec<f64>> = LazyLock::new(|| numbers("run_uF_step"));
static RUN_VOLTS: LazyLock<Vec<f64>> = LazyLock::new(|| numbers("run_voltage"));
static START_VOLTS: LazyLock<Vec<f64>> = LazyLock::new(|| numbers("start_voltage"));
static START_RANGES: LazyLock<Vec<(f64, f64)>> = LazyLock::new(|| {
    let ranges = ROWS.iter().filter(|r| r.item == "start_uF_range");
    ranges
        .filter_map(|r| {
            let (low, high) = r.value.split_once('-')?;
            Some((low.parse().ok()?, high.parse().ok()?))
        })
        .collect()
});

/// Microfarads of the run capacitors that are made.
pub fn run_capacitor_steps() -> &'static [f64] {
    &RUN_STEPS
}

/// Voltages of the run capacitors that are made.
pub fn run_capacitor_volts() -> &'static [f64] {
    &RUN_VOLTS
}

/// Voltages of the start capacitors that are made.
pub fn start_capacitor_volts() -> &'static [f64] {
    &START_VOLTS
}

/// Ranges, in microfarads, in which start capacitors are marked.
pub fn start_capacitor_ranges() -> &'static [(f64, f64)] {
    &START_RANGES
}

/// The current through a capacitor, 2 pi f C V.
pub fn capacitor_current(hertz: Hertz, capacitance: Microfarads, volts: Volts) -> Amps {
    Amps(std::f64::consts::TAU * hertz.0 * capacitance.0 * 1e-6 * volts.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Source: run capacitor steps and the 370 and 440 VAC classes as read on trade pages; other steps
    /// from memory.
    #[test]
    fn steps_and_voltages() {
        assert_eq!(run_capacitor_steps().len(), 24);
        for read in [4.0, 5.0, 7.5, 10.0, 25.0, 35.0, 70.0] {
            assert!(run_capacitor_steps().contains(&read), "{read}");
        }
        assert!(run_capacitor_steps().windows(2).all(|w| w[0] < w[1]));
        assert!(
            [370.0, 440.0]
                .iter()
                .all(|v| run_capacitor_volts().contains(v))
        );
        assert!(start_capacitor_ranges().contains(&(88.0, 108.0)));
        assert_eq!(start_capacitor_ranges().len(), 27);
        assert!(
            [125.0, 250.0, 330.0]
                .iter()
                .all(|v| start_capacitor_volts().contains(v))
        );
    }

    /// Source: the table's own physics row, computed: 10 µF at 370 V and 60 Hz passes 1.39 A.
    #[test]
    fn current_of_a_run_capacitor() {
        let amps = capacitor_current(Hertz(60.0), Microfarads(10.0), Volts(370.0));
        assert!((amps.0 - 1.39).abs() < 0.01);
    }
}
