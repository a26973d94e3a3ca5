//! Poles and full-load speed: a fan's power goes with the cube of its speed.

use super::capacity;
use super::old_motor::OldMotor;
use super::supply::Supply;
use super::verdict::{Criterion, Judge, UNKNOWN, Verdict};
use crate::record::RatingPoint;
use crate::stock::StockMotor;
use crate::trade::{formulas, poles, synchronous_speed};
use crate::units::{Hertz, Rpm};

const SOURCE: &str = "poles from 120 f / rpm; affinity laws: fan power goes with the cube of speed";

/// Share of the slip by which a motor's full-load speed may differ from its plate (NEMA MG 1 12.47, from memory).
const SLIP_TOLERANCE: f64 = 0.20;

/// Loss of air flow from which somebody should say that it is enough.
const FLOW_LOSS: f64 = 0.05;

pub(super) fn verdict(
    old: &OldMotor,
    motor: &StockMotor,
    point: &RatingPoint,
    supply: Supply,
    air_over: bool,
) -> Verdict {
    let shown = |rpm: Option<Rpm>| rpm.map_or(UNKNOWN.to_owned(), |r| r.to_string());
    let judge = Judge::new(
        Criterion::Speed,
        shown(old.rating.rpm),
        shown(point.rpm),
        SOURCE,
    );
    let Some(had) = old.rating.rpm else {
        return judge.unknown("rpm", "Which full-load speed does the plate give?");
    };
    let Some(plate) = point.rpm else {
        return judge.not_listed("speed");
    };
    // A rating for another frequency runs in proportion on this supply.
    let (line, rated) = (supply.hertz.or(point.hertz), point.hertz.or(supply.hertz));
    let scale = line.zip(rated).map_or(1.0, |(l, r)| l.0 / r.0);
    let offered = Rpm(plate.0 * scale);
    let old_hertz = old.rating.hertz.or(line);
    let (Some(old_hertz), Some(rated)) = (old_hertz, rated) else {
        return without_frequency(judge, had, plate);
    };
    let (old_poles, new_poles) = (poles(had, old_hertz), poles(plate, rated));
    let load = formulas::fan_power_ratio(had, offered);
    let (Some(old_poles), Some(new_poles)) = (old_poles, new_poles) else {
        return judge.ask("one of the speeds is that of no induction motor at this frequency; look at the plates again");
    };
    if old_poles != new_poles {
        return judge.fail(format!(
            "{new_poles} poles instead of {old_poles}: a fan would take {load:.2} times the power"
        ));
    }
    let missing: Vec<String> = old
        .speeds
        .iter()
        .filter(|s| !has_speed(motor, Rpm(**s), rated))
        .map(|s| Rpm(*s).to_string())
        .collect();
    if !missing.is_empty() {
        return judge.ask(format!(
            "the old motor also has {}, this one does not: does the control use it?",
            missing.join(", ")
        ));
    }
    if offered == had {
        return judge.pass(format!("{old_poles} poles, the same speed"));
    }
    let slip = synchronous_speed(old_hertz, old_poles).0 - had.0;
    if (offered.0 - had.0).abs() <= SLIP_TOLERANCE * slip + 1e-9 {
        return judge.pass(format!(
            "{old_poles} poles; {:.0} rpm apart lies within the tolerance of the old speed itself (NEMA MG 1 12.47: 20 % of slip)",
            (offered.0 - had.0).abs()
        ));
    }
    if offered.0 < had.0 {
        let loss = 1.0 - offered.0 / had.0;
        let text = format!(
            "{old_poles} poles; a fan moves {:.1} % less air and takes {load:.2} times the power",
            100.0 * loss
        );
        return if loss <= FLOW_LOSS {
            judge.pass(text)
        } else {
            judge.ask(format!("{text}: is that enough air?"))
        };
    }
    faster(
        judge,
        old,
        motor,
        point,
        supply,
        Faster {
            air_over,
            load,
            poles: old_poles,
        },
    )
}

struct Faster {
    air_over: bool,
    load: f64,
    poles: u32,
}

/// The new motor is faster: the load that grows with the cube must stay inside what it can do.
fn faster(
    judge: Judge,
    old: &OldMotor,
    motor: &StockMotor,
    point: &RatingPoint,
    supply: Supply,
    f: Faster,
) -> Verdict {
    let Faster {
        air_over,
        load,
        poles,
    } = f;
    let room = if air_over {
        old.rating
            .amps
            .zip(point.amps)
            .map(|(old, new)| new.0 / old.0)
    } else {
        old.rating
            .power()
            .zip(capacity::offered(motor, point, supply))
            .map(|(old, new)| new.0 / old.0)
    };
    let text = format!("{poles} poles; a fan takes {load:.2} times the power at that speed");
    match room {
        Some(room) if load <= room * (1.0 + 1e-9) => {
            judge.pass(format!("{text}, and this motor has {room:.2} times the old one's"))
        }
        Some(room) => judge.ask(format!(
            "{text}, but this motor has only {room:.2} times the old one's: measure the amps under load"
        )),
        None => judge.ask(format!("{text}; whether it can give that is not known")),
    }
}

fn has_speed(motor: &StockMotor, wanted: Rpm, hertz: Hertz) -> bool {
    motor
        .ratings
        .iter()
        .filter_map(|r| r.rpm)
        .any(|r| poles(r, hertz) == poles(wanted, hertz))
}

/// Without any frequency only speeds that are near each other can be called the same.
fn without_frequency(judge: Judge, had: Rpm, offered: Rpm) -> Verdict {
    if had == offered {
        judge.pass("the same speed")
    } else {
        judge.unknown("hertz", "Is the supply 60 Hz or 50 Hz?")
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::matching::Outcome;
    use crate::units::{Amps, Horsepower};

    /// Source: affinity laws (Fan Engineering FE-1800); 120 f / poles; slip tolerance NEMA MG 1 12.47
    /// (from memory).
    #[test]
    fn speeds_are_compared_by_poles_and_by_the_load() {
        struct Case(f64, f64, f64, bool, Outcome);
        let cases = [
            Case(1725.0, 1725.0, 1.0, false, Outcome::Pass),
            Case(1725.0, 1740.0, 1.0, false, Outcome::Pass),
            Case(1725.0, 1750.0, 1.0, false, Outcome::Ask),
            Case(1725.0, 1750.0, 1.15, false, Outcome::Pass),
            Case(1725.0, 3450.0, 8.0, false, Outcome::Fail),
            Case(1750.0, 1140.0, 1.0, false, Outcome::Fail),
            Case(1075.0, 1100.0, 1.0, true, Outcome::Pass),
            Case(1075.0, 1050.0, 1.0, true, Outcome::Pass),
            Case(1075.0, 825.0, 1.0, true, Outcome::Fail),
            Case(1075.0, 1140.0, 1.0, true, Outcome::Ask),
            Case(1075.0, 1140.0, 1.25, true, Outcome::Pass),
            Case(1140.0, 1050.0, 1.0, true, Outcome::Ask),
        ];
        let supply = Supply {
            volts: None,
            phase: None,
            hertz: Some(Hertz(60.0)),
        };
        let point = |rpm: f64, times: f64| RatingPoint {
            rpm: Some(Rpm(rpm)),
            hertz: Some(Hertz(60.0)),
            hp: Some(Horsepower(times)),
            amps: Some(Amps(times)),
            ..RatingPoint::default()
        };
        let wrong: Vec<String> = cases
            .iter()
            .filter_map(|&Case(had, offered, times, air_over, expected)| {
                let old = OldMotor {
                    rating: point(had, 1.0),
                    ..OldMotor::default()
                };
                let v = verdict(
                    &old,
                    &StockMotor::default(),
                    &point(offered, times),
                    supply,
                    air_over,
                );
                (v.outcome != expected).then(|| format!("{had} to {offered}: {v:?}"))
            })
            .collect();
        assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    }
}
