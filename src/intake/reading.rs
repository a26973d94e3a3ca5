//! Reading one entry that was taken from the queue.

use crate::read::{Settings, read_same_motor};
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

/// What came of reading an entry.
pub type Reading = Result<Box<NameplateRecord>, Failure>;

/// Reads the photos of an entry into one record. A fault inside the program costs this entry and no other.
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
            Ok(Box::new(record))
        }
        Ok((None, failures)) => Err(match failures.into_iter().next() {
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
