//! `platewright replace`: from photos straight to the candidates, with the questions in between.

use super::match_::StockArgs;
use super::place::{self, PlaceArgs};
use super::read::{ReadingArgs, print_failure};
use super::{Done, candidates, show};
use crate::matching::{Hold, Matches, Place, Requirement, Rotation, rating_label};
use crate::pick::pick;
use crate::read::read;
use crate::record::{Class, Field, NameplateRecord, Question, State, notation};
use crate::stock::{self, StockList};
use crate::units::{Hertz, Volts};
use anyhow::Result;
use clap::Args as ClapArgs;
use serde::Serialize;
use std::collections::HashSet;
use std::io::{self, IsTerminal, Write};
use std::path::PathBuf;

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
        let mut place = args.place.place();
        if !args.json {
            // What matters of the doubts is asked below, against the stock; the rest is shown in the table.
            record.questions.clear();
            show::record(&mut out, &record, false)?;
        }
        let matches = if asks {
            ask_what_matters(&mut out, &mut record, &mut place, &list)?
        } else {
            pick(&Requirement::new(&record, place.clone()), &list.motors)
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

/// Asks one question at a time, the most telling first, until none is left or the person has no answer.
fn ask_what_matters(
    out: &mut impl Write,
    record: &mut NameplateRecord,
    place: &mut Place,
    list: &StockList,
) -> Result<Matches> {
    let mut skipped: HashSet<String> = HashSet::new();
    let mut answered: Vec<String> = Vec::new();
    loop {
        let matches = pick(&Requirement::new(record, place.clone()), &list.motors);
        let next = matches
            .questions
            .iter()
            .find(|q| !skipped.contains(&q.field));
        let Some(question) = next.cloned() else {
            return Ok(matches);
        };
        // An answer that settles nothing, such as one of two contradicting values, is not asked for again.
        if answered.iter().filter(|f| **f == question.field).count() >= 2 {
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
        let answer = chosen(&question, answer.trim());
        answered.push(question.field.clone());
        if let Err(hint) = apply(record, place, &question.field, &answer) {
            writeln!(out, "  {hint}")?;
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

/// Puts an answer where it belongs; what cannot be understood comes back as a hint.
fn apply(
    record: &mut NameplateRecord,
    place: &mut Place,
    key: &str,
    answer: &str,
) -> Result<(), String> {
    const WHO: &str = "the person at the terminal";
    match key {
        "class" => {
            record.class.value = match answer.to_lowercase().as_str() {
                "air-over" | "y" | "yes" => Class::AirOver,
                "general-purpose" | "n" | "no" => Class::GeneralPurpose,
                _ => return Err("answer yes (air-over) or no (general-purpose)".to_owned()),
            };
            record.class.state = State::Confirmed;
            record.class.reason = format!("{WHO} said so");
        }
        "supply" => {
            let volts = notation::parse(Field::Volts, answer).map(|v| v.numbers().to_vec());
            match volts.as_deref() {
                Some([volts]) => place.supply = Some(Volts(*volts)),
                _ => return Err("answer with one voltage, such as 230".to_owned()),
            }
        }
        "hertz" => match notation::parse(Field::Hertz, answer)
            .map(|v| v.numbers().to_vec())
            .as_deref()
        {
            Some([hertz]) => place.hertz = Some(Hertz(*hertz)),
            _ => return Err("answer 60 or 50".to_owned()),
        },
        "drive" => {
            place.drive = Some(
                place::drive(answer)
                    .ok_or("answer fan, belt, pump, gearbox, compressor or coupling")?,
            );
        }
        "rotation" => {
            place.rotation = Some(
                Rotation::parse(answer)
                    .ok_or("answer CW or CCW and the end it is seen from, such as CCWLE")?,
            );
        }
        "shaft" => {
            place.shaft =
                Some(stock::inches(answer).ok_or("answer in inches, such as 0.625 or 5/8")?);
        }
        "shaft_position" => {
            place.shaft_position =
                Some(place::shaft_position(answer).ok_or("answer level, up or down")?);
        }
        "restart" => {
            place.restart = Some(place::restart(answer).ok_or("answer harmless or dangerous")?);
        }
        "mounting" => {
            place.hold = Some(Hold::parse(answer).ok_or(
                "answer rigid, resilient, band, studs, lugs, yoke, C face, or a code such as B5",
            )?);
        }
        "rating" | "ratings" => {
            let of_answer: Vec<_> = record
                .ratings
                .iter()
                .filter(|r| rating_label(r) == answer)
                .cloned()
                .collect();
            if of_answer.is_empty() {
                return Err("answer with the number of one of the ratings".to_owned());
            }
            record.ratings = of_answer;
        }
        _ => {
            let field = Field::from_key(key)
                .ok_or("this cannot be answered here; use the options of the command")?;
            if notation::parse(field, answer).is_none() {
                return Err(format!(
                    "{answer:?} is not written as {field} are on a plate; try again"
                ));
            }
            record.confirm(field, answer, WHO);
        }
    }
    Ok(())
}
