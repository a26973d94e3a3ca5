//! `platewright batch`: whole folders, archives and mailboxes into the store, and all of it read.

use super::Done;
use super::desk::{DeskArgs, stop_when_asked};
use super::output::Progress;
use super::store::wait_for;
use crate::intake::{Desk, Limits, Outcome, Stop, Tally, keep_all, read_all};
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
    wait_for(async {
        let desk = args.desk.open().await?;
        let store = desk.store.clone();
        let stop = stop_when_asked();
        if args.retry == Some(Retry::Failed) {
            store.retry_failed(None, "batch").await?;
        }
        let tally = take_in(&store, args, &stop).await?;
        let outcome = read_waiting(&desk, &stop).await?;
        let failed = outcome.failed + tally.refused.len() as u64;
        let failed_before = count(&store, EntryState::Failed).await? - failed;
        store.close().await;
        let summary = Summary {
            added: tally.added,
            known: tally.known,
            not_taken: tally.troubles.len() as u64,
            no_photos: tally.others.values().sum(),
            read: outcome.read,
            asks: outcome.asks,
            failed,
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
        writeln!(
            out,
            "{} read, {} of them with questions; {} failed",
            self.read, self.asks, self.failed
        )?;
        if self.failed + self.failed_before > 0 {
            writeln!(
                out,
                "{} failed entries in all; `--retry failed` runs them again",
                self.failed + self.failed_before
            )?;
        }
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
