//! A candidate on the sheet: what it is, why it fits or not, and the figures for its circuit.

use super::block::{Block, Cell, Tone};
use crate::matching::{
    CIRCUIT_NOTE, Candidate, CandidateOutcome, Criterion, Outcome, circuit_figures,
};
use crate::units::plain;

pub(super) fn describe(blocks: &mut Vec<Block>, candidate: &Candidate) {
    let (word, tone) = match candidate.outcome {
        CandidateOutcome::Fits => ("FITS", Tone::Good),
        CandidateOutcome::Work => ("FITS WITH WORK", Tone::Work),
        CandidateOutcome::Ask => ("CONFIRM FIRST", Tone::Open),
        CandidateOutcome::No => ("DOES NOT FIT", Tone::Bad),
    };
    blocks.push(Block::Candidate {
        name: candidate.sku.clone(),
        outcome: Cell::of(tone, word),
    });
    blocks.push(Block::Text(shelf(candidate)));
    let warnings = candidate.warnings.iter();
    blocks.extend(warnings.map(|w| Block::Alert(format!("Look at this row of the list: {w}"))));
    let depends = candidate.depends.iter();
    blocks.extend(depends.map(|d| Block::Alert(format!("Depends on the reading: {d}."))));
    blocks.push(verdicts(candidate));
    circuit(blocks, candidate);
}

/// What it is and where it lies.
fn shelf(candidate: &Candidate) -> String {
    let mut parts = vec![candidate.rating.to_string()];
    parts.extend(candidate.frame.as_ref().map(|f| format!("frame {f}")));
    parts.extend(candidate.enclosure.clone());
    let quantity = candidate.quantity;
    parts.extend(quantity.map(|q| format!("{} in stock", plain(q))));
    parts.extend(candidate.location.as_ref().map(|l| format!("at {l}")));
    parts.extend(candidate.price.as_ref().map(|p| format!("price {p}")));
    parts.extend(candidate.notes.clone());
    let extra = candidate.extra.iter();
    parts.extend(extra.map(|(header, cell)| format!("{header}: {cell}")));
    parts.join(", ")
}

/// What stands in the way first.
fn verdicts(candidate: &Candidate) -> Block {
    let mut verdicts: Vec<_> = candidate.verdicts.iter().collect();
    verdicts.sort_by_key(|v| std::cmp::Reverse(v.outcome));
    let header = ["", "", "old motor", "this motor", "why", "source"];
    let mut rows = vec![header.map(|h| Cell::of(Tone::Faint, h)).to_vec()];
    rows.extend(verdicts.into_iter().map(|verdict| {
        let (mark, tone) = match verdict.outcome {
            Outcome::Pass => ("yes", Tone::Good),
            Outcome::Work => ("WORK", Tone::Work),
            Outcome::Ask => ("ASK", Tone::Open),
            Outcome::Fail => ("NO", Tone::Bad),
        };
        vec![
            Cell::of(tone, mark),
            Cell::plain(verdict.criterion.to_string()),
            Cell::plain(&*verdict.had),
            Cell::plain(&*verdict.offers),
            Cell::plain(&*verdict.why),
            Cell::of(Tone::Faint, verdict.source),
        ]
    }));
    Block::Table {
        widths: &[0.06, 0.10, 0.15, 0.15, 0.30, 0.24],
        rows,
    }
}

fn circuit(blocks: &mut Vec<Block>, candidate: &Candidate) {
    if !candidate.warnings.is_empty() {
        blocks.push(Block::Alert(
            "No electrical figures: the row of the list is doubtful. Take the amps from the motor's own plate.".to_owned(),
        ));
        return;
    }
    let air_over = candidate
        .verdicts
        .iter()
        .any(|v| v.criterion == Criterion::Amps);
    let figures = circuit_figures(&candidate.rating, candidate.service_factor, air_over);
    if figures.is_empty() {
        return;
    }
    blocks.push(Block::Text(format!("Electrical checks. {CIRCUIT_NOTE}")));
    let rows = figures.into_iter().map(|figure| {
        vec![
            Cell::plain(figure.what),
            Cell::of(Tone::Strong, figure.amps.to_string()),
            Cell::plain(figure.how),
            Cell::of(Tone::Faint, figure.source),
        ]
    });
    blocks.push(Block::Table {
        widths: &[0.32, 0.10, 0.36, 0.22],
        rows: rows.collect(),
    });
}
