//! Files kept by the hash of their content, in a folder or in an object store that speaks S3. A file with its name is
//! always whole: it is written under another name first, flushed to the disk, then renamed, or put in one piece.

use super::StoreError;
use futures_util::TryStreamExt;
use object_store::local::LocalFileSystem;
use object_store::memory::InMemory;
use object_store::path::Path as ObjectPath;
use object_store::{Error, ObjectStore, ObjectStoreExt, PutPayload};
use sha2::{Digest, Sha256};
use std::fs::{self, File};
use std::io;
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// A place of files named by their content.
#[derive(Debug, Clone)]
pub(super) struct Files {
    objects: Arc<dyn ObjectStore>,
    /// What stands before each name there.
    prefix: String,
    /// The place, for messages.
    place: Arc<str>,
    /// The same place as a folder, if it is one.
    folder: Option<Arc<PathBuf>>,
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
    /// Files in a folder.
    pub(super) fn in_folder(folder: PathBuf) -> Result<Files, StoreError> {
        make_folder(&folder)?;
        let place: Arc<str> = folder.display().to_string().into();
        let objects = LocalFileSystem::new_with_prefix(&folder)
            .map_err(|source| StoreError::file(&place, &source))?
            // The name too is on the disk before the database may speak of it.
            .with_fsync(true);
        Ok(Files {
            objects: Arc::new(objects),
            prefix: String::new(),
            place,
            folder: Some(Arc::new(folder)),
        })
    }

    /// Files in a folder that is not written to.
    pub(super) fn to_read(folder: PathBuf) -> Result<Files, StoreError> {
        match folder.is_dir() {
            true => Files::in_folder(folder),
            // A store without lists has no folder of them.
            false => Ok(Files {
                objects: Arc::new(InMemory::new()),
                prefix: String::new(),
                place: folder.display().to_string().into(),
                folder: None,
            }),
        }
    }

    /// Files of an object store, under a name there.
    pub(super) fn in_objects(
        objects: Arc<dyn ObjectStore>,
        prefix: String,
        place: String,
    ) -> Files {
        Files {
            objects,
            prefix: format!("{prefix}/"),
            place: place.into(),
            folder: None,
        }
    }

    /// The file with this hash, as people are told where it lies; `ext` is its extension.
    pub(super) fn shown(&self, hash: &str, ext: &str) -> String {
        format!("{}/{}", self.place, name(hash, ext))
    }

    /// Where the file with this hash lies on this machine; `None` where it lies elsewhere.
    pub(super) fn path(&self, hash: &str, ext: &str) -> Option<PathBuf> {
        Some(self.folder.as_ref()?.join(name(hash, ext)))
    }

    fn object(&self, hash: &str, ext: &str) -> ObjectPath {
        ObjectPath::from(format!("{}{}", self.prefix, name(hash, ext)))
    }

    fn failed(&self, place: String) -> impl FnOnce(Error) -> StoreError {
        let is_folder = self.folder.is_some();
        move |source| match is_folder {
            true => StoreError::file(&place, &source),
            false => StoreError::objects(&place, source),
        }
    }

    /// Keeps bytes, unless a file with their hash is there already and holds them: one that was damaged is mended by the
    /// same bytes. Gives the hash.
    pub(super) async fn keep(&self, bytes: Vec<u8>, ext: &str) -> Result<String, StoreError> {
        let (hash, bytes) = blocking(move || Ok((sha256(&bytes), bytes))).await?;
        let at = self.object(&hash, ext);
        let same_size = match self.objects.head(&at).await {
            Ok(found) => found.size == bytes.len() as u64,
            Err(Error::NotFound { .. }) => false,
            Err(error) => return Err(self.failed(self.shown(&hash, ext))(error)),
        };
        let whole = same_size && self.read(&hash, ext).await? == bytes;
        if !whole {
            self.objects
                .put(&at, PutPayload::from(bytes))
                .await
                .map_err(self.failed(self.shown(&hash, ext)))?;
        }
        Ok(hash)
    }

    /// Whether there is a file with this hash.
    pub(super) async fn has(&self, hash: &str, ext: &str) -> Result<bool, StoreError> {
        match self.objects.head(&self.object(hash, ext)).await {
            Ok(_) => Ok(true),
            Err(Error::NotFound { .. }) => Ok(false),
            Err(error) => Err(self.failed(self.shown(hash, ext))(error)),
        }
    }

    /// The bytes of a file.
    pub(super) async fn read(&self, hash: &str, ext: &str) -> Result<Vec<u8>, StoreError> {
        let got = async {
            let found = self.objects.get(&self.object(hash, ext)).await?;
            found.bytes().await
        };
        Ok(got
            .await
            .map_err(self.failed(self.shown(hash, ext)))?
            .into())
    }

    /// The names of all files there, without their folders.
    pub(super) async fn names(&self) -> Result<Vec<String>, StoreError> {
        let under = ObjectPath::from(self.prefix.as_str());
        self.objects
            .list(Some(&under))
            .map_ok(|found| found.location.filename().unwrap_or_default().to_owned())
            .try_collect()
            .await
            .map_err(self.failed(self.place.to_string()))
    }
}

/// The name of a file: a shelf of its own for each of 256 beginnings, so that no folder grows too large.
fn name(hash: &str, ext: &str) -> String {
    format!("{}/{hash}.{ext}", hash.get(..2).unwrap_or("00"))
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
