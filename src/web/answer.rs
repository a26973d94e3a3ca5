//! Answers: one value confirmed, or taken back.

use super::App;
use super::error::PageError;
use super::person::Person;
use crate::confirm::Key;
use axum::Form;
use axum::extract::{Path, State};
use axum::response::Redirect;
use serde::Deserialize;

#[derive(Deserialize)]
pub(super) struct Answer {
    csrf: String,
    key: String,
    /// The answer; empty says that the plate does not show it.
    #[serde(default)]
    printed: String,
    #[serde(default)]
    back: String,
}

/// Where to go on: only to pages of our own.
fn back(given: &str, id: &str) -> String {
    let ours = ["/entry/", "/snap/"].iter().any(|p| given.starts_with(p));
    let plain = given
        .bytes()
        .all(|b| b.is_ascii_alphanumeric() || matches!(b, b'/' | b'-' | b'_' | b'#'));
    if ours && plain {
        given.to_owned()
    } else {
        format!("/entry/{id}")
    }
}

/// Takes an answer.
pub(super) async fn take(
    State(app): State<App>,
    person: Person,
    Path(id): Path<String>,
    Form(answer): Form<Answer>,
) -> Result<Redirect, PageError> {
    person.check(&answer.csrf)?;
    let key = Key::parse(&answer.key).ok_or(PageError::NotFound)?;
    app.store()
        .confirm(&id, key, &answer.printed, &person.name)
        .await?;
    Ok(Redirect::to(&back(&answer.back, &id)))
}

#[derive(Deserialize)]
pub(super) struct Undo {
    csrf: String,
    #[serde(default)]
    seq: Option<i64>,
    #[serde(default)]
    back: String,
}

/// Takes an answer back.
pub(super) async fn undo(
    State(app): State<App>,
    person: Person,
    Path(id): Path<String>,
    Form(undo): Form<Undo>,
) -> Result<Redirect, PageError> {
    person.check(&undo.csrf)?;
    app.store().undo(&id, undo.seq, &person.name).await?;
    Ok(Redirect::to(&back(&undo.back, &id)))
}

/// Puts a failed entry back into the queue.
pub(super) async fn retry(
    State(app): State<App>,
    person: Person,
    Path(id): Path<String>,
    Form(undo): Form<Undo>,
) -> Result<Redirect, PageError> {
    person.check(&undo.csrf)?;
    app.store().retry_failed(Some(&id), &person.name).await?;
    app.queued().notify_one();
    Ok(Redirect::to(&back(&undo.back, &id)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_never_goes_on_to_somebody_else() {
        for (given, goes) in [
            ("/entry/ab12/candidates", "/entry/ab12/candidates"),
            ("/snap/ab12", "/snap/ab12"),
            ("//evil.example/entry/", "/entry/id"),
            ("/entry/@evil.example", "/entry/id"),
            ("https://evil.example", "/entry/id"),
            ("", "/entry/id"),
        ] {
            assert_eq!(back(given, "id"), goes);
        }
    }
}
