//! `platewright backup` and `platewright restore`.

use super::Done;
use super::output::{Progress, tell};
use super::store::{StoreArgs, findings, wait_for};
use crate::store::{Copied, restore as bring_back};
use anyhow::Result;
use clap::Args as ClapArgs;
use std::io::Write;
use std::path::PathBuf;

/// Copy a store into a new folder while others go on working with it.
///
/// The copy is a store itself: `check-store --store OUT` looks at it, `restore` brings it back, and it opens on any
/// machine, also where the original lies in PostgreSQL or an object store. It is verified after it was written.
#[derive(Debug, ClapArgs)]
pub(super) struct BackupArgs {
    #[command(flatten)]
    store: StoreArgs,
    /// The folder to be made; nothing is ever overwritten.
    #[arg(value_name = "OUT")]
    out: PathBuf,
    /// Print one JSON object, for machines.
    #[arg(long)]
    json: bool,
}

pub(super) fn backup(args: &BackupArgs) -> Result<Done> {
    let copied = wait_for(async {
        let store = args.store.open_existing().await?;
        let progress = Progress::counting("photos copied");
        let copied = store.backup(&args.out, |done, _| progress.at(done)).await?;
        drop(progress);
        store.close().await;
        Ok(copied)
    })?;
    let what = format!("backed up to {}", args.out.display());
    report(&copied, &what, args.json)
}

/// Bring a backup back into a new store: a folder, or with --database a PostgreSQL database.
#[derive(Debug, ClapArgs)]
pub(super) struct RestoreArgs {
    /// The folder that `backup` made.
    #[arg(value_name = "BACKUP")]
    from: PathBuf,
    #[command(flatten)]
    store: StoreArgs,
    /// Print one JSON object, for machines.
    #[arg(long)]
    json: bool,
}

pub(super) fn restore(args: &RestoreArgs) -> Result<Done> {
    let location = args.store.location()?;
    let copied = wait_for(async {
        let progress = Progress::counting("photos brought back");
        Ok(bring_back(&args.from, &location, |done, _| progress.at(done)).await?)
    })?;
    let what = format!("brought back to {}", location.folder.display());
    report(&copied, &what, args.json)
}

/// Tells what came of it.
fn report(copied: &Copied, what: &str, json: bool) -> Result<Done> {
    let health = &copied.health;
    tell(json, copied, |out| {
        writeln!(
            out,
            "{what}: {} entries, {} photos, {} readings, {} events",
            health.entries, health.photos, health.readings, health.events
        )?;
        findings(out, health)?;
        match health.findings.is_empty() {
            true => writeln!(out, "verified: the copy is whole"),
            false => writeln!(
                out,
                "the copy holds all that there was; what is listed here is wrong or missing in it"
            ),
        }
    })?;
    Ok(Done::unless(!health.findings.is_empty()))
}
