//! Labels that are not read as they are spelled: the spelling that the lattice supports best.

use super::labels::{Ch, LABEL_GAP, Label, exact, glued, label, text};
use super::lexicon::{Entry, key_char, lexicon};
use super::parts::unit;
use super::sheet::{Sheet, Span};
use crate::text::{BLANK, Lattice};

/// What a character costs at most that the lattice does not support, in nats.
const UNSEEN: f32 = 4.0;

/// Labels less likely than this are no labels.
const LEAST: f64 = 0.2;

/// The label that the lattice supports best from a word's start, where none is spelled out.
pub(super) fn fuzzy(
    sheet: &Sheet<'_>,
    chars: &[Ch],
    seen: &[Seen],
    parts: &[Span],
    gaps: &[f32],
    at: usize,
) -> Option<(usize, Label)> {
    let lexicon = lexicon();
    let word = Span {
        from: chars[at].glyph,
        ..parts[chars[at].word]
    };
    if unit(&sheet.text(word)).is_some() {
        return None;
    }
    let mut best: Option<(f64, usize, &Entry)> = None;
    for end in at + 1..=chars.len().min(at + lexicon.longest + 1) {
        let ch = &chars[end - 1];
        if ch.first && end - 1 > at {
            let number = ch.key.is_ascii_digit();
            if gaps[ch.word] > LABEL_GAP
                || number
                || exact(sheet, chars, parts, gaps, end - 1).is_some()
            {
                break;
            }
        }
        let before_digit = !ch.last && chars[end].key.is_ascii_digit() && ch.key.is_alphabetic();
        let window = &chars[at..end];
        let letters = window.iter().filter(|c| c.key.is_alphabetic()).count();
        if !(ch.last || before_digit)
            || window.len() < 2
            || letters * 2 < window.len()
            || is_value(sheet, window)
        {
            continue;
        }
        let seen = &seen[at..end];
        for entry in &lexicon.entries {
            if entry.key.len() < 2
                || !entry.guessed
                || entry.key.len().abs_diff(window.len()) > 2
                || too_different(seen, &entry.key)
            {
                continue;
            }
            let length = entry.key.len() as f32;
            let cost = distance(seen, &entry.key, 0.8 * length + 1.5);
            let certainty = 1.0 / (1.0 + f64::from(cost - 0.8 * length + 1.5).exp());
            let better = best.is_none_or(|(c, e, _)| (certainty, end) > (c, e));
            // A label right before figures is one where they are a value of it: `KW4563-B` is a number of the maker's.
            let whole = ch.last || glued(sheet, chars, parts, end, entry);
            if certainty >= LEAST && better && whole {
                best = Some((certainty, end, entry));
            }
        }
    }
    let (certainty, end, entry) = best?;
    let entries = lexicon.get(&entry.key);
    Some((
        end,
        label(text(sheet, &chars[at..end]), &entries, certainty),
    ))
}

/// Whether characters are a value that stands alone, not a misread label.
fn is_value(sheet: &Sheet<'_>, window: &[Ch]) -> bool {
    super::alone::is_spelled(&text(sheet, window))
}

/// What a step or two of the lattice say about one place in a label.
pub(super) struct Seen {
    best: char,
    /// Characters with ln P relative to the best one.
    others: Vec<(char, f32)>,
}

impl Seen {
    pub fn new(sheet: &Sheet<'_>, ch: &Ch) -> Seen {
        let lattice: &Lattice = &sheet.page.lines[ch.line].lattice;
        let glyph = sheet.glyphs[ch.line][ch.glyph];
        let n = lattice.steps() as f32;
        let steps = (glyph.from * n).round() as usize
            ..((glyph.to * n).round() as usize).min(lattice.steps());
        let best = glyph.p.max(1e-6).ln();
        let mut others: Vec<(char, f32)> = Vec::new();
        for at in steps {
            for &(other, log_p) in lattice.step(at) {
                let key = if other == BLANK {
                    BLANK
                } else {
                    key_char(other).unwrap_or(BLANK)
                };
                match others.iter_mut().find(|o| o.0 == key) {
                    Some(o) => o.1 = o.1.max(log_p - best),
                    None => others.push((key, log_p - best)),
                }
            }
        }
        Seen {
            best: ch.key,
            others,
        }
    }

    /// What it costs to take this place for `ch`; for [`BLANK`], to take it for nothing.
    fn cost(&self, ch: char) -> f32 {
        if self.best == ch {
            return 0.0;
        }
        let seen = self.others.iter().find(|o| o.0 == ch);
        seen.map_or(UNSEEN, |o| (-o.1).clamp(0.0, UNSEEN))
    }
}

/// A quick bound: how many characters of the label were not even likeliest somewhere.
fn too_different(seen: &[Seen], key: &[char]) -> bool {
    let missing = key
        .iter()
        .filter(|&&c| !seen.iter().any(|s| s.cost(c) < UNSEEN))
        .count();
    missing * 3 > key.len()
}

/// Edit distance between what was seen and a label's spelling, in nats; gives up beyond `limit`.
fn distance(seen: &[Seen], key: &[char], limit: f32) -> f32 {
    let mut before: Vec<f32> = (0..=key.len()).map(|j| j as f32 * UNSEEN).collect();
    for s in seen {
        let mut row = vec![before[0] + s.cost(BLANK)];
        for (j, &ch) in key.iter().enumerate() {
            let replaced = before[j] + s.cost(ch);
            let left_out = before[j + 1] + s.cost(BLANK);
            let added = row[j] + UNSEEN;
            row.push(replaced.min(left_out).min(added));
        }
        if row.iter().all(|&c| c > limit) {
            return f32::INFINITY;
        }
        before = row;
    }
    before[key.len()]
}
