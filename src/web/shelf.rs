//! The stock list that holds now, read once and kept until another one holds.

use super::App;
use super::error::PageError;
use crate::stock::{Mapping, StockList};
use crate::store::ImportedList;
use std::path::PathBuf;
use std::sync::Arc;
use tokio::sync::Mutex;

/// The list, and the import that it is from.
#[derive(Debug, Default)]
pub(super) struct Shelf(Mutex<Option<Arc<Stocked>>>);

/// A list with the import that it is from.
#[derive(Debug)]
pub(super) struct Stocked {
    pub(super) import: ImportedList,
    pub(super) list: StockList,
}

impl Shelf {
    /// The list that holds now; `None` when none was imported.
    pub(super) async fn current(&self, app: &App) -> Result<Option<Arc<Stocked>>, PageError> {
        let Some(import) = app.store().current_list().await? else {
            return Ok(None);
        };
        let mut kept = self.0.lock().await;
        if let Some(known) = kept.as_ref().filter(|k| k.import == import) {
            return Ok(Some(known.clone()));
        }
        let bytes = app.store().list_bytes(&import).await?;
        let mapping = Mapping::from_json(&import.mapping).unwrap_or_default();
        let name = PathBuf::from(&import.name);
        let list = tokio::task::spawn_blocking(move || StockList::mapped(&bytes, &name, &mapping))
            .await?
            .map_err(|e| PageError::Inside(e.to_string()))?;
        let stocked = Arc::new(Stocked { import, list });
        *kept = Some(stocked.clone());
        Ok(Some(stocked))
    }
}
