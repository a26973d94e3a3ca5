//! What stands on the sheet, in order.

use crate::matching::{
    CIRCUIT_NOTE, Candidate, CandidateOutcome, Criterion, Demand, Matches, Outcome, circuit_figures,
};
use crate::record::{Field, NameplateRecord, State};
use crate::units::plain;

/// A piece of the sheet.
#[derive(Debug, Clone, PartialEq)]
pub enum Block {
    /// What the sheet is.
    Title(String),
    /// What follows.
    Heading(String),
    /// The piece of the photo with the plate.
    Photo,
    /// A name and what belongs to it.
    Pair(String, String),
    /// A sentence.
    Text(String),
    /// A sentence that stands below another.
    Indented(String),
}

/// The pieces of a sheet with at most `most` candidates.
pub fn blocks(
    record: &NameplateRecord,
    matches: &Matches,
    demands: &[Demand],
    most: usize,
) -> Vec<Block> {
    let mut blocks = vec![Block::Title("Replacement of a motor".to_owned())];
    blocks.extend(
        record
            .file
            .as_ref()
            .map(|f| Block::Text(format!("Photo: {f}"))),
    );
    blocks.push(Block::Photo);
    plate(&mut blocks, record);
    blocks.push(Block::Heading("What the replacement must be".to_owned()));
    blocks.push(Block::Text(format!(
        "Selected by {}.",
        matches.requirement.summary().selects_by
    )));
    for demand in demands {
        blocks.push(Block::Pair(
            demand.what.to_owned(),
            format!("{} [{}]", demand.wanted, demand.source),
        ));
    }
    candidates(&mut blocks, matches, most);
    if !matches.questions.is_empty() {
        blocks.push(Block::Heading("To be confirmed first".to_owned()));
        for question in &matches.questions {
            let choices = if question.choices.is_empty() {
                String::new()
            } else {
                format!(" ({})", question.choices.join(" or "))
            };
            blocks.push(Block::Text(format!("{}{choices}", question.ask)));
        }
    }
    blocks.push(Block::Heading("Cautions".to_owned()));
    blocks.extend(
        matches
            .cautions
            .iter()
            .map(|c| Block::Text((*c).to_owned())),
    );
    blocks.push(Block::Text(
        "Checked by (licensed person, date): ______________________________".to_owned(),
    ));
    blocks
}

/// The record: each reading with its state, and who confirmed it in place of what.
fn plate(blocks: &mut Vec<Block>, record: &NameplateRecord) {
    blocks.push(Block::Heading("The old motor's plate".to_owned()));
    let class = &record.class;
    let reason = if class.reason.is_empty() {
        String::new()
    } else {
        format!(": {}", class.reason)
    };
    blocks.push(Block::Pair(
        "class".to_owned(),
        format!("{}, {}{reason}", class.value, class.state),
    ));
    let mut absent = Vec::new();
    for &field in Field::ALL {
        let Some(reading) = record
            .fields
            .get(&field)
            .filter(|r| r.state != State::Absent)
        else {
            absent.push(field.label());
            continue;
        };
        let printed = reading.printed.as_deref().unwrap_or("-");
        let unit = field
            .unit()
            .filter(|u| !printed.to_lowercase().contains(&u.to_lowercase()));
        let mut text = format!(
            "{printed}{}, {}",
            unit.map_or(String::new(), |u| format!(" {u}")),
            reading.state
        );
        if !reading.alternatives.is_empty() && reading.state == State::Doubtful {
            let others: Vec<&str> = reading
                .alternatives
                .iter()
                .map(|a| a.printed.as_str())
                .collect();
            text.push_str(&format!(" (or {})", others.join(", ")));
        }
        if matches!(reading.state, State::Doubtful | State::Confirmed)
            && !reading.reasons.is_empty()
        {
            text.push_str(&format!(": {}", reading.reasons.join("; ")));
        }
        blocks.push(Block::Pair(field.label().to_owned(), text));
    }
    if !absent.is_empty() {
        blocks.push(Block::Text(format!(
            "Not on the plate, or not read: {}.",
            absent.join(", ")
        )));
    }
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

fn describe(blocks: &mut Vec<Block>, candidate: &Candidate) {
    let word = match candidate.outcome {
        CandidateOutcome::Fits => "fits",
        CandidateOutcome::Work => "fits with work",
        CandidateOutcome::Ask => "confirm first",
        CandidateOutcome::No => "does not fit",
    };
    let mut shelf = vec![candidate.rating.to_string()];
    shelf.extend(candidate.frame.as_ref().map(|f| format!("frame {f}")));
    shelf.extend(candidate.enclosure.clone());
    shelf.extend(candidate.quantity.map(|q| format!("{} in stock", plain(q))));
    shelf.extend(candidate.location.as_ref().map(|l| format!("at {l}")));
    shelf.extend(candidate.price.as_ref().map(|p| format!("price {p}")));
    shelf.extend(candidate.notes.clone());
    blocks.push(Block::Pair(
        candidate.sku.clone(),
        format!("{}: {}", word.to_uppercase(), shelf.join(", ")),
    ));
    blocks.extend(
        candidate
            .warnings
            .iter()
            .map(|w| Block::Indented(format!("Look at this row of the list: {w}"))),
    );
    blocks.extend(
        candidate
            .depends
            .iter()
            .map(|d| Block::Indented(format!("Depends on the reading: {d}."))),
    );
    let mut verdicts: Vec<_> = candidate.verdicts.iter().collect();
    verdicts.sort_by_key(|v| std::cmp::Reverse(v.outcome));
    for verdict in verdicts {
        let mark = match verdict.outcome {
            Outcome::Pass => "yes",
            Outcome::Work => "WORK",
            Outcome::Ask => "ASK",
            Outcome::Fail => "NO",
        };
        blocks.push(Block::Indented(format!(
            "{mark}, {}: had {}, offers {}; {} [{}]",
            verdict.criterion, verdict.had, verdict.offers, verdict.why, verdict.source
        )));
    }
    let air_over = candidate
        .verdicts
        .iter()
        .any(|v| v.criterion == Criterion::Amps);
    let figures = circuit_figures(&candidate.rating, candidate.service_factor, air_over);
    if !figures.is_empty() {
        blocks.push(Block::Indented(CIRCUIT_NOTE.to_owned()));
    }
    for figure in figures {
        blocks.push(Block::Indented(format!(
            "{}: {} ({}) [{}]",
            figure.what, figure.amps, figure.how, figure.source
        )));
    }
}
