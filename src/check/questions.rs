//! What to ask a person: only what the choice of a replacement hangs on, most important first.

use super::class;
use crate::record::{Class, ClassReading, Field, Question, Reading, State};
use std::collections::BTreeMap;

/// A reason that names another field's question; it is not asked twice.
pub(super) struct Pairing {
    /// Why the rows do not pair up.
    pub doubt: String,
    /// The printed rows.
    pub rows: Vec<(Field, String)>,
}

/// The questions of a plate.
pub(super) fn questions(
    class: &ClassReading,
    fields: &BTreeMap<Field, Reading>,
    pairing: Option<&Pairing>,
) -> Vec<Question> {
    let mut asked = Vec::new();
    if class.fact().is_none() && !fields.values().all(|r| r.state == State::Absent) {
        asked.push(Question {
            field: "class".to_owned(),
            ask: class::ask(class),
            choices: vec![
                Class::AirOver.to_string(),
                Class::GeneralPurpose.to_string(),
            ],
        });
    }
    if let Some(pairing) = pairing {
        let rows: Vec<String> = pairing
            .rows
            .iter()
            .map(|(f, p)| format!("{f} {p}"))
            .collect();
        asked.push(Question {
            field: "ratings".to_owned(),
            ask: format!(
                "Which values belong together: {}? {}.",
                rows.join(" against "),
                sentence(&pairing.doubt)
            ),
            choices: Vec::new(),
        });
    }
    for field in by_importance(class.value, fields) {
        let in_pairing = pairing.is_some_and(|p| p.rows.iter().any(|r| r.0 == field));
        if let Some(reading) = fields.get(&field)
            && !(in_pairing && reading.alternatives.is_empty())
            && let Some(question) = question(field, reading, class.value)
        {
            asked.push(question);
        }
    }
    asked
}

/// The fields that decide on a replacement of that class, the most important first.
fn by_importance(class: Class, fields: &BTreeMap<Field, Reading>) -> Vec<Field> {
    use Field::*;
    let shown = |f: Field| fields.get(&f).is_some_and(|r| r.state != State::Absent);
    // Air-over goes by amps, general purpose by power and service factor; the other figure is a label.
    let measure: &[Field] = match class {
        Class::AirOver if shown(Amps) => &[Amps, Volts],
        Class::GeneralPurpose if shown(Hp) => &[Hp, Volts, ServiceFactor],
        Class::GeneralPurpose if shown(Kw) => &[Kw, Volts, ServiceFactor],
        _ => &[Amps, Volts, Hp, Kw, ServiceFactor],
    };
    let others = [
        Phase,
        Rpm,
        Hertz,
        Frame,
        Enclosure,
        Rotation,
        AmbientC,
        InsulationClass,
        Duty,
    ];
    measure.iter().copied().chain(others).collect()
}

fn question(field: Field, reading: &Reading, class: Class) -> Option<Question> {
    let why = || {
        reading
            .reasons
            .first()
            .map_or_else(String::new, |r| format!(" ({})", r.trim_end_matches('.')))
    };
    match reading.state {
        State::Doubtful => {
            let printed = reading.printed.clone()?;
            let mut choices = vec![printed.clone()];
            for alternative in &reading.alternatives {
                if choices.len() < 4 && !choices.contains(&alternative.printed) {
                    choices.push(alternative.printed.clone());
                }
            }
            Some(Question {
                field: field.key().to_owned(),
                ask: format!("Does the plate say {field} {printed}{}?", why()),
                choices,
            })
        }
        // A value that decides and whose label is there: only a person can read it.
        State::Absent => {
            let decides = match class {
                Class::AirOver => matches!(field, Field::Amps | Field::Volts),
                Class::GeneralPurpose => matches!(field, Field::Hp | Field::Kw | Field::Volts),
                Class::Unknown => {
                    matches!(field, Field::Amps | Field::Volts | Field::Hp | Field::Kw)
                }
            };
            let labelled = reading.quad.is_some();
            (decides && labelled).then(|| Question {
                field: field.key().to_owned(),
                ask: format!("What does the plate say for {field}{}?", why()),
                choices: Vec::new(),
            })
        }
        State::Clear | State::Confirmed => None,
    }
}

/// A reason as a sentence of its own, without its full stop.
fn sentence(text: &str) -> String {
    let mut chars = text.trim_end_matches('.').chars();
    chars.next().map_or_else(String::new, |first| {
        first.to_uppercase().chain(chars).collect()
    })
}
