//! What to ask, and in which order: only what changes the candidates, the most telling first.

use super::candidate::{Candidate, CandidateOutcome};
use super::readings::Ways;
use super::verdict::Unknown;
use crate::record::Question;
use std::collections::BTreeMap;

/// Questions about the doubtful readings that split the candidates, then about what nobody knows.
pub(super) fn ask(ways: &Ways, candidates: &[Candidate]) -> Vec<Question> {
    let mut gains: Vec<(f64, usize)> = (0..ways.axes.len())
        .map(|axis| (gain(ways, axis, candidates), axis))
        .filter(|(gain, _)| *gain > 1e-9)
        .collect();
    // Stable: among equals the more important reading stays first.
    gains.sort_by(|a, b| b.0.total_cmp(&a.0));
    let mut questions: Vec<Question> = gains
        .into_iter()
        .map(|(_, axis)| {
            let axis = &ways.axes[axis];
            Question {
                field: axis.key.clone(),
                ask: axis.ask.clone(),
                choices: axis.options.clone(),
            }
        })
        .collect();
    let mut open: BTreeMap<Unknown, usize> = BTreeMap::new();
    for candidate in candidates
        .iter()
        .filter(|c| c.outcome != CandidateOutcome::No)
    {
        for unknown in candidate.verdicts.iter().filter_map(|v| v.unknown) {
            *open.entry(unknown).or_default() += 1;
        }
    }
    let mut open: Vec<(Unknown, usize)> = open.into_iter().collect();
    open.sort_by_key(|(_, count)| std::cmp::Reverse(*count));
    for (unknown, _) in open {
        if questions.iter().all(|q| q.field != unknown.key) {
            questions.push(Question {
                field: unknown.key.to_owned(),
                ask: unknown.ask.to_owned(),
                choices: hint(ways, unknown.key),
            });
        }
    }
    questions
}

/// What may stand in the place of a doubtful reading that counts as unknown, or the few answers that there are.
fn hint(ways: &Ways, key: &str) -> Vec<String> {
    if let Some((_, choices)) = ways.hints.iter().find(|(k, _)| *k == key) {
        return choices.clone();
    }
    let answers: &[&str] = match key {
        "class" => &["air-over", "general-purpose"],
        "phase" => &["1", "3"],
        "hertz" => &["60", "50"],
        "drive" => &["fan", "belt", "pump", "gearbox", "compressor", "coupling"],
        "restart" => &["harmless", "dangerous"],
        "mounting" => &["rigid", "resilient", "band", "studs", "lugs", "C face"],
        "shaft_position" => &["level", "up", "down"],
        _ => &[],
    };
    answers.iter().map(|a| (*a).to_owned()).collect()
}

/// What a buyer must know before ordering: every doubt, and what an unknown motor would be asked for.
pub(super) fn before_buying(ways: &Ways, probe: &Candidate) -> Vec<Question> {
    let doubts = ways.axes.iter().map(|axis| Question {
        field: axis.key.clone(),
        ask: axis.ask.clone(),
        choices: axis.options.clone(),
    });
    let mut questions: Vec<Question> = doubts.collect();
    for unknown in probe.verdicts.iter().filter_map(|v| v.unknown) {
        if questions.iter().all(|q| q.field != unknown.key) {
            questions.push(Question {
                field: unknown.key.to_owned(),
                ask: unknown.ask.to_owned(),
                choices: hint(ways, unknown.key),
            });
        }
    }
    questions
}

/// How much of the uncertainty about the candidates' outcomes the answer takes away, in bits over all.
fn gain(ways: &Ways, axis: usize, candidates: &[Candidate]) -> f64 {
    candidates
        .iter()
        .map(|c| entropy(ways, c, |_| true) - after(ways, axis, c))
        .sum()
}

fn after(ways: &Ways, axis: usize, candidate: &Candidate) -> f64 {
    let options = ways.axes[axis].options.len();
    let answers = (0..options).map(Some).chain([None]);
    answers
        .map(|answer| {
            let share: f64 = ways
                .ways
                .iter()
                .filter(|w| w.choice[axis] == answer)
                .map(|w| w.weight)
                .sum();
            share * entropy(ways, candidate, |i| ways.ways[i].choice[axis] == answer)
        })
        .sum()
}

/// Entropy of a candidate's outcome over the ways that `holds` lets through.
fn entropy(ways: &Ways, candidate: &Candidate, holds: impl Fn(usize) -> bool) -> f64 {
    let mut weights: BTreeMap<CandidateOutcome, f64> = BTreeMap::new();
    for (i, outcome) in candidate
        .by_way
        .iter()
        .enumerate()
        .filter(|(i, _)| holds(*i))
    {
        *weights.entry(*outcome).or_default() += ways.ways[i].weight;
    }
    let total: f64 = weights.values().sum();
    weights
        .values()
        .filter(|w| **w > 0.0)
        .map(|w| -(w / total) * (w / total).log2())
        .sum()
}
