//! Air-over motors: nameplate amps at the same voltage, from the old motor's up to a quarter above.

use super::old_motor::OldMotor;
use super::supply::same_system;
use super::verdict::{COMMON, Criterion, Judge, UNKNOWN, Verdict};
use crate::record::RatingPoint;
use crate::stock::StockMotor;
use crate::units::Amps;

/// The window: from the old motor's amps to 5/4 of them, both ends included.
const UPPER: (i64, i64) = (5, 4);

/// Amps in ten-thousandths, so that printed decimals compare exactly: 2.0 to 2.5 passes.
fn exact(amps: Amps) -> i64 {
    (amps.0 * 10_000.0).round() as i64
}

/// Where amps lie against the window of the old motor's.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Lies {
    Below,
    Inside,
    Above,
}

fn lies(old: Amps, new: Amps) -> Lies {
    let (old, new) = (exact(old), exact(new));
    if new < old {
        Lies::Below
    } else if new * UPPER.1 > old * UPPER.0 {
        Lies::Above
    } else {
        Lies::Inside
    }
}

/// The highest amps in the window of `old`.
pub(super) fn upper_end(old: Amps) -> Amps {
    Amps(old.0 * UPPER.0 as f64 / UPPER.1 as f64)
}

pub(super) fn verdict(old: &OldMotor, motor: &StockMotor, point: &RatingPoint) -> Verdict {
    let at = |amps: Amps, rating: &RatingPoint| match rating.volts {
        Some(volts) => format!("{amps} at {volts}"),
        None => amps.to_string(),
    };
    let shown = |rating: &RatingPoint| rating.amps.map_or(UNKNOWN.to_owned(), |a| at(a, rating));
    // The plate's own amps at this voltage count, whatever the voltage in use.
    let before = old.at(point.volts);
    let judge = Judge::new(Criterion::Amps, shown(before), shown(point), COMMON);
    if let Some(doubt) = &old.pairing_doubt {
        return Verdict {
            why: format!("{doubt}: which amps belong to the voltage in use?").into(),
            ..judge.unknown(
                "ratings",
                "Which amps does the plate give at the voltage in use?",
            )
        };
    }
    let Some(had) = before.amps else {
        return judge.unknown(
            "amps",
            "How many full-load amps does the plate give at the voltage in use?",
        );
    };
    let Some(offered) = point.amps else {
        return match &motor.pairing_doubt {
            Some(doubt) => judge.ask(format!("in the list {doubt}; look at its plate")),
            None => judge.not_listed("amps at this voltage"),
        };
    };
    if motor.pairing_doubt.is_some() && motor.ratings.len() > 1 {
        let doubt = motor.pairing_doubt.as_deref().unwrap_or_default();
        return judge.ask(format!(
            "in the list {doubt}; look at its plate which amps belong to which rating"
        ));
    }
    let comparable = match (before.volts, point.volts) {
        (Some(a), Some(b)) => same_system(a, b),
        _ => true,
    };
    // At another voltage the same power draws amps in inverse proportion.
    let old_here = match (comparable, before.volts, point.volts) {
        (false, Some(a), Some(b)) => Amps(had.0 * a.0 / b.0),
        _ => had,
    };
    let window = format!("{} to {}", old_here, upper_end(old_here));
    let percent = 100.0 * (offered.0 / old_here.0 - 1.0);
    match lies(old_here, offered) {
        Lies::Inside if comparable => {
            judge.pass(format!("{offered} lies within {window} (the old amps up to 25 % above): {percent:+.0} %"))
        }
        Lies::Inside => judge.ask(format!(
            "the old {had} are worth {old_here} at this voltage by calculation, {offered} lies within {window}; \
             the rule wants plates of the same voltage, so measure the amps under load"
        )),
        Lies::Below => judge.fail(format!("too weak: {offered} is below the old {old_here} ({percent:+.0} %)")),
        Lies::Above => judge.fail(format!(
            "too strong: {offered} is above {} ({percent:+.0} %); the air that cools it was set by the old load",
            upper_end(old_here)
        )),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// Common practice: from the nameplate amps up to 25 % above, both ends included.
    #[test]
    fn both_ends_are_in_the_window() {
        for (old, new, expected) in [
            (2.0, 2.0, Lies::Inside),
            (2.0, 2.5, Lies::Inside),
            (2.0, 2.51, Lies::Above),
            (2.0, 1.99, Lies::Below),
            (1.4, 1.75, Lies::Inside),
            (3.7, 4.625, Lies::Inside),
            (0.1, 0.125, Lies::Inside),
            (1.1, 1.375, Lies::Inside),
            (2.4, 3.1, Lies::Above),
        ] {
            assert_eq!(lies(Amps(old), Amps(new)), expected, "{old} {new}");
        }
    }

    proptest! {
        #[test]
        fn the_window_is_monotone(old in 1u32..5000, a in 1u32..9000, b in 1u32..9000) {
            let amps = |hundredths: u32| Amps(f64::from(hundredths) / 100.0);
            let (low, high) = (a.min(b), a.max(b));
            let order = |l| match l { Lies::Below => 0, Lies::Inside => 1, Lies::Above => 2 };
            prop_assert!(order(lies(amps(old), amps(low))) <= order(lies(amps(old), amps(high))));
            prop_assert_eq!(lies(amps(old), amps(old)), Lies::Inside);
        }
    }
}
