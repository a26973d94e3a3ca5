//! Which label takes which value: the assignment that explains the plate best, in which every word is used
//! once, and how much likelier it is than the others.

use super::layout::{Edge, Layout, Relation};
use super::values;
use std::collections::BTreeMap;

/// Partial assignments kept in the search.
const WIDTH: usize = 160;
/// Words that a group of labels may share; the rest of a larger group is left out.
const WORDS: usize = 128;

/// What a label may cost to be given a value, in nats.
const DEAREST: f64 = 7.5;
/// The same for a label that is only one beside a fitting value.
const DEAREST_WEAK: f64 = 4.0;

/// How much better, in nats, labels below their values must explain a plate: few plates have them there.
const RARE: f64 = 3.0;

/// What it costs, in nats, that a rule runs between a label and its value, where nothing is known of the plate, and at most.
const RULED_OFF: f64 = 1.0;
const MOST_RULED_OFF: f64 = 3.0;

/// A value given to a label.
#[derive(Debug, Clone)]
pub(super) struct Match {
    pub edge: Edge,
    /// Probability against all other assignments.
    pub probability: f64,
}

/// How willingly each relation is used, in nats; learned from the plate itself.
#[derive(Debug, Clone, Copy)]
struct Liking {
    relation: [f64; 5],
    /// What it costs, in nats, that a rule runs between a label and its value.
    ruled_off: [f64; 5],
    /// What it is worth to read several places as one list, where the plate has a table of ratings.
    table: f64,
}

impl Liking {
    /// Most plates print values right of their labels; fewer below; hardly any above.
    const START: Liking = Liking {
        relation: [0.3, 0.9, 3.5, 0.7, 0.1],
        ruled_off: [RULED_OFF; 5],
        table: 0.0,
    };

    /// On plates with their labels below the values.
    const LABELS_BELOW: Liking = Liking {
        relation: [0.9, 3.5, 0.3, 0.7, 0.1],
        ruled_off: [RULED_OFF; 5],
        table: 0.0,
    };

    fn cost(&self, edge: &Edge) -> f64 {
        let relation = edge.relation as usize;
        self.relation[relation]
            + if edge.ruled_off {
                self.ruled_off[relation]
            } else {
                0.0
            }
    }

    /// From how often each relation was used.
    fn learn(matches: &[Match]) -> Liking {
        let mut liking = Liking::START;
        let counted = |r: Relation| matches.iter().filter(|m| m.edge.relation == r).count() as f64;
        let total: f64 = [
            Relation::Right,
            Relation::Below,
            Relation::Above,
            Relation::Left,
        ]
        .iter()
        .map(|&r| counted(r))
        .sum();
        for relation in Relation::ALL {
            if relation != Relation::Within {
                let start = (-Liking::START.relation[relation as usize]).exp();
                let share = (counted(relation) + 4.0 * start) / (total + 8.0);
                liking.relation[relation as usize] = -share.ln();
                // Some plates rule off all their labels.
                let of = |ruled_off: bool| {
                    let used = matches.iter().filter(|m| m.edge.relation == relation);
                    used.filter(|m| m.edge.ruled_off == ruled_off).count() as f64
                };
                let odds = (of(false) + 2.0 * RULED_OFF.exp()) / (of(true) + 2.0);
                liking.ruled_off[relation as usize] = odds.ln().clamp(0.0, MOST_RULED_OFF);
            }
        }
        let lists = matches.iter().filter(|m| m.edge.several).count();
        liking.table = match lists {
            0 | 1 => 0.0,
            several => (1.5 * several as f64).min(6.0),
        };
        liking
    }
}

/// Finds the best assignment, first as most plates are laid out, then as this one is. A plate that prints its labels below
/// their values is read as such where that explains it far better.
pub(super) fn assign(layout: &Layout<'_>, edges: &[Edge]) -> Vec<Match> {
    let settle = |start| {
        let (first, _) = solve(layout, edges, start);
        solve(layout, edges, Liking::learn(&first))
    };
    let (usual, gain) = settle(Liking::START);
    let (turned, other) = settle(Liking::LABELS_BELOW);
    if other > gain + RARE { turned } else { usual }
}

/// What it is worth to give a label a value at all.
fn worth_of_label(layout: &Layout<'_>, head: usize) -> f64 {
    let head = &layout.heads[head];
    match (head.within.is_some(), head.label.strong) {
        (true, _) => 6.0,
        (false, true) => 7.0 * head.label.certainty,
        (false, false) => 6.5 * head.label.certainty,
    }
}

/// What it is worth to explain a word.
fn worth_of_word(layout: &Layout<'_>, piece: usize) -> f64 {
    let text = &layout.pieces[piece].item.text;
    if text.chars().any(|c| c.is_ascii_digit()) {
        1.6
    } else {
        0.25
    }
}

/// The best assignment, and what it is worth in nats.
fn solve(layout: &Layout<'_>, edges: &[Edge], liking: Liking) -> (Vec<Match>, f64) {
    let gain = |edge: &Edge| -> f64 {
        let table = if edge.several { liking.table } else { 0.0 };
        let words: f64 = edge.pieces.iter().map(|&p| worth_of_word(layout, p)).sum();
        worth_of_label(layout, edge.head) + words + table - edge.cost - liking.cost(edge)
    };
    let useful: Vec<(usize, f64)> = edges
        .iter()
        .enumerate()
        .filter(|(_, e)| {
            let weak = !layout.heads[e.head].label.strong;
            let dearest = if weak { DEAREST_WEAK } else { DEAREST };
            e.cost + liking.cost(e) < dearest
        })
        .map(|(i, e)| (i, gain(e)))
        .collect();
    let mut matches = Vec::new();
    let mut worth = 0.0;
    for group in groups(layout, edges, &useful) {
        let (found, gain) = search(edges, &group);
        matches.extend(found);
        worth += gain;
    }
    matches.sort_by_key(|m| m.edge.pieces.first().copied());
    (matches, worth)
}

/// Labels that compete for words, with their edges: head -> (edge, gain).
type Group = BTreeMap<usize, Vec<(usize, f64)>>;

fn groups(layout: &Layout<'_>, edges: &[Edge], useful: &[(usize, f64)]) -> Vec<Group> {
    let mut root: Vec<usize> = (0..layout.heads.len()).collect();
    fn find(root: &mut [usize], mut i: usize) -> usize {
        while root[i] != i {
            root[i] = root[root[i]];
            i = root[i];
        }
        i
    }
    let mut owner: BTreeMap<usize, usize> = BTreeMap::new();
    for &(i, _) in useful {
        for &piece in &edges[i].pieces {
            let head = edges[i].head;
            let other = *owner.entry(piece).or_insert(head);
            let (a, b) = (find(&mut root, head), find(&mut root, other));
            root[a] = b;
        }
    }
    let mut groups: BTreeMap<usize, Group> = BTreeMap::new();
    for &(i, gain) in useful {
        let head = edges[i].head;
        let group = groups.entry(find(&mut root, head)).or_default();
        group.entry(head).or_default().push((i, gain));
    }
    groups.into_values().collect()
}

#[derive(Clone)]
struct Partial {
    used: u128,
    gain: f64,
    chosen: Vec<usize>,
}

/// The best way to give the labels of a group their values, and what it is worth in nats.
fn search(edges: &[Edge], group: &Group) -> (Vec<Match>, f64) {
    let mut bits: BTreeMap<usize, u32> = BTreeMap::new();
    for &(i, _) in group.values().flatten() {
        for &piece in &edges[i].pieces {
            let next = bits.len() as u32;
            bits.entry(piece).or_insert(next);
        }
    }
    let mask = |edge: &Edge| -> Option<u128> {
        edge.pieces.iter().try_fold(0u128, |mask, piece| {
            let bit = bits[piece];
            ((bit as usize) < WORDS).then(|| mask | 1 << bit)
        })
    };
    let mut beam = vec![Partial {
        used: 0,
        gain: 0.0,
        chosen: Vec::new(),
    }];
    for options in group.values() {
        let mut next = beam.clone();
        for &(i, gain) in options {
            let Some(mask) = mask(&edges[i]) else {
                continue;
            };
            for partial in beam.iter().filter(|p| p.used & mask == 0) {
                let mut chosen = partial.chosen.clone();
                chosen.push(i);
                next.push(Partial {
                    used: partial.used | mask,
                    gain: partial.gain + gain,
                    chosen,
                });
            }
        }
        next.sort_by(|a, b| {
            b.gain
                .total_cmp(&a.gain)
                .then_with(|| a.chosen.cmp(&b.chosen))
        });
        next.truncate(WIDTH);
        beam = next;
    }
    let Some(best) = beam.first() else {
        return (Vec::new(), 0.0);
    };
    let weight = |p: &Partial| (p.gain - best.gain).exp();
    let whole: f64 = beam.iter().map(weight).sum();
    // Another label may give the same place to the same field, and a value may be read with its unit or
    // without, or `CONT AO` for `CONT`, or stand in two places, as `TEAO` and in words: that is no disagreement.
    let agree = |i: usize, j: usize| -> bool {
        let (a, b) = (&edges[i], &edges[j]);
        let (read, other) = (&a.fit.reads[0], &b.fit.reads[0]);
        let part = || read.value == other.value && a.pieces.iter().any(|p| b.pieces.contains(p));
        let same = || {
            let (one, other) = (
                (&*read.printed, &read.value),
                (&*other.printed, &other.value),
            );
            values::alike(a.target, one, other)
        };
        i == j || a.target == b.target && (part() || same())
    };
    let matches = best.chosen.iter().map(|&i| {
        let agreeing = beam
            .iter()
            .filter(|p| p.chosen.iter().any(|&j| agree(i, j)));
        Match {
            edge: edges[i].clone(),
            probability: agreeing.map(weight).sum::<f64>() / whole,
        }
    });
    (matches.collect(), best.gain)
}
