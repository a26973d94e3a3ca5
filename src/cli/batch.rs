//! `platewright batch`: whole folders, archives and mailboxes into the store, and all of it read.

use super::Done;
use super::desk::{DeskArgs, stop_when_asked};
use super::output::{Progress, tell};
use super::store::wait_for;
use crate::intake::{Desk, Limits, Outcome, Stop, Tally, keep_all, read_all};
use crate::jobs::Jobs;
use crate::store::{EntryState, Filter, Store};
use anyhow::Result;
use clap::{Args as ClapArgs, ValueEnum};
use serde::Serialize;
use std::io::{self, Write};
use std::path::PathBuf;

/// Read whole folders, archives and mailboxes into the store.
///
/// What is already there is not read again, so that a run that was cut short is taken up by the same command.
/// Ctrl-C stops after the photos in hand.
#[derive(Debug, ClapArgs)]
pub(super) struct Args {
    /// Folders (with everything in them), photos, PDFs, zip archives, mails (.eml), mailboxes (.mbox) and Maildirs.
    #[arg(value_name = "SOURCE", required_unless_present = "retry")]
    sources: Vec<PathBuf>,
    /// Run those again that came to nothing.
    #[arg(long, value_name = "WHICH", value_enum)]
    retry: Option<Retry>,
    /// Do not read here: put down a job for every photo that waits, for `platewright work` on any machine. Needs --database.
    #[arg(long, requires = "database", conflicts_with = "jobs")]
    enqueue: bool,
    /// Print what came of it as one JSON object, for machines.
    #[arg(long)]
    json: bool,
    #[command(flatten)]
    desk: DeskArgs,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum Retry {
    /// All that failed.
    Failed,
}

pub(super) fn run(args: &Args) -> Result<Done> {
    match args.desk.store.database() {
        Some(database) if args.enqueue => wait_for(enqueue(args, database)),
        _ => wait_for(read_here(args)),
    }
}

/// Takes in the sources and puts down the jobs.
async fn enqueue(args: &Args, database: &str) -> Result<Done> {
    let store = args.desk.store.open().await?;
    let jobs = Jobs::open(database).await?;
    let stop = stop_when_asked();
    let tally = take_in(&store, args, &stop).await?;
    let enqueued = jobs.enqueue_waiting().await?;
    let summary = Enqueued {
        intake: Intake::of(&tally),
        enqueued,
        failed: tally.refused.len() as u64,
        failed_before: count(&store, EntryState::Failed).await? - tally.refused.len() as u64,
        stopped: stop.is_set(),
    };
    store.close().await;
    tell(args.json, &summary, |out| summary.print(out, &tally))?;
    Ok(summary.done())
}

/// Takes in the sources and reads all that waits.
async fn read_here(args: &Args) -> Result<Done> {
    let desk = args.desk.open().await?;
    let store = desk.store.clone();
    let stop = stop_when_asked();
    let tally = take_in(&store, args, &stop).await?;
    let same_before = store.count_same().await?;
    let outcome = read_waiting(&desk, &stop).await?;
    let failed = outcome.failed + tally.refused.len() as u64;
    let summary = Summary {
        intake: Intake::of(&tally),
        read: outcome.read,
        asks: outcome.asks,
        same: store.count_same().await?.saturating_sub(same_before),
        failed,
        failed_before: count(&store, EntryState::Failed).await? - failed,
        waiting: outcome.waiting,
        stopped: stop.is_set(),
    };
    store.close().await;
    tell(args.json, &summary, |out| summary.print(out, &tally))?;
    Ok(summary.done())
}

async fn take_in(store: &Store, args: &Args, stop: &Stop) -> Result<Tally> {
    if args.retry == Some(Retry::Failed) {
        store.retry_failed(None, "batch").await?;
    }
    let progress = Progress::counting("photos found");
    let (mut told, mut refused) = (0, 0);
    let sources = args.sources.clone();
    let tally = keep_all(store, sources, Limits::default(), stop, |tally| {
        progress.at(tally.added + tally.known);
        for trouble in tally.troubles.iter().skip(told) {
            progress.pause(|| eprintln!("platewright: {}", trouble.message));
        }
        for refusal in tally.refused.iter().skip(refused) {
            progress.pause(|| eprintln!("platewright: {}", refusal.message));
        }
        (told, refused) = (tally.troubles.len(), tally.refused.len());
    })
    .await?;
    Ok(tally)
}

async fn read_waiting(desk: &Desk, stop: &Stop) -> Result<Outcome> {
    let waiting = count(&desk.store, EntryState::Queued).await?;
    let progress = Progress::new(usize::try_from(waiting).unwrap_or(usize::MAX), "photos");
    let outcome = read_all(desk, stop, |event| {
        if let Err(failure) = &event.reading {
            progress.pause(|| eprintln!("platewright: {}", failure.message));
        }
        progress.step();
    })
    .await?;
    Ok(outcome)
}

async fn count(store: &Store, state: EntryState) -> Result<u64> {
    let filter = Filter {
        state: Some(state),
        ..Filter::default()
    };
    Ok(store.count(&filter).await?)
}

/// What came of taking in the sources.
#[derive(Debug, Serialize)]
struct Intake {
    added: u64,
    known: u64,
    not_taken: u64,
    no_photos: u64,
}

impl Intake {
    fn of(tally: &Tally) -> Intake {
        Intake {
            added: tally.added,
            known: tally.known,
            not_taken: tally.troubles.len() as u64,
            no_photos: tally.others.values().sum(),
        }
    }

    fn print(&self, out: &mut impl Write, tally: &Tally) -> io::Result<()> {
        writeln!(
            out,
            "{} new photos, {} known before",
            self.added, self.known
        )?;
        if self.no_photos > 0 {
            let kinds: Vec<String> = tally
                .others
                .iter()
                .map(|(ending, count)| format!("{ending} {count}"))
                .collect();
            writeln!(
                out,
                "{} files are no photos and were left: {}",
                self.no_photos,
                kinds.join(", ")
            )?;
        }
        if self.not_taken > 0 {
            writeln!(out, "{} could not be taken in, see above", self.not_taken)?;
        }
        Ok(())
    }
}

/// What came of a run.
#[derive(Debug, Serialize)]
struct Summary {
    #[serde(flatten)]
    intake: Intake,
    read: u64,
    asks: u64,
    /// Photos and motors that are there already, as far as can be told.
    same: u64,
    failed: u64,
    failed_before: u64,
    waiting: u64,
    stopped: bool,
}

impl Summary {
    fn done(&self) -> Done {
        Done::unless(self.stopped || self.intake.not_taken + self.failed + self.waiting > 0)
    }

    fn print(&self, out: &mut impl Write, tally: &Tally) -> io::Result<()> {
        self.intake.print(out, tally)?;
        writeln!(
            out,
            "{} read, {} of them with questions; {} failed",
            self.read, self.asks, self.failed
        )?;
        match self.same {
            0 => {}
            1 => writeln!(
                out,
                "1 of them looks like a photo or motor that is there already; the export says which"
            )?,
            same => writeln!(
                out,
                "{same} of them look like photos or motors that are there already; the export says which"
            )?,
        }
        retry_hint(out, self.failed + self.failed_before)?;
        if self.waiting > 0 {
            writeln!(
                out,
                "{} still wait; the same command takes them up",
                self.waiting
            )?;
        }
        Ok(())
    }
}

/// What came of putting down jobs.
#[derive(Debug, Serialize)]
struct Enqueued {
    #[serde(flatten)]
    intake: Intake,
    enqueued: u64,
    failed: u64,
    failed_before: u64,
    stopped: bool,
}

impl Enqueued {
    fn done(&self) -> Done {
        Done::unless(self.stopped || self.intake.not_taken + self.failed > 0)
    }

    fn print(&self, out: &mut impl Write, tally: &Tally) -> io::Result<()> {
        self.intake.print(out, tally)?;
        writeln!(
            out,
            "{} jobs put down; `platewright work` with the same --database reads them",
            self.enqueued
        )?;
        retry_hint(out, self.failed + self.failed_before)
    }
}

fn retry_hint(out: &mut impl Write, failed: u64) -> io::Result<()> {
    if failed > 0 {
        writeln!(
            out,
            "{failed} failed entries in all; `--retry failed` runs them again"
        )?;
    }
    Ok(())
}
