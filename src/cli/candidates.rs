//! Candidates as a person reads them.

use crate::matching::{Candidate, CandidateOutcome, Matches, Outcome, Verdict};
use std::io::{self, Write};

/// Prints the requirement, the best candidates with their reasons, the count of the rest, and the cautions.
pub(super) fn show(out: &mut impl Write, matches: &Matches, most: usize) -> io::Result<()> {
    let summary = matches.requirement.summary();
    writeln!(
        out,
        "Wanted: {} motor, by {}",
        summary.class, summary.selects_by
    )?;
    let wanted: Vec<&Candidate> = matches
        .candidates
        .iter()
        .filter(|c| c.outcome != CandidateOutcome::No)
        .collect();
    if wanted.is_empty() {
        writeln!(out, "Nothing in this list fits.")?;
    }
    for candidate in wanted.iter().take(most) {
        describe(out, candidate)?;
    }
    if wanted.len() > most {
        writeln!(out, "  and {} more that may serve", wanted.len() - most)?;
    }
    let rejected: Vec<&Candidate> = matches
        .candidates
        .iter()
        .filter(|c| c.outcome == CandidateOutcome::No)
        .collect();
    if !rejected.is_empty() {
        writeln!(out, "No, {} motors; the closest of them:", rejected.len())?;
        for candidate in rejected.iter().take(most.min(3)) {
            let why: Vec<String> = candidate
                .verdicts
                .iter()
                .filter(|v| v.outcome == Outcome::Fail)
                .map(|v| format!("{}: {}", v.criterion, v.why))
                .collect();
            writeln!(out, "  {:<16} {}", candidate.sku, why.join("; "))?;
        }
    }
    for caution in &matches.cautions {
        writeln!(out, "! {caution}")?;
    }
    Ok(())
}

fn describe(out: &mut impl Write, candidate: &Candidate) -> io::Result<()> {
    let outcome = match candidate.outcome {
        CandidateOutcome::Fits => "FITS",
        CandidateOutcome::Work => "FITS WITH WORK",
        CandidateOutcome::Ask => "ASK FIRST",
        CandidateOutcome::No => "NO",
    };
    let shelf = [
        candidate
            .quantity
            .map(|q| format!("{} in stock", crate::units::plain(q))),
        candidate.location.clone(),
        candidate.price.as_ref().map(|p| format!("price {p}")),
    ];
    let shelf: Vec<String> = shelf.into_iter().flatten().collect();
    writeln!(
        out,
        "{outcome:<14} {:<16} {}",
        candidate.sku,
        shelf.join(", ")
    )?;
    for reading in &candidate.depends {
        writeln!(out, "    depends on the reading: {reading}")?;
    }
    // What stands in the way first.
    let mut verdicts: Vec<&Verdict> = candidate.verdicts.iter().collect();
    verdicts.sort_by_key(|v| std::cmp::Reverse(v.outcome));
    for verdict in verdicts {
        let mark = match verdict.outcome {
            Outcome::Pass => "yes ",
            Outcome::Work => "work",
            Outcome::Ask => "ask ",
            Outcome::Fail => "no  ",
        };
        writeln!(
            out,
            "    {mark} {:<12} {} [{}]",
            verdict.criterion.to_string(),
            verdict.why,
            verdict.source
        )?;
    }
    Ok(())
}
