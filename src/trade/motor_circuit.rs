//! Percentages and device sizes for a motor's circuit (NEC 430.6, 430.22, 430.32, 430.52 and 240.6(A);
//! sources in `data/nec_overload_rules.csv`). Figures for a check only: local code and a licensed person decide.

use super::table::rows;
use crate::units::Amps;
use serde::Deserialize;
use std::sync::LazyLock;

/// One figure of the code.
#[derive(Debug, Clone, PartialEq, Deserialize)]
pub struct CircuitRule {
    /// Clause or table.
    pub clause: String,
    /// What the figure is.
    pub rule: String,
    /// When it applies.
    pub applies_to: String,
    /// Per cent or amperes; `None` where the rule is words.
    pub value: Option<f64>,
    /// Of what.
    pub basis: String,
    /// `read` or `memory`.
    pub confidence: String,
}

impl CircuitRule {
    /// All figures of the table.
    pub fn all() -> &'static [CircuitRule] {
        &RULES
    }
}

static RULES: LazyLock<Vec<CircuitRule>> =
    LazyLock::new(|| rows(include_str!("data/nec_overload_rules.csv")));

/// What a branch-circuit short-circuit and ground-fault device may be.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Device {
    /// Dual-element time-delay fuse.
    TimeDelayFuse,
    /// Inverse-time circuit breaker.
    InverseTimeBreaker,
}

fn percent(rule: &str, applies_to: &str) -> Option<f64> {
    RULES
        .iter()
        .find(|r| r.rule == rule && r.applies_to == applies_to)?
        .value
}

/// Least ampacity of the conductors: 125 % of the table current (430.22).
pub fn conductor_ampacity(table_flc: Amps) -> Option<Amps> {
    let p = percent(
        "conductor_min_percent_of_flc",
        "single motor, continuous duty",
    )?;
    Some(Amps(table_flc.0 * p / 100.0))
}

/// Highest setting of a separate overload device: of the nameplate amps (430.32(A)(1)). A service factor
/// that the plate does not print counts as below 1.15.
pub fn overload_setting(nameplate: Amps, service_factor: Option<f64>) -> Option<Amps> {
    let applies = match service_factor {
        Some(sf) if sf >= 1.15 => "marked service factor 1.15 or more",
        _ => "all other motors",
    };
    let p = percent("overload_max_percent_of_nameplate", applies)?;
    Some(Amps(nameplate.0 * p / 100.0))
}

/// Largest short-circuit and ground-fault device: of the table current, the next standard size up where
/// the figure is no standard size (430.52(C)(1), 240.6(A)).
pub fn short_circuit_device(table_flc: Amps, phase: u8, device: Device) -> Option<Amps> {
    let motor = match phase {
        1 => "Single-phase motors",
        _ => "AC polyphase motors other than wound-rotor",
    };
    let kind = match device {
        Device::TimeDelayFuse => "dual-element time-delay fuse",
        Device::InverseTimeBreaker => "inverse-time breaker",
    };
    let p = percent(
        "short_circuit_max_percent_of_flc",
        &format!("{motor}: {kind}"),
    )?;
    let most = table_flc.0 * p / 100.0;
    let sizes = RULES
        .iter()
        .filter(|r| r.rule == "standard_device_amperes")
        .filter_map(|r| r.value);
    sizes
        .filter(|size| *size >= most - 1e-9)
        .min_by(f64::total_cmp)
        .map(Amps)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Source: abstract of NEC 430.22: 7 A full-load current needs 7 x 1.25 = 8.75 A.
    #[test]
    fn conductors_carry_a_quarter_more() {
        assert_eq!(conductor_ampacity(Amps(7.0)), Some(Amps(8.75)));
    }

    /// Source: NEC 430.32(A)(1), 430.52(C)(1) and 240.6(A).
    #[test]
    fn settings_and_devices_follow_the_code() {
        assert_eq!(overload_setting(Amps(10.0), Some(1.15)), Some(Amps(12.5)));
        assert_eq!(overload_setting(Amps(10.0), Some(1.0)), Some(Amps(11.5)));
        assert_eq!(overload_setting(Amps(10.0), None), Some(Amps(11.5)));
        // 14 A x 250 % = 35 A is a standard size; x 175 % = 24.5 A is not.
        let device = |d| short_circuit_device(Amps(14.0), 3, d);
        assert_eq!(device(Device::InverseTimeBreaker), Some(Amps(35.0)));
        assert_eq!(device(Device::TimeDelayFuse), Some(Amps(25.0)));
    }

    #[test]
    fn every_row_names_its_clause_and_standard_sizes_rise() {
        assert!(
            CircuitRule::all()
                .iter()
                .all(|r| !r.clause.is_empty() && !r.rule.is_empty())
        );
        let sizes: Vec<f64> = CircuitRule::all()
            .iter()
            .filter(|r| r.rule == "standard_device_amperes")
            .filter_map(|r| r.value)
            .collect();
        assert!(sizes.len() > 20 && sizes.is_sorted(), "{sizes:?}");
    }
}
