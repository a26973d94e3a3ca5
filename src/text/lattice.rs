//! The recogniser's answer for one line, kept sparse: for every step along the line the few characters
//! that it may be, with their probabilities. Later stages ask it how likely a value they have in mind is.

use super::ctc;

/// Stands for "no character here" in a step, the blank of connectionist temporal classification (CTC).
pub const BLANK: char = '\0';

/// Characters less likely than this are not kept.
const KEEP: f32 = 1e-5;
/// At most so many characters are kept for a step.
const MOST: usize = 12;
/// No character is held to be less likely than this: nothing is impossible.
const LEAST: f32 = 1e-7;
/// About how many characters the recogniser tells apart: what is not kept shares the rest.
const CLASSES: f32 = 138.0;

/// One character of the best reading.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Glyph {
    /// The character.
    pub ch: char,
    /// Its probability, 0 to 1, where it is highest.
    pub p: f32,
    /// Where it begins, as a fraction of the line's width.
    pub from: f32,
    /// Where it ends, as a fraction of the line's width.
    pub to: f32,
}

/// What a line may read: per step the characters with their log-probabilities.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Lattice {
    entries: Vec<(char, f32)>,
    steps: Vec<Step>,
}

/// Where the entries of a step end, and the log-probability of every character not among them.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Step {
    end: u32,
    rest: f32,
}

/// Adds a probability to that of a character of a step.
pub(super) fn add(step: &mut Vec<(char, f32)>, ch: char, p: f32) {
    match step.iter_mut().find(|entry| entry.0 == ch) {
        Some(entry) => entry.1 += p,
        None => step.push((ch, p)),
    }
}

/// A step as probabilities, not their logarithms: for sums over many ways to read a line.
pub(crate) struct Probabilities {
    kept: [(char, f64); MOST],
    count: usize,
    rest: f64,
}

impl Probabilities {
    /// The kept characters, the likeliest first.
    pub fn kept(&self) -> &[(char, f64)] {
        &self.kept[..self.count]
    }

    /// The probability of `ch`.
    pub fn p(&self, ch: char) -> f64 {
        let kept = self.kept().iter().find(|entry| entry.0 == ch);
        kept.map_or(self.rest, |entry| entry.1)
    }
}

impl Lattice {
    /// A lattice from the characters (or [`BLANK`]) of each step and their probabilities, 0 to 1.
    ///
    /// ```
    /// use platewright::text::{BLANK, Lattice};
    /// let lattice = Lattice::from_steps([vec![('6', 0.7), ('8', 0.3)], vec![(BLANK, 1.0)]]);
    /// assert_eq!(lattice.best()[0].ch, '6');
    /// assert!((lattice.score("8").exp() - 0.3).abs() < 1e-3);
    /// ```
    pub fn from_steps<S>(steps: impl IntoIterator<Item = S>) -> Lattice
    where
        S: IntoIterator<Item = (char, f32)>,
    {
        let mut lattice = Lattice::default();
        for step in steps {
            let mut kept: Vec<_> = step.into_iter().filter(|&(_, p)| p > KEEP).collect();
            kept.sort_by(|a, b| b.1.total_cmp(&a.1).then(a.0.cmp(&b.0)));
            kept.truncate(MOST);
            let sum: f32 = kept.iter().map(|k| k.1).sum();
            let rest = (1.0 - sum).max(0.0) / (CLASSES - kept.len() as f32);
            lattice
                .entries
                .extend(kept.into_iter().map(|(ch, p)| (ch, p.min(1.0).ln())));
            lattice.steps.push(Step {
                end: lattice.entries.len() as u32,
                rest: rest.max(LEAST).ln(),
            });
        }
        lattice
    }

    /// The lattice of a text that is taken as certain: from another engine, or in a test.
    pub fn from_text(text: &str) -> Lattice {
        Lattice::from_steps(
            text.chars()
                .flat_map(|ch| [ch, BLANK])
                .map(|ch| [(ch, 1.0 - LEAST)]),
        )
    }

    /// How many steps the line has; they are evenly spaced along its width.
    pub fn steps(&self) -> usize {
        self.steps.len()
    }

    /// The kept characters of a step with their log-probabilities, the likeliest first.
    pub fn step(&self, at: usize) -> &[(char, f32)] {
        let start = at.checked_sub(1).map_or(0, |before| self.steps[before].end);
        &self.entries[start as usize..self.steps[at].end as usize]
    }

    /// The log-probability of `ch` in a step.
    pub fn log_p(&self, at: usize, ch: char) -> f32 {
        self.step(at)
            .iter()
            .find(|entry| entry.0 == ch)
            .map_or(self.steps[at].rest, |entry| entry.1)
    }

    /// The characters of a step with their probabilities.
    pub(crate) fn probabilities(&self, at: usize) -> Probabilities {
        let mut kept = [(BLANK, 0.0); MOST];
        let entries = self.step(at);
        for (to, &(ch, log_p)) in kept.iter_mut().zip(entries) {
            *to = (ch, f64::from(log_p).exp());
        }
        Probabilities {
            kept,
            count: entries.len(),
            rest: f64::from(self.steps[at].rest).exp(),
        }
    }

    /// The best reading, character by character: the likeliest entry of every step, repetitions joined,
    /// blanks left out.
    pub fn best(&self) -> Vec<Glyph> {
        let n = self.steps() as f32;
        let mut glyphs: Vec<Glyph> = Vec::new();
        let mut last = BLANK;
        for at in 0..self.steps() {
            let Some(&(ch, log_p)) = self.step(at).first() else {
                last = BLANK;
                continue;
            };
            let p = log_p.exp();
            match glyphs.last_mut() {
                Some(glyph) if ch == last && ch != BLANK => {
                    glyph.p = glyph.p.max(p);
                    glyph.to = (at + 1) as f32 / n;
                }
                _ if ch != BLANK => glyphs.push(Glyph {
                    ch,
                    p,
                    from: at as f32 / n,
                    to: (at + 1) as f32 / n,
                }),
                _ => {}
            }
            last = ch;
        }
        glyphs
    }

    /// ln P(`candidate` | what was seen): the sum over all ways to spread the candidate over the steps.
    /// Negative infinity where the line has too few steps for it.
    pub fn score(&self, candidate: &str) -> f32 {
        ctc::forward(self, candidate)
    }

    /// The `n` likeliest readings with ln P, the likeliest first.
    pub fn candidates(&self, n: usize) -> Vec<(String, f32)> {
        ctc::beam_search(self, n)
    }

    /// The same reading, less sure: in every step a `part` of the probability goes to "no character here".
    pub fn softened(&self, part: f32) -> Lattice {
        Lattice::from_steps((0..self.steps()).map(|at| {
            let mut step: Vec<(char, f32)> = self
                .step(at)
                .iter()
                .map(|&(ch, log_p)| (ch, (1.0 - part) * log_p.exp()))
                .collect();
            add(&mut step, BLANK, part);
            step
        }))
    }

    /// The same line without a blank between two fractions of its width: what a blank had of the probability there goes
    /// to "no character here".
    pub fn closed(&self, from: f32, to: f32) -> Lattice {
        let n = self.steps() as f32;
        let within = |at: usize| (from..to).contains(&((at as f32 + 0.5) / n));
        Lattice::from_steps((0..self.steps()).map(|at| {
            let mut closed = Vec::new();
            for &(ch, log_p) in self.step(at) {
                let blank = ch == ' ' && within(at);
                add(&mut closed, if blank { BLANK } else { ch }, log_p.exp());
            }
            closed
        }))
    }

    /// One lattice after the other, as if they stood in one line with nothing between.
    pub fn concat<'a>(parts: impl IntoIterator<Item = &'a Lattice>) -> Lattice {
        let mut whole = Lattice::default();
        for part in parts {
            if whole.steps() > 0 {
                // Keeps a character that ends one part from running into the same one of the next.
                let blank = Lattice::from_steps([[(BLANK, 1.0 - LEAST)]]);
                whole.append(&blank);
            }
            whole.append(part);
        }
        whole
    }

    fn append(&mut self, part: &Lattice) {
        let before = self.entries.len() as u32;
        self.entries.extend_from_slice(&part.entries);
        self.steps.extend(part.steps.iter().map(|step| Step {
            end: before + step.end,
            rest: step.rest,
        }));
    }

    /// The steps between two fractions of the width: 0 is the left end, 1 the right end.
    pub fn slice(&self, from: f32, to: f32) -> Lattice {
        let n = self.steps();
        let step = |fraction: f32| ((fraction.clamp(0.0, 1.0) * n as f32).round() as usize).min(n);
        let mut part = Lattice::default();
        for at in step(from)..step(to) {
            part.entries.extend_from_slice(self.step(at));
            part.steps.push(Step {
                end: part.entries.len() as u32,
                rest: self.steps[at].rest,
            });
        }
        part
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn text(lattice: &Lattice) -> String {
        lattice.best().iter().map(|g| g.ch).collect()
    }

    #[test]
    fn a_certain_text_reads_as_itself_and_nothing_else_comes_near() {
        for given in ["115/230", "6.8-6.6/3.3", "TEFC", "1 HP", "", "40°C"] {
            let lattice = Lattice::from_text(given);
            assert_eq!(text(&lattice), given);
            assert!(lattice.score(given).abs() < 1e-3, "{given:?}");
            assert!(lattice.score(&format!("{given}8")) < -10.0, "{given:?}");
        }
    }

    #[test]
    fn repeated_characters_are_kept_apart_by_a_blank_only() {
        let joined = Lattice::from_steps([vec![('1', 0.9)], vec![('1', 0.9)]]);
        assert_eq!(text(&joined), "1");
        assert_eq!(joined.score("11"), f32::NEG_INFINITY);
        let parted = Lattice::from_steps([[('1', 0.9)], [(BLANK, 0.9)], [('1', 0.9)]]);
        assert_eq!(text(&parted), "11");
    }

    #[test]
    fn a_glyph_says_where_it_stands_and_a_slice_holds_what_stands_there() {
        let lattice = Lattice::from_text("HP1/2");
        let glyphs = lattice.best();
        let value = lattice.slice(glyphs[2].from, glyphs[4].to);
        assert_eq!(text(&value), "1/2");
        assert!(value.score("1/2") > -1e-3);
        assert_eq!(lattice.slice(0.7, 0.2), Lattice::default());
        assert_eq!(lattice.slice(-1.0, 9.0), lattice);
    }

    #[test]
    fn a_softened_line_reads_the_same_and_is_less_sure() {
        let line = Lattice::from_text("115/230");
        let soft = line.softened(0.05);
        assert_eq!(text(&soft), text(&line));
        let p = soft.score("115/230").exp();
        assert!((0.6..0.8).contains(&p), "{p}");
    }

    #[test]
    fn a_line_is_closed_where_it_is_told_to_be_and_nowhere_else() {
        let line = Lattice::from_text("1. 15 HP");
        assert_eq!(text(&line.closed(0.2, 0.4)), "1.15 HP");
        assert!(line.closed(0.2, 0.4).score("1.15 HP") > -1e-3);
        assert_eq!(text(&line.closed(0.8, 1.0)), "1. 15 HP");
    }

    #[test]
    fn parts_put_together_read_as_one_line() {
        let parts = ["208-230/", "/", "460"].map(Lattice::from_text);
        let whole = Lattice::concat(&parts);
        assert_eq!(text(&whole), "208-230//460");
        assert!(whole.score("208-230//460") > -1e-3);
    }

    #[test]
    fn the_score_sums_over_all_alignments() {
        // By hand: "a" over two steps is a+blank, blank+a, or a+a.
        let lattice = Lattice::from_steps([[('a', 0.6), (BLANK, 0.4)], [('a', 0.3), (BLANK, 0.7)]]);
        let expected: f32 = 0.6 * 0.7 + 0.4 * 0.3 + 0.6 * 0.3;
        assert!((lattice.score("a").exp() - expected).abs() < 1e-4);
        assert!((lattice.score("").exp() - 0.28).abs() < 1e-4);
    }

    #[test]
    fn a_character_that_was_not_kept_is_unlikely_and_not_impossible() {
        let lattice = Lattice::from_steps([[('6', 0.999)]]);
        let score = lattice.score("G");
        assert!(score.is_finite() && score < -9.0, "{score}");
    }

    #[test]
    fn a_blurred_step_shares_what_is_left_among_the_characters_not_kept() {
        let even: Vec<(char, f32)> = ('!'..='~').map(|ch| (ch, 0.01)).collect();
        let lattice = Lattice::from_steps([even]);
        assert_eq!(lattice.step(0).len(), MOST);
        assert!(lattice.score("~") > (0.005f32).ln());
    }
}
