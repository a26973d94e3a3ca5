//! General-purpose motors: horsepower times service factor, at least the old motor's.

use super::old_motor::OldMotor;
use super::supply::Supply;
use super::verdict::{COMMON, Criterion, Judge, UNKNOWN, Verdict};
use crate::record::RatingPoint;
use crate::stock::StockMotor;
use crate::trade;
use crate::units::{Horsepower, plain};

/// Printed powers are rounded: .33 stands for 1/3, 0.75 kW for 1 hp.
const ROUNDING: f64 = 0.02;

/// From this many times the old product on, the verdict says what the surplus costs.
const WELL_ABOVE: f64 = 1.5;

/// The largest service factor that an unlisted one may turn out to be.
const USUAL_SERVICE_FACTOR: f64 = 1.15;

pub(super) fn power(rating: &RatingPoint) -> String {
    match (rating.hp, rating.kw) {
        (Some(hp), _) => hp.to_string(),
        (None, Some(kw)) => format!(
            "{kw} ({})",
            Horsepower((Horsepower::from(kw).0 * 100.0).round() / 100.0)
        ),
        (None, None) => UNKNOWN.to_owned(),
    }
}

/// Whether a rating gives its power in both units, further apart than the rounding of sizes (1/6 hp, 0.12 kW).
fn contradicts(rating: &RatingPoint) -> bool {
    let both = rating.hp.zip(rating.kw);
    both.is_some_and(|(hp, kw)| (Horsepower::from(kw).0 / hp.0 - 1.0).abs() > 0.1)
}

fn product(rating: &RatingPoint, service_factor: Option<f64>) -> String {
    let capacity = rating
        .power()
        .map(|p| Horsepower(round(p.0 * service_factor.unwrap_or(1.0))));
    match (capacity, service_factor) {
        (None, _) => UNKNOWN.to_owned(),
        (Some(capacity), Some(sf)) => format!("{} × {} = {capacity}", power(rating), plain(sf)),
        (Some(_), None) => format!("{} (no service factor)", power(rating)),
    }
}

fn round(value: f64) -> f64 {
    (value * 1000.0).round() / 1000.0
}

/// The new motor's horsepower times service factor on this supply; at another frequency its torque stays
/// and its power goes with the speed.
pub(super) fn offered(
    motor: &StockMotor,
    point: &RatingPoint,
    supply: Supply,
) -> Option<Horsepower> {
    let scale = match (supply.hertz, point.hertz) {
        (Some(line), Some(rated)) => line.0 / rated.0,
        _ => 1.0,
    };
    Some(Horsepower(
        point.power()?.0 * motor.service_factor.unwrap_or(1.0) * scale,
    ))
}

pub(super) fn verdict(
    old: &OldMotor,
    motor: &StockMotor,
    point: &RatingPoint,
    supply: Supply,
) -> Verdict {
    let had = product(&old.rating, old.service_factor);
    let judge = Judge::new(
        Criterion::Capacity,
        had,
        product(point, motor.service_factor),
        COMMON,
    );
    if let Some(doubt) = old.pairing_doubt.as_ref().filter(|_| old.varies) {
        return Verdict {
            why: format!("{doubt}: which power belongs to the voltage in use?").into(),
            ..judge.unknown(
                "ratings",
                "Which power does the plate give at the voltage in use?",
            )
        };
    }
    if contradicts(&old.rating) {
        return judge.unknown(
            "hp",
            "Horsepower and kilowatts of the plate contradict each other: which of them holds?",
        );
    }
    if contradicts(point) {
        return judge
            .ask("horsepower and kilowatts of the list contradict each other; look at its plate");
    }
    if let Some(doubt) = motor.pairing_doubt.as_ref().filter(|_| motor.varies()) {
        return judge.ask(format!(
            "in the list {doubt}; look at its plate which power belongs to which voltage"
        ));
    }
    let Some(needed) = old.capacity() else {
        return judge.unknown(
            "hp",
            "How many horsepower (or kilowatts) does the plate give?",
        );
    };
    let Some(offered) = offered(motor, point, supply) else {
        return judge.not_listed("horsepower");
    };
    let enough = |needed: f64, offered: f64| offered >= needed * (1.0 - ROUNDING);
    if old.service_factor_lost && !enough(needed.0 * 1.25, offered.0) {
        return judge.unknown(
            "service_factor",
            "Which service factor does the plate give?",
        );
    }
    if !enough(needed.0, offered.0) {
        let short = format!(
            "{} is below the old {}",
            Horsepower(round(offered.0)),
            Horsepower(round(needed.0))
        );
        return if motor.service_factor.is_none()
            && enough(needed.0, offered.0 * USUAL_SERVICE_FACTOR)
        {
            judge.ask(format!("{short}, but the list gives no service factor; with {USUAL_SERVICE_FACTOR} it would do"))
        } else {
            judge.fail(format!("too weak: {short}"))
        };
    }
    let times = offered.0 / needed.0;
    if times <= WELL_ABOVE {
        return judge.pass(format!("{:.2} times the old product", times));
    }
    judge.pass(surplus(old, point, supply, times))
}

/// What a motor well above the need costs, in numbers.
fn surplus(old: &OldMotor, point: &RatingPoint, supply: Supply, times: f64) -> String {
    let mut text = format!(
        "{times:.2} times the old product: the driven load does not change, so it runs at about {:.0} % of its own power, \
         with a poorer power factor",
        100.0 * old.rating.power().map_or(0.0, |p| p.0)
            / point.power().map_or(f64::INFINITY, |p| p.0)
    );
    let start = |rating: &RatingPoint| {
        trade::locked_rotor(supply.phase?, rating.power()?.0, point.volts?.0)
    };
    if let (Some(before), Some(after)) = (start(&old.rating), start(point)) {
        text.push_str(&format!(
            "; starting current up to {after} instead of {before} (NEC 430.251)"
        ));
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::matching::Outcome;
    use crate::units::{Hertz, Kilowatts, Volts};
    use proptest::prelude::*;

    fn outcome(old: (RatingPoint, Option<f64>), new: (RatingPoint, Option<f64>)) -> Verdict {
        let old = OldMotor {
            rating: old.0,
            service_factor: old.1,
            ..OldMotor::default()
        };
        let motor = StockMotor {
            service_factor: new.1,
            ..StockMotor::default()
        };
        let supply = Supply {
            volts: Some(Volts(460.0)),
            phase: Some(3),
            hertz: Some(Hertz(60.0)),
        };
        verdict(&old, &motor, &new.0, supply)
    }

    fn hp(hp: f64) -> RatingPoint {
        RatingPoint {
            hp: Some(Horsepower(hp)),
            volts: Some(Volts(460.0)),
            ..RatingPoint::default()
        }
    }

    fn kw(kw: f64) -> RatingPoint {
        RatingPoint {
            kw: Some(Kilowatts(kw)),
            ..RatingPoint::default()
        }
    }

    /// Source: service factor, 10 hp x 1.15 = 11.5 hp (motor equations of the reference); the rule itself
    /// is common practice.
    #[test]
    fn the_product_counts() {
        let cases = [
            (
                (hp(10.0), Some(1.15)),
                (hp(10.0), Some(1.15)),
                Outcome::Pass,
            ),
            ((hp(10.0), Some(1.15)), (hp(10.0), Some(1.0)), Outcome::Fail),
            ((hp(10.0), Some(1.15)), (hp(10.0), None), Outcome::Ask),
            ((hp(10.0), None), (hp(10.0), Some(1.0)), Outcome::Pass),
            ((hp(0.5), Some(1.25)), (hp(0.75), Some(1.0)), Outcome::Pass),
            ((hp(1.0 / 3.0), None), (hp(0.33), None), Outcome::Pass),
            ((kw(0.75), None), (hp(1.0), None), Outcome::Pass),
            ((hp(7.5), None), (kw(5.5), None), Outcome::Pass),
            ((hp(5.0), None), (kw(2.2), None), Outcome::Fail),
        ];
        let wrong: Vec<String> = cases
            .into_iter()
            .filter_map(|(old, new, expected)| {
                let verdict = outcome(old, new);
                (verdict.outcome != expected).then(|| format!("{verdict:?}"))
            })
            .collect();
        assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    }

    /// Source: NEC 430.251(B): 46 A at 5 hp, 81 A at 10 hp, 460 V.
    #[test]
    fn a_surplus_is_priced() {
        let verdict = outcome((hp(5.0), Some(1.0)), (hp(10.0), Some(1.0)));
        assert_eq!(verdict.outcome, Outcome::Pass);
        assert!(
            verdict.why.contains("81 A instead of 46 A") && verdict.why.contains("50 %"),
            "{}",
            verdict.why
        );
    }

    proptest! {
        #[test]
        fn verdicts_agree_in_hp_and_kw(old in 0.05f64..300.0, new in 0.05f64..300.0) {
            let in_kw = |p: f64| kw(Kilowatts::from(Horsepower(p)).0);
            let by_hp = outcome((hp(old), None), (hp(new), None)).outcome;
            let by_kw = outcome((in_kw(old), None), (in_kw(new), None)).outcome;
            // Apart from the last digit of the conversion.
            let edge = [new / (old * (1.0 - ROUNDING)), new * USUAL_SERVICE_FACTOR / (old * (1.0 - ROUNDING))];
            if edge.iter().all(|e| (e - 1.0).abs() > 1e-9) {
                prop_assert_eq!(by_hp, by_kw);
            }
        }
    }
}
