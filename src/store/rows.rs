//! Log pages: one photo with a motor a row. The entry of the page becomes its first row, and every further row is an
//! entry of its own on the same photo; all at once, so that a page is never there by halves.

use super::entry::{Addition, Entry, EntryState, encoded, id_of, insert};
use super::history;
use super::queue::{Lease, Versions, keep_reading, release};
use super::{Store, StoreError};
use crate::record::NameplateRecord;
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
                let addition = Addition {
                    id: &entry.id,
                    source: &entry.source,
                    part,
                    file_name: &entry.file_name,
                    state: EntryState::Read,
                    photos: &hashes,
                    who: "reader",
                    created_ms: entry.created_ms,
                    now_ms: now,
                };
                if !insert(&mut tx, &addition).await? {
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
        .bind(encoded(&entry.source.detail)?)
        .bind(&entry.file_name)
        .bind(&entry.id)
        .execute(tx)
        .await?;
    Ok(())
}
