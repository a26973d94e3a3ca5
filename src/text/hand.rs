//! Evidence that a page is written by hand. The recogniser is sure of nearly every line that is typed or printed and
//! in focus, and of many lines of handwriting it is not, since no two letters of a hand are alike.
//!
//! Worn plates have unsure lines as well, but few lines in all, and the more there are, the fewer of them are unsure.
//! DEVELOPERS.md says what was measured.

use super::Page;

/// A line is unsure when its characters have less than this mean probability.
const SURE: f32 = 0.97;
/// Of a typed table at most this share of lines is unsure.
const TYPED: f32 = 0.12;
/// A plate has fewer lines than this; of a page with more, at most this share is unsure unless it is handwritten.
const PLATE_LINES: usize = 60;
const PRINTED: f32 = 0.2;
/// So many lines with hardly anything on them that a plate says are no plate; when this share is unsure, it is a hand.
const NOTES: usize = 15;
const ANYTHING: usize = 2;
const WRITTEN: f32 = 0.25;

/// What a page turned out to be when it was looked through.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Found {
    /// A table with a motor a row.
    Table,
    /// So many fields of a plate.
    Fields(usize),
}

/// Whether a page is to be taken for handwriting, by its lines and what was found on it.
pub fn is_handwritten(page: &Page, found: Found) -> bool {
    let told = page
        .lines
        .iter()
        .filter(|line| line.text.chars().count() >= 2);
    let (mut lines, mut unsure) = (0usize, 0usize);
    for line in told {
        lines += 1;
        unsure += usize::from(line.confidence < SURE);
    }
    let share = unsure as f32 / lines.max(1) as f32;
    match found {
        Found::Table => share >= TYPED,
        Found::Fields(_) if lines >= PLATE_LINES && share >= PRINTED => true,
        Found::Fields(fields) => fields <= ANYTHING && lines >= NOTES && share >= WRITTEN,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::photo::Quad;
    use crate::text::{Lattice, Line};

    #[test]
    fn unsure_lines_make_a_hand_and_a_worn_plate_is_none() {
        let page = |lines: usize, unsure: usize| Page {
            lines: (0..lines)
                .map(|at| Line {
                    text: "1725".to_owned(),
                    confidence: if at < unsure { 0.9 } else { 1.0 },
                    quad: Quad::default(),
                    lattice: Lattice::default(),
                })
                .collect(),
            ..Page::default()
        };
        for (lines, unsure, found, hand) in [
            (120, 2, Found::Table, false),
            (120, 30, Found::Table, true),
            (120, 40, Found::Fields(9), true),
            (120, 2, Found::Fields(0), false),
            // A worn plate.
            (20, 12, Found::Fields(7), false),
            (20, 12, Found::Fields(2), true),
            // Too little to say anything.
            (8, 8, Found::Fields(0), false),
        ] {
            assert_eq!(
                is_handwritten(&page(lines, unsure), found),
                hand,
                "{unsure} of {lines}, {found:?}"
            );
        }
    }
}
