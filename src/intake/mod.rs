//! Intake: photos out of folders, archives and mails into the store, and the reading of what waits there. Everything
//! that comes in is data from outside: names are shown and never followed, sizes are bounded before they are believed.

mod archive;
mod keep;
mod kind;
mod mail;
mod reading;
mod walk;
mod work;

pub use keep::{Tally, keep_all};
pub(crate) use reading::read as read_entry;
pub use reading::{Failure, Reading};
pub use walk::{Found, Item, Trouble, Walk};
pub use work::{Desk, Event, Outcome, read_all};
pub(crate) use work::{PIXELS_IN_HAND, weight};

use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

/// What sources may cost. Checked while they are unpacked, whatever they claim.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Limits {
    /// Of each photo.
    pub photo: crate::photo::Limits,
    /// Most files in an archive.
    pub archive_files: usize,
    /// Most bytes that an archive may unpack to, those inside it included.
    pub archive_bytes: u64,
    /// By how much a file may grow when it is unpacked. Photos hardly grow at all.
    pub ratio: u64,
    /// How deep archives and mails may lie in each other.
    pub depth: u32,
    /// Largest mail, and largest archive inside another.
    pub nested_bytes: u64,
}

impl Default for Limits {
    /// Fits the archives and mailboxes of a shop; memory stays below 1 GiB.
    fn default() -> Self {
        Limits {
            photo: crate::photo::Limits::default(),
            archive_files: 200_000,
            archive_bytes: 200 << 30,
            ratio: 200,
            depth: 3,
            nested_bytes: 256 << 20,
        }
    }
}

/// The wish to stop, shared by all who work: what is in hand is finished, nothing new is begun.
#[derive(Debug, Clone, Default)]
pub struct Stop(Arc<AtomicBool>);

impl Stop {
    /// From now on nothing new is begun.
    pub fn set(&self) {
        self.0.store(true, Ordering::SeqCst);
    }

    /// Whether somebody wants to stop.
    pub fn is_set(&self) -> bool {
        self.0.load(Ordering::SeqCst)
    }
}
