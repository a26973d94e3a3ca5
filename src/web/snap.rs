//! The phone: one large button, and what came of the photo.

use super::App;
use super::candidates::{Card, cards};
use super::page::{Mark, Page, Shell, page};
use super::person::Person;
use super::plate::{Ask, Cell, ask, asks, cells};
use super::queue::mark;
use crate::store::EntryState;
use askama::Template;
use axum::extract::{Path, Query, State};
use serde::Deserialize;

#[derive(Template)]
#[template(path = "snap.html")]
struct SnapPage {
    shell: Shell,
}

/// The camera button.
pub(super) async fn show(person: Person) -> Page {
    page(&SnapPage {
        shell: Shell::new(&person, "snap"),
    })
}

#[derive(Deserialize)]
pub(super) struct Asked {
    #[serde(default)]
    left_out: u32,
}

#[derive(Template)]
#[template(path = "result.html")]
struct ResultPage {
    shell: Shell,
    id: String,
    thumb: Option<String>,
    state: Mark,
    is_waiting: bool,
    failure: String,
    cells: Vec<Cell>,
    asks: Vec<Ask>,
    more: usize,
    has_list: bool,
    cards: Vec<Card>,
    left_out: u32,
    back: String,
}

/// At most so many questions at a time on a phone.
const MOST_ASKS: usize = 3;
/// At most so many candidates on a phone.
const MOST_CARDS: usize = 3;

/// What came of a photo: it changes by itself while the photo is read.
pub(super) async fn result(
    State(app): State<App>,
    person: Person,
    Path(id): Path<String>,
    Query(asked): Query<Asked>,
) -> Page {
    let entry = app.store().entry(&id).await?;
    let photos = app.store().photos(&id).await?;
    let mut shown = ResultPage {
        shell: Shell::new(&person, "snap"),
        state: mark(&entry),
        is_waiting: matches!(entry.state, EntryState::Queued | EntryState::Reading),
        thumb: photos
            .first()
            .map(|p| format!("/photo/{}/thumb.jpg", p.sha256)),
        failure: entry.failure.clone().map_or(String::new(), |f| f.1),
        cells: Vec::new(),
        asks: Vec::new(),
        more: 0,
        has_list: false,
        cards: Vec::new(),
        left_out: asked.left_out,
        back: format!("/snap/{id}"),
        id,
    };
    if entry.state == EntryState::Read {
        let all = app.store().answered(&shown.id).await?;
        shown.cells = cells(&all.record);
        match super::candidates::matched(&app, &shown.id, &all, &person).await? {
            // With a list it is known which answers change anything.
            Some(matches) => {
                shown.has_list = true;
                let questions = &matches.questions;
                shown.asks = questions
                    .iter()
                    .filter_map(|q| ask(&all.record, q, &photos))
                    .collect();
                shown.cards = cards(&matches, MOST_CARDS);
            }
            None => shown.asks = asks(&all.record, &photos).0,
        }
        shown.more = shown.asks.len().saturating_sub(MOST_ASKS);
        shown.asks.truncate(MOST_ASKS);
    }
    page(&shown)
}
