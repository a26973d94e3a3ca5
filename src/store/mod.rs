//! The store: photos by their content, what was read of them, what people confirmed, what was matched, and a
//! history that is only ever added to. One SQLite file with the photos beside it, or a PostgreSQL database.

mod audit;
mod backup;
mod confirmation;
mod copy;
mod database;
mod devices;
mod doubts;
mod entry;
mod error;
mod export;
mod files;
mod history;
mod likeness;
mod matches;
mod objects;
mod parquet;
mod photo_file;
mod queue;
mod refused;
mod rows;
mod same;
mod shelf;
mod table;
mod verify;
mod workbook;
mod worker;

pub use audit::{export_history_csv, export_history_json_lines};
pub use backup::{Copied, Manifest, restore};
pub use confirmation::Confirmation;
pub use devices::Device;
pub use entry::{
    Entry, EntryState, Filter, NewEntry, NewPhoto, Source, SourceDetail, SourceKind, StoredPhoto,
};
pub use error::{ObjectCause, StoreError};
pub use export::{ExportError, Exported, export_json_lines};
pub use history::Event;
pub use matches::MatchRun;
pub use parquet::export_parquet;
pub use photo_file::PhotoFile;
pub use queue::{Asked, Lease, StoredReading, Versions};
pub use same::{Same, SameBy};
pub use shelf::{ImportedList, NewList};
pub use table::{cells, export_csv, headers, time};
pub use verify::{Finding, Health};
pub use workbook::export_xlsx;
pub use worker::Worker;

use etcetera::base_strategy::{BaseStrategy, choose_native_strategy};
use files::Files;
pub(crate) use files::sha256;
use sqlx::AnyPool;
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// Where a store lies.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Location {
    /// The folder with the photos, and with the SQLite file where no other database is given.
    pub folder: PathBuf,
    /// A PostgreSQL database, such as `postgres://user@host/name`.
    pub database: Option<String>,
    /// An object store for the photos and the stock lists, such as `s3://bucket/folder`; without it they lie in the folder.
    pub photos: Option<String>,
}

impl Location {
    /// The given folder, or the platform's data folder; `None` where the platform has none.
    pub fn new(folder: Option<PathBuf>, database: Option<String>) -> Option<Location> {
        let of_platform = || {
            Some(
                choose_native_strategy()
                    .ok()?
                    .data_dir()
                    .join("platewright"),
            )
        };
        let folder = folder.or_else(of_platform)?;
        Some(Location {
            folder,
            database,
            photos: None,
        })
    }
}

/// An open store. Clones share their connections.
#[derive(Debug, Clone)]
pub struct Store {
    pool: AnyPool,
    begin: &'static str,
    photos: Files,
    lists: Files,
    folder: Arc<PathBuf>,
}

impl Store {
    /// Opens the store and makes it where there is none.
    pub async fn open(location: &Location) -> Result<Store, StoreError> {
        files::make_folder(&location.folder)?;
        // Of two who open a new store at the same time, one makes its tables.
        let opening = files::lock(location.folder.join("opening.lock")).await?;
        let (pool, begin) = database::connect(location).await?;
        drop(opening);
        let (photos, lists) = match &location.photos {
            Some(url) => objects::open(url)?,
            None => (
                Files::in_folder(location.folder.join("photos"))?,
                Files::in_folder(location.folder.join("stock"))?,
            ),
        };
        Ok(Store {
            pool,
            begin,
            photos,
            lists,
            folder: Arc::new(location.folder.clone()),
        })
    }

    /// The store's folder.
    pub fn folder(&self) -> &Path {
        &self.folder
    }

    fn is_sqlite(&self) -> bool {
        self.begin != "BEGIN"
    }

    /// Ends all connections in good order.
    pub async fn close(self) {
        self.pool.close().await;
    }
}
