//! What can go wrong with the queue of jobs.

use crate::store::StoreError;
use apalis::prelude::WorkerError;

/// Why jobs cannot be put down or taken.
#[derive(Debug, thiserror::Error)]
pub enum JobError {
    /// The store.
    #[error(transparent)]
    Store(#[from] StoreError),
    /// The queue in the database.
    #[error(
        "the queue of jobs in the database failed: {0}; nothing is lost, start it again when the database is well"
    )]
    Queue(#[from] sqlx::Error),
    /// The library of the queue.
    #[error("the queue of jobs stopped: {0}; nothing is lost, start it again")]
    Stopped(String),
    /// Nothing was heard of this worker for long, as after this machine was asleep.
    #[error("this worker was taken for lost; it signs on anew")]
    TakenForLost,
    /// The photos are not where this machine looks for them.
    #[error(
        "{0}: this photo of the store is not there; give --store or --photos as those do who added it, or mount the folder"
    )]
    Misplaced(String),
}

impl JobError {
    /// Whether waiting may help.
    pub fn is_passing(&self) -> bool {
        match self {
            JobError::Store(error) => error.is_passing(),
            JobError::Queue(error) => StoreError::is_away(error),
            JobError::TakenForLost => true,
            JobError::Stopped(_) | JobError::Misplaced(_) => false,
        }
    }
}

impl From<apalis_postgres::Error> for JobError {
    fn from(error: apalis_postgres::Error) -> JobError {
        match error {
            apalis_postgres::Error::Database(error) => JobError::Queue(error),
            apalis_postgres::Error::WorkerOutOfSync => JobError::TakenForLost,
            other => JobError::Stopped(other.to_string()),
        }
    }
}

impl From<WorkerError> for JobError {
    fn from(error: WorkerError) -> JobError {
        match error {
            WorkerError::BackendError(error) => match error.downcast::<apalis_postgres::Error>() {
                Ok(error) => JobError::from(*error),
                Err(error) => JobError::Stopped(error.to_string()),
            },
            other => JobError::Stopped(other.to_string()),
        }
    }
}
