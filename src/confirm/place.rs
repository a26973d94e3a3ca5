//! What the place demands, as an answer gives it.

use crate::matching::{BoxSide, Drive, Place, Rotation, Surroundings};
use crate::record::{Field, Value, notation};
use crate::stock::inches;
use crate::units::{Celsius, Hertz, Inches, Volts, plain};

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
}

/// Word, label, hint and choices of each.
const KEYS: &[(PlaceKey, &str, &str, &str, &[&str])] = &[
    (
        PlaceKey::Drive,
        "drive",
        "the drive",
        "answer fan, belt, pump, gearbox, compressor or coupling",
        DRIVES,
    ),
    (
        PlaceKey::Supply,
        "supply",
        "the supply's voltage",
        "answer with one voltage, such as 230",
        &[],
    ),
    (
        PlaceKey::Phase,
        "phase",
        "the supply's phases",
        "answer 1 or 3",
        &["1", "3"],
    ),
    (
        PlaceKey::Hertz,
        "hertz",
        "the supply's frequency",
        "answer 60 or 50",
        &["60", "50"],
    ),
    (
        PlaceKey::Surroundings,
        "surroundings",
        "the surroundings",
        "answer indoors, outdoors or wet",
        &["indoors", "outdoors", "wet"],
    ),
    (
        PlaceKey::Ambient,
        "ambient",
        "the highest air temperature",
        "answer in °C, such as 40",
        &[],
    ),
    (
        PlaceKey::Room,
        "room",
        "the room for its length",
        "answer in inches, such as 14 or 12-1/2",
        &[],
    ),
    (
        PlaceKey::ConduitBox,
        "conduit_box",
        "the conduit box",
        "answer F1 (left), F2 (right) or F3 (top), seen from the shaft end",
        &["F1", "F2", "F3"],
    ),
    (
        PlaceKey::Rotation,
        "rotation",
        "the rotation it must have",
        "answer CW or CCW and the end it is seen from, such as CCWLE",
        &["CWLE", "CCWLE"],
    ),
    (
        PlaceKey::Shaft,
        "shaft",
        "the bore of wheel or coupling",
        "answer in inches, such as 0.625 or 5/8",
        &[],
    ),
];

const DRIVES: &[&str] = &["fan", "belt", "pump", "gearbox", "compressor", "coupling"];

impl PlaceKey {
    /// All of them, in the order in which they are shown.
    pub fn all() -> impl Iterator<Item = PlaceKey> {
        KEYS.iter().map(|k| k.0)
    }

    /// The key with this word.
    pub fn from_word(word: &str) -> Option<PlaceKey> {
        KEYS.iter().find(|k| k.1 == word).map(|k| k.0)
    }

    fn row(
        self,
    ) -> &'static (
        PlaceKey,
        &'static str,
        &'static str,
        &'static str,
        &'static [&'static str],
    ) {
        // The table has a line for each; the first stands in for none.
        KEYS.iter().find(|k| k.0 == self).unwrap_or(&KEYS[0])
    }

    /// Its word.
    pub fn word(self) -> &'static str {
        self.row().1
    }

    /// What a person calls it.
    pub fn label(self) -> &'static str {
        self.row().2
    }

    /// How to answer.
    pub fn hint(self) -> &'static str {
        self.row().3
    }

    /// The answers there are; empty where anything may be written.
    pub fn choices(self) -> &'static [&'static str] {
        self.row().4
    }

    /// What was said of it; `None` when nobody said anything.
    pub fn said(self, place: &Place) -> Option<String> {
        match self {
            PlaceKey::Drive => {
                let word = |d: Drive| DRIVES.iter().find(|w| drive_from_word(w) == Some(d));
                place.drive.and_then(word).map(|w| (*w).to_owned())
            }
            PlaceKey::Supply => place.supply.map(|v| plain(v.0)),
            PlaceKey::Phase => place.phase.map(|p| p.to_string()),
            PlaceKey::Hertz => place.hertz.map(|h| plain(h.0)),
            PlaceKey::Surroundings => place.surroundings.map(|s| {
                match s {
                    Surroundings::Indoors => "indoors",
                    Surroundings::Outdoors => "outdoors",
                    Surroundings::Wet => "wet",
                }
                .to_owned()
            }),
            PlaceKey::Ambient => place.ambient.map(|c| plain(c.0)),
            PlaceKey::Room => place.room.map(|i| plain(i.0)),
            PlaceKey::ConduitBox => place.conduit_box.map(|b| format!("{b:?}")),
            PlaceKey::Rotation => place.rotation.map(|r| r.to_string()),
            PlaceKey::Shaft => place.shaft.map(|i| plain(i.0)),
        }
    }
}

/// A demand that is understood; `None` inside takes it back.
#[derive(Debug, Clone, PartialEq)]
#[allow(missing_docs)] // as `Place` has them
pub enum PlaceValue {
    Drive(Option<Drive>),
    Supply(Option<Volts>),
    Phase(Option<u8>),
    Hertz(Option<Hertz>),
    Surroundings(Option<Surroundings>),
    Ambient(Option<Celsius>),
    Room(Option<Inches>),
    ConduitBox(Option<BoxSide>),
    Rotation(Option<Rotation>),
    Shaft(Option<Inches>),
}

impl PlaceValue {
    /// Understands an answer; `None` when it cannot be.
    pub(super) fn parse(key: PlaceKey, text: &str) -> Option<PlaceValue> {
        let word = text.to_lowercase();
        // Nothing said takes back what was said; something said must be understood.
        let is_blank = text.is_empty();
        macro_rules! or_blank {
            ($variant:ident, $value:expr) => {{
                if is_blank {
                    Some(PlaceValue::$variant(None))
                } else {
                    let value = $value;
                    value.map(|v| PlaceValue::$variant(Some(v)))
                }
            }};
        }
        match key {
            PlaceKey::Drive => or_blank!(Drive, drive_from_word(&word)),
            PlaceKey::Supply => or_blank!(Supply, one(Field::Volts, text).map(Volts)),
            PlaceKey::Phase => or_blank!(
                Phase,
                match text {
                    "1" => Some(1),
                    "3" => Some(3),
                    _ => None,
                }
            ),
            PlaceKey::Hertz => or_blank!(Hertz, one(Field::Hertz, text).map(Hertz)),
            PlaceKey::Surroundings => or_blank!(
                Surroundings,
                match word.as_str() {
                    "indoors" => Some(Surroundings::Indoors),
                    "outdoors" => Some(Surroundings::Outdoors),
                    "wet" => Some(Surroundings::Wet),
                    _ => None,
                }
            ),
            PlaceKey::Ambient => or_blank!(Ambient, one(Field::AmbientC, text).map(Celsius)),
            PlaceKey::Room => or_blank!(Room, inches(text)),
            PlaceKey::ConduitBox => or_blank!(
                ConduitBox,
                match word.as_str() {
                    "f1" => Some(BoxSide::F1),
                    "f2" => Some(BoxSide::F2),
                    "f3" => Some(BoxSide::F3),
                    _ => None,
                }
            ),
            PlaceKey::Rotation => or_blank!(Rotation, Rotation::parse(text)),
            PlaceKey::Shaft => or_blank!(Shaft, inches(text)),
        }
    }

    /// Puts it into the place.
    pub(super) fn put(self, place: &mut Place) {
        match self {
            PlaceValue::Drive(v) => place.drive = v,
            PlaceValue::Supply(v) => place.supply = v,
            PlaceValue::Phase(v) => place.phase = v,
            PlaceValue::Hertz(v) => place.hertz = v,
            PlaceValue::Surroundings(v) => place.surroundings = v,
            PlaceValue::Ambient(v) => place.ambient = v,
            PlaceValue::Room(v) => place.room = v,
            PlaceValue::ConduitBox(v) => place.conduit_box = v,
            PlaceValue::Rotation(v) => place.rotation = v,
            PlaceValue::Shaft(v) => place.shaft = v,
        }
    }
}

/// One number in the notation of a field.
fn one(field: Field, text: &str) -> Option<f64> {
    match notation::parse(field, text)? {
        Value::Number(n) if n.is_finite() && n > 0.0 => Some(n),
        _ => None,
    }
}

/// The drive of a word.
pub fn drive_from_word(word: &str) -> Option<Drive> {
    match word.trim() {
        "fan" => Some(Drive::Fan),
        "belt" => Some(Drive::Belt),
        "pump" => Some(Drive::Pump),
        "gearbox" => Some(Drive::Gearbox),
        "compressor" => Some(Drive::Compressor),
        "coupling" => Some(Drive::Coupling),
        _ => None,
    }
}
