//! The enclosure: at least as closed as the old one, or as the place demands.

use super::old_motor::OldMotor;
use super::place::{Place, Surroundings};
use super::verdict::{Criterion, Judge, UNKNOWN, Verdict};
use crate::record::Field;
use crate::stock::StockMotor;
use crate::trade;

const SOURCE: &str = "NEMA MG 1 1.25 to 1.27 (enclosures); the ladder is common practice";

/// How closed an enclosure is, least first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Closed {
    /// Openings that keep out falling drops at most.
    Open,
    /// Openings that keep out splashes and driven rain.
    WeatherProtected,
    /// No openings.
    Total,
    /// Sealed against a hose.
    Washdown,
}

impl Closed {
    fn words(self) -> &'static str {
        match self {
            Closed::Open => "open",
            Closed::WeatherProtected => "weather-protected",
            Closed::Total => "totally enclosed",
            Closed::Washdown => "sealed against washdown",
        }
    }
}

/// What the letters of an enclosure say.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Kind {
    Known(Closed),
    /// `AO` or `AIR OVER` alone: open or enclosed is not told.
    AirOverOnly,
    /// For a hazardous location.
    Hazardous,
    /// Sealed into a machine, or cooled by what only that machine has.
    BuiltIn,
}

fn kind(printed: &str) -> Option<Kind> {
    let compact: String = printed
        .to_uppercase()
        .chars()
        .filter(|c| c.is_alphanumeric())
        .collect();
    if matches!(compact.as_str(), "AO" | "AIROVER") {
        return Some(Kind::AirOverOnly);
    }
    let enclosure = trade::enclosure(printed)?;
    Some(match enclosure.code.as_str() {
        "TEXP" | "XPAO" => Kind::Hazardous,
        "SUB" | "HERM" | "TEPV" | "TEWAC" => Kind::BuiltIn,
        "SP" | "WPI" | "WPII" => Kind::Known(Closed::WeatherProtected),
        "WASH" | "TEHC" => Kind::Known(Closed::Washdown),
        _ if enclosure.is_enclosed() => Kind::Known(Closed::Total),
        _ => Kind::Known(Closed::Open),
    })
}

/// What the surroundings alone demand.
fn demanded(surroundings: Surroundings) -> Closed {
    match surroundings {
        Surroundings::Indoors => Closed::Open,
        Surroundings::Outdoors => Closed::Total,
        Surroundings::Wet => Closed::Washdown,
    }
}

/// What a new enclosure must be, in words; `None` where neither plate nor place tells.
pub(super) fn demand(old: &OldMotor, place: &Place) -> Option<String> {
    let printed = old.enclosure.as_deref();
    match printed.map(kind) {
        Some(Some(Kind::Hazardous)) => {
            return Some(format!(
                "{}: for the same hazardous location (class, division, group, temperature code)",
                printed.unwrap_or_default()
            ));
        }
        Some(Some(Kind::AirOverOnly) | None) if place.surroundings.is_none() => {
            return Some(format!(
                "as the old one, printed {}: look whether it is open",
                printed.unwrap_or_default()
            ));
        }
        _ => {}
    }
    let rung = match printed.and_then(kind) {
        Some(Kind::Known(rung)) => Some(rung),
        _ => None,
    };
    let demanded = rung.max(place.surroundings.map(demanded))?;
    let as_before = printed.map_or(String::new(), |p| format!(" (the old one was {p})"));
    Some(format!("{} or more closed{as_before}", demanded.words()))
}

pub(super) fn verdict(old: &OldMotor, place: &Place, motor: &StockMotor) -> Verdict {
    let had = match (&old.enclosure, place.surroundings) {
        (Some(e), Some(s)) => format!("{e}, {s:?}")
            .to_lowercase()
            .replace(&e.to_lowercase(), e),
        (Some(e), None) => e.clone(),
        (None, Some(s)) => format!("{s:?}").to_lowercase(),
        (None, None) => UNKNOWN.to_owned(),
    };
    let offers = motor
        .enclosure
        .clone()
        .unwrap_or_else(|| UNKNOWN.to_owned());
    let judge = Judge::new(Criterion::Enclosure, had, offers, SOURCE);
    if old.doubts(Field::Enclosure) {
        return judge.unknown("enclosure", "Which enclosure does the plate give?");
    }
    let old_kind = old.enclosure.as_deref().map(kind);
    let new_kind = match motor.enclosure.as_deref() {
        None => return judge.not_listed("enclosure"),
        Some(printed) => kind(printed),
    };
    match (old_kind, new_kind) {
        (Some(Some(Kind::Hazardous)), Some(Kind::Hazardous)) => judge.ask(
            "hazardous location: class, division, group and temperature code must be the same on both plates",
        ),
        (Some(Some(Kind::Hazardous)), _) => {
            judge.fail("the old motor is made for a hazardous location; an ordinary motor never replaces it")
        }
        (_, None) => judge.ask("this enclosure is not in the table; compare it with the old one"),
        (_, Some(Kind::BuiltIn)) => judge.ask("its cooling needs what the machine around it gives; compare with the old motor"),
        (Some(Some(Kind::BuiltIn)), _) => judge.ask("the old motor was cooled by the machine around it; compare the cooling"),
        // Made for a hazardous location, and totally enclosed like any other.
        (old_kind, Some(Kind::Hazardous)) => {
            let total = Kind::Known(Closed::Total);
            ladder(judge, old_kind.flatten(), old.enclosure.is_some(), total, place.surroundings)
        }
        (old_kind, Some(new)) => ladder(judge, old_kind.flatten(), old.enclosure.is_some(), new, place.surroundings),
    }
}

fn ladder(
    judge: Judge,
    old: Option<Kind>,
    printed: bool,
    new: Kind,
    surroundings: Option<Surroundings>,
) -> Verdict {
    let old_rung = match old {
        Some(Kind::Known(rung)) => Some(rung),
        _ => None,
    };
    let Kind::Known(new_rung) = new else {
        // "AIR OVER" alone on the shelf.
        return match (old, surroundings) {
            (_, Some(s)) if demanded(s) > Closed::Open => {
                judge.ask("the list does not say whether it is open or enclosed")
            }
            (Some(Kind::Known(Closed::Open)), _) => {
                judge.pass("the old motor was open; any enclosure is at least as closed")
            }
            _ => {
                judge.ask("the list does not say whether it is open or enclosed; look at its plate")
            }
        };
    };
    if let Some(place) = surroundings
        && new_rung < demanded(place)
    {
        let text = format!(
            "{} where the place demands {}",
            new_rung.words(),
            demanded(place).words()
        );
        // What stood there before may do again, but somebody must look at the shelter it had.
        return match old_rung {
            Some(old) if new_rung >= old => judge.ask(format!(
                "{text}; the old one was {} too: how was it sheltered?",
                old.words()
            )),
            _ if new_rung == Closed::Open => judge.fail(text),
            _ => judge.ask(text),
        };
    }
    match old_rung {
        Some(old) if new_rung >= old => {
            judge.pass(format!("{} replaces {}", new_rung.words(), old.words()))
        }
        Some(old) if new_rung == Closed::Open && surroundings != Some(Surroundings::Indoors) => {
            judge.fail(format!("open where the old motor was {}", old.words()))
        }
        Some(old) => judge.ask(format!(
            "{} where the old motor was {}: does the place still demand that?",
            new_rung.words(),
            old.words()
        )),
        None if new_rung >= Closed::Total => {
            judge.pass("totally enclosed: at least as closed as any place demands that is not a hazardous location")
        }
        None if surroundings == Some(Surroundings::Indoors) && !printed => {
            judge.pass("indoors an open motor will do")
        }
        None => judge.unknown(
            "enclosure",
            "Was the old motor open or totally enclosed, and does it stand in the wet or in dust?",
        ),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::matching::Outcome;

    /// Source: NEMA MG 1 1.25 to 1.27; the ladder by place is common practice.
    #[test]
    fn at_least_as_closed_as_the_place_demands() {
        use Outcome::{Ask, Fail, Pass};
        use Surroundings::{Indoors, Outdoors, Wet};
        let cases = [
            (Some("ODP"), None, Some("ODP"), Pass),
            (Some("ODP"), None, Some("TEFC"), Pass),
            (Some("TEFC"), None, Some("ODP"), Fail),
            (Some("TEFC"), Some(Indoors), Some("ODP"), Ask),
            (Some("TEAO"), None, Some("OAO"), Fail),
            (Some("OAO"), None, Some("TEAO"), Pass),
            (Some("AO"), None, Some("OAO"), Ask),
            (Some("OAO"), None, Some("AO"), Pass),
            (Some("TEAO"), None, Some("AIR OVER"), Ask),
            (Some("ODP"), Some(Outdoors), Some("ODP"), Ask),
            (None, Some(Outdoors), Some("ODP"), Fail),
            (None, Some(Outdoors), Some("TEFC"), Pass),
            (Some("TEFC"), Some(Wet), Some("TEFC"), Ask),
            (None, Some(Wet), Some("WASHDOWN"), Pass),
            (None, None, Some("TEFC"), Pass),
            (None, None, Some("ODP"), Ask),
            (None, Some(Indoors), Some("ODP"), Pass),
            (Some("XP"), None, Some("TEFC"), Fail),
            (Some("XP"), None, Some("XP"), Ask),
            (Some("TEFC"), None, Some("XP"), Pass),
            (Some("TEFC"), Some(Wet), Some("XP"), Ask),
            (Some("ODP"), None, None, Ask),
            (Some("ODP"), None, Some("MYSTERY"), Ask),
        ];
        let wrong: Vec<String> = cases
            .iter()
            .filter_map(|&(had, surroundings, offers, expected)| {
                let old = OldMotor {
                    enclosure: had.map(str::to_owned),
                    ..OldMotor::default()
                };
                let place = Place {
                    surroundings,
                    ..Place::default()
                };
                let motor = StockMotor {
                    enclosure: offers.map(str::to_owned),
                    ..StockMotor::default()
                };
                let v = verdict(&old, &place, &motor);
                (v.outcome != expected).then(|| format!("{v:?}"))
            })
            .collect();
        assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    }
}
