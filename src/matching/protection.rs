//! Thermal protection: whether the winding is still watched, and whether the motor may start by itself.

use super::old_motor::OldMotor;
use super::place::{Drive, Place, Restart};
use super::supply::Supply;
use super::verdict::{COMMON, Criterion, Judge, UNKNOWN, Verdict};
use crate::record::{Class, Protection, RatingPoint};
use crate::stock::StockMotor;

const RESTART: &str = "NEC 430.43 (automatic restarting)";
const OVERLOAD: &str =
    "NEC 430.32 (overload protection by the motor's own protector), common practice";

/// Power up to which single-phase motors usually have their protection inside, horsepower (common practice).
const FRACTIONAL: f64 = 1.0;

/// Where nothing is known of the old motor's protection, only a restart that can hurt somebody is judged.
pub(super) fn verdict(
    old: &OldMotor,
    place: &Place,
    motor: &StockMotor,
    point: &RatingPoint,
    supply: Supply,
) -> Option<Verdict> {
    let had = place.protection.or(old.protection);
    let offers = motor.protection;
    let shown = |p: Option<Protection>| p.map_or(UNKNOWN.to_owned(), |p| p.to_string());
    let judge = |source| Judge::new(Criterion::Protection, shown(had), shown(offers), source);
    if place.restart == Some(Restart::Dangerous) {
        return Some(dangerous(judge(RESTART), had, offers));
    }
    let had = had?;
    let Some(offers) = offers else {
        let inside = supply.phase == Some(1) && point.power().is_some_and(|p| p.0 <= FRACTIONAL);
        return Some(match had {
            Protection::None => judge(OVERLOAD).pass("the old motor had none: the circuit protects it"),
            _ if inside => judge(OVERLOAD).pass(
                "the list does not say; fractional single-phase motors usually have it: see that its plate says THERMALLY PROTECTED",
            ),
            _ => judge(OVERLOAD).not_listed("thermal protection"),
        });
    };
    let restarts = "May it start again by itself after it has cooled, or could that hurt somebody?";
    Some(match (had, offers) {
        (_, Protection::None) if had != Protection::None => judge(OVERLOAD).ask(
            "it has no protection inside: has the circuit an overload device for it? If not, one must be fitted",
        ),
        (Protection::None, Protection::None) => judge(OVERLOAD).pass("neither has any inside: the circuit protects it"),
        (Protection::Manual | Protection::None, Protection::Automatic) => match place.restart {
            Some(_) => judge(RESTART).pass("it starts by itself after it has cooled, which is harmless there"),
            None => judge(RESTART).unknown("restart", restarts),
        },
        (Protection::Unspecified, Protection::Automatic) if starts_freely(old, place) => {
            judge(RESTART).pass("protected; it starts by itself after it has cooled, as is usual on fans")
        }
        (Protection::Unspecified, Protection::Automatic) if place.restart.is_none() => {
            judge(RESTART).unknown("restart", restarts)
        }
        (Protection::Automatic, Protection::Manual) => judge(COMMON).ask(
            "after a trip it stays off until somebody presses its button: is that wanted, and can the button be reached?",
        ),
        (_, Protection::Unspecified) if had == Protection::Manual && place.restart.is_none() => {
            judge(RESTART).ask("the list does not say whether it resets by itself; look at its plate")
        }
        _ => judge(OVERLOAD).pass("protected inside as the old motor was"),
    })
}

/// An unexpected start can hurt somebody: nothing that resets by itself.
fn dangerous(judge: Judge, had: Option<Protection>, offers: Option<Protection>) -> Verdict {
    match offers {
        Some(Protection::Automatic) => {
            judge.fail("it starts by itself after it has cooled, which can hurt somebody there")
        }
        Some(Protection::None) if had.is_none_or(|h| h == Protection::None) => {
            judge.pass("nothing inside starts it by itself")
        }
        Some(Protection::None) => judge.ask(
            "nothing inside starts it by itself, but nothing protects it either: has the circuit an overload device with reset by hand?",
        ),
        Some(Protection::Manual) => judge.pass("it stays off until somebody presses its button"),
        Some(Protection::Impedance) => judge.pass("it has no switch that could start it by itself"),
        Some(Protection::Unspecified) | None => {
            judge.ask("the list does not say whether it resets by itself; look at its plate")
        }
    }
}

/// Fans behind their guards.
fn starts_freely(old: &OldMotor, place: &Place) -> bool {
    old.class == Some(Class::AirOver) || place.drive == Some(Drive::Fan)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::matching::Outcome;
    use crate::units::Horsepower;

    /// Source: NEC 430.43 (no automatic restart where it can injure), NEC 430.32; the rest common practice.
    #[test]
    fn protection_and_restart() {
        use Outcome::{Ask, Fail, Pass};
        use Protection::{Automatic, Impedance, Manual, None as Without, Unspecified};
        use Restart::{Dangerous, Harmless};
        struct Case(
            Option<Protection>,
            Option<Restart>,
            Option<Protection>,
            Option<Outcome>,
        );
        let cases = [
            Case(None, None, None, None),
            Case(None, None, Some(Automatic), None),
            Case(None, Some(Harmless), Some(Automatic), None),
            Case(None, Some(Dangerous), Some(Automatic), Some(Fail)),
            Case(
                Some(Automatic),
                Some(Dangerous),
                Some(Automatic),
                Some(Fail),
            ),
            Case(None, Some(Dangerous), None, Some(Ask)),
            Case(None, Some(Dangerous), Some(Manual), Some(Pass)),
            Case(Some(Manual), Some(Dangerous), Some(Without), Some(Ask)),
            Case(Some(Automatic), None, Some(Automatic), Some(Pass)),
            Case(Some(Automatic), None, Some(Manual), Some(Ask)),
            Case(Some(Automatic), None, Some(Without), Some(Ask)),
            Case(Some(Manual), None, Some(Automatic), Some(Ask)),
            Case(Some(Manual), Some(Harmless), Some(Automatic), Some(Pass)),
            Case(Some(Manual), None, Some(Manual), Some(Pass)),
            Case(Some(Manual), None, Some(Unspecified), Some(Ask)),
            Case(Some(Without), None, Some(Automatic), Some(Ask)),
            Case(Some(Without), None, Some(Without), Some(Pass)),
            Case(Some(Without), None, None, Some(Pass)),
            Case(Some(Unspecified), None, Some(Automatic), Some(Ask)),
            Case(Some(Unspecified), None, None, Some(Pass)),
            Case(Some(Impedance), None, Some(Without), Some(Ask)),
        ];
        let point = RatingPoint {
            hp: Some(Horsepower(0.25)),
            ..RatingPoint::default()
        };
        let wrong: Vec<String> = cases
            .iter()
            .filter_map(|Case(had, restart, offers, expected)| {
                let old = OldMotor {
                    protection: *had,
                    ..OldMotor::default()
                };
                let place = Place {
                    restart: *restart,
                    ..Place::default()
                };
                let motor = StockMotor {
                    protection: *offers,
                    ..StockMotor::default()
                };
                let supply = Supply {
                    volts: None,
                    phase: Some(1),
                    hertz: None,
                };
                let v = verdict(&old, &place, &motor, &point, supply);
                (v.as_ref().map(|v| v.outcome) != *expected)
                    .then(|| format!("{had:?} {restart:?} {offers:?}: {v:?}"))
            })
            .collect();
        assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    }
}
