//! The lines of a photo brought upright: one reading direction, level rows, words, and which word follows
//! which. A plate may be turned, tilted, seen in perspective or bent around a shell; here it becomes flat.

use crate::photo::{Point, Quad, Segment};
use crate::text::{Glyph, Lattice, Page};
use std::borrow::Cow;

/// Lines whose direction is farther from the plate's than this are read as words and nothing more.
const ASTRAY: f32 = 0.6;
/// Words that stand farther apart than this, in heights of text, do not follow each other.
const REACH: f32 = 25.0;

/// Heights of text in one row are alike up to this ratio, and those of labels in small print up to the other.
const ALIKE: f32 = 2.1;
const PRINTS: f32 = 3.5;

/// Some characters of a line, by their index in its best reading.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub(super) struct Span {
    pub line: usize,
    pub from: usize,
    pub to: usize,
}

/// Where something stands on the levelled plate, in pixels.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Place {
    pub left: f32,
    pub right: f32,
    /// The middle of its height.
    pub y: f32,
    pub height: f32,
}

impl Place {
    pub fn top(&self) -> f32 {
        self.y - self.height / 2.0
    }

    pub fn bottom(&self) -> f32 {
        self.y + self.height / 2.0
    }

    pub fn center(&self) -> f32 {
        (self.left + self.right) / 2.0
    }

    /// The place that both fill.
    pub fn join(&self, other: &Place) -> Place {
        let (top, bottom) = (
            self.top().min(other.top()),
            self.bottom().max(other.bottom()),
        );
        Place {
            left: self.left.min(other.left),
            right: self.right.max(other.right),
            y: (top + bottom) / 2.0,
            height: bottom - top,
        }
    }

    /// The place that all fill; `None` without any.
    pub fn around(places: impl Iterator<Item = Place>) -> Option<Place> {
        places.reduce(|all, place| all.join(&place))
    }

    /// The straight way to another place: from the nearest end of its middle line, level where one stands beside the other
    /// and upright where one stands below.
    pub fn way_to(&self, other: &Place) -> (Point, Point) {
        let between = |a: (f32, f32), b: (f32, f32)| -> (f32, f32) {
            let (low, high) = (a.0.max(b.0), a.1.min(b.1));
            match () {
                _ if low <= high => ((low + high) / 2.0, (low + high) / 2.0),
                _ if a.1 < b.0 => (a.1, b.0),
                _ => (a.0, b.1),
            }
        };
        let inset = |place: &Place| {
            let inset = (0.3 * place.height).min((place.right - place.left) / 2.0);
            (place.left + inset, place.right - inset)
        };
        let (x, to_x) = between(inset(self), inset(other));
        let core = |place: &Place| (place.y - 0.2 * place.height, place.y + 0.2 * place.height);
        let (y, to_y) = between(core(self), core(other));
        (Point { x, y }, Point { x: to_x, y: to_y })
    }

    /// Whether another is as high as this one, as figures of one print are.
    pub fn is_in_print_of(&self, other: &Place) -> bool {
        (0.75..1.33).contains(&(self.height / other.height))
    }

    /// How much of the narrower one lies above or below the other, 0 to 1.
    pub fn column_overlap(&self, other: &Place) -> f32 {
        let shared = self.right.min(other.right) - self.left.max(other.left);
        let narrower = (self.right - self.left).min(other.right - other.left);
        (shared / narrower.max(1.0)).clamp(0.0, 1.0)
    }

    /// How much of the lower one stands beside the other, 0 to 1.
    pub fn row_overlap(&self, other: &Place) -> f32 {
        let shared = self.bottom().min(other.bottom()) - self.top().max(other.top());
        (shared / self.height.min(other.height).max(1.0)).clamp(0.0, 1.0)
    }
}

/// What ruled lines enclose, pixels of the levelled plate.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Cell {
    left: f32,
    right: f32,
    top: f32,
    bottom: f32,
}

impl Cell {
    /// Whether the middle of a place is in it.
    pub fn holds(&self, place: &Place) -> bool {
        let (x, y) = (place.center(), place.y);
        (self.left..self.right).contains(&x) && (self.top..self.bottom).contains(&y)
    }

    /// Whether another is the same, to within so many pixels.
    pub fn is(&self, other: &Cell, within: f32) -> bool {
        let sides = |c: &Cell| [c.left, c.right, c.top, c.bottom];
        let pairs = sides(self).into_iter().zip(sides(other));
        pairs.into_iter().all(|(a, b)| (a - b).abs() < within)
    }
}

/// Turns points of the photo into the levelled plate.
#[derive(Debug, Clone, Copy)]
struct Level {
    origin: Point,
    cos: f32,
    sin: f32,
    /// Pixels that count as one in the slope.
    scale: f32,
    /// Slope of the rows: a + b x + c y. The tilt left over, the bend, the perspective.
    slope: [f32; 3],
}

impl Level {
    fn turn(&self, p: Point) -> Point {
        let (x, y) = (p.x - self.origin.x, p.y - self.origin.y);
        Point {
            x: x * self.cos + y * self.sin,
            y: y * self.cos - x * self.sin,
        }
    }

    fn apply(&self, p: Point) -> Point {
        let p = self.turn(p);
        let (x, y) = (p.x / self.scale, p.y / self.scale);
        let [a, b, c] = self.slope;
        Point {
            x: p.x,
            y: p.y - self.scale * (a * x + b * x * x / 2.0 + c * x * y),
        }
    }

    fn rule(&self, rule: &Segment) -> Segment {
        Segment {
            from: self.apply(rule.from),
            to: self.apply(rule.to),
        }
    }
}

/// A photo's lines on the levelled plate.
pub(super) struct Sheet<'a> {
    pub page: &'a Page,
    /// What the lines may read.
    lattices: Vec<Cow<'a, Lattice>>,
    pub glyphs: Vec<Vec<Glyph>>,
    level: Level,
    /// Words as they are read, line by line.
    pub words: Vec<Span>,
    /// Words that follow each other from left to right, row by row.
    pub rows: Vec<Vec<Span>>,
    /// Whether rules stand between its labels and its values.
    ruled: bool,
    /// The rules on the levelled plate.
    rules: Vec<Segment>,
}

impl<'a> Sheet<'a> {
    pub fn new(page: &'a Page) -> Sheet<'a> {
        let lines = page.lines.iter().map(|line| &line.lattice);
        let (lattices, glyphs) = lines.map(with_whole_numbers).unzip();
        let main = direction(page);
        let level = level(page, main);
        let mut sheet = Sheet {
            page,
            lattices,
            glyphs,
            level,
            words: Vec::new(),
            rows: Vec::new(),
            ruled: false,
            rules: page.rules.iter().map(|rule| level.rule(rule)).collect(),
        };
        sheet.ruled = sheet.is_ruled();
        sheet.words = (0..page.lines.len())
            .flat_map(|line| sheet.split(line))
            .collect();
        let upright: Vec<Span> = sheet
            .words
            .iter()
            .copied()
            .filter(|w| turn_between(page.lines[w.line].quad.angle(), main) < ASTRAY)
            .collect();
        sheet.rows = sheet.follow(&upright);
        sheet
    }

    /// The likeliest characters of a span.
    pub fn text(&self, span: Span) -> String {
        self.glyphs[span.line][span.from..span.to]
            .iter()
            .map(|g| g.ch)
            .collect()
    }

    /// Mean probability of the characters of a span.
    pub fn confidence(&self, span: Span) -> f32 {
        let glyphs = &self.glyphs[span.line][span.from..span.to];
        glyphs.iter().map(|g| g.p).sum::<f32>() / glyphs.len().max(1) as f32
    }

    /// What a span may read.
    pub fn lattice(&self, span: Span) -> Lattice {
        let (from, to) = (
            self.border(span.line, span.from),
            self.border(span.line, span.to),
        );
        self.lattices[span.line].slice(from, to)
    }

    /// Where a span stands in the photo.
    pub fn quad(&self, span: Span) -> Quad {
        let (from, to) = self.extent(span);
        self.page.lines[span.line].quad.part(from, to)
    }

    /// Where a span stands on the levelled plate.
    pub fn place(&self, span: Span) -> Place {
        let quad = self.quad(span);
        let [a, b, c, d] = quad.0;
        let (left, right) = (
            self.level.apply(a.lerp(d, 0.5)),
            self.level.apply(b.lerp(c, 0.5)),
        );
        Place {
            left: left.x.min(right.x),
            right: left.x.max(right.x),
            y: (left.y + right.y) / 2.0,
            height: quad.height().max(1.0),
        }
    }

    /// The cell of ruled lines in which a place stands; `None` where one of its sides is open.
    pub fn cell(&self, place: &Place) -> Option<Cell> {
        if self.rules.is_empty() {
            return None;
        }
        let middle = Point {
            x: place.center(),
            y: place.y,
        };
        let reach = REACH * place.height;
        let longer = 0.3 * place.height;
        let side = |dx: f32, dy: f32| -> Option<f32> {
            let far = Point {
                x: middle.x + dx * reach,
                y: middle.y + dy * reach,
            };
            let hits = self.rules.iter().filter_map(|rule| {
                // Across the way, and no scratch along it.
                let (along, across) = (rule.to.x - rule.from.x, rule.to.y - rule.from.y);
                let level = along.abs() > 2.0 * across.abs();
                let upright = across.abs() > 2.0 * along.abs();
                let fits = if dx == 0.0 { level } else { upright };
                (fits && rule.crosses(middle, far, longer)).then(|| {
                    let t = if dx == 0.0 {
                        (middle.x - rule.from.x) / along
                    } else {
                        (middle.y - rule.from.y) / across
                    };
                    let at = rule.from.lerp(rule.to, t);
                    (at.x - middle.x) * dx + (at.y - middle.y) * dy
                })
            });
            hits.min_by(f32::total_cmp)
        };
        Some(Cell {
            left: middle.x - side(-1.0, 0.0)?,
            right: middle.x + side(1.0, 0.0)?,
            top: middle.y - side(0.0, -1.0)?,
            bottom: middle.y + side(0.0, 1.0)?,
        })
    }

    /// Whether a rule runs between two places.
    pub fn ruled_off(&self, a: &Place, b: &Place) -> bool {
        if self.rules.is_empty() {
            return false;
        }
        let (from, to) = a.way_to(b);
        let longer = 0.3 * a.height.min(b.height);
        self.rules.iter().any(|rule| rule.crosses(from, to, longer))
    }

    /// The place between two characters, as a fraction of the line's width.
    fn border(&self, line: usize, at: usize) -> f32 {
        let glyphs = &self.glyphs[line];
        match (
            at.checked_sub(1).and_then(|i| glyphs.get(i)),
            glyphs.get(at),
        ) {
            (None, _) => 0.0,
            (_, None) => 1.0,
            (Some(before), Some(after)) => (before.to + after.from) / 2.0,
        }
    }

    /// Left and right end of the ink, as fractions: a character reaches half an advance around its peak.
    fn extent(&self, span: Span) -> (f32, f32) {
        let half = advance(&self.glyphs[span.line]) / 2.0;
        let glyphs = &self.glyphs[span.line];
        let middle = |i: usize| (glyphs[i].from + glyphs[i].to) / 2.0;
        match span.to.checked_sub(1) {
            Some(last) if last >= span.from => (
                (middle(span.from) - half).max(0.0),
                (middle(last) + half).min(1.0),
            ),
            _ => (
                self.border(span.line, span.from),
                self.border(span.line, span.from),
            ),
        }
    }

    /// Whether the plate parts its labels from their values by rules: `HP|75`, `VOLTS|230`.
    fn is_ruled(&self) -> bool {
        const AT_LEAST: usize = 3;
        let ruled = |line: &&Vec<Glyph>| {
            let mut pairs = line.windows(3);
            pairs.any(|w| w[0].ch.is_alphabetic() && w[1].ch == '|' && w[2].ch.is_alphanumeric())
        };
        self.glyphs.iter().filter(ruled).count() >= AT_LEAST
    }

    /// Words of a line: apart by blanks, or by a gap too wide for one word.
    fn split(&self, line: usize) -> Vec<Span> {
        let glyphs = &self.glyphs[line];
        let quad = &self.page.lines[line].quad;
        let height = quad.height() / quad.width().max(1.0);
        let wide = (2.4 * advance(glyphs)).max(1.1 * height);
        let mut words = Vec::new();
        let mut from = 0;
        for at in 0..=glyphs.len() {
            let ends =
                at == glyphs.len() || glyphs[at].ch == ' ' || is_rule(glyphs, at, self.ruled);
            let gap = at > from
                && at < glyphs.len()
                && glyphs[at].from + glyphs[at].to - glyphs[at - 1].from - glyphs[at - 1].to
                    > 2.0 * wide;
            if ends || gap {
                if at > from {
                    words.push(Span { line, from, to: at });
                }
                from = if ends { at + 1 } else { at };
            }
        }
        words
    }

    /// Chains each word to its nearest neighbour on the right, where the two agree about it.
    fn follow(&self, words: &[Span]) -> Vec<Vec<Span>> {
        let places: Vec<Place> = words.iter().map(|&w| self.place(w)).collect();
        let same_line = |a: usize, b: usize| words[a].line == words[b].line;
        let gap = |a: usize, b: usize| -> Option<f32> {
            let (p, q) = (&places[a], &places[b]);
            let height = p.height.max(q.height);
            let gap = (q.left - p.right) / height;
            let ratio = height / p.height.min(q.height);
            // A label in small print stands wholly beside its value.
            let shared = if ratio < ALIKE { 0.5 } else { 0.9 };
            let beside = same_line(a, b) || ratio < PRINTS && p.row_overlap(q) >= shared;
            let after = q.center() > p.center() && gap > -0.6;
            // A neighbour in the next row may be nearer; the one that stands level is meant. In pixels: in the heights of
            // a maker's large name everything is near.
            let level = 4.0 * (p.y - q.y).abs();
            (a != b && beside && after && gap < REACH).then_some(gap * height + level)
        };
        let nearest = |of: usize, to: &dyn Fn(usize, usize) -> Option<f32>| -> Option<usize> {
            (0..words.len())
                .filter_map(|b| Some((b, to(of, b)?)))
                .min_by(|x, y| {
                    let near = |&(b, g): &(usize, f32)| (!same_line(of, b), g);
                    near(x).0.cmp(&near(y).0).then(x.1.total_cmp(&y.1))
                })
                .map(|(b, _)| b)
        };
        let next: Vec<Option<usize>> = (0..words.len()).map(|a| nearest(a, &gap)).collect();
        let before: Vec<Option<usize>> = (0..words.len())
            .map(|b| nearest(b, &|b, a| gap(a, b)))
            .collect();
        /// In heights of text.
        const OFF: f32 = 0.25;
        // A lone figure astray between two words that follow each other is a scratch, and parts no row.
        let lone = |at: usize| {
            let text = self.text(words[at]);
            text.len() == 1 && text.starts_with(|c: char| c.is_ascii_digit())
        };
        let past = |b: usize| {
            let off = |at: usize| (places[at].y - places[b].y).abs() > OFF * places[b].height;
            let astray = before[b].filter(|&at| lone(at) && off(at))?;
            before[astray].filter(|&a| next[a] == Some(b))
        };
        let before: Vec<Option<usize>> = (0..words.len()).map(|b| past(b).or(before[b])).collect();
        let agreed = |a: usize| next[a].filter(|&b| before[b] == Some(a));
        let mut heads: Vec<usize> = (0..words.len())
            .filter(|&b| before[b].is_none_or(|a| agreed(a) != Some(b)))
            .collect();
        heads.sort_by(|&a, &b| {
            let key = |i: usize| (places[i].y, places[i].left);
            key(a)
                .0
                .total_cmp(&key(b).0)
                .then(key(a).1.total_cmp(&key(b).1))
        });
        heads
            .into_iter()
            .map(|head| {
                std::iter::successors(Some(head), |&a| agreed(a))
                    .map(|i| words[i])
                    .collect()
            })
            .collect()
    }
}

/// Usual distance between the middles of two characters, as a fraction of the line's width.
fn advance(glyphs: &[Glyph]) -> f32 {
    let mut steps: Vec<f32> = glyphs
        .windows(2)
        .filter(|w| w[0].ch != ' ' && w[1].ch != ' ')
        .map(|w| (w[1].from + w[1].to - w[0].from - w[0].to) / 2.0)
        .collect();
    if steps.is_empty() {
        return 1.0 / glyphs.len().max(1) as f32;
    }
    steps.sort_by(f32::total_cmp);
    steps[steps.len() / 2]
}

/// A line without the blanks that a wide decimal point leaves in a number, `1. 15`, and its best reading: behind a point
/// that stands right after a figure the next figure is no farther than two characters.
fn with_whole_numbers(line: &Lattice) -> (Cow<'_, Lattice>, Vec<Glyph>) {
    const WIDE: f32 = 2.05;
    let glyphs = line.best();
    let reach = WIDE * advance(&glyphs);
    let mut whole = Cow::Borrowed(line);
    for at in glyphs.windows(4) {
        let [before, point, blank, after] = at else {
            continue;
        };
        let figures = before.ch.is_ascii_digit() && after.ch.is_ascii_digit();
        let apart = (after.from + after.to - point.from - point.to) / 2.0;
        if figures && point.ch == '.' && blank.ch == ' ' && apart < reach {
            whole = Cow::Owned(whole.closed(point.from, after.to));
        }
    }
    match whole {
        Cow::Borrowed(_) => (whole, glyphs),
        Cow::Owned(closed) => {
            let glyphs = closed.best();
            (Cow::Owned(closed), glyphs)
        }
    }
}

/// Whether a character is the rule between two cells: a stroke at an end of the line, or one before a word. Before
/// figures it may be a 1, unless the plate has rules between its labels and values throughout.
fn is_rule(glyphs: &[Glyph], at: usize, ruled: bool) -> bool {
    let outermost = at == 0 || at + 1 == glyphs.len();
    let before_word = glyphs.get(at + 1).is_some_and(|g| g.ch.is_alphabetic());
    let ruled = ruled && at > 0 && ends_label(glyphs[at - 1].ch);
    glyphs[at].ch == '|' && glyphs.len() > 1 && (outermost || before_word || ruled)
}

/// Whether a rule may stand right behind this character.
fn ends_label(ch: char) -> bool {
    ch.is_alphabetic() || ". ".contains(ch)
}

/// The angle between two directions, 0 to pi.
fn turn_between(a: f32, b: f32) -> f32 {
    let d = (a - b).rem_euclid(std::f32::consts::TAU);
    d.min(std::f32::consts::TAU - d)
}

/// A line's say about direction: long lines know it, single characters do not.
fn weight(quad: &Quad) -> f32 {
    let ratio = quad.width() / quad.height().max(1.0);
    quad.width() * (ratio - 0.8).clamp(0.02, 1.0)
}

/// The reading direction that most of the text has.
fn direction(page: &Page) -> f32 {
    let quads = || page.lines.iter().map(|l| &l.quad);
    let support = |angle: f32| -> f32 {
        quads()
            .filter(|q| turn_between(q.angle(), angle) < 0.35)
            .map(weight)
            .sum()
    };
    let Some(mode) = quads()
        .map(Quad::angle)
        .max_by(|a, b| support(*a).total_cmp(&support(*b)))
    else {
        return 0.0;
    };
    let near = quads().filter(|q| turn_between(q.angle(), mode) < 0.35);
    let (sin, cos) = near.fold((0.0, 0.0), |(s, c), q| {
        (
            s + weight(q) * q.angle().sin(),
            c + weight(q) * q.angle().cos(),
        )
    });
    sin.atan2(cos)
}

/// Least squares over the slopes of the lines, drawn towards level where lines are few.
fn level(page: &Page, main: f32) -> Level {
    let quads: Vec<&Quad> = page
        .lines
        .iter()
        .map(|l| &l.quad)
        .filter(|q| turn_between(q.angle(), main) < ASTRAY && q.width() > 1.0)
        .collect();
    let count = quads.len().max(1) as f32;
    let origin = quads.iter().fold(Point::default(), |sum, q| Point {
        x: sum.x + q.center().x / count,
        y: sum.y + q.center().y / count,
    });
    let mut level = Level {
        origin,
        cos: main.cos(),
        sin: main.sin(),
        scale: 1.0,
        slope: [0.0; 3],
    };
    let reach = quads
        .iter()
        .flat_map(|q| q.0)
        .map(|p| p.distance(origin))
        .fold(1.0, f32::max);
    level.scale = reach;
    // Normal equations of slope = a + b x + c y.
    let mut m = [[0.0f32; 3]; 3];
    let mut v = [0.0f32; 3];
    for q in &quads {
        let w = (weight(q) / reach).powi(2);
        let p = level.turn(q.center());
        let basis = [1.0, p.x / reach, p.y / reach];
        let tilt = turn_signed(q.angle(), main).clamp(-0.6, 0.6).tan();
        for i in 0..3 {
            for j in 0..3 {
                m[i][j] += w * basis[i] * basis[j];
            }
            v[i] += w * basis[i] * tilt;
        }
    }
    let pull = 0.02 + 0.05 * m[0][0];
    m[0][0] += 0.01;
    m[1][1] += pull;
    m[2][2] += pull;
    level.slope = solve(m, v);
    level
}

fn turn_signed(a: f32, b: f32) -> f32 {
    let tau = std::f32::consts::TAU;
    (a - b + tau / 2.0).rem_euclid(tau) - tau / 2.0
}

/// Solves a positive definite system of three equations by elimination.
fn solve(mut m: [[f32; 3]; 3], mut v: [f32; 3]) -> [f32; 3] {
    for i in 0..3 {
        for j in i + 1..3 {
            let f = m[j][i] / m[i][i];
            let row = m[i];
            for (k, value) in row.iter().enumerate() {
                m[j][k] -= f * value;
            }
            v[j] -= f * v[i];
        }
    }
    let mut x = [0.0; 3];
    for i in (0..3).rev() {
        let known: f32 = (i + 1..3).map(|k| m[i][k] * x[k]).sum();
        x[i] = (v[i] - known) / m[i][i];
    }
    if x.iter().all(|n| n.is_finite()) {
        x
    } else {
        [0.0; 3]
    }
}
