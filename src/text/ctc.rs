//! Reading a lattice by connectionist temporal classification: the probability of one string, and the
//! likeliest strings. Source: Graves et al. 2006 (forward algorithm); Hannun et al. 2014 (prefix search).

use std::collections::BTreeMap;

use super::lattice::{BLANK, Lattice};

/// In the search, the likeliest characters of a step that are tried.
const TRIED: usize = 8;

/// Probabilities that together are smaller than this are scaled.
const SMALL: f64 = 1e-100;

/// ln(e^a + e^b) without leaving the range of `f32`.
fn log_add(a: f32, b: f32) -> f32 {
    let (hi, lo) = if a > b { (a, b) } else { (b, a) };
    if lo == f32::NEG_INFINITY {
        return hi;
    }
    hi + (lo - hi).exp().ln_1p()
}

/// ln P(candidate | lattice).
pub(super) fn forward(lattice: &Lattice, candidate: &str) -> f32 {
    // The candidate with a blank before, between and after its characters.
    let mut states = vec![BLANK];
    states.extend(candidate.chars().flat_map(|ch| [ch, BLANK]));
    // Before the first step only "nothing read yet" is possible.
    let mut alpha = vec![0.0; states.len()];
    alpha[0] = 1.0;
    let mut scale = 0.0;
    for at in 0..lattice.steps() {
        let step = lattice.probabilities(at);
        // From the end, so that the states before still hold the step before.
        for s in (0..states.len()).rev() {
            let mut sum = alpha[s];
            if s >= 1 {
                sum += alpha[s - 1];
            }
            if s >= 2 && states[s] != BLANK && states[s] != states[s - 2] {
                sum += alpha[s - 2];
            }
            alpha[s] = sum * step.p(states[s]);
        }
        // Long lines would leave the range of numbers.
        let sum: f64 = alpha.iter().sum();
        if sum < SMALL {
            alpha.iter_mut().for_each(|p| *p /= sum);
            scale += sum.ln();
        }
    }
    let ends: f64 = alpha.iter().rev().take(2).sum();
    (ends.ln() + scale) as f32
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

/// The `n` likeliest strings with ln P. The search keeps a beam of prefixes; what it finds is scored exactly.
pub(super) fn beam_search(lattice: &Lattice, n: usize) -> Vec<(String, f32)> {
    let width = (2 * n).max(16);
    let mut beam = vec![(
        String::new(),
        Ends {
            blank: 0.0,
            ..Ends::NEVER
        },
    )];
    for at in 0..lattice.steps() {
        // Ordered, so that the same lattice always gives the same answer.
        let mut next: BTreeMap<String, Ends> = BTreeMap::new();
        let blank = lattice.log_p(at, BLANK);
        for (prefix, ends) in &beam {
            let last = prefix.chars().next_back();
            let stay = next.entry(prefix.clone()).or_insert(Ends::NEVER);
            stay.blank = log_add(stay.blank, ends.either() + blank);
            if let Some(last) = last {
                let again = ends.character + lattice.log_p(at, last);
                stay.character = log_add(stay.character, again);
            }
            for &(ch, log_p) in lattice.step(at).iter().take(TRIED) {
                if ch == BLANK {
                    continue;
                }
                // The same character again needs a blank between.
                let before = if last == Some(ch) {
                    ends.blank
                } else {
                    ends.either()
                };
                let longer = next.entry(format!("{prefix}{ch}")).or_insert(Ends::NEVER);
                longer.character = log_add(longer.character, before + log_p);
            }
        }
        beam = next.into_iter().collect();
        beam.sort_by(|a, b| b.1.either().total_cmp(&a.1.either()));
        beam.truncate(width);
    }
    let mut found: Vec<(String, f32)> = beam
        .into_iter()
        .map(|(text, _)| {
            let score = forward(lattice, &text);
            (text, score)
        })
        .filter(|(_, score)| score.is_finite())
        .collect();
    found.sort_by(|a, b| b.1.total_cmp(&a.1));
    found.truncate(n);
    found
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn two_weak_alignments_beat_one_strong_path() {
        // Step by step the blank wins (0.36); summed over alignments "a" does (0.64).
        let step = [(BLANK, 0.6), ('a', 0.4)];
        let lattice = Lattice::from_steps([step, step]);
        assert!(lattice.best().is_empty());
        let found = lattice.candidates(2);
        assert_eq!(found[0].0, "a");
        assert!((found[0].1.exp() - 0.64).abs() < 1e-3);
        assert_eq!(found[1].0, "");
    }

    #[test]
    fn confusable_readings_come_in_the_order_of_their_probability() {
        let lattice = Lattice::from_steps([
            vec![('1', 0.6), ('l', 0.3), ('I', 0.1)],
            vec![(BLANK, 1.0)],
            vec![('8', 0.9), ('B', 0.1)],
            vec![('4', 0.8), ('A', 0.2)],
            vec![('T', 1.0)],
        ]);
        let texts: Vec<String> = lattice.candidates(4).into_iter().map(|c| c.0).collect();
        assert_eq!(texts, ["184T", "l84T", "18AT", "I84T"]);
    }

    #[test]
    fn an_empty_lattice_reads_as_nothing() {
        assert_eq!(Lattice::default().candidates(3), [(String::new(), 0.0)]);
        assert_eq!(Lattice::default().score("1"), f32::NEG_INFINITY);
    }

    proptest! {
        #[test]
        fn probabilities_of_the_readings_found_never_sum_to_more_than_one(
            steps in prop::collection::vec((0.0f32..1.0, 0.0f32..1.0, 0.0f32..1.0), 1..7)
        ) {
            let lattice = Lattice::from_steps(steps.into_iter().map(|(a, b, c)| {
                let sum = a + b + c + 1e-3;
                [('a', a / sum), ('b', b / sum), (BLANK, c / sum)]
            }));
            let found = lattice.candidates(50);
            let sum: f32 = found.iter().map(|f| f.1.exp()).sum();
            prop_assert!(sum < 1.001, "{}", sum);
            prop_assert!(found.is_sorted_by(|a, b| a.1 >= b.1));
        }
    }
}
