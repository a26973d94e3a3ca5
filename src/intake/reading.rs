//! Reading one entry that was taken from the queue.

use crate::photo::Likeness;
use crate::read::{ReadError, SameMotor, Settings, read_same_motor};
use crate::record::NameplateRecord;
use crate::store::{Lease, Store, sha256};
use crate::text::Reader;
use std::path::PathBuf;
use std::sync::Arc;
use std::time::Duration;
use tokio::sync::oneshot;

/// Why there is no record of an entry.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Failure {
    /// A short word, for machines.
    pub kind: String,
    /// A sentence that names the file and says what to do.
    pub message: String,
    /// Whether the photo is not to blame, so that it may go well another time.
    pub passing: bool,
}

/// What an entry shows.
#[derive(Debug, Clone, PartialEq)]
pub enum Shown {
    /// One motor.
    Plate {
        /// What was read of it.
        record: Box<NameplateRecord>,
        /// What its photos look like, each with the SHA-256 of its file.
        likenesses: Vec<(String, Likeness)>,
    },
    /// A page of a log, with a record a row.
    Rows(Vec<NameplateRecord>),
}

impl Shown {
    /// Its records.
    pub fn records(&self) -> &[NameplateRecord] {
        match self {
            Shown::Plate { record, .. } => std::slice::from_ref(record),
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

/// Longest time for an entry.
pub(crate) fn time(lease: &Lease, settings: &Settings) -> Duration {
    let photos = u32::try_from(lease.photos.len()).unwrap_or(u32::MAX);
    settings.time.saturating_mul(photos.max(1))
}

/// Reads the photos of an entry into one record, or a log page into a record a row. A fault inside the program costs
/// this entry and no other, and so does one that takes too long.
pub(crate) async fn read(
    store: &Store,
    lease: &Lease,
    reader: Arc<Reader>,
    settings: Settings,
) -> Reading {
    let name = lease.entry.file_name.clone();
    let most = time(lease, &settings);
    let failure = |kind: &str, what: String| Failure {
        kind: kind.to_owned(),
        message: format!("{name}: {what}"),
        passing: false,
    };
    let mut files = Vec::new();
    for photo in &lease.photos {
        files.push(store.photo_file(photo).await.map_err(|error| Failure {
            passing: true,
            ..failure("storage", error.to_string())
        })?);
    }
    let hashes: Vec<String> = lease.photos.iter().map(|p| p.sha256.clone()).collect();
    let (done, outcome) = oneshot::channel();
    // A thread of its own, which nobody waits for: one that never comes to an end must not hold up the end of the
    // program.
    let started = std::thread::Builder::new().spawn(move || {
        let paths: Vec<PathBuf> = files.iter().map(|f| f.as_ref().to_owned()).collect();
        let changed = |(path, hash): (&PathBuf, &String)| {
            std::fs::read(path).is_ok_and(|bytes| sha256(&bytes) != *hash)
        };
        // What the disk gives is not always what was written to it.
        let read = match paths.iter().zip(&hashes).any(changed) {
            true => None,
            false => Some(read_same_motor(&paths, &reader, &settings)),
        };
        let _ = done.send(read);
    });
    if let Err(error) = started {
        return Err(failure(
            "no_thread",
            format!("cannot be read now: {error}. Try again"),
        ));
    }
    match tokio::time::timeout(most, outcome).await {
        Ok(Ok(None)) => Err(failure(
            "changed",
            "its file in the store was changed or damaged. Add the photo again".to_owned(),
        )),
        Ok(Ok(Some(SameMotor {
            record: Some(mut record),
            likenesses,
            ..
        }))) => {
            record.file = Some(name);
            Ok(Shown::Plate {
                record: Box::new(record),
                likenesses,
            })
        }
        Ok(Ok(Some(SameMotor { failures, .. }))) => Err(match failures.into_iter().next() {
            Some((_, ReadError::LogPage { rows, .. })) => return Ok(Shown::Rows(rows)),
            // Where the photo lies in the store helps nobody.
            Some((path, error)) => Failure {
                kind: error.kind().to_owned(),
                message: error
                    .to_string()
                    .replace(&path.display().to_string(), &name),
                passing: false,
            },
            None => failure("no_photo", "it has no photo. Add it again".to_owned()),
        }),
        Ok(Err(_)) => Err(failure(
            "internal",
            "reading it failed inside the program. Please report this with the photo".to_owned(),
        )),
        Err(_) => Err(failure(
            "too_slow",
            format!(
                "reading it took more than {} s. Crop the photo to the plate, and try again",
                most.as_secs()
            ),
        )),
    }
}
