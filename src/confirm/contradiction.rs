//! Confirmed values against the others: the plausibility rules once more, over what now stands there.

use crate::check;
use crate::record::{CheckOutcome, Field, NameplateRecord, Outcome, Question, State};

/// Runs the rules that bind a confirmed field anew. A clear reading in a contradiction that was not there before
/// is doubtful from now on, and asked.
pub(super) fn find(read: &NameplateRecord, record: &mut NameplateRecord, confirmed: &[Field]) {
    let again: Vec<CheckOutcome> = check::recheck(record);
    let touched = |c: &CheckOutcome| c.fields.iter().any(|f| confirmed.contains(f));
    let mut checks: Vec<CheckOutcome> = record
        .checks
        .iter()
        .filter(|c| !touched(c))
        .cloned()
        .collect();
    let known = |rule: &str| {
        read.checks
            .iter()
            .any(|c| c.rule == rule && c.outcome == Outcome::Doubt)
    };
    for check in again.into_iter().filter(touched) {
        if check.outcome == Outcome::Doubt && !known(&check.rule) {
            for field in &check.fields {
                doubt(record, *field, &check.message);
            }
        }
        checks.push(check);
    }
    record.checks = checks;
}

fn doubt(record: &mut NameplateRecord, field: Field, message: &str) {
    let Some(reading) = record
        .fields
        .get_mut(&field)
        .filter(|r| r.state == State::Clear)
    else {
        return;
    };
    reading.state = State::Doubtful;
    reading.reasons.push(message.to_owned());
    let printed = reading.printed.clone().unwrap_or_default();
    record.questions.push(Question {
        field: field.key().to_owned(),
        ask: format!(
            "Does the plate say {field} {printed}? ({})",
            message.trim_end_matches('.')
        ),
        choices: vec![printed],
    });
}
