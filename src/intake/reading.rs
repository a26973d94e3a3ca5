//! Reading one entry that was taken from the queue.

use crate::read::{ReadError, Settings, read_same_motor};
use crate::record::NameplateRecord;
use crate::store::{Lease, Store};
use crate::text::Reader;
use std::path::PathBuf;
use std::sync::Arc;

/// Why there is no record of an entry.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Failure {
    /// A short word, for machines.
    pub kind: String,
    /// A sentence that names the file and says what to do.
    pub message: String,
}

/// What an entry shows.
#[derive(Debug, Clone, PartialEq)]
pub enum Shown {
    /// One motor.
    Plate(Box<NameplateRecord>),
    /// A page of a log, with a record a row.
    Rows(Vec<NameplateRecord>),
}

impl Shown {
    /// Its records.
    pub fn records(&self) -> &[NameplateRecord] {
        match self {
            Shown::Plate(record) => std::slice::from_ref(record),
            Shown::Rows(rows) => rows,
        }
    }

    /// How many of its motors have a question for a person.
    pub fn asks(&self) -> u64 {
        let asking = self.records().iter().filter(|r| !r.questions.is_empty());
        asking.count() as u64
    }
}

/// What came of reading an entry.
pub type Reading = Result<Shown, Failure>;

/// Reads the photos of an entry into one record, or a log page into a record a row. A fault inside the program costs this entry and no other.
pub(super) async fn read(
    store: &Store,
    lease: &Lease,
    reader: Arc<Reader>,
    settings: Settings,
) -> Reading {
    let name = lease.entry.file_name.clone();
    let paths: Vec<PathBuf> = lease.photos.iter().map(|p| store.photo_path(p)).collect();
    let read = tokio::task::spawn_blocking(move || read_same_motor(&paths, &reader, &settings));
    match read.await {
        Ok((Some(mut record), _)) => {
            record.file = Some(name);
            Ok(Shown::Plate(Box::new(record)))
        }
        Ok((None, failures)) => Err(match failures.into_iter().next() {
            Some((_, ReadError::LogPage { rows, .. })) => return Ok(Shown::Rows(rows)),
            // Where the photo lies in the store helps nobody.
            Some((path, error)) => Failure {
                kind: error.kind().to_owned(),
                message: error
                    .to_string()
                    .replace(&path.display().to_string(), &name),
            },
            None => Failure {
                kind: "no_photo".to_owned(),
                message: format!("{name}: it has no photo. Add it again"),
            },
        }),
        Err(_) => Err(Failure {
            kind: "internal".to_owned(),
            message: format!(
                "{name}: reading it failed inside the program. Please report this with the photo"
            ),
        }),
    }
}
