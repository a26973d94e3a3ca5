//! What the store gives out: one line of JSON an entry, as `read --json` writes it, with `source` and `id`.

use super::{Entry, EntryState, Same, SameBy, Store, StoreError};
use crate::record::NameplateRecord;
use serde::Serialize;
use std::io::Write;

/// An entry with what there is to tell of it.
#[derive(Debug, Clone, PartialEq)]
pub struct Exported {
    /// The entry.
    pub entry: Entry,
    /// Its record with everything that people said of it; `None` when it was not or could not be read.
    pub record: Option<NameplateRecord>,
    /// The entry before it that shows the same photo or motor.
    pub same: Option<Same>,
}

/// The JSON line of a record.
#[derive(Serialize)]
struct RecordLine<'a> {
    #[serde(flatten)]
    record: &'a NameplateRecord,
    source: String,
    id: &'a str,
    #[serde(flatten)]
    beside: Beside<'a>,
}

/// What is known beside: of the source, and of other entries.
#[derive(Serialize)]
struct Beside<'a> {
    #[serde(skip_serializing_if = "Option::is_none")]
    message: Option<&'a str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    note: Option<&'a str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    same_as: Option<&'a str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    same_by: Option<SameBy>,
}

/// The JSON line of a failure.
#[derive(Serialize)]
struct FailureLine<'a> {
    file: &'a str,
    error: FailureDetail<'a>,
    source: String,
    id: &'a str,
    #[serde(flatten)]
    beside: Beside<'a>,
}

#[derive(Serialize)]
struct FailureDetail<'a> {
    kind: &'a str,
    message: &'a str,
}

impl Exported {
    /// The line; `None` while the entry waits to be read.
    pub fn json_line(&self) -> Option<String> {
        let entry = &self.entry;
        let source = entry.source.to_string();
        let beside = Beside {
            message: entry.source.detail.message.as_deref(),
            note: entry.source.detail.note.as_deref(),
            same_as: self.same.as_ref().map(|same| same.first.as_str()),
            same_by: self.same.as_ref().map(|same| same.by),
        };
        let line = match (&self.record, &entry.failure) {
            (Some(record), _) => serde_json::to_string(&RecordLine {
                record,
                source,
                id: &entry.id,
                beside,
            }),
            (None, Some((kind, message))) => serde_json::to_string(&FailureLine {
                file: &entry.file_name,
                error: FailureDetail { kind, message },
                source,
                id: &entry.id,
                beside,
            }),
            (None, None) => return None,
        };
        line.ok()
    }
}

/// How many entries are taken from the database at a time.
const PAGE: u32 = 200;

impl Store {
    /// Gives every entry to `each`, the oldest first.
    pub async fn export<E: From<StoreError>>(
        &self,
        mut each: impl FnMut(Exported) -> Result<(), E>,
    ) -> Result<(), E> {
        let mut after = (i64::MIN, String::new());
        loop {
            let entries = self.entries_after(&after, PAGE).await?;
            let Some(last) = entries.last() else {
                return Ok(());
            };
            after = (last.created_ms, last.id.clone());
            for entry in entries {
                each(self.exported(entry).await?)?;
            }
        }
    }

    /// An entry with its record.
    pub async fn exported(&self, entry: Entry) -> Result<Exported, StoreError> {
        let record = match entry.state {
            EntryState::Read => {
                let mut record = self.answered(&entry.id).await?.record;
                record.file = Some(entry.file_name.clone());
                Some(record)
            }
            _ => None,
        };
        let same = self.same_as(&entry.id).await?;
        Ok(Exported {
            entry,
            record,
            same,
        })
    }
}

/// What stopped an export.
#[derive(Debug, thiserror::Error)]
pub enum ExportError {
    /// The store.
    #[error(transparent)]
    Store(#[from] StoreError),
    /// Where it is written to.
    #[error(
        "the export cannot be written: {0}; check that there is room and that you may write there"
    )]
    Io(#[from] std::io::Error),
    /// The table.
    #[error("the table cannot be made: {0}")]
    Table(String),
}

/// Writes a line of JSON for every entry that was read or failed. Gives how many still wait.
pub async fn export_json_lines(store: &Store, out: &mut impl Write) -> Result<u64, ExportError> {
    let mut waiting = 0;
    store
        .export(|exported| -> Result<(), ExportError> {
            match exported.json_line() {
                Some(line) => writeln!(out, "{line}")?,
                None => waiting += 1,
            }
            Ok(())
        })
        .await?;
    out.flush()?;
    Ok(waiting)
}
