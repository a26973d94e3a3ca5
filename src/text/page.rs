//! What reading a photo gives: lines of text with their places.

use crate::photo::{Quad, Segment};

use super::{Code, Lattice};

/// One line of text, or one word where words stand far apart.
#[derive(Debug, Clone, PartialEq)]
pub struct Line {
    /// The likeliest reading.
    pub text: String,
    /// Mean of the probabilities of its characters, 0 to 1; 0 where there is no character.
    pub confidence: f32,
    /// Where it stands, in pixels of the photo, corners in reading order.
    pub quad: Quad,
    /// All that it may read, with probabilities.
    pub lattice: Lattice,
}

impl Line {
    /// The line that `lattice` reads best.
    pub fn new(lattice: Lattice, quad: Quad) -> Line {
        let glyphs = lattice.best();
        let sum: f32 = glyphs.iter().map(|g| g.p).sum();
        Line {
            text: glyphs.iter().map(|g| g.ch).collect(),
            confidence: sum / glyphs.len().max(1) as f32,
            quad,
            lattice,
        }
    }
}

/// All text of a photo.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Page {
    /// The lines, from the top down as the plate is read, then from left to right.
    pub lines: Vec<Line>,
    /// Width and height of the photo in pixels.
    pub size: (u32, u32),
    /// The place that the text fills, where there is text.
    pub plate: Option<Quad>,
    /// Codes on it, where they were looked for: see [`find_codes`](super::find_codes).
    pub codes: Vec<Code>,
    /// The rules printed around and between the lines, where they were looked for.
    pub rules: Vec<Segment>,
}
