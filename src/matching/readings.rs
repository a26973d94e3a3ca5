//! The ways in which the old plate may be read: every combination of the alternatives of its doubtful
//! readings, and of the voltage and rating that may have been in use.

use super::frame::Frame;
use super::old_motor::OldMotor;
use super::place::Place;
use super::rotation::Rotation;
use super::supply::{same_frequency, same_system};
use crate::record::{Class, Field, NameplateRecord, RatingPoint, Reading, State, notation, pair};
use crate::units::{Celsius, Microfarads, Volts};
use std::collections::BTreeMap;

/// Something that is not settled, and what it may be.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Axis {
    /// The key of a field, or `class`, `supply`, `rating`.
    pub(super) key: String,
    pub(super) ask: String,
    /// As a person would say them.
    pub(super) options: Vec<String>,
}

/// One way to read the plate.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Way {
    pub(super) old: OldMotor,
    /// Its probability; those of all ways add up to 1.
    pub(super) weight: f64,
    /// For each axis the index of its option; `None` where the axis has nothing to say in this way.
    pub(super) choice: Vec<Option<usize>>,
}

/// All ways to read a plate, likeliest first.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Ways {
    pub(super) axes: Vec<Axis>,
    /// Doubtful readings that count as unknown: the key of the field and what may stand there.
    pub(super) hints: Vec<(&'static str, Vec<String>)>,
    pub(super) ways: Vec<Way>,
}

/// Fields that decide something; doubt in the others does not matter here.
const DECIDING: &[Field] = &[
    Field::Amps,
    Field::Volts,
    Field::Hp,
    Field::Kw,
    Field::Rpm,
    Field::Frame,
    Field::Phase,
    Field::Hertz,
    Field::ServiceFactor,
    Field::Enclosure,
    Field::InsulationClass,
    Field::Rotation,
    Field::AmbientC,
    Field::Duty,
    Field::Design,
];

/// Fields whose printed rows make the rating points.
pub(super) const RATING_FIELDS: &[Field] = &[
    Field::Volts,
    Field::Amps,
    Field::Hp,
    Field::Kw,
    Field::Rpm,
    Field::Phase,
    Field::Hertz,
];

/// Readings of one field that are followed up; unlikelier ones are left to the person.
const MOST_OPTIONS: usize = 4;

/// Combinations that are followed up. Beyond them the less important doubts count as unknown, which asks.
const MOST_WAYS: usize = 64;

/// What an alternative counts that carries no probability.
const FLOOR: f64 = 0.02;

/// A settled choice among the readings of the doubtful fields.
#[derive(Debug, Clone, Default)]
struct Choice<'a> {
    /// What is taken as printed; `None` stands for nothing known.
    printed: BTreeMap<Field, Option<&'a str>>,
    class: Option<Class>,
    weight: f64,
    indices: Vec<Option<usize>>,
}

impl Ways {
    pub(super) fn of(record: &NameplateRecord, place: &Place) -> Ways {
        let mut axes = Vec::new();
        let mut hints = Vec::new();
        let mut choices = vec![Choice {
            weight: 1.0,
            ..Choice::default()
        }];
        expand_class(record, &mut axes, &mut choices);
        for &field in DECIDING {
            let Some(reading) = record.reading(field).filter(|r| r.state == State::Doubtful) else {
                continue;
            };
            if field == Field::Design && !super::design::matters(reading) {
                continue;
            }
            if let Some(hint) = expand_field(field, reading, &mut axes, &mut choices) {
                hints.push((field.key(), hint));
            }
        }
        let mut ways = Vec::new();
        let mut operating = Operating::default();
        for choice in &choices {
            operating.expand(record, place, choice, &mut ways);
        }
        Ways {
            hints,
            ..operating.finish(axes, ways)
        }
    }
}

fn expand_class<'a>(record: &NameplateRecord, axes: &mut Vec<Axis>, choices: &mut Vec<Choice<'a>>) {
    if let Some(class) = record.class.fact() {
        choices.iter_mut().for_each(|c| c.class = Some(class));
        return;
    }
    let (first, second) = match record.class.value {
        Class::GeneralPurpose => (Class::GeneralPurpose, Class::AirOver),
        _ => (Class::AirOver, Class::GeneralPurpose),
    };
    axes.push(Axis {
        key: "class".to_owned(),
        ask: "Is the old motor cooled by the air of the fan that it drives (air-over)?".to_owned(),
        options: vec![first.to_string(), second.to_string()],
    });
    let likelier = if record.class.value == Class::Unknown {
        0.5
    } else {
        0.8
    };
    multiply(choices, &[likelier, 1.0 - likelier], |choice, i| {
        choice.class = Some(if i == 0 { first } else { second });
    });
}

/// Follows up the readings of a doubtful field; gives what may stand there when it counts as unknown.
fn expand_field<'a>(
    field: Field,
    reading: &'a Reading,
    axes: &mut Vec<Axis>,
    choices: &mut Vec<Choice<'a>>,
) -> Option<Vec<String>> {
    let mut options: Vec<(&str, f64)> = Vec::new();
    let mut meanings = Vec::new();
    let all = reading.printed.as_deref().map(|p| (p, reading.confidence));
    let alternatives = reading
        .alternatives
        .iter()
        .map(|a| (a.printed.as_str(), a.confidence));
    for (printed, confidence) in all.into_iter().chain(alternatives) {
        let Some(value) = notation::parse(field, printed) else {
            continue;
        };
        let numbers = value.numbers().iter().copied();
        if field != Field::AmbientC && !numbers.into_iter().all(notation::is_possible) {
            continue;
        }
        if !meanings.contains(&value) && options.len() < MOST_OPTIONS {
            meanings.push(value);
            options.push((printed, confidence.max(FLOOR)));
        }
    }
    // One reading that is doubted and nothing to put in its place: not known.
    if options.len() < 2 || choices.len() * options.len() > MOST_WAYS {
        choices.iter_mut().for_each(|c| {
            c.printed.insert(field, None);
        });
        return Some(options.into_iter().map(|(p, _)| p.to_owned()).collect());
    }
    axes.push(Axis {
        key: field.key().to_owned(),
        ask: format!("What does the plate give as {}?", field.label()),
        options: options.iter().map(|(p, _)| (*p).to_owned()).collect(),
    });
    let total: f64 = options.iter().map(|(_, w)| w).sum();
    let weights: Vec<f64> = options.iter().map(|(_, w)| w / total).collect();
    multiply(choices, &weights, |choice, i| {
        choice.printed.insert(field, Some(options[i].0));
    });
    None
}

/// Replaces each choice by one for every option.
fn multiply<'a>(
    choices: &mut Vec<Choice<'a>>,
    weights: &[f64],
    set: impl Fn(&mut Choice<'a>, usize),
) {
    *choices = choices
        .iter()
        .flat_map(|choice| {
            weights
                .iter()
                .enumerate()
                .map(|(i, weight)| {
                    let mut next = choice.clone();
                    next.weight *= weight;
                    next.indices.push(Some(i));
                    set(&mut next, i);
                    next
                })
                .collect::<Vec<_>>()
        })
        .collect();
}

/// The voltages and ratings that may have been in use, over all ways to read the plate.
#[derive(Debug, Default)]
struct Operating {
    supplies: Vec<String>,
    ratings: Vec<String>,
}

impl Operating {
    /// Adds a way for every voltage and rating that may have been in use under `choice`.
    fn expand(
        &mut self,
        record: &NameplateRecord,
        place: &Place,
        choice: &Choice<'_>,
        ways: &mut Vec<(Way, [Option<usize>; 2])>,
    ) {
        let (points, doubt) = points(record, choice);
        let base = old_motor(record, choice, doubt);
        let here: Vec<&RatingPoint> = {
            let for_place: Vec<&RatingPoint> = points.iter().filter(|p| suits(p, place)).collect();
            if for_place.is_empty() {
                points.iter().collect()
            } else {
                for_place
            }
        };
        let mut voltages: Vec<Option<f64>> = Vec::new();
        for point in &here {
            let v = point.volts.map(|v| v.0);
            if !voltages.contains(&v) {
                voltages.push(v);
            }
        }
        if voltages.is_empty() {
            voltages.push(None);
        }
        let share = choice.weight / voltages.len() as f64;
        for volts in &voltages {
            let ratings: Vec<&RatingPoint> = here
                .iter()
                .copied()
                .filter(|p| p.volts.map(|v| v.0) == *volts)
                .collect();
            let speeds = other_speeds(&ratings);
            let supply = (voltages.len() > 1).then(|| {
                index(
                    &mut self.supplies,
                    volts.map_or(String::new(), |v| Volts(v).to_string()),
                )
            });
            let count = ratings.len().max(1);
            for i in 0..count {
                let rating = ratings
                    .get(i)
                    .map_or_else(RatingPoint::default, |p| (*p).clone());
                let which = (count > 1).then(|| index(&mut self.ratings, rating_label(&rating)));
                let at_voltages = points
                    .iter()
                    .filter(|p| same_but_volts(p, &rating))
                    .cloned()
                    .collect();
                let old = OldMotor {
                    rating,
                    at_voltages,
                    speeds: speeds.clone(),
                    varies: crate::record::varies(&points),
                    ..base.clone()
                };
                let way = Way {
                    old,
                    weight: share / count as f64,
                    choice: choice.indices.clone(),
                };
                ways.push((way, [supply, which]));
            }
        }
    }

    fn finish(self, mut axes: Vec<Axis>, ways: Vec<(Way, [Option<usize>; 2])>) -> Ways {
        let named = [
            (
                "supply",
                "Which of its voltages was the old motor connected to?",
                self.supplies,
            ),
            (
                "rating",
                "Which of its ratings was the old motor run at?",
                self.ratings,
            ),
        ];
        let used: Vec<bool> = named
            .iter()
            .map(|(_, _, options)| options.len() > 1)
            .collect();
        for (key, ask, options) in named {
            if options.len() > 1 {
                axes.push(Axis {
                    key: key.to_owned(),
                    ask: ask.to_owned(),
                    options,
                });
            }
        }
        let mut ways: Vec<Way> = ways
            .into_iter()
            .map(|(mut way, operating)| {
                let chosen = operating
                    .iter()
                    .zip(&used)
                    .filter(|(_, used)| **used)
                    .map(|(c, _)| *c);
                way.choice.extend(chosen);
                way
            })
            .collect();
        ways.sort_by(|a, b| b.weight.total_cmp(&a.weight));
        Ways {
            axes,
            hints: Vec::new(),
            ways,
        }
    }
}

fn index(options: &mut Vec<String>, option: String) -> usize {
    options
        .iter()
        .position(|o| *o == option)
        .unwrap_or_else(|| {
            options.push(option);
            options.len() - 1
        })
}

/// Whether a point of the plate is for the supply that the place has, as far as somebody said it.
fn suits(point: &RatingPoint, place: &Place) -> bool {
    let volts = place
        .supply
        .zip(point.volts)
        .is_none_or(|(a, b)| same_system(a, b));
    let phase = place.phase.zip(point.phase).is_none_or(|(a, b)| a == b);
    let hertz = place
        .hertz
        .zip(point.hertz)
        .is_none_or(|(a, b)| same_frequency(a, b));
    volts && phase && hertz
}

/// The speeds of a motor with several, where they are of different poles: taps of one winding count once.
fn other_speeds(ratings: &[&RatingPoint]) -> Vec<f64> {
    let mut speeds: Vec<f64> = Vec::new();
    let mut seen = Vec::new();
    for (rpm, hertz) in ratings.iter().filter_map(|r| Some((r.rpm?, r.hertz?))) {
        let poles = crate::trade::poles(rpm, hertz);
        if !seen.contains(&poles) {
            seen.push(poles);
            speeds.push(rpm.0);
        }
    }
    if speeds.len() > 1 { speeds } else { Vec::new() }
}

/// Whether two points are one rating at two voltages.
fn same_but_volts(a: &RatingPoint, b: &RatingPoint) -> bool {
    (a.hp, a.kw, a.rpm, a.hertz, a.phase) == (b.hp, b.kw, b.rpm, b.hertz, b.phase)
}

/// How a rating is called in a question: its power, amps, speed and frequency, without its voltage.
pub fn rating_label(rating: &RatingPoint) -> String {
    let parts = [
        rating.power().map(|_| super::capacity::power(rating)),
        rating.amps.map(|a| a.to_string()),
        rating.rpm.map(|r| r.to_string()),
        rating.hertz.map(|h| h.to_string()),
    ];
    parts.into_iter().flatten().collect::<Vec<_>>().join(", ")
}

/// The rating points under a choice, and why they may not pair up.
fn points(record: &NameplateRecord, choice: &Choice<'_>) -> (Vec<RatingPoint>, Option<String>) {
    let touched = RATING_FIELDS.iter().any(|f| choice.printed.contains_key(f));
    let printed = |field: Field| match choice.printed.get(&field) {
        Some(chosen) => *chosen,
        None => record.reading(field)?.printed.as_deref(),
    };
    let paired = pair(printed);
    let doubt = paired.doubt.map(|doubt| doubt.to_string());
    if touched {
        return (paired.points, doubt);
    }
    // Points that somebody gave, and that do not just follow from the print, are taken as they are.
    let doubt = if record.ratings == paired.points {
        doubt
    } else {
        None
    };
    (record.ratings.clone(), doubt)
}

fn old_motor(
    record: &NameplateRecord,
    choice: &Choice<'_>,
    pairing_doubt: Option<String>,
) -> OldMotor {
    let value = |field: Field| match choice.printed.get(&field) {
        Some(chosen) => chosen.and_then(|p| notation::parse(field, p)),
        None => record.fact(field).cloned(),
    };
    let printed = |field: Field| match choice.printed.get(&field) {
        Some(chosen) => *chosen,
        None => record
            .fields
            .get(&field)
            .filter(|r| r.fact().is_some())
            .and_then(|r| r.printed.as_deref()),
    };
    let text = |field| value(field).and_then(|v| v.text().map(str::to_owned));
    let number = |field| value(field).and_then(|v| v.numbers().first().copied());
    let lost = |field: Field| {
        let reading = record.fields.get(&field);
        choice.printed.get(&field) == Some(&None)
            || reading.is_some_and(|r| r.state == State::Absent && r.quad.is_some())
    };
    OldMotor {
        class: choice.class,
        rating: RatingPoint::default(),
        at_voltages: Vec::new(),
        varies: false,
        pairing_doubt,
        speeds: Vec::new(),
        doubted: choice
            .printed
            .iter()
            .filter(|(_, p)| p.is_none())
            .map(|(f, _)| *f)
            .collect(),
        service_factor: number(Field::ServiceFactor),
        service_factor_lost: lost(Field::ServiceFactor),
        frame: printed(Field::Frame).map(Frame::parse),
        enclosure: text(Field::Enclosure),
        insulation_class: text(Field::InsulationClass),
        duty: text(Field::Duty),
        ambient: number(Field::AmbientC).map(Celsius),
        rotation: printed(Field::Rotation).and_then(Rotation::parse),
        capacitor: number(Field::CapacitorUf).map(Microfarads),
        capacitor_volts: number(Field::CapacitorVolts).map(Volts),
        design: text(Field::Design),
        protection: record.protection(),
        bearings: record.bearings(),
        shaft_ends: record.shaft_ends(),
    }
}
