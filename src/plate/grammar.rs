//! The grammars of values, and the search of a lattice for strings that follow one.
//!
//! A grammar is a finite automaton; the search is the prefix search of connectionist temporal
//! classification (Hannun et al. 2014) in which only prefixes that can still become a value are kept.

use crate::text::{BLANK, Lattice};
use regex_automata::dfa::{Automaton, dense};
use regex_automata::util::primitives::StateID;
use regex_automata::{Anchored, Input};

/// Prefixes kept from step to step.
const WIDTH: usize = 24;

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

    /// The likeliest strings of the grammar with their probability, the likeliest first; none where all strings of the
    /// grammar together are less likely than `least`.
    pub fn search(&self, lattice: &Lattice, least: f64) -> Vec<(String, f64)> {
        let mut tree = Tree::new(self.start);
        let mut beam = vec![(0, Ends::BEGINNING)];
        for at in 0..lattice.steps() {
            let step = lattice.probabilities(at);
            for &(node, ends) in &beam {
                let last = tree.nodes[node].ch;
                let stay = tree.ends(node, at);
                stay.blank += ends.either() * step.p(BLANK);
                if last != BLANK {
                    stay.character += ends.character * step.p(last);
                }
                for &(ch, p) in step.kept().iter().filter(|(ch, _)| *ch != BLANK) {
                    let Some(longer) = tree.child(self, node, ch) else {
                        continue;
                    };
                    // The same character again needs a blank between.
                    let before = if ch == last {
                        ends.blank
                    } else {
                        ends.either()
                    };
                    tree.ends(longer, at).character += before * p;
                }
            }
            beam = tree.reached();
            // Prefixes only lose probability from step to step.
            if beam.iter().map(|(_, ends)| ends.either()).sum::<f64>() < least {
                return Vec::new();
            }
            if beam.len() > WIDTH {
                beam.select_nth_unstable_by(WIDTH, |a, b| {
                    let likelier = b.1.either().total_cmp(&a.1.either());
                    likelier.then(a.0.cmp(&b.0))
                });
                beam.truncate(WIDTH);
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

/// Probability of a prefix, by whether its last step was a blank or its last character.
#[derive(Clone, Copy)]
struct Ends {
    blank: f64,
    character: f64,
}

impl Ends {
    /// Before the first step nothing is read.
    const BEGINNING: Ends = Ends {
        blank: 1.0,
        character: 0.0,
    };
    const NEVER: Ends = Ends {
        blank: 0.0,
        character: 0.0,
    };

    fn either(self) -> f64 {
        self.blank + self.character
    }
}

/// The prefixes met so far, and those that the present step has reached.
struct Tree {
    nodes: Vec<Node>,
    reached: Vec<usize>,
}

struct Node {
    parent: usize,
    ch: char,
    /// The state of the grammar after it.
    state: StateID,
    /// Longer prefixes by their last character; `None` where the grammar has none.
    children: Vec<(char, Option<usize>)>,
    /// The step that reached it last, and its probability there.
    step: Option<usize>,
    ends: Ends,
}

impl Tree {
    fn new(start: StateID) -> Tree {
        let mut tree = Tree {
            nodes: Vec::new(),
            reached: Vec::new(),
        };
        tree.grow(0, BLANK, start);
        tree
    }

    fn grow(&mut self, parent: usize, ch: char, state: StateID) -> usize {
        self.nodes.push(Node {
            parent,
            ch,
            state,
            children: Vec::new(),
            step: None,
            ends: Ends::NEVER,
        });
        self.nodes.len() - 1
    }

    fn child(&mut self, grammar: &Grammar, node: usize, ch: char) -> Option<usize> {
        let Node {
            state, children, ..
        } = &self.nodes[node];
        if let Some((_, known)) = children.iter().find(|(c, _)| *c == ch) {
            return *known;
        }
        let state = grammar.step(*state, ch);
        let child = state.map(|state| self.grow(node, ch, state));
        self.nodes[node].children.push((ch, child));
        child
    }

    /// The probability of a prefix in a step, to be added to.
    fn ends(&mut self, node: usize, step: usize) -> &mut Ends {
        let prefix = &mut self.nodes[node];
        if prefix.step != Some(step) {
            (prefix.step, prefix.ends) = (Some(step), Ends::NEVER);
            self.reached.push(node);
        }
        &mut prefix.ends
    }

    /// The prefixes of this step; the next one begins.
    fn reached(&mut self) -> Vec<(usize, Ends)> {
        let reached = self.reached.drain(..);
        reached.map(|node| (node, self.nodes[node].ends)).collect()
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
