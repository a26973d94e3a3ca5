//! Lines taken apart into words with boxes, and put together from them.

use crate::photo::{Point, Quad};
use crate::text::direction::{facing, region};
use crate::text::lattice::{BLANK, Lattice};
use crate::text::{Line, Page};

/// A word's confidence is not taken for less: a word that was written down may be there.
const LEAST: f32 = 0.01;
/// And not for more: nothing is certain.
const MOST: f32 = 1.0 - 1e-7;
/// Corners this near to those of an upright box, in pixels, make one.
const UPRIGHT: f32 = 1.0;

/// A word with its place.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Word {
    /// Its characters, without blanks.
    pub text: String,
    /// Probability that all of them are right, 0 to 1; `None` where the engine does not say.
    pub confidence: Option<f32>,
    /// Where it stands; `None` where the engine does not say.
    pub quad: Option<Quad>,
}

/// The words of a line, apart by blanks.
pub(super) fn words(line: &Line) -> Vec<Word> {
    let glyphs = line.lattice.best();
    let middles: Vec<f32> = glyphs.iter().map(|g| (g.from + g.to) / 2.0).collect();
    let half = advance(&middles) / 2.0;
    let mut words = Vec::new();
    let mut from = 0;
    for at in 0..=glyphs.len() {
        if at < glyphs.len() && !glyphs[at].ch.is_whitespace() {
            continue;
        }
        if at > from {
            let word = &glyphs[from..at];
            let (left, right) = (middles[from] - half, middles[at - 1] + half);
            words.push(Word {
                text: word.iter().map(|g| g.ch).collect(),
                confidence: Some(word.iter().map(|g| g.p).product()),
                quad: Some(line.quad.part(left.max(0.0), right.min(1.0))),
            });
        }
        from = at + 1;
    }
    words
}

/// Usual distance between the middles of two characters.
fn advance(middles: &[f32]) -> f32 {
    let mut steps: Vec<f32> = middles.windows(2).map(|w| w[1] - w[0]).collect();
    steps.sort_by(f32::total_cmp);
    steps.get(steps.len() / 2).copied().unwrap_or(1.0)
}

/// A line of words. Its place is `quad`, or what its words fill in the reading direction `angle` (radians,
/// clockwise as seen). `None` without words or without any place.
pub(super) fn line(words: &[Word], quad: Option<Quad>, angle: f32) -> Option<Line> {
    let boxes: Vec<Quad> = words.iter().filter_map(|w| w.quad).collect();
    let quad = match quad {
        Some(quad) => quad,
        None => facing(&region(&boxes, angle, 0.0)?, angle),
    };
    let count: usize = words.iter().map(|w| w.text.chars().count()).sum();
    if count == 0 || quad.width() < f32::EPSILON {
        return None;
    }
    let placed = place(words, &quad, boxes.len() == words.len());
    Some(Line::new(lattice(&placed), quad))
}

/// A character with its probability and the middle of its place, as a fraction of the line's width.
#[derive(Debug, Clone, Copy)]
struct Placed {
    ch: char,
    p: f32,
    at: f32,
}

fn place(words: &[Word], quad: &Quad, boxed: bool) -> Vec<Placed> {
    let chars = |w: &Word| w.text.chars().count() as f32;
    let total: f32 = words.iter().map(chars).sum::<f32>() + words.len() as f32 - 1.0;
    let mut placed = Vec::new();
    let mut before = 0.0;
    let mut even = 0.0;
    for word in words.iter().filter(|w| !w.text.is_empty()) {
        let count = chars(word);
        let (from, to) = match word.quad.filter(|_| boxed) {
            Some(own) => extent(&own, quad),
            None => (even / total, (even + count) / total),
        };
        even += count + 1.0;
        if !placed.is_empty() {
            placed.push(Placed {
                ch: ' ',
                p: MOST,
                at: (before + from) / 2.0,
            });
        }
        // The confidence is of the word; its characters share the doubt.
        let confidence = word.confidence.unwrap_or(1.0).clamp(LEAST, 1.0);
        let p = confidence.powf(1.0 / count).min(MOST);
        for (i, ch) in word.text.chars().enumerate() {
            let at = from + (to - from) * (i as f32 + 0.5) / count;
            placed.push(Placed { ch, p, at });
        }
        before = to;
    }
    placed
}

/// From where to where a word reaches along its line, as fractions of the line's width.
fn extent(word: &Quad, line: &Quad) -> (f32, f32) {
    let [a, b, c, d] = line.0;
    let (start, end) = (a.lerp(d, 0.5), b.lerp(c, 0.5));
    let (dx, dy) = (end.x - start.x, end.y - start.y);
    let along = |p: Point| ((p.x - start.x) * dx + (p.y - start.y) * dy) / (dx * dx + dy * dy);
    let [a, b, c, d] = facing(word, line.angle()).0;
    (along(a.lerp(d, 0.5)), along(b.lerp(c, 0.5)))
}

/// The lattice that reads these characters at these places.
fn lattice(placed: &[Placed]) -> Lattice {
    let count = placed.len();
    let closest = placed
        .windows(2)
        .map(|w| w[1].at - w[0].at)
        .filter(|step| *step > 0.0)
        .fold(1.0, f32::min);
    // Two steps for the closest characters; every character needs a blank behind it.
    let steps = ((2.0 / closest).ceil() as usize).clamp(2 * count, 8 * count);
    let mut at = vec![None; steps];
    let mut free = 0;
    for (i, one) in placed.iter().enumerate() {
        let last = steps - 2 * (count - i);
        let wanted = (one.at.clamp(0.0, 1.0) * steps as f32) as usize;
        let step = wanted.clamp(free, last.max(free));
        at[step] = Some(*one);
        free = step + 2;
    }
    Lattice::from_steps(
        at.iter()
            .map(|one| one.map_or([(BLANK, MOST)], |one| [(one.ch, one.p)])),
    )
}

/// The box of an upright quad that reads to the right; `None` where it is turned.
pub(super) fn upright(quad: &Quad) -> bool {
    let Some(around) = Quad::around([quad]) else {
        return false;
    };
    let off = quad.0.iter().zip(around.0).map(|(a, b)| a.distance(b));
    off.fold(0.0, f32::max) <= UPRIGHT
}

/// Left, upper, right and lower edge of the upright box around a quad, inside the page.
pub(super) fn edges(quad: &Quad, page: &Page) -> [f32; 4] {
    let around = Quad::around([quad]).unwrap_or_default();
    let [a, _, c, _] = around.0;
    let inside = |v: f32, size: u32| {
        let most = if size == 0 { f32::MAX } else { size as f32 };
        v.clamp(0.0, most)
    };
    let (w, h) = page.size;
    [
        inside(a.x, w),
        inside(a.y, h),
        inside(c.x, w),
        inside(c.y, h),
    ]
}

/// The quad of a polygon whose text reads in the direction `angle` (radians, clockwise as seen).
pub(super) fn of_polygon(points: &[Point], angle: f32) -> Option<Quad> {
    if let [a, b, c, d] = *points {
        return Some(facing(&Quad([a, b, c, d]), angle));
    }
    let dots: Vec<Quad> = points.iter().map(|&p| Quad([p; 4])).collect();
    region(&dots, angle, 0.0).map(|quad| facing(&quad, angle))
}

/// A page of these lines, by its size where that is known.
pub(super) fn page(lines: Vec<Line>, size: Option<(u32, u32)>) -> Page {
    let plate = Quad::around(lines.iter().map(|l| &l.quad));
    let reach = plate.map_or((0, 0), |q| (q.0[2].x.ceil() as u32, q.0[2].y.ceil() as u32));
    Page {
        lines,
        size: size.unwrap_or(reach),
        plate,
        codes: Vec::new(),
        rules: Vec::new(),
    }
}
