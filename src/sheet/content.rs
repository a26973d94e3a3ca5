//! What stands on the sheet, in order.

use super::block::{Block, Cell, Tone};
use super::candidate::describe;
use crate::matching::{Candidate, CandidateOutcome, Demand, Matches, Place};
use crate::record::{Field, NameplateRecord, Reading, State};

/// The pieces of a sheet with at most `most` candidates.
pub fn blocks(
    record: &NameplateRecord,
    matches: &Matches,
    demands: &[Demand],
    most: usize,
) -> Vec<Block> {
    let mut blocks = vec![Block::Title("Replacement of a motor".to_owned())];
    blocks.push(Block::Text(
        "Job: ______________________   Unit: ______________________   Date: ______________"
            .to_owned(),
    ));
    blocks.push(Block::Photo);
    let photo = record.file.as_ref();
    blocks.extend(photo.map(|f| Block::Text(format!("Photo: {f}"))));
    plate(&mut blocks, record);
    questions(&mut blocks, matches);
    demanded(&mut blocks, matches, demands);
    candidates(&mut blocks, matches, most);
    blocks.push(Block::Heading("Cautions".to_owned()));
    let cautions = matches.cautions.iter();
    blocks.extend(cautions.map(|c| Block::Text((*c).to_owned())));
    blocks.push(Block::Text(String::new()));
    blocks.push(Block::Text(
        "Checked by (licensed person): ______________________________   Date: ______________"
            .to_owned(),
    ));
    blocks
}

/// The record: each reading with its state, and who confirmed it in place of what.
fn plate(blocks: &mut Vec<Block>, record: &NameplateRecord) {
    blocks.push(Block::Heading("The old motor's plate".to_owned()));
    let class = &record.class;
    let mut rows = vec![vec![
        Cell::plain("class"),
        Cell::of(Tone::Strong, class.value.to_string()),
        state(class.state),
        Cell::plain(class.reason.clone()),
    ]];
    let mut absent = Vec::new();
    for &field in Field::ALL {
        let reading = record.fields.get(&field);
        match reading.filter(|r| r.state != State::Absent) {
            Some(reading) => rows.push(vec![
                Cell::plain(field.label()),
                Cell::of(Tone::Strong, printed(field, reading)),
                state(reading.state),
                Cell::plain(remark(reading)),
            ]),
            None => absent.push(field.label()),
        }
    }
    blocks.push(Block::Table {
        widths: &[0.18, 0.25, 0.13, 0.44],
        rows,
    });
    if !absent.is_empty() {
        blocks.push(Block::Text(format!(
            "Not on the plate, or not read: {}.",
            absent.join(", ")
        )));
    }
}

fn state(state: State) -> Cell {
    let tone = match state {
        State::Clear | State::Confirmed => Tone::Plain,
        State::Doubtful | State::Absent => Tone::Open,
    };
    Cell::of(tone, state.to_string())
}

/// The printed characters with their unit, unless it is printed too.
fn printed(field: Field, reading: &Reading) -> String {
    field.with_unit(reading.printed.as_deref().unwrap_or("-"))
}

/// What else a doubtful reading may be, why it is doubted, or who confirmed it in place of what.
fn remark(reading: &Reading) -> String {
    if !matches!(reading.state, State::Doubtful | State::Confirmed) {
        return String::new();
    }
    let mut parts = reading.reasons.clone();
    if !reading.alternatives.is_empty() && reading.state == State::Doubtful {
        let others: Vec<&str> = reading
            .alternatives
            .iter()
            .map(|a| a.printed.as_str())
            .collect();
        parts.insert(0, format!("or {}", others.join(", ")));
    }
    parts.join("; ")
}

fn questions(blocks: &mut Vec<Block>, matches: &Matches) {
    if matches.questions.is_empty() {
        return;
    }
    blocks.push(Block::Heading("To be confirmed first".to_owned()));
    let rows = matches.questions.iter().map(|question| {
        let answer = if question.choices.is_empty() {
            "______________".to_owned()
        } else {
            question.choices.join("  |  ")
        };
        vec![
            Cell::of(Tone::Open, question.ask.clone()),
            Cell::plain(answer),
        ]
    });
    blocks.push(Block::Table {
        widths: &[0.55, 0.45],
        rows: rows.collect(),
    });
}

fn demanded(blocks: &mut Vec<Block>, matches: &Matches, demands: &[Demand]) {
    let summary = matches.requirement.summary();
    blocks.push(Block::Heading("What the replacement must be".to_owned()));
    blocks.push(Block::Text(format!("Selected by {}.", summary.selects_by)));
    let place = told(&summary.place);
    if !place.is_empty() {
        blocks.push(Block::Text(format!("The place, as told: {place}.")));
    }
    let rows = demands.iter().map(|demand| {
        vec![
            Cell::plain(demand.what),
            Cell::plain(demand.wanted.clone()),
            Cell::of(Tone::Faint, demand.source),
        ]
    });
    blocks.push(Block::Table {
        widths: &[0.18, 0.52, 0.30],
        rows: rows.collect(),
    });
}

/// What somebody said of the place: `drive belt, supply 480 V`.
fn told(place: &Place) -> String {
    let units = |key: &str| match key {
        "supply" => " V",
        "hertz" => " Hz",
        "ambient" => " °C",
        "room" | "shaft" | "shaft_length" => " in",
        _ => "",
    };
    let Ok(serde_json::Value::Object(said)) = serde_json::to_value(place) else {
        return String::new();
    };
    let said = said.into_iter().map(|(key, value)| {
        let value = match value {
            serde_json::Value::String(text) => text,
            serde_json::Value::Number(n) => n.as_f64().map_or(n.to_string(), crate::units::plain),
            other => other.to_string(),
        };
        format!("{} {value}{}", key.replace('_', " "), units(&key))
    });
    said.collect::<Vec<_>>().join(", ")
}

fn candidates(blocks: &mut Vec<Block>, matches: &Matches, most: usize) {
    blocks.push(Block::Heading("From stock".to_owned()));
    let good: Vec<&Candidate> = matches
        .candidates
        .iter()
        .filter(|c| c.outcome != CandidateOutcome::No)
        .collect();
    if good.is_empty() {
        blocks.push(Block::Text(
            "Nothing in stock fits: buy by the lines above.".to_owned(),
        ));
    }
    for candidate in good.iter().take(most) {
        describe(blocks, candidate);
    }
    if good.len() > most {
        blocks.push(Block::Text(format!(
            "And {} more that may serve.",
            good.len() - most
        )));
    }
}
