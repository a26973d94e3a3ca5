//! The design letter of a three-phase motor: its torque and its starting current.

use super::old_motor::OldMotor;
use super::place::{Drive, Place};
use super::supply::Supply;
use super::verdict::{Criterion, Judge, UNKNOWN, Verdict};
use crate::record::{Field, RatingPoint, Reading, notation};
use crate::stock::StockMotor;
use crate::trade;

const SOURCE: &str = "NEMA MG 1 1.19 and 12.38 to 12.40 (designs and their torques; from memory), IEC 60034-12 (N, H)";

/// What a letter stands for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Kind {
    /// Normal starting torque, starting current within limits: B, and N of IEC.
    Normal,
    /// Normal starting torque, starting current without a limit: A, and the former E.
    NormalWithMoreCurrent,
    /// High starting torque: C, and H of IEC.
    HighTorque,
    /// High starting torque at high slip: D.
    HighSlip,
}

fn kind(letter: &str) -> Option<Kind> {
    Some(match letter {
        "B" | "N" => Kind::Normal,
        "A" | "E" => Kind::NormalWithMoreCurrent,
        "C" | "H" => Kind::HighTorque,
        "D" => Kind::HighSlip,
        _ => return None,
    })
}

fn is_ordinary(letter: &str) -> bool {
    matches!(
        kind(letter),
        Some(Kind::Normal | Kind::NormalWithMoreCurrent)
    )
}

/// Whether a doubtful design letter may be other than the ordinary one that is taken where none is printed.
pub(super) fn matters(reading: &Reading) -> bool {
    let mut values = reading.possible(Field::Design);
    values.extend(
        reading
            .printed
            .as_deref()
            .and_then(|p| notation::parse(Field::Design, p)),
    );
    values.iter().any(|v| !v.text().is_some_and(is_ordinary))
}

/// The design must start the load, with a current that the circuit stands. Nothing is said where the old plate
/// prints no letter.
pub(super) fn verdict(
    old: &OldMotor,
    place: &Place,
    motor: &StockMotor,
    point: &RatingPoint,
    supply: Supply,
) -> Option<Verdict> {
    let offers = motor.design.as_deref();
    let shown = |letter: Option<&str>| letter.map_or(UNKNOWN.to_owned(), |l| format!("design {l}"));
    let judge = Judge::new(
        Criterion::Design,
        shown(old.design.as_deref()),
        shown(offers),
        SOURCE,
    );
    if old.doubts(Field::Design) {
        return Some(judge.unknown("design", "Which design letter does the plate give?"));
    }
    let had = old.design.as_deref()?;
    let Some(offers) = offers else {
        return Some(if is_ordinary(had) {
            judge.pass("normal torque, as an ordinary motor has; the list gives no letter: see that its plate says neither C nor D")
        } else {
            judge.not_listed("design letter")
        });
    };
    if had == offers {
        return Some(judge.pass("the same design"));
    }
    let (Some(before), Some(after)) = (kind(had), kind(offers)) else {
        return Some(judge.ask("two designs that the table does not compare: look at starting torque and current of both"));
    };
    if supply.phase == Some(1) {
        return Some(judge.ask(
            "these letters are for three phases: look at starting torque and current of both",
        ));
    }
    let light = matches!(place.drive, Some(Drive::Fan | Drive::Pump));
    Some(match (before, after) {
        (Kind::Normal | Kind::NormalWithMoreCurrent, Kind::Normal) => {
            judge.pass("normal starting torque, starting current within the limits of design B")
        }
        (Kind::NormalWithMoreCurrent, Kind::NormalWithMoreCurrent) => judge.pass("normal starting torque"),
        (Kind::Normal, Kind::NormalWithMoreCurrent) => judge.ask(format!(
            "the same torque, but its starting current may exceed {}: does the short-circuit device hold at the start?",
            limit(supply, point)
        )),
        (Kind::Normal | Kind::NormalWithMoreCurrent, Kind::HighTorque) if light => {
            judge.pass("it starts harder than needed; the load takes little at the start")
        }
        (Kind::Normal | Kind::NormalWithMoreCurrent, Kind::HighTorque) => match place.drive {
            None => judge.unknown("drive", "What does the motor drive: a fan, a belt, a pump, a gearbox, a compressor?"),
            Some(_) => judge.ask("it starts harder, but its breakdown torque is lower: has the load peaks?"),
        },
        (Kind::HighTorque, Kind::HighTorque) | (Kind::HighSlip, Kind::HighSlip) => judge.pass("the same kind of torque"),
        (Kind::HighTorque, Kind::Normal | Kind::NormalWithMoreCurrent) if light => {
            judge.ask("less starting torque; a fan or centrifugal pump needs little, but the old motor was one of high torque: why?")
        }
        (Kind::HighTorque, Kind::Normal | Kind::NormalWithMoreCurrent) => {
            judge.fail("too little starting torque: the load may not start")
        }
        (_, Kind::HighSlip) => judge.ask("a design of high slip (5 % and more): it slows down under load and takes more power for the same work"),
        (Kind::HighSlip, _) => judge.fail("the old motor gives way under load by its high slip, this one does not"),
    })
}

/// The most that designs B, C and D draw at the start.
fn limit(supply: Supply, point: &RatingPoint) -> String {
    let amps = supply
        .phase
        .zip(point.power())
        .zip(point.volts)
        .and_then(|((phase, hp), volts)| trade::locked_rotor(phase, hp.0, volts.0));
    match amps {
        Some(amps) => format!("the {amps} of design B (NEC 430.251)"),
        None => "that of design B".to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::matching::Outcome;
    use crate::units::{Horsepower, Volts};

    /// Source: NEMA MG 1 1.19 and 12.38 to 12.40 (from memory); 5 hp at 460 V: 46 A, NEC 430.251(B).
    #[test]
    fn designs_are_compared_by_torque_and_starting_current() {
        use Outcome::{Ask, Fail, Pass};
        struct Case(
            &'static str,
            &'static str,
            Option<Drive>,
            Option<Outcome>,
            &'static str,
        );
        let (fan, gears) = (Some(Drive::Fan), Some(Drive::Gearbox));
        let cases = [
            Case("B", "B", None, Some(Pass), "the same"),
            Case("A", "B", None, Some(Pass), "normal"),
            Case("B", "A", None, Some(Ask), "46 A"),
            Case("B", "N", None, Some(Pass), "normal"),
            Case("B", "C", fan, Some(Pass), "starts harder"),
            Case("B", "C", gears, Some(Ask), "breakdown"),
            Case("B", "C", None, Some(Ask), "What does the motor drive"),
            Case("B", "D", None, Some(Ask), "high slip"),
            Case("C", "B", gears, Some(Fail), "may not start"),
            Case("C", "B", fan, Some(Ask), "why"),
            Case("C", "C", gears, Some(Pass), "the same"),
            Case("D", "B", None, Some(Fail), "high slip"),
            Case("D", "D", None, Some(Pass), "the same"),
            Case("B", "", None, Some(Pass), "gives no letter"),
            Case("C", "", None, Some(Ask), "does not give"),
            Case("", "C", None, None, ""),
            Case("B", "L", None, Some(Ask), "does not compare"),
        ];
        let text = |t: &str| (!t.is_empty()).then(|| t.to_owned());
        let point = RatingPoint {
            hp: Some(Horsepower(5.0)),
            volts: Some(Volts(460.0)),
            ..RatingPoint::default()
        };
        let supply = Supply {
            volts: point.volts,
            phase: Some(3),
            hertz: None,
        };
        let wrong: Vec<String> = cases
            .iter()
            .filter_map(|Case(had, offers, drive, expected, why)| {
                let old = OldMotor {
                    design: text(had),
                    ..OldMotor::default()
                };
                let motor = StockMotor {
                    design: text(offers),
                    ..StockMotor::default()
                };
                let place = Place {
                    drive: *drive,
                    ..Place::default()
                };
                let v = verdict(&old, &place, &motor, &point, supply);
                let right = v.as_ref().map(|v| v.outcome) == *expected
                    && v.as_ref().is_none_or(|v| v.why.contains(why));
                (!right).then(|| format!("{had} to {offers}: {v:?}"))
            })
            .collect();
        assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    }
}
