//! The ways from a label to its value: right of it, below or above it, in front of a unit.

use super::super::alone::is_plain_word;
use super::super::labels::{Item, Kind, Label};
use super::super::lexicon::Target;
use super::super::parts;
use super::super::sheet::Place;
use super::super::values;
use super::{
    COLUMN_GAP, Head, LISTED, Layout, Piece, Relation, WORD_GAP, WORDS, announces, fits,
    is_protection, takes_value,
};
use crate::record::Field;
use std::collections::HashSet;

/// A value stands no farther right of its label than this, in heights of text: tables with small print in wide
/// columns leave much room.
const FAR: f32 = 25.0;
/// And no farther below or above it.
const DEEP: f32 = 2.2;
/// So many places below a label, or above it, may be its value.
const NEAREST: usize = 3;
/// What it costs, in nats, at most that a value stands aside of its label and in its cell.
const IN_ORDER: f32 = 0.2;
/// What it costs, in nats, to leave a column of values before its end.
const SHORT: f32 = 1.5;

/// Whether an item names one of several speeds, `HI`, `MED-LO`.
fn names_speed(item: &Item) -> bool {
    let name = item.text.to_uppercase();
    let names = ["HI", "MED", "MID", "LO"]
        .iter()
        .any(|start| name.starts_with(start));
    let label =
        matches!(&item.kind, Kind::Label(label) if label.targets == [Target::Mark("speeds")]);
    // Medium high, medium low.
    names && label || ["MD", "MH", "ML", "M-H", "M-L"].contains(&name.trim_end_matches(':'))
}

/// A piece that stands near below a label, or above it.
struct Near {
    /// Its index.
    piece: usize,
    /// How far from the label, in heights of text.
    deep: f32,
    /// Whether it stands straight below, or by the rows' order in the label's cell.
    straight: bool,
    /// Whether it is in the label's cell, by the rows' order or by rules.
    in_order: bool,
}

impl Layout<'_> {
    /// The runs of pieces that may be a label's value: pieces, relation, whether a list, cost of the way.
    pub(super) fn runs(&self, head: &Head<'_>) -> Vec<(Vec<usize>, Relation, bool, f32)> {
        let mut runs = Vec::new();
        if let Some(own) = head.within {
            for run in self.leftwards(own) {
                let cost = 0.05 * (run.len() - 1) as f32;
                runs.push((run, Relation::Within, false, cost));
            }
            return runs;
        }
        if self.is_spent(head) {
            return runs;
        }
        let before = head.at.checked_sub(1);
        let before = before.and_then(|at| self.index.get(&(head.row, at)));
        let labels_behind = self.labels_behind[head.row];
        // `THREE PHASE` has its value in front of it.
        let counted = |piece: &usize| {
            let phase = Target::Field(Field::Phase);
            let text = &self.pieces[*piece].item.text;
            let word = text.len() > 1 && text.chars().all(char::is_alphabetic);
            head.label.targets == [phase] && word && values::is_usual(phase, text)
        };
        if let Some(&before) = before.filter(|b| counted(b) && head.item.gap < COLUMN_GAP) {
            return vec![(vec![before], Relation::Left, false, 0.0)];
        }
        let (farthest, dear) = match labels_behind {
            true => (LISTED, 0.05),
            false => (2.5, 0.3),
        };
        // In a sentence watts stand behind their figures: `SHAFT DOWN W/6 SHAFT SLINGER`.
        let watts = head.label.targets == [Target::Watts] && head.label.unit;
        if !(watts && self.is_sentence(head.item.span.line)) {
            self.rightwards(head, &mut runs);
        }
        if (head.label.unit || labels_behind)
            && let Some(before) = before
            && head.item.gap < farthest
        {
            for run in self.leftwards(*before) {
                let gap = head.item.gap.max(0.0);
                let way = dear * (gap - 0.5).max(0.0) + self.spoken_for(head);
                runs.push((run, Relation::Left, false, way));
            }
        }
        if !self.is_amid_words(head) {
            self.vertically(head, Relation::Below, &mut runs);
            self.vertically(head, Relation::Above, &mut runs);
        }
        runs
    }

    /// Whether a label is a word among others of a sentence, or in small letters names a number of the maker's at the end of
    /// one: `TO CHANGE ROTATION REVERSE ORANGE AND PURPLE`, `Comm. 16-pin serial`.
    pub fn is_amid_words(&self, head: &Head<'_>) -> bool {
        let row = &self.rows[head.row];
        /// Words of a sentence stand no farther apart, in heights of text.
        const CLOSE: f32 = 0.6;
        let before = head.at.checked_sub(1).map(|at| &row[at]);
        let before = before.filter(|_| head.item.gap < CLOSE);
        let behind = row.get(head.at + 1).filter(|item| item.gap < CLOSE);
        // `MORGANTON, W. VA.`
        let west = head.label.targets == [Target::Watts]
            && head.at > 0
            && head.item.gap < COLUMN_GAP
            && is_plain_word(&row[head.at - 1])
            && row
                .get(head.at + 1)
                .is_some_and(|item| item.gap < WORD_GAP && item.text.trim_end_matches('.') == "VA");
        let mut targets = head.label.targets.iter();
        let ends = before.is_some_and(|item| item.span.line == head.item.span.line)
            && targets.any(|&target| values::is_makers_number(target))
            && head.item.text.chars().all(char::is_lowercase);
        ends || west || before.is_some_and(is_plain_word) && behind.is_some_and(is_plain_word)
    }

    fn rightwards(&self, head: &Head<'_>, runs: &mut Vec<(Vec<usize>, Relation, bool, f32)>) {
        let row = &self.rows[head.row];
        if let Some(piece) = self.in_turn(head) {
            runs.push((vec![piece], Relation::Right, false, 1.0));
        }
        if let Some(both) = self.on_both_sides(head) {
            runs.push((both.to_vec(), Relation::Right, true, 0.0));
        }
        let lists = head
            .label
            .targets
            .iter()
            .copied()
            .any(values::takes_several);
        let mut pieces = Vec::new();
        let mut columns = false;
        let mut open = true;
        // A mark may stand between: `EFFICIENCY IE3 81.0`.
        let is_mark = |item: &&Item| matches!(&item.kind, Kind::Label(l) if l.targets == [Target::Mark("marks")]);
        let marks = row[head.at + 1..].iter().take_while(is_mark).count();
        for (at, item) in row.iter().enumerate().skip(head.at + 1 + marks) {
            // `RPM HI 1090 / MED 960 / LO 820`
            let stroke = item.text == "/" && row.get(at + 1).is_some_and(names_speed);
            if lists && item.gap < LISTED && (names_speed(item) || stroke) {
                columns |= !pieces.is_empty();
                open &= pieces.is_empty();
                continue;
            }
            let Some(&piece) = self.index.get(&(head.row, at)) else {
                break;
            };
            if pieces.len() == WORDS {
                break;
            }
            let limit = if pieces.is_empty() { FAR } else { LISTED };
            let column = |first: &usize| item.gap < FAR && self.are_columns(*first, piece);
            if item.gap > limit && !pieces.first().is_some_and(column) {
                break;
            }
            let first = pieces.is_empty();
            if !first {
                columns |= item.gap >= COLUMN_GAP;
                open &= item.gap < WORD_GAP || self.breaks_off(pieces[pieces.len() - 1]);
            }
            pieces.push(piece);
            let gap = row[head.at + 1].gap.max(0.0);
            // Across a wide column it hardly matters how wide it is: nothing else stands between.
            let way = 0.12 * (gap.min(10.0) - 1.0).max(0.0) + 0.04 * (gap - 10.0).max(0.0);
            let way = way
                + if self.labels_behind[head.row] {
                    1.5
                } else {
                    0.0
                };
            if open {
                runs.push((pieces.clone(), Relation::Right, false, way));
            }
            if columns && !first {
                runs.push((pieces.clone(), Relation::Right, true, way + 0.3));
            }
            if self.breaks_off(piece)
                && let Some(below) = self.continued(piece)
            {
                let mut longer = pieces.clone();
                longer.push(below);
                runs.push((longer, Relation::Right, false, way + 0.2));
            }
        }
    }

    /// Whether two pieces of a row stand in columns of a table: in other rows values begin below and above both.
    fn are_columns(&self, first: usize, piece: usize) -> bool {
        /// So many other rows are a table.
        const ROWS: usize = 2;
        let begins = |row: &[Item], piece: usize| {
            let place = &self.pieces[piece].item.place;
            let aligned = |other: &Place| (other.left - place.left).abs() < place.height;
            row.iter()
                .any(|item| matches!(item.kind, Kind::Value(_)) && aligned(&item.place))
        };
        let own = self.pieces[piece].row;
        let others = self.rows.iter().enumerate().filter(|(at, _)| *at != own);
        let table = others.filter(|(_, row)| begins(row, first) && begins(row, piece));
        table.count() >= ROWS
    }

    /// The values left and right of a label that stands in a column of labels between two columns of values:
    /// `60 HERTZ 50` above `230/460 VOLTS 190/380`.
    fn on_both_sides(&self, head: &Head<'_>) -> Option<[usize; 2]> {
        /// So many labels below each other with such values on both sides are a column.
        const LABELS: usize = 3;
        let beside = |head: &Head<'_>| {
            let piece = |at: usize| self.index.get(&(head.row, at)).copied();
            let both = [piece(head.at.checked_sub(1)?)?, piece(head.at + 1)?];
            let fit = |&p: &usize| fits(head.label, &self.pieces[p].item.text);
            (head.within.is_none() && both.iter().all(fit)).then_some(both)
        };
        let own = beside(head)?;
        let place = &head.item.place;
        let below = |other: &&Head<'_>| place.column_overlap(&other.item.place) > 0.5;
        let column = self.heads.iter().filter(below).filter_map(beside);
        (column.count() >= LABELS).then_some(own)
    }

    /// The value of a label that stands in a row of labels with their values behind all of them: `PH HZ 3 60`.
    fn in_turn(&self, head: &Head<'_>) -> Option<usize> {
        let row = &self.rows[head.row];
        let label = |at: usize| match &row.get(at)?.kind {
            Kind::Label(label) if label.certainty > 0.9 && takes_value(label) => Some(label),
            _ => None,
        };
        let mut from = head.at;
        while from > 0 && label(from - 1).is_some() {
            from -= 1;
        }
        let labels: Vec<&Label> = (from..).map_while(label).collect();
        let count = labels.len();
        // Two labels for one field are its name in two languages.
        let fields: HashSet<&Target> = labels.iter().flat_map(|label| &label.targets).collect();
        let values: Option<Vec<usize>> = (from + count..from + 2 * count)
            .map(|at| self.index.get(&(head.row, at)).copied())
            .collect();
        let values = values.filter(|_| count > 1 && fields.len() >= count)?;
        let all_fit = labels
            .iter()
            .zip(&values)
            .all(|(label, &value)| fits(label, &self.pieces[value].item.text));
        values
            .get(head.at.checked_sub(from)?)
            .copied()
            .filter(|_| all_fit)
    }

    /// Whether a piece ends with a separator, so that its value goes on elsewhere.
    fn breaks_off(&self, piece: usize) -> bool {
        self.pieces[piece].item.text.ends_with(['/', '-'])
    }

    /// The piece below that begins where this one does.
    fn continued(&self, piece: usize) -> Option<usize> {
        let place = &self.pieces[piece].item.place;
        (0..self.pieces.len())
            .filter(|&p| {
                let other = &self.pieces[p].item.place;
                let deep = (other.top() - place.bottom()) / place.height;
                let shifted = (other.left - place.left).abs() / place.height;
                p != piece
                    && (-0.4..0.9).contains(&deep)
                    && (shifted < 1.5 || place.column_overlap(other) > 0.5)
            })
            .min_by(|&a, &b| {
                let y = |p: usize| self.pieces[p].item.place.y;
                y(a).total_cmp(&y(b))
            })
    }

    /// Runs that end at a piece, without gaps; strokes between figures come on top: `1075 / 950 / 825 R.P.M.`
    fn leftwards(&self, last: usize) -> Vec<Vec<usize>> {
        /// So many pieces a value in front of its label has.
        const MOST: usize = 3;
        let (row, end) = (self.pieces[last].row, self.pieces[last].at);
        let stroke = |piece: usize| ["/", "-"].contains(&self.pieces[piece].item.text.as_str());
        let mut run = vec![last];
        let mut runs = vec![run.clone()];
        for at in (0..end).rev() {
            let close = self.rows[row][at + 1].gap < 1.0;
            match self.index.get(&(row, at)) {
                Some(&piece) if close => {
                    let strokes = run.iter().filter(|&&p| stroke(p)).count();
                    if run.len() - strokes == MOST {
                        break;
                    }
                    run.insert(0, piece);
                    runs.push(run.clone());
                }
                _ => break,
            }
        }
        runs
    }

    /// Distance from a label to a place below or above it, in heights of text.
    fn depth(head: &Place, place: &Place, relation: Relation) -> f32 {
        let height = (head.height + place.height) / 2.0;
        match relation {
            Relation::Above => (head.top() - place.bottom()) / height,
            _ => (place.top() - head.bottom()) / height,
        }
    }

    fn vertically(
        &self,
        head: &Head<'_>,
        relation: Relation,
        runs: &mut Vec<(Vec<usize>, Relation, bool, f32)>,
    ) {
        let place = &head.item.place;
        let part = parts::part(self.sheet, head.item.span);
        let mut near: Vec<Near> = (0..self.pieces.len())
            .filter(|&p| self.pieces[p].row != head.row)
            .filter_map(|p| {
                let other = &self.pieces[p].item.place;
                let deep = Self::depth(place, other, relation);
                // In the corners of a low cell label and value stand at almost one level.
                let level = (other.y >= place.y) == (relation == Relation::Below)
                    && self.in_one_cell(head, p);
                let least = if level { -1.0 } else { -0.45 };
                if !(least..DEEP).contains(&deep) {
                    return None;
                }
                let piece_part = || parts::part(self.sheet, self.pieces[p].item.span);
                let aligned = match part.and_then(|own| Some((own, piece_part()?))) {
                    Some(((labels, at), (values, of))) => {
                        let (labels, values) = (self.sheet.place(labels), self.sheet.place(values));
                        at == of && labels.column_overlap(&values) > 0.25
                    }
                    None => {
                        place.column_overlap(other) > 0.25
                            || (other.left - place.left).abs() < 0.7 * place.height
                            || self.in_cell(head, p)
                    }
                };
                let in_order = self.in_order(head, p);
                let aligned = in_order.unwrap_or(aligned);
                let in_order = in_order == Some(true) || self.in_one_cell(head, p);
                (aligned || in_order).then_some(Near {
                    piece: p,
                    deep,
                    straight: aligned,
                    in_order,
                })
            })
            .collect();
        near.sort_by(|a, b| a.deep.total_cmp(&b.deep));
        // The nearest of those that stand straight below, and of all in the cell.
        let straight = near.iter().filter(|near| near.straight).take(NEAREST);
        let in_cell = near.iter().filter(|near| near.in_order).take(NEAREST);
        let mut places: Vec<&Near> = straight.chain(in_cell).collect();
        places.sort_by_key(|near| near.piece);
        places.dedup_by_key(|near| near.piece);
        for near in places {
            let (p, deep, in_order) = (near.piece, near.deep, near.in_order);
            let piece = &self.pieces[p];
            let blocked = self.blocked(head, &piece.item.place, relation);
            for (run, shift) in self.around(p) {
                let filled = self.fill(&run);
                // A word that stands under something else is hardly part of this value, unless it follows closely;
                // one under another label hardly ever.
                let astray: f32 = run
                    .iter()
                    .enumerate()
                    .map(|(at, &p)| {
                        let other = &self.pieces[p].item;
                        let follows = at > 0 && other.gap < COLUMN_GAP;
                        let own = place.column_overlap(&other.place) >= 0.1
                            || in_order
                            || self.in_cell(head, p);
                        match (own || follows, own || !self.announced(head, &other.place)) {
                            (true, true) => 0.0,
                            (false, true) => 2.0,
                            (_, false) => 3.5,
                        }
                    })
                    .sum();
                let aside = Self::aside(place, &filled);
                let aside = if in_order { aside.min(IN_ORDER) } else { aside };
                let way = 0.5 * deep.max(0.0) + aside + blocked + shift + astray;
                runs.push((run, relation, false, way));
            }
            if self.breaks_off(p)
                && let Some(next) = self.continued(p)
            {
                runs.push((
                    vec![p, next],
                    relation,
                    false,
                    0.5 * deep.max(0.0) + blocked + 0.2,
                ));
            }
            if relation == Relation::Below {
                let stacks = self.stack(head, p);
                let rows = stacks.len();
                for (row, run) in (1..).zip(stacks) {
                    // A column is hardly left where it goes on.
                    let short = if row < rows { SHORT } else { 0.0 };
                    let way = 0.5 * deep.max(0.0) + blocked + 0.3 + short;
                    runs.push((run, relation, true, way));
                }
            }
        }
    }

    /// Whether another label of a label's row stands over or under a place.
    fn announced(&self, head: &Head<'_>, place: &Place) -> bool {
        let beside = |other: &&Head<'_>| other.row == head.row && other.at != head.at;
        let mut others = self.heads.iter().filter(beside);
        others.any(|other| other.item.place.column_overlap(place) > 0.3)
    }

    /// Whether a piece below a label lies in its cell: right of where the label begins, left of where the
    /// next label of its row does. The cell of a label that is alone in its row is as wide as the plate, where
    /// nothing else stands in the row below.
    fn in_cell(&self, head: &Head<'_>, piece: usize) -> bool {
        let Piece { item, row, .. } = &self.pieces[piece];
        let (own, place) = (&head.item.place, &item.place);
        let labels = &self.rows[head.row];
        let end = labels
            .get(head.at + 1)
            .map_or(f32::INFINITY, |next| next.place.left);
        let values = &self.rows[*row];
        let alone = labels.len() == 1
            && values.iter().all(|i| {
                matches!(i.kind, Kind::Value(_)) && (i.gap < WORD_GAP || i.gap.is_infinite())
            });
        let near = alone || place.left < own.right + 6.0 * own.height.max(place.height);
        place.left > own.left - 0.7 * own.height && near && place.center() < end
    }

    /// Whether a row of labels and a row of cells are as long, and a piece is in the cell that has its label's place in the
    /// row: labels in one corner of their cells, values in the other. `None` where the rows are not so.
    fn in_order(&self, head: &Head<'_>, piece: usize) -> Option<bool> {
        let Piece { row, at, .. } = self.pieces[piece];
        let (labels, values) = (&self.rows[head.row], &self.rows[row]);
        let only_labels = labels
            .iter()
            .all(|item| announces(item) || item.text.trim() == "/");
        if !only_labels || values.iter().any(announces) {
            return None;
        }
        // Each cell by its first item; `HZ / PHASE` are the labels of one.
        let firsts = |row: &[Item]| -> Vec<usize> {
            let first = |at: &usize| *at == 0 || row[*at].gap >= COLUMN_GAP;
            (0..row.len()).filter(first).collect()
        };
        let (own, cells) = (firsts(labels), firsts(values));
        if own.len() != cells.len() || own.len() < 2 {
            return None;
        }
        let pairs = || {
            let places = own.iter().zip(&cells);
            places.map(|(&label, &cell)| (&labels[label].place, &values[cell].place))
        };
        let left = pairs().filter(|(label, cell)| label.left > cell.right);
        // Labels on the left each have their cell before the next label begins.
        let ends = own.iter().skip(1).map(|&next| labels[next].place.left);
        let ends = ends.chain([f32::INFINITY]);
        let right = pairs().zip(ends).all(|((label, cell), end)| {
            cell.left > label.left - 0.7 * label.height && cell.center() < end
        });
        let counted = |firsts: &[usize], at: usize| firsts.iter().filter(|&&f| f <= at).count();
        let under = |(label, cell): &(&Place, &Place)| label.column_overlap(cell) > 0.25;
        let right = right && 2 * pairs().filter(under).count() < own.len();
        let ordered = own.len() >= 3 && 2 * left.count() > own.len() || right;
        ordered.then(|| counted(&own, head.at) == counted(&cells, at))
    }

    /// What it costs that a value does not stand straight below or above its label.
    fn aside(label: &Place, value: &Place) -> f32 {
        let apart = (value.left - label.right)
            .max(label.left - value.right)
            .max(0.0);
        let overlap = label.column_overlap(value);
        0.5 * (1.0 - overlap) + 0.15 * apart / label.height
    }

    /// The piece and its close neighbours in the row, with the cost of leaving close ones out.
    fn around(&self, p: usize) -> Vec<(Vec<usize>, f32)> {
        let (row, at) = (self.pieces[p].row, self.pieces[p].at);
        let items = &self.rows[row];
        let close = |right: usize| items[right].gap < WORD_GAP;
        let (mut from, mut to) = (at, at);
        while from > 0 && at - from < 2 && close(from) && self.index.contains_key(&(row, from - 1))
        {
            from -= 1;
        }
        while to + 1 < items.len()
            && to - at < 4
            && close(to + 1)
            && self.index.contains_key(&(row, to + 1))
        {
            to += 1;
        }
        let run = |from: usize, to: usize| -> Vec<usize> {
            (from..=to)
                .filter_map(|i| self.index.get(&(row, i)).copied())
                .collect()
        };
        // What stands close beside a value and is left out of it costs; what stands apart hardly does.
        let left_out = |i: usize, j: usize| -> f32 {
            let cost = |right: usize| {
                if items[right].gap < COLUMN_GAP {
                    0.4
                } else {
                    0.05
                }
            };
            (from + 1..=i).map(cost).sum::<f32>() + (j + 1..=to).map(cost).sum::<f32>()
        };
        (from..=at)
            .flat_map(|a| (at..=to).map(move |b| (a, b)))
            .map(|(a, b)| (run(a, b), left_out(a, b)))
            .collect()
    }

    /// Values one below the other under a label: as many as a table has rows, each with all words of its cell.
    fn stack(&self, head: &Head<'_>, top: usize) -> Vec<Vec<usize>> {
        /// Tables of ratings have hardly more rows.
        const ROWS: usize = 8;
        let mut cells = vec![self.cell(top)];
        let mut runs = Vec::new();
        while cells.len() < ROWS {
            let last = self.fill(&cells[cells.len() - 1]);
            let next = (0..self.pieces.len())
                .filter(|p| cells.iter().all(|cell| !cell.contains(p)))
                .filter(|&p| {
                    let other = &self.pieces[p].item.place;
                    let deep = (other.top() - last.bottom()) / last.height;
                    (-0.45..1.3).contains(&deep)
                        && self.pieces[p]
                            .item
                            .text
                            .contains(|c: char| c.is_ascii_digit())
                        && last.column_overlap(other) > 0.5
                        && (0.6..1.7).contains(&(other.height / last.height))
                        && !self.is_sentence(self.pieces[p].item.span.line)
                });
            let next = next.min_by(|&a, &b| {
                self.pieces[a]
                    .item
                    .place
                    .y
                    .total_cmp(&self.pieces[b].item.place.y)
            });
            let Some(next) = next else { break };
            // Cells of a column stand free; a number among words below them is another thing.
            if self.is_crowded(next) && !self.is_crowded(top) {
                break;
            }
            // The values of the stack stand between as well.
            let place = &self.pieces[next].item.place;
            let over = |p: &&usize| self.pieces[**p].item.place.column_overlap(place) > 0.5;
            let own = 2.0 * cells.iter().flatten().filter(over).count() as f32;
            let protection = self.protects(next) || self.protected_above(&last, place);
            if protection || self.blocked(head, place, Relation::Below) > own {
                break;
            }
            cells.push(self.cell(next));
            runs.push(cells.concat());
        }
        runs
    }

    /// Whether a word that is no part of its cell stands close before a piece.
    fn is_crowded(&self, piece: usize) -> bool {
        let first = &self.pieces[self.cell(piece)[0]];
        let before = first.at.checked_sub(1).map(|at| &self.rows[first.row][at]);
        before.is_some_and(|before| {
            before.span.line == first.item.span.line && first.item.gap < COLUMN_GAP
        })
    }

    /// Whether a piece is the degree of protection behind `IP`, and no rating.
    fn protects(&self, piece: usize) -> bool {
        let Piece { item, row, at } = &self.pieces[piece];
        let before = at.checked_sub(1).and_then(|at| self.rows[*row].get(at));
        before.is_some_and(|before| is_protection(&before.text) && item.gap < WORD_GAP)
    }

    /// Whether `IP` stands over a place, below another one.
    fn protected_above(&self, upper: &Place, place: &Place) -> bool {
        self.pieces.iter().any(|piece| {
            let between = &piece.item.place;
            is_protection(&piece.item.text)
                && between.column_overlap(place) > 0.3
                && between.y > upper.bottom()
                && between.y < place.top()
        })
    }

    /// Whether the item at a place of a row is the fraction of a number of which the whole stands before it, `1 1/2`.
    pub(super) fn is_mixed(&self, row: usize, at: usize) -> bool {
        let items = &self.rows[row];
        let pair = at
            .checked_sub(1)
            .and_then(|b| items.get(b))
            .zip(items.get(at));
        pair.is_some_and(|(before, after)| {
            let whole = before.text.len() <= 3 && before.text.chars().all(|c| c.is_ascii_digit());
            let close = before.span.line == after.span.line && after.gap < WORD_GAP;
            whole && close && parts::is_fraction(&after.text)
        })
    }

    /// A piece with the other parts of its number: `1` and `1/2` of `1 1/2`, `22.` and `1` of a number spaced widely.
    fn cell(&self, piece: usize) -> Vec<usize> {
        let Piece { row, at, .. } = &self.pieces[piece];
        let items = &self.rows[*row];
        let joins = |at: usize| {
            let (before, after) = (&items[at - 1], &items[at]);
            let open = before.text.ends_with(['.', '/']) || after.text.starts_with(['.', '/']);
            let one_line = before.span.line == after.span.line;
            let close = one_line && after.gap < COLUMN_GAP;
            // `400 Δ / 690 Y`: voltages with the connections that they are for.
            let connection =
                |item: &Item| matches!(item.text.as_str(), "Y" | "Δ" | "∆" | "△" | "D" | "V" | "/");
            let connected =
                one_line && after.gap < WORD_GAP && (connection(before) || connection(after));
            connected || close && open || self.is_mixed(*row, at)
        };
        let piece_at = |at: usize| self.index.get(&(*row, at)).copied();
        let (mut from, mut to) = (*at, *at);
        while from > 0 && joins(from) && piece_at(from - 1).is_some() {
            from -= 1;
        }
        while to + 1 < items.len() && joins(to + 1) && piece_at(to + 1).is_some() {
            to += 1;
        }
        (from..=to).filter_map(piece_at).collect()
    }

    /// What labels cost that stand between a label and a place above or below it.
    fn blocked(&self, head: &Head<'_>, place: &Place, relation: Relation) -> f32 {
        let between = self.heads.iter().filter(|other| {
            let p = &other.item.place;
            let inside = match relation {
                Relation::Above => p.y < head.item.place.top() && p.y > place.bottom(),
                _ => p.y > head.item.place.bottom() && p.y < place.top(),
            };
            other.within.is_none() && inside && p.column_overlap(place) > 0.3
        });
        let skipped = self.pieces.iter().filter(|piece| {
            let p = &piece.item.place;
            let inside = match relation {
                Relation::Above => p.y < head.item.place.top() && p.y > place.bottom(),
                _ => p.y > head.item.place.bottom() && p.y < place.top(),
            };
            inside && p.column_overlap(place) > 0.5
        });
        3.0 * between.count() as f32 + 2.0 * skipped.count() as f32
    }
}
