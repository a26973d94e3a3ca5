//! The first question of all: which rule selects.

use super::old_motor::OldMotor;
use super::place::Place;
use super::verdict::{COMMON, Criterion, Judge, UNKNOWN, Verdict};
use crate::record::Class;
use crate::stock::StockMotor;
use crate::trade;

/// An air-over motor replaces an air-over motor in its air stream, and nothing else; by horsepower alone a
/// general-purpose motor never counts as one.
pub(super) fn verdict(old: &OldMotor, place: &Place, motor: &StockMotor) -> Verdict {
    let shown = |class: Option<Class>| class.map_or(UNKNOWN.to_owned(), |c| c.to_string());
    let judge = Judge::new(
        Criterion::Class,
        shown(old.class),
        shown(motor.class),
        COMMON,
    );
    let without_air = place.drive.filter(|d| !d.blows_over_motor());
    if let (Some(Class::AirOver), Some(drive)) = (motor.class, without_air) {
        return judge.fail(format!(
            "{} moves no air across the motor: an air-over motor overheats there",
            drive.words()
        ));
    }
    if let Some(printed) = contradiction(old) {
        return judge.ask(format!(
            "the old motor is called {}, but its enclosure {printed} says the opposite: settle that first, since the rules differ",
            shown(old.class)
        ));
    }
    match (old.class, motor.class, without_air) {
        (None | Some(Class::Unknown), ..) => {
            judge.unknown("class", "Is the old motor cooled by the air of the fan that it drives (air-over)?")
        }
        (_, None | Some(Class::Unknown), _) => {
            judge.ask("the list does not say whether it is air-over; look at its plate (AO, OAO, TEAO, AIR OVER)")
        }
        (Some(Class::AirOver), Some(Class::AirOver), _) => {
            judge.pass("both are cooled by the air of the driven fan; it must sit in that air and not run unloaded")
        }
        (Some(Class::GeneralPurpose), Some(Class::GeneralPurpose), _) => judge.pass("both are general purpose"),
        (Some(Class::AirOver), Some(Class::GeneralPurpose), Some(drive)) => judge.ask(format!(
            "the old motor was air-over on {}, where it had no air; confirm that a general-purpose motor by horsepower is wanted",
            drive.words()
        )),
        (Some(Class::AirOver), Some(Class::GeneralPurpose), None) => judge.fail(
            "a general-purpose motor is rated by horsepower, not by the air of the fan; it does not replace an air-over motor",
        ),
        (Some(Class::GeneralPurpose), Some(Class::AirOver), _) => {
            judge.fail("an air-over motor has no cooling of its own; it does not replace a general-purpose motor")
        }
    }
}

/// The enclosure of the old motor where it contradicts the class: a fan of its own on an air-over motor, or
/// "air over" on a general-purpose one. An open motor may be either.
fn contradiction(old: &OldMotor) -> Option<&str> {
    let printed = old.enclosure.as_deref()?;
    let enclosure = trade::enclosure(printed)?;
    let own_fan = matches!(enclosure.code.as_str(), "TEFC" | "TEBC");
    match old.class? {
        Class::AirOver => own_fan.then_some(printed),
        Class::GeneralPurpose => enclosure.is_air_over().then_some(printed),
        Class::Unknown => None,
    }
}
