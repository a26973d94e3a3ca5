//! `platewright report`: the summary of a store as one HTML file.

use super::Done;
use super::output::{Progress, write_whole};
use super::store::{StoreArgs, wait_for};
use crate::report::{Summary, html};
use crate::store::{Filter, time};
use anyhow::Result;
use clap::Args as ClapArgs;
use std::path::PathBuf;

/// Write a summary of the store with plots, as one HTML file that needs no net.
#[derive(Debug, ClapArgs)]
pub(super) struct Args {
    #[command(flatten)]
    store: StoreArgs,
    /// The file to write.
    #[arg(value_name = "OUT.html")]
    out: PathBuf,
    /// Address where `platewright serve` serves the store, such as http://127.0.0.1:8080: entries then link there.
    #[arg(long, value_name = "URL", value_parser = address)]
    page: Option<String>,
}

fn address(text: &str) -> Result<String, String> {
    match text.starts_with("http://") || text.starts_with("https://") {
        true => Ok(text.to_owned()),
        false => Err("expected an address such as http://127.0.0.1:8080".to_owned()),
    }
}

pub(super) fn run(args: &Args) -> Result<Done> {
    let store = args.store.location()?.folder.display().to_string();
    let summary = wait_for(async {
        let store = args.store.open_existing().await?;
        let all = store.count(&Filter::default()).await?;
        let progress = Progress::new(usize::try_from(all).unwrap_or(usize::MAX), "entries");
        let summary = Summary::of(&store, || progress.step()).await?;
        drop(progress);
        store.close().await;
        Ok(summary)
    })?;
    let made = time(jiff::Timestamp::now().as_millisecond());
    let page = html(&summary, &store, &made, args.page.as_deref())?;
    write_whole(&args.out, |out| Ok(out.write_all(page.as_bytes())?))?;
    Ok(Done::Fully)
}
