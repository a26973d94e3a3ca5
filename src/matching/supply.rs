//! Phases, frequency and voltage against the supply.

use super::old_motor::OldMotor;
use super::place::Place;
use super::verdict::{Criterion, Judge, UNKNOWN, Verdict};
use crate::record::RatingPoint;
use crate::units::{Hertz, Volts, plain};

/// What the new motor will be connected to: what somebody said of the place, else what the old plate says.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Supply {
    pub(super) volts: Option<Volts>,
    pub(super) phase: Option<u8>,
    pub(super) hertz: Option<Hertz>,
}

impl Supply {
    pub(super) fn of(old: &OldMotor, place: &Place) -> Supply {
        Supply {
            volts: place.supply.or(old.rating.volts),
            phase: place.phase.or(old.rating.phase),
            hertz: place.hertz.or(old.rating.hertz),
        }
    }

    /// Whether a rating is for another known frequency.
    pub(super) fn other_frequency(&self, point: &RatingPoint) -> bool {
        matches!((self.hertz, point.hertz), (Some(a), Some(b)) if !same_frequency(a, b))
    }
}

/// Voltages that are one system under its names: the supply's, the plate's, the older plate's.
/// Source: `voltage_pairs` (notes to NEC 430.248 and 430.250, ANSI C84.1 and MG 1 usage).
const SYSTEMS: &[&[f64]] = &[
    &[110.0, 115.0, 120.0, 125.0],
    &[200.0, 208.0],
    &[220.0, 230.0, 240.0],
    &[265.0, 277.0],
    &[380.0, 400.0, 415.0],
    &[440.0, 460.0, 480.0],
    &[550.0, 575.0, 600.0],
    &[2200.0, 2300.0, 2400.0],
    &[4000.0, 4160.0],
];

/// The voltages by which the system of `volts` goes, itself among them.
pub(super) fn names_of_system(volts: Volts) -> &'static [f64] {
    SYSTEMS
        .iter()
        .find(|s| s.contains(&volts.0))
        .copied()
        .unwrap_or_default()
}

/// Whether two voltages are names of one system, or one is measured and near the other.
pub(super) fn same_system(a: Volts, b: Volts) -> bool {
    let named = |v: Volts| SYSTEMS.iter().any(|s| s.contains(&v.0));
    let near = (a.0 / b.0 - 1.0).abs() <= NEAR;
    a == b
        || SYSTEMS.iter().any(|s| s.contains(&a.0) && s.contains(&b.0))
        || near && !(named(a) && named(b))
}

/// How near a measured voltage lies to that of its system.
const NEAR: f64 = 0.05;

/// Whether two frequencies are one: within 5 % (NEMA MG 1 12.44).
pub(super) fn same_frequency(a: Hertz, b: Hertz) -> bool {
    (a.0 / b.0 - 1.0).abs() <= 0.05
}

/// Share of the rated voltage by which a motor may be off (NEMA MG 1 12.44).
const VOLTAGE_TOLERANCE: f64 = 0.10;

const MG1_VARIATION: &str =
    "NEMA MG 1 12.44: voltage within 10 %, frequency within 5 %, of the rating";

pub(super) fn phase(supply: Supply, point: &RatingPoint) -> Verdict {
    let shown = |p: Option<u8>| p.map_or(UNKNOWN.to_owned(), |p| format!("{p} phase"));
    let judge = Judge::new(
        Criterion::Phase,
        shown(supply.phase),
        shown(point.phase),
        "common practice",
    );
    match (supply.phase, point.phase) {
        (None, _) => judge.unknown("phase", "Is the supply single-phase or three-phase?"),
        (_, None) => judge.not_listed("phases"),
        (Some(a), Some(b)) if a == b => judge.pass("the same number of phases"),
        (Some(a), Some(b)) => judge.fail(format!(
            "a {b}-phase motor does not run on a {a}-phase supply"
        )),
    }
}

pub(super) fn hertz(supply: Supply, point: &RatingPoint, air_over: bool) -> Verdict {
    let shown = |h: Option<Hertz>| h.map_or(UNKNOWN.to_owned(), |h| h.to_string());
    let judge = Judge::new(
        Criterion::Hertz,
        shown(supply.hertz),
        shown(point.hertz),
        MG1_VARIATION,
    );
    let (Some(line), Some(rated)) = (supply.hertz, point.hertz) else {
        return match supply.hertz {
            None => judge.unknown("hertz", "Is the supply 60 Hz or 50 Hz?"),
            Some(_) => judge.not_listed("frequency"),
        };
    };
    if same_frequency(line, rated) {
        return judge.pass("the same frequency");
    }
    let speed = format!(
        "its speed goes to {} % of the plate's",
        plain((100.0 * line.0 / rated.0).round())
    );
    let (Some(supplied), Some(plate)) = (supply.volts, point.volts) else {
        return judge.fail(format!("another frequency: {speed}"));
    };
    // Iron is loaded by volts per hertz.
    let (line_flux, plate_flux) = (supplied.0 / line.0, plate.0 / rated.0);
    let flux =
        format!("{line_flux:.2} V/Hz on this supply against {plate_flux:.2} V/Hz on the plate");
    if air_over {
        judge.fail(format!(
            "an air-over motor is chosen at its own frequency: {flux}; {speed}"
        ))
    } else if (line_flux / plate_flux - 1.0).abs() <= VOLTAGE_TOLERANCE {
        judge.ask(format!(
            "{flux} agree, but {speed}: its maker must allow this frequency"
        ))
    } else {
        judge.fail(format!("{flux}: the iron is loaded wrongly; {speed}"))
    }
}

pub(super) fn volts(supply: Supply, point: &RatingPoint) -> Verdict {
    let shown = |v: Option<Volts>| v.map_or(UNKNOWN.to_owned(), |v| v.to_string());
    let judge = Judge::new(
        Criterion::Volts,
        shown(supply.volts),
        shown(point.volts),
        MG1_VARIATION,
    );
    let (Some(line), Some(rated)) = (supply.volts, point.volts) else {
        return match supply.volts {
            None => judge.unknown("volts", "Which voltage does the supply give?"),
            Some(_) => judge.not_listed("voltage"),
        };
    };
    if let (true, Some(f), Some(r)) = (supply.other_frequency(point), supply.hertz, point.hertz) {
        return judge.ask(format!(
            "{} at {} is what {} at {} is at this frequency",
            rated,
            r,
            Volts((rated.0 * f.0 / r.0).round()),
            f
        ));
    }
    if line == rated {
        return judge.pass("the same voltage");
    }
    let off = (line.0 - rated.0) / rated.0;
    let percent = format!("{:.1} %", 100.0 * off.abs());
    let side = if off < 0.0 { "below" } else { "above" };
    // The names of a system reach further apart than a motor stands: 110 V on 125 V.
    if same_system(line, rated) && off.abs() <= VOLTAGE_TOLERANCE {
        judge.pass(format!(
            "{rated} is the plate voltage for a {line} supply ({percent} {side})"
        ))
    } else if (0.0..=VOLTAGE_TOLERANCE).contains(&off) && names_of_system(line).is_empty() {
        judge.ask(format!("{line} is {percent} above its {rated}: within 10 %, with nothing to spare where it rises further"))
    } else if off < 0.0 && -off <= VOLTAGE_TOLERANCE {
        let torque = (100.0 * (line.0 / rated.0).powi(2)).round();
        let current = (100.0 * (rated.0 / line.0 - 1.0)).round();
        judge.ask(format!(
            "{line} is {percent} below its {rated}: torque falls to {} %, amps at the same load rise by about {} %, and any \
             drop on the way takes it below 10 %; measure at least {} at the motor under load",
            plain(torque),
            plain(current),
            Volts((rated.0 * (1.0 - VOLTAGE_TOLERANCE)).round())
        ))
    } else {
        judge.fail(format!("{line} is {percent} {side} its {rated}"))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::matching::Outcome;

    /// Source: NEMA MG 1 12.44 (+/-10 %); 230 V: 207 to 253 V, 460 V: 414 to 506 V ("Motor nameplate and
    /// terminology"); a 230 V motor on a 208 V system (voltage table of the reference).
    #[test]
    fn voltages_serve_their_system() {
        let cases = [
            (208.0, 208.0, Outcome::Pass),
            (208.0, 200.0, Outcome::Pass),
            (208.0, 230.0, Outcome::Ask),
            (240.0, 230.0, Outcome::Pass),
            (240.0, 208.0, Outcome::Fail),
            (230.0, 208.0, Outcome::Fail),
            (220.0, 230.0, Outcome::Pass),
            (480.0, 460.0, Outcome::Pass),
            (440.0, 460.0, Outcome::Pass),
            (480.0, 230.0, Outcome::Fail),
            (120.0, 115.0, Outcome::Pass),
            (120.0, 230.0, Outcome::Fail),
            (277.0, 265.0, Outcome::Pass),
            (277.0, 230.0, Outcome::Fail),
            (600.0, 575.0, Outcome::Pass),
            (415.0, 380.0, Outcome::Pass),
            (125.0, 110.0, Outcome::Fail),
            (235.0, 230.0, Outcome::Pass),
            (221.0, 230.0, Outcome::Pass),
            (213.0, 230.0, Outcome::Ask),
            (252.0, 230.0, Outcome::Ask),
            (199.0, 230.0, Outcome::Fail),
            (254.0, 230.0, Outcome::Fail),
            (485.0, 460.0, Outcome::Ask),
            (110.0, 125.0, Outcome::Fail),
            (600.0, 460.0, Outcome::Fail),
        ];
        let wrong: Vec<String> = cases
            .iter()
            .filter_map(|&(line, rated, expected)| {
                let supply = Supply {
                    volts: Some(Volts(line)),
                    phase: None,
                    hertz: None,
                };
                let point = RatingPoint {
                    volts: Some(Volts(rated)),
                    ..RatingPoint::default()
                };
                let verdict = volts(supply, &point);
                (verdict.outcome != expected).then(|| format!("{line} on {rated}: {verdict:?}"))
            })
            .collect();
        assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    }

    /// Source: volts per hertz, motor engineering basics: 400 V 50 Hz and 480 V 60 Hz are both 8 V/Hz.
    #[test]
    fn another_frequency_is_worked_out() {
        let outcome = |line: (f64, f64), plate: (f64, f64), air_over: bool| {
            let supply = Supply {
                volts: Some(Volts(line.0)),
                phase: None,
                hertz: Some(Hertz(line.1)),
            };
            let point = RatingPoint {
                volts: Some(Volts(plate.0)),
                hertz: Some(Hertz(plate.1)),
                ..RatingPoint::default()
            };
            hertz(supply, &point, air_over).outcome
        };
        assert_eq!(outcome((460.0, 60.0), (460.0, 60.0), false), Outcome::Pass);
        assert_eq!(outcome((480.0, 60.0), (400.0, 50.0), false), Outcome::Ask);
        assert_eq!(outcome((480.0, 60.0), (400.0, 50.0), true), Outcome::Fail);
        assert_eq!(outcome((230.0, 60.0), (230.0, 50.0), false), Outcome::Fail);
    }
}
