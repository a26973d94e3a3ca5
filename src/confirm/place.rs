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
    ShaftFlats,
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
    /// In the store and on the page.
    word: &'static str,
    /// On the command line.
    option: &'static str,
    label: &'static str,
    /// What it says of the place, in a sentence.
    help: &'static str,
    hint: &'static str,
    choices: &'static [&'static str],
    /// What stands for the answer in a usage line.
    value: &'static str,
}

macro_rules! entries {
    ($($key:ident, $word:literal, $option:literal, $label:literal, $help:literal, $hint:literal, $choices:expr, $value:literal;)*) => {
        &[$(Entry {
            key: PlaceKey::$key,
            word: $word,
            option: $option,
            label: $label,
            help: $help,
            hint: $hint,
            choices: &$choices,
            value: $value,
        }),*]
    };
}

#[rustfmt::skip]
const ENTRIES: &[Entry] = entries![
    Drive, "drive", "drive", "drive", "How the load is driven", "answer fan (a wheel on the motor's own shaft), belt, pump, gearbox, compressor or coupling", ["fan", "belt", "pump", "gearbox", "compressor", "coupling"], "DRIVE";
    Supply, "supply", "supply", "voltage of the supply", "Voltage of the supply", "answer with one voltage, such as 230", [], "VOLTS";
    Phase, "phase", "phase", "phases of the supply", "Phases of the supply", "answer 1 or 3", ["1", "3"], "PHASES";
    Hertz, "hertz", "hertz", "frequency of the supply", "Frequency of the supply", "answer 60 or 50", ["60", "50"], "HERTZ";
    Surroundings, "surroundings", "place", "surroundings", "Where the motor stands", "answer indoors (dry and clean), outdoors (rain, snow, dust) or wet (hosed down)", ["indoors", "outdoors", "wet"], "PLACE";
    Ambient, "ambient", "ambient", "highest air temperature", "Highest air temperature at the motor, °C", "answer in °C, such as 40", [], "CELSIUS";
    Room, "room", "room-in", "room for its length", "Room for the motor's length over all, inches", "answer in inches, such as 14 or 12-1/2", [], "INCHES";
    ConduitBox, "conduit_box", "conduit-box", "side of the conduit box", "Where the conduit box must sit, seen from the shaft end", "answer F1 (left), F2 (right) or F3 (top), seen from the shaft end", ["F1", "F2", "F3"], "SIDE";
    Rotation, "rotation", "rotation", "rotation it must have", "Rotation that the driven machine needs, with the end it is seen from", "answer CW or CCW and the end it is seen from, such as CCWLE", ["CWLE", "CCWLE"], "ROTATION";
    Shaft, "shaft", "shaft-in", "bore of wheel or coupling", "Bore of the driven wheel, sheave or coupling, inches", "answer in inches, such as 0.625 or 5/8", [], "INCHES";
    ShaftLength, "shaft_length", "shaft-length-in", "length of the old shaft", "Length of the old shaft from its shoulder, inches", "answer in inches, such as 2-1/4", [], "INCHES";
    ShaftFlats, "shaft_flats", "shaft-flats", "flats on the old shaft", "Flats on the old shaft", "answer 0 (plain) to 4", ["0", "1", "2", "3", "4"], "COUNT";
    ShaftEnds, "shaft_ends", "shaft-ends", "ends of the shaft in use", "Whether the old motor drives at one end of its shaft or at both", "answer single or double", ["single", "double"], "ENDS";
    ShaftPosition, "shaft_position", "shaft-position", "position of the shaft", "How the shaft stands", "answer level, up or down (where the driven end points)", ["level", "up", "down"], "POSITION";
    Mounting, "mounting", "mounting", "what holds the old motor", "What holds the old motor", "answer rigid, resilient, band, studs, lugs, yoke, C face, or a code such as B5", [], "MOUNTING";
    Protection, "protection", "protection", "thermal protection", "The old motor's thermal protection", "answer none, automatic (resets by itself), manual (reset by hand) or impedance", ["none", "automatic", "manual", "impedance"], "PROTECTION";
    Restart, "restart", "restart", "a start without warning", "Whether a motor that starts by itself after it has cooled can hurt somebody", "answer harmless or dangerous", ["harmless", "dangerous"], "RESTART";
    Bearings, "bearings", "bearings", "bearings", "The old motor's bearings", "answer ball or sleeve", ["ball", "sleeve"], "BEARINGS";
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

    /// Its option on the command line, without the hyphens.
    pub fn option(self) -> &'static str {
        self.entry().option
    }

    /// What it says of the place.
    pub fn help(self) -> &'static str {
        self.entry().help
    }

    /// What stands for the answer in a usage line.
    pub fn value(self) -> &'static str {
        self.entry().value
    }

    /// Whether more than the choices is understood.
    pub fn is_free(self) -> bool {
        self.choices().is_empty() || self == PlaceKey::Rotation
    }

    /// How to answer.
    pub fn hint(self) -> &'static str {
        self.entry().hint
    }

    /// The answers to choose from; examples where an answer may be written freely.
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
            PlaceKey::ShaftFlats => set!(
                shaft_flats,
                word.parse().ok().filter(|flats| (0..=4).contains(flats))
            ),
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
