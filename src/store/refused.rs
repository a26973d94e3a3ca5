//! What came and gave no photo: mails and documents as rows with the reason, so that nothing that came is lost.

use super::entry::{Source, id_of, searched};
use super::history::{self, NewEvent};
use super::{Store, StoreError};

impl Store {
    /// Notes something that came and gave no photo, as a failed entry without photos: a mail or a document, known by
    /// its identity. False when it was noted before.
    pub async fn add_failure(
        &self,
        source: &Source,
        file_name: &str,
        kind: &str,
        message: &str,
    ) -> Result<bool, StoreError> {
        let id = id_of(source, &[], 0);
        let now = history::now_ms();
        let detail =
            serde_json::to_string(&source.detail).map_err(|e| sqlx::Error::Encode(e.into()))?;
        let mut tx = self.write().await?;
        let added = sqlx::query(
            "INSERT INTO entry (id, source, source_detail, part, file_name, state, failure_kind, failure_message, class, \
             questions, search, attempts, created_ms, changed_ms) \
             VALUES ($1, $2, $3, 0, $4, 'failed', $5, $6, '', 0, $7, 0, $8, $8) ON CONFLICT (id) DO NOTHING",
        )
        .bind(&id)
        .bind(source.kind.word())
        .bind(&detail)
        .bind(file_name)
        .bind(kind)
        .bind(message)
        .bind(searched(source, file_name))
        .bind(now)
        .execute(&mut *tx)
        .await?
        .rows_affected()
            > 0;
        if added {
            let event = NewEvent {
                who: source.kind.word(),
                kind: "failed",
                entry: Some(&id),
                detail: serde_json::json!({"source": source.to_string(), "kind": kind, "message": message}),
            };
            history::append(&mut tx, now, &event).await?;
        }
        tx.commit().await?;
        Ok(added)
    }
}
