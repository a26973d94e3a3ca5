//! The queue: one job for every entry that waits.

use super::JobError;
use apalis::prelude::TaskBuilder;
use apalis_postgres::PostgresStorage;
use apalis_postgres::queries::push_tasks;
use serde::{Deserialize, Serialize};
use sqlx::postgres::PgPoolOptions;
use sqlx::{PgPool, Row};
use std::time::Duration;

/// The name of our jobs among all in the database.
pub(super) const QUEUE: &str = "platewright::read";

/// A job is begun so often before it is given up, if it fails for reasons that may pass.
pub(super) const MOST_ATTEMPTS: usize = 6;

/// So many jobs are put down in one step.
const STEP: i64 = 500;

/// What is to be done: an entry is to be read.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub(super) struct Job {
    pub(super) entry: String,
}

/// The queue of jobs in a store's database. Clones share their connections.
#[derive(Debug, Clone)]
pub struct Jobs {
    pub(super) pool: PgPool,
}

impl Jobs {
    /// The queue in this PostgreSQL database; its tables are made where there are none. They lie in a schema of their
    /// own, `apalis`.
    pub async fn open(url: &str) -> Result<Jobs, JobError> {
        let pool = PgPoolOptions::new()
            .max_connections(4)
            .acquire_timeout(Duration::from_secs(10))
            .connect(url)
            .await?;
        let mut alone = pool.acquire().await?;
        // Of two who come first, one makes the tables.
        lock(&mut alone, "pg_advisory_lock").await?;
        let made = PostgresStorage::<()>::setup(&pool).await;
        lock(&mut alone, "pg_advisory_unlock").await?;
        drop(alone);
        made?;
        Ok(Jobs { pool })
    }

    /// Puts down a job for every entry that waits and has none. Gives how many. Asked by several at once, or after
    /// being killed half way, it puts down what is missing and nothing twice.
    pub async fn enqueue_waiting(&self) -> Result<u64, JobError> {
        let mut all = 0;
        loop {
            let put = self.enqueue_some().await?;
            all += put;
            if put < STEP.unsigned_abs() {
                return Ok(all);
            }
        }
    }

    async fn enqueue_some(&self) -> Result<u64, JobError> {
        /// Entries that nobody reads.
        const WAITS: &str =
            "(e.state = 'queued' OR (e.state = 'reading' AND e.lease_until_ms < $2))";
        let mut tx = self.pool.begin().await?;
        lock(&mut tx, "pg_advisory_xact_lock").await?;
        let now = jiff::Timestamp::now().as_millisecond();
        // A job that came to its end makes room for the next one of its entry.
        sqlx::query(sqlx::AssertSqlSafe(format!(
            "DELETE FROM apalis.jobs j USING entry e WHERE j.job_type = $1 AND j.idempotency_key = e.id AND {WAITS} \
             AND (j.status IN ('Done', 'Killed') OR (j.status = 'Failed' AND j.attempts >= j.max_attempts))"
        )))
        .bind(QUEUE)
        .bind(now)
        .execute(&mut *tx)
        .await?;
        let rows = sqlx::query(sqlx::AssertSqlSafe(format!(
            "SELECT e.id FROM entry e WHERE {WAITS} AND NOT EXISTS \
             (SELECT 1 FROM apalis.jobs j WHERE j.job_type = $1 AND j.idempotency_key = e.id) \
             ORDER BY e.created_ms, e.id LIMIT $3"
        )))
        .bind(QUEUE)
        .bind(now)
        .bind(STEP)
        .fetch_all(&mut *tx)
        .await?;
        let mut tasks = Vec::with_capacity(rows.len());
        for row in &rows {
            let entry: String = row.try_get("id")?;
            let job = serde_json::to_vec(&Job {
                entry: entry.clone(),
            })
            .map_err(|e| JobError::Stopped(e.to_string()))?;
            tasks.push(
                TaskBuilder::new(job)
                    .max_attempts(MOST_ATTEMPTS)
                    // The database keeps it unique.
                    .idempotency_key(entry)
                    .build(),
            );
        }
        if !tasks.is_empty() {
            push_tasks(&mut *tx, QUEUE, tasks).await?;
        }
        tx.commit().await?;
        Ok(rows.len() as u64)
    }

    /// Forgets jobs that were done long ago, and workers that are long gone and hold none.
    pub(super) async fn tidy(&self) -> Result<(), JobError> {
        for statement in [
            "DELETE FROM apalis.jobs WHERE job_type = $1 AND status = 'Done' AND done_at < now() - interval '1 day'",
            "DELETE FROM apalis.workers w WHERE w.worker_type = $1 AND w.last_seen < now() - interval '1 day' \
             AND NOT EXISTS (SELECT 1 FROM apalis.jobs j WHERE j.lock_by = w.id)",
        ] {
            sqlx::query(statement)
                .bind(QUEUE)
                .execute(&self.pool)
                .await?;
        }
        Ok(())
    }
}

/// Takes or gives back a lock that one session of the database has at a time.
async fn lock(connection: &mut sqlx::PgConnection, how: &'static str) -> Result<(), sqlx::Error> {
    /// A number that only this program uses, of the letters "plate".
    const NUMBER: i64 = 0x70_6c61_7465;
    sqlx::query(sqlx::AssertSqlSafe(format!("SELECT {how}($1)")))
        .bind(NUMBER)
        .execute(connection)
        .await?;
    Ok(())
}
