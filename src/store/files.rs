//! Files kept by the hash of their content: written under another name, flushed to the disk, then renamed, so
//! that a file with its name is always whole.

use super::StoreError;
use sha2::{Digest, Sha256};
use std::fs::{self, File};
use std::io::{self, Write};
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// A folder of files named by their content.
#[derive(Debug, Clone)]
pub(super) struct Files {
    folder: Arc<PathBuf>,
}

/// SHA-256, hexadecimal.
pub(crate) fn sha256(bytes: &[u8]) -> String {
    Sha256::digest(bytes)
        .iter()
        .map(|b| format!("{b:02x}"))
        .collect()
}

/// Makes a folder unless it is there.
pub(super) fn make_folder(folder: &Path) -> Result<(), StoreError> {
    if folder.is_file() {
        return Err(StoreError::NotAFolder(folder.to_owned()));
    }
    fs::create_dir_all(folder).map_err(|source| StoreError::File {
        path: folder.to_owned(),
        source,
    })
}

impl Files {
    pub(super) fn new(folder: PathBuf) -> Result<Files, StoreError> {
        make_folder(&folder)?;
        Ok(Files {
            folder: Arc::new(folder),
        })
    }

    pub(super) fn folder(&self) -> &Path {
        &self.folder
    }

    /// Where the file with this hash lies; `ext` is its extension.
    pub(super) fn path(&self, hash: &str, ext: &str) -> PathBuf {
        let shelf = hash.get(..2).unwrap_or("00");
        self.folder.join(shelf).join(format!("{hash}.{ext}"))
    }

    /// Keeps bytes, unless a file with their hash is there already. Gives the hash.
    pub(super) fn keep(&self, bytes: &[u8], ext: &str) -> Result<String, StoreError> {
        let hash = sha256(bytes);
        let path = self.path(&hash, ext);
        let whole = fs::metadata(&path).is_ok_and(|m| m.len() == bytes.len() as u64);
        if !whole {
            write(&path, bytes).map_err(|source| StoreError::File {
                path: path.clone(),
                source,
            })?;
        }
        Ok(hash)
    }

    /// The bytes of a file.
    pub(super) fn read(&self, hash: &str, ext: &str) -> Result<Vec<u8>, StoreError> {
        let path = self.path(hash, ext);
        fs::read(&path).map_err(|source| StoreError::File { path, source })
    }
}

fn write(path: &Path, bytes: &[u8]) -> io::Result<()> {
    let shelf = path.parent().unwrap_or(Path::new("."));
    fs::create_dir_all(shelf)?;
    let mut file = tempfile::Builder::new()
        .prefix("incoming-")
        .tempfile_in(shelf)?;
    file.write_all(bytes)?;
    file.as_file().sync_all()?;
    file.persist(path).map_err(|e| e.error)?;
    // The name too must be on the disk before the database may speak of it.
    File::open(shelf)?.sync_all()
}

/// Waits for a lock that lasts as long as the file that is given stays open.
pub(super) async fn lock(path: PathBuf) -> Result<File, StoreError> {
    blocking(move || {
        let locked = || {
            let file = File::create(&path)?;
            file.lock()?;
            Ok(file)
        };
        locked().map_err(|source| StoreError::File { path, source })
    })
    .await
}

/// Runs what waits for the disk where it holds nobody up.
pub(super) async fn blocking<T: Send + 'static>(
    work: impl FnOnce() -> Result<T, StoreError> + Send + 'static,
) -> Result<T, StoreError> {
    match tokio::task::spawn_blocking(work).await {
        Ok(done) => done,
        Err(error) => Err(StoreError::Database(sqlx::Error::Io(io::Error::other(
            error,
        )))),
    }
}
