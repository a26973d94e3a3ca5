//! The record of a nameplate: its readings, what follows from them, and its JSON.

use super::rating::{self, RatingPoint};
use super::{Field, Reading, State, Value, notation};
use crate::photo::Quad;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use std::fmt;

/// Which rule selects the replacement.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Class {
    /// Cooled by the air that its own fan or wheel moves across it: chosen by amps.
    AirOver,
    /// Chosen by horsepower times service factor.
    GeneralPurpose,
    /// The plate does not tell.
    #[default]
    Unknown,
}

impl fmt::Display for Class {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Class::AirOver => "air-over",
            Class::GeneralPurpose => "general-purpose",
            Class::Unknown => "unknown",
        })
    }
}

/// The class of the motor and how sure it is.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct ClassReading {
    /// The class.
    pub value: Class,
    /// How far it may be trusted.
    #[serde(default = "confirmed")]
    pub state: State,
    /// Why, in one sentence.
    #[serde(default)]
    pub reason: String,
}

fn confirmed() -> State {
    State::Confirmed
}

impl ClassReading {
    /// The class when it is a fact.
    pub fn fact(&self) -> Option<Class> {
        match self.state {
            State::Clear | State::Confirmed if self.value != Class::Unknown => Some(self.value),
            _ => None,
        }
    }
}

impl Default for ClassReading {
    fn default() -> Self {
        ClassReading {
            value: Class::Unknown,
            state: State::Absent,
            reason: "the record does not say whether the motor is air-over".to_owned(),
        }
    }
}

/// Outcome of one plausibility rule.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct CheckOutcome {
    /// Name of the rule.
    pub rule: String,
    /// The fields it bound together.
    pub fields: Vec<Field>,
    /// `ok` or `doubt`.
    pub outcome: Outcome,
    /// What was found, with its numbers.
    pub message: String,
    /// Where the rule comes from.
    pub source: String,
}

/// Whether a rule was content.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Outcome {
    /// The readings agree.
    Ok,
    /// At least one of the readings may be wrong.
    Doubt,
}

/// A question to a person.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Question {
    /// The key of the field, or `class` or `ratings`.
    pub field: String,
    /// The question in one sentence.
    pub ask: String,
    /// Printed values to choose from; another one may be entered.
    pub choices: Vec<String>,
}

/// A line of text on the photo.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct TextLine {
    /// Its characters.
    pub text: String,
    /// Mean probability of its characters, 0 to 1.
    pub confidence: f64,
    /// Where it stands.
    pub quad: Quad,
    /// On which of the motor's photos: its number in the order in which they were given, from 0.
    #[serde(default, skip_serializing_if = "super::reading::is_first")]
    pub photo: u32,
}

/// A code on the photo. What it says is text from elsewhere: to compare with, never to follow or run.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct PlateCode {
    /// How it is drawn: `QR Code`, `Data Matrix`, `Code 128`, `Code 39` or `linear`.
    pub symbology: String,
    /// What it says, without control characters.
    pub text: String,
    /// About where it stands.
    pub quad: Quad,
}

/// Everything known of one nameplate.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct NameplateRecord {
    /// The photo's file name, as it was given; of several photos of the motor the first that could be read.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub file: Option<String>,
    /// SHA-256 of the photo's bytes, hexadecimal.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub sha256: Option<String>,
    /// Air-over or general purpose.
    pub class: ClassReading,
    /// The readings. A field that is missing here is absent.
    pub fields: BTreeMap<Field, Reading>,
    /// Which values belong together.
    pub ratings: Vec<RatingPoint>,
    /// Plausibility rules and what they found.
    pub checks: Vec<CheckOutcome>,
    /// What to ask a person, most important first.
    pub questions: Vec<Question>,
    /// All text that was read.
    pub lines: Vec<TextLine>,
    /// All codes that were decoded.
    pub codes: Vec<PlateCode>,
    /// Where it stands, if it is a row of a log page.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub log: Option<LogNote>,
    /// Time that reading took, milliseconds.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub ms: Option<u64>,
}

/// What a log page says of a motor beside the fields of its plate.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct LogNote {
    /// Which row of the page, from 1.
    pub row: u32,
    /// The columns that are no field of a plate, such as the unit or remarks: header and text.
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    pub other: BTreeMap<String, String>,
}

impl NameplateRecord {
    /// The value of `field`, if it is a fact.
    pub fn fact(&self, field: Field) -> Option<&Value> {
        self.fields.get(&field)?.fact()
    }

    /// The reading of `field`; `None` when absent.
    pub fn reading(&self, field: Field) -> Option<&Reading> {
        self.fields.get(&field).filter(|r| r.state != State::Absent)
    }

    /// Which of the motor's photos `file` names: its number in the order in which they were given, from 0.
    pub fn photo(&self) -> u32 {
        self.lines.first().map_or(0, |line| line.photo)
    }

    /// Sets what a person said, and derives the rating points anew.
    pub fn confirm(&mut self, field: Field, printed: &str, who: &str) {
        self.fields
            .entry(field)
            .or_insert_with(|| Reading::absent(field, "not read"))
            .confirm(field, printed, who);
        self.ratings = self.pair().points;
        self.questions.retain(|q| q.field != field.key());
    }

    /// The rating points that follow from the printed values.
    pub fn pair(&self) -> rating::Pairing {
        rating::pair(|field| self.reading(field)?.printed.as_deref())
    }

    /// Reads a record from JSON: a line of `read --json`, or one written by hand.
    ///
    /// Missing keys are absent readings, a field without a state is confirmed, `value` and `ratings`
    /// are derived from `printed` where they are missing.
    pub fn from_json(text: &str) -> Result<NameplateRecord, RecordError> {
        let raw: RawRecord = serde_json::from_str(text).map_err(|e| RecordError::Json {
            line: e.line(),
            column: e.column(),
            detail: e.to_string(),
        })?;
        raw.into_record()
    }
}

/// Why a record could not be taken.
#[derive(Debug, thiserror::Error)]
pub enum RecordError {
    /// Not JSON, or not the shape of a record.
    #[error(
        "line {line}, column {column} is not a record: {detail}; give a line of `platewright read --json`, or a record such as {{\"fields\": {{\"amps\": {{\"printed\": \"2.0\"}}}}}}"
    )]
    Json {
        /// Line, from 1.
        line: usize,
        /// Column, from 1.
        column: usize,
        /// What the parser says.
        detail: String,
    },
    /// The photo could not be read.
    #[error(
        "this line says that the photo {file:?} could not be read ({message}); take another photo, or write the record by hand"
    )]
    Failed {
        /// The photo.
        file: String,
        /// What was wrong with it.
        message: String,
    },
    /// An unknown field.
    #[error("unknown field {key:?}{hint}; the fields are {known}")]
    UnknownField {
        /// What was given.
        key: String,
        /// What may have been meant.
        hint: String,
        /// All field keys.
        known: String,
    },
    /// A value that the field's notation does not know.
    #[error(
        "{field}: {printed:?} cannot be understood; write it as on a plate, such as {example:?}"
    )]
    Value {
        /// The field's key.
        field: &'static str,
        /// What was given.
        printed: String,
        /// What would be understood.
        example: &'static str,
    },
    /// A rating point with a figure that no motor has.
    #[error(
        "ratings: volts, hertz, hp, kw, amps and rpm are above zero and below a million; correct the rating, or leave ratings out: they follow from the fields"
    )]
    Rating,
    /// A confidence that is no probability.
    #[error("{field}: a confidence is a probability from 0 to 1; correct it, or leave it out")]
    Confidence {
        /// The field's key.
        field: &'static str,
    },
    /// Printed characters and value contradict each other.
    #[error(
        "{field}: the printed {printed:?} means {meaning}, but the value says {value}; correct one of the two"
    )]
    Contradiction {
        /// The field's key.
        field: &'static str,
        /// What is printed.
        printed: String,
        /// What that means.
        meaning: String,
        /// What the value says.
        value: String,
    },
}

#[derive(Deserialize)]
struct RawRecord {
    file: Option<String>,
    sha256: Option<String>,
    #[serde(default)]
    class: ClassReading,
    #[serde(default)]
    fields: BTreeMap<String, RawReading>,
    ratings: Option<Vec<RatingPoint>>,
    #[serde(default)]
    checks: Vec<CheckOutcome>,
    #[serde(default)]
    questions: Vec<Question>,
    #[serde(default)]
    lines: Vec<TextLine>,
    #[serde(default)]
    codes: Vec<PlateCode>,
    log: Option<LogNote>,
    ms: Option<u64>,
    error: Option<RawError>,
}

#[derive(Deserialize)]
struct RawError {
    #[serde(default)]
    message: String,
}

#[derive(Deserialize)]
struct RawReading {
    printed: Option<String>,
    value: Option<Value>,
    state: Option<State>,
    confidence: Option<f64>,
    #[serde(default)]
    alternatives: Vec<super::Alternative>,
    #[serde(default)]
    reasons: Vec<String>,
    quad: Option<Quad>,
    #[serde(default)]
    photo: u32,
}

impl RawRecord {
    fn into_record(self) -> Result<NameplateRecord, RecordError> {
        if let Some(error) = self.error {
            return Err(RecordError::Failed {
                file: self.file.unwrap_or_default(),
                message: error.message,
            });
        }
        let mut fields = BTreeMap::new();
        for (key, raw) in self.fields {
            let field = Field::from_key(&key).ok_or_else(|| unknown_field(&key))?;
            fields.insert(field, raw.into_reading(field)?);
        }
        let mut record = NameplateRecord {
            file: self.file,
            sha256: self.sha256,
            class: self.class,
            fields,
            ratings: Vec::new(),
            checks: self.checks,
            questions: self.questions,
            lines: self.lines,
            codes: self.codes,
            log: self.log,
            ms: self.ms,
        };
        record.ratings = match self.ratings {
            Some(given) if !given.iter().all(is_possible) => {
                return Err(RecordError::Rating);
            }
            Some(given) if !given.is_empty() => {
                if let Some(error) = stale(&given, &record) {
                    return Err(error);
                }
                given
            }
            _ => record.pair().points,
        };
        Ok(record)
    }
}

impl RawReading {
    fn into_reading(self, field: Field) -> Result<Reading, RecordError> {
        let others = self.alternatives.iter().map(|a| a.confidence);
        // Sums of probabilities are 1 but for their last bits.
        let is_probability = |c: f64| (0.0..1.0 + 1e-6).contains(&c);
        if !self
            .confidence
            .into_iter()
            .chain(others)
            .all(is_probability)
        {
            return Err(RecordError::Confidence { field: field.key() });
        }
        let printed = self.printed.filter(|p| !p.trim().is_empty());
        let printed = printed.or_else(|| self.value.as_ref().map(written));
        let printed = match (field, printed, &self.value) {
            (Field::Kw, Some(p), Some(value)) => Some(with_watts(p, value)),
            (_, printed, _) => printed,
        };
        let state = match (self.state, &printed) {
            (Some(state), _) => state,
            (None, Some(_)) => State::Confirmed,
            (None, None) => State::Absent,
        };
        let meaning = printed.as_deref().and_then(|p| notation::parse(field, p));
        let is_fact = matches!(state, State::Clear | State::Confirmed);
        if let (Some(p), Some(m), Some(v)) = (&printed, &meaning, &self.value)
            && !agree(m, v)
            && is_fact
        {
            return Err(RecordError::Contradiction {
                field: field.key(),
                printed: p.clone(),
                meaning: m.to_string(),
                value: v.to_string(),
            });
        }
        let possible = |v: &Value| {
            let numbers = v.numbers().iter();
            numbers.copied().all(notation::is_possible) || field == Field::AmbientC
        };
        let value = self.value.or(meaning).filter(possible);
        if let (Some(p), None) = (&printed, &value)
            && is_fact
        {
            return Err(RecordError::Value {
                field: field.key(),
                printed: p.clone(),
                example: field.example(),
            });
        }
        Ok(Reading {
            printed,
            value,
            unit: field.unit().map(str::to_owned),
            state,
            confidence: self.confidence.unwrap_or(match state {
                State::Confirmed => 1.0,
                _ => 0.0,
            }),
            alternatives: self.alternatives,
            reasons: self.reasons,
            quad: self.quad,
            photo: self.photo,
        })
    }
}

/// A rating figure that is none of its field's: somebody corrected the field and left the ratings as they were.
fn stale(ratings: &[RatingPoint], record: &NameplateRecord) -> Option<RecordError> {
    let figures = |p: &RatingPoint| {
        [
            (Field::Volts, p.volts.map(|v| v.0)),
            (Field::Amps, p.amps.map(|v| v.0)),
            (Field::Hp, p.hp.map(|v| v.0)),
            (Field::Kw, p.kw.map(|v| v.0)),
            (Field::Rpm, p.rpm.map(|v| v.0)),
            (Field::Hertz, p.hertz.map(|v| v.0)),
            (Field::Phase, p.phase.map(f64::from)),
        ]
    };
    let mut all = ratings.iter().flat_map(figures);
    all.find_map(|(field, figure)| {
        let (figure, value) = (figure?, record.fact(field)?);
        let one = Value::Number(figure);
        let known = value
            .numbers()
            .iter()
            .any(|n| agree(&one, &Value::Number(*n)));
        (!known).then(|| RecordError::Contradiction {
            field: field.key(),
            printed: record
                .reading(field)
                .and_then(|r| r.printed.clone())
                .unwrap_or_default(),
            meaning: value.to_string(),
            value: format!("of a rating {}", crate::units::plain(figure)),
        })
    })
}

fn is_possible(point: &RatingPoint) -> bool {
    let figures = [
        point.volts.map(|v| v.0),
        point.hertz.map(|v| v.0),
        point.hp.map(|v| v.0),
        point.kw.map(|v| v.0),
        point.amps.map(|v| v.0),
        point.rpm.map(|v| v.0),
    ];
    figures.into_iter().flatten().all(notation::is_possible)
}

/// Small motors print watts. Where the number of a plate is given without its unit and the value says that it
/// is watts, the unit is written behind the number, as a reading has it: `6` with 0.006 kW is `6 W`.
fn with_watts(printed: String, kilowatts: &Value) -> String {
    let in_watts = format!("{printed} W");
    let bare = !printed.contains(|c: char| c.is_alphabetic());
    let means = notation::parse(Field::Kw, &in_watts);
    if bare && means.is_some_and(|m| agree(&m, kilowatts)) {
        in_watts
    } else {
        printed
    }
}

/// Whether a derived and a given value say the same; text is compared without case.
fn agree(derived: &Value, given: &Value) -> bool {
    match (derived.text(), given.text()) {
        (Some(a), Some(b)) => {
            a.eq_ignore_ascii_case(b)
                || crate::trade::enclosure(a).map(|e| &e.code)
                    == crate::trade::enclosure(b).map(|e| &e.code)
        }
        (None, None) => {
            let (a, b) = (derived.numbers(), given.numbers());
            // A value written by hand is rounded: 0.333 for one third.
            let close = |x: &f64, y: &f64| (x - y).abs() <= 0.005 * x.abs().max(y.abs());
            a.len() == b.len() && a.iter().zip(b).all(|(x, y)| close(x, y))
        }
        _ => false,
    }
}

/// A value as it would be printed.
fn written(value: &Value) -> String {
    match value {
        Value::Text(text) => text.clone(),
        numbers => {
            let list: Vec<String> = numbers
                .numbers()
                .iter()
                .map(|n| crate::units::plain(*n))
                .collect();
            list.join("/")
        }
    }
}

fn unknown_field(key: &str) -> RecordError {
    let nearest = Field::ALL
        .iter()
        .map(|f| (strsim::jaro_winkler(key, f.key()), f.key()))
        .max_by(|a, b| a.0.total_cmp(&b.0))
        .filter(|(similarity, _)| *similarity > 0.8);
    let keys: Vec<&str> = Field::ALL.iter().map(|f| f.key()).collect();
    RecordError::UnknownField {
        key: key.to_owned(),
        hint: nearest.map_or(String::new(), |(_, k)| format!(" (did you mean {k:?}?)")),
        known: keys.join(", "),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Found by fuzzing: it became a number without end, which is written as `null` and cannot be read again.
    #[test]
    fn a_coordinate_too_large_for_a_photo_is_refused() {
        for (x, message) in [
            ("1e60", "out of range"),
            ("3e38", "a coordinate is too large"),
        ] {
            let text = format!(
                r#"{{"fields": {{"hp": {{"printed": "1/2", "quad": [[0,0],[{x},0],[9,9],[0,9]]}}}}}}"#
            );
            let error = NameplateRecord::from_json(&text).unwrap_err().to_string();
            assert!(error.contains(message), "{error}");
        }
    }

    #[test]
    fn a_record_by_hand_is_complete() {
        let record = NameplateRecord::from_json(
            r#"{"class": {"value": "air-over"}, "fields": {"amps": {"printed": "2.0"}, "volts": {"printed": "208-230"},
                "phase": {"printed": "1"}}}"#,
        )
        .unwrap();
        assert_eq!(record.class.fact(), Some(Class::AirOver));
        assert_eq!(record.fact(Field::Amps), Some(&Value::Number(2.0)));
        assert_eq!(record.ratings.len(), 2);
        assert_eq!(record.ratings[0].amps, Some(crate::units::Amps(2.0)));
        assert_eq!(record.ratings[1].phase, Some(1));
        let again = NameplateRecord::from_json(&serde_json::to_string(&record).unwrap()).unwrap();
        assert_eq!(record, again);
    }

    /// Found by fuzzing: 1/11 came back with another last bit.
    #[test]
    fn numbers_are_the_same_to_the_last_bit_when_they_are_read_again() {
        for denominator in 2..400 {
            let text = format!(r#"{{"fields": {{"hp": {{"printed": "1/{denominator}"}}}}}}"#);
            let record = NameplateRecord::from_json(&text).unwrap();
            let again = NameplateRecord::from_json(&serde_json::to_string(&record).unwrap());
            assert_eq!(again.unwrap(), record);
        }
    }

    #[test]
    fn wrong_records_are_told_what_is_wrong() {
        for (json, message) in [
            (
                r#"{"fields": {"ampz": {"printed": "2"}}}"#,
                "did you mean \"amps\"",
            ),
            (
                r#"{"fields": {"amps": {"printed": "FLA"}}}"#,
                "cannot be understood",
            ),
            (
                r#"{"fields": {"amps": {"printed": "2.0", "value": 20}}}"#,
                "correct one of the two",
            ),
            (
                r#"{"fields": {"hp": {"printed": "0"}}}"#,
                "cannot be understood",
            ),
            (
                r#"{"fields": {"hp": {"value": 0}}}"#,
                "cannot be understood",
            ),
            (r#"{"fields": {}, "ratings": [{"hp": 0}]}"#, "above zero"),
            (
                r#"{"fields": {"amps": {"printed": "6.8"}}, "ratings": [{"amps": 2.0}]}"#,
                "the value says of a rating 2; correct one of the two",
            ),
            (
                r#"{"fields": {"amps": {"printed": "1.0", "state": "doubtful", "alternatives": [{"printed": "2.6", "confidence": 4.4e108}]}}}"#,
                "from 0 to 1",
            ),
            (r#"{"fields": "#, "is not a record"),
            (
                r#"{"file": "a.jpg", "error": {"kind": "empty", "message": "zero bytes"}}"#,
                "zero bytes",
            ),
        ] {
            let error = NameplateRecord::from_json(json).unwrap_err().to_string();
            assert!(error.contains(message), "{json}: {error}");
        }
    }

    /// 6 W is 0.006 kW; never 6 kW, and never a contradiction.
    #[test]
    fn a_number_of_watts_keeps_its_unit() {
        for (printed, value, expected) in [
            ("6", "0.006", "6 W"),
            ("60/40", "[0.06, 0.04]", "60/40 W"),
            ("0.75", "0.75", "0.75"),
            ("120 W", "0.12", "120 W"),
        ] {
            let json =
                format!(r#"{{"fields": {{"kw": {{"printed": "{printed}", "value": {value}}}}}}}"#);
            let record = NameplateRecord::from_json(&json).unwrap();
            let reading = &record.fields[&Field::Kw];
            assert_eq!(reading.printed.as_deref(), Some(expected));
            let kw = record.ratings.first().and_then(|r| r.kw).map(|k| k.0);
            let first = reading.value.as_ref().map(|v| v.numbers()[0]);
            assert_eq!(
                kw.map(crate::units::plain),
                first.map(crate::units::plain),
                "{printed}"
            );
        }
        let wrong = r#"{"fields": {"kw": {"printed": "6", "value": 0.06}}}"#;
        assert!(NameplateRecord::from_json(wrong).is_err());
    }

    #[test]
    fn nothing_printed_is_absent() {
        let record =
            NameplateRecord::from_json(r#"{"fields": {"frame": {"printed": " "}}}"#).unwrap();
        assert_eq!(record.reading(Field::Frame), None);
    }

    #[test]
    fn a_doubtful_reading_is_not_a_fact() {
        let record = NameplateRecord::from_json(
            r#"{"fields": {"amps": {"printed": "68", "state": "doubtful", "alternatives": [{"printed": "6.8"}]}}}"#,
        )
        .unwrap();
        assert_eq!(record.fact(Field::Amps), None);
        let possible = record.fields[&Field::Amps].possible(Field::Amps);
        assert_eq!(possible, vec![Value::Number(68.0), Value::Number(6.8)]);
    }

    #[test]
    fn a_confirmation_keeps_what_stood_before() {
        let mut record = NameplateRecord::from_json(
            r#"{"fields": {"amps": {"printed": "68", "state": "doubtful"}, "volts": {"printed": "230"}}}"#,
        )
        .unwrap();
        record.confirm(Field::Amps, "6.8", "counter");
        assert_eq!(record.fact(Field::Amps), Some(&Value::Number(6.8)));
        assert_eq!(record.ratings[0].amps, Some(crate::units::Amps(6.8)));
        assert!(record.fields[&Field::Amps].reasons[0].contains("\"68\""));
    }
}
