//! Intake: photos out of folders, archives, mails and PDFs into the store, and the reading of what waits there. Everything
//! that comes in is data from outside: names are shown and never followed, sizes are bounded before they are believed.

mod archive;
mod folder;
pub mod imap;
mod keep;
mod kind;
mod mail;
mod mailbox;
mod pdf;
mod reading;
mod settle;
mod walk;
mod watching;
mod work;

pub use folder::WatchOptions;
pub use keep::{Tally, keep_all};
pub use pdf::Page;
pub(crate) use reading::read as read_entry;
pub use reading::{Failure, Reading, Shown};
pub use walk::{Found, FoundPage, Item, Refused, Trouble, Walk};
pub use watching::{News, Watched, watch_all};
pub use work::{Desk, Event, Outcome, read_all};
pub(crate) use work::{PIXELS_IN_HAND, weight};

use std::sync::Arc;
use std::time::Duration;
use tokio::sync::watch;

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
    /// Largest mail (also each one of a mailbox), largest PDF, and largest archive inside another.
    pub nested_bytes: u64,
    /// Most pages of a PDF.
    pub pdf_pages: usize,
    /// Most pixels that a page of a PDF is drawn with, and that a picture on it may have.
    pub pdf_pixels: u64,
    /// A page that takes longer to draw is given up.
    pub pdf_seconds: u64,
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
            pdf_pages: 5_000,
            pdf_pixels: 12_000_000,
            pdf_seconds: 60,
        }
    }
}

/// The wish to stop, shared by all who work: what is in hand is finished, nothing new is begun.
#[derive(Debug, Clone)]
pub struct Stop(Arc<watch::Sender<bool>>);

impl Default for Stop {
    fn default() -> Stop {
        Stop(Arc::new(watch::Sender::new(false)))
    }
}

impl Stop {
    /// From now on nothing new is begun.
    pub fn set(&self) {
        self.0.send_replace(true);
    }

    /// Whether somebody wants to stop.
    pub fn is_set(&self) -> bool {
        *self.0.borrow()
    }

    /// Waits until somebody wants to stop.
    pub async fn wanted(&self) {
        // The sender lives as long as this value.
        let _ = self.0.subscribe().wait_for(|stop| *stop).await;
    }

    /// Waits so long; gives true at once when somebody wants to stop.
    pub(crate) async fn wanted_within(&self, time: Duration) -> bool {
        tokio::time::timeout(time, self.wanted()).await.is_ok()
    }
}
