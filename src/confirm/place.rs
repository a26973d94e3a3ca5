//! What the place demands, as an answer gives it.

use crate::matching::{
    BoxSide, Drive, Hold, Place, Restart, Rotation, ShaftPosition, Surroundings,
};
use crate::record::{Bearings, Field, Protection, ShaftEnds, Value, notation};
use crate::stock::inches;
use crate::units::{Celsius, Hertz, Volts};

/// What may be said of a place.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[allow(missing_docs)] // the labels say it
pub enum PlaceKey {
    Drive,
    Supply,
    Phase,
    Hertz,
    Surroundings,
    Ambient,
    Room,
    ConduitBox,
    Rotation,
    Shaft,
    ShaftLength,
    ShaftEnds,
    ShaftPosition,
    Mounting,
    Protection,
    Restart,
    Bearings,
}

/// How a key is written, called and answered.
struct Entry {
    key: PlaceKey,
    word: &'static str,
    label: &'static str,
    hint: &'static str,
    choices: &'static [&'static str],
}

const fn entry(
    key: PlaceKey,
    word: &'static str,
    label: &'static str,
    hint: &'static str,
    choices: &'static [&'static str],
) -> Entry {
    Entry {
        key,
        word,
        label,
        hint,
        choices,
    }
}

#[rustfmt::skip]
const ENTRIES: &[Entry] = &[
    entry(PlaceKey::Drive, "drive", "drive", "answer fan, belt, pump, gearbox, compressor or coupling", &["fan", "belt", "pump", "gearbox", "compressor", "coupling"]),
    entry(PlaceKey::Supply, "supply", "voltage of the supply", "answer with one voltage, such as 230", &[]),
    entry(PlaceKey::Phase, "phase", "phases of the supply", "answer 1 or 3", &["1", "3"]),
    entry(PlaceKey::Hertz, "hertz", "frequency of the supply", "answer 60 or 50", &["60", "50"]),
    entry(PlaceKey::Surroundings, "surroundings", "surroundings", "answer indoors, outdoors or wet", &["indoors", "outdoors", "wet"]),
    entry(PlaceKey::Ambient, "ambient", "highest air temperature", "answer in °C, such as 40", &[]),
    entry(PlaceKey::Room, "room", "room for its length", "answer in inches, such as 14 or 12-1/2", &[]),
    entry(PlaceKey::ConduitBox, "conduit_box", "side of the conduit box", "answer F1 (left), F2 (right) or F3 (top), seen from the shaft end", &["F1", "F2", "F3"]),
    entry(PlaceKey::Rotation, "rotation", "rotation it must have", "answer CW or CCW and the end it is seen from, such as CCWLE", &["CWLE", "CCWLE"]),
    entry(PlaceKey::Shaft, "shaft", "bore of wheel or coupling", "answer in inches, such as 0.625 or 5/8", &[]),
    entry(PlaceKey::ShaftLength, "shaft_length", "length of the old shaft", "answer in inches, such as 2-1/4", &[]),
    entry(PlaceKey::ShaftEnds, "shaft_ends", "ends of the shaft in use", "answer single or double", &["single", "double"]),
    entry(PlaceKey::ShaftPosition, "shaft_position", "position of the shaft", "answer level, up or down", &["level", "up", "down"]),
    entry(PlaceKey::Mounting, "mounting", "what holds the old motor", "answer rigid, resilient, band, studs, lugs, yoke, C face, or a code such as B5", &[]),
    entry(PlaceKey::Protection, "protection", "thermal protection", "answer none, automatic, manual or impedance", &["none", "automatic", "manual", "impedance"]),
    entry(PlaceKey::Restart, "restart", "a start without warning", "answer harmless or dangerous", &["harmless", "dangerous"]),
    entry(PlaceKey::Bearings, "bearings", "bearings", "answer ball or sleeve", &["ball", "sleeve"]),
];

impl PlaceKey {
    /// All of them, in the order in which they are shown.
    pub fn all() -> impl Iterator<Item = PlaceKey> {
        ENTRIES.iter().map(|e| e.key)
    }

    /// The key with this word.
    pub fn from_word(word: &str) -> Option<PlaceKey> {
        ENTRIES.iter().find(|e| e.word == word).map(|e| e.key)
    }

    fn entry(self) -> &'static Entry {
        // The table has a line for each; the first stands in for none.
        ENTRIES
            .iter()
            .find(|e| e.key == self)
            .unwrap_or(&ENTRIES[0])
    }

    /// Its word.
    pub fn word(self) -> &'static str {
        self.entry().word
    }

    /// What a person calls it.
    pub fn label(self) -> &'static str {
        self.entry().label
    }

    /// How to answer.
    pub fn hint(self) -> &'static str {
        self.entry().hint
    }

    /// The answers there are; empty where anything may be written.
    pub fn choices(self) -> &'static [&'static str] {
        self.entry().choices
    }

    /// Puts an answer into the place; an empty one takes back what was said. `None`, and nothing is put, when it
    /// is not understood.
    pub fn put(self, answer: &str, place: &mut Place) -> Option<()> {
        let text = answer.trim();
        let word = text.to_lowercase();
        // Nothing said takes back what was said; something said must be understood.
        macro_rules! set {
            ($field:ident, $value:expr) => {{
                if text.is_empty() {
                    place.$field = None;
                } else {
                    place.$field = Some($value?);
                }
            }};
        }
        match self {
            PlaceKey::Drive => set!(drive, drive(&word)),
            PlaceKey::Supply => set!(supply, one(Field::Volts, text).map(Volts)),
            PlaceKey::Phase => set!(phase, one_of(&word, &[("1", 1), ("3", 3)])),
            PlaceKey::Hertz => set!(hertz, one(Field::Hertz, text).map(Hertz)),
            PlaceKey::Surroundings => set!(
                surroundings,
                one_of(
                    &word,
                    &[
                        ("indoors", Surroundings::Indoors),
                        ("outdoors", Surroundings::Outdoors),
                        ("wet", Surroundings::Wet),
                    ]
                )
            ),
            PlaceKey::Ambient => set!(ambient, one(Field::AmbientC, text).map(Celsius)),
            PlaceKey::Room => set!(room, inches(text)),
            PlaceKey::ConduitBox => set!(
                conduit_box,
                one_of(
                    &word,
                    &[
                        ("f1", BoxSide::F1),
                        ("f2", BoxSide::F2),
                        ("f3", BoxSide::F3)
                    ]
                )
            ),
            PlaceKey::Rotation => set!(rotation, Rotation::parse(text)),
            PlaceKey::Shaft => set!(shaft, inches(text)),
            PlaceKey::ShaftLength => set!(shaft_length, inches(text)),
            PlaceKey::ShaftEnds => set!(shaft_ends, ShaftEnds::parse(text)),
            PlaceKey::ShaftPosition => set!(
                shaft_position,
                one_of(
                    &word,
                    &[
                        ("level", ShaftPosition::Level),
                        ("up", ShaftPosition::Up),
                        ("down", ShaftPosition::Down),
                    ]
                )
            ),
            PlaceKey::Mounting => set!(hold, Hold::parse(text)),
            PlaceKey::Protection => set!(
                protection,
                one_of(
                    &word,
                    &[
                        ("none", Protection::None),
                        ("automatic", Protection::Automatic),
                        ("manual", Protection::Manual),
                        ("impedance", Protection::Impedance),
                    ]
                )
            ),
            PlaceKey::Restart => set!(
                restart,
                one_of(
                    &word,
                    &[
                        ("harmless", Restart::Harmless),
                        ("dangerous", Restart::Dangerous),
                    ]
                )
            ),
            PlaceKey::Bearings => set!(bearings, Bearings::parse(text)),
        }
        Some(())
    }
}

/// One number in the notation of a field.
fn one(field: Field, text: &str) -> Option<f64> {
    match notation::parse(field, text)? {
        Value::Number(n) if n.is_finite() && n > 0.0 => Some(n),
        _ => None,
    }
}

/// What a word stands for.
fn one_of<T: Copy>(word: &str, words: &[(&str, T)]) -> Option<T> {
    words
        .iter()
        .find(|(w, _)| *w == word)
        .map(|(_, value)| *value)
}

fn drive(word: &str) -> Option<Drive> {
    one_of(
        word,
        &[
            ("fan", Drive::Fan),
            ("belt", Drive::Belt),
            ("pump", Drive::Pump),
            ("gearbox", Drive::Gearbox),
            ("compressor", Drive::Compressor),
            ("coupling", Drive::Coupling),
        ],
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_choice_is_understood_and_can_be_taken_back() {
        for key in PlaceKey::all() {
            for choice in key.choices() {
                let mut place = Place::default();
                assert!(key.put(choice, &mut place).is_some(), "{key:?} {choice}");
                assert_ne!(place, Place::default(), "{key:?} {choice}");
                key.put("", &mut place).unwrap();
                assert_eq!(place, Place::default(), "{key:?}");
            }
            assert!(key.put("no such answer", &mut Place::default()).is_none());
        }
    }
}
