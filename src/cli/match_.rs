//! `platewright match`: a record against a stock list.

use super::place::PlaceArgs;
use super::{Done, candidates};
use crate::matching::{Matches, Requirement};
use crate::pick::pick;
use crate::record::NameplateRecord;
use crate::stock::{RowFault, StockList};
use anyhow::{Context, Result, bail};
use clap::Args as ClapArgs;
use serde::Serialize;
use std::io::{self, BufWriter, Read, Write};
use std::path::{Path, PathBuf};

/// Pick replacements for a record out of a stock list.
#[derive(Debug, ClapArgs)]
pub(super) struct Args {
    #[command(flatten)]
    stock: StockArgs,
    /// A record: a line of `read --json`, or one written by hand; `-` reads standard input.
    #[arg(value_name = "RECORD")]
    record: PathBuf,
    /// Print one JSON object, for machines.
    #[arg(long)]
    json: bool,
    #[command(flatten)]
    place: PlaceArgs,
}

/// The stock list and how much of it is shown; shared by all subcommands that match.
#[derive(Debug, ClapArgs)]
pub(super) struct StockArgs {
    /// The shop's stock list.
    #[arg(long, value_name = "LIST")]
    stock: PathBuf,
    /// How many candidates to show with their reasons.
    #[arg(long, value_name = "N", default_value_t = 3)]
    pub(super) most: usize,
}

/// Cells that count as unknown are said up to this many; `stock check` says all.
const MOST_REMARKS: usize = 5;

/// A fault with its file, line and sku.
pub(super) fn placed(path: &Path, fault: &RowFault) -> String {
    let sku = fault
        .sku
        .as_ref()
        .map_or(String::new(), |s| format!(" ({s})"));
    format!(
        "{}, line {}{sku}: {}",
        path.display(),
        fault.line,
        fault.message
    )
}

impl StockArgs {
    /// The motors of the list. Rows that were left out are told by their lines.
    pub(super) fn load(&self) -> Result<(StockList, Done)> {
        let list = StockList::open(&self.stock)?;
        for fault in &list.faults {
            eprintln!("platewright: left out: {}", placed(&self.stock, fault));
        }
        for remark in list.remarks.iter().take(MOST_REMARKS) {
            eprintln!("platewright: {}", placed(&self.stock, remark));
        }
        if list.remarks.len() > MOST_REMARKS {
            let more = list.remarks.len() - MOST_REMARKS;
            eprintln!(
                "platewright: {more} more cells count as unknown; `platewright stock check` names them"
            );
        }
        let done = if list.faults.is_empty() {
            Done::Fully
        } else {
            Done::Partly
        };
        Ok((list, done))
    }
}

/// The object that `match --json` prints.
#[derive(Serialize)]
struct Output<'a> {
    #[serde(flatten)]
    matches: &'a Matches,
    /// Rows of the stock list that could not be understood.
    left_out: &'a [RowFault],
}

pub(super) fn run(args: &Args) -> Result<Done> {
    let record = load_record(&args.record)?;
    let (list, done) = args.stock.load()?;
    let matches = pick(&Requirement::new(&record, args.place.place()), &list.motors);
    let mut out = BufWriter::new(io::stdout().lock());
    if args.json {
        let left_out = &list.faults;
        serde_json::to_writer(
            &mut out,
            &Output {
                matches: &matches,
                left_out,
            },
        )?;
        writeln!(out)?;
    } else {
        candidates::show(&mut out, &matches, args.stock.most)?;
        for question in &matches.questions {
            writeln!(out, "? {}", question.ask)?;
        }
    }
    out.flush()?;
    Ok(done)
}

/// The record in a file, or on standard input.
pub(super) fn load_record(path: &Path) -> Result<NameplateRecord> {
    let name = path.display();
    let text = if path == Path::new("-") {
        let mut text = String::new();
        io::stdin()
            .read_to_string(&mut text)
            .context("standard input is not UTF-8 text")?;
        text
    } else {
        std::fs::read_to_string(path)
            .with_context(|| format!("{name}: the record cannot be read"))?
    };
    let lines: Vec<&str> = text.lines().filter(|l| !l.trim().is_empty()).collect();
    // One object over several lines is a record written by hand; several objects are several photos.
    if lines.len() > 1
        && lines
            .iter()
            .all(|l| serde_json::from_str::<serde_json::Value>(l).is_ok_and(|v| v.is_object()))
    {
        bail!(
            "{name}: {} records, one was expected; give one line of `read --json` at a time",
            lines.len()
        );
    }
    NameplateRecord::from_json(&text).with_context(|| name.to_string())
}
