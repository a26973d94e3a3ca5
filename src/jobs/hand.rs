//! One who reads: takes the entry of a job, reads it, and gives back what came of it.

use super::News;
use super::queue::{Job, MOST_ATTEMPTS};
use crate::intake::{Desk, Event, PIXELS_IN_HAND, Stop, read_entry, weight};
use crate::store::{Asked, Lease, StoreError};
use apalis::prelude::{AbortError, Attempt, BoxDynError, Data};
use futures_util::FutureExt;
use futures_util::future::BoxFuture;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Duration;
use tokio::sync::Semaphore;
use tokio::sync::mpsc::UnboundedSender;
use tokio::time::sleep;

/// A hand waits so long before it asks a store again that was away, doubled each time, up to the second.
const WAITS: (Duration, Duration) = (Duration::from_secs(1), Duration::from_secs(30));

/// What all hands of a worker share.
#[derive(Clone)]
pub(super) struct Hand {
    pub(super) desk: Desk,
    /// The name under which entries are taken.
    pub(super) worker: Arc<str>,
    /// An entry is held for so long without a sign of life.
    pub(super) lease: Duration,
    pub(super) stop: Stop,
    pub(super) news: UnboundedSender<News>,
    /// One for each hand: whoever has all of them knows that nobody reads.
    pub(super) hands: Arc<Semaphore>,
    memory: Arc<Semaphore>,
    away: Arc<AtomicBool>,
}

impl Hand {
    pub(super) fn new(
        desk: Desk,
        worker: &str,
        lease: Duration,
        stop: Stop,
        news: UnboundedSender<News>,
    ) -> Hand {
        Hand {
            hands: Arc::new(Semaphore::new(desk.jobs.max(1))),
            desk,
            worker: worker.into(),
            lease,
            stop,
            news,
            memory: Arc::new(Semaphore::new(PIXELS_IN_HAND as usize)),
            away: Arc::new(AtomicBool::new(false)),
        }
    }

    /// Reads the entry, unless it was read meanwhile.
    async fn read(&self, entry: &str, attempt: usize) -> Result<(), BoxDynError> {
        let store = &self.desk.store;
        // Never closed, so that they always give.
        let _turn = self.hands.acquire().await.ok();
        let asked = self.patiently(|| store.take(entry, &self.worker, self.lease).boxed());
        let lease = match asked.await.map_err(lasting)? {
            Asked::Lease(lease) => lease,
            Asked::Done => return Ok(()),
            Asked::Busy => return Err("somebody else reads it now".into()),
        };
        let _room = self.memory.acquire_many(weight(&lease)).await.ok();
        let mut reading = tokio::select! {
            reading = read_entry(store, &lease, self.desk.reader.clone(), self.desk.settings.clone()) => reading,
            never = self.hold(&lease) => match never {},
        };
        if let Err(failure) = &mut reading
            && failure.passing
        {
            if attempt < MOST_ATTEMPTS {
                self.patiently(|| store.give_back(&lease).boxed())
                    .await
                    .map_err(lasting)?;
                return Err(failure.message.clone().into());
            }
            failure.message = format!("{} (tried {attempt} times)", failure.message);
        }
        let kept = self
            .patiently(|| self.desk.keep(&lease, &reading).boxed())
            .await;
        if kept.map_err(lasting)? {
            let file_name = lease.entry.file_name.clone();
            // Nobody listens only when the program ends.
            let _ = self.news.send(News::Read(Event { file_name, reading }));
        }
        Ok(())
    }

    /// Says again and again that the entry is still being read.
    async fn hold(&self, lease: &Lease) -> std::convert::Infallible {
        loop {
            sleep(self.lease / 3).await;
            // If it fails, the entry may be given to another: what is read then is kept once all the same.
            let _ = self.desk.store.extend(lease, self.lease).await;
        }
    }

    /// Asks the store until it answers, or until somebody wants to stop.
    async fn patiently<'a, T>(
        &self,
        mut ask: impl FnMut() -> BoxFuture<'a, Result<T, StoreError>>,
    ) -> Result<T, StoreError> {
        let (mut wait, longest) = WAITS;
        loop {
            match ask().await {
                Err(error) if error.is_passing() && !self.stop.is_set() => {
                    self.is_away(&error);
                    sleep(wait).await;
                    wait = (wait * 2).min(longest);
                }
                answer => {
                    if answer.is_ok() {
                        self.is_back();
                    }
                    return answer;
                }
            }
        }
    }

    /// Tells, once, that the store cannot be used now.
    pub(super) fn is_away(&self, error: &dyn std::error::Error) {
        if !self.away.swap(true, Ordering::SeqCst) {
            let _ = self.news.send(News::Away(error.to_string()));
        }
    }

    /// Tells that it can be used again.
    pub(super) fn is_back(&self) {
        if self.away.swap(false, Ordering::SeqCst) {
            let _ = self.news.send(News::Back);
        }
    }
}

/// What no repetition of the same job changes: the entry is gone, or its rows are damaged.
fn lasting(error: StoreError) -> BoxDynError {
    match error.is_passing() {
        true => error.into(),
        false => AbortError::new(error).into(),
    }
}

/// The job of `apalis`: one entry is read.
pub(super) async fn run(job: Job, hand: Data<Hand>, attempt: Attempt) -> Result<(), BoxDynError> {
    hand.read(&job.entry, attempt.current()).await
}
