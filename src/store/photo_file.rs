//! Photos as files on this machine, for whoever opens files.

use super::{Store, StoreError, StoredPhoto};
use std::io::Write;
use std::path::{Path, PathBuf};
use tempfile::TempPath;

/// A photo as a file on this machine: the store's own, or a copy that is deleted with this value.
#[derive(Debug)]
pub enum PhotoFile {
    /// The store's own file: to be read, never changed.
    Own(PathBuf),
    /// A copy of what lies elsewhere.
    Copy(TempPath),
}

impl AsRef<Path> for PhotoFile {
    fn as_ref(&self) -> &Path {
        match self {
            PhotoFile::Own(path) => path,
            PhotoFile::Copy(path) => path,
        }
    }
}

impl Store {
    /// The photo as a file on this machine.
    pub async fn photo_file(&self, photo: &StoredPhoto) -> Result<PhotoFile, StoreError> {
        let ext = photo.media.extension();
        if let Some(path) = self.photos.path(&photo.sha256, ext) {
            tokio::fs::metadata(&path)
                .await
                .map_err(|source| StoreError::File {
                    path: path.clone(),
                    source,
                })?;
            return Ok(PhotoFile::Own(path));
        }
        let bytes = self.photos.read(&photo.sha256, ext).await?;
        super::files::blocking(move || {
            let copy = || {
                let mut file = tempfile::NamedTempFile::new()?;
                file.write_all(&bytes)?;
                Ok(file.into_temp_path())
            };
            copy()
                .map(PhotoFile::Copy)
                .map_err(|source| StoreError::File {
                    path: std::env::temp_dir(),
                    source,
                })
        })
        .await
    }

    /// The bytes of a photo.
    pub async fn photo_bytes(&self, photo: &StoredPhoto) -> Result<Vec<u8>, StoreError> {
        let ext = photo.media.extension();
        self.photos.read(&photo.sha256, ext).await
    }

    /// A photo that the database knows and that is not where photos are looked for; `None` when the last one that
    /// came is there. For whoever starts on another machine and may look at another place.
    pub async fn misplaced_photo(&self) -> Result<Option<String>, StoreError> {
        let row = sqlx::query(
            "SELECT sha256, media_type, width, height, bytes FROM photo ORDER BY added_ms DESC, sha256 LIMIT 1",
        )
        .fetch_optional(&self.pool)
        .await?;
        let Some(row) = row else { return Ok(None) };
        let photo = super::entry::stored_photo(&row)?;
        let ext = photo.media.extension();
        let there = self.photos.has(&photo.sha256, ext).await?;
        Ok((!there).then(|| self.photos.shown(&photo.sha256, ext)))
    }
}
