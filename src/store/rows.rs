//! Log pages: one photo with a motor a row. The entry of the page becomes its first row, and every further row is an
//! entry of its own on the same photo; all at once, so that a page is never there by halves.

use super::entry::{Entry, EntryState, id_of, searched};
use super::history::{self, NewEvent};
use super::queue::{Lease, Versions, keep_reading, release};
use super::{Store, StoreError};
use crate::record::NameplateRecord;
use serde_json::json;
use sqlx::AnyConnection;

impl Store {
    /// Keeps what was read of the rows of a page, from the top down. Gives false, and keeps nothing, when the entry
    /// is no longer held by the lease.
    pub async fn save_rows(
        &self,
        lease: &Lease,
        rows: &[NameplateRecord],
        versions: &Versions,
    ) -> Result<bool, StoreError> {
        let now = history::now_ms();
        let mut tx = self.write().await?;
        if !release(&mut tx, lease, EntryState::Read, now).await? {
            return Ok(false);
        }
        let hashes: Vec<String> = lease.photos.iter().map(|p| p.sha256.clone()).collect();
        for (part, record) in (0..).zip(rows) {
            let mut entry = lease.entry.clone();
            entry.source.detail.row = Some(part + 1);
            entry.file_name = row_name(&lease.entry, part + 1);
            entry.part = part;
            if part == 0 {
                name(&mut tx, &entry).await?;
            } else {
                entry.id = id_of(&lease.entry.source, &hashes, part);
                if !add(&mut tx, &entry, &hashes, now).await? {
                    continue;
                }
            }
            let mut record = record.clone();
            record.file = Some(entry.file_name.clone());
            keep_reading(&mut tx, &entry, &record, versions, now).await?;
        }
        tx.commit().await?;
        Ok(true)
    }
}

/// The page's name with the row: `log.pdf#page=1&row=4`, `page.jpg#row=4`.
fn row_name(page: &Entry, row: u32) -> String {
    let before = match page.source.detail.page {
        Some(_) => '&',
        None => '#',
    };
    format!("{}{before}row={row}", page.file_name)
}

/// Gives the entry of the page the name of its first row.
async fn name(tx: &mut AnyConnection, entry: &Entry) -> Result<(), StoreError> {
    sqlx::query("UPDATE entry SET source_detail = $1, file_name = $2 WHERE id = $3")
        .bind(detail(entry)?)
        .bind(&entry.file_name)
        .bind(&entry.id)
        .execute(tx)
        .await?;
    Ok(())
}

/// Adds the entry of a further row; false when it is there.
async fn add(
    tx: &mut AnyConnection,
    entry: &Entry,
    photos: &[String],
    now_ms: i64,
) -> Result<bool, StoreError> {
    let added = sqlx::query(
        "INSERT INTO entry (id, source, source_detail, part, file_name, state, class, questions, search, attempts, \
         created_ms, changed_ms) VALUES ($1, $2, $3, $4, $5, 'read', '', 0, $6, 0, $7, $8) ON CONFLICT (id) DO NOTHING",
    )
    .bind(&entry.id)
    .bind(entry.source.kind.word())
    .bind(detail(entry)?)
    .bind(i64::from(entry.part))
    .bind(&entry.file_name)
    .bind(searched(&entry.source, &entry.file_name))
    .bind(entry.created_ms)
    .bind(now_ms)
    .execute(&mut *tx)
    .await?
    .rows_affected()
        > 0;
    if !added {
        return Ok(false);
    }
    for (position, photo) in photos.iter().enumerate() {
        sqlx::query("INSERT INTO entry_photo (entry, position, photo) VALUES ($1, $2, $3)")
            .bind(&entry.id)
            .bind(i64::try_from(position).unwrap_or(i64::MAX))
            .bind(photo)
            .execute(&mut *tx)
            .await?;
    }
    let event = NewEvent {
        who: "reader",
        kind: "added",
        entry: Some(&entry.id),
        detail: json!({"source": entry.source.to_string(), "file": entry.file_name, "photos": photos}),
    };
    history::append(tx, now_ms, &event).await?;
    Ok(true)
}

fn detail(entry: &Entry) -> Result<String, StoreError> {
    let detail = serde_json::to_string(&entry.source.detail);
    Ok(detail.map_err(|e| sqlx::Error::Encode(e.into()))?)
}
