//! Watching: sources are taken in as things come, and beside it what waits in the store is read, until somebody
//! wants to stop.

use super::folder::{self, WatchOptions};
use super::imap;
use super::work::{Desk, Event, read_all};
use super::{Stop, Tally};
use crate::store::StoreError;
use std::path::PathBuf;
use std::sync::Arc;
use std::time::Duration;
use tokio::sync::Notify;
use tokio::sync::mpsc::UnboundedSender;
use tokio::task::JoinSet;

/// Something to watch.
#[derive(Debug, Clone)]
pub enum Watched {
    /// A folder with everything in it.
    Folder(PathBuf),
    /// A folder of a mail server.
    Mailbox(Box<imap::Account>),
}

/// Something happened.
#[derive(Debug)]
pub enum News {
    /// So many photos and pages were taken in.
    Taken(u64),
    /// An entry was read.
    Read(Event),
    /// Something could not be taken in, or cannot be reached now: a sentence.
    Said(String),
}

/// Where what is taken in goes, and who hears of it.
#[derive(Clone)]
pub(super) struct Desks {
    desk: Desk,
    come: Arc<Notify>,
    tell: UnboundedSender<News>,
}

impl Desks {
    pub(super) fn desk(&self) -> &Desk {
        &self.desk
    }

    /// Nobody listens any more: then nothing needs to be said.
    pub(super) fn send(&self, news: News) {
        let _ = self.tell.send(news);
    }

    pub(super) fn say(&self, what: String) {
        self.send(News::Said(what));
    }

    /// What of a tally has been told.
    pub(super) fn progress(&self) -> Progress<'_> {
        Progress {
            desks: self,
            added: 0,
            troubles: 0,
            refused: 0,
        }
    }
}

pub(super) struct Progress<'a> {
    desks: &'a Desks,
    added: u64,
    troubles: usize,
    refused: usize,
}

impl Progress<'_> {
    /// Tells what is new in a tally.
    pub(super) fn tell(&mut self, tally: &Tally) {
        if tally.added > self.added {
            self.desks.send(News::Taken(tally.added - self.added));
            self.desks.come.notify_one();
        }
        for trouble in tally.troubles.iter().skip(self.troubles) {
            self.desks.say(trouble.message.clone());
        }
        for refused in tally.refused.iter().skip(self.refused) {
            self.desks.say(refused.message.clone());
        }
        (self.added, self.troubles, self.refused) =
            (tally.added, tally.troubles.len(), tally.refused.len());
    }
}

/// Watches all sources and reads what comes, until somebody wants to stop. Gives an error only when it cannot begin.
pub async fn watch_all(
    desk: Desk,
    watched: Vec<Watched>,
    options: WatchOptions,
    stop: &Stop,
    tell: UnboundedSender<News>,
) -> Result<(), WatchError> {
    let desks = Desks {
        desk,
        come: Arc::new(Notify::new()),
        tell,
    };
    let mut hands: JoinSet<Result<(), WatchError>> = JoinSet::new();
    for one in watched {
        let (desks, stop) = (desks.clone(), stop.clone());
        hands.spawn(async move {
            match one {
                Watched::Folder(path) => Ok(folder::watch(path, &desks, &stop, options).await?),
                Watched::Mailbox(account) => Ok(imap::watch(&account, &desks, &stop).await?),
            }
        });
    }
    {
        let (desks, stop) = (desks.clone(), stop.clone());
        hands.spawn(async move {
            read(&desks, &stop).await;
            Ok(())
        });
    }
    let mut first = Ok(());
    while let Some(ended) = hands.join_next().await {
        let ended = ended.unwrap_or_else(|error| {
            Err(WatchError::Store(StoreError::Table(format!(
                "watching stopped in the middle: {error}"
            ))))
        });
        if ended.is_err() && first.is_ok() {
            first = ended;
            // What cannot be watched is said at once, not when somebody looks for its photos.
            stop.set();
        }
    }
    first
}

/// Why watching could not begin.
#[derive(Debug, thiserror::Error)]
pub enum WatchError {
    /// The store.
    #[error(transparent)]
    Store(#[from] StoreError),
    /// The mail server.
    #[error(transparent)]
    Mail(#[from] imap::MailError),
}

/// What another process left in the queue is looked for so often, though nobody says that it is there.
const LOOK: Duration = Duration::from_secs(30);

/// Reads whatever waits, as it comes.
async fn read(desks: &Desks, stop: &Stop) {
    while !stop.is_set() {
        let each = |event| desks.send(News::Read(event));
        if let Err(error) = read_all(&desks.desk, stop, each).await {
            desks.say(format!("{error}; it is tried again"));
        }
        tokio::select! {
            () = stop.wanted() => {}
            () = desks.come.notified() => {}
            () = tokio::time::sleep(LOOK) => {}
        }
    }
}
