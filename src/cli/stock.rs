//! `platewright stock check`: what a stock list says that cannot be, row by row.

use super::Done;
use super::match_::placed;
use crate::pick;
use crate::stock::{RowFault, StockList, StockMotor};
use anyhow::Result;
use clap::{Args as ClapArgs, Subcommand};
use serde::Serialize;
use std::io::{self, BufWriter, Write};
use std::path::PathBuf;

/// Look after a stock list.
#[derive(Debug, ClapArgs)]
pub(super) struct Args {
    #[command(subcommand)]
    command: Command,
}

#[derive(Debug, Subcommand)]
enum Command {
    /// Report rows that cannot be understood, and motors that are implausible, by line.
    Check {
        /// The stock list: CSV or a workbook.
        #[arg(value_name = "LIST")]
        list: PathBuf,
        /// Print one JSON object, for machines.
        #[arg(long)]
        json: bool,
    },
}

/// The object that `stock check --json` prints.
#[derive(Serialize)]
struct Report {
    motors: usize,
    unknown_headers: Vec<String>,
    /// Rows that were left out.
    left_out: Vec<RowFault>,
    /// Cells that count as unknown.
    unknown_cells: Vec<RowFault>,
    /// Motors whose values contradict each other or the tables.
    implausible: Vec<RowFault>,
}

pub(super) fn run(args: &Args) -> Result<Done> {
    let Command::Check { list: path, json } = &args.command;
    let list = StockList::open(path)?;
    let report = Report {
        motors: list.motors.len(),
        implausible: list.motors.iter().flat_map(implausible).collect(),
        unknown_headers: list.unknown_headers,
        left_out: list.faults,
        unknown_cells: list.remarks,
    };
    let mut out = BufWriter::new(io::stdout().lock());
    if *json {
        serde_json::to_writer(&mut out, &report)?;
        writeln!(out)?;
    } else {
        let named = |fault: &RowFault| placed(path, fault);
        for (what, faults) in [
            ("left out", &report.left_out),
            ("counts as unknown", &report.unknown_cells),
            ("implausible", &report.implausible),
        ] {
            for fault in faults {
                writeln!(out, "{what:<18}{}", named(fault))?;
            }
        }
        if !report.unknown_headers.is_empty() {
            writeln!(
                out,
                "unknown columns, kept and shown: {}",
                report.unknown_headers.join(", ")
            )?;
        }
        writeln!(
            out,
            "{} motors, {} rows left out, {} cells unknown, {} doubts about motors",
            report.motors,
            report.left_out.len(),
            report.unknown_cells.len(),
            report.implausible.len()
        )?;
    }
    out.flush()?;
    Ok(if report.left_out.is_empty() {
        Done::Fully
    } else {
        Done::Partly
    })
}

/// What is doubtful about a motor, at its line.
fn implausible(motor: &StockMotor) -> Vec<RowFault> {
    let doubts = pick::implausible(motor).into_iter();
    doubts
        .map(|message| RowFault {
            line: motor.line,
            sku: Some(motor.sku.clone()),
            message,
        })
        .collect()
}
