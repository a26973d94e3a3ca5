//! The queue: everything that came, the newest first.

use super::App;
use super::page::{Mark, Page, Shell, age, page};
use super::person::Person;
use super::plate::{Cell, cells};
use crate::record::State as ReadingState;
use crate::store::{Entry, EntryState, Filter, Same, SameBy, SourceKind};
use askama::Template;
use axum::extract::{Query, State};
use serde::Deserialize;

/// Entries on a page.
const PAGE: u32 = 30;

#[derive(Debug, Deserialize)]
pub(super) struct Asked {
    #[serde(default)]
    q: String,
    #[serde(default)]
    show: String,
    #[serde(default)]
    source: String,
    #[serde(default)]
    page: u32,
    #[serde(default)]
    left_out: u32,
}

/// A line of the list.
struct Line {
    id: String,
    name: String,
    source: String,
    thumb: Option<String>,
    state: Mark,
    questions: u32,
    failure: String,
    age: String,
    cells: Vec<Cell>,
    same: Option<SameLine>,
}

/// The entry before this one that shows the same photo or motor, in words.
pub(super) struct SameLine {
    pub(super) what: &'static str,
    pub(super) first: String,
    pub(super) name: String,
    pub(super) how: &'static str,
}

impl From<Same> for SameLine {
    fn from(same: Same) -> SameLine {
        let (what, how) = match same.by {
            SameBy::Photo => ("photo", ""),
            SameBy::Serial => ("motor", ", by its serial number"),
        };
        SameLine {
            what,
            how,
            first: same.first,
            name: named(same.file_name),
        }
    }
}

/// A photo's name, also where it has none.
fn named(file_name: String) -> String {
    match file_name.is_empty() {
        true => "photo".to_owned(),
        false => file_name,
    }
}

/// A choice of the filter.
struct Option_ {
    value: &'static str,
    label: &'static str,
    chosen: bool,
}

#[derive(Template)]
#[template(path = "queue.html")]
struct QueuePage {
    shell: Shell,
    lines: Vec<Line>,
    total: u64,
    waiting: u64,
    q: String,
    shows: Vec<Option_>,
    sources: Vec<Option_>,
    is_filtered: bool,
    left_out: u32,
    show: String,
    source: String,
    page: u32,
    newer: Option<u32>,
    older: Option<u32>,
}

const SHOWS: &[(&str, &str)] = &[
    ("", "Everything"),
    ("asks", "With questions"),
    ("clear", "Read, no questions"),
    ("queued", "Waiting"),
    ("failed", "Failed"),
];

/// Every way in which photos come.
fn sources() -> Vec<(&'static str, &'static str)> {
    let kinds = SourceKind::ALL.iter().map(|k| (k.word(), k.label()));
    std::iter::once(("", "Anywhere")).chain(kinds).collect()
}

fn options(all: &[(&'static str, &'static str)], chosen: &str) -> Vec<Option_> {
    all.iter()
        .map(|&(value, label)| Option_ {
            value,
            label,
            chosen: value == chosen,
        })
        .collect()
}

fn filter(asked: &Asked) -> Filter {
    let (state, asks) = match asked.show.as_str() {
        "asks" => (Some(EntryState::Read), Some(true)),
        "clear" => (Some(EntryState::Read), Some(false)),
        "queued" => (Some(EntryState::Queued), None),
        "failed" => (Some(EntryState::Failed), None),
        _ => (None, None),
    };
    Filter {
        state,
        asks,
        source: SourceKind::ALL
            .into_iter()
            .find(|kind| kind.word() == asked.source),
        search: asked.q.chars().take(80).collect(),
        offset: asked.page.saturating_mul(PAGE),
        limit: PAGE,
    }
}

/// Shows the queue.
pub(super) async fn show(
    State(app): State<App>,
    person: Person,
    Query(asked): Query<Asked>,
) -> Page {
    let store = app.store();
    let filter = filter(&asked);
    let total = store.count(&filter).await?;
    let waiting = store
        .count(&Filter {
            state: Some(EntryState::Queued),
            ..Filter::default()
        })
        .await?;
    let mut lines = Vec::new();
    for entry in store.entries(&filter).await? {
        lines.push(line(&app, entry).await?);
    }
    page(&QueuePage {
        shell: Shell::new(&person, "queue"),
        page: asked.page,
        newer: asked.page.checked_sub(1),
        older: (u64::from(filter.offset) + u64::from(PAGE) < total).then(|| asked.page + 1),
        lines,
        total,
        waiting,
        is_filtered: !(asked.q.is_empty() && asked.show.is_empty() && asked.source.is_empty()),
        left_out: asked.left_out,
        shows: options(SHOWS, &asked.show),
        sources: options(&sources(), &asked.source),
        q: asked.q,
        show: asked.show,
        source: asked.source,
    })
}

/// The state of an entry as a mark.
pub(super) fn mark(entry: &Entry) -> Mark {
    let (class, shape, word) = match entry.state {
        EntryState::Queued => ("waiting", "◌", "waiting"),
        EntryState::Reading => ("waiting", "◐", "being read"),
        EntryState::Failed => ("failed", "✕", "failed"),
        EntryState::Read if entry.questions > 0 => ("doubtful", "▲", "to confirm"),
        EntryState::Read => ("clear", "●", "ready"),
    };
    Mark { class, shape, word }
}

async fn line(app: &App, entry: Entry) -> Result<Line, super::error::PageError> {
    let photo = app.store().photos(&entry.id).await?.into_iter().next();
    let mut shown = Vec::new();
    if entry.state == EntryState::Read {
        let record = app.store().answered(&entry.id).await?.record;
        shown = cells(&record);
        shown.retain(|c| c.mark.word != ReadingState::Absent.to_string());
    }
    Ok(Line {
        state: mark(&entry),
        thumb: photo.map(|p| format!("/photo/{}/thumb.jpg", p.sha256)),
        name: named(entry.file_name),
        same: app.store().same_as(&entry.id).await?.map(SameLine::from),
        source: entry.source.to_string(),
        questions: entry.questions,
        failure: entry.failure.map_or(String::new(), |f| f.1),
        age: age(entry.created_ms),
        cells: shown,
        id: entry.id,
    })
}
