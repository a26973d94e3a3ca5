//! `platewright watch`: folders and mail servers, from which photos go into the store as they come, and are read.

use super::Done;
use super::desk::{DeskArgs, stop_when_asked};
use super::store::wait_for;
use crate::intake::imap::{Account, Address};
use crate::intake::{Event, News, Shown, WatchOptions, Watched, watch_all};
use anyhow::{Context, Result, bail};
use clap::Args as ClapArgs;
use serde::Serialize;
use std::io::{self, Write};
use std::path::{Path, PathBuf};
use std::time::Duration;
use tokio::sync::mpsc::unbounded_channel;

/// The variable with the password for the mail server.
const PASSWORD: &str = "PLATEWRIGHT_IMAP_PASSWORD";

/// Take in and read photos as they come into folders or mailboxes, until Ctrl-C.
///
/// A mail is marked on the server with the keyword Platewright (or as read, where the server knows no keywords) once
/// the store has it. A server that is away is waited for.
#[derive(Debug, ClapArgs)]
pub(super) struct Args {
    /// Folders, and mail folders such as imaps://user@host/INBOX.
    #[arg(value_name = "SOURCE", required = true)]
    sources: Vec<String>,
    /// File with the password for the mail server; without it the variable PLATEWRIGHT_IMAP_PASSWORD.
    #[arg(long, value_name = "FILE")]
    password_file: Option<PathBuf>,
    /// Trust the certificates of this file (PEM) as well as the system's.
    #[arg(long, value_name = "FILE")]
    certificate: Option<PathBuf>,
    /// Reach imap:// addresses of other machines, unencrypted: only where the way there is safe.
    #[arg(long)]
    without_tls: bool,
    /// Look through folders at least so often; some network drives do not say what happens in them.
    #[arg(long, value_name = "SECONDS", default_value_t = 30, value_parser = clap::value_parser!(u32).range(1..=86_400))]
    rescan: u32,
    /// Print one JSON object a line for every entry that is read, for machines.
    #[arg(long)]
    json: bool,
    #[command(flatten)]
    desk: DeskArgs,
}

pub(super) fn run(args: &Args) -> Result<Done> {
    let watched = watched(args)?;
    wait_for(async {
        let desk = args.desk.open().await?;
        let store = desk.store.clone();
        let stop = stop_when_asked();
        let options = WatchOptions {
            rescan: Duration::from_secs(u64::from(args.rescan)),
            ..WatchOptions::default()
        };
        eprintln!(
            "platewright: watching {}; Ctrl-C ends it",
            args.sources.join(", ")
        );
        let (tell, mut told) = unbounded_channel();
        let stopping = stop.clone();
        let watching =
            tokio::spawn(async move { watch_all(desk, watched, options, &stopping, tell).await });
        let mut printed = Ok(());
        while let Some(news) = told.recv().await {
            if printed.is_ok() {
                printed = print(&news, args.json);
                if printed.is_err() {
                    // Whoever reads our output has gone away.
                    stop.set();
                }
            }
        }
        watching.await.context("watching stopped in the middle")??;
        store.close().await;
        printed?;
        Ok(Done::Fully)
    })
}

/// What is to be watched, or what is wrong with it.
fn watched(args: &Args) -> Result<Vec<Watched>> {
    let mut password = None;
    let mut watched = Vec::new();
    for source in &args.sources {
        if Address::is_meant(source) {
            let address = Address::parse(source, args.without_tls)?;
            let password = match &password {
                Some(known) => known,
                None => password.insert(self::password(args.password_file.as_deref())?),
            };
            watched.push(Watched::Mailbox(Box::new(Account {
                address,
                password: password.clone(),
                certificates: args.certificate.clone(),
            })));
        } else {
            let folder = PathBuf::from(source);
            if !folder.is_dir() {
                bail!("{source}: no such folder. Check the path; single files are for `batch`");
            }
            watched.push(Watched::Folder(folder));
        }
    }
    Ok(watched)
}

/// The password: the first line of a file, or what the variable says.
fn password(file: Option<&Path>) -> Result<String> {
    let password = match file {
        Some(path) => std::fs::read_to_string(path)
            .with_context(|| format!("{}: the password cannot be read from it", path.display()))?
            .lines()
            .next()
            .unwrap_or_default()
            .to_owned(),
        None => std::env::var(PASSWORD).unwrap_or_default(),
    };
    if password.is_empty() {
        bail!(
            "a password for the mail server is needed: in the variable {PASSWORD}, or in a file named with --password-file"
        );
    }
    Ok(password)
}

/// What came of an entry, for machines.
#[derive(Serialize)]
struct Line<'a> {
    file: &'a str,
    state: &'static str,
    #[serde(skip_serializing_if = "Option::is_none")]
    rows: Option<usize>,
    #[serde(skip_serializing_if = "Option::is_none")]
    questions: Option<usize>,
    #[serde(skip_serializing_if = "Option::is_none")]
    message: Option<&'a str>,
}

fn print(news: &News, json: bool) -> Result<()> {
    let mut out = io::stdout().lock();
    match news {
        News::Said(what) => eprintln!("platewright: {what}"),
        News::Taken(count) if !json => writeln!(out, "{count} taken in")?,
        News::Taken(_) => {}
        News::Read(event) if json => {
            serde_json::to_writer(&mut out, &line(event))?;
            writeln!(out)?;
        }
        News::Read(Event { file_name, reading }) => match reading {
            Ok(shown) => {
                let questions: usize = shown.records().iter().map(|r| r.questions.len()).sum();
                let rows = match shown {
                    Shown::Plate { .. } => String::new(),
                    Shown::Rows(rows) => format!(", a log page with {} rows", rows.len()),
                };
                writeln!(out, "{file_name}: read{rows}, {questions} to confirm")?;
            }
            Err(failure) => writeln!(out, "{}", failure.message)?,
        },
    }
    Ok(out.flush()?)
}

fn line(event: &Event) -> Line<'_> {
    match &event.reading {
        Ok(shown) => Line {
            file: &event.file_name,
            state: "read",
            rows: match shown {
                Shown::Plate { .. } => None,
                Shown::Rows(rows) => Some(rows.len()),
            },
            questions: Some(shown.records().iter().map(|r| r.questions.len()).sum()),
            message: None,
        },
        Err(failure) => Line {
            file: &event.file_name,
            state: "failed",
            rows: None,
            questions: None,
            message: Some(&failure.message),
        },
    }
}
