//! The candidates from stock, with the reasons, and what the place demands.

use super::App;
use super::drawing::{Drawing, draw};
use super::error::PageError;
use super::page::{Mark, Page, Shell, page};
use super::person::Person;
use super::plate::{Ask, Cell, ask, cells};
use crate::confirm::{Answered, PlaceKey};
use crate::matching::{
    Candidate, CandidateOutcome, Criterion, Matches, Outcome, Requirement, match_stock,
};
use crate::record::{Field, NameplateRecord};
use crate::units::plain;
use askama::Template;
use axum::extract::{Path, State};

/// One verdict.
pub(super) struct VerdictRow {
    pub(super) mark: Mark,
    pub(super) criterion: String,
    pub(super) had: String,
    pub(super) offers: String,
    pub(super) why: String,
    pub(super) source: &'static str,
}

/// One candidate.
pub(super) struct Card {
    pub(super) line: u64,
    pub(super) sku: String,
    pub(super) mark: Mark,
    pub(super) rating: String,
    pub(super) shelf: Vec<String>,
    pub(super) is_sold_out: bool,
    pub(super) notes: Vec<String>,
    pub(super) depends: Vec<String>,
    /// What stands in the way, or takes work.
    pub(super) differences: Vec<VerdictRow>,
    /// What passes.
    pub(super) passes: Vec<VerdictRow>,
    pub(super) drawing: Option<Drawing>,
}

pub(super) fn outcome_mark(outcome: CandidateOutcome) -> Mark {
    let (class, shape, word) = match outcome {
        CandidateOutcome::Fits => ("clear", "●", "fits"),
        CandidateOutcome::Work => ("work", "◆", "fits with work"),
        CandidateOutcome::Ask => ("doubtful", "▲", "ask first"),
        CandidateOutcome::No => ("failed", "✕", "does not fit"),
    };
    Mark { class, shape, word }
}

pub(super) fn verdict_mark(outcome: Outcome) -> Mark {
    let (class, shape, word) = match outcome {
        Outcome::Pass => ("clear", "●", "yes"),
        Outcome::Work => ("work", "◆", "work"),
        Outcome::Ask => ("doubtful", "▲", "ask"),
        Outcome::Fail => ("failed", "✕", "no"),
    };
    Mark { class, shape, word }
}

pub(super) fn card(candidate: &Candidate, old_frame: Option<&str>) -> Card {
    let row = |v: &crate::matching::Verdict| VerdictRow {
        mark: verdict_mark(v.outcome),
        criterion: v.criterion.to_string(),
        had: v.had.to_string(),
        offers: v.offers.to_string(),
        why: super::error::sentence(&v.why),
        source: v.source,
    };
    let mut verdicts: Vec<_> = candidate.verdicts.iter().collect();
    verdicts.sort_by_key(|v| std::cmp::Reverse(v.outcome));
    let (passes, differences): (Vec<_>, Vec<_>) = verdicts
        .into_iter()
        .partition(|v| v.outcome == Outcome::Pass);
    let frame_differs = candidate.verdicts.iter().any(|v| {
        matches!(v.criterion, Criterion::Frame | Criterion::Shaft) && v.outcome != Outcome::Pass
    });
    let shelf = [
        candidate.quantity.map(|q| format!("{} in stock", plain(q))),
        candidate.location.as_ref().map(|l| format!("place {l}")),
        candidate.price.as_ref().map(|p| format!("price {p}")),
        candidate.frame.as_ref().map(|f| format!("frame {f}")),
        candidate.enclosure.clone(),
    ];
    let extra = candidate.extra.iter().map(|(h, c)| format!("{h}: {c}"));
    Card {
        line: candidate.line,
        sku: candidate.sku.clone(),
        mark: outcome_mark(candidate.outcome),
        rating: candidate.rating.to_string(),
        shelf: shelf.into_iter().flatten().collect(),
        is_sold_out: candidate.quantity == Some(0.0),
        notes: candidate.notes.iter().cloned().chain(extra).collect(),
        depends: candidate.depends.clone(),
        differences: differences.into_iter().map(row).collect(),
        passes: passes.into_iter().map(row).collect(),
        drawing: old_frame
            .zip(candidate.frame.as_deref())
            .filter(|_| frame_differs)
            .and_then(|(old, new)| draw(old, new)),
    }
}

/// The best candidates that are not refused.
pub(super) fn cards(matches: &Matches, most: usize) -> Vec<Card> {
    let good = matches
        .candidates
        .iter()
        .filter(|c| c.outcome != CandidateOutcome::No);
    good.take(most).map(|c| card(c, None)).collect()
}

/// The candidates for an entry from the list that holds now, kept in the history; `None` when there is no list.
pub(super) async fn matched(
    app: &App,
    id: &str,
    all: &Answered,
    person: &Person,
) -> Result<Option<Matches>, PageError> {
    let Some(stocked) = app.shelf().current(app).await? else {
        return Ok(None);
    };
    let (record, place, shelf) = (all.record.clone(), all.place.clone(), stocked.clone());
    let matches = tokio::task::spawn_blocking(move || {
        match_stock(&Requirement::new(&record, place), &shelf.list.motors)
    })
    .await?;
    app.store()
        .save_match(id, stocked.import.seq, &matches, &person.name)
        .await?;
    Ok(Some(matches))
}

/// What the place demands, as a form asks it.
struct PlaceRow {
    key: String,
    id: &'static str,
    label: &'static str,
    hint: &'static str,
    choices: &'static [&'static str],
    is_free: bool,
    said: String,
}

#[derive(Template)]
#[template(path = "candidates.html")]
struct CandidatesPage {
    shell: Shell,
    id: String,
    name: String,
    cells: Vec<Cell>,
    has_list: bool,
    list_name: String,
    selects_by: String,
    asks: Vec<Ask>,
    places: Vec<PlaceRow>,
    places_said: usize,
    cards: Vec<Card>,
    more: usize,
    refused: Vec<Card>,
    refused_count: usize,
    cautions: Vec<&'static str>,
    back: String,
}

/// Candidates and refused motors that are shown.
const MOST_CARDS: usize = 12;
const MOST_REFUSED: usize = 5;

/// Shows the candidates.
pub(super) async fn show(State(app): State<App>, person: Person, Path(id): Path<String>) -> Page {
    let entry = app.store().entry(&id).await?;
    let all = app.store().answered(&id).await?;
    let photos = app.store().photos(&id).await?;
    let place_rows: Vec<PlaceRow> = PlaceKey::all()
        .map(|key| PlaceRow {
            key: format!("place.{}", key.word()),
            id: key.word(),
            label: key.label(),
            hint: key.hint(),
            choices: key.choices(),
            is_free: key.is_free(),
            said: all.said_of(key).unwrap_or_default().to_owned(),
        })
        .collect();
    let mut shown = CandidatesPage {
        shell: Shell::new(&person, "queue"),
        name: entry.file_name,
        cells: cells(&all.record),
        has_list: false,
        list_name: String::new(),
        selects_by: Requirement::new(&all.record, all.place.clone())
            .summary()
            .selects_by
            .clone(),
        asks: Vec::new(),
        places_said: place_rows.iter().filter(|p| !p.said.is_empty()).count(),
        places: place_rows,
        cards: Vec::new(),
        more: 0,
        refused: Vec::new(),
        refused_count: 0,
        cautions: crate::matching::CAUTIONS.to_vec(),
        back: format!("/entry/{id}/candidates"),
        id,
    };
    if let Some(matches) = matched(&app, &shown.id, &all, &person).await? {
        let frame = old_frame(&all.record);
        let (no, good): (Vec<&Candidate>, Vec<&Candidate>) = matches
            .candidates
            .iter()
            .partition(|c| c.outcome == CandidateOutcome::No);
        shown.has_list = true;
        shown.list_name = app
            .shelf()
            .current(&app)
            .await?
            .map_or(String::new(), |s| s.import.name.clone());
        shown.asks = matches
            .questions
            .iter()
            .filter_map(|q| ask(&all.record, q, &photos))
            .collect();
        shown.more = good.len().saturating_sub(MOST_CARDS);
        shown.cards = good
            .iter()
            .take(MOST_CARDS)
            .map(|c| card(c, frame))
            .collect();
        shown.refused_count = no.len();
        shown.refused = no
            .iter()
            .take(MOST_REFUSED)
            .map(|c| card(c, None))
            .collect();
    }
    page(&shown)
}

/// The frame of the old motor, where it is a fact.
pub(super) fn old_frame(record: &NameplateRecord) -> Option<&str> {
    record
        .reading(Field::Frame)
        .filter(|r| r.fact().is_some())
        .and_then(|r| r.printed.as_deref())
}
