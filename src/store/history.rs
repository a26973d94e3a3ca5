//! The history: every event once, never changed, each holding the hash of the one before it. Whoever changes a
//! line afterwards breaks the chain from there on.

use super::files::sha256;
use super::{Store, StoreError};
use serde::Serialize;
use serde_json::Value;
use sqlx::any::AnyRow;
use sqlx::{Any, AnyConnection, Row, Transaction};

/// Something that happened.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Event {
    /// Its number, from 1, without gaps.
    pub seq: i64,
    /// When, milliseconds since 1970 in UTC.
    pub at_ms: i64,
    /// Who did it: a person's name, or the source of a photo.
    pub who: String,
    /// What: `added`, `read`, `failed`, `requeued`, `confirmed`, `undone`, `matched`, `stock`, `stock_undone`.
    pub kind: String,
    /// The entry that it happened to.
    pub entry: Option<String>,
    /// What exactly.
    pub detail: Value,
    /// Hash of the event before it.
    pub previous: String,
    /// SHA-256 of `hashed`, hexadecimal.
    pub hash: String,
    /// This event as one text: a JSON list of `previous`, `seq`, `at_ms`, `who`, `kind`, `entry` and the text of
    /// `detail`. Whoever has it can check the chain with SHA-256 alone.
    pub hashed: String,
}

/// An event to be noted.
pub(super) struct NewEvent<'a> {
    pub(super) who: &'a str,
    pub(super) kind: &'a str,
    pub(super) entry: Option<&'a str>,
    pub(super) detail: Value,
}

/// Now, milliseconds since 1970 in UTC.
pub(super) fn now_ms() -> i64 {
    jiff::Timestamp::now().as_millisecond()
}

/// The text of an event that is hashed: its parts as a JSON list, so that no two events give the same text.
fn hashed(
    previous: &str,
    seq: i64,
    at_ms: i64,
    who: &str,
    kind: &str,
    entry: Option<&str>,
    detail: &str,
) -> String {
    serde_json::json!([previous, seq, at_ms, who, kind, entry, detail]).to_string()
}

/// Adds an event to the chain and gives its number. Others who want to add one wait until the transaction ends.
pub(super) async fn append(
    tx: &mut AnyConnection,
    at_ms: i64,
    event: &NewEvent<'_>,
) -> Result<i64, sqlx::Error> {
    sqlx::query("UPDATE chain SET seq = seq + 1 WHERE id = 1")
        .execute(&mut *tx)
        .await?;
    let last = sqlx::query("SELECT seq, hash FROM chain WHERE id = 1")
        .fetch_one(&mut *tx)
        .await?;
    let (seq, previous): (i64, String) = (last.try_get("seq")?, last.try_get("hash")?);
    let detail = event.detail.to_string();
    let hashed = hashed(
        &previous,
        seq,
        at_ms,
        event.who,
        event.kind,
        event.entry,
        &detail,
    );
    let hash = sha256(hashed.as_bytes());
    sqlx::query(
        "INSERT INTO event (seq, at_ms, who, kind, entry, detail, previous, hash) VALUES ($1, $2, $3, $4, $5, $6, $7, $8)",
    )
    .bind(seq)
    .bind(at_ms)
    .bind(event.who)
    .bind(event.kind)
    .bind(event.entry)
    .bind(detail)
    .bind(previous)
    .bind(&hash)
    .execute(&mut *tx)
    .await?;
    sqlx::query("UPDATE chain SET hash = $1 WHERE id = 1")
        .bind(&hash)
        .execute(tx)
        .await?;
    Ok(seq)
}

pub(super) fn event(row: &AnyRow) -> Result<Event, sqlx::Error> {
    let text = |name: &str| row.try_get::<String, _>(name);
    let (seq, at_ms) = (row.try_get("seq")?, row.try_get("at_ms")?);
    let (who, kind, detail, previous) = (
        text("who")?,
        text("kind")?,
        text("detail")?,
        text("previous")?,
    );
    let entry: Option<String> = row.try_get("entry")?;
    Ok(Event {
        hashed: hashed(
            &previous,
            seq,
            at_ms,
            &who,
            &kind,
            entry.as_deref(),
            &detail,
        ),
        seq,
        at_ms,
        who,
        kind,
        entry,
        detail: serde_json::from_str(&detail).unwrap_or(Value::String(detail)),
        previous,
        hash: text("hash")?,
    })
}

impl Event {
    /// Whether nothing of it was changed since it was written after the event with the hash `previous`.
    pub(super) fn follows(&self, previous: &str) -> bool {
        self.previous == previous && self.hash == sha256(self.hashed.as_bytes())
    }
}

impl Store {
    /// A transaction that writes.
    pub(super) async fn write(&self) -> Result<Transaction<'static, Any>, StoreError> {
        Ok(self.pool.begin_with(self.begin).await?)
    }

    /// What happened to an entry, or to the whole store, the last first. `limit` 0 gives all.
    pub async fn history(&self, entry: Option<&str>, limit: u32) -> Result<Vec<Event>, StoreError> {
        let rows = sqlx::query(
            "SELECT * FROM event WHERE ($1 = '' OR entry = $1) ORDER BY seq DESC LIMIT $2",
        )
        .bind(entry.unwrap_or_default())
        .bind(if limit == 0 {
            i64::MAX
        } else {
            i64::from(limit)
        })
        .fetch_all(&self.pool)
        .await?;
        Ok(rows.iter().map(event).collect::<Result<_, _>>()?)
    }

    /// The events after this number, in their order: for whoever shows what happens as it happens.
    pub async fn events_after(&self, seq: i64, limit: u32) -> Result<Vec<Event>, StoreError> {
        let rows = sqlx::query("SELECT * FROM event WHERE seq > $1 ORDER BY seq LIMIT $2")
            .bind(seq)
            .bind(i64::from(limit))
            .fetch_all(&self.pool)
            .await?;
        Ok(rows.iter().map(event).collect::<Result<_, _>>()?)
    }

    /// The number of the last event; 0 in an empty store.
    pub async fn last_event(&self) -> Result<i64, StoreError> {
        let row = sqlx::query("SELECT seq FROM chain WHERE id = 1")
            .fetch_one(&self.pool)
            .await?;
        Ok(row.try_get("seq")?)
    }
}
