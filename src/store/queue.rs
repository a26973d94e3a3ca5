//! What is to be read: taking the next entry for a while, and giving back what came of it. An entry whose reader
//! has gone away is free again when its time is over.

use super::entry::{self, EntryState, StoredPhoto};
use super::files::sha256;
use super::history::{self, NewEvent};
use super::{Entry, Store, StoreError};
use crate::record::NameplateRecord;
use serde_json::json;
use sqlx::{AnyConnection, Row};
use std::time::Duration;

/// With what an entry was read.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Versions {
    /// Which models: a hash over their files.
    pub models: String,
    /// Which rules: the version of this program.
    pub rules: String,
}

impl Versions {
    /// These models with the rules of this program.
    pub fn with_models(models: impl Into<String>) -> Versions {
        Versions {
            models: models.into(),
            rules: env!("CARGO_PKG_VERSION").to_owned(),
        }
    }
}

/// An entry that is to be read by whoever took it, until the time is over.
#[derive(Debug, Clone, PartialEq)]
pub struct Lease {
    /// The entry.
    pub entry: Entry,
    /// Its photos.
    pub photos: Vec<StoredPhoto>,
    worker: String,
}

/// A reading as the store keeps it.
#[derive(Debug, Clone, PartialEq)]
pub struct StoredReading {
    /// The number of its event.
    pub seq: i64,
    /// What was read.
    pub record: NameplateRecord,
    /// With what.
    pub versions: Versions,
}

/// An entry that was taken so often and never finished brings its reader down: it is given up. Readers that are killed
/// for other reasons, one after the other, must not cost an entry that is not to blame.
const MOST_ATTEMPTS: i64 = 8;

/// What came of asking for one entry.
#[derive(Debug, Clone, PartialEq)]
pub enum Asked {
    /// It is to be read by whoever asked.
    Lease(Box<Lease>),
    /// Somebody else reads it now.
    Busy,
    /// Nothing is to be done: it was read, or failed.
    Done,
}

/// Which entries are free to be taken; `$1` is now.
const FREE: &str = "(state = 'queued' OR (state = 'reading' AND lease_until_ms < $1))";

impl Store {
    /// Takes the entry that waits longest, for at most `time`; `None` when nothing waits. Two workers never hold
    /// the same entry. What was begun before and never finished comes last: if it brings its reader down, all
    /// others have been read by then.
    pub async fn take_next(
        &self,
        worker: &str,
        time: Duration,
    ) -> Result<Option<Lease>, StoreError> {
        loop {
            let next = sqlx::query(sqlx::AssertSqlSafe(format!(
                "SELECT id FROM entry WHERE {FREE} ORDER BY attempts, created_ms, id LIMIT 1"
            )))
            .bind(history::now_ms())
            .fetch_optional(&self.pool)
            .await?;
            let Some(next) = next else { return Ok(None) };
            let id: String = next.try_get("id")?;
            // Where another worker was quicker, the next one is looked for.
            if let Asked::Lease(lease) = self.take(&id, worker, time).await? {
                return Ok(Some(*lease));
            }
        }
    }

    /// Takes this entry, for at most `time`, if it is free.
    pub async fn take(&self, id: &str, worker: &str, time: Duration) -> Result<Asked, StoreError> {
        let now = history::now_ms();
        let until = now + i64::try_from(time.as_millis()).unwrap_or(i64::MAX / 2);
        let mut tx = self.write().await?;
        let taken = sqlx::query(sqlx::AssertSqlSafe(format!(
            "UPDATE entry SET state = 'reading', worker = $2, lease_until_ms = $3, attempts = attempts + 1 \
             WHERE id = $4 AND {FREE}"
        )))
        .bind(now)
        .bind(worker)
        .bind(until)
        .bind(id)
        .execute(&mut *tx)
        .await?
        .rows_affected();
        if taken == 0 {
            drop(tx);
            return Ok(match self.entry(id).await?.state {
                EntryState::Read | EntryState::Failed => Asked::Done,
                EntryState::Queued | EntryState::Reading => Asked::Busy,
            });
        }
        let row = sqlx::query("SELECT attempts FROM entry WHERE id = $1")
            .bind(id)
            .fetch_one(&mut *tx)
            .await?;
        let before = row.try_get::<i64, _>("attempts")? - 1;
        if before >= MOST_ATTEMPTS {
            let message = format!(
                "reading it was begun {before} times and never came to an end; look at the photo, or take another"
            );
            fail(&mut tx, id, "gave_up", &message, now).await?;
            tx.commit().await?;
            return Ok(Asked::Done);
        }
        tx.commit().await?;
        Ok(Asked::Lease(Box::new(Lease {
            photos: self.photos(id).await?,
            entry: self.entry(id).await?,
            worker: worker.to_owned(),
        })))
    }

    /// Keeps what was read. Gives false, and keeps nothing, when the entry is no longer held by the lease.
    pub async fn save_reading(
        &self,
        lease: &Lease,
        record: &NameplateRecord,
        versions: &Versions,
    ) -> Result<bool, StoreError> {
        let now = history::now_ms();
        let mut tx = self.write().await?;
        if !release(&mut tx, lease, EntryState::Read, now).await? {
            return Ok(false);
        }
        keep_reading(&mut tx, &lease.entry, record, versions, now).await?;
        tx.commit().await?;
        Ok(true)
    }

    /// Notes why an entry could not be read. Gives false when the entry is no longer held by the lease.
    pub async fn save_failure(
        &self,
        lease: &Lease,
        kind: &str,
        message: &str,
    ) -> Result<bool, StoreError> {
        let now = history::now_ms();
        let mut tx = self.write().await?;
        if !release(&mut tx, lease, EntryState::Failed, now).await? {
            return Ok(false);
        }
        fail(&mut tx, &lease.entry.id, kind, message, now).await?;
        tx.commit().await?;
        Ok(true)
    }

    /// Holds an entry for longer. Gives false when the entry is no longer held by the lease.
    pub async fn extend(&self, lease: &Lease, time: Duration) -> Result<bool, StoreError> {
        let until = history::now_ms() + i64::try_from(time.as_millis()).unwrap_or(i64::MAX / 2);
        let held = sqlx::query(
            "UPDATE entry SET lease_until_ms = $1 WHERE id = $2 AND state = 'reading' AND worker = $3",
        )
        .bind(until)
        .bind(&lease.entry.id)
        .bind(&lease.worker)
        .execute(&self.pool)
        .await?;
        Ok(held.rows_affected() > 0)
    }

    /// Gives an entry back unread, as if it had never been taken.
    pub async fn give_back(&self, lease: &Lease) -> Result<(), StoreError> {
        sqlx::query(
            "UPDATE entry SET state = 'queued', worker = NULL, lease_until_ms = NULL, attempts = attempts - 1 \
             WHERE id = $1 AND state = 'reading' AND worker = $2",
        )
        .bind(&lease.entry.id)
        .bind(&lease.worker)
        .execute(&self.pool)
        .await?;
        Ok(())
    }

    /// Puts everything that this worker holds back into the queue: for one that is known to be gone.
    pub(super) async fn release_all(&self, worker: &str) -> Result<u64, StoreError> {
        let released = sqlx::query(
            "UPDATE entry SET state = 'queued', worker = NULL, lease_until_ms = NULL \
             WHERE state = 'reading' AND worker = $1",
        )
        .bind(worker)
        .execute(&self.pool)
        .await?;
        Ok(released.rows_affected())
    }

    /// Puts failed entries back into the queue: this one, or all. Gives how many. What has no photo stays: there is
    /// nothing to read.
    pub async fn retry_failed(&self, only: Option<&str>, who: &str) -> Result<u64, StoreError> {
        let now = history::now_ms();
        let mut tx = self.write().await?;
        let rows = sqlx::query(
            "SELECT id FROM entry WHERE state = 'failed' AND ($1 = '' OR id = $1) \
                 AND EXISTS (SELECT 1 FROM entry_photo WHERE entry = entry.id)",
        )
        .bind(only.unwrap_or_default())
        .fetch_all(&mut *tx)
        .await?;
        for row in &rows {
            let id: String = row.try_get("id")?;
            sqlx::query(
                "UPDATE entry SET state = 'queued', failure_kind = NULL, failure_message = NULL, attempts = 0, \
                 changed_ms = $1 WHERE id = $2",
            )
            .bind(now)
            .bind(&id)
            .execute(&mut *tx)
            .await?;
            let event = NewEvent {
                who,
                kind: "requeued",
                entry: Some(&id),
                detail: json!({}),
            };
            history::append(&mut tx, now, &event).await?;
        }
        tx.commit().await?;
        Ok(rows.len() as u64)
    }

    /// The last reading of an entry; `None` when it has not been read.
    pub async fn reading(&self, entry: &str) -> Result<Option<StoredReading>, StoreError> {
        let mut connection = self.pool.acquire().await?;
        last_reading(&mut connection, entry).await
    }
}

/// Keeps a reading of an entry, and what the list shows of it.
pub(super) async fn keep_reading(
    tx: &mut AnyConnection,
    entry: &Entry,
    record: &NameplateRecord,
    versions: &Versions,
    now_ms: i64,
) -> Result<(), StoreError> {
    let json = serde_json::to_string(record).map_err(|e| sqlx::Error::Encode(e.into()))?;
    let event = NewEvent {
        who: "reader",
        kind: "read",
        entry: Some(&entry.id),
        detail: json!({"record": sha256(json.as_bytes()), "models": versions.models, "rules": versions.rules}),
    };
    let seq = history::append(&mut *tx, now_ms, &event).await?;
    sqlx::query(
        "INSERT INTO reading (entry, seq, record, models, rules) VALUES ($1, $2, $3, $4, $5)",
    )
    .bind(&entry.id)
    .bind(seq)
    .bind(&json)
    .bind(&versions.models)
    .bind(&versions.rules)
    .execute(&mut *tx)
    .await?;
    super::confirmation::summarise(tx, entry).await?;
    Ok(())
}

/// The last reading of an entry.
pub(super) async fn last_reading(
    connection: &mut AnyConnection,
    entry: &str,
) -> Result<Option<StoredReading>, StoreError> {
    let row = sqlx::query(
        "SELECT seq, record, models, rules FROM reading WHERE entry = $1 ORDER BY seq DESC LIMIT 1",
    )
    .bind(entry)
    .fetch_optional(connection)
    .await?;
    let Some(row) = row else { return Ok(None) };
    let json: String = row.try_get("record")?;
    let record = NameplateRecord::from_json(&json).map_err(|error| StoreError::Damaged {
        entry: entry.to_owned(),
        detail: error.to_string(),
    })?;
    Ok(Some(StoredReading {
        seq: row.try_get("seq")?,
        record,
        versions: Versions {
            models: row.try_get("models")?,
            rules: row.try_get("rules")?,
        },
    }))
}

/// Ends a lease; false when it had ended before.
pub(super) async fn release(
    tx: &mut AnyConnection,
    lease: &Lease,
    state: EntryState,
    now_ms: i64,
) -> Result<bool, StoreError> {
    entry::touch(tx, &lease.entry.id, now_ms).await?;
    let held = sqlx::query(
        "UPDATE entry SET state = $1, worker = NULL, lease_until_ms = NULL, failure_kind = NULL, failure_message = NULL \
         WHERE id = $2 AND state = 'reading' AND worker = $3",
    )
    .bind(state.word())
    .bind(&lease.entry.id)
    .bind(&lease.worker)
    .execute(tx)
    .await?;
    Ok(held.rows_affected() > 0)
}

async fn fail(
    tx: &mut AnyConnection,
    id: &str,
    kind: &str,
    message: &str,
    now_ms: i64,
) -> Result<(), StoreError> {
    sqlx::query(
        "UPDATE entry SET state = 'failed', failure_kind = $1, failure_message = $2, worker = NULL, lease_until_ms = NULL, \
         changed_ms = $3 WHERE id = $4",
    )
    .bind(kind)
    .bind(message)
    .bind(now_ms)
    .bind(id)
    .execute(&mut *tx)
    .await?;
    let event = NewEvent {
        who: "reader",
        kind: "failed",
        entry: Some(id),
        detail: json!({"kind": kind, "message": message}),
    };
    history::append(tx, now_ms, &event).await?;
    Ok(())
}
