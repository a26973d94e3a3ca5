//! The history as a file: who did what and when. Each line carries the text that was hashed, so that the chain can be
//! checked without this program.

use super::export::ExportError;
use super::table::{harmless, time};
use super::{Event, Store};
use serde::Serialize;
use serde_json::Value;
use std::io::Write;

/// How many events are taken from the database at a time.
const PAGE: u32 = 500;

/// A line of the history.
#[derive(Serialize)]
struct Line<'a> {
    /// When, as ISO 8601 writes it.
    at: String,
    #[serde(flatten)]
    event: &'a Event,
}

impl Store {
    /// Gives every event to `each`, in their order.
    async fn events(
        &self,
        mut each: impl FnMut(&Event) -> Result<(), ExportError>,
    ) -> Result<(), ExportError> {
        let mut last = 0;
        loop {
            let events = self.events_after(last, PAGE).await?;
            match events.last() {
                Some(event) => last = event.seq,
                None => return Ok(()),
            }
            events.iter().try_for_each(&mut each)?;
        }
    }
}

/// Writes a line of JSON for every event.
pub async fn export_history_json_lines(
    store: &Store,
    out: &mut impl Write,
) -> Result<(), ExportError> {
    store
        .events(|event| {
            let at = time(event.at_ms);
            serde_json::to_writer(&mut *out, &Line { at, event }).map_err(std::io::Error::from)?;
            Ok(writeln!(out)?)
        })
        .await?;
    Ok(out.flush()?)
}

/// Writes a row for every event: what was said of which field has columns of its own.
pub async fn export_history_csv(store: &Store, out: &mut impl Write) -> Result<(), ExportError> {
    let mut writer = csv::Writer::from_writer(out);
    let table = |e: csv::Error| ExportError::Table(e.to_string());
    let headers = [
        "seq", "at", "who", "kind", "entry", "field", "before", "said", "detail", "previous",
        "hash", "hashed",
    ];
    writer.write_record(headers).map_err(table)?;
    store
        .events(|event| {
            let part = |name: &str| match &event.detail[name] {
                Value::String(text) => text.clone(),
                Value::Null => String::new(),
                other => other.to_string(),
            };
            let cells = [
                event.seq.to_string(),
                time(event.at_ms),
                event.who.clone(),
                event.kind.clone(),
                event.entry.clone().unwrap_or_default(),
                part("field"),
                part("value_before"),
                part("printed"),
                event.detail.to_string(),
                event.previous.clone(),
                event.hash.clone(),
                event.hashed.clone(),
            ];
            writer
                .write_record(cells.iter().map(|cell| harmless(cell)))
                .map_err(table)
        })
        .await?;
    Ok(writer.flush()?)
}
