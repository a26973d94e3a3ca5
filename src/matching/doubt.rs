//! How the verdicts of several ways to read the plate come together: what holds under all of them holds,
//! what depends on the reading is asked.

use super::candidate::CandidateOutcome;
use super::readings::Ways;
use super::verdict::{Criterion, Outcome, Verdict};

/// One verdict a criterion over all ways.
pub(super) fn merge(ways: &Ways, all: Vec<&[Verdict]>) -> Vec<Verdict> {
    let mut criteria: Vec<Criterion> = all
        .iter()
        .flat_map(|v| v.iter().map(|v| v.criterion))
        .collect();
    criteria.sort_unstable();
    criteria.dedup();
    let merged = criteria.into_iter().filter_map(|criterion| {
        let found: Vec<Option<&Verdict>> = all
            .iter()
            .map(|verdicts| verdicts.iter().find(|v| v.criterion == criterion))
            .collect();
        one(ways, &found)
    });
    merged.collect()
}

/// The verdict of one criterion; ways in which it does not apply count as passing.
fn one(ways: &Ways, found: &[Option<&Verdict>]) -> Option<Verdict> {
    let first = found.iter().flatten().next()?;
    let outcome = |v: &Option<&Verdict>| v.map_or(Outcome::Pass, |v| v.outcome);
    if found.iter().all(|v| outcome(v) == first.outcome) {
        let differs = found
            .iter()
            .flatten()
            .any(|v| (&v.why, &v.had, &v.offers) != (&first.why, &first.had, &first.offers));
        let mut verdict = (*first).clone();
        if differs {
            verdict.had = distinct(found.iter().flatten().map(|v| &*v.had)).into();
            verdict.offers = distinct(found.iter().flatten().map(|v| &*v.offers)).into();
            verdict.why =
                format!("{} (the same for each way to read the plate)", verdict.why).into();
        }
        return Some(verdict);
    }
    let outcomes: Vec<Outcome> = found.iter().map(outcome).collect();
    let matter = matter(ways, &outcomes);
    // A criterion of one class alone, such as amps, speaks only for the ways in which it applies.
    let mut parts: Vec<String> = Vec::new();
    for wanted in [Outcome::Pass, Outcome::Work, Outcome::Ask, Outcome::Fail] {
        let mut of_outcome = found
            .iter()
            .enumerate()
            .filter(|(i, v)| outcomes[*i] == wanted && v.is_some())
            .peekable();
        let Some((_, Some(example))) = of_outcome.peek() else {
            continue;
        };
        let why = example.why.clone();
        let labels = named(
            of_outcome
                .map(|(i, _)| label(ways, i, &matter))
                .collect::<Vec<_>>()
                .iter()
                .map(String::as_str),
        );
        parts.push(format!("{} if {labels}: {why}", word(wanted)));
    }
    Some(Verdict {
        outcome: Outcome::Ask,
        had: distinct(found.iter().flatten().map(|v| &*v.had)).into(),
        offers: distinct(found.iter().flatten().map(|v| &*v.offers)).into(),
        why: parts.join("; ").into(),
        unknown: None,
        ..(*first).clone()
    })
}

fn word(outcome: Outcome) -> &'static str {
    match outcome {
        Outcome::Pass => "passes",
        Outcome::Work => "takes work",
        Outcome::Ask => "must be confirmed",
        Outcome::Fail => "fails",
    }
}

/// Readings that one sentence names; there may be dozens.
const MOST_NAMED: usize = 4;

/// The labels of ways, the likeliest first.
fn named<'a>(labels: impl Iterator<Item = &'a str>) -> String {
    let mut seen: Vec<&str> = Vec::new();
    for label in labels {
        if !seen.contains(&label) {
            seen.push(label);
        }
    }
    let more = seen.len().saturating_sub(MOST_NAMED);
    seen.truncate(MOST_NAMED);
    let told = seen.join(" or ");
    if more > 0 {
        format!("{told} or {more} more readings")
    } else {
        told
    }
}

fn distinct<'a>(texts: impl Iterator<Item = &'a str>) -> String {
    let mut seen: Vec<&str> = Vec::new();
    for text in texts {
        if !seen.contains(&text) {
            seen.push(text);
        }
    }
    seen.join(" or ")
}

/// The axes on which the outcome depends: two ways that differ in that axis alone end differently. Where
/// no such pair exists, all axes count.
fn matter<T: PartialEq>(ways: &Ways, outcomes: &[T]) -> Vec<usize> {
    let differ_only_in = |axis: usize, a: usize, b: usize| {
        let (a, b) = (&ways.ways[a].choice, &ways.ways[b].choice);
        (0..ways.axes.len()).all(|i| (a[i] != b[i]) == (i == axis))
    };
    let count = outcomes.len();
    let decides = |axis: &usize| {
        (0..count).any(|a| {
            (a + 1..count).any(|b| outcomes[a] != outcomes[b] && differ_only_in(*axis, a, b))
        })
    };
    let found: Vec<usize> = (0..ways.axes.len()).filter(decides).collect();
    if found.is_empty() {
        (0..ways.axes.len()).collect()
    } else {
        found
    }
}

/// A way in words, by the axes that matter.
fn label(ways: &Ways, way: usize, axes: &[usize]) -> String {
    let named = axes.iter().filter_map(|&axis| {
        let option = ways.ways[way].choice[axis]?;
        Some(format!(
            "{} is {}",
            ways.axes[axis].key.replace('_', " "),
            ways.axes[axis].options[option]
        ))
    });
    let label = named.collect::<Vec<_>>().join(" and ");
    // The axis that matters has nothing to say in this way.
    if label.is_empty() {
        "the plate reads otherwise".to_owned()
    } else {
        label
    }
}

/// For which readings a candidate comes to what; empty where all readings agree.
pub(super) fn depends(ways: &Ways, by_way: &[CandidateOutcome]) -> Vec<String> {
    let all_agree = by_way.windows(2).all(|pair| pair[0] == pair[1]);
    if all_agree {
        return Vec::new();
    }
    let matter = matter(ways, by_way);
    let outcomes = [
        (CandidateOutcome::Fits, "fits"),
        (CandidateOutcome::Work, "work"),
        (CandidateOutcome::Ask, "ask"),
        (CandidateOutcome::No, "no"),
    ];
    let lines = outcomes.iter().filter_map(|(outcome, word)| {
        let labels: Vec<String> = (0..by_way.len())
            .filter(|i| by_way[*i] == *outcome)
            .map(|i| label(ways, i, &matter))
            .collect();
        (!labels.is_empty())
            .then(|| format!("{word} if {}", named(labels.iter().map(String::as_str))))
    });
    lines.collect()
}
