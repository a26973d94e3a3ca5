//! The store on the command line: where it lies, `export` and `check-store`.

use super::Done;
use super::output::{tell, write_whole};
use crate::store::{
    Finding, Health, Location, Store, export_csv, export_history_csv, export_history_json_lines,
    export_json_lines, export_parquet, export_xlsx,
};
use anyhow::{Context, Result, bail};
use clap::{Args as ClapArgs, ValueEnum};
use std::future::Future;
use std::io::{self, BufWriter, IsTerminal, Write};
use std::path::PathBuf;

/// Where the store lies; shared by all subcommands that use one.
#[derive(Debug, Clone, ClapArgs)]
#[command(next_help_heading = "The store")]
pub(super) struct StoreArgs {
    /// Folder of the store, made if there is none; without it the platform's data folder.
    #[arg(long, value_name = "PATH")]
    store: Option<PathBuf>,
    /// Keep everything but the photos in a PostgreSQL database, such as postgres://user@host/name.
    #[arg(long, value_name = "URL", value_parser = postgres, env = "PLATEWRIGHT_DATABASE", hide_env_values = true)]
    database: Option<String>,
    /// Keep the photos and stock lists in an object store that speaks S3, such as s3://bucket/folder. Keys, region and
    /// end point come from AWS_ACCESS_KEY_ID, AWS_SECRET_ACCESS_KEY, AWS_REGION and AWS_ENDPOINT_URL.
    #[arg(long, value_name = "URL", value_parser = objects)]
    photos: Option<String>,
}

fn objects(text: &str) -> Result<String, String> {
    match text.strip_prefix("s3://") {
        Some(bucket) if !bucket.trim_matches('/').is_empty() => Ok(text.to_owned()),
        _ => Err("expected the address of a bucket, such as s3://bucket/folder".to_owned()),
    }
}

fn postgres(text: &str) -> Result<String, String> {
    if text.starts_with("postgres://") || text.starts_with("postgresql://") {
        Ok(text.to_owned())
    } else {
        Err("expected a PostgreSQL address, such as postgres://user@host/name".to_owned())
    }
}

impl StoreArgs {
    pub(super) fn location(&self) -> Result<Location> {
        let location = Location::new(self.store.clone(), self.database.clone()).context(
            "this platform has no folder for data; say with --store where the store shall lie",
        )?;
        Ok(Location {
            photos: self.photos.clone(),
            ..location
        })
    }

    /// The PostgreSQL database.
    pub(super) fn database(&self) -> Option<&str> {
        self.database.as_deref()
    }

    /// Opens the store.
    pub(super) async fn open(&self) -> Result<Store> {
        Ok(Store::open(&self.location()?).await?)
    }

    /// Opens a store that must be there already: a wrong path is not to become an empty store.
    pub(super) async fn open_existing(&self) -> Result<Store> {
        let location = self.location()?;
        if !location.folder.is_dir() {
            bail!(
                "{}: there is no store; check the path",
                location.folder.display()
            );
        }
        Ok(Store::open(&location).await?)
    }
}

/// Runs something that waits for the disk and the net.
pub(super) fn wait_for<T>(work: impl Future<Output = Result<T>>) -> Result<T> {
    tokio::runtime::Builder::new_multi_thread()
        .enable_all()
        .build()
        .context("the system gives no threads")?
        .block_on(work)
}

/// Write everything in the store as a table or as JSON Lines.
#[derive(Debug, ClapArgs)]
pub(super) struct ExportArgs {
    #[command(flatten)]
    store: StoreArgs,
    /// What to write.
    #[arg(long, value_enum, default_value_t = Format::Jsonl)]
    format: Format,
    /// Write the history instead: who did what and when, each event with the hash of the one before it.
    #[arg(long)]
    history: bool,
    /// Where to; without it, or with `-`, to standard output.
    #[arg(value_name = "OUT")]
    out: Option<PathBuf>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum Format {
    /// A line of `read --json` an entry, with `source` and `id`.
    Jsonl,
    /// A table as CSV.
    Csv,
    /// A table as a workbook, with the pictures of what is doubtful.
    Xlsx,
    /// A table for tools that analyse, as Parquet.
    Parquet,
}

impl Format {
    fn is_binary(self) -> bool {
        matches!(self, Format::Xlsx | Format::Parquet)
    }
}

pub(super) fn export(args: &ExportArgs) -> Result<Done> {
    if args.history && args.format.is_binary() {
        bail!("the history is written as JSON Lines or CSV; add --format csv");
    }
    match args.out.as_ref().filter(|p| p.as_os_str() != "-") {
        Some(path) => write_whole(path, |out| write(args, out))?,
        None if args.format.is_binary() && io::stdout().is_terminal() => {
            bail!("this format is no text for a terminal; name a file, such as motors.xlsx")
        }
        None => {
            let mut out = BufWriter::new(io::stdout());
            write(args, &mut out)?;
            out.flush()?;
        }
    }
    Ok(Done::Fully)
}

fn write(args: &ExportArgs, mut out: &mut (dyn Write + Send)) -> Result<()> {
    wait_for(async {
        let store = args.store.open_existing().await?;
        match args.format {
            Format::Csv if args.history => export_history_csv(&store, &mut out).await?,
            _ if args.history => export_history_json_lines(&store, &mut out).await?,
            Format::Jsonl => {
                let waiting = export_json_lines(&store, &mut out).await?;
                if waiting > 0 {
                    eprintln!("platewright: {waiting} entries wait to be read and are not in it");
                }
            }
            Format::Csv => export_csv(&store, &mut out).await?,
            Format::Xlsx => {
                let without = export_xlsx(&store, &mut out).await?;
                if without > 0 {
                    eprintln!(
                        "platewright: {without} doubtful readings stand in it without a picture; so many would not open"
                    );
                }
            }
            Format::Parquet => export_parquet(&store, &mut out).await?,
        }
        store.close().await;
        Ok(())
    })
}

/// Look whether the store is whole: files against their hashes, references, and the chain of its history.
#[derive(Debug, ClapArgs)]
pub(super) struct CheckArgs {
    #[command(flatten)]
    store: StoreArgs,
    /// Print one JSON object, for machines.
    #[arg(long)]
    json: bool,
}

pub(super) fn check(args: &CheckArgs) -> Result<Done> {
    let health = wait_for(async {
        let store = args.store.open_existing().await?;
        let health = store.verify().await?;
        store.close().await;
        Ok(health)
    })?;
    tell(args.json, &health, |out| print(out, &health))?;
    Ok(Done::unless(!health.findings.is_empty()))
}

/// What is wrong, a line each.
pub(super) fn findings(out: &mut impl Write, health: &Health) -> io::Result<()> {
    for Finding { kind, message } in &health.findings {
        writeln!(out, "! {kind}: {message}")?;
    }
    Ok(())
}

fn print(out: &mut impl Write, health: &Health) -> io::Result<()> {
    writeln!(
        out,
        "{} entries, {} photos, {} readings, {} events",
        health.entries, health.photos, health.readings, health.events
    )?;
    if health.events > 0 {
        writeln!(out, "the history ends with {}", health.head)?;
    }
    findings(out, health)?;
    if health.strays > 0 {
        writeln!(
            out,
            "{} files belong to no entry: an add was cut short; they do no harm",
            health.strays
        )?;
    }
    if health.findings.is_empty() {
        writeln!(out, "the store is whole")?;
    } else {
        writeln!(
            out,
            "restore what is missing from a copy; what was changed afterwards stays marked here"
        )?;
    }
    Ok(())
}
