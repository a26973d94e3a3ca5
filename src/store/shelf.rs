//! Stock lists that were imported: the file as it came, which column was taken for what, and which list holds now.

use super::history::{self, NewEvent};
use super::{Store, StoreError};
use serde_json::json;
use sqlx::Row;
use sqlx::any::AnyRow;

/// A list to be imported.
#[derive(Debug, Clone)]
pub struct NewList {
    /// The file's name: text to show.
    pub name: String,
    /// The file.
    pub bytes: Vec<u8>,
    /// What a person said of its columns, as JSON; the stock room understands it.
    pub mapping: String,
    /// How many motors it has.
    pub motors: u64,
    /// How many rows were left out.
    pub faults: u64,
}

/// A list that was imported.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ImportedList {
    /// The number of its event.
    pub seq: i64,
    /// The file's name.
    pub name: String,
    /// Hash of the file.
    pub sha256: String,
    /// What a person said of its columns, as JSON.
    pub mapping: String,
    /// How many motors it has.
    pub motors: u64,
    /// How many rows were left out.
    pub faults: u64,
    /// Who imported it.
    pub who: String,
    /// When, milliseconds since 1970 in UTC.
    pub at_ms: i64,
    /// The event that took it back.
    pub undone_by: Option<i64>,
}

impl ImportedList {
    fn from_row(row: &AnyRow) -> Result<ImportedList, sqlx::Error> {
        let count = |name: &str| -> Result<u64, sqlx::Error> {
            Ok(u64::try_from(row.try_get::<i64, _>(name)?).unwrap_or_default())
        };
        Ok(ImportedList {
            seq: row.try_get("seq")?,
            name: row.try_get("name")?,
            sha256: row.try_get("sha256")?,
            mapping: row.try_get("mapping")?,
            motors: count("motors")?,
            faults: count("faults")?,
            who: row.try_get("who")?,
            at_ms: row.try_get("at_ms")?,
            undone_by: row.try_get("undone_by")?,
        })
    }
}

/// Extension of kept lists: whatever they are, they are only ever read as lists.
pub(super) const EXTENSION: &str = "list";

impl Store {
    /// Keeps the file of a list that somebody looks at before it is taken over. Gives its hash.
    pub async fn stage_list(&self, bytes: Vec<u8>) -> Result<String, StoreError> {
        self.lists.keep(bytes, EXTENSION).await
    }

    /// The file of a list that is looked at.
    pub async fn staged_list(&self, sha256: &str) -> Result<Vec<u8>, StoreError> {
        // A hash that somebody made up must not become a path.
        if sha256.len() != 64 || !sha256.bytes().all(|b| b.is_ascii_hexdigit()) {
            return Err(StoreError::NoList);
        }
        self.lists.read(sha256, EXTENSION).await
    }

    /// Keeps a list; from now on it holds.
    pub async fn import_list(&self, new: NewList, who: &str) -> Result<ImportedList, StoreError> {
        let sha256 = self.lists.keep(new.bytes, EXTENSION).await?;
        let now = history::now_ms();
        let mut tx = self.write().await?;
        let event = NewEvent {
            who,
            kind: "stock",
            entry: None,
            detail: json!({"name": new.name, "sha256": sha256, "motors": new.motors, "faults": new.faults, "mapping": new.mapping}),
        };
        let seq = history::append(&mut tx, now, &event).await?;
        let count = |n: u64| i64::try_from(n).unwrap_or(i64::MAX);
        sqlx::query(
            "INSERT INTO stock_list (seq, name, sha256, mapping, motors, faults, who, at_ms) VALUES ($1, $2, $3, $4, $5, $6, $7, $8)",
        )
        .bind(seq)
        .bind(&new.name)
        .bind(&sha256)
        .bind(&new.mapping)
        .bind(count(new.motors))
        .bind(count(new.faults))
        .bind(who)
        .bind(now)
        .execute(&mut *tx)
        .await?;
        tx.commit().await?;
        Ok(ImportedList {
            seq,
            name: new.name,
            sha256,
            mapping: new.mapping,
            motors: new.motors,
            faults: new.faults,
            who: who.to_owned(),
            at_ms: now,
            undone_by: None,
        })
    }

    /// Takes an import back: the list before it holds again.
    pub async fn undo_import(&self, seq: i64, who: &str) -> Result<(), StoreError> {
        let now = history::now_ms();
        let mut tx = self.write().await?;
        let event = NewEvent {
            who,
            kind: "stock_undone",
            entry: None,
            detail: json!({"stock_list": seq}),
        };
        let by = history::append(&mut tx, now, &event).await?;
        let undone = sqlx::query(
            "UPDATE stock_list SET undone_by = $1 WHERE seq = $2 AND undone_by IS NULL",
        )
        .bind(by)
        .bind(seq)
        .execute(&mut *tx)
        .await?;
        if undone.rows_affected() == 0 {
            return Err(StoreError::NothingToUndo);
        }
        tx.commit().await?;
        Ok(())
    }

    /// All imports, the last first.
    pub async fn lists(&self) -> Result<Vec<ImportedList>, StoreError> {
        let rows = sqlx::query("SELECT * FROM stock_list ORDER BY seq DESC")
            .fetch_all(&self.pool)
            .await?;
        Ok(rows
            .iter()
            .map(ImportedList::from_row)
            .collect::<Result<_, _>>()?)
    }

    /// The list that holds now.
    pub async fn current_list(&self) -> Result<Option<ImportedList>, StoreError> {
        let row = sqlx::query(
            "SELECT * FROM stock_list WHERE undone_by IS NULL ORDER BY seq DESC LIMIT 1",
        )
        .fetch_optional(&self.pool)
        .await?;
        Ok(row.as_ref().map(ImportedList::from_row).transpose()?)
    }

    /// The file of a list.
    pub async fn list_bytes(&self, list: &ImportedList) -> Result<Vec<u8>, StoreError> {
        self.lists.read(&list.sha256, EXTENSION).await
    }
}
