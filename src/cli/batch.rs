//! `platewright batch`: whole folders, archives and mailboxes into the store, and all of it read.

use super::Done;
use super::output::Progress;
use super::read::ReadingArgs;
use super::store::{StoreArgs, wait_for};
use crate::intake::{Desk, Limits, Outcome, Stop, Tally, keep_all, read_all};
use crate::jobs::Jobs;
use crate::store::{EntryState, Filter, Store, Versions};
use anyhow::Result;
use clap::{Args as ClapArgs, ValueEnum};
use serde::Serialize;
use std::io::{self, Write};
use std::path::PathBuf;
use std::sync::Arc;
use std::thread::available_parallelism;

/// Read whole folders, archives and mailboxes into the store.
///
/// What is already there is not read again, so that a run that was cut short is taken up by the same command.
/// Ctrl-C stops after the photos in hand.
#[derive(Debug, ClapArgs)]
pub(super) struct Args {
    /// Folders (with everything in them), photos, zip archives, mails (.eml), mailboxes (.mbox) and Maildirs.
    #[arg(value_name = "SOURCE", required_unless_present = "retry")]
    sources: Vec<PathBuf>,
    #[command(flatten)]
    store: StoreArgs,
    /// Run those again that came to nothing.
    #[arg(long, value_name = "WHICH", value_enum)]
    retry: Option<Retry>,
    /// Do not read here: put down a job for every photo that waits, for `platewright work` on any machine. Needs --database.
    #[arg(long, requires = "database", conflicts_with = "jobs")]
    enqueue: bool,
    /// How many photos are read at a time; without it one a processor.
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u16).range(1..=256))]
    jobs: Option<u16>,
    /// Print what came of it as one JSON object, for machines.
    #[arg(long)]
    json: bool,
    #[command(flatten)]
    reading: ReadingArgs,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum Retry {
    /// All that failed.
    Failed,
}

pub(super) fn run(args: &Args) -> Result<Done> {
    match args.store.database() {
        Some(database) if args.enqueue => wait_for(enqueue(args, database)),
        _ => read_here(args),
    }
}

/// Takes in the sources and puts down the jobs.
async fn enqueue(args: &Args, database: &str) -> Result<Done> {
    let store = args.store.open().await?;
    let jobs = Jobs::open(database).await?;
    let stop = Stop::default();
    let asked = stop.clone();
    tokio::spawn(async move { stop_when_asked(&asked).await });
    if args.retry == Some(Retry::Failed) {
        store.retry_failed(None, "batch").await?;
    }
    let tally = take_in(&store, args, &stop).await?;
    let enqueued = jobs.enqueue_waiting().await?;
    let summary = Enqueued {
        added: tally.added,
        known: tally.known,
        not_taken: tally.troubles.len() as u64,
        no_photos: tally.others.values().sum(),
        enqueued,
        failed_before: count(&store, EntryState::Failed).await?,
        stopped: stop.is_set(),
    };
    store.close().await;
    let mut out = io::stdout().lock();
    if args.json {
        serde_json::to_writer(&mut out, &summary)?;
        writeln!(out)?;
    } else {
        taken_in(&mut out, summary.added, summary.known, &tally)?;
        writeln!(
            out,
            "{enqueued} jobs put down; `platewright work` with the same --database reads them"
        )?;
        retry_hint(&mut out, summary.failed_before)?;
    }
    Ok(match summary.stopped || summary.not_taken > 0 {
        true => Done::Partly,
        false => Done::Fully,
    })
}

/// Takes in the sources and reads all that waits.
fn read_here(args: &Args) -> Result<Done> {
    let reader = Arc::new(args.reading.reader()?);
    let versions = Versions::with_models(args.reading.source().version()?);
    let cores = available_parallelism().map_or(1, |n| n.get());
    let jobs = args.jobs.map_or(cores, usize::from);
    let mut settings = args.reading.settings();
    // One photo a core does more than all cores on one photo.
    settings.text.threads = Some((cores / jobs).max(1));
    wait_for(async {
        let store = args.store.open().await?;
        let stop = Stop::default();
        let asked = stop.clone();
        tokio::spawn(async move { stop_when_asked(&asked).await });
        if args.retry == Some(Retry::Failed) {
            store.retry_failed(None, "batch").await?;
        }
        let tally = take_in(&store, args, &stop).await?;
        let desk = Desk {
            store: store.clone(),
            reader,
            settings,
            versions,
            jobs,
        };
        let outcome = read_waiting(&desk, &stop).await?;
        let failed_before = count(&store, EntryState::Failed).await? - outcome.failed;
        store.close().await;
        let summary = Summary {
            added: tally.added,
            known: tally.known,
            not_taken: tally.troubles.len() as u64,
            no_photos: tally.others.values().sum(),
            read: outcome.read,
            asks: outcome.asks,
            failed: outcome.failed,
            failed_before,
            waiting: outcome.waiting,
            stopped: stop.is_set(),
        };
        let mut out = io::stdout().lock();
        if args.json {
            serde_json::to_writer(&mut out, &summary)?;
            writeln!(out)?;
        } else {
            summary.print(&mut out, &tally)?;
        }
        Ok(summary.done())
    })
}

async fn take_in(store: &Store, args: &Args, stop: &Stop) -> Result<Tally> {
    let progress = Progress::counting("photos found");
    let mut told = 0;
    let sources = args.sources.clone();
    let tally = keep_all(store, sources, Limits::default(), stop, |tally| {
        progress.at(tally.added + tally.known);
        for trouble in tally.troubles.iter().skip(told) {
            progress.pause(|| eprintln!("platewright: {}", trouble.message));
        }
        told = tally.troubles.len();
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

/// What came of a run.
#[derive(Debug, Serialize)]
struct Summary {
    added: u64,
    known: u64,
    not_taken: u64,
    no_photos: u64,
    read: u64,
    asks: u64,
    failed: u64,
    failed_before: u64,
    waiting: u64,
    stopped: bool,
}

impl Summary {
    fn done(&self) -> Done {
        match self.stopped || self.not_taken + self.failed + self.waiting > 0 {
            true => Done::Partly,
            false => Done::Fully,
        }
    }

    fn print(&self, out: &mut impl Write, tally: &Tally) -> io::Result<()> {
        taken_in(out, self.added, self.known, tally)?;
        writeln!(
            out,
            "{} read, {} of them with questions; {} failed",
            self.read, self.asks, self.failed
        )?;
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
    added: u64,
    known: u64,
    not_taken: u64,
    no_photos: u64,
    enqueued: u64,
    failed_before: u64,
    stopped: bool,
}

/// Tells what came of taking in the sources.
fn taken_in(out: &mut impl Write, added: u64, known: u64, tally: &Tally) -> io::Result<()> {
    writeln!(out, "{added} new photos, {known} known before")?;
    let no_photos: u64 = tally.others.values().sum();
    if no_photos > 0 {
        let kinds: Vec<String> = tally
            .others
            .iter()
            .map(|(ending, count)| format!("{ending} {count}"))
            .collect();
        writeln!(
            out,
            "{no_photos} files are no photos and were left: {}",
            kinds.join(", ")
        )?;
    }
    if !tally.troubles.is_empty() {
        writeln!(
            out,
            "{} could not be taken in, see above",
            tally.troubles.len()
        )?;
    }
    Ok(())
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

/// Sets the wish to stop when somebody ends the program. The second time it ends at once: what is in hand then is
/// read again by the next run.
pub(super) async fn stop_when_asked(stop: &Stop) {
    super::asked_to_stop().await;
    stop.set();
    eprintln!("platewright: stopping after the photos in hand; once more stops at once");
    super::asked_to_stop().await;
    std::process::exit(130);
}
