//! What can go wrong with the queue of jobs.

use crate::store::StoreError;
use apalis::prelude::WorkerError;
use apalis_core::backend::finalize::DurableError;

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

/// How the library wraps what the queue in the database says.
type Wrapped = DurableError<apalis_postgres::Error, serde_json::Error>;

impl From<WorkerError> for JobError {
    fn from(error: WorkerError) -> JobError {
        let WorkerError::BackendError(error) = error else {
            return JobError::Stopped(error.to_string());
        };
        match error.downcast::<Wrapped>() {
            Ok(error) => match *error {
                DurableError::PollNextError(error) => JobError::from(error),
                other => JobError::Stopped(other.to_string()),
            },
            Err(error) => match error.downcast::<apalis_postgres::Error>() {
                Ok(error) => JobError::from(*error),
                Err(error) => JobError::Stopped(error.to_string()),
            },
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_database_that_is_away_is_known_however_the_library_wraps_it() {
        let away = || apalis_postgres::Error::Database(sqlx::Error::PoolTimedOut);
        for wrapped in [
            WorkerError::BackendError(Box::new(away())),
            WorkerError::BackendError(Box::new(Wrapped::PollNextError(away()))),
        ] {
            assert!(JobError::from(wrapped).is_passing());
        }
        let lost = Wrapped::PollNextError(apalis_postgres::Error::WorkerOutOfSync);
        let lost = JobError::from(WorkerError::BackendError(Box::new(lost)));
        assert!(matches!(lost, JobError::TakenForLost), "{lost}");
    }
}
