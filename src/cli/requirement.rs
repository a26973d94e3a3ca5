//! `platewright requirement`: what to buy when nothing in stock fits.

use super::place::PlaceArgs;
use super::{Done, candidates, match_};
use crate::matching::{CAUTIONS, Demand, Requirement};
use crate::record::Question;
use anyhow::Result;
use clap::Args as ClapArgs;
use serde::Serialize;
use std::io::{self, BufWriter, Write};
use std::path::PathBuf;

/// Print the buying sheet of a record: what to ask a supplier for.
#[derive(Debug, ClapArgs)]
pub(super) struct Args {
    /// The record: a line of `read --json`, or one written by hand. `-` reads standard input.
    #[arg(value_name = "RECORD")]
    record: PathBuf,
    /// Print one JSON object, for machines.
    #[arg(long)]
    json: bool,
    #[command(flatten)]
    place: PlaceArgs,
}

/// The object that `requirement --json` prints.
#[derive(Serialize)]
struct Sheet<'a> {
    requirement: &'a Requirement,
    demands: Vec<Demand>,
    questions: Vec<Question>,
    cautions: &'a [&'a str],
}

pub(super) fn run(args: &Args) -> Result<Done> {
    let mut out = BufWriter::new(io::stdout().lock());
    let record = match_::load_record(&args.record)?;
    let requirement = Requirement::new(&record, args.place.place());
    let sheet = Sheet {
        demands: requirement.demands(),
        questions: requirement.questions(),
        requirement: &requirement,
        cautions: CAUTIONS,
    };
    if args.json {
        serde_json::to_writer(&mut out, &sheet)?;
        writeln!(out)?;
    } else {
        print(&mut out, &sheet)?;
    }
    out.flush()?;
    Ok(Done::Fully)
}

fn print(out: &mut impl Write, sheet: &Sheet<'_>) -> io::Result<()> {
    candidates::requirement(out, sheet.requirement.summary())?;
    writeln!(out, "\nto buy")?;
    for demand in &sheet.demands {
        writeln!(
            out,
            "  {:<18}{} [{}]",
            demand.what, demand.wanted, demand.source
        )?;
    }
    candidates::questions(out, &sheet.questions)?;
    writeln!(out)?;
    for caution in sheet.cautions {
        writeln!(out, "! {caution}")?;
    }
    Ok(())
}
