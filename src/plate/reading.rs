//! What a plate says, place by place, before anything is judged.

use crate::photo::Quad;
use crate::record::{Field, Value};
use crate::text::{Code, Lattice};
use std::collections::BTreeMap;

/// The doubt of a place for which another label competes.
pub(crate) const ANOTHERS: &str = "the value may belong to another label";

/// One way to read the place of a field: characters, meaning, probability.
#[derive(Debug, Clone, PartialEq)]
pub struct Candidate {
    /// The characters as on the plate, without label and unit.
    pub printed: String,
    /// What they mean.
    pub value: Value,
    /// Probability that this is what is printed there, by lattice and grammar, 0 to 1. The candidates of
    /// a field sum to at most 1; what is missing belongs to readings without a meaning.
    pub probability: f64,
}

/// What the plate says of one field.
#[derive(Debug, Clone, PartialEq)]
pub struct FieldReading {
    /// Likeliest first, never empty.
    pub candidates: Vec<Candidate>,
    /// Probability that this place is this field at all, 0 to 1: about 1 beside a clear label, lower
    /// where the place was guessed by its shape or its label is half lost.
    pub association: f64,
    /// The label as read; `None` when the value stands alone (`TEFC`).
    pub label: Option<String>,
    /// Where the value stands, in pixels of the photo.
    pub quad: Quad,
    /// Reasons in the layout to doubt it, a sentence each.
    pub doubts: Vec<String>,
    /// What each of several places claims it to be where they disagree, this one's first; empty where they do not. The
    /// plate's other figures may settle it.
    pub claims: Vec<Candidate>,
    /// What its label leaves open; the plate's other figures may settle it.
    pub open: Option<Open>,
    /// What a second reader takes the value for, rather than for anything else; `None` where it did not read it, or
    /// could not tell.
    pub seconded: Option<Value>,
}

impl FieldReading {
    /// Whether the second reader takes it for this value too.
    pub fn is_seconded(&self, value: &Value) -> bool {
        self.seconded.as_ref() == Some(value)
    }

    /// Whether a reason to doubt it is one of the layout, so that no further look at its characters settles it.
    pub fn is_of_layout(&self, reason: &str) -> bool {
        let claimed = |other: &Candidate| {
            let best = &self.candidates[0].printed;
            reason == disagreement(best, &other.printed)
        };
        self.doubts.iter().any(|doubt| doubt == reason) || self.claims.iter().any(claimed)
    }
}

/// Why a value is doubtful that another place contradicts, both as printed.
pub fn disagreement(one: &str, other: &str) -> String {
    format!("two places disagree: {one:?} and {other:?}")
}

/// What a label leaves open about its value.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Open {
    /// Watts that may be the shaft's or taken from the line.
    InputOrShaft,
    /// `MAX AMPS`: at full load, or at the service factor.
    FullLoadOrServiceFactor,
    /// `MAX RPM`: its speed at full load, or the highest that it may be driven at.
    RatedOrHighest,
}

impl Open {
    /// Why the value is doubtful as long as nothing settles it.
    pub fn reason(self) -> &'static str {
        match self {
            Open::InputOrShaft => "watts may be the input, not the shaft power",
            Open::FullLoadOrServiceFactor => {
                "MAX AMPS may be the full-load or the service factor amps"
            }
            Open::RatedOrHighest => "MAX RPM may be more than the motor's speed at full load",
        }
    }
}

/// A word of the plate.
#[derive(Debug, Clone, PartialEq)]
pub struct Word {
    /// The likeliest reading.
    pub text: String,
    /// Mean of the probabilities of its characters, 0 to 1.
    pub confidence: f32,
    /// Where it stands, in pixels of the photo.
    pub quad: Quad,
    /// All that it may read.
    pub lattice: Lattice,
}

/// Something on the plate that is recognised and is no field of the record.
#[derive(Debug, Clone, PartialEq)]
pub struct Other {
    /// What it is: the name after `other.` in `data/plate_labels.csv`, such as `locked_rotor_amps`.
    pub kind: String,
    /// The characters of its value, or of the mark itself where it has none (`THERMALLY PROTECTED`).
    pub printed: String,
    /// Where it stands, in pixels of the photo.
    pub quad: Quad,
}

/// The figures of which one alone is the whole value of a field; empty for all but the phases. Of a power the figure may
/// be what is left of `10`, and letters a texture has everywhere.
pub fn lone_figures(field: Field) -> &'static str {
    match field {
        Field::Phase => "13",
        _ => "",
    }
}

/// What a plate says.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Plate {
    /// The fields that were read.
    pub fields: BTreeMap<Field, FieldReading>,
    /// Fields whose label is there and whose value cannot be read, with the place of the label.
    pub unreadable: BTreeMap<Field, Quad>,
    /// All words, as the plate is read.
    pub words: Vec<Word>,
    /// Recognised items that are no fields of the record.
    pub other: Vec<Other>,
    /// Codes on it, as they were decoded; what they say of fields is weighed already.
    pub codes: Vec<Code>,
}
