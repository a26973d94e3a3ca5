//! Candidates as a person reads them.

use crate::matching::{Candidate, CandidateOutcome, Matches, Outcome, Summary, Verdict};
use crate::record::Question;
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
    let frame = candidate.frame.as_ref().map(|f| format!(", frame {f}"));
    writeln!(out, "    {}{}", candidate.rating, frame.unwrap_or_default())?;
    let remarks = candidate.notes.iter().cloned();
    let extra = candidate
        .extra
        .iter()
        .map(|(h, cell)| format!("{h}: {cell}"));
    let remarks: Vec<String> = remarks.chain(extra).collect();
    if !remarks.is_empty() {
        writeln!(out, "    {}", remarks.join(", "))?;
    }
    for warning in &candidate.warnings {
        writeln!(out, "    look at this row of the list: {warning}")?;
    }
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

/// What is looked for.
pub(super) fn requirement(out: &mut impl Write, summary: &Summary) -> io::Result<()> {
    writeln!(out, "old motor           {}", summary.class)?;
    for point in &summary.ratings {
        writeln!(out, "  rating            {}", point)?;
    }
    for fact in &summary.facts {
        writeln!(
            out,
            "  {:<18}{}",
            fact.field.key().replace('_', " "),
            fact.printed
        )?;
    }
    for doubt in &summary.doubtful {
        let choices = if doubt.choices.len() > 1 {
            format!("one of {}", doubt.choices.join(" | "))
        } else {
            format!("{}, doubtful", doubt.choices.join(""))
        };
        writeln!(out, "  {:<18}{choices}", doubt.key.replace('_', " "))?;
    }
    writeln!(out, "selects by          {}", summary.selects_by)
}

/// What to ask.
pub(super) fn questions(out: &mut impl Write, questions: &[Question]) -> io::Result<()> {
    for question in questions {
        writeln!(out, "? {}", question.ask)?;
        if !question.choices.is_empty() {
            writeln!(out, "    one of: {}", question.choices.join(" | "))?;
        }
    }
    Ok(())
}
