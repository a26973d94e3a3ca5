//! What the replacement must be: the old motor's facts and doubts, and what the place demands.

use super::amps::upper_end;
use super::place::Place;
use super::readings::{RATING_FIELDS, Ways};
use crate::record::{Class, Field, NameplateRecord, RatingPoint, State};
use crate::units::Amps;
use serde::{Serialize, Serializer};

/// The requirement.
#[derive(Debug, Clone)]
pub struct Requirement {
    place: Place,
    pub(super) ways: Ways,
    summary: Summary,
}

/// The requirement as it is printed and put into JSON.
#[derive(Debug, Clone, Serialize)]
pub struct Summary {
    /// Which rule selects.
    pub class: Class,
    /// The rule in words, with its numbers where they are known.
    pub selects_by: String,
    /// The amps window of an air-over motor at the voltage in use, lowest and highest.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub amps_window: Option<(Amps, Amps)>,
    /// The old motor's rating points.
    pub ratings: Vec<RatingPoint>,
    /// The other facts of the plate: key and printed characters.
    pub facts: Vec<Fact>,
    /// Readings that are doubtful, with the ways to read them.
    pub doubtful: Vec<Doubt>,
    /// What the place demands, as far as somebody said.
    pub place: Place,
}

/// One fact of the plate.
#[derive(Debug, Clone, Serialize)]
pub struct Fact {
    /// The field.
    pub field: Field,
    /// As printed.
    pub printed: String,
}

/// One doubtful reading.
#[derive(Debug, Clone, Serialize)]
pub struct Doubt {
    /// The key of the field, or `class`, `supply`, `rating`.
    pub key: String,
    /// What it may be.
    pub choices: Vec<String>,
}

impl Requirement {
    /// The requirement that follows from a record and a place.
    pub fn new(record: &NameplateRecord, place: Place) -> Requirement {
        let ways = Ways::of(record, &place);
        let summary = summary(record, &place, &ways);
        Requirement {
            place,
            ways,
            summary,
        }
    }

    /// What the place demands.
    pub fn place(&self) -> &Place {
        &self.place
    }

    /// The requirement in short.
    pub fn summary(&self) -> &Summary {
        &self.summary
    }
}

impl Serialize for Requirement {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        self.summary.serialize(serializer)
    }
}

fn summary(record: &NameplateRecord, place: &Place, ways: &Ways) -> Summary {
    let class = record.class.fact().unwrap_or_default();
    let settled = ways.ways.len() == 1;
    let likeliest = ways.ways.first().map(|w| &w.old);
    let amps = likeliest
        .and_then(|old| old.rating.amps)
        .filter(|_| settled);
    let amps_window = amps
        .filter(|_| class == Class::AirOver)
        .map(|a| (a, upper_end(a)));
    let selects_by = match class {
        Class::AirOver => match amps_window {
            Some((low, high)) => format!("nameplate amps at the same voltage: {low} to {high}"),
            None => "nameplate amps at the same voltage: from the old motor's up to 25 % above"
                .to_owned(),
        },
        Class::GeneralPurpose => match likeliest
            .and_then(super::old_motor::OldMotor::capacity)
            .filter(|_| settled)
        {
            Some(needed) => format!("horsepower × service factor: at least {needed}"),
            None => "horsepower × service factor: at least the old motor's".to_owned(),
        },
        Class::Unknown => {
            "not known until somebody says whether the old motor is air-over".to_owned()
        }
    };
    let facts = record
        .fields
        .iter()
        .filter(|(field, reading)| !RATING_FIELDS.contains(field) && reading.fact().is_some())
        .filter_map(|(field, reading)| {
            Some(Fact {
                field: *field,
                printed: reading.printed.clone()?,
            })
        })
        .collect();
    let axes = ways.axes.iter().map(|a| Doubt {
        key: a.key.clone(),
        choices: a.options.clone(),
    });
    let unread = record.fields.iter().filter(|(field, r)| {
        r.state == State::Doubtful && ways.axes.iter().all(|a| a.key != field.key())
    });
    let unread = unread.map(|(field, r)| Doubt {
        key: field.key().to_owned(),
        choices: r.printed.clone().into_iter().collect(),
    });
    Summary {
        class,
        selects_by,
        amps_window,
        ratings: record.ratings.clone(),
        facts,
        doubtful: axes.chain(unread).collect(),
        place: place.clone(),
    }
}
