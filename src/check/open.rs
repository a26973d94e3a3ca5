//! What the other figures of a plate settle of what a label leaves open, or several places that disagree.

use super::joint::Marginals;
use super::motor::{Motor, Slot};
use super::rule::{CONTENT, DOUBT};
use super::rules;
use crate::plate::{Candidate, Open, Plate};
use crate::record::Field;
use crate::units::{Horsepower, Kilowatts};
use std::collections::BTreeMap;

/// Figures less likely than this settle nothing.
const SURE: f64 = 0.98;
/// No motor at full load takes so small a share of its volt-amperes as watts: shaded poles have the lowest power factors,
/// about 0.5 (common practice, from memory).
const LEAST_POWER_FACTOR: f64 = 0.35;
/// Rounding lets a power in both units differ by so much.
const ALIKE: f64 = 0.015;
/// Service factor amps are at most so many times the full-load amps (common practice; 1.35 to 1.45 at service factors of
/// 1.4 and more).
const MOST_OVER: f64 = 1.5;

/// Whether the plate excludes what another place says of a field: a rule doubts that, and none the value that was chosen.
pub(super) fn excluded(
    motor: &Motor<'_>,
    field: Field,
    chosen: &Candidate,
    other: &Candidate,
) -> bool {
    // A plate that is for both says so in one place for each now and then.
    let supply = |hertz: &f64| [50.0, 60.0].contains(hertz);
    if field == Field::Hertz && other.value.numbers().iter().all(supply) {
        return false;
    }
    let binding = || rules::all().filter(|rule| rule.fields().any(|f| f == field));
    let chosen = motor.with(field, Slot::Read(chosen));
    let other = motor.with(field, Slot::Read(other));
    binding().all(|rule| rule.factor(&chosen) >= CONTENT)
        && binding().any(|rule| rule.factor(&other) < DOUBT)
}

/// Whether the other figures of the plate settle what the label of a field leaves open.
pub(super) fn settled(
    open: Open,
    plate: &Plate,
    motor: &Motor<'_>,
    marginals: &BTreeMap<Field, Marginals>,
) -> bool {
    let sure = |field: Field| {
        let best = marginals.get(&field).and_then(|m| m.candidates.first());
        best.is_some_and(|(_, probability)| *probability >= SURE)
    };
    match open {
        // As input they would be a power factor that no motor has.
        Open::InputOrShaft => {
            let points = motor.ratings().points;
            // What goes in is more than comes out: watts that are the horsepower come out.
            let (kw, hp) = (motor.numbers(Field::Kw), motor.numbers(Field::Hp));
            let alike = |(kw, hp): (&f64, &f64)| {
                let same = Kilowatts::from(Horsepower(*hp)).0;
                (kw / same - 1.0).abs() < ALIKE
            };
            let shaft = !hp.is_empty() && kw.len() == hp.len() && kw.iter().zip(hp).all(alike);
            if shaft && sure(Field::Hp) {
                return true;
            }
            let mut shares = points.iter().filter_map(|point| {
                let lines = if point.phase == Some(3) {
                    3f64.sqrt()
                } else {
                    1.0
                };
                let apparent = lines * point.volts?.0 * point.amps?.0;
                Some(1000.0 * point.kw?.0 / apparent)
            });
            let first = shares.next();
            let below = |share: f64| share < LEAST_POWER_FACTOR;
            sure(Field::Volts) && sure(Field::Amps) && first.is_some_and(below) && shares.all(below)
        }
        Open::RatedOrHighest => false,
        // Beside the full-load amps of a motor with a service factor they are its amps at that.
        Open::FullLoadOrServiceFactor => {
            let over = motor.numbers(Field::ServiceFactorAmps);
            let full = motor.numbers(Field::Amps);
            let factor = motor.numbers(Field::ServiceFactor);
            let above = |(over, full): (&f64, &f64)| *over > *full && *over <= MOST_OVER * full;
            // Without a service factor there is no other current than that at full load.
            let none = match factor {
                [] => !plate.unreadable.contains_key(&Field::ServiceFactor),
                [factor] => *factor == 1.0 && sure(Field::ServiceFactor),
                _ => false,
            };
            if none && over.is_empty() {
                return true;
            }
            !full.is_empty()
                && over.len() == full.len()
                && over.iter().zip(full).all(above)
                && matches!(factor, [factor] if *factor > 1.0)
                && sure(Field::Amps)
                && sure(Field::ServiceFactor)
        }
    }
}
