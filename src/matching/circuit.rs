//! Figures of the electrical code for the new motor's circuit: a check for a licensed person under the
//! local code, no design.

use crate::record::RatingPoint;
use crate::trade::{
    Device, conductor_ampacity, full_load_current, overload_setting, poles, short_circuit_device,
};
use crate::units::{Amps, Hertz};
use serde::Serialize;

/// One figure.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct CircuitFigure {
    /// What it is.
    pub what: &'static str,
    /// Its value.
    pub amps: Amps,
    /// How it comes about.
    pub how: String,
    /// Clause or table.
    pub source: &'static str,
}

/// What stands above these figures wherever they are shown.
pub const CIRCUIT_NOTE: &str =
    "For a licensed person to check under the local code; figures of NFPA 70 (NEC), Article 430.";

/// The figures for a motor at one of its ratings; none when its amps or phases are not known.
pub fn circuit_figures(
    rating: &RatingPoint,
    service_factor: Option<f64>,
    air_over: bool,
) -> Vec<CircuitFigure> {
    let (Some(nameplate), Some(phase)) = (rating.amps, rating.phase) else {
        return Vec::new();
    };
    // Air-over motors are PSC and shaded-pole fan motors, and slow motors draw more than the table.
    let slow = rating
        .rpm
        .and_then(|r| poles(r, rating.hertz.unwrap_or(Hertz(60.0))))
        .is_some_and(|p| p >= 8);
    let table = rating
        .power()
        .zip(rating.volts)
        .filter(|_| !air_over && !slow)
        .and_then(|(hp, volts)| full_load_current(phase, hp, volts));
    let (base, from, source) = match table {
        Some(amps) => (
            amps,
            "table current".to_owned(),
            if phase == 1 {
                "NEC Table 430.248"
            } else {
                "NEC Table 430.250"
            },
        ),
        None => (
            nameplate,
            "nameplate current: the table does not hold for this motor".to_owned(),
            "NEC 430.6(A)(1)",
        ),
    };
    let mut figures = vec![CircuitFigure {
        what: "full-load current for conductors and protection",
        amps: base,
        how: from,
        source,
    }];
    let mut add = |what, amps: Option<Amps>, how: String, source| {
        figures.extend(amps.map(|amps| CircuitFigure {
            what,
            amps: tenth(amps),
            how,
            source,
        }));
    };
    add(
        "conductor ampacity, at least",
        conductor_ampacity(base),
        format!("125 % of {base}"),
        "NEC 430.22",
    );
    let percent = if service_factor.is_some_and(|sf| sf >= 1.15) {
        125
    } else {
        115
    };
    add(
        "overload setting, at most",
        overload_setting(nameplate, service_factor),
        format!("{percent} % of the nameplate's {nameplate}"),
        "NEC 430.32(A)(1)",
    );
    let device = |d| short_circuit_device(base, phase, d);
    add(
        "time-delay fuse, at most",
        device(Device::TimeDelayFuse),
        format!("175 % of {base}, next standard size"),
        "NEC 430.52(C)(1), 240.6(A)",
    );
    add(
        "inverse-time breaker, at most",
        device(Device::InverseTimeBreaker),
        format!("250 % of {base}, next standard size"),
        "NEC 430.52(C)(1), 240.6(A)",
    );
    figures
}

fn tenth(amps: Amps) -> Amps {
    Amps((amps.0 * 100.0).round() / 100.0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::{Horsepower, Rpm, Volts};

    /// Source: NEC 430.250 (5 hp, 460 V: 7.6 A), 430.22, 430.32(A)(1), 430.52(C)(1), 240.6(A).
    #[test]
    fn figures_follow_the_code() {
        let rating = RatingPoint {
            volts: Some(Volts(460.0)),
            hertz: Some(Hertz(60.0)),
            phase: Some(3),
            hp: Some(Horsepower(5.0)),
            amps: Some(Amps(6.5)),
            rpm: Some(Rpm(1750.0)),
            ..RatingPoint::default()
        };
        let amps: Vec<f64> = circuit_figures(&rating, Some(1.15), false)
            .iter()
            .map(|f| f.amps.0)
            .collect();
        assert_eq!(amps, [7.6, 9.5, 8.13, 15.0, 20.0]);
        // NEC 430.6(A)(1), Exception 2: fan motors by their nameplate; motors below 1200 rpm too.
        assert_eq!(circuit_figures(&rating, None, true)[0].amps, Amps(6.5));
        let slow = RatingPoint {
            rpm: Some(Rpm(865.0)),
            ..rating.clone()
        };
        assert_eq!(circuit_figures(&slow, None, false)[0].amps, Amps(6.5));
        assert_eq!(circuit_figures(&RatingPoint::default(), None, false), []);
    }
}
