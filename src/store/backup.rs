//! A backup is a store: a folder with a SQLite file, photos and lists, whatever the store itself lies in, copied while
//! others go on working. Bringing it back copies it into a new store, whatever that one lies in.

use super::files::{Files, make_folder};
use super::shelf::EXTENSION;
use super::{Health, Location, Store, StoreError, copy, entry};
use serde::{Deserialize, Serialize};
use sqlx::{Any, Row, Transaction};
use std::fs;
use std::io::Write;
use std::path::Path;

/// What stands beside a backup: what was in it when it was made.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Manifest {
    /// The version of the program that made it.
    pub program: String,
    /// When, in UTC.
    pub made: String,
    /// How many entries.
    pub entries: u64,
    /// How many photos.
    pub photos: u64,
    /// How many events its history has.
    pub events: i64,
    /// The hash of the last one: a history that was cut short shows by it.
    pub last_event: String,
}

/// The name of the manifest.
const MANIFEST: &str = "backup.json";

/// A copy that was made, and how it was found to be.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Copied {
    /// What is in it.
    pub manifest: Manifest,
    /// What was looked at in the copy, and what is wrong.
    pub health: Health,
}

impl Store {
    /// Copies the store as it is at this moment into the new folder `out`, which gets its name only when all of it is
    /// there. `each` hears how many photos of how many were copied. What is wrong with the store itself is copied as
    /// it is, and told.
    pub async fn backup(
        &self,
        out: &Path,
        each: impl FnMut(u64, u64),
    ) -> Result<Copied, StoreError> {
        if out.exists() {
            return Err(StoreError::InTheWay(out.to_owned()));
        }
        let failed = |source| StoreError::File {
            path: out.to_owned(),
            source,
        };
        let parent = match out.parent() {
            Some(parent) if !parent.as_os_str().is_empty() => parent,
            _ => Path::new("."),
        };
        make_folder(parent)?;
        // Deleted again if anything fails on the way.
        let unfinished = tempfile::Builder::new()
            .prefix(".backup-")
            .tempdir_in(parent)
            .map_err(failed)?;
        let copy = Store::open(&Location {
            folder: unfinished.path().to_owned(),
            database: None,
            photos: None,
        })
        .await?;
        // The rows first: every photo that they speak of was there before them.
        transfer_rows(self, &copy, &copy).await?;
        sqlx::query(
            "UPDATE entry SET state = 'queued', worker = NULL, lease_until_ms = NULL WHERE state = 'reading'",
        )
        .execute(&copy.pool)
        .await?;
        transfer_files(self, &copy, &copy, each).await?;
        let health = copy.verify().await?;
        let manifest = copy.manifest(&health).await?;
        copy.close().await;
        let finish = || {
            let _ = fs::remove_file(unfinished.path().join("opening.lock"));
            let mut file = fs::File::create(unfinished.path().join(MANIFEST))?;
            serde_json::to_writer_pretty(&mut file, &manifest)?;
            writeln!(file)?;
            file.sync_all()?;
            fs::rename(unfinished.path(), out)?;
            fs::File::open(parent)?.sync_all()
        };
        finish().map_err(failed)?;
        // It has another name now, and stays.
        let _ = unfinished.keep();
        Ok(Copied { manifest, health })
    }

    async fn manifest(&self, health: &Health) -> Result<Manifest, StoreError> {
        let head = sqlx::query("SELECT seq, hash FROM chain WHERE id = 1")
            .fetch_one(&self.pool)
            .await?;
        Ok(Manifest {
            program: env!("CARGO_PKG_VERSION").to_owned(),
            made: jiff::Timestamp::now()
                .strftime("%Y-%m-%dT%H:%M:%SZ")
                .to_string(),
            entries: health.entries,
            photos: health.photos,
            events: head.try_get("seq")?,
            last_event: head.try_get("hash")?,
        })
    }

    /// A view of the database as it is at this moment, whatever others write meanwhile.
    async fn snapshot(&self) -> Result<Transaction<'static, Any>, StoreError> {
        Ok(self
            .pool
            .begin_with(match self.is_sqlite() {
                true => "BEGIN",
                false => "BEGIN ISOLATION LEVEL REPEATABLE READ READ ONLY",
            })
            .await?)
    }
}

/// Brings a backup back into a new store at `to`. Refuses where a store with anything in it is already. `each` hears
/// how many photos of how many were copied.
pub async fn restore(
    from: &Path,
    to: &Location,
    each: impl FnMut(u64, u64),
) -> Result<Copied, StoreError> {
    let database = from.join(super::database::SQLITE_FILE);
    let manifest = fs::read(from.join(MANIFEST))
        .ok()
        .and_then(|bytes| serde_json::from_slice::<Manifest>(&bytes).ok());
    let Some(manifest) = manifest.filter(|_| database.is_file()) else {
        return Err(StoreError::NoBackup(from.to_owned()));
    };
    // The backup stays as it is, also on a disk that cannot be written to: its rows are read from a copy.
    let failed = |source| StoreError::File {
        path: from.to_owned(),
        source,
    };
    let scratch = tempfile::tempdir().map_err(failed)?;
    let name = super::database::SQLITE_FILE;
    // What somebody wrote who opened the backup and was killed stands in a file beside it.
    for name in [name.to_owned(), format!("{name}-wal")] {
        if from.join(&name).is_file() {
            fs::copy(from.join(&name), scratch.path().join(&name)).map_err(failed)?;
        }
    }
    let source = Store::open(&Location {
        folder: scratch.path().to_owned(),
        database: None,
        photos: None,
    })
    .await?;
    let source = Store {
        photos: Files::to_read(from.join("photos"))?,
        lists: Files::to_read(from.join("stock"))?,
        ..source
    };
    let target = Store::open(to).await?;
    if target.last_event().await? > 0 {
        return Err(StoreError::InTheWay(to.folder.clone()));
    }
    // The rows last, all or none: until then the new store is an empty one, and the same command goes on.
    transfer_files(&source, &target, &source, each).await?;
    transfer_rows(&source, &target, &source).await?;
    let health = target.verify().await?;
    let restored = target.manifest(&health).await?;
    source.close().await;
    target.close().await;
    if (restored.events, &restored.last_event) != (manifest.events, &manifest.last_event) {
        return Err(StoreError::Copy(format!(
            "its history ends with event {}, and {} were in it when it was made: it was changed afterwards",
            restored.events, manifest.events
        )));
    }
    Ok(Copied { manifest, health })
}

/// All rows of one store into another; `sqlite` is the one of them that is SQLite.
async fn transfer_rows(from: &Store, to: &Store, sqlite: &Store) -> Result<(), StoreError> {
    let tables = copy::tables(&mut *sqlite.pool.acquire().await?).await?;
    let mut reading = from.snapshot().await?;
    let mut writing = to.write().await?;
    for table in &tables {
        copy::rows(table, &mut reading, &mut writing).await?;
    }
    writing.commit().await?;
    Ok(())
}

/// All photos and lists that the database of `known` speaks of. What is missing shows when the copy is verified.
async fn transfer_files(
    from: &Store,
    to: &Store,
    known: &Store,
    mut each: impl FnMut(u64, u64),
) -> Result<(), StoreError> {
    let rows =
        sqlx::query("SELECT sha256, media_type, width, height, bytes FROM photo ORDER BY sha256")
            .fetch_all(&known.pool)
            .await?;
    let all = rows.len() as u64;
    for (done, row) in (1..).zip(&rows) {
        let photo = entry::stored_photo(row)?;
        transfer_file(
            &from.photos,
            &to.photos,
            &photo.sha256,
            photo.media.extension(),
        )
        .await?;
        each(done, all);
    }
    for list in known.lists().await? {
        transfer_file(&from.lists, &to.lists, &list.sha256, EXTENSION).await?;
    }
    Ok(())
}

async fn transfer_file(from: &Files, to: &Files, hash: &str, ext: &str) -> Result<(), StoreError> {
    match from.read(hash, ext).await {
        Ok(bytes) => to.keep(bytes, ext).await.map(drop),
        Err(error) if error.is_passing() => Err(error),
        Err(_) => Ok(()),
    }
}
