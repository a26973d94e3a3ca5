//! The grammars of values, and the search of a lattice for strings that follow one.
//!
//! A grammar is a finite automaton; the search is the prefix search of connectionist temporal
//! classification (Hannun et al. 2014) in which only prefixes that can still become a value are kept.

use crate::text::{BLANK, Lattice};
use regex_automata::dfa::{Automaton, dense};
use regex_automata::util::primitives::StateID;
use regex_automata::{Anchored, Input};
use std::collections::HashMap;

/// Prefixes kept from step to step.
const WIDTH: usize = 24;
/// In the search, the likeliest characters of a step that are tried.
const TRIED: usize = 12;
/// A lattice in which no prefix of the grammar is likelier than e to this holds none of its strings.
const HOPELESS: f32 = -18.0;

/// The written forms of a value.
pub(super) struct Grammar {
    dfa: dense::DFA<Vec<u32>>,
    start: StateID,
}

impl Grammar {
    /// The grammar of a pattern in capital letters, which must match from end to end.
    ///
    /// # Panics
    /// When the pattern is no regular expression; the patterns are fixed and the tests build them all.
    pub fn new(pattern: &str) -> Grammar {
        let anchored = format!(r"(?:{pattern})\z");
        let dfa = dense::Builder::new()
            .configure(dense::Config::new().start_kind(regex_automata::dfa::StartKind::Anchored))
            .build(&anchored)
            .expect("a fixed pattern");
        let start = dfa
            .start_state_forward(&Input::new("").anchored(Anchored::Yes))
            .expect("an anchored start");
        Grammar { dfa, start }
    }

    fn step(&self, state: StateID, ch: char) -> Option<StateID> {
        let mut bytes = [0; 4];
        let upper = upper(ch);
        let mut state = state;
        for &byte in upper.encode_utf8(&mut bytes).as_bytes() {
            state = self.dfa.next_state(state, byte);
        }
        (!self.dfa.is_dead_state(state) && !self.dfa.is_quit_state(state)).then_some(state)
    }

    fn accepts_at(&self, state: StateID) -> bool {
        self.dfa.is_match_state(self.dfa.next_eoi_state(state))
    }

    /// Whether a string follows the grammar.
    pub fn accepts(&self, text: &str) -> bool {
        let mut chars = text.chars();
        let end = chars.try_fold(self.start, |state, ch| self.step(state, ch));
        end.is_some_and(|state| self.accepts_at(state))
    }

    /// The likeliest strings of the grammar with their probability, the likeliest first.
    pub fn search(&self, lattice: &Lattice) -> Vec<(String, f64)> {
        let mut tree = Tree::new(self.start);
        let mut beam = vec![(
            0usize,
            Ends {
                blank: 0.0,
                character: f32::NEG_INFINITY,
            },
        )];
        for at in 0..lattice.steps() {
            let blank = lattice.log_p(at, BLANK);
            let mut next: HashMap<usize, Ends> = HashMap::with_capacity(beam.len() * 4);
            for &(node, ends) in &beam {
                let last = tree.nodes[node].ch;
                let stay = next.entry(node).or_insert(Ends::NEVER);
                stay.blank = log_add(stay.blank, ends.either() + blank);
                if last != BLANK {
                    let again = ends.character + lattice.log_p(at, last);
                    stay.character = log_add(stay.character, again);
                }
                for &(ch, log_p) in lattice.step(at).iter().take(TRIED) {
                    if ch == BLANK {
                        continue;
                    }
                    let Some(longer) = tree.child(self, node, ch) else {
                        continue;
                    };
                    let before = if ch == last {
                        ends.blank
                    } else {
                        ends.either()
                    };
                    let entry = next.entry(longer).or_insert(Ends::NEVER);
                    entry.character = log_add(entry.character, before + log_p);
                }
            }
            beam = next.into_iter().collect();
            beam.sort_by(|a, b| b.1.either().total_cmp(&a.1.either()).then(a.0.cmp(&b.0)));
            beam.truncate(WIDTH);
            if beam.first().is_none_or(|b| b.1.either() < HOPELESS) {
                return Vec::new();
            }
        }
        let mut found: Vec<(String, f64)> = beam
            .iter()
            .filter(|(node, _)| self.accepts_at(tree.nodes[*node].state))
            .map(|(node, _)| {
                let text = tree.text(*node);
                let p = f64::from(lattice.score(&text)).exp();
                (text, p)
            })
            .filter(|(_, p)| *p > 0.0)
            .collect();
        found.sort_by(|a, b| b.1.total_cmp(&a.1).then_with(|| a.0.cmp(&b.0)));
        found
    }
}

/// A character as grammars are written: capital letters, one spelling of each sign.
fn upper(ch: char) -> char {
    match ch {
        '–' | '—' | '−' => '-',
        'º' | '˚' => '°',
        'μ' => 'µ',
        'φ' | 'Φ' | 'ø' => 'Ø',
        '∼' => '~',
        'µ' | 'Δ' | '∆' | '△' => ch,
        _ => ch.to_uppercase().next().unwrap_or(ch),
    }
}

/// ln P of a prefix, by whether its last step was a blank or its last character.
#[derive(Clone, Copy)]
struct Ends {
    blank: f32,
    character: f32,
}

impl Ends {
    const NEVER: Ends = Ends {
        blank: f32::NEG_INFINITY,
        character: f32::NEG_INFINITY,
    };

    fn either(self) -> f32 {
        log_add(self.blank, self.character)
    }
}

/// ln(e^a + e^b).
fn log_add(a: f32, b: f32) -> f32 {
    let (hi, lo) = if a > b { (a, b) } else { (b, a) };
    // Beyond this the smaller one is lost in rounding.
    if hi - lo > 16.0 || lo == f32::NEG_INFINITY {
        hi
    } else {
        hi + (lo - hi).exp().ln_1p()
    }
}

/// The prefixes met so far, each with the state of the grammar after it.
struct Tree {
    nodes: Vec<Node>,
    children: HashMap<(usize, char), Option<usize>>,
}

struct Node {
    parent: usize,
    ch: char,
    state: StateID,
}

impl Tree {
    fn new(start: StateID) -> Tree {
        let root = Node {
            parent: 0,
            ch: BLANK,
            state: start,
        };
        Tree {
            nodes: vec![root],
            children: HashMap::new(),
        }
    }

    fn child(&mut self, grammar: &Grammar, node: usize, ch: char) -> Option<usize> {
        if let Some(&known) = self.children.get(&(node, ch)) {
            return known;
        }
        let child = grammar.step(self.nodes[node].state, ch).map(|state| {
            self.nodes.push(Node {
                parent: node,
                ch,
                state,
            });
            self.nodes.len() - 1
        });
        self.children.insert((node, ch), child);
        child
    }

    fn text(&self, mut node: usize) -> String {
        let mut chars = Vec::new();
        while node != 0 {
            chars.push(self.nodes[node].ch);
            node = self.nodes[node].parent;
        }
        chars.iter().rev().collect()
    }
}
