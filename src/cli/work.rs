//! `platewright work`: reads what others put down as jobs, on any machine.

use super::Done;
use super::desk::{DeskArgs, stop_when_asked};
use super::output::{Progress, tell};
use super::store::wait_for;
use crate::intake::Outcome;
use crate::jobs::{Crew, Jobs, News, work};
use anyhow::{Context, Result};
use clap::Args as ClapArgs;
use serde::Serialize;
use std::io::{self, IsTerminal, Write};
use std::time::{Duration, Instant};

/// Read what `batch --enqueue` put down, beside any number of others on any machine.
///
/// Needs the same --database as the others, and the same photos: a shared folder (--store) or an object store
/// (--photos). It works until it is stopped: Ctrl-C or SIGTERM end it after the photos in hand. What a killed worker
/// held goes back to the queue.
#[derive(Debug, ClapArgs)]
pub(super) struct Args {
    /// Stop when nothing waits any more.
    #[arg(long)]
    until_empty: bool,
    /// What a worker holds of whom nothing was heard for so long goes back to the queue. The same for all workers.
    #[arg(long, value_name = "SECONDS", default_value_t = 60, value_parser = clap::value_parser!(u64).range(4..=3600))]
    lost_after: u64,
    /// Print what came of it as one JSON object, for machines.
    #[arg(long)]
    json: bool,
    #[command(flatten)]
    desk: DeskArgs,
}

pub(super) fn run(args: &Args) -> Result<Done> {
    let database = args.desk.store.database().context(
        "workers share a PostgreSQL database; name it with --database postgres://user@host/name",
    )?;
    wait_for(async {
        let desk = args.desk.open().await?;
        let store = desk.store.clone();
        let crew = Crew {
            desk,
            jobs: Jobs::open(database).await?,
            lost_after: Duration::from_secs(args.lost_after),
            until_empty: args.until_empty,
        };
        let stop = stop_when_asked();
        let mut teller = Teller::new();
        let outcome = work(&crew, &stop, |news| teller.tell(news)).await?;
        drop(teller);
        store.close().await;
        let summary = Summary::of(&outcome, stop.is_set());
        tell(args.json, &summary, |out| {
            writeln!(
                out,
                "{} read, {} of them with questions; {} failed; {} still wait",
                summary.read, summary.asks, summary.failed, summary.waiting
            )
        })?;
        Ok(Done::unless(summary.failed > 0))
    })
}

/// Tells on the error stream what happens: a counter on a terminal, a line a minute in a journal.
struct Teller {
    progress: Progress,
    is_terminal: bool,
    done: u64,
    told: Instant,
}

impl Teller {
    fn new() -> Teller {
        Teller {
            progress: Progress::counting("photos read"),
            is_terminal: io::stderr().is_terminal(),
            done: 0,
            told: Instant::now(),
        }
    }

    fn tell(&mut self, news: &News) {
        match news {
            News::Read(event) => {
                self.done += 1;
                self.progress.at(self.done);
                if let Err(failure) = &event.reading {
                    self.say(&failure.message);
                }
                if !self.is_terminal && self.told.elapsed() > Duration::from_secs(60) {
                    self.told = Instant::now();
                    self.say(&format!("photos done so far: {}", self.done));
                }
            }
            News::Away(why) => self.say(&format!("waiting until it is back: {why}")),
            News::Back => self.say("it is back; going on"),
        }
    }

    fn say(&self, what: &str) {
        self.progress.pause(|| eprintln!("platewright: {what}"));
    }
}

/// What came of working.
#[derive(Debug, Serialize)]
struct Summary {
    read: u64,
    asks: u64,
    failed: u64,
    waiting: u64,
    stopped: bool,
}

impl Summary {
    fn of(outcome: &Outcome, stopped: bool) -> Summary {
        Summary {
            read: outcome.read,
            asks: outcome.asks,
            failed: outcome.failed,
            waiting: outcome.waiting,
            stopped,
        }
    }
}
