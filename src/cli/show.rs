//! Records as a person reads them.

use crate::record::{Field, NameplateRecord, Outcome, Reading, State};
use std::io::{self, Write};

/// Prints a record as a table; with `explain` the evidence too.
pub(super) fn record(
    out: &mut impl Write,
    record: &NameplateRecord,
    explain: bool,
) -> io::Result<()> {
    if let Some(file) = &record.file {
        let time = record.ms.map_or(String::new(), |ms| {
            format!("  ({:.2} s)", ms as f64 / 1000.0)
        });
        writeln!(out, "{file}{time}")?;
    }
    let class = &record.class;
    writeln!(
        out,
        "  {:<20} {:<24} {:<10} {}",
        "class",
        class.value.to_string(),
        class.state.to_string(),
        class.reason
    )?;
    let mut absent = Vec::new();
    for &field in Field::ALL {
        match record.fields.get(&field) {
            Some(reading) if reading.state != State::Absent => readout(out, field, reading)?,
            Some(reading) if reading.quad.is_some() => readout(out, field, reading)?,
            _ => absent.push(field.label()),
        }
    }
    if !absent.is_empty() {
        writeln!(
            out,
            "  not on the plate, or not read: {}",
            absent.join(", ")
        )?;
    }
    ratings(out, record)?;
    for question in &record.questions {
        writeln!(out, "  ? {}", question.ask)?;
        if !question.choices.is_empty() {
            writeln!(out, "      one of: {}", question.choices.join(" | "))?;
        }
    }
    if explain {
        evidence(out, record)?;
    }
    writeln!(out)
}

/// The value as printed, with its unit unless the print has it.
fn with_unit(field: Field, reading: &Reading) -> String {
    field.with_unit(reading.printed.as_deref().unwrap_or("-"))
}

fn readout(out: &mut impl Write, field: Field, reading: &Reading) -> io::Result<()> {
    let reason = match reading.state {
        State::Clear => "",
        _ => reading.reasons.first().map_or("", String::as_str),
    };
    let line = format!(
        "  {:<20} {:<24} {:<10} {}",
        field.label(),
        with_unit(field, reading),
        reading.state.to_string(),
        reason
    );
    writeln!(out, "{}", line.trim_end())
}

fn ratings(out: &mut impl Write, record: &NameplateRecord) -> io::Result<()> {
    if record.ratings.len() < 2 {
        return Ok(());
    }
    for point in &record.ratings {
        writeln!(out, "  rating point         {point}")?;
    }
    Ok(())
}

fn evidence(out: &mut impl Write, record: &NameplateRecord) -> io::Result<()> {
    writeln!(out, "  evidence")?;
    for (field, reading) in record.fields.iter().filter(|(_, r)| r.printed.is_some()) {
        let others: Vec<String> = reading
            .alternatives
            .iter()
            .map(|a| format!("{} ({:.4})", a.printed, a.confidence))
            .collect();
        let others = if others.is_empty() {
            String::new()
        } else {
            format!("; or {}", others.join(", "))
        };
        writeln!(
            out,
            "    {:<20} {} ({:.4}){others}",
            field.label(),
            reading.printed.as_deref().unwrap_or("-"),
            reading.confidence
        )?;
    }
    for check in &record.checks {
        let mark = match check.outcome {
            Outcome::Ok => "ok   ",
            Outcome::Doubt => "doubt",
        };
        writeln!(
            out,
            "    {mark} {}: {} [{}]",
            check.rule, check.message, check.source
        )?;
    }
    for line in &record.lines {
        let p = line.quad.0[0];
        writeln!(
            out,
            "    text {:>5.0},{:<5.0} {:.3} {}",
            p.x, p.y, line.confidence, line.text
        )?;
    }
    Ok(())
}
