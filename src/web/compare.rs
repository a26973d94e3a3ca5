//! Candidates side by side, criterion by criterion.

use super::App;
use super::candidates::{VerdictRow, matched, outcome_mark, verdict_mark};
use super::error::PageError;
use super::page::{Mark, Page, Shell, page};
use super::person::Person;
use crate::matching::{Candidate, Criterion};
use askama::Template;
use axum::extract::{Path, Query, State};

/// The head of a column.
struct Head {
    sku: String,
    mark: Mark,
    rating: String,
}

/// A criterion over all columns.
struct Line {
    criterion: String,
    had: String,
    cells: Vec<Option<VerdictRow>>,
}

#[derive(Template)]
#[template(path = "compare.html")]
struct ComparePage {
    shell: Shell,
    id: String,
    heads: Vec<Head>,
    lines: Vec<Line>,
}

/// At most so many motors side by side.
const MOST: usize = 4;

/// Shows the chosen candidates side by side.
pub(super) async fn show(
    State(app): State<App>,
    person: Person,
    Path(id): Path<String>,
    Query(query): Query<Vec<(String, String)>>,
) -> Page {
    let wanted: Vec<u64> = query
        .iter()
        .filter(|(key, _)| key == "line")
        .filter_map(|(_, line)| line.parse().ok())
        .collect();
    let all = app.store().answered(&id).await?;
    let matches = matched(&app, &id, &all, &person)
        .await?
        .ok_or_else(|| PageError::Refused("no stock list was imported yet".to_owned()))?;
    let chosen: Vec<&Candidate> = matches
        .candidates
        .iter()
        .filter(|c| wanted.contains(&c.line))
        .take(MOST)
        .collect();
    if chosen.is_empty() {
        return Err(PageError::Refused(
            "choose the motors to compare on the page of candidates".to_owned(),
        ));
    }
    let mut criteria: Vec<Criterion> = chosen
        .iter()
        .flat_map(|c| c.verdicts.iter().map(|v| v.criterion))
        .collect();
    criteria.sort_unstable();
    criteria.dedup();
    let line = |criterion: Criterion| {
        let verdicts: Vec<_> = chosen
            .iter()
            .map(|c| c.verdicts.iter().find(|v| v.criterion == criterion))
            .collect();
        Line {
            criterion: criterion.to_string(),
            had: verdicts
                .iter()
                .flatten()
                .next()
                .map_or(String::new(), |v| v.had.to_string()),
            cells: verdicts
                .iter()
                .map(|v| {
                    v.map(|v| VerdictRow {
                        mark: verdict_mark(v.outcome),
                        criterion: v.criterion.to_string(),
                        had: v.had.to_string(),
                        offers: v.offers.to_string(),
                        why: super::error::sentence(&v.why),
                        source: v.source,
                    })
                })
                .collect(),
        }
    };
    page(&ComparePage {
        shell: Shell::new(&person, "queue"),
        heads: chosen
            .iter()
            .map(|c| Head {
                sku: c.sku.clone(),
                mark: outcome_mark(c.outcome),
                rating: c.rating.to_string(),
            })
            .collect(),
        lines: criteria.into_iter().map(line).collect(),
        id,
    })
}
