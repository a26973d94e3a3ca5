//! Which word of a table stands in which column. Headers say where columns are; the white between the words says
//! where one ends and the next begins. In a photo taken at an angle columns lean and run together towards the far
//! end: the lean that leaves most white between them is taken.

use super::header::Header;
use super::joined;
use crate::photo::Quad;
use crate::plate::sheet::{Place, Sheet, Span};
use crate::text::Lattice;

/// Words closer than this, in heights of text, follow each other in a sentence.
const SENTENCE: f32 = 0.7;
/// How far columns may lean over the height of a table, and run together, as parts of its width; and in which steps
/// both are tried.
const LEAN: f32 = 0.06;
const STEP: f32 = 0.006;

/// The words of a page line by line, each from left to right.
pub(super) fn lines(sheet: &Sheet<'_>) -> Vec<Vec<Span>> {
    let mut words: Vec<(Span, Place)> = sheet
        .rows
        .iter()
        .flatten()
        .map(|&w| (w, sheet.place(w)))
        .collect();
    words.sort_by(|a, b| a.1.left.total_cmp(&b.1.left));
    let mut lines: Vec<Vec<(Span, Place)>> = Vec::new();
    for (word, place) in words {
        let last = |line: &Vec<(Span, Place)>| line.last().map(|l| l.1);
        let level = |line: &Vec<(Span, Place)>| -> Option<f32> {
            let before = last(line)?;
            let away = (before.y - place.y).abs();
            (before.row_overlap(&place) >= 0.5 && place.left > before.left).then_some(away)
        };
        let nearest = (0..lines.len())
            .filter_map(|at| Some((at, level(&lines[at])?)))
            .min_by(|a, b| a.1.total_cmp(&b.1));
        match nearest {
            Some((at, _)) => lines[at].push((word, place)),
            None => lines.push(vec![(word, place)]),
        }
    }
    let height =
        |line: &[(Span, Place)]| line.iter().map(|w| w.1.y).sum::<f32>() / line.len() as f32;
    lines.sort_by(|a, b| height(a).total_cmp(&height(b)));
    lines
        .into_iter()
        .map(|line| line.into_iter().map(|w| w.0).collect())
        .collect()
}

/// What stands in a column in a line.
#[derive(Debug, Clone, Default)]
pub(super) struct Cell {
    pub words: Vec<Span>,
    /// Whether it was read in one with its neighbour and cut off it.
    pub parted: bool,
}

impl Cell {
    pub fn text(&self, sheet: &Sheet<'_>) -> String {
        let words: Vec<String> = self.words.iter().map(|&w| sheet.text(w)).collect();
        words.join(" ")
    }

    pub fn lattice(&self, sheet: &Sheet<'_>) -> Lattice {
        joined(sheet, &self.words)
    }

    pub fn quad(&self, sheet: &Sheet<'_>) -> Quad {
        let same_line = self.words.iter().all(|w| w.line == self.words[0].line);
        match (self.words.as_slice(), same_line) {
            ([first, .., last], true) if first.from <= last.to => sheet.quad(Span {
                to: last.to,
                ..*first
            }),
            (words, _) => {
                let quads: Vec<Quad> = words.iter().map(|&w| sheet.quad(w)).collect();
                Quad::around(&quads).unwrap_or_default()
            }
        }
    }
}

/// How columns lean below their header.
#[derive(Debug, Clone, Copy)]
struct Lean {
    /// Middle of the table and where it begins; its width and its height.
    middle: f32,
    top: f32,
    width: f32,
    height: f32,
    /// How far columns lean over the height, and how far the outer ones run together, as parts of the width.
    lean: f32,
    closing: f32,
}

impl Lean {
    /// Where in the header a place would stand.
    fn upright(&self, x: f32, y: f32) -> f32 {
        let down = (y - self.top) / self.height;
        let out = (x - self.middle) / self.width;
        x + down * self.width * (self.lean + self.closing * out)
    }
}

/// The columns of a table, parted.
pub(super) struct Columns {
    lean: Lean,
    /// Between each column and the next, at the height of the header.
    borders: Vec<f32>,
}

impl Columns {
    pub fn new(sheet: &Sheet<'_>, header: &Header, lines: &[Vec<Span>]) -> Columns {
        let heads: Vec<Place> = header.columns.iter().map(|c| c.place).collect();
        // A page number below must not stretch the table.
        let body: Vec<Place> = lines
            .iter()
            .filter(|line| 2 * line.len() >= heads.len())
            .flatten()
            .map(|&w| sheet.place(w))
            .collect();
        let top = heads.iter().map(|p| p.y).sum::<f32>() / heads.len().max(1) as f32;
        let all = || heads.iter().chain(&body);
        let left = all().map(|p| p.left).fold(f32::INFINITY, f32::min);
        let right = all().map(|p| p.right).fold(f32::NEG_INFINITY, f32::max);
        let bottom = body.iter().map(|p| p.y).fold(top, f32::max);
        let straight = Lean {
            middle: (left + right) / 2.0,
            top,
            width: (right - left).max(1.0),
            height: (bottom - top).max(1.0),
            lean: 0.0,
            closing: 0.0,
        };
        let steps = (LEAN / STEP) as i32;
        let tried = || -steps..=steps;
        let mut best = (f32::NEG_INFINITY, straight);
        for (lean, closing) in tried().flat_map(|a| tried().map(move |b| (a, b))) {
            let lean = Lean {
                lean: lean as f32 * STEP,
                closing: closing as f32 * STEP,
                ..straight
            };
            let white = white(&heads, &body, &lean) - 0.02 * (lean.lean.abs() + lean.closing.abs());
            if white > best.0 {
                best = (white, lean);
            }
        }
        Columns {
            borders: borders(&heads, &body, &best.1),
            lean: best.1,
        }
    }

    /// The cells of a line, one for every column.
    pub fn cells(&self, sheet: &Sheet<'_>, line: &[Span]) -> Vec<Cell> {
        let mut cells = vec![Cell::default(); self.borders.len() + 1];
        for &word in line {
            let mut rest = word;
            while let Some((first, second)) = self.cut(sheet, rest) {
                let at = self.column(sheet, first);
                cells[at].words.push(first);
                cells[at].parted = true;
                rest = second;
                cells[self.column(sheet, second)].parted = true;
            }
            cells[self.column(sheet, rest)].words.push(rest);
        }
        cells
    }

    fn column(&self, sheet: &Sheet<'_>, word: Span) -> usize {
        let place = sheet.place(word);
        let x = self.lean.upright(place.center(), place.y);
        self.borders.iter().filter(|b| **b < x).count()
    }

    /// A word that reaches well over a border, cut there.
    fn cut(&self, sheet: &Sheet<'_>, word: Span) -> Option<(Span, Span)> {
        let place = sheet.place(word);
        let (left, right) = (
            self.lean.upright(place.left, place.y),
            self.lean.upright(place.right, place.y),
        );
        let reach = 0.5 * place.height;
        let border = *self
            .borders
            .iter()
            .find(|b| **b - left > reach && right - **b > reach)?;
        let middle = |at: usize| {
            let one = Span {
                from: at,
                to: at + 1,
                ..word
            };
            self.lean.upright(sheet.place(one).center(), place.y)
        };
        let at = (word.from + 1..word.to).find(|&at| middle(at) > border)?;
        Some((Span { to: at, ..word }, Span { from: at, ..word }))
    }

    /// Whether the words of a line follow each other across a border, as in a sentence.
    pub fn flows(&self, sheet: &Sheet<'_>, line: &[Span]) -> bool {
        line.windows(2).any(|pair| {
            let close =
                super::super::labels::gap(&sheet.place(pair[0]), &sheet.place(pair[1])) < SENTENCE;
            close && self.column(sheet, pair[0]) != self.column(sheet, pair[1])
        })
    }
}

/// How much of the width is white through the whole table, where columns may be parted.
fn white(heads: &[Place], body: &[Place], lean: &Lean) -> f32 {
    const BINS: usize = 512;
    let left = lean.middle - lean.width / 2.0;
    let bin = |x: f32| (((x - left) / lean.width * BINS as f32) as usize).min(BINS - 1);
    let mut ink = [false; BINS];
    for place in heads.iter().chain(body) {
        let from = bin(lean.upright(place.left, place.y));
        let to = bin(lean.upright(place.right, place.y));
        if from <= to {
            ink[from..=to].fill(true);
        }
    }
    // A gap between two headers counts once, by the root of its width: many small ones part better than one wide.
    heads
        .windows(2)
        .map(|pair| {
            let (from, to) = (bin(pair[0].center()), bin(pair[1].center()));
            let widest = longest_white(ink.get(from..=to).unwrap_or_default());
            (widest as f32 / BINS as f32).sqrt()
        })
        .sum()
}

fn longest_white(ink: &[bool]) -> usize {
    ink.split(|inked| *inked)
        .map(<[bool]>::len)
        .max()
        .unwrap_or(0)
}

/// Where columns are parted: in the widest white between two headers, or where the fewest words are in the way.
fn borders(heads: &[Place], body: &[Place], lean: &Lean) -> Vec<f32> {
    const TRIED: usize = 200;
    let spans: Vec<(f32, f32)> = body
        .iter()
        .map(|p| (lean.upright(p.left, p.y), lean.upright(p.right, p.y)))
        .collect();
    heads
        .windows(2)
        .map(|pair| {
            let (from, to) = (pair[0].center(), pair[1].center());
            let x = |step: usize| from + (to - from) * step as f32 / TRIED as f32;
            let crossed = |x: f32| {
                let heads = pair.iter().filter(|p| p.left < x && x < p.right).count();
                // A border through a header is as bad as one through a whole column.
                spans.iter().filter(|s| s.0 < x && x < s.1).count() + heads * spans.len()
            };
            let counts: Vec<usize> = (0..=TRIED).map(|step| crossed(x(step))).collect();
            let least = counts.iter().copied().min().unwrap_or(0);
            // The longest run of least crossings; its middle.
            let (mut best, mut start) = ((0, 0), None);
            for step in 0..=TRIED + 1 {
                let here = counts.get(step) == Some(&least);
                match (here, start) {
                    (true, None) => start = Some(step),
                    (false, Some(first)) => {
                        if step - first > best.1 - best.0 {
                            best = (first, step);
                        }
                        start = None;
                    }
                    _ => {}
                }
            }
            (x(best.0) + x(best.1 - 1)) / 2.0
        })
        .collect()
}
