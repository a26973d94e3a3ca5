//! Amps of fractional fan motors, by power, voltage and speed (`data/typical_fan_motor_amps.csv`).
//!
//! Most rows are trade memory: they may raise a doubt, they never settle one.

use super::table::rows;
use crate::units::{Amps, Horsepower, Rpm, Volts};
use serde::Deserialize;
use std::sync::LazyLock;

#[derive(Debug, Clone, Deserialize)]
struct Row {
    hp: String,
    volts: String,
    phase: u8,
    rpm: String,
    application: String,
    #[serde(rename = "low_A")]
    low: Option<f64>,
    #[serde(rename = "typical_A")]
    typical: Option<f64>,
    #[serde(rename = "high_A")]
    high: Option<f64>,
    confidence: String,
}

/// What a permanent-split-capacitor fan motor of a power usually draws.
#[derive(Debug, Clone, PartialEq)]
pub struct FanMotor {
    /// Power on the plate, a label more than a measure.
    pub hp: Horsepower,
    /// Lowest and highest rated voltage.
    pub volts: (Volts, Volts),
    /// Lowest and highest speed of the row.
    pub rpm: (Rpm, Rpm),
    /// Phases.
    pub phase: u8,
    /// What it drives.
    pub application: String,
    /// Lowest usual current, where a range is known.
    pub low: Option<Amps>,
    /// Usual current.
    pub typical: Amps,
    /// Highest usual current, where a range is known.
    pub high: Option<Amps>,
    /// Whether the row was read on a public page; otherwise trade memory.
    pub read: bool,
}

static MOTORS: LazyLock<Vec<FanMotor>> = LazyLock::new(|| {
    let all: Vec<Row> = rows(include_str!("data/typical_fan_motor_amps.csv"));
    all.into_iter().filter_map(fan_motor).collect()
});

fn fan_motor(row: Row) -> Option<FanMotor> {
    let (top, bottom) = row.hp.split_once('/').unwrap_or((row.hp.as_str(), "1"));
    let (volts, rpm) = (span(&row.volts)?, span(&row.rpm)?);
    Some(FanMotor {
        hp: Horsepower(top.parse::<f64>().ok()? / bottom.parse::<f64>().ok()?),
        volts: (Volts(volts.0), Volts(volts.1)),
        rpm: (Rpm(rpm.0), Rpm(rpm.1)),
        phase: row.phase,
        application: row.application,
        low: row.low.map(Amps),
        typical: Amps(row.typical?),
        high: row.high.map(Amps),
        read: row.confidence == "read",
    })
}

fn span(text: &str) -> Option<(f64, f64)> {
    let (low, high) = text.split_once('-').unwrap_or((text, text));
    Some((low.parse().ok()?, high.parse().ok()?))
}

/// All rows that give amps.
pub fn fan_motors() -> &'static [FanMotor] {
    &MOTORS
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Source: an equipment installation manual (fan-coil blowers, 120 V) and a plate shown on a
    /// question-and-answer page; the other rows are trade memory and are only checked for order.
    #[test]
    fn rows_are_taken_whole() {
        assert_eq!(fan_motors().len(), 36);
        assert_eq!(fan_motors().iter().filter(|m| m.read).count(), 7);
        let plate = &fan_motors()[0];
        assert_eq!(plate.hp, Horsepower(0.25));
        assert_eq!(plate.volts, (Volts(208.0), Volts(230.0)));
        assert_eq!(plate.typical, Amps(1.4));
        for motor in fan_motors() {
            assert!(
                motor.low.is_none_or(|low| low <= motor.typical),
                "{motor:?}"
            );
            assert!(
                motor.high.is_none_or(|high| motor.typical <= high),
                "{motor:?}"
            );
        }
    }
}
