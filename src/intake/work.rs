//! Reads what waits in the store, several photos at a time, until nothing waits or somebody wants to stop.

use super::Stop;
use super::reading::{self, Reading, Shown};
use crate::read::Settings;
use crate::store::{Lease, Store, StoreError, StoredPhoto, Versions, Worker};
use crate::text::Reader;
use std::sync::Arc;
use std::time::Duration;
use tokio::sync::Semaphore;
use tokio::task::JoinSet;

/// An entry is held for so long. Who is killed is known by its lock; this is for machines that go away.
const LEASE: Duration = Duration::from_secs(600);

/// Pixels of all photos in hand, in millions: what bounds memory, however many cores there are.
pub(crate) const PIXELS_IN_HAND: u32 = 200;

/// What reading needs.
#[derive(Clone)]
pub struct Desk {
    /// Where the entries are.
    pub store: Store,
    /// The models.
    pub reader: Arc<Reader>,
    /// How to read.
    pub settings: Settings,
    /// With what it is read.
    pub versions: Versions,
    /// How many photos at a time.
    pub jobs: usize,
}

/// An entry was done.
#[derive(Debug)]
pub struct Event {
    /// The name of its file.
    pub file_name: String,
    /// What came of it.
    pub reading: Reading,
}

/// What came of reading.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Outcome {
    /// Motors that were read: entries, and rows of log pages.
    pub read: u64,
    /// Those of them with a question for a person.
    pub asks: u64,
    /// Entries that could not be read.
    pub failed: u64,
    /// Entries that still wait, or are in the hands of another process.
    pub waiting: u64,
}

/// Reads everything that waits. `each` hears of every entry that was done, in the order in which they were.
pub async fn read_all(
    desk: &Desk,
    stop: &Stop,
    mut each: impl FnMut(Event),
) -> Result<Outcome, StoreError> {
    let worker = Arc::new(desk.store.new_worker().await?);
    let memory = Arc::new(Semaphore::new(PIXELS_IN_HAND as usize));
    let (done, mut next) = tokio::sync::mpsc::channel(desk.jobs.max(1));
    let mut hands = JoinSet::new();
    let halt = Stop::default();
    for _ in 0..desk.jobs.max(1) {
        let hand = Hand {
            desk: desk.clone(),
            worker: worker.clone(),
            memory: memory.clone(),
            stop: stop.clone(),
            halt: halt.clone(),
        };
        let done = done.clone();
        hands.spawn(async move {
            let result = hand.work(&done).await;
            if result.is_err() {
                // One that cannot use the store stops all: the others cannot either.
                hand.halt.set();
            }
            result
        });
    }
    drop(done);
    let mut outcome = Outcome::default();
    while let Some(event) = next.recv().await {
        match &event.reading {
            Ok(shown) => {
                outcome.read += shown.records().len() as u64;
                outcome.asks += shown.asks();
            }
            Err(_) => outcome.failed += 1,
        }
        each(event);
    }
    for result in hands.join_all().await {
        result?;
    }
    outcome.waiting = desk.store.count_waiting().await?;
    Ok(outcome)
}

/// One of those who read.
struct Hand {
    desk: Desk,
    worker: Arc<Worker>,
    memory: Arc<Semaphore>,
    stop: Stop,
    /// The others cannot go on.
    halt: Stop,
}

impl Hand {
    async fn work(&self, done: &tokio::sync::mpsc::Sender<Event>) -> Result<(), StoreError> {
        while !self.stop.is_set() && !self.halt.is_set() {
            let Some(lease) = self.desk.take(&self.worker).await? else {
                return Ok(());
            };
            // Never closed, so that it always gives.
            let _room = self.memory.acquire_many(weight(&lease)).await.ok();
            if let Some(event) = self.desk.read(&lease).await?
                && done.send(event).await.is_err()
            {
                return Ok(());
            }
        }
        Ok(())
    }
}

impl Desk {
    /// Takes the entry that waits longest; `None` when nothing waits.
    pub async fn take(&self, worker: &Worker) -> Result<Option<Lease>, StoreError> {
        self.store.take_next(worker.name(), LEASE).await
    }

    /// Reads an entry that was taken, and keeps what came of it; `None` where somebody else had it meanwhile.
    pub async fn read(&self, lease: &Lease) -> Result<Option<Event>, StoreError> {
        let Desk {
            store,
            reader,
            settings,
            ..
        } = self;
        store
            .extend(lease, reading::time(lease, settings) + LEASE)
            .await?;
        let reading = reading::read(store, lease, reader.clone(), settings.clone()).await;
        let kept = self.keep(lease, &reading).await?;
        Ok(kept.then(|| Event {
            file_name: lease.entry.file_name.clone(),
            reading,
        }))
    }

    /// Keeps what came of reading an entry; false, and nothing is kept, where somebody else had it meanwhile.
    pub(crate) async fn keep(&self, lease: &Lease, reading: &Reading) -> Result<bool, StoreError> {
        let Desk {
            store, versions, ..
        } = self;
        match reading {
            Ok(Shown::Plate { record, likenesses }) => {
                // Before the reading: whoever is read later finds both.
                store.keep_likenesses(likenesses).await?;
                store.save_reading(lease, record, versions).await
            }
            Ok(Shown::Rows(rows)) => store.save_rows(lease, rows, versions).await,
            Err(failure) => {
                store
                    .save_failure(lease, &failure.kind, &failure.message)
                    .await
            }
        }
    }
}

/// Millions of pixels of an entry's largest photo.
pub(crate) fn weight(lease: &Lease) -> u32 {
    let photos = lease.photos.iter().map(StoredPhoto::megapixels);
    photos.max().unwrap_or(1).min(PIXELS_IN_HAND)
}
