//! The stock list: what would be read of a file, taking it over, and taking that back.

use super::App;
use super::error::PageError;
use super::form::{broken, bytes, text};
use super::page::{Page, Shell, moment, page};
use super::person::Person;
use crate::stock::{
    HeaderUse, MOST_BYTES, Mapping, RowFault, StockList, column_names, header_uses,
};
use crate::store::NewList;
use askama::Template;
use axum::extract::{Multipart, State};
use axum::http::HeaderMap;
use axum::response::Redirect;
use std::path::PathBuf;

/// An import of the history.
struct ImportRow {
    seq: i64,
    name: String,
    motors: u64,
    faults: u64,
    who: String,
    when: String,
    is_undone: bool,
    holds: bool,
}

#[derive(Template)]
#[template(path = "stock.html")]
struct StockPage {
    shell: Shell,
    imports: Vec<ImportRow>,
}

/// Shows the list that holds and those before it.
pub(super) async fn show(State(app): State<App>, person: Person) -> Page {
    let current = app.store().current_list().await?.map(|l| l.seq);
    let imports = app.store().lists().await?;
    page(&StockPage {
        shell: Shell::new(&person, "stock"),
        imports: imports
            .into_iter()
            .map(|l| ImportRow {
                holds: Some(l.seq) == current,
                is_undone: l.undone_by.is_some(),
                when: moment(l.at_ms),
                seq: l.seq,
                name: l.name,
                motors: l.motors,
                faults: l.faults,
                who: l.who,
            })
            .collect(),
    })
}

/// A column and what it may be taken for.
struct ColumnRow {
    header: String,
    samples: String,
    options: Vec<(&'static str, bool)>,
    is_unknown: bool,
}

#[derive(Template)]
#[template(path = "preview.html")]
struct PreviewPage {
    shell: Shell,
    name: String,
    hash: String,
    problem: String,
    motors: usize,
    columns: Vec<ColumnRow>,
    faults: Vec<RowFault>,
    remarks: Vec<RowFault>,
    more_faults: usize,
    more_remarks: usize,
}

/// Faults and remarks that are listed.
const MOST_LISTED: usize = 50;

/// Shows what would be read of a file.
pub(super) async fn preview(
    State(app): State<App>,
    person: Person,
    headers: HeaderMap,
    mut form: Multipart,
) -> Page {
    let _room = app.uploads().take(&headers).await?;
    let mut is_ours = false;
    let mut file = None;
    while let Some(mut field) = form.next_field().await.map_err(broken)? {
        match field.name() {
            Some("csrf") => {
                person.check(&text(&mut field).await?)?;
                is_ours = true;
            }
            Some("list") if is_ours => {
                let name = field.file_name().unwrap_or("list").to_owned();
                let bytes = bytes(&mut field, MOST_BYTES as u64).await?;
                let too_large = || {
                    PageError::TooLarge(format!(
                        "a list may have {} MiB; this one is larger",
                        MOST_BYTES >> 20
                    ))
                };
                file = Some((name, bytes.ok_or_else(too_large)?));
            }
            _ => {}
        }
    }
    if !is_ours {
        return Err(PageError::Forged);
    }
    let (name, bytes) = file
        .filter(|(_, b)| !b.is_empty())
        .ok_or_else(|| PageError::Refused("no list came; choose a file".to_owned()))?;
    let hash = app.store().stage_list(bytes.clone()).await?;
    let name: String = name
        .rsplit(['/', '\\'])
        .next()
        .unwrap_or_default()
        .chars()
        .filter(|c| !c.is_control())
        .take(120)
        .collect();
    show_preview(&person, name, hash, bytes, Mapping::default()).await
}

async fn show_preview(
    person: &Person,
    name: String,
    hash: String,
    bytes: Vec<u8>,
    mapping: Mapping,
) -> Page {
    let path = PathBuf::from(&name);
    let read = move || {
        let uses = header_uses(&bytes, &path, &mapping);
        let list = StockList::mapped(&bytes, &path, &mapping);
        (uses, list)
    };
    let (uses, list) = tokio::task::spawn_blocking(read).await?;
    let uses = uses.map_err(|e| PageError::Refused(super::error::sentence(&e.to_string())))?;
    let (list, problem) = match list {
        Ok(list) => (list, String::new()),
        Err(error) => (
            StockList::default(),
            super::error::sentence(&error.to_string()),
        ),
    };
    let more = |n: usize| n.saturating_sub(MOST_LISTED);
    page(&PreviewPage {
        shell: Shell::new(person, "stock"),
        name,
        hash,
        problem,
        motors: list.motors.len(),
        columns: uses.into_iter().map(column_row).collect(),
        more_faults: more(list.faults.len()),
        more_remarks: more(list.remarks.len()),
        faults: list.faults.into_iter().take(MOST_LISTED).collect(),
        remarks: list.remarks.into_iter().take(MOST_LISTED).collect(),
    })
}

fn column_row(used: HeaderUse) -> ColumnRow {
    ColumnRow {
        options: column_names()
            .map(|name| (name, used.column == Some(name)))
            .collect(),
        is_unknown: used.column.is_none(),
        samples: used.samples.join(" · "),
        header: used.header,
    }
}

/// The fields of a form whose names are headers of a list: `column:Our code=sku`.
struct Form {
    csrf: String,
    hash: String,
    name: String,
    again: bool,
    mapping: Mapping,
}

impl Form {
    fn of(pairs: &[(String, String)]) -> Result<Form, PageError> {
        let text = |key: &str| {
            pairs
                .iter()
                .find(|(k, _)| k == key)
                .map_or(String::new(), |(_, v)| v.clone())
        };
        let columns = pairs
            .iter()
            .filter_map(|(k, v)| Some((k.strip_prefix("column:")?.to_owned(), v.clone())));
        Ok(Form {
            csrf: text("csrf"),
            hash: text("hash"),
            name: text("name"),
            again: text("do") == "preview",
            mapping: Mapping::new(columns)
                .ok_or_else(|| PageError::Refused("there is no such column".to_owned()))?,
        })
    }
}

/// Takes a list over as the columns were said, or shows it once more.
pub(super) async fn import(
    State(app): State<App>,
    person: Person,
    axum::Form(pairs): axum::Form<Vec<(String, String)>>,
) -> Result<axum::response::Response, PageError> {
    use axum::response::IntoResponse;
    let form = Form::of(&pairs)?;
    person.check(&form.csrf)?;
    let bytes = app.store().staged_list(&form.hash).await?;
    if form.again {
        let shown = show_preview(&person, form.name, form.hash, bytes, form.mapping).await?;
        return Ok(shown.into_response());
    }
    let (path, mapping, content) = (
        PathBuf::from(&form.name),
        form.mapping.clone(),
        bytes.clone(),
    );
    let list = tokio::task::spawn_blocking(move || StockList::mapped(&content, &path, &mapping))
        .await?
        .map_err(|e| PageError::Refused(super::error::sentence(&e.to_string())))?;
    let new = NewList {
        name: form.name,
        bytes,
        mapping: form.mapping.to_json(),
        motors: list.motors.len() as u64,
        faults: list.faults.len() as u64,
    };
    app.store().import_list(new, &person.name).await?;
    Ok(Redirect::to("/stock").into_response())
}

#[derive(serde::Deserialize)]
pub(super) struct Undo {
    csrf: String,
    seq: i64,
}

/// Takes an import back.
pub(super) async fn undo(
    State(app): State<App>,
    person: Person,
    axum::Form(undo): axum::Form<Undo>,
) -> Result<Redirect, PageError> {
    person.check(&undo.csrf)?;
    app.store().undo_import(undo.seq, &person.name).await?;
    Ok(Redirect::to("/stock"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn headers_come_through_a_form() {
        let pair = |k: &str, v: &str| (k.to_owned(), v.to_owned());
        let form = Form::of(&[
            pair("csrf", "x"),
            pair("do", "preview"),
            pair("column:Our code", "sku"),
            pair("column:C", ""),
        ])
        .unwrap();
        assert!(form.again);
        assert_eq!(form.mapping.to_json(), r#"{"C":"","Our code":"sku"}"#);
        assert!(Form::of(&[pair("column:A", "nonsense")]).is_err());
    }
}
