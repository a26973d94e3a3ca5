//! The entries as a table: one row each, a column for every field with its state beside it.

use super::export::{ExportError, Exported};
use super::{Store, StoreError};
use crate::record::Field;
use std::io::Write;

/// The columns before those of the fields.
const FIRST: &[&str] = &[
    "id",
    "source",
    "sender",
    "subject",
    "message",
    "note",
    "file",
    "added",
    "state",
    "failure",
    "questions",
    "class",
    "class_state",
];

/// The columns behind those of the fields.
const LAST: &[&str] = &["same_as", "same_by"];

/// The headers, in the order of the cells.
pub fn headers() -> Vec<String> {
    let fields = Field::ALL
        .iter()
        .flat_map(|f| [f.key().to_owned(), format!("{}_state", f.key())]);
    FIRST
        .iter()
        .map(|h| (*h).to_owned())
        .chain(fields)
        .chain(LAST.iter().map(|h| (*h).to_owned()))
        .collect()
}

/// The cells of an entry.
pub fn cells(exported: &Exported) -> Vec<String> {
    let entry = &exported.entry;
    let detail = &entry.source.detail;
    let mut cells = vec![
        entry.id.clone(),
        entry.source.kind.word().to_owned(),
        detail.sender.clone().unwrap_or_default(),
        detail.subject.clone().unwrap_or_default(),
        detail.message.clone().unwrap_or_default(),
        detail.note.clone().unwrap_or_default(),
        entry.file_name.clone(),
        time(entry.created_ms),
        entry.state.word().to_owned(),
        entry
            .failure
            .as_ref()
            .map_or(String::new(), |f| f.1.clone()),
        entry.questions.to_string(),
    ];
    match &exported.record {
        Some(record) => {
            cells.push(record.class.value.to_string());
            cells.push(record.class.state.to_string());
            for field in Field::ALL {
                let reading = record.fields.get(field);
                cells.push(reading.and_then(|r| r.printed.clone()).unwrap_or_default());
                cells.push(reading.map_or_else(|| "absent".to_owned(), |r| r.state.to_string()));
            }
        }
        None => cells.resize(headers().len() - LAST.len(), String::new()),
    }
    let same = exported.same.as_ref();
    cells.push(same.map_or(String::new(), |s| s.first.clone()));
    cells.push(same.map_or(String::new(), |s| s.by.word().to_owned()));
    cells
}

/// A time in UTC, as ISO 8601 writes it.
pub fn time(ms: i64) -> String {
    jiff::Timestamp::from_millisecond(ms).map_or(String::new(), |t| {
        t.strftime("%Y-%m-%dT%H:%M:%SZ").to_string()
    })
}

/// A cell that no spreadsheet program takes for a formula. What starts like one, and is no number, gets an
/// apostrophe in front.
pub fn harmless(cell: &str) -> String {
    let starts = cell.starts_with(['=', '+', '-', '@', '\t', '\r', '\n', '|', '%']);
    if starts && cell.parse::<f64>().is_err() {
        format!("'{cell}")
    } else {
        cell.to_owned()
    }
}

/// Writes the table as CSV.
pub async fn export_csv(store: &Store, out: &mut impl Write) -> Result<(), ExportError> {
    let mut writer = csv::Writer::from_writer(out);
    let table = |e: csv::Error| ExportError::Table(e.to_string());
    writer.write_record(headers()).map_err(table)?;
    store
        .export(|exported| -> Result<(), ExportError> {
            writer
                .write_record(cells(&exported).iter().map(|c| harmless(c)))
                .map_err(table)
        })
        .await?;
    Ok(writer.flush()?)
}

impl From<ExportError> for StoreError {
    fn from(error: ExportError) -> StoreError {
        match error {
            ExportError::Store(error) => error,
            other => StoreError::Table(other.to_string()),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nothing_looks_like_a_formula() {
        for (cell, written) in [
            ("=HYPERLINK(\"http://x\")", "'=HYPERLINK(\"http://x\")"),
            ("+1+cmd|' /C calc'!A0", "'+1+cmd|' /C calc'!A0"),
            ("@SUM(A1)", "'@SUM(A1)"),
            ("-40", "-40"),
            ("-2+3", "'-2+3"),
            ("208-230/460", "208-230/460"),
            ("\t=1", "'\t=1"),
        ] {
            assert_eq!(harmless(cell), written);
        }
    }
}
