//! Confirming: the photo beside its readings, the doubtful ones first.

use super::App;
use super::page::{Mark, Page, Shell, moment, page};
use super::person::Person;
use super::plate::{Ask, Cell, PlaceOnPhoto, Row, asks, cells, places, rows};
use super::queue::{SameLine, mark};
use crate::record::Outcome;
use crate::store::{EntryState, Filter};
use askama::Template;
use axum::extract::{Path, State};

/// A photo with the places on it.
struct Picture {
    /// What it is called, for those who do not see it.
    name: String,
    href: String,
    width: u32,
    height: u32,
    places: Vec<PlaceOnPhoto>,
}

/// What somebody said.
struct SaidRow {
    seq: i64,
    label: String,
    printed: String,
    before: String,
    who: String,
    when: String,
    is_undone: bool,
}

/// What the readings say to each other.
struct CheckRow {
    message: String,
    source: String,
}

#[derive(Template)]
#[template(path = "confirm.html")]
struct ConfirmPage {
    shell: Shell,
    id: String,
    name: String,
    source: String,
    same: Option<SameLine>,
    state: Mark,
    is_read: bool,
    failure: String,
    cells: Vec<Cell>,
    pictures: Vec<Picture>,
    asks: Vec<Ask>,
    doubts: Vec<Ask>,
    shown: Vec<Row>,
    absent: Vec<Row>,
    contradictions: Vec<CheckRow>,
    said: Vec<SaidRow>,
    models: String,
    rules: String,
    next: Option<String>,
    back: String,
}

/// Shows an entry.
pub(super) async fn show(State(app): State<App>, person: Person, Path(id): Path<String>) -> Page {
    let store = app.store();
    let entry = store.entry(&id).await?;
    let photos = store.photos(&id).await?;
    let mut shown = ConfirmPage {
        shell: Shell::new(&person, "queue"),
        name: if entry.file_name.is_empty() {
            "photo".to_owned()
        } else {
            entry.file_name.clone()
        },
        source: entry.source.to_string(),
        same: store.same_as(&id).await?.map(SameLine::from),
        state: mark(&entry),
        is_read: entry.state == EntryState::Read,
        failure: entry.failure.clone().map_or(String::new(), |f| f.1),
        cells: Vec::new(),
        pictures: photos
            .iter()
            .enumerate()
            .map(|(i, photo)| {
                let (width, height) = photo.size.unwrap_or((1600, 1200));
                Picture {
                    name: match photos.len() {
                        1 => "The photo".to_owned(),
                        all => format!("Photo {} of {all}", i + 1),
                    },
                    href: format!("/photo/{}/view.jpg", photo.sha256),
                    width,
                    height,
                    places: Vec::new(),
                }
            })
            .collect(),
        asks: Vec::new(),
        doubts: Vec::new(),
        shown: Vec::new(),
        absent: Vec::new(),
        contradictions: Vec::new(),
        said: Vec::new(),
        models: String::new(),
        rules: String::new(),
        next: next(&app, &id).await?,
        back: format!("/entry/{id}"),
        id,
    };
    if shown.is_read {
        let record = store.answered(&shown.id).await?.record;
        shown.cells = cells(&record);
        (shown.asks, shown.doubts) = asks(&record, &photos);
        (shown.shown, shown.absent) = rows(&record);
        for (i, picture) in shown.pictures.iter_mut().enumerate() {
            picture.places = places(&record, i);
        }
        let doubts = record.checks.iter().filter(|c| c.outcome == Outcome::Doubt);
        shown.contradictions = doubts
            .map(|c| CheckRow {
                message: super::error::sentence(&c.message),
                source: c.source.clone(),
            })
            .collect();
        if let Some(reading) = store.reading(&shown.id).await? {
            shown.models = reading.versions.models.chars().take(12).collect();
            shown.rules = reading.versions.rules;
        }
    }
    let mut said = store.confirmations(&shown.id).await?;
    said.reverse();
    shown.said = said
        .into_iter()
        .map(|c| SaidRow {
            seq: c.seq,
            label: c.field.replace("place.", "place: ").replace('_', " "),
            printed: if c.printed.is_empty() {
                "not on the plate".to_owned()
            } else {
                c.printed
            },
            before: match c.value_before {
                Some(value) => format!("{value} ({})", c.state_before),
                None => c.state_before,
            },
            who: c.who,
            when: moment(c.at_ms),
            is_undone: c.undone_by.is_some(),
        })
        .collect();
    page(&shown)
}

/// The next entry that asks something.
async fn next(app: &App, id: &str) -> Result<Option<String>, super::error::PageError> {
    let asking = Filter {
        state: Some(EntryState::Read),
        asks: Some(true),
        limit: 2,
        ..Filter::default()
    };
    let entries = app.store().entries(&asking).await?;
    Ok(entries.into_iter().map(|e| e.id).find(|other| other != id))
}
