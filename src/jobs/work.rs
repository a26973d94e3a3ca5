//! A worker: takes jobs until it is told to stop, and waits where the database is away.

use super::hand::{self, Hand};
use super::queue::{Job, MOST_ATTEMPTS, QUEUE};
use super::{JobError, Jobs};
use crate::intake::{Desk, Event, Outcome, Stop};
use apalis::layers::retry::HasherRng;
use apalis::layers::retry::backoff::{ExponentialBackoffMaker, MakeBackoff};
use apalis::prelude::*;
use apalis_postgres::{Config, PostgresStorage};
use std::time::{Duration, Instant};
use tokio::sync::mpsc;
use tokio::time::sleep;

/// How often is asked whether there is something to do, and whether somebody wants to stop.
const ASK: Duration = Duration::from_millis(500);
/// The longest time between two attempts to work with a database that fails.
const LONGEST_WAIT: Duration = Duration::from_secs(8);
/// A worker shows so often in the time after which it would be taken for lost that it lives.
const SIGNS: u32 = 4;
/// A job that failed for a reason that may pass waits for this part of that time before it is run again, then twice as
/// long each time, up to all of it.
const BACK_OFF: u32 = 30;

/// Who works, and how.
pub struct Crew {
    /// What reading needs.
    pub desk: Desk,
    /// The queue.
    pub jobs: Jobs,
    /// What a worker holds of whom nothing was heard for so long goes back to the queue.
    pub lost_after: Duration,
    /// Stop when nothing waits any more.
    pub until_empty: bool,
}

/// What a worker tells while it works.
#[derive(Debug)]
pub enum News {
    /// An entry was done.
    Read(Event),
    /// The database or the photos cannot be reached; it waits.
    Away(String),
    /// They can be reached again.
    Back,
}

/// Reads what waits, until somebody wants to stop. `each` hears of everything that happens, in its order.
pub async fn work(
    crew: &Crew,
    stop: &Stop,
    mut each: impl FnMut(&News),
) -> Result<Outcome, JobError> {
    let store = &crew.desk.store;
    if let Some(place) = store.misplaced_photo().await? {
        return Err(JobError::Misplaced(place));
    }
    // Gives back at once what one held that was killed on this machine.
    let worker = store.new_worker().await?;
    let (news, mut heard) = mpsc::unbounded_channel();
    let hand = Hand::new(
        crew.desk.clone(),
        worker.name(),
        crew.lost_after,
        stop.clone(),
        news,
    );
    let mut outcome = Outcome::default();
    let mut tell = |news: News| {
        if let News::Read(event) = &news {
            match &event.reading {
                Ok(shown) => {
                    outcome.read += shown.records().len() as u64;
                    outcome.asks += shown.asks();
                }
                Err(_) => outcome.failed += 1,
            }
        }
        each(&news);
    };
    let working = sessions(crew, &hand, stop);
    tokio::pin!(working);
    loop {
        tokio::select! {
            ended = &mut working => {
                ended?;
                break;
            }
            Some(news) = heard.recv() => tell(news),
        }
    }
    while let Ok(news) = heard.try_recv() {
        tell(news);
    }
    outcome.waiting = store.count_waiting().await?;
    Ok(outcome)
}

/// Works as long as the database is there, waits while it is not, and signs on anew when it is back.
async fn sessions(crew: &Crew, hand: &Hand, stop: &Stop) -> Result<(), JobError> {
    let all = u32::try_from(crew.desk.jobs.max(1)).unwrap_or(u32::MAX);
    let mut wait = ASK;
    for number in 1u32.. {
        let began = Instant::now();
        let ended = session(crew, hand, stop, number).await;
        // A database that answers and fails again, as one whose disk is full, is not asked without end.
        wait = match began.elapsed() < LONGEST_WAIT {
            true => (wait * 2).min(LONGEST_WAIT),
            false => ASK,
        };
        if let Err(error) = &ended
            && error.is_passing()
            && !stop.is_set()
        {
            hand.is_away(error);
            sleep(wait).await;
            while !stop.is_set() && crew.desk.store.last_event().await.is_err() {
                sleep(ASK).await;
            }
        }
        // Who was reading meanwhile keeps what came of it before anything new is begun.
        let _ = hand.hands.acquire_many(all).await;
        match ended {
            Ok(()) => break,
            Err(error) if !error.is_passing() => return Err(error),
            Err(_) if stop.is_set() => break,
            Err(_) => {}
        }
    }
    Ok(())
}

/// One time of working without a break.
async fn session(crew: &Crew, hand: &Hand, stop: &Stop, number: u32) -> Result<(), JobError> {
    crew.jobs.enqueue_waiting().await?;
    hand.is_back();
    let config = Config::default()
        .queue(QUEUE)
        // More than one at a time would keep it from showing that it lives.
        .batch_size(1)
        .heartbeat_interval(crew.lost_after / SIGNS)
        .missed_heartbeats(SIGNS as usize);
    let backend = PostgresStorage::<Job>::new(&crew.jobs.pool)
        .with_config(config)
        .poll_with_interval(ASK);
    let (shortest, longest) = (crew.lost_after / BACK_OFF, crew.lost_after);
    let back_off = ExponentialBackoffMaker::new(shortest, longest, 0.5, HasherRng::default())
        .map_err(|e| JobError::Stopped(e.to_string()))?
        .make_backoff();
    // A name of its own each time: what the last session held must go back.
    let name = format!("{}-{:x}-{number}", hand.worker, std::process::id());
    let worker = WorkerBuilder::new(name.as_str())
        .backend(backend)
        .concurrency(crew.desk.jobs.max(1))
        // Who reads goes on reading where the queue breaks down.
        .parallelize(tokio::spawn)
        .retry(RetryPolicy::retries(MOST_ATTEMPTS - 1).with_backoff(back_off))
        .data(hand.clone())
        .build(hand::run);
    let end = Stop::default();
    let (asked, over) = (stop.clone(), end.clone());
    let stopped = async move {
        while !asked.is_set() && !over.is_set() {
            sleep(ASK).await;
        }
        Ok::<(), WorkerError>(())
    };
    tokio::select! {
        ended = worker.run_until(stopped) => Ok(ended?),
        error = housekeeping(crew, &end) => Err(error),
    }
}

/// Puts down jobs that are missing now and then, and sees when nothing waits. Ends only by an error.
async fn housekeeping(crew: &Crew, end: &Stop) -> JobError {
    let work = async || -> Result<(), JobError> {
        crew.jobs.tidy().await?;
        loop {
            let started = Instant::now();
            while started.elapsed() < crew.lost_after {
                sleep(ASK).await;
                if crew.until_empty && crew.desk.store.count_waiting().await? == 0 {
                    end.set();
                }
            }
            crew.jobs.enqueue_waiting().await?;
        }
    };
    match work().await {
        Ok(()) => JobError::Stopped("its housekeeping ended".to_owned()),
        Err(error) => error,
    }
}
