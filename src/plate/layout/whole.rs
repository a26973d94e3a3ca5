//! A whole value before its parts: all figures of a number, all rows of a table.

use super::super::labels::Kind;
use super::super::parts;
use super::super::values;
use super::{BLANK, COLUMN_GAP, Edge, Layout, Relation};
use std::collections::HashSet;

/// Whether a whole is more than figures that stand side by side: a row of a table may be read as a list of any of
/// its cells' fields. What a stroke ties to a part belongs to it.
fn hangs_together(part: &values::Read, whole: &values::Read) -> bool {
    if whole.value.numbers().len() < 2 {
        return true;
    }
    let strokes = ['/', '-', ',', '&'];
    let part = part.raw.trim_matches(|c| c == ' ' || strokes.contains(&c));
    let Some((before, after)) = whole.raw.split_once(part) else {
        return true;
    };
    before.trim_end().ends_with(strokes) || after.trim_start().starts_with(strokes)
}

/// Whether figures are the year in which a motor may have been made.
fn is_year(text: &str) -> bool {
    text.parse()
        .is_ok_and(|year: u32| (1940..2060).contains(&year))
}

impl Layout<'_> {
    /// Makes a part of a value dearer than the whole: `CCW` where `CCW LE` stands.
    pub(super) fn prefer_whole(&self, edges: &mut [Edge]) {
        let part_of = |part: &Edge, whole: &Edge| {
            part.head == whole.head
                && part.target == whole.target
                && part.relation == whole.relation
                && part.pieces.len() < whole.pieces.len()
                && !whole.several
                && !(values::is_free(whole.target) && self.is_across(&whole.pieces))
                && whole.fit.mass * whole.fit.usual > 0.25
                && hangs_together(&part.fit.reads[0], &whole.fit.reads[0])
                && part.pieces.iter().all(|p| whole.pieces.contains(p))
                && part.fit.reads[0].printed != whole.fit.reads[0].printed
        };
        for i in self.cut_short(edges) {
            edges[i].cost += 4.0;
        }
        let dearer: Vec<usize> = (0..edges.len())
            .filter(|&i| edges.iter().any(|whole| part_of(&edges[i], whole)))
            .collect();
        for i in dearer {
            let free = values::is_free(edges[i].target);
            let part = &edges[i];
            let tied_to = |whole: &Edge| part_of(part, whole) && self.follows(part, whole);
            let tied = free && edges.iter().any(tied_to);
            // What breaks off at a separator goes on.
            let open = edges[i].fit.reads[0]
                .raw
                .trim_end()
                .ends_with(['/', '-', ',']);
            edges[i].cost += match (free, open) {
                (true, _) if tied => 4.5,
                (true, _) => 1.0,
                (false, false) => 4.0,
                (false, true) => 5.0,
            };
        }
    }

    /// Lists that leave out the last row, or the last column, of a table: other labels have it as well.
    fn cut_short(&self, edges: &[Edge]) -> Vec<usize> {
        let listed = |e: &&Edge| e.several && e.fit.mass * e.fit.usual > 0.3;
        // Labels of one row have their lists below, labels below each other theirs to the right.
        let table = |whole: &Edge| {
            let beside = |e: &&Edge| match whole.relation {
                Relation::Below => self.heads[e.head].row == self.heads[whole.head].row,
                _ => true,
            };
            let alike = edges.iter().filter(listed).filter(beside);
            // Its rows may have a word more each, `400 Δ`.
            let figures = |e: &Edge| e.fit.reads[0].value.numbers().len();
            let as_long =
                |e: &Edge| e.pieces.len() >= whole.pieces.len() || figures(e) >= figures(whole);
            let alike = alike.filter(|e| e.relation == whole.relation && as_long(e));
            let heads = alike.map(|e| e.head).collect::<HashSet<_>>().len();
            match whole.relation {
                // Three figures below each other are hardly so by chance.
                Relation::Below => heads >= 3 || heads == 2 && whole.pieces.len() >= 3,
                Relation::Right => heads >= 2,
                _ => false,
            }
        };
        let tables: Vec<&Edge> = edges.iter().filter(listed).filter(|e| table(e)).collect();
        let cut = |i: &usize| {
            let part = &edges[*i];
            let whole = |whole: &&Edge| {
                whole.head == part.head
                    && whole.target == part.target
                    && whole.relation == part.relation
                    && whole.pieces.len() > part.pieces.len()
                    && whole.pieces.starts_with(&part.pieces)
            };
            tables.iter().any(whole)
        };
        (0..edges.len()).filter(cut).collect()
    }

    /// Whether what a part leaves out of a number of the maker's stands as close as the figures of one number do, and is
    /// made as they are: `17 B 30448`, `GX 500 9174`.
    fn follows(&self, part: &Edge, whole: &Edge) -> bool {
        let tight = whole.pieces.windows(2).all(|w| self.is_tight(w[0], w[1]));
        let mut left_out = whole.pieces.iter().filter(|p| !part.pieces.contains(p));
        tight
            && left_out.all(|&p| {
                let piece = &self.pieces[p];
                // The value of a unit behind it is no part of the number.
                if self.unit_behind(piece, f32::INFINITY).is_some() {
                    return false;
                }
                let item = piece.item;
                let figures = item.text.contains(|c: char| c.is_ascii_digit());
                let letters = item.text.chars().all(|c| c.is_ascii_uppercase());
                let first = whole.pieces.first() == Some(&p);
                // A lone figure may be a hole in the plate, three letters behind others a word, and a year is a date.
                let code = match item.text.len() {
                    1 => !figures,
                    2 => figures || letters,
                    3 => figures || letters && first,
                    _ => figures && (first || !is_year(&item.text)),
                };
                code && matches!(item.kind, Kind::Value(None))
            })
    }

    /// Whether between two pieces another column may begin.
    fn is_across(&self, pieces: &[usize]) -> bool {
        let mut gaps = pieces.iter().skip(1).map(|&p| self.pieces[p].item.gap);
        gaps.any(|gap| gap > COLUMN_GAP)
    }

    /// Whether one piece follows another as close as the figures of one number do.
    pub(super) fn is_tight(&self, before: usize, after: usize) -> bool {
        let (before, after) = (&self.pieces[before].item, &self.pieces[after].item);
        // A stroke hangs together with what stands on both sides of it.
        let stroke = [before, after].iter().any(|item| item.text == "/");
        let most = if stroke { COLUMN_GAP } else { BLANK };
        after.gap < most && before.span.line == after.span.line
    }

    /// What it costs that a number of the maker's has blanks in it: the wider they are, the rather another value
    /// begins there.
    pub(super) fn parted(&self, pieces: &[usize]) -> f64 {
        /// Costs in nats of a narrow blank, and of one so wide as between columns.
        const NARROW: f64 = 0.3;
        const WIDE: f64 = 2.5;
        /// That a word is a part of the number behind which it stands: of 2,212 numbers on plates of strangers three end so
        /// (`models/README.md`).
        const WORD: f64 = 3.0;
        let cost = |w: &[usize]| {
            let (before, after) = (&self.pieces[w[0]].item, &self.pieces[w[1]].item);
            let figures = before.text.contains(|c: char| c.is_ascii_digit());
            let text = after.text.trim_end_matches(['.', ',']);
            let is_word =
                text.len() > 3 && text.chars().all(char::is_alphabetic) || parts::is_letters(text);
            let word = if figures && is_word { WORD } else { 0.0 };
            // Figures go on a number rather than letters do.
            let figures = after.text.chars().all(|c| c.is_ascii_digit());
            word + if self.is_tight(w[0], w[1]) {
                NARROW
            } else if figures && before.span.line == after.span.line {
                let wider = f64::from((after.gap - BLANK) / (COLUMN_GAP - BLANK));
                NARROW + (WIDE - NARROW) * wider.clamp(0.0, 1.0)
            } else {
                WIDE
            }
        };
        pieces.windows(2).map(cost).sum()
    }
}
