//! `platewright replace`: from photos straight to the candidates, with the questions in between.

use super::match_::StockArgs;
use super::place::PlaceArgs;
use super::read::{ReadingArgs, print_failure};
use super::{Done, candidates, show};
use crate::confirm::{Key, Said, accept, answered};
use crate::matching::{Matches, Requirement};
use crate::pick::pick;
use crate::read::read;
use crate::record::{NameplateRecord, Question};
use crate::stock::StockList;
use anyhow::Result;
use clap::Args as ClapArgs;
use serde::Serialize;
use std::collections::HashSet;
use std::io::{self, IsTerminal, Write};
use std::path::PathBuf;

/// Who answers here.
const WHO: &str = "the person at the terminal";

/// Read the plate on each photo and pick its replacements.
#[derive(Debug, ClapArgs)]
pub(super) struct Args {
    #[command(flatten)]
    stock: StockArgs,
    /// Photos: JPEG, PNG, WebP, TIFF or HEIC.
    #[arg(required = true, value_name = "PHOTO")]
    photos: Vec<PathBuf>,
    /// Print one JSON object a photo, for machines: the record and its candidates.
    #[arg(long)]
    json: bool,
    /// Never ask, even on a terminal.
    #[arg(long)]
    no_questions: bool,
    #[command(flatten)]
    reading: ReadingArgs,
    #[command(flatten)]
    place: PlaceArgs,
}

#[derive(Serialize)]
struct Replacement<'a> {
    record: &'a NameplateRecord,
    #[serde(flatten)]
    matches: &'a Matches,
}

pub(super) fn run(args: &Args) -> Result<Done> {
    let (list, mut done) = args.stock.load()?;
    let reader = args.reading.reader()?;
    let settings = args.reading.settings();
    let asks =
        !args.json && !args.no_questions && io::stdin().is_terminal() && io::stdout().is_terminal();
    let mut out = io::stdout().lock();
    for path in &args.photos {
        let mut record = match read(path, &reader, &settings) {
            Ok(record) => record,
            Err(error) => {
                done = Done::Partly;
                print_failure(&mut out, path, &error, args.json)?;
                continue;
            }
        };
        if !args.json {
            // What matters of the doubts is asked below, against the stock; the rest is shown in the table.
            record.questions.clear();
            show::record(&mut out, &record, false)?;
        }
        let matches = if asks {
            let matches;
            (record, matches) = ask_what_matters(&mut out, &record, args.place.said(WHO), &list)?;
            matches
        } else {
            pick(&Requirement::new(&record, args.place.place()), &list.motors)
        };
        record.questions.clone_from(&matches.questions);
        if args.json {
            serde_json::to_writer(
                &mut out,
                &Replacement {
                    record: &record,
                    matches: &matches,
                },
            )?;
            writeln!(out)?;
        } else {
            list_questions(&mut out, &matches)?;
            candidates::show(&mut out, &matches, args.stock.most)?;
            writeln!(out)?;
        }
    }
    Ok(done)
}

fn list_questions(out: &mut impl Write, matches: &Matches) -> io::Result<()> {
    if matches.questions.is_empty() {
        return Ok(());
    }
    writeln!(
        out,
        "To be confirmed, since the answer changes the candidates:"
    )?;
    for question in &matches.questions {
        let choices = match question.choices.as_slice() {
            [] => String::new(),
            choices => format!(" ({})", choices.join(" | ")),
        };
        writeln!(out, "? {}{choices}", question.ask)?;
    }
    writeln!(out)
}

/// Asks one question at a time, the most telling first, until none is left or the person has no answer. Gives the
/// record with the answers, and its candidates.
fn ask_what_matters(
    out: &mut impl Write,
    read: &NameplateRecord,
    mut said: Vec<Said>,
    list: &StockList,
) -> Result<(NameplateRecord, Matches)> {
    let mut skipped: HashSet<String> = HashSet::new();
    let mut asked: Vec<String> = Vec::new();
    loop {
        let all = answered(read, &said);
        let matches = pick(&Requirement::new(&all.record, all.place), &list.motors);
        let next = matches
            .questions
            .iter()
            .find(|q| !skipped.contains(&q.field));
        let Some(question) = next.cloned() else {
            return Ok((all.record, matches));
        };
        // An answer that settles nothing, such as one of two contradicting values, is not asked for again.
        if asked.iter().filter(|f| **f == question.field).count() >= 2 {
            skipped.insert(question.field);
            continue;
        }
        write!(out, "? {}", question.ask)?;
        for (i, choice) in question.choices.iter().enumerate() {
            write!(out, "\n    {} {choice}", i + 1)?;
        }
        write!(out, "\n  number or value, Enter if you cannot tell: ")?;
        out.flush()?;
        let mut answer = String::new();
        if io::stdin().read_line(&mut answer)? == 0 || answer.trim().is_empty() {
            skipped.insert(question.field);
            continue;
        }
        asked.push(question.field.clone());
        let printed = chosen(&question, answer.trim());
        let Some(key) = Key::of_question(&question.field, &all.record) else {
            writeln!(
                out,
                "  this cannot be answered here; use the options of the command"
            )?;
            continue;
        };
        match accept(key, &printed) {
            Ok(()) => said.push(Said {
                key,
                printed,
                who: WHO.to_owned(),
            }),
            Err(error) => writeln!(out, "  {error}")?,
        }
    }
}

/// The choice with that number, or the answer itself. A number that is a choice itself is that choice.
fn chosen(question: &Question, answer: &str) -> String {
    if question.choices.iter().any(|c| c == answer) {
        return answer.to_owned();
    }
    let number = answer.parse::<usize>().ok().and_then(|n| n.checked_sub(1));
    match number.and_then(|i| question.choices.get(i)) {
        Some(choice) => choice.clone(),
        None => answer.to_owned(),
    }
}
