//! Which place may be the value of which label: right of it, below it, above it, in front of a unit, in the
//! same word. Every possibility has a cost in nats: for the way between the two, for the value's form, and
//! for how sure the label is. Which of them come true is decided in `assign`.

use super::labels::{Item, Kind, Label};
use super::lexicon::Target;
use super::parts;
use super::sheet::{Place, Sheet, Span};
use super::values::{self, Fit};
use crate::record::Field;
use crate::text::Lattice;
use std::collections::{HashMap, HashSet};

/// Words up to this gap, in heights of text, may be one value.
const WORD_GAP: f32 = 1.6;
/// From this gap on, words may be separate columns.
const COLUMN_GAP: f32 = 0.9;
/// A blank in a number of the maker's is hardly wider than this.
const BLANK: f32 = 0.7;
/// At most so many words make a value.
const WORDS: usize = 6;
/// A value stands no farther right of its label than this, in heights of text: tables with small print in wide
/// columns leave much room.
const FAR: f32 = 25.0;
/// What stands farther apart than this is no list.
pub(super) const LISTED: f32 = 14.0;
/// And no farther below or above it.
const DEEP: f32 = 2.2;
/// A place in which the grammar's strings are less likely than this holds no value.
const LEAST_MASS: f64 = 1e-4;

/// How a value stands to its label.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub(super) enum Relation {
    Right,
    Below,
    Above,
    /// The label is a unit behind its value.
    Left,
    /// The unit is written into the value's word.
    Within,
}

impl Relation {
    pub const ALL: [Relation; 5] = [
        Relation::Right,
        Relation::Below,
        Relation::Above,
        Relation::Left,
        Relation::Within,
    ];
}

/// A word that may be a value or a part of one.
pub(super) struct Piece<'a> {
    pub item: &'a Item,
    pub row: usize,
    pub at: usize,
}

/// A label and where it stands.
pub(super) struct Head<'a> {
    pub label: &'a Label,
    pub item: &'a Item,
    pub row: usize,
    pub at: usize,
    /// Index of the piece into which the unit is written.
    pub within: Option<usize>,
}

/// One possible value of a label.
#[derive(Debug, Clone)]
pub(super) struct Edge {
    pub head: usize,
    pub target: Target,
    /// Indices of the pieces, in reading order.
    pub pieces: Vec<usize>,
    pub relation: Relation,
    pub fit: Fit,
    /// Cost in nats without the plate's liking for the relation.
    pub cost: f64,
    /// Whether several places are read as one list of ratings.
    pub several: bool,
}

/// All labels and words of a plate, by row.
pub(super) struct Layout<'a> {
    pub sheet: &'a Sheet<'a>,
    pub rows: &'a [Vec<Item>],
    pub pieces: Vec<Piece<'a>>,
    pub heads: Vec<Head<'a>>,
    /// Index among the pieces of an item of a row.
    index: HashMap<(usize, usize), usize>,
    /// Whether the plate prints its labels, not only its units, behind their values.
    labels_behind: bool,
}

/// What several spans read one after the other, `between` them where they do not follow in one line.
pub(super) fn joined(sheet: &Sheet<'_>, spans: &[Span], between: &str) -> Lattice {
    let mut parts: Vec<Span> = Vec::new();
    for &span in spans {
        match parts.last_mut() {
            Some(last) if last.line == span.line && last.to <= span.from && between == " " => {
                last.to = span.to
            }
            _ => parts.push(span),
        }
    }
    let glue = Lattice::from_text(between);
    let mut lattices: Vec<Lattice> = Vec::new();
    for (i, &part) in parts.iter().enumerate() {
        // A value that breaks off at a separator goes on in the next place without another.
        let open = i > 0
            && sheet
                .text(parts[i - 1])
                .trim_end()
                .ends_with(['/', '-', ',']);
        if i > 0 && !open {
            lattices.push(glue.clone());
        }
        lattices.push(sheet.lattice(part));
    }
    Lattice::concat(&lattices)
}

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

/// The letters of a degree of protection (IEC 60034-5).
fn is_protection(text: &str) -> bool {
    text.eq_ignore_ascii_case("IP")
}

/// Whether figures are the year in which a motor may have been made.
fn is_year(text: &str) -> bool {
    text.parse()
        .is_ok_and(|year: u32| (1940..2060).contains(&year))
}

/// Whether characters are a usual value of what a label announces.
fn fits(label: &Label, text: &str) -> bool {
    let mut targets = label.targets.iter();
    targets.any(|&target| values::is_usual(target, text))
}

/// Whether a value stands beside a label: it is more than a mark.
fn takes_value(label: &Label) -> bool {
    let mut targets = label.targets.iter();
    targets.any(|target| !matches!(target, Target::Mark(_)))
}

/// Whether rows begin with values and end with labels: `88-140327 S/N`, `F I.CL. S1 DUTY`.
fn labels_behind(rows: &[Vec<Item>]) -> bool {
    const AT_LEAST: usize = 3;
    let label = |item: &Item| matches!(&item.kind, Kind::Label(label) if takes_value(label));
    let ends = |row: &Vec<Item>| Some((label(row.first()?), label(row.last()?)));
    let count = |form| rows.iter().filter(|row| ends(row) == Some(form)).count();
    let (behind, before) = (count((false, true)), count((true, false)));
    behind >= AT_LEAST && behind > 2 * before
}

impl<'a> Layout<'a> {
    pub fn new(sheet: &'a Sheet<'a>, rows: &'a [Vec<Item>]) -> Layout<'a> {
        let mut layout = Layout {
            sheet,
            rows,
            pieces: Vec::new(),
            heads: Vec::new(),
            index: HashMap::new(),
            labels_behind: labels_behind(rows),
        };
        for (row, items) in rows.iter().enumerate() {
            for (at, item) in items.iter().enumerate() {
                let (label, within) = match &item.kind {
                    Kind::Label(label) => (Some(label), None),
                    Kind::Value(unit) => {
                        layout.index.insert((row, at), layout.pieces.len());
                        layout.pieces.push(Piece { item, row, at });
                        (unit.as_ref(), Some(layout.pieces.len() - 1))
                    }
                };
                if let Some(label) = label.filter(|l| takes_value(l)) {
                    layout.heads.push(Head {
                        label,
                        item,
                        row,
                        at,
                        within,
                    });
                }
            }
        }
        layout
    }

    /// Every possible value of every label.
    pub fn edges(&self) -> Vec<Edge> {
        let mut fits: HashMap<(Vec<usize>, bool, Target), Option<Fit>> = HashMap::new();
        let mut edges = Vec::new();
        for (index, head) in self.heads.iter().enumerate() {
            let runs = self.runs(head);
            for target in self.targets(head) {
                let Some(unlikely) = self.context(head, target) else {
                    continue;
                };
                for (pieces, relation, several, way) in &runs {
                    if *several && !values::takes_several(target) {
                        continue;
                    }
                    // A number of the maker's ends where a value begins that needs no label.
                    let ends = |p: &usize| {
                        let text = &self.pieces[*p].item.text;
                        super::alone::is_spelled(text)
                            || is_protection(text)
                            || ["TP", "T.P."].iter().any(|t| text.eq_ignore_ascii_case(t))
                            || parts::is_terminal(text)
                    };
                    // And none begins with one: `TYPE` has no TEFC below it.
                    let said = |p: &usize| {
                        let text = &self.pieces[*p].item.text;
                        parts::is_terminal(text)
                            || pieces.len() == 1 && super::alone::is_spelled(text)
                    };
                    if values::is_free(target)
                        && (pieces.iter().skip(1).any(ends) || pieces.first().is_some_and(said))
                    {
                        continue;
                    }
                    let fit = fits
                        .entry((pieces.clone(), *several, target))
                        .or_insert_with(|| {
                            values::read(target, &self.lattice(pieces, *several, target))
                        });
                    let Some(fit) = fit.as_ref().filter(|f| f.mass >= LEAST_MASS) else {
                        continue;
                    };
                    let form = -(fit.mass * fit.usual).max(1e-9).ln();
                    let form = form + self.of_another(head, target, pieces);
                    let sure = -head.label.certainty.max(1e-3).ln();
                    let apart = if values::is_free(target) {
                        self.parted(pieces)
                    } else {
                        0.0
                    };
                    edges.push(Edge {
                        head: index,
                        target,
                        pieces: pieces.clone(),
                        relation: *relation,
                        fit: fit.clone(),
                        cost: f64::from(*way) + form + sure + unlikely + apart,
                        several: *several,
                    });
                }
            }
        }
        self.prefer_whole(&mut edges);
        edges
    }

    /// Makes a part of a value dearer than the whole: `CCW` where `CCW LE` stands.
    fn prefer_whole(&self, edges: &mut [Edge]) {
        let part_of = |part: &Edge, whole: &Edge| {
            part.head == whole.head
                && part.target == whole.target
                && part.relation == whole.relation
                && part.pieces.len() < whole.pieces.len()
                && !whole.several
                && whole.fit.mass * whole.fit.usual > 0.3
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
            let alike = alike
                .filter(|e| e.relation == whole.relation && e.pieces.len() >= whole.pieces.len());
            let heads = alike.map(|e| e.head).collect::<HashSet<_>>().len();
            match whole.relation {
                Relation::Below => heads >= 3,
                Relation::Right => heads >= 2,
                _ => false,
            }
        };
        let cut = |i: &usize| {
            let part = &edges[*i];
            let whole = |whole: &&Edge| {
                whole.head == part.head
                    && whole.target == part.target
                    && whole.relation == part.relation
                    && whole.pieces.len() > part.pieces.len()
                    && whole.pieces.starts_with(&part.pieces)
            };
            edges.iter().filter(listed).filter(whole).any(table)
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
                let Piece { item, row, at } = &self.pieces[p];
                // The value of a unit behind it is no part of the number; a label with a value of its own is no unit.
                let next = self.label_behind(*row, *at, f32::INFINITY);
                let own = |label| {
                    let value = self.rows[*row].get(at + 2);
                    value.is_some_and(|value| fits(label, &value.text))
                };
                if next.is_some_and(|label| label.unit && !own(label)) {
                    return false;
                }
                let figures = item.text.contains(|c: char| c.is_ascii_digit());
                let letters = item.text.chars().all(|c| c.is_ascii_uppercase());
                let first = whole.pieces.first() == Some(&p);
                // A lone figure may be a hole in the plate, a few letters behind others a word, and a year is a date.
                let code = match item.text.len() {
                    1 => !figures,
                    2 | 3 => figures || letters && first,
                    _ => figures && (first || !is_year(&item.text)),
                };
                code && matches!(item.kind, Kind::Value(None))
            })
    }

    /// Whether one piece follows another as close as the figures of one number do.
    fn is_tight(&self, before: usize, after: usize) -> bool {
        let (before, after) = (&self.pieces[before].item, &self.pieces[after].item);
        // A stroke hangs together with what stands on both sides of it.
        let stroke = [before, after].iter().any(|item| item.text == "/");
        let most = if stroke { COLUMN_GAP } else { BLANK };
        after.gap < most && before.span.line == after.span.line
    }

    /// What it costs that a number of the maker's has blanks in it: the wider they are, the rather another value
    /// begins there.
    fn parted(&self, pieces: &[usize]) -> f64 {
        let blanks = pieces.windows(2);
        blanks
            .map(|w| if self.is_tight(w[0], w[1]) { 0.3 } else { 2.5 })
            .sum()
    }

    /// What it costs that right behind a value stands the unit of another field, for which nothing else stands there:
    /// in `POWER 10 HP` the 10 is no kilowatts.
    fn of_another(&self, head: &Head<'_>, target: Target, pieces: &[usize]) -> f64 {
        let Some(Piece { row, at, .. }) = pieces.last().map(|&p| &self.pieces[p]) else {
            return 0.0;
        };
        let own = |label| {
            let value = self.rows[*row].get(at + 2);
            value.is_some_and(|value| fits(label, &value.text))
        };
        let unit = self.label_behind(*row, *at, WORD_GAP).filter(|label| {
            label.unit && *label != head.label && !label.targets.contains(&target) && !own(label)
        });
        let fits_it = unit.is_some_and(|label| {
            let text = &self.pieces[pieces[pieces.len() - 1]].item.text;
            label.targets.iter().any(|&t| values::accepts(t, text))
        });
        if fits_it && !values::is_free(target) {
            3.0
        } else {
            0.0
        }
    }

    /// What a label may announce here: volts behind a capacitance are the capacitor's.
    fn targets(&self, head: &Head<'_>) -> Vec<Target> {
        let mut targets = head.label.targets.clone();
        // `HP/CV`: horsepower in both languages of a plate.
        let before = head
            .at
            .checked_sub(1)
            .map(|at| &self.rows[head.row][at].kind);
        if let Some(Kind::Label(label)) = before
            && label.targets.contains(&Target::Field(Field::Hp))
        {
            let metric = targets.iter_mut().filter(|t| **t == Target::MetricHp);
            metric.for_each(|t| *t = Target::Field(Field::Hp));
        }
        let (volts, capacitor) = (
            Target::Field(Field::Volts),
            Target::Field(Field::CapacitorVolts),
        );
        if targets.contains(&volts) && self.behind_start_capacitor(head) {
            return vec![Target::Other("start_capacitor")];
        }
        if targets.contains(&volts) && !targets.contains(&capacitor) && self.beside_capacitor(head)
        {
            targets.push(capacitor);
        }
        targets
    }

    /// Whether a unit stands behind the capacitance of a start capacitor: `START CAP 400-480 MFD 125 V`.
    fn behind_start_capacitor(&self, head: &Head<'_>) -> bool {
        let before = self.rows[head.row][..head.at].iter().rev();
        let mut labels = before.take(WORDS).filter_map(|item| match &item.kind {
            Kind::Label(label) => Some(label),
            Kind::Value(_) => None,
        });
        let capacitance =
            |label: &&Label| label.targets.contains(&Target::Field(Field::CapacitorUf));
        let start = |label: &Label| label.targets.contains(&Target::Other("start_capacitor"));
        labels.next().is_some_and(|label| {
            start(label) || capacitance(&label) && labels.next().is_some_and(start)
        })
    }

    /// What the pieces read together.
    fn lattice(&self, pieces: &[usize], several: bool, target: Target) -> Lattice {
        let spans: Vec<Span> = pieces.iter().map(|&p| self.pieces[p].item.span).collect();
        if !several {
            return joined(self.sheet, &spans, " ");
        }
        // Columns and rows become a list; what stands close together stays one value.
        let mut groups: Vec<Vec<Span>> = Vec::new();
        for (i, &p) in pieces.iter().enumerate() {
            let piece = &self.pieces[p];
            let close = i > 0 && {
                let before = &self.pieces[pieces[i - 1]];
                before.row == piece.row && piece.item.gap < COLUMN_GAP
            };
            match groups.last_mut() {
                Some(group) if close => group.push(piece.item.span),
                _ => groups.push(vec![piece.item.span]),
            }
        }
        // A blank between the rows of a table keeps them apart from the list in one of its cells; powers are
        // written with blanks (`1 1/2`) themselves.
        let between = match target {
            Target::Field(Field::Volts | Field::Amps | Field::Rpm | Field::Hertz | Field::Kw) => {
                " "
            }
            _ => "/",
        };
        let between = Lattice::from_text(between);
        let mut parts: Vec<Lattice> = Vec::new();
        for (i, group) in groups.iter().enumerate() {
            let open = i > 0
                && groups[i - 1]
                    .last()
                    .is_some_and(|&s| self.sheet.text(s).ends_with(['/', '-']));
            if i > 0 && !open {
                parts.push(between.clone());
            }
            parts.push(joined(self.sheet, group, " "));
        }
        Lattice::concat(&parts)
    }

    /// What speaks against a target where a label has several, or beside a capacitor; `None` rules it out.
    fn context(&self, head: &Head<'_>, target: Target) -> Option<f64> {
        let beside = self.beside_capacitor(head);
        match target {
            Target::Field(Field::Volts) if beside => Some(4.0),
            Target::Field(Field::CapacitorVolts) if !beside && head.label.targets.len() > 1 => None,
            _ => Some(0.0),
        }
    }

    /// Whether a voltage follows a capacitance: `7.5 MFD 370 VAC`, or `MFD` and `VAC` as neighbours.
    pub fn beside_capacitor(&self, head: &Head<'_>) -> bool {
        let row = &self.rows[head.row];
        let capacitance = |item: &Item| {
            let label = match &item.kind {
                Kind::Label(label) => Some(label),
                Kind::Value(unit) => unit.as_ref(),
            };
            label.is_some_and(|l| {
                l.targets.iter().any(|t| {
                    matches!(
                        t,
                        Target::Field(Field::CapacitorUf) | Target::Other("start_capacitor")
                    )
                })
            })
        };
        let mut values = 0;
        let mut way = row[head.at].gap;
        for at in (0..head.at).rev() {
            if capacitance(&row[at]) {
                return true;
            }
            // Past its own value and the capacitance, but not past another label.
            match &row[at].kind {
                Kind::Value(None) => values += 1,
                Kind::Value(Some(_)) | Kind::Label(_) => return false,
            }
            way += row[at].gap;
            if values > 2 || way > 12.0 {
                return false;
            }
        }
        false
    }

    /// Whether a label has its value in another label: it is only the unit behind a value whose label says the same,
    /// `CAPACITOR 5 MFD`.
    fn is_spent(&self, head: &Head<'_>) -> bool {
        let row = &self.rows[head.row];
        // `TYPE PSC`: the kind of the motor is a word of its own.
        let next = self.label_behind(head.row, head.at, WORD_GAP);
        let kind = next.is_some_and(|label| label.targets.contains(&Target::Mark("type")));
        if kind && head.label.targets.contains(&Target::Other("type")) {
            return true;
        }
        let values = row[..head.at].iter().rev().take(WORDS - 1);
        let count = values
            .take_while(|i| matches!(i.kind, Kind::Value(None)))
            .count();
        let (value, Some(label)) = (head.at - count, (head.at - count).checked_sub(1)) else {
            return false;
        };
        let announced = match &row[label].kind {
            // `50 Hz 60 Hz`: the first one is the unit of another value.
            Kind::Label(before) if count > 0 && before.text != head.label.text => &before.targets,
            _ => return false,
        };
        let words: Vec<&str> = row[value..head.at]
            .iter()
            .map(|i| i.text.as_str())
            .collect();
        let words = words.join(" ");
        // `MAX FAN SPEED 1050 RPM`, `START CAP 400-480 MFD`
        let other = |t: &Target| match t {
            Target::Field(Field::Rpm) => announced.contains(&Target::Other("other_speed")),
            Target::Field(Field::CapacitorUf) => {
                announced.contains(&Target::Other("start_capacitor"))
            }
            _ => false,
        };
        let says = |t: &&Target| match announced.contains(t) {
            true => values::accepts(**t, &words),
            false => other(t),
        };
        head.label.unit && head.item.gap < WORD_GAP && head.label.targets.iter().any(|t| says(&t))
    }

    /// The runs of pieces that may be a label's value: pieces, relation, whether a list, cost of the way.
    fn runs(&self, head: &Head<'_>) -> Vec<(Vec<usize>, Relation, bool, f32)> {
        let mut runs = Vec::new();
        if let Some(own) = head.within {
            for run in self.leftwards(own, false) {
                let cost = 0.05 * (run.len() - 1) as f32;
                runs.push((run, Relation::Within, false, cost));
            }
            return runs;
        }
        if self.is_spent(head) {
            return runs;
        }
        self.rightwards(head, &mut runs);
        let before = head.at.checked_sub(1);
        let before = before.and_then(|at| self.index.get(&(head.row, at)));
        let (farthest, dear) = match self.labels_behind {
            true => (LISTED, 0.05),
            false => (2.5, 0.3),
        };
        if (head.label.unit || self.labels_behind)
            && let Some(before) = before
            && head.item.gap < farthest
        {
            for run in self.leftwards(*before, true) {
                let gap = head.item.gap.max(0.0);
                let way = dear * (gap - 0.5).max(0.0) + self.spoken_for(head);
                runs.push((run, Relation::Left, false, way));
            }
        }
        self.vertically(head, Relation::Below, &mut runs);
        self.vertically(head, Relation::Above, &mut runs);
        runs
    }

    /// What it costs to take a word of the trade for the unit of the value before it, where the one behind it is such a
    /// value as well: in `GPM 90 VOLTS 208-230/460` the 90 belongs to the column before.
    fn spoken_for(&self, head: &Head<'_>) -> f32 {
        let written_out = head
            .label
            .text
            .chars()
            .filter(|c| c.is_alphabetic())
            .count()
            > 3;
        let next = self.rows[head.row].get(head.at + 1);
        let own =
            next.is_some_and(|n| matches!(n.kind, Kind::Value(None)) && fits(head.label, &n.text));
        if written_out && own && !self.labels_behind {
            2.0
        } else {
            0.0
        }
    }

    fn rightwards(&self, head: &Head<'_>, runs: &mut Vec<(Vec<usize>, Relation, bool, f32)>) {
        let row = &self.rows[head.row];
        if let Some(piece) = self.in_turn(head) {
            runs.push((vec![piece], Relation::Right, false, 1.0));
        }
        let mut pieces = Vec::new();
        let mut columns = false;
        let mut open = true;
        // A mark may stand between: `EFFICIENCY IE3 81.0`.
        let is_mark = |item: &&Item| matches!(&item.kind, Kind::Label(l) if l.targets == [Target::Mark("marks")]);
        let marks = row[head.at + 1..].iter().take_while(is_mark).count();
        for (at, item) in row.iter().enumerate().skip(head.at + 1 + marks).take(WORDS) {
            let Some(&piece) = self.index.get(&(head.row, at)) else {
                break;
            };
            let limit = if pieces.is_empty() { FAR } else { LISTED };
            if item.gap > limit {
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
            let way = way + if self.labels_behind { 1.5 } else { 0.0 };
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

    /// Runs that end at a piece, without gaps; behind a unit also what stands a little apart.
    fn leftwards(&self, last: usize, _unit: bool) -> Vec<Vec<usize>> {
        let (row, end) = (self.pieces[last].row, self.pieces[last].at);
        let mut run = vec![last];
        let mut runs = vec![run.clone()];
        for at in (0..end).rev().take(2) {
            let close = self.rows[row][at + 1].gap < 1.0;
            match self.index.get(&(row, at)) {
                Some(&piece) if close => {
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
        let mut near: Vec<(usize, f32)> = (0..self.pieces.len())
            .filter(|&p| self.pieces[p].row != head.row)
            .filter_map(|p| {
                let other = &self.pieces[p].item.place;
                let deep = Self::depth(place, other, relation);
                let piece_part = || parts::part(self.sheet, self.pieces[p].item.span);
                let aligned = match part.and_then(|own| Some((own, piece_part()?))) {
                    Some(((labels, at), (values, of))) => {
                        let (labels, values) = (self.sheet.place(labels), self.sheet.place(values));
                        at == of && labels.column_overlap(&values) > 0.25
                    }
                    None => {
                        place.column_overlap(other) > 0.25
                            || (other.left - place.left).abs() < 0.7 * place.height
                            || relation == Relation::Below && self.in_cell(head, p)
                    }
                };
                (aligned && (-0.45..DEEP).contains(&deep)).then_some((p, deep))
            })
            .collect();
        near.sort_by(|a, b| a.1.total_cmp(&b.1));
        for &(p, deep) in near.iter().take(3) {
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
                        let own =
                            place.column_overlap(&other.place) >= 0.1 || self.in_cell(head, p);
                        match (own || follows, own || !self.announced(head, &other.place)) {
                            (true, true) => 0.0,
                            (false, true) => 2.0,
                            (_, false) => 3.5,
                        }
                    })
                    .sum();
                let way =
                    0.5 * deep.max(0.0) + Self::aside(place, &filled) + blocked + shift + astray;
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
                for run in self.stack(head, p) {
                    let way = 0.5 * deep.max(0.0) + blocked + 0.3;
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

    /// What it costs that a value does not stand straight below or above its label.
    fn aside(label: &Place, value: &Place) -> f32 {
        let apart = (value.left - label.right)
            .max(label.left - value.right)
            .max(0.0);
        let overlap = label.column_overlap(value);
        0.5 * (1.0 - overlap) + 0.15 * apart / label.height
    }

    /// The piece right behind one, where no label stands between.
    pub fn after(&self, piece: usize) -> Option<usize> {
        let piece = &self.pieces[piece];
        self.index.get(&(piece.row, piece.at + 1)).copied()
    }

    /// Whether right behind a piece stands the unit of something else than `target`: `118 kg` behind an ambient.
    pub fn has_unit_of_another(&self, piece: usize, target: Target) -> bool {
        let Piece { row, at, .. } = &self.pieces[piece];
        let next = self.label_behind(*row, *at, WORD_GAP);
        next.is_some_and(|label| label.unit && !label.targets.contains(&target))
    }

    /// Whether a word that is no label follows a piece closely, as the unit of something that no motor has: `2340 CFM`.
    pub fn has_unknown_unit(&self, piece: usize) -> bool {
        let Piece { row, at, .. } = &self.pieces[piece];
        let next = self.rows[*row]
            .get(at + 1)
            .filter(|next| next.gap < WORD_GAP);
        next.is_some_and(|next| {
            matches!(next.kind, Kind::Value(None)) && next.text.chars().all(char::is_alphabetic)
        })
    }

    /// The label right behind an item of a row, no farther from it than `gap` heights of text.
    fn label_behind(&self, row: usize, at: usize, gap: f32) -> Option<&Label> {
        let next = self.rows[row].get(at + 1).filter(|next| next.gap < gap)?;
        match &next.kind {
            Kind::Label(label) => Some(label),
            Kind::Value(_) => None,
        }
    }

    /// Whether a piece says how many speeds a motor has: `3SPD`, `4 SPEED`.
    pub fn counts_speeds(&self, piece: usize) -> bool {
        let Piece { item, row, at } = &self.pieces[piece];
        let next = self.rows[*row].get(at + 1).map_or("", |next| &next.text);
        let one = |text: &str| {
            let text = text.to_uppercase();
            let rest = text.strip_prefix(|c: char| ('2'..='6').contains(&c));
            rest.map(|rest| rest.trim_matches(['.', ',', '-', ' ']).to_owned())
        };
        let speeds = |word: &str| ["SPD", "SPDS", "SP", "SPEED", "SPEEDS"].contains(&word);
        one(&item.text).is_some_and(|rest| {
            speeds(&rest) || rest.is_empty() && speeds(next.to_uppercase().trim_end_matches('.'))
        })
    }

    /// The piece right before one, as close as a part of the same word.
    pub fn before(&self, piece: usize) -> Option<usize> {
        let piece = &self.pieces[piece];
        let at = piece.at.checked_sub(1).filter(|_| piece.item.gap < BLANK)?;
        self.index.get(&(piece.row, at)).copied()
    }

    /// Pieces with figures that stand right below one, in the same print.
    pub fn right_below(&self, piece: usize) -> impl Iterator<Item = usize> {
        let place = self.pieces[piece].item.place;
        (0..self.pieces.len()).filter(move |&p| {
            let item = self.pieces[p].item;
            let deep = (item.place.top() - place.bottom()) / place.height;
            let alike = (0.75..1.33).contains(&(item.place.height / place.height));
            let figures = item.text.chars().next().is_some_and(|c| c.is_ascii_digit());
            figures
                && alike
                && (-0.3..0.45).contains(&deep)
                && place.column_overlap(&item.place) > 0.7
        })
    }

    /// The room right of a label, in heights of text; endless where nothing stands there.
    pub fn room(&self, head: &Head<'_>) -> f32 {
        let next = self.rows[head.row].get(head.at + 1);
        next.map_or(f32::INFINITY, |item| item.gap)
    }

    /// The place that a run fills.
    pub fn fill(&self, run: &[usize]) -> Place {
        let first = self.pieces[run[0]].item.place;
        run.iter()
            .fold(first, |all, &p| all.join(&self.pieces[p].item.place))
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

    /// Values one below the other under a label: two, three or four, each with all words of its cell.
    fn stack(&self, head: &Head<'_>, top: usize) -> Vec<Vec<usize>> {
        let mut cells = vec![self.cell(top)];
        let mut runs = Vec::new();
        while cells.len() < 4 {
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
                });
            let next = next.min_by(|&a, &b| {
                self.pieces[a]
                    .item
                    .place
                    .y
                    .total_cmp(&self.pieces[b].item.place.y)
            });
            let Some(next) = next else { break };
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

    /// A piece with the other parts of its number: `1` and `1/2` of `1 1/2`, `22.` and `1` of a number spaced widely.
    fn cell(&self, piece: usize) -> Vec<usize> {
        let Piece { row, at, .. } = &self.pieces[piece];
        let items = &self.rows[*row];
        let joins = |at: usize| {
            let (before, after) = (&items[at - 1], &items[at]);
            let whole = before.text.len() <= 3 && before.text.chars().all(|c| c.is_ascii_digit());
            let open = before.text.ends_with(['.', '/']) || after.text.starts_with(['.', '/']);
            let one_line = before.span.line == after.span.line;
            let close = one_line && after.gap < COLUMN_GAP;
            // `400 Δ / 690 Y`: voltages with the connections that they are for.
            let connection =
                |item: &Item| matches!(item.text.as_str(), "Y" | "Δ" | "∆" | "△" | "D" | "V" | "/");
            let connected =
                one_line && after.gap < WORD_GAP && (connection(before) || connection(after));
            connected || close && (open || whole && parts::is_fraction(&after.text))
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
