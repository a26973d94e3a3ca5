//! Reads what is queued, one entry at a time with all processors, while the pages are served.

use super::App;
use crate::read::{ReadError, read_same_motor};
use crate::record::NameplateRecord;
use crate::store::{Lease, StoreError};
use std::path::PathBuf;
use std::time::Duration;

/// An entry is held for so long; a reader that is killed loses it after that.
const LEASE: Duration = Duration::from_secs(150);
/// An entry that takes longer has failed.
const MOST: Duration = Duration::from_secs(120);
/// How long to wait for something to read when nobody says that there is something.
const IDLE: Duration = Duration::from_secs(1);

/// Reads until the server stops.
pub(super) async fn run(app: App) {
    let worker = format!("serve {}", std::process::id());
    while !app.is_stopping() {
        let wait = match app.store().take_next(&worker, LEASE).await {
            Ok(Some(lease)) => match read(&app, &lease).await {
                Ok(()) => continue,
                Err(error) => Some(error),
            },
            Ok(None) => None,
            Err(error) => Some(error),
        };
        if let Some(error) = wait {
            eprintln!("platewright: {error}");
        }
        let _ = tokio::time::timeout(IDLE, app.queued().notified()).await;
    }
}

type Outcome = (Option<NameplateRecord>, Vec<(PathBuf, ReadError)>);

async fn read(app: &App, lease: &Lease) -> Result<(), StoreError> {
    let (store, entry) = (app.store(), &lease.entry);
    let paths: Vec<PathBuf> = lease.photos.iter().map(|p| store.photo_path(p)).collect();
    let (reader, settings, files) = (app.reader().clone(), app.reading().clone(), paths.clone());
    let work = tokio::task::spawn_blocking(move || read_same_motor(&files, &reader, &settings));
    let outcome: Outcome = match tokio::time::timeout(MOST, work).await {
        Ok(Ok(outcome)) => outcome,
        Ok(Err(_)) => {
            let message = format!(
                "{}: reading it failed inside the program; please report this with the photo",
                entry.file_name
            );
            store.save_failure(lease, "internal", &message).await?;
            return Ok(());
        }
        Err(_) => {
            let message = format!(
                "{}: reading it took more than {} s; crop the photo to the plate and try again",
                entry.file_name,
                MOST.as_secs()
            );
            store.save_failure(lease, "too_slow", &message).await?;
            return Ok(());
        }
    };
    match outcome {
        (Some(mut record), _) => {
            record.file = Some(entry.file_name.clone());
            store.save_reading(lease, &record, app.versions()).await?;
        }
        (None, failures) => {
            if let Some((_, ReadError::LogPage { rows, .. })) = failures.first() {
                store.save_rows(lease, rows, app.versions()).await?;
                return Ok(());
            }
            let (kind, message) = match failures.first() {
                // Where the photo lies here is nobody's business.
                Some((path, error)) => (
                    error.kind(),
                    error
                        .to_string()
                        .replace(&path.display().to_string(), &entry.file_name),
                ),
                None => ("no_photo", format!("{}: it has no photo", entry.file_name)),
            };
            store.save_failure(lease, kind, &message).await?;
        }
    }
    Ok(())
}
