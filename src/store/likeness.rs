//! What photos look like, and which others look the same. Found by the pieces of their hashes, through an index.

use super::{Store, StoreError};
use crate::photo::Likeness;
use sqlx::{AnyConnection, Row};
use std::collections::BTreeSet;

impl Store {
    /// Keeps what photos look like, each named by the hash of its file. It follows from the file: kept once.
    pub async fn keep_likenesses(&self, photos: &[(String, Likeness)]) -> Result<(), StoreError> {
        let mut tx = self.write().await?;
        // In one order, so that nobody waits for somebody who waits for them.
        let photos: BTreeSet<(&str, String, Likeness)> = photos
            .iter()
            .map(|(photo, likeness)| (photo.as_str(), likeness.to_string(), *likeness))
            .collect();
        for (photo, hash, likeness) in photos {
            let added = sqlx::query(
                "INSERT INTO likeness (photo, hash) VALUES ($1, $2) ON CONFLICT (photo) DO NOTHING",
            )
            .bind(photo)
            .bind(hash)
            .execute(&mut *tx)
            .await?;
            if added.rows_affected() == 0 {
                continue;
            }
            for piece in likeness.pieces() {
                sqlx::query("INSERT INTO likeness_piece (piece, photo) VALUES ($1, $2)")
                    .bind(i64::from(piece))
                    .bind(photo)
                    .execute(&mut *tx)
                    .await?;
            }
        }
        tx.commit().await?;
        Ok(())
    }
}

/// The photos that are the same picture as one of the entry's, its own among them.
pub(super) async fn alike(
    connection: &mut AnyConnection,
    entry: &str,
) -> Result<BTreeSet<String>, StoreError> {
    let own = sqlx::query(
        "SELECT l.hash FROM entry_photo e JOIN likeness l ON l.photo = e.photo WHERE e.entry = $1",
    )
    .bind(entry)
    .fetch_all(&mut *connection)
    .await?;
    let mut found = BTreeSet::new();
    for row in own {
        let own = likeness(&row.try_get::<String, _>("hash")?)?;
        let pieces: Vec<String> = own.neighbours().map(|piece| piece.to_string()).collect();
        let sql = format!(
            "SELECT photo, hash FROM likeness WHERE photo IN (SELECT photo FROM likeness_piece WHERE piece IN ({}))",
            pieces.join(", ")
        );
        // A statement of its own for every photo is not worth keeping.
        let rows = sqlx::query(sqlx::AssertSqlSafe(sql))
            .persistent(false)
            .fetch_all(&mut *connection)
            .await?;
        for row in rows {
            if own.is_like(likeness(&row.try_get::<String, _>("hash")?)?) {
                found.insert(row.try_get("photo")?);
            }
        }
    }
    Ok(found)
}

fn likeness(hash: &str) -> Result<Likeness, sqlx::Error> {
    hash.parse().map_err(|e| sqlx::Error::Decode(Box::new(e)))
}
