//! What people said of an entry, and taking it back. Rows are only added; taking back is an event of its own.

use super::entry;
use super::history::{self, NewEvent};
use super::queue::last_reading;
use super::{Entry, Store, StoreError, same};
use crate::confirm::{self, Answered, Key, Said};
use serde_json::json;
use sqlx::any::AnyRow;
use sqlx::{AnyConnection, Row};

/// What somebody said.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Confirmation {
    /// The number of its event.
    pub seq: i64,
    /// What it is about: a field's key, `class`, `rating`, or `place.` and a word.
    pub field: String,
    /// The state of what stood there.
    pub state_before: String,
    /// What stood there.
    pub value_before: Option<String>,
    /// What was said; empty says that the plate does not show it.
    pub printed: String,
    /// Who said it.
    pub who: String,
    /// When, milliseconds since 1970 in UTC.
    pub at_ms: i64,
    /// The event that took it back.
    pub undone_by: Option<i64>,
}

impl Confirmation {
    fn from_row(row: &AnyRow) -> Result<Confirmation, sqlx::Error> {
        Ok(Confirmation {
            seq: row.try_get("seq")?,
            field: row.try_get("field")?,
            state_before: row.try_get("state_before")?,
            value_before: row.try_get("value_before")?,
            printed: row.try_get("printed")?,
            who: row.try_get("who")?,
            at_ms: row.try_get("at_ms")?,
            undone_by: row.try_get("undone_by")?,
        })
    }

    fn said(&self) -> Option<Said> {
        let key = Key::parse(&self.field).filter(|_| self.undone_by.is_none())?;
        Some(Said {
            key,
            printed: self.printed.clone(),
            who: self.who.clone(),
        })
    }
}

impl Store {
    /// The record of an entry with everything that people said of it.
    pub async fn answered(&self, entry: &str) -> Result<Answered, StoreError> {
        let mut connection = self.pool.acquire().await?;
        answered(&mut connection, entry).await
    }

    /// Takes an answer on an entry. What stood there before is kept beside it.
    pub async fn confirm(
        &self,
        entry: &str,
        key: Key,
        printed: &str,
        who: &str,
    ) -> Result<Answered, StoreError> {
        confirm::accept(key, printed)?;
        let now = history::now_ms();
        let mut tx = self.write().await?;
        entry::touch(&mut tx, entry, now).await?;
        let (state_before, value_before) = confirm::before(&answered(&mut tx, entry).await?, key);
        let printed = printed.trim();
        let event = NewEvent {
            who,
            kind: "confirmed",
            entry: Some(entry),
            detail: json!({"field": key.to_string(), "printed": printed, "state_before": state_before, "value_before": value_before}),
        };
        let seq = history::append(&mut tx, now, &event).await?;
        sqlx::query(
            "INSERT INTO confirmation (seq, entry, field, state_before, value_before, printed, who, at_ms) \
             VALUES ($1, $2, $3, $4, $5, $6, $7, $8)",
        )
        .bind(seq)
        .bind(entry)
        .bind(key.to_string())
        .bind(state_before)
        .bind(value_before)
        .bind(printed)
        .bind(who)
        .bind(now)
        .execute(&mut *tx)
        .await?;
        let all = summarise_by_id(&mut tx, entry).await?;
        tx.commit().await?;
        Ok(all)
    }

    /// Takes an answer back: the one with this number, or the last one of the entry.
    pub async fn undo(
        &self,
        entry: &str,
        seq: Option<i64>,
        who: &str,
    ) -> Result<Confirmation, StoreError> {
        let now = history::now_ms();
        let mut tx = self.write().await?;
        entry::touch(&mut tx, entry, now).await?;
        let row = sqlx::query(
            "SELECT * FROM confirmation WHERE entry = $1 AND undone_by IS NULL AND ($2 = -1 OR seq = $2) \
             ORDER BY seq DESC LIMIT 1",
        )
        .bind(entry)
        .bind(seq.unwrap_or(-1))
        .fetch_optional(&mut *tx)
        .await?
        .ok_or(StoreError::NothingToUndo)?;
        let undone = Confirmation::from_row(&row)?;
        let event = NewEvent {
            who,
            kind: "undone",
            entry: Some(entry),
            detail: json!({"confirmation": undone.seq, "field": undone.field, "printed": undone.printed}),
        };
        let by = history::append(&mut tx, now, &event).await?;
        sqlx::query("UPDATE confirmation SET undone_by = $1 WHERE seq = $2")
            .bind(by)
            .bind(undone.seq)
            .execute(&mut *tx)
            .await?;
        summarise_by_id(&mut tx, entry).await?;
        tx.commit().await?;
        Ok(undone)
    }

    /// Everything that was said of an entry, in its order, also what was taken back.
    pub async fn confirmations(&self, entry: &str) -> Result<Vec<Confirmation>, StoreError> {
        let mut connection = self.pool.acquire().await?;
        all_of(&mut connection, entry).await
    }
}

async fn all_of(
    connection: &mut AnyConnection,
    entry: &str,
) -> Result<Vec<Confirmation>, StoreError> {
    let rows = sqlx::query("SELECT * FROM confirmation WHERE entry = $1 ORDER BY seq")
        .bind(entry)
        .fetch_all(connection)
        .await?;
    Ok(rows
        .iter()
        .map(Confirmation::from_row)
        .collect::<Result<_, _>>()?)
}

/// The last reading of an entry with all answers on top.
async fn answered(connection: &mut AnyConnection, entry: &str) -> Result<Answered, StoreError> {
    let reading = last_reading(connection, entry)
        .await?
        .ok_or_else(|| StoreError::NotRead(entry.to_owned()))?;
    let said: Vec<Said> = all_of(connection, entry)
        .await?
        .iter()
        .filter_map(Confirmation::said)
        .collect();
    Ok(confirm::answered(&reading.record, &said))
}

async fn summarise_by_id(tx: &mut AnyConnection, id: &str) -> Result<Answered, StoreError> {
    let row = sqlx::query("SELECT * FROM entry WHERE id = $1")
        .bind(id)
        .fetch_one(&mut *tx)
        .await?;
    summarise(tx, &Entry::from_row(&row)?).await
}

/// Notes on the entry what the list shows and searches of its record, and with which others it belongs together.
pub(super) async fn summarise(
    tx: &mut AnyConnection,
    entry: &Entry,
) -> Result<Answered, StoreError> {
    let all = answered(tx, &entry.id).await?;
    let record = &all.record;
    let mut search = super::entry::searched(&entry.source, &entry.file_name);
    for reading in record.fields.values() {
        if let Some(printed) = &reading.printed {
            search.push(' ');
            search.push_str(printed);
        }
    }
    let questions = i64::try_from(record.questions.len()).unwrap_or(i64::MAX);
    sqlx::query("UPDATE entry SET class = $1, questions = $2, search = $3 WHERE id = $4")
        .bind(record.class.value.to_string())
        .bind(questions)
        .bind(search.to_lowercase())
        .bind(&entry.id)
        .execute(&mut *tx)
        .await?;
    same::settle(tx, entry, record).await?;
    Ok(all)
}
