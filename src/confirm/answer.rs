//! One answer: what it is about, and whether it can be understood.

use super::place::PlaceKey;
use crate::matching::Place;
use crate::record::{Class, Field, NameplateRecord, notation};
use std::fmt;

/// What an answer is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Key {
    /// A field of the plate.
    Field(Field),
    /// Whether the motor is air-over.
    Class,
    /// Which of its ratings was in use.
    Rating,
    /// What the place demands.
    Place(PlaceKey),
}

impl Key {
    /// The key as the store and the page write it: `amps`, `class`, `rating`, `place.supply`.
    pub fn parse(text: &str) -> Option<Key> {
        match text {
            "class" => Some(Key::Class),
            "rating" | "ratings" => Some(Key::Rating),
            _ => match text.strip_prefix("place.") {
                Some(place) => PlaceKey::from_word(place).map(Key::Place),
                None => Field::from_key(text).map(Key::Field),
            },
        }
    }

    /// The key of a question that matching or the checks asked. Some words name a field of the plate and a
    /// demand of the place alike: what the plate leaves open is asked of the plate.
    pub fn of_question(key: &str, record: &NameplateRecord) -> Option<Key> {
        let doubted = |field| {
            record
                .reading(field)
                .is_some_and(|r: &crate::record::Reading| r.state == crate::record::State::Doubtful)
        };
        match key {
            "supply" | "drive" | "shaft" | "shaft_position" | "restart" | "mounting" => {
                Key::parse(&format!("place.{key}"))
            }
            "hertz" if !doubted(Field::Hertz) => Some(Key::Place(PlaceKey::Hertz)),
            "rotation" if !doubted(Field::Rotation) => Some(Key::Place(PlaceKey::Rotation)),
            other => Key::parse(other),
        }
    }
}

impl fmt::Display for Key {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Key::Field(field) => f.write_str(field.key()),
            Key::Class => f.write_str("class"),
            Key::Rating => f.write_str("rating"),
            Key::Place(place) => write!(f, "place.{}", place.word()),
        }
    }
}

/// What somebody said.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Said {
    /// About what.
    pub key: Key,
    /// The answer as it was given; empty says that the plate does not show it, or that the place asks nothing.
    pub printed: String,
    /// By whom.
    pub who: String,
}

/// An answer that is understood.
#[derive(Debug, Clone, PartialEq)]
pub enum Answer {
    /// What the plate prints; `None` when it does not show the field.
    Field(Field, Option<String>),
    /// The class.
    Class(Class),
    /// The label of a rating.
    Rating(String),
    /// What is said of the place.
    Place(PlaceKey, String),
}

/// Why an answer is not understood, and what would be.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{given:?} is not understood as {what}; {hint}")]
pub struct AnswerError {
    /// What was given.
    pub given: String,
    /// What was asked.
    pub what: String,
    /// How to answer.
    pub hint: String,
}

impl Answer {
    /// Understands an answer.
    pub fn parse(key: Key, printed: &str) -> Result<Answer, AnswerError> {
        let text = printed.trim();
        let refused = |what: &str, hint: &str| AnswerError {
            given: text.chars().take(60).collect(),
            what: what.to_owned(),
            hint: hint.to_owned(),
        };
        match key {
            Key::Field(field) if text.is_empty() => Ok(Answer::Field(field, None)),
            Key::Field(field) => {
                let known = notation::parse(field, text).is_some() && text.chars().count() <= MOST;
                known
                    .then(|| Answer::Field(field, Some(text.to_owned())))
                    .ok_or_else(|| {
                        let unit = field.unit().map_or(String::new(), |u| format!(" in {u}"));
                        refused(
                            field.label(),
                            &format!("write it as on a plate{unit}, such as {}", field.example()),
                        )
                    })
            }
            Key::Class => match text.to_lowercase().as_str() {
                "air-over" | "y" | "yes" => Ok(Answer::Class(Class::AirOver)),
                "general-purpose" | "n" | "no" => Ok(Answer::Class(Class::GeneralPurpose)),
                _ => Err(refused(
                    "the class",
                    "answer yes (air-over) or no (general-purpose)",
                )),
            },
            Key::Rating if text.is_empty() => {
                Err(refused("a rating", "choose one of the ratings shown"))
            }
            Key::Rating => Ok(Answer::Rating(text.to_owned())),
            Key::Place(key) => key
                .put(text, &mut Place::default())
                .map(|()| Answer::Place(key, text.to_owned()))
                .ok_or_else(|| refused(key.label(), key.hint())),
        }
    }
}

/// Longest value of a plate, characters.
const MOST: usize = 120;

/// Whether an answer can be taken; the error says how to answer.
pub fn accept(key: Key, printed: &str) -> Result<(), AnswerError> {
    Answer::parse(key, printed).map(|_| ())
}

/// What stood there before: its state in a word, and its value.
pub fn before(all: &super::Answered, key: Key) -> (String, Option<String>) {
    let record = &all.record;
    match key {
        Key::Field(field) => match record.fields.get(&field) {
            Some(reading) => (reading.state.to_string(), reading.printed.clone()),
            None => ("absent".to_owned(), None),
        },
        Key::Class => (
            record.class.state.to_string(),
            Some(record.class.value.to_string()),
        ),
        Key::Rating => {
            let labels: Vec<String> = record
                .ratings
                .iter()
                .map(crate::matching::rating_label)
                .collect();
            ("absent".to_owned(), Some(labels.join(" | ")))
        }
        Key::Place(place) => match all.said_of(place) {
            Some(value) => ("confirmed".to_owned(), Some(value.to_owned())),
            None => ("absent".to_owned(), None),
        },
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn answers_are_understood_or_told_how() {
        for (key, printed, understood) in [
            ("amps", "6.8/3.4", true),
            ("amps", "FLA", false),
            ("amps", "", true),
            ("class", "yes", true),
            ("class", "perhaps", false),
            ("place.supply", "230", true),
            ("place.supply", "208-230", false),
            ("place.drive", "belt", true),
            ("place.drive", "", true),
            ("place.drive", "rope", false),
            ("place.shaft", "5/8", true),
            ("place.rotation", "CCWLE", true),
            ("place.surroundings", "wet", true),
            ("rating", "1/2 hp", true),
        ] {
            let key = Key::parse(key).unwrap();
            assert_eq!(Key::parse(&key.to_string()), Some(key));
            let found = accept(key, printed);
            assert_eq!(found.is_ok(), understood, "{key} {printed:?}: {found:?}");
        }
        let error = accept(Key::Field(Field::Volts), "lots")
            .unwrap_err()
            .to_string();
        assert!(
            error.contains("208-230/460") && error.contains("in V"),
            "{error}"
        );
        assert_eq!(Key::parse("place.nothing"), None);
        assert_eq!(Key::parse("ampz"), None);
    }
}
