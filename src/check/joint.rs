//! The joint choice: how likely every candidate is once all fields of the plate are looked at together.
//!
//! A way to read the plate weighs as much as its candidates are likely to be printed there, times the factor
//! of every rule. What none of a field's candidates covers is one more case, "something else": the rules meet
//! it with the mean of their factors over the values that differ from the reading by one character. That a
//! value may belong to another field is a part of it. So a reading gains from a rule's consent only as much as
//! a misreading would have been noticed. The marginal of a candidate is the share of all ways that hold it:
//! Bayes' rule with the rules as the prior.

use super::misreading;
use super::motor::{Marks, Motor, Slot};
use super::rule::Rule;
use super::rules;
use crate::plate::{Candidate, FieldReading, Plate};
use crate::record::Field;
use std::collections::{BTreeMap, HashMap};

/// At most so many candidates of a field take part.
const MOST_CANDIDATES: usize = 7;
/// Candidates less likely than this do not.
const LEAST: f64 = 1e-4;
/// So many partial ways are carried on.
const BEAM: usize = 1500;
/// A partial way this much lighter than the best is dropped: it cannot change a marginal that matters.
const DROP: f64 = 1e-8;

/// However much a rule knows, this share of misreadings passes it.
const LEAST_UNNOTICED: f64 = 0.02;
/// And this share of values that are another field's: they are as usual as any, only elsewhere.
const LEAST_ASTRAY: f64 = 0.2;

/// The marginals of one field.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Marginals {
    /// Index of the candidate and its probability, the likeliest first.
    pub candidates: Vec<(usize, f64)>,
}

/// The marginals of every field of the plate, `left_out` taken as not there.
pub(super) fn marginals(
    plate: &Plate,
    marks: &Marks,
    left_out: &[Field],
) -> BTreeMap<Field, Marginals> {
    let fields: Vec<Field> = plate
        .fields
        .keys()
        .copied()
        .filter(|f| !left_out.contains(f))
        .collect();
    let active: Vec<&Rule> = rules::all()
        .filter(|r| r.needs.iter().all(|f| fields.contains(f)))
        .collect();
    let mut result = BTreeMap::new();
    for component in components(&fields, &active) {
        result.extend(Component::new(plate, marks, component, &active).marginals());
    }
    result
}

/// Fields that no rule binds together can be looked at apart.
fn components(fields: &[Field], rules: &[&Rule]) -> Vec<Vec<Field>> {
    let mut groups: Vec<Vec<Field>> = fields.iter().map(|f| vec![*f]).collect();
    for rule in rules {
        let bound: Vec<Field> = rule.fields().filter(|f| fields.contains(f)).collect();
        let (touched, mut rest): (Vec<_>, Vec<_>) = groups
            .into_iter()
            .partition(|g| g.iter().any(|f| bound.contains(f)));
        let mut joined: Vec<Field> = touched.concat();
        joined.sort();
        rest.push(joined);
        groups = rest;
    }
    groups.retain(|g| !g.is_empty());
    groups
}

/// A partial way: its weight, and for each field so far the candidate (the number of candidates: something else).
#[derive(Clone)]
struct Way {
    weight: f64,
    picks: Vec<u8>,
}

/// The candidates of a field.
struct Options<'a> {
    /// Index, candidate, and the probability that it stands there and belongs to the field.
    kept: Vec<(usize, &'a Candidate, f64)>,
    /// Probability of other characters in this place.
    misread: f64,
    /// Probability that the value is another field's.
    astray: f64,
    /// What is left of both once the rules have met them: something else.
    other: f64,
}

/// How surely a place is the field's, by what its layout says. Where the second reader takes the value for the same, of 400
/// places between 0.965 and 0.995, on 696 plates of 14 sets, 397 were their fields', and two of the other three are no
/// longer taken for one (`models/README.md`); below, see `least_association`.
fn belongs(field: Field, reading: &FieldReading) -> f64 {
    const MEASURED: f64 = 0.997;
    let association = reading.association.clamp(0.0, 1.0);
    let first = reading.candidates.first();
    if first.is_some_and(|c| reading.is_seconded(&c.value))
        && association >= super::least_association(field)
    {
        association.max(MEASURED)
    } else {
        association
    }
}

struct Component<'a> {
    marks: &'a Marks,
    fields: Vec<Field>,
    /// For each field its candidates.
    options: Vec<Options<'a>>,
    /// For each rule the position of the last field that it waits for, and the positions it looks at.
    rules: Vec<(&'a Rule, usize, Vec<usize>)>,
}

impl<'a> Component<'a> {
    fn new(plate: &'a Plate, marks: &'a Marks, fields: Vec<Field>, active: &[&'a Rule]) -> Self {
        let options = fields
            .iter()
            .filter_map(|&field| Some((field, plate.fields.get(&field)?)))
            .map(|(field, reading)| {
                let mut kept: Vec<(usize, &Candidate)> =
                    reading.candidates.iter().enumerate().collect();
                kept.sort_by(|a, b| b.1.probability.total_cmp(&a.1.probability));
                kept.truncate(MOST_CANDIDATES);
                let first = kept.first().map(|k| k.0);
                kept.retain(|k| k.1.probability > LEAST || Some(k.0) == first);
                let covered: f64 = kept.iter().map(|k| k.1.probability.clamp(0.0, 1.0)).sum();
                let belongs = belongs(field, reading);
                let kept: Vec<(usize, &Candidate, f64)> = kept
                    .into_iter()
                    .map(|(at, c)| (at, c, belongs * c.probability.clamp(0.0, 1.0)))
                    .collect();
                Options {
                    kept,
                    misread: belongs * (1.0 - covered).clamp(0.0, 1.0),
                    astray: 1.0 - belongs,
                    other: 0.0,
                }
            });
        let options = options.collect();
        let rules = active.iter().filter_map(|rule| {
            let at: Vec<usize> = rule
                .fields()
                .filter_map(|f| fields.iter().position(|g| *g == f))
                .collect();
            Some((*rule, at.iter().copied().max()?, at))
        });
        let rules = rules.collect();
        let mut component = Component {
            marks,
            fields,
            options,
            rules,
        };
        let unnoticed: Vec<f64> = (0..component.fields.len())
            .map(|at| component.unnoticed(at))
            .collect();
        for (option, unnoticed) in component.options.iter_mut().zip(unnoticed) {
            option.other = option.misread * unnoticed + option.astray * unnoticed.max(LEAST_ASTRAY);
        }
        component
    }

    /// How plausible something else in the place of a field is, on average, beside the first candidates of
    /// the other fields: the share of misreadings that the rules would not notice.
    fn unnoticed(&self, at: usize) -> f64 {
        let field = self.fields[at];
        let first = self.motor(&vec![0; self.fields.len()]);
        let Some(read) = first
            .candidate(field)
            .filter(|_| self.options[at].misread + self.options[at].astray > 0.0)
        else {
            return 1.0;
        };
        let binding: Vec<&Rule> = self
            .rules
            .iter()
            .filter(|r| r.2.contains(&at))
            .map(|r| r.0)
            .collect();
        if binding.is_empty() {
            return 1.0;
        }
        let others = misreading::candidates(field, read);
        if others.is_empty() {
            // No other value has a meaning here: what is left is hardly another reading.
            return LEAST_UNNOTICED;
        }
        let plausible = |other: &Candidate| -> f64 {
            let motor = first.with(field, Slot::Read(other));
            binding.iter().map(|rule| rule.factor(&motor)).product()
        };
        (others.iter().map(plausible).sum::<f64>() / others.len() as f64).max(LEAST_UNNOTICED)
    }

    fn motor(&self, picks: &[u8]) -> Motor<'a> {
        let mut motor = Motor::new(self.marks);
        for ((field, options), pick) in self.fields.iter().zip(&self.options).zip(picks) {
            motor.set(
                *field,
                options
                    .kept
                    .get(*pick as usize)
                    .map_or(Slot::Other, |k| Slot::Read(k.1)),
            );
        }
        motor
    }

    fn marginals(&self) -> BTreeMap<Field, Marginals> {
        let mut ways = vec![Way {
            weight: 1.0,
            picks: Vec::new(),
        }];
        // A rule sees the same few combinations again and again.
        let mut known: Vec<HashMap<Vec<u8>, f64>> = vec![HashMap::new(); self.rules.len()];
        for depth in 0..self.fields.len() {
            let Options { kept, other, .. } = &self.options[depth];
            let mut next = Vec::with_capacity(ways.len() * (kept.len() + 1));
            for way in &ways {
                for pick in 0..=kept.len() {
                    let p = kept.get(pick).map_or(*other, |k| k.2);
                    let mut picks = way.picks.clone();
                    picks.push(pick as u8);
                    next.push(Way {
                        weight: way.weight * p,
                        picks,
                    });
                }
            }
            for (rule, known) in self
                .rules
                .iter()
                .zip(&mut known)
                .filter(|(r, _)| r.1 == depth)
            {
                for way in next.iter_mut().filter(|w| w.weight > 0.0) {
                    let key: Vec<u8> = rule.2.iter().map(|at| way.picks[*at]).collect();
                    way.weight *= *known
                        .entry(key)
                        .or_insert_with(|| rule.0.factor(&self.motor(&way.picks)));
                }
            }
            next.sort_by(|a, b| b.weight.total_cmp(&a.weight));
            let best = next.first().map_or(0.0, |w| w.weight);
            next.retain(|w| w.weight > 0.0 && w.weight >= best * DROP);
            next.truncate(BEAM);
            // Weights only matter against each other; this keeps them from vanishing.
            for way in &mut next {
                way.weight /= best;
            }
            ways = next;
        }
        let total: f64 = ways.iter().map(|w| w.weight).sum();
        let each =
            self.fields
                .iter()
                .zip(&self.options)
                .enumerate()
                .map(|(at, (field, options))| {
                    let mut candidates: Vec<(usize, f64)> =
                        options.kept.iter().map(|k| (k.0, 0.0)).collect();
                    for way in &ways {
                        if let Some(candidate) = candidates.get_mut(way.picks[at] as usize) {
                            candidate.1 += way.weight / total;
                        }
                    }
                    candidates.sort_by(|a, b| b.1.total_cmp(&a.1));
                    (*field, Marginals { candidates })
                });
        each.collect()
    }
}
