//! Bearings and the position of the shaft.

use super::old_motor::OldMotor;
use super::place::{Place, ShaftPosition};
use super::verdict::{COMMON, Criterion, Judge, UNKNOWN, Verdict};
use crate::record::{Bearings, Class};
use crate::stock::StockMotor;

/// Sleeve bearings run with the shaft level only. Where neither the position nor the old bearings are known,
/// nothing is asked, except of an air-over motor that is listed with such bearings: fans often stand upright.
pub(super) fn verdict(old: &OldMotor, place: &Place, motor: &StockMotor) -> Option<Verdict> {
    let had = place.bearings.or(old.bearings);
    let offers = motor.bearings;
    let shown = |b: Option<Bearings>| b.map_or(UNKNOWN.to_owned(), |b| b.to_string());
    let stands = match place.shaft_position {
        Some(position) => format!("{}, {}", shown(had), position.words()),
        None => shown(had),
    };
    let judge = Judge::new(Criterion::Bearings, stands, shown(offers), COMMON);
    let position = "Does the shaft lie level, or point up or down?";
    Some(match (place.shaft_position, offers) {
        (Some(ShaftPosition::Level), Some(_)) => judge.pass("with the shaft level any bearings will do"),
        (Some(ShaftPosition::Level), None) => return None,
        (Some(upright), Some(Bearings::Sleeve)) => {
            judge.fail(format!("sleeve bearings run with the shaft level only, and it {}", upright.words()))
        }
        (Some(ShaftPosition::Up), Some(_)) => {
            judge.pass("made for every position; with the shaft up it needs a slinger against water, and the lower drain open")
        }
        (Some(_), Some(_)) => judge.pass("made for every position"),
        (Some(_), None) => judge.not_listed("bearings, and sleeve bearings run with the shaft level only"),
        (None, Some(Bearings::Sleeve)) if had == Some(Bearings::Sleeve) => judge.pass("sleeve bearings as before"),
        (None, Some(Bearings::Sleeve)) if had.is_some() || old.class == Some(Class::AirOver) => {
            judge.unknown("shaft_position", position)
        }
        (None, Some(Bearings::Sleeve)) => judge.pass("sleeve bearings: only with the shaft level"),
        (None, Some(_)) if had.is_some() => judge.pass("made for every position"),
        (None, _) => return None,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::matching::Outcome;

    /// Common practice.
    #[test]
    fn sleeve_bearings_lie_level() {
        use Bearings::{Ball, Sleeve, SleeveAllPosition};
        use Outcome::{Ask, Fail, Pass};
        use ShaftPosition::{Down, Level, Up};
        struct Case(
            Option<Bearings>,
            Option<ShaftPosition>,
            Option<Bearings>,
            Option<Outcome>,
        );
        let cases = [
            Case(None, None, None, None),
            Case(None, None, Some(Ball), None),
            Case(None, None, Some(Sleeve), Some(Pass)),
            Case(None, Some(Level), Some(Sleeve), Some(Pass)),
            Case(None, Some(Up), Some(Sleeve), Some(Fail)),
            Case(None, Some(Down), Some(Sleeve), Some(Fail)),
            Case(None, Some(Down), Some(SleeveAllPosition), Some(Pass)),
            Case(None, Some(Down), Some(Ball), Some(Pass)),
            Case(None, Some(Down), None, Some(Ask)),
            Case(Some(Ball), None, Some(Sleeve), Some(Ask)),
            Case(Some(Sleeve), None, Some(Sleeve), Some(Pass)),
            Case(Some(Sleeve), None, Some(Ball), Some(Pass)),
            Case(Some(Ball), None, None, None),
        ];
        let wrong: Vec<String> = cases
            .iter()
            .filter_map(|Case(had, position, offers, expected)| {
                let place = Place {
                    bearings: *had,
                    shaft_position: *position,
                    ..Place::default()
                };
                let motor = StockMotor {
                    bearings: *offers,
                    ..StockMotor::default()
                };
                let v = verdict(&OldMotor::default(), &place, &motor);
                (v.as_ref().map(|v| v.outcome) != *expected)
                    .then(|| format!("{had:?} {position:?} {offers:?}: {v:?}"))
            })
            .collect();
        assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    }

    #[test]
    fn an_air_over_motor_with_sleeve_bearings_is_asked_about() {
        let old = OldMotor {
            class: Some(Class::AirOver),
            ..OldMotor::default()
        };
        let motor = StockMotor {
            bearings: Some(Bearings::Sleeve),
            ..StockMotor::default()
        };
        let v = verdict(&old, &Place::default(), &motor);
        assert_eq!(v.map(|v| v.outcome), Some(Outcome::Ask));
    }
}
