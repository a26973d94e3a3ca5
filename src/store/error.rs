//! What can go wrong with a store, and what to do about it.

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
    /// A table cannot be written.
    #[error("the table cannot be written: {0}")]
    Table(String),
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
