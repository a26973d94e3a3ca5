//! What those subcommands share that take photos into the store and read them there.

use super::read::ReadingArgs;
use super::store::StoreArgs;
use crate::intake::{Desk, Stop};
use crate::read::Settings;
use crate::store::Versions;
use anyhow::Result;
use clap::Args as ClapArgs;
use std::sync::Arc;
use std::thread::available_parallelism;

/// Where photos are kept, and how they are read.
#[derive(Debug, ClapArgs)]
pub(super) struct DeskArgs {
    #[command(flatten)]
    pub(super) store: StoreArgs,
    /// How many photos are read at a time; without it one a processor.
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u16).range(1..=256))]
    jobs: Option<u16>,
    #[command(flatten)]
    reading: ReadingArgs,
}

impl DeskArgs {
    /// Loads the models and opens the store.
    pub(super) async fn open(&self) -> Result<Desk> {
        let reader = Arc::new(self.reading.reader()?);
        let versions = Versions::with_models(self.reading.source().version()?);
        let jobs = self.jobs.map_or_else(cores, usize::from);
        Ok(Desk {
            store: self.store.open().await?,
            reader,
            settings: one_a_core(self.reading.settings(), jobs),
            versions,
            jobs,
        })
    }
}

/// How many processors there are for this program.
pub(super) fn cores() -> usize {
    available_parallelism().map_or(1, |n| n.get())
}

/// How each photo is read where so many are read at a time: one photo a core does more than all cores on one photo.
pub(super) fn one_a_core(mut settings: Settings, at_a_time: usize) -> Settings {
    settings.text.threads = Some((cores() / at_a_time).max(1));
    settings
}

/// The wish to stop, set when somebody ends the program. The second time it ends at once: what is in hand then is
/// read again by the next run.
pub(super) fn stop_when_asked() -> Stop {
    let stop = Stop::default();
    let asked = stop.clone();
    tokio::spawn(async move {
        super::asked_to_stop().await;
        asked.set();
        eprintln!("platewright: stopping after the photos in hand; once more stops at once");
        super::asked_to_stop().await;
        std::process::exit(130);
    });
    stop
}
