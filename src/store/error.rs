//! What can go wrong with a store, and what to do about it.

use std::error::Error;
use std::io;
use std::path::PathBuf;

/// Why the store could not do what it was asked.
#[derive(Debug, thiserror::Error)]
pub enum StoreError {
    /// A folder or file of the store.
    #[error("{}: the store cannot use it: {source}; {}", path.display(), advice(source))]
    File {
        /// Which one.
        path: PathBuf,
        /// What the system says.
        source: io::Error,
    },
    /// The object store, or a file of it.
    #[error("{place}: the store cannot use it: {detail}; {}", object_advice(.cause))]
    Objects {
        /// Which one.
        place: String,
        /// What it says.
        detail: String,
        /// What kind of trouble it is.
        cause: ObjectCause,
    },
    /// The store's folder is a file.
    #[error("{}: a store is a folder, and this is a file; give a folder, it is made if there is none", .0.display())]
    NotAFolder(PathBuf),
    /// The database cannot be reached or opened.
    #[error(
        "the store's database {what} cannot be opened: {detail}; check that it is there and that you may write to it"
    )]
    Open {
        /// Which one, without its password.
        what: String,
        /// What the database says.
        detail: String,
        /// Whether it may only be away for a while.
        passing: bool,
    },
    /// The database failed in the middle.
    #[error(
        "the store's database failed: {0}; nothing of this step was kept. Check that its disk has room and that it can be written to, then try again"
    )]
    Database(#[from] sqlx::Error),
    /// There is no such entry.
    #[error("no entry {0:?} in this store; take the id from the list")]
    NoEntry(String),
    /// There is no such confirmation, or it was undone before.
    #[error("nothing to undo there: it is not in this store, or was undone already")]
    NothingToUndo,
    /// No list of that hash was sent.
    #[error("there is no such list here; choose the file once more")]
    NoList,
    /// An entry without a record was to be confirmed or matched.
    #[error("entry {0} has not been read yet; wait for it, or take another photo")]
    NotRead(String),
    /// An answer that is not understood.
    #[error(transparent)]
    Answer(#[from] crate::confirm::AnswerError),
    /// What the store holds is not what this version wrote.
    #[error(
        "entry {entry}: its stored record cannot be read: {detail}; run `platewright check-store`"
    )]
    Damaged {
        /// Which entry.
        entry: String,
        /// What is wrong.
        detail: String,
    },
    /// Something is already where a backup or a store is to be made.
    #[error("{}: something is there already, and nothing is ever overwritten; name a new folder", .0.display())]
    InTheWay(PathBuf),
    /// It is no backup.
    #[error("{}: is no backup; give the folder that `platewright backup` made, with its backup.json", .0.display())]
    NoBackup(PathBuf),
    /// A copy cannot be made, or is not what it should be.
    #[error("the store cannot be copied: {0}")]
    Copy(String),
    /// A table cannot be written.
    #[error("the table cannot be written: {0}")]
    Table(String),
}

/// What kind of trouble there is with an object store.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ObjectCause {
    /// There is nothing of that name.
    Missing,
    /// It does not let us in.
    Refused,
    /// It cannot be reached, or fails in the middle.
    Away,
}

impl StoreError {
    /// What the system says of a file, through the library that reads folders and object stores alike.
    pub(super) fn file(place: &str, error: &object_store::Error) -> StoreError {
        let mut cause: Option<&(dyn Error + 'static)> = Some(error);
        while let Some(error) = cause {
            if let Some(io) = error.downcast_ref::<io::Error>() {
                return StoreError::File {
                    path: place.into(),
                    source: io
                        .raw_os_error()
                        .map_or_else(|| io.kind().into(), io::Error::from_raw_os_error),
                };
            }
            cause = error.source();
        }
        StoreError::File {
            path: place.into(),
            source: io::Error::other(error.to_string()),
        }
    }

    /// What an object store says of a place in it.
    pub(super) fn objects(place: &str, error: object_store::Error) -> StoreError {
        use object_store::Error as E;
        let (detail, cause) = match &error {
            E::NotFound { .. } => (
                "there is nothing of that name".to_owned(),
                ObjectCause::Missing,
            ),
            E::PermissionDenied { .. } | E::Unauthenticated { .. } => (
                "it does not let this program in".to_owned(),
                ObjectCause::Refused,
            ),
            error => (error.to_string(), ObjectCause::Away),
        };
        StoreError::Objects {
            place: place.to_owned(),
            detail,
            cause,
        }
    }

    /// Whether the same may go well later without anybody changing anything here: the database or the object store
    /// cannot be reached, is being started, or has no room now.
    pub fn is_passing(&self) -> bool {
        match self {
            StoreError::Objects { cause, .. } => *cause == ObjectCause::Away,
            StoreError::Open { passing, .. } => *passing,
            StoreError::Database(error) => StoreError::is_away(error),
            StoreError::File { source, .. } => source.kind() == io::ErrorKind::StorageFull,
            _ => false,
        }
    }

    /// Whether a database cannot be reached now, or has no room.
    pub(crate) fn is_away(error: &sqlx::Error) -> bool {
        match error {
            sqlx::Error::Io(_)
            | sqlx::Error::Tls(_)
            | sqlx::Error::Protocol(_)
            | sqlx::Error::PoolTimedOut => true,
            // PostgreSQL's classes: 08 connection, 53 no room or no connection left, 57P it is stopped or started.
            sqlx::Error::Database(error) => error.code().is_some_and(|code| {
                ["08", "53", "57P"]
                    .iter()
                    .any(|class| code.starts_with(class))
            }),
            _ => false,
        }
    }
}

fn object_advice(cause: &ObjectCause) -> &'static str {
    match cause {
        ObjectCause::Missing => "run `platewright check-store` to see what is missing",
        ObjectCause::Refused => {
            "check the keys in AWS_ACCESS_KEY_ID and AWS_SECRET_ACCESS_KEY, and what they may do there"
        }
        ObjectCause::Away => "check AWS_ENDPOINT_URL, AWS_REGION and the net, and try again",
    }
}

fn advice(source: &io::Error) -> &'static str {
    match source.kind() {
        io::ErrorKind::StorageFull => "the disk is full: make room and try again, nothing is lost",
        io::ErrorKind::PermissionDenied | io::ErrorKind::ReadOnlyFilesystem => {
            "give yourself write access, or choose another folder with --store"
        }
        io::ErrorKind::NotFound => "run `platewright check-store` to see what is missing",
        _ => "check the disk and try again",
    }
}
