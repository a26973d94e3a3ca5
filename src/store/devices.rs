//! Phones and browsers that were let in. What they show to be known by is not kept, only its hash.

use super::files::sha256;
use super::history::{self, NewEvent};
use super::{Store, StoreError};
use serde_json::json;
use sqlx::Row;
use sqlx::any::AnyRow;

/// A phone or browser.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Device {
    /// Hash of its token; its name in the database.
    pub token_hash: String,
    /// What its user calls himself or it.
    pub name: String,
    /// Since when it is let in, milliseconds since 1970 in UTC.
    pub paired_ms: i64,
}

fn device(row: &AnyRow) -> Result<Device, sqlx::Error> {
    Ok(Device {
        token_hash: row.try_get("token_hash")?,
        name: row.try_get("name")?,
        paired_ms: row.try_get("paired_ms")?,
    })
}

impl Store {
    /// Lets a device in that will show this token.
    pub async fn add_device(&self, token: &str, name: &str) -> Result<Device, StoreError> {
        let added = Device {
            token_hash: sha256(token.as_bytes()),
            name: name.to_owned(),
            paired_ms: history::now_ms(),
        };
        let mut tx = self.write().await?;
        sqlx::query("INSERT INTO device (token_hash, name, paired_ms) VALUES ($1, $2, $3)")
            .bind(&added.token_hash)
            .bind(name)
            .bind(added.paired_ms)
            .execute(&mut *tx)
            .await?;
        let event = NewEvent {
            who: name,
            kind: "paired",
            entry: None,
            detail: json!({"device": added.token_hash}),
        };
        history::append(&mut tx, added.paired_ms, &event).await?;
        tx.commit().await?;
        Ok(added)
    }

    /// The device that shows this token; `None` when it is not let in.
    pub async fn device(&self, token: &str) -> Result<Option<Device>, StoreError> {
        let row = sqlx::query("SELECT * FROM device WHERE token_hash = $1 AND revoked_ms IS NULL")
            .bind(sha256(token.as_bytes()))
            .fetch_optional(&self.pool)
            .await?;
        Ok(row.as_ref().map(device).transpose()?)
    }

    /// Everyone who is let in, the last first.
    pub async fn devices(&self) -> Result<Vec<Device>, StoreError> {
        let rows =
            sqlx::query("SELECT * FROM device WHERE revoked_ms IS NULL ORDER BY paired_ms DESC")
                .fetch_all(&self.pool)
                .await?;
        Ok(rows.iter().map(device).collect::<Result<_, _>>()?)
    }

    /// Calls a device by another name from now on.
    pub async fn rename_device(&self, token_hash: &str, name: &str) -> Result<(), StoreError> {
        sqlx::query("UPDATE device SET name = $1 WHERE token_hash = $2")
            .bind(name)
            .bind(token_hash)
            .execute(&self.pool)
            .await?;
        Ok(())
    }

    /// Lets a device in no longer.
    pub async fn revoke_device(&self, token_hash: &str, who: &str) -> Result<(), StoreError> {
        let now = history::now_ms();
        let mut tx = self.write().await?;
        sqlx::query(
            "UPDATE device SET revoked_ms = $1 WHERE token_hash = $2 AND revoked_ms IS NULL",
        )
        .bind(now)
        .bind(token_hash)
        .execute(&mut *tx)
        .await?;
        let event = NewEvent {
            who,
            kind: "unpaired",
            entry: None,
            detail: json!({"device": token_hash}),
        };
        history::append(&mut tx, now, &event).await?;
        tx.commit().await?;
        Ok(())
    }
}
