//! A reading: what was printed, what it means, and how far it may be trusted.

use super::{Field, Value, notation};
use crate::photo::Quad;
use serde::{Deserialize, Serialize};
use std::fmt;

/// How far a reading may be trusted.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum State {
    /// Read, and its calibrated probability of being right is at least the set threshold.
    Clear,
    /// Read, but improbable, contradicted, or close to another reading.
    Doubtful,
    /// Not on the plate, or not readable; the reasons say which, if it can be told.
    Absent,
    /// A person said so.
    Confirmed,
}

impl fmt::Display for State {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            State::Clear => "clear",
            State::Doubtful => "doubtful",
            State::Absent => "absent",
            State::Confirmed => "confirmed",
        })
    }
}

/// Another way to read the same place.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Alternative {
    /// What would be printed there.
    pub printed: String,
    /// Its probability, 0 to 1.
    #[serde(default)]
    pub confidence: f64,
}

/// The reading of one field.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Reading {
    /// The characters on the plate.
    pub printed: Option<String>,
    /// What they mean; `None` when they mean nothing for this field.
    pub value: Option<Value>,
    /// The unit of `value`.
    pub unit: Option<String>,
    /// How far the reading may be trusted.
    pub state: State,
    /// Probability that `printed` is what stands there, 0 to 1.
    pub confidence: f64,
    /// Other readings of the same place, likeliest first, without `printed` itself.
    pub alternatives: Vec<Alternative>,
    /// Why the reading is doubtful or absent, a sentence each.
    pub reasons: Vec<String>,
    /// Where it stands in the photo; `None` when it came from elsewhere.
    pub quad: Option<Quad>,
    /// On which of the motor's photos it stands: its number in the order in which they were given, from 0.
    #[serde(default, skip_serializing_if = "is_first")]
    pub photo: u32,
}

/// What a record need not say: most motors have one photo.
pub(super) fn is_first(photo: &u32) -> bool {
    *photo == 0
}

impl Reading {
    /// A reading of `printed` with its value derived by the notation of `field`.
    pub fn new(field: Field, printed: &str, state: State, confidence: f64) -> Reading {
        Reading {
            printed: Some(printed.to_owned()),
            value: notation::parse(field, printed),
            unit: field.unit().map(str::to_owned),
            state,
            confidence,
            alternatives: Vec::new(),
            reasons: Vec::new(),
            quad: None,
            photo: 0,
        }
    }

    /// A reading that is not there, and why.
    pub fn absent(field: Field, reason: &str) -> Reading {
        Reading {
            printed: None,
            value: None,
            unit: field.unit().map(str::to_owned),
            state: State::Absent,
            confidence: 0.0,
            alternatives: Vec::new(),
            reasons: vec![reason.to_owned()],
            quad: None,
            photo: 0,
        }
    }

    /// What a person said, in place of what stood here. The reading that it replaces is kept in words.
    pub fn confirm(&mut self, field: Field, printed: &str, who: &str) {
        let before = match (&self.printed, self.state) {
            (Some(p), state) => {
                format!("{who} confirmed {printed:?}; read before: {p:?} ({state})")
            }
            (None, _) => format!("{who} entered {printed:?}; nothing was read before"),
        };
        self.printed = Some(printed.to_owned());
        self.value = notation::parse(field, printed);
        self.state = State::Confirmed;
        self.confidence = 1.0;
        self.reasons.push(before);
    }

    /// The value as a fact: only a clear or a confirmed reading is one.
    pub fn fact(&self) -> Option<&Value> {
        match self.state {
            State::Clear | State::Confirmed => self.value.as_ref(),
            State::Doubtful | State::Absent => None,
        }
    }

    /// Every meaning this reading may have, likeliest first: the fact alone, or the doubtful value
    /// and its alternatives. Empty when absent.
    pub fn possible(&self, field: Field) -> Vec<Value> {
        let mut values: Vec<Value> = self.value.clone().into_iter().collect();
        if self.state == State::Doubtful {
            for alternative in &self.alternatives {
                if let Some(value) = notation::parse(field, &alternative.printed)
                    && !values.contains(&value)
                {
                    values.push(value);
                }
            }
        }
        values
    }
}
