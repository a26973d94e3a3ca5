//! What the motor must endure: insulation class, ambient, duty; and its own capacitor.

use super::old_motor::OldMotor;
use super::place::Place;
use super::verdict::{COMMON, Criterion, Judge, UNKNOWN, Verdict};
use crate::record::{Class, Field};
use crate::stock::StockMotor;
use crate::trade;
use crate::units::{Celsius, plain};

/// The ambient of a motor that does not print one (NEMA MG 1 12.42 rises are above 40 °C; IEC 60034-1
/// prints the ambient only if it is another, from memory).
const STANDARD_AMBIENT: Celsius = Celsius(40.0);

/// The insulation class must not be lower. Nothing is asked where the old plate names none.
pub(super) fn insulation(old: &OldMotor, motor: &StockMotor) -> Option<Verdict> {
    if old.doubts(Field::InsulationClass) {
        let offers = motor
            .insulation_class
            .clone()
            .unwrap_or_else(|| UNKNOWN.to_owned());
        let judge = Judge::new(Criterion::Insulation, UNKNOWN, offers, "NEMA MG 1 12.42");
        return Some(judge.unknown(
            "insulation_class",
            "Which insulation class does the plate give?",
        ));
    }
    let had = old.insulation_class.as_deref()?;
    let offers = motor.insulation_class.as_deref();
    let judge = Judge::new(
        Criterion::Insulation,
        format!("class {had}"),
        offers.map_or(UNKNOWN.to_owned(), |o| format!("class {o}")),
        "NEMA MG 1 12.42, IEC 60085 (class temperatures)",
    );
    let temperature = |letter: &str| trade::insulation_class(letter).map(|c| c.temperature);
    let Some(offers) = offers else {
        return Some(judge.not_listed("insulation class"));
    };
    Some(match (temperature(had), temperature(offers)) {
        (Some(old), Some(new)) if new >= old => judge.pass(format!("{new} against {old}")),
        (Some(old), Some(new)) => judge.fail(format!("{new} is below {old}")),
        _ => judge.ask("one of the letters is no insulation class of the standard"),
    })
}

/// The ambient must not be lower than the old motor's, or than the place's.
pub(super) fn ambient(old: &OldMotor, place: &Place, motor: &StockMotor) -> Option<Verdict> {
    if old.doubts(Field::AmbientC) && place.ambient.is_none() {
        let offers = motor.ambient.map_or(UNKNOWN.to_owned(), |a| a.to_string());
        let judge = Judge::new(Criterion::Ambient, UNKNOWN, offers, "NEMA MG 1 12.42");
        return Some(judge.unknown(
            "ambient_c",
            "Which ambient temperature does the plate give?",
        ));
    }
    let needed = match (place.ambient, old.ambient) {
        (Some(said), _) => said,
        (None, Some(printed)) => printed,
        (None, None) => return None,
    };
    let judge = Judge::new(
        Criterion::Ambient,
        needed.to_string(),
        motor.ambient.map_or(UNKNOWN.to_owned(), |a| a.to_string()),
        "NEMA MG 1 12.42: rises are above an ambient of 40 °C unless the plate prints another",
    );
    Some(match motor.ambient {
        Some(offered) if offered >= needed => {
            judge.pass(format!("{offered} is not below {needed}"))
        }
        Some(offered) => judge.fail(format!("{offered} is below {needed}")),
        None if needed <= STANDARD_AMBIENT => judge.pass(format!(
            "a motor that prints none is made for {STANDARD_AMBIENT}"
        )),
        None => judge.not_listed("ambient"),
    })
}

/// The duty must not be shorter.
pub(super) fn duty(old: &OldMotor, motor: &StockMotor) -> Option<Verdict> {
    if old.doubts(Field::Duty) {
        let offers = motor.duty.clone().unwrap_or_else(|| UNKNOWN.to_owned());
        let judge = Judge::new(
            Criterion::Duty,
            UNKNOWN,
            offers,
            "NEC 430.7(A)(6) time ratings",
        );
        return Some(match motor.duty.as_deref().and_then(trade::duty) {
            Some(duty) if duty.is_continuous() => judge.pass("continuous covers any other duty"),
            Some(duty) if duty.code == "AIR OVER" && motor.class == Some(Class::AirOver) => {
                judge.pass("continuous in its air: it covers any other duty")
            }
            _ => judge.unknown("duty", "Which duty or time rating does the plate give?"),
        });
    }
    let had = old.duty.as_deref()?;
    let offers = motor.duty.as_deref();
    let judge = Judge::new(
        Criterion::Duty,
        had.to_owned(),
        offers.unwrap_or(UNKNOWN).to_owned(),
        "NEC 430.7(A)(6) time ratings, IEC 60034-1 duty types",
    );
    // An air-over motor runs continuously in its air; that is what AIR OVER as a duty says.
    let air_over = motor.class == Some(Class::AirOver);
    let rank = |code: &str| match trade::duty(code) {
        Some(d) if d.is_continuous() => Some(u32::MAX),
        Some(d) if d.code == "AIR OVER" => Some(u32::MAX),
        Some(d) => d.code.strip_suffix(" MIN").and_then(|m| m.parse().ok()),
        None => None,
    };
    let Some(offers) = offers else {
        return Some(match motor.class {
            Some(Class::GeneralPurpose) => {
                judge.pass("a general-purpose motor is rated continuous by definition (NEMA MG 1 1.6, from memory)")
            }
            _ if air_over => judge.pass("an air-over motor is rated continuous in its air (common practice)"),
            _ => judge.not_listed("duty"),
        });
    };
    Some(match (rank(had), rank(offers)) {
        (Some(old), Some(new)) if new >= old => judge.pass("not shorter than the old duty"),
        (Some(_), Some(_)) => judge.fail("a shorter duty than the old one"),
        (None, Some(u32::MAX)) => judge.pass("continuous covers any other duty"),
        _ if had == offers => judge.pass("the same duty"),
        _ => judge.ask("the two duties cannot be compared by the table; compare the plates"),
    })
}

/// The capacitor is the new motor's own, and a new one; the old value says nothing about it.
pub(super) fn capacitor(old: &OldMotor, motor: &StockMotor) -> Option<Verdict> {
    let value = |uf: Option<crate::units::Microfarads>, volts: Option<crate::units::Volts>| match (
        uf, volts,
    ) {
        (Some(c), Some(v)) => Some(format!("{c} {v}")),
        (Some(c), None) => Some(c.to_string()),
        _ => None,
    };
    let (had, offers) = (
        value(old.capacitor, old.capacitor_volts),
        value(motor.capacitor, motor.capacitor_volts),
    );
    if had.is_none() && offers.is_none() {
        return None;
    }
    let judge = Judge::new(
        Criterion::Capacitor,
        had.unwrap_or_else(|| "-".to_owned()),
        offers.clone().unwrap_or_else(|| UNKNOWN.to_owned()),
        COMMON,
    );
    Some(judge.pass(match (offers, old.capacitor, motor.capacitor) {
        (Some(own), Some(before), Some(now)) if before != now => format!(
            "fit a new capacitor of its own value, {own}, instead of the old {} µF; a higher voltage class will do, a lower never",
            plain(before.0)
        ),
        (Some(own), ..) => format!("fit a new capacitor of its own value, {own}; a higher voltage class will do, a lower never"),
        (None, ..) => "fit a new capacitor of the value on the new motor's plate, not the old value".to_owned(),
    }))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::matching::Outcome::{self, Ask, Fail, Pass};

    fn text(t: &str) -> Option<String> {
        (!t.is_empty()).then(|| t.to_owned())
    }

    /// Source: NEMA MG 1 12.42 and IEC 60085: A 105, E 120, B 130, F 155, H 180 °C.
    #[test]
    fn insulation_is_not_lower() {
        for (had, offers, expected) in [
            ("B", "F", Some(Pass)),
            ("B", "B", Some(Pass)),
            ("F", "B", Some(Fail)),
            ("A", "E", Some(Pass)),
            ("B", "", Some(Ask)),
            ("", "A", None),
        ] {
            let old = OldMotor {
                insulation_class: text(had),
                ..OldMotor::default()
            };
            let motor = StockMotor {
                insulation_class: text(offers),
                ..StockMotor::default()
            };
            assert_eq!(
                insulation(&old, &motor).map(|v| v.outcome),
                expected,
                "{had} {offers}"
            );
        }
    }

    /// Source: NEMA MG 1 12.42 (40 °C); NEC 430.7(A)(6) and IEC 60034-1 (duties).
    #[test]
    fn ambient_and_duty_are_not_lower() {
        let degrees = |t: f64| (t > 0.0).then_some(Celsius(t));
        for (had, offers, expected) in [
            (40.0, 40.0, Some(Pass)),
            (60.0, 40.0, Some(Fail)),
            (40.0, 0.0, Some(Pass)),
            (60.0, 0.0, Some(Ask)),
            (0.0, 40.0, None),
        ] {
            let old = OldMotor {
                ambient: degrees(had),
                ..OldMotor::default()
            };
            let motor = StockMotor {
                ambient: degrees(offers),
                ..StockMotor::default()
            };
            assert_eq!(
                ambient(&old, &Place::default(), &motor).map(|v| v.outcome),
                expected,
                "{had} {offers}"
            );
        }
        for (had, offers, class, expected) in [
            ("CONT", "CONT", None, Some(Pass)),
            ("CONT", "30 MIN", None, Some(Fail)),
            ("30 MIN", "CONT", None, Some(Pass)),
            ("30 MIN", "60 MIN", None, Some(Pass)),
            ("CONT", "AIR OVER", Some(Class::AirOver), Some(Pass)),
            ("CONT", "", Some(Class::GeneralPurpose), Some(Pass)),
            ("CONT", "", None, Some(Ask)),
            ("S3", "S3", None, Some(Pass)),
            ("S3", "30 MIN", None, Some(Ask)),
            ("", "CONT", None, None),
        ] {
            let old = OldMotor {
                duty: text(had),
                ..OldMotor::default()
            };
            let motor = StockMotor {
                duty: text(offers),
                class,
                ..StockMotor::default()
            };
            let outcome: Option<Outcome> = duty(&old, &motor).map(|v| v.outcome);
            assert_eq!(outcome, expected, "{had} {offers}");
        }
    }
}
