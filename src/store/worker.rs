//! Who reads: a name under which entries are taken, and a locked file that says that its owner lives. The system
//! lets go of the lock however the owner ends, also killed or without power, so that what a dead one held is known
//! and free again at once.

use super::files::{blocking, make_folder};
use super::{Store, StoreError};
use std::fs::{self, File};
use std::io;
use std::path::{Path, PathBuf};

/// A reader of this store, as long as the value lives. Its file stays behind, so that the next one gives back what it
/// still held: one that could not write any more could not give it back either.
#[derive(Debug)]
pub struct Worker {
    name: String,
    _locked: File,
}

impl Worker {
    /// Its name, for taking entries.
    pub fn name(&self) -> &str {
        &self.name
    }
}

impl Store {
    /// A new reader of this store. What readers held who are no more is put back into the queue first.
    pub async fn new_worker(&self) -> Result<Worker, StoreError> {
        let folder = self.folder.join("workers");
        let (worker, gone) = blocking(move || {
            make_folder(&folder)?;
            let failed = |source| StoreError::File {
                path: folder.clone(),
                source,
            };
            Ok((
                sign_on(&folder).map_err(failed)?,
                gone(&folder).map_err(failed)?,
            ))
        })
        .await?;
        for (path, name) in gone {
            self.release_all(&name).await?;
            let _ = fs::remove_file(path);
        }
        Ok(worker)
    }
}

/// Makes the locked file of a new worker. It gets its name once it is locked, so that nobody takes it for a dead one's.
fn sign_on(folder: &Path) -> io::Result<Worker> {
    let file = tempfile::Builder::new()
        .prefix("worker-")
        .suffix(".new")
        .tempfile_in(folder)?;
    file.as_file().lock()?;
    let path = file.path().with_extension("lock");
    let locked = file.persist(&path).map_err(|e| e.error)?;
    let name = path
        .file_stem()
        .map(|stem| stem.to_string_lossy().into_owned())
        .unwrap_or_default();
    Ok(Worker {
        name,
        _locked: locked,
    })
}

/// The files and names of workers who left no lock behind.
fn gone(folder: &Path) -> io::Result<Vec<(PathBuf, String)>> {
    let mut gone = Vec::new();
    for entry in fs::read_dir(folder)? {
        let path = entry?.path();
        if path.extension().is_none_or(|ending| ending != "lock") {
            continue;
        }
        // Somebody else may just have cleared it away.
        let Ok(file) = File::open(&path) else {
            continue;
        };
        if file.try_lock().is_ok()
            && let Some(stem) = path.file_stem()
        {
            gone.push((path.clone(), stem.to_string_lossy().into_owned()));
        }
    }
    Ok(gone)
}
