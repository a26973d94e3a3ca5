//! A record as pages show it: the values that matter as on a nameplate, and the readings one by one.

use super::crop::{Crop, points};
use super::page::Mark;
use crate::confirm::Key;
use crate::record::{Class, Field, NameplateRecord, Question, Reading, State};
use crate::store::StoredPhoto;

/// One value of the small nameplate.
pub(super) struct Cell {
    pub(super) label: &'static str,
    pub(super) value: String,
    pub(super) mark: Mark,
}

/// The values by which a motor is known.
const HEADLINE: &[(Field, &str)] = &[
    (Field::Hp, "HP"),
    (Field::Kw, "kW"),
    (Field::Volts, "Volts"),
    (Field::Amps, "Amps"),
    (Field::Rpm, "RPM"),
    (Field::Phase, "Phase"),
    (Field::Hertz, "Hz"),
    (Field::Frame, "Frame"),
];

/// The small nameplate of a record.
pub(super) fn cells(record: &NameplateRecord) -> Vec<Cell> {
    let mut cells = vec![Cell {
        label: "Class",
        value: record.class.value.to_string(),
        mark: record.class.state.into(),
    }];
    for &(field, label) in HEADLINE {
        let reading = record.reading(field);
        if field == Field::Kw && reading.is_none() {
            continue;
        }
        cells.push(Cell {
            label,
            value: reading
                .and_then(|r| r.printed.clone())
                .unwrap_or_else(|| "–".to_owned()),
            mark: reading.map_or(State::Absent, |r| r.state).into(),
        });
    }
    cells
}

/// A reading of the list beside the photo.
pub(super) struct Row {
    pub(super) key: &'static str,
    pub(super) label: &'static str,
    pub(super) printed: String,
    pub(super) unit: &'static str,
    pub(super) mark: Mark,
    pub(super) reasons: Vec<String>,
    pub(super) example: &'static str,
    pub(super) has_place: bool,
    /// Whether there is something in it to take back to what was read.
    pub(super) is_absent: bool,
}

fn row(field: Field, reading: Option<&Reading>) -> Row {
    let state = reading.map_or(State::Absent, |r| r.state);
    let printed = reading.and_then(|r| r.printed.clone()).unwrap_or_default();
    let unit = field.unit_beside(&printed).unwrap_or_default();
    Row {
        key: field.key(),
        label: field.label(),
        unit: if printed.is_empty() { "" } else { unit },
        printed,
        mark: state.into(),
        reasons: reading.map_or_else(Vec::new, |r| r.reasons.clone()),
        example: field.example(),
        has_place: reading.is_some_and(|r| r.quad.is_some()),
        is_absent: state == State::Absent,
    }
}

/// All readings that the plate shows, doubtful ones first, and those that it does not show.
pub(super) fn rows(record: &NameplateRecord) -> (Vec<Row>, Vec<Row>) {
    let all = Field::ALL.iter().map(|&f| row(f, record.fields.get(&f)));
    let (absent, mut shown): (Vec<Row>, Vec<Row>) = all.partition(|r| r.is_absent);
    shown.sort_by_key(|r| r.mark.word != "doubtful");
    (shown, absent)
}

/// A place on the photo and the reading that stands there.
pub(super) struct PlaceOnPhoto {
    pub(super) key: &'static str,
    pub(super) label: &'static str,
    pub(super) points: String,
    pub(super) mark: Mark,
}

/// The places of all readings on one of the photos.
pub(super) fn places(record: &NameplateRecord, photo: usize) -> Vec<PlaceOnPhoto> {
    let on_it = record
        .fields
        .iter()
        .filter(|(_, r)| r.photo as usize == photo);
    let with_place = on_it.filter_map(|(f, r)| Some((f, r, r.quad?)));
    with_place
        .map(|(field, reading, quad)| PlaceOnPhoto {
            key: field.key(),
            label: field.label(),
            points: points(&quad),
            mark: reading.state.into(),
        })
        .collect()
}

/// Something to ask a person, with the piece of the photo that shows it.
pub(super) struct Ask {
    /// The key of the answer.
    pub(super) key: String,
    /// A name for the element.
    pub(super) id: String,
    pub(super) label: String,
    pub(super) sentence: String,
    pub(super) reasons: Vec<String>,
    pub(super) choices: Vec<Choice>,
    pub(super) crop: Option<Crop>,
    /// Whether something else may be written.
    pub(super) is_open: bool,
    pub(super) unit: &'static str,
    pub(super) example: String,
    /// Whether the plate may not show it at all.
    pub(super) may_be_absent: bool,
}

/// One answer.
pub(super) struct Choice {
    pub(super) printed: String,
    pub(super) label: String,
    pub(super) note: String,
}

impl Choice {
    fn plain(printed: &str, note: &str) -> Choice {
        let label = match printed {
            "air-over" => "Yes, air-over",
            "general-purpose" => "No, general purpose",
            other => other,
        };
        Choice {
            printed: printed.to_owned(),
            label: label.to_owned(),
            note: note.to_owned(),
        }
    }
}

/// How a doubtful reading is asked: every way to read it as an answer.
fn ask_field(record: &NameplateRecord, field: Field, photos: &[StoredPhoto]) -> Ask {
    let reading = record.fields.get(&field);
    let mut choices = Vec::new();
    if let Some(reading) = reading.filter(|r| r.state == State::Doubtful) {
        let percent = |p: f64| match (p * 100.0).round() {
            n if n >= 1.0 => format!("{n} %"),
            _ => String::new(),
        };
        if let Some(printed) = &reading.printed {
            choices.push(Choice::plain(printed, &percent(reading.confidence)));
        }
        for other in &reading.alternatives {
            choices.push(Choice::plain(&other.printed, &percent(other.confidence)));
        }
    }
    let crop = reading.and_then(|reading| {
        let photo = photos.get(reading.photo as usize)?;
        let href = format!("/photo/{}/view.jpg", photo.sha256);
        Some(Crop::of(&href, photo.size?, &reading.quad?))
    });
    Ask {
        key: field.key().to_owned(),
        id: format!("ask-{}", field.key()),
        label: field.label().to_owned(),
        sentence: format!("What does the plate say for {}?", field.label()),
        reasons: reading.map_or_else(Vec::new, |r| r.reasons.clone()),
        choices,
        crop,
        is_open: true,
        unit: field.unit().unwrap_or_default(),
        example: field.example().to_owned(),
        may_be_absent: true,
    }
}

/// A question as a page asks it; `None` when this page cannot take an answer to it.
pub(super) fn ask(
    record: &NameplateRecord,
    question: &Question,
    photos: &[StoredPhoto],
) -> Option<Ask> {
    let key = Key::of_question(&question.field, record)?;
    match key {
        Key::Field(field) => {
            let mut ask = ask_field(record, field, photos);
            for choice in &question.choices {
                if ask.choices.iter().all(|c| c.printed != *choice) {
                    ask.choices.push(Choice::plain(choice, ""));
                }
            }
            if ask.choices.is_empty() {
                ask.sentence.clone_from(&question.ask);
            }
            Some(ask)
        }
        Key::Class => Some(Ask {
            key: key.to_string(),
            id: "ask-class".to_owned(),
            label: "class".to_owned(),
            sentence: "Is it cooled by the air of the fan that it drives (air-over)?".to_owned(),
            reasons: Some(record.class.reason.clone())
                .filter(|r| !r.is_empty())
                .into_iter()
                .collect(),
            choices: [Class::AirOver, Class::GeneralPurpose]
                .iter()
                .map(|c| Choice::plain(&c.to_string(), ""))
                .collect(),
            crop: None,
            is_open: false,
            unit: "",
            example: String::new(),
            may_be_absent: false,
        }),
        Key::Rating => {
            let mut labels: Vec<String> = question.choices.clone();
            if labels.is_empty() {
                labels = record
                    .ratings
                    .iter()
                    .map(crate::matching::rating_label)
                    .collect();
                labels.dedup();
            }
            Some(Ask {
                key: key.to_string(),
                id: "ask-rating".to_owned(),
                label: "rating".to_owned(),
                sentence: question.ask.clone(),
                reasons: Vec::new(),
                choices: labels
                    .iter()
                    .filter(|l| !l.is_empty())
                    .map(|l| Choice::plain(l, ""))
                    .collect(),
                crop: None,
                is_open: false,
                unit: "",
                example: String::new(),
                may_be_absent: false,
            })
        }
        Key::Place(place) => {
            let mut choices: Vec<Choice> = question
                .choices
                .iter()
                .map(|c| Choice::plain(c, ""))
                .collect();
            if choices.is_empty() {
                choices = place
                    .choices()
                    .iter()
                    .map(|c| Choice::plain(c, ""))
                    .collect();
            }
            Some(Ask {
                key: key.to_string(),
                id: format!("ask-{}", place.word()),
                label: place.label().to_owned(),
                sentence: question.ask.clone(),
                reasons: Vec::new(),
                choices,
                crop: None,
                is_open: true,
                unit: "",
                example: place.hint().to_owned(),
                may_be_absent: false,
            })
        }
    }
}

/// Everything doubtful of a record: what its questions ask first, then what else is not certain.
pub(super) fn asks(record: &NameplateRecord, photos: &[StoredPhoto]) -> (Vec<Ask>, Vec<Ask>) {
    let asked: Vec<Ask> = record
        .questions
        .iter()
        .filter_map(|q| ask(record, q, photos))
        .collect();
    let others = Field::ALL.iter().filter(|f| {
        record
            .fields
            .get(f)
            .is_some_and(|r| r.state == State::Doubtful)
            && asked.iter().all(|a| a.key != f.key())
    });
    let others = others.map(|f| ask_field(record, *f, photos)).collect();
    (asked, others)
}
