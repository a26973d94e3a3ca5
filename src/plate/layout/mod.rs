//! Which place may be the value of which label: right of it, below it, above it, in front of a unit, in the
//! same word. Every possibility has a cost in nats: for the way between the two, for the value's form, and
//! for how sure the label is. Which of them come true is decided in `assign`.

mod context;
mod ways;
mod whole;

use super::labels::{EXACT, Item, Kind, Label};
use super::lexicon::Target;
use super::parts;
use super::sheet::{Cell, Place, Sheet, Span};
use super::values::{self, Fit};
use crate::record::Field;
use crate::text::Lattice;
use std::collections::{HashMap, HashSet};

/// Words up to this gap, in heights of text, may be one value.
const WORD_GAP: f32 = 1.6;
/// From this gap on, words may be separate columns.
pub(super) const COLUMN_GAP: f32 = 0.9;
/// A blank in a number of the maker's is hardly wider than this.
pub(super) const BLANK: f32 = 0.7;
/// At most so many words make a value.
const WORDS: usize = 6;
/// What stands farther apart than this is no list.
pub(super) const LISTED: f32 = 14.0;
/// What it costs, in nats, that a number of the maker's stands in a sentence above or below its label.
const SAID: f64 = 2.5;
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
    /// Whether a rule runs between the label and the value.
    pub ruled_off: bool,
}

/// All labels and words of a plate, by row.
pub(super) struct Layout<'a> {
    pub sheet: &'a Sheet<'a>,
    pub rows: &'a [Vec<Item>],
    pub pieces: Vec<Piece<'a>>,
    pub heads: Vec<Head<'a>>,
    /// Index among the pieces of an item of a row.
    index: HashMap<(usize, usize), usize>,
    /// Whether the plate prints its labels, not only its units, behind their values; for each row.
    labels_behind: Vec<bool>,
    /// The lines that are sentences, by their index.
    sentences: HashSet<usize>,
    /// The ruled cell of each item of each row.
    cells: Vec<Vec<Option<Cell>>>,
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

/// Whether a value stands beside a label: it is more than a mark.
pub(super) fn takes_value(label: &Label) -> bool {
    let mut targets = label.targets.iter();
    targets.any(|target| !matches!(target, Target::Mark(_)))
}

/// Whether an item is a label beside which a value stands.
pub(super) fn announces(item: &Item) -> bool {
    matches!(&item.kind, Kind::Label(label) if takes_value(label))
}

/// Whether a row is values with their labels close behind each, `DW-1570-2 MODEL  51877 SERIAL`.
fn labels_close_behind(row: &[Item]) -> bool {
    /// So many times as far as from a value to its label it is to the next value, at least.
    const FARTHER: f32 = 1.35;
    let labels: Vec<usize> = (0..row.len()).filter(|&at| announces(&row[at])).collect();
    let close = |&at: &usize| {
        let next = row.get(at + 1).map_or(f32::INFINITY, |next| next.gap);
        at > 0 && !announces(&row[at - 1]) && next > FARTHER * row[at].gap.max(0.25)
    };
    labels.len() >= 2 && labels.last() == Some(&(row.len() - 1)) && labels.iter().all(close)
}

/// Whether rows begin with values and end with labels: `88-140327 S/N`, `F I.CL. S1 DUTY`.
fn labels_behind(rows: &[Vec<Item>]) -> bool {
    const AT_LEAST: usize = 3;
    let ends = |row: &Vec<Item>| Some((announces(row.first()?), announces(row.last()?)));
    let of_form = |form| rows.iter().filter(move |row| ends(row) == Some(form));
    let (behind, before) = (of_form((false, true)), of_form((true, false)).count());
    // Every plate prints units behind its values, `115 V`, `1075 RPM`.
    let unit = |item: &Item| {
        let letters = item.text.chars().filter(|c| c.is_alphabetic()).count();
        let short = letters <= 3 || item.text.contains('/');
        short && matches!(&item.kind, Kind::Label(label) if label.unit)
    };
    let labels = of_form((false, true)).any(|row| row.last().is_some_and(|last| !unit(last)));
    let behind = behind.count();
    labels && behind >= AT_LEAST && behind > 2 * before
}

/// Whether characters are a usual value of what a label announces.
fn fits(label: &Label, text: &str) -> bool {
    let mut targets = label.targets.iter();
    targets.any(|&target| values::is_usual(target, text))
}

/// The letters before the figures of a degree of protection (IEC 60034-5, IEC 62262) or a way of cooling (IEC 60034-6).
fn is_protection(text: &str) -> bool {
    ["IP", "IK", "IC"]
        .iter()
        .any(|code| text.eq_ignore_ascii_case(code))
}

impl<'a> Layout<'a> {
    pub fn new(sheet: &'a Sheet<'a>, rows: &'a [Vec<Item>]) -> Layout<'a> {
        let mut layout = Layout {
            sheet,
            rows,
            pieces: Vec::new(),
            heads: Vec::new(),
            index: HashMap::new(),
            labels_behind: {
                let plate = labels_behind(rows);
                let behind = |row: &Vec<Item>| plate || labels_close_behind(row);
                rows.iter().map(behind).collect()
            },
            sentences: context::sentences(sheet, rows),
            cells: {
                let cells = |row: &Vec<Item>| row.iter().map(|i| sheet.cell(&i.place)).collect();
                rows.iter().map(cells).collect()
            },
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
                // `BRN = CAPACITOR`: what a lead is for.
                let before = Span {
                    from: 0,
                    to: item.span.from,
                    ..item.span
                };
                let lead = within.is_none() && sheet.text(before).trim_end().ends_with('=');
                if let Some(label) = label.filter(|l| takes_value(l) && !lead) {
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
        // A cell with several labels, as where the rules between them are worn, says nothing of any.
        let shared: Vec<(usize, usize)> = layout.shared_cells().collect();
        for (row, at) in shared {
            layout.cells[row][at] = None;
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
                    let text = |p: &usize| self.pieces[*p].item.text.as_str();
                    // A row of voltages is no part of a list of anything else: `3,0` and `220/380/440` below CV.
                    let system = |p: &usize| values::is_system_voltage(text(p));
                    if *several
                        && target != Target::Field(Field::Volts)
                        && pieces.iter().any(system)
                    {
                        continue;
                    }
                    // `CCW: T5-L1, T8-L2` tells how to connect it, and that it may turn either way.
                    let rotation = target == Target::Field(Field::Rotation);
                    let connected = |last: &usize| parts::is_connected(text(last));
                    if rotation && (self.connects(head) || pieces.last().is_some_and(connected)) {
                        continue;
                    }
                    // `80 °C RISE AT 1.0 SF`: for that service factor something else is said.
                    // `CC 117A`: the number of a certificate of compliance (10 CFR 431).
                    let before = self.words_before(pieces[0], 1).next().unwrap_or_default();
                    let is = |word: &&str| before.eq_ignore_ascii_case(word);
                    let condition =
                        target == Target::Field(Field::ServiceFactor) && ["@", "AT"].iter().any(is);
                    if condition || target == Target::Field(Field::Amps) && is(&"CC") {
                        continue;
                    }
                    // `OIL BOTH BEARINGS`
                    let both = pieces
                        .last()
                        .filter(|p| text(p).eq_ignore_ascii_case("BOTH"));
                    if rotation && both.is_some_and(|&both| self.goes_on_in_words(both)) {
                        continue;
                    }
                    // `DISCHARGE CAPACITORS 5 MINUTES BEFORE`
                    let numeric = matches!(target, Target::Field(field) if !field.is_text());
                    // `MOTOR HP  4 SPEED`, but `HP 3  SPEED 1750`
                    let speeds = |last: usize| {
                        let alone =
                            || !self.announces_speed(last) && target != Target::Field(Field::Rpm);
                        self.counts_speeds(last) && (pieces.len() > 1 || alone())
                    };
                    let else_counted = |&last: &usize| self.is_time(last) || speeds(last);
                    if numeric && pieces.last().is_some_and(else_counted) {
                        continue;
                    }
                    // A number of the maker's, and a frame, end where a value begins that needs no label: `56 DP`.
                    let ends = |p: &usize| {
                        let text = &self.pieces[*p].item.text;
                        let next = self.after(*p).map(|next| &self.pieces[next].item.text);
                        // `DRIP PROOF`
                        let two =
                            |next: &String| super::alone::is_spelled(&format!("{text} {next}"));
                        super::alone::is_spelled(text)
                            || next.is_some_and(two)
                            || is_protection(text)
                            || ["TP", "T.P."].iter().any(|t| text.eq_ignore_ascii_case(t))
                            || text.ends_with(':')
                            || text.contains('/') && super::usual::is_mounting(text)
                            || parts::is_terminal(text)
                    };
                    // And none begins with one: `TYPE` has no TEFC below it.
                    let said = |p: &usize| {
                        let text = &self.pieces[*p].item.text;
                        parts::is_terminal(text)
                            || parts::are_leads(text)
                            || is_protection(text)
                            || pieces.len() == 1 && super::alone::is_spelled(text)
                    };
                    let free = values::is_free(target);
                    if free && pieces.first().is_some_and(said)
                        || (free || target == Target::Field(Field::Frame))
                            && pieces.iter().skip(1).any(ends)
                    {
                        continue;
                    }
                    let number = values::is_makers_number(target);
                    if number && parts::is_left_by_number(pieces.iter().map(text)) {
                        continue;
                    }
                    // Behind a word that is a label now and then: `USE SAME PART ONLY`.
                    let figures = |p: &usize| {
                        let text = &self.pieces[*p].item.text;
                        text.contains(|c: char| c.is_ascii_digit())
                    };
                    if number && !head.label.strong && !pieces.iter().any(figures) {
                        continue;
                    }
                    let fit = fits
                        .entry((pieces.clone(), *several, target))
                        .or_insert_with(|| {
                            let lattice = self.lattice(pieces, *several, target);
                            values::read(target, &lattice, LEAST_MASS)
                        });
                    let Some(fit) = fit else {
                        continue;
                    };
                    let form = -(fit.mass * fit.usual).max(1e-9).ln();
                    let other = self.of_another(head, target, pieces);
                    // `OUTPUT 16 W`: the unit says so, too.
                    let last = pieces.last().map(|&p| &self.pieces[p]);
                    let unit = last.and_then(|last| self.unit_behind(last, COLUMN_GAP));
                    let said = *relation == Relation::Right
                        && unit.is_some_and(|unit| unit.targets.contains(&target));
                    let certainty = if said { EXACT } else { head.label.certainty };
                    let sure = -certainty.max(1e-3).ln();
                    let apart = if free { self.parted(pieces) } else { 0.0 };
                    let apart = apart + self.ruled(pieces, *several);
                    // A label stands in one line with its value, if that is a sentence.
                    let own_line = !matches!(relation, Relation::Below | Relation::Above);
                    let sentence = number
                        && !own_line
                        && self.is_sentence(self.pieces[pieces[0]].item.span.line);
                    let apart = apart + if sentence { SAID } else { 0.0 };
                    edges.push(Edge {
                        head: index,
                        target,
                        pieces: pieces.clone(),
                        relation: *relation,
                        fit: fit.clone(),
                        cost: f64::from(*way) + (form + other) + sure + unlikely + apart,
                        several: *several,
                        ruled_off: head.within.is_none()
                            && self
                                .sheet
                                .ruled_off(&head.item.place, &self.fill(&pieces[..1])),
                    });
                }
            }
        }
        self.prefer_whole(&mut edges);
        edges
    }

    /// Whether a rule runs between two pieces.
    pub fn ruled_off(&self, one: usize, other: usize) -> bool {
        let place = |piece: usize| &self.pieces[piece].item.place;
        self.sheet.ruled_off(place(one), place(other))
    }

    /// What it costs, in nats, that rules run between the parts of one value.
    fn ruled(&self, pieces: &[usize], several: bool) -> f64 {
        const RULED: f64 = 3.0;
        let parted = |w: &[usize]| self.ruled_off(w[0], w[1]);
        if !several && pieces.windows(2).any(parted) {
            RULED
        } else {
            0.0
        }
    }

    /// Whether a label ROTATION stands behind a direction and begins how the motor is connected to turn that way.
    fn connects(&self, head: &Head<'_>) -> bool {
        let row = &self.rows[head.row];
        let rotation = Target::Field(Field::Rotation);
        let before = head.at.checked_sub(1).map(|at| &row[at].text);
        let behind = row[head.at..].iter().map(|item| item.text.as_str());
        before.is_some_and(|text| values::is_usual(rotation, text))
            && parts::is_way_to_connect(behind)
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
                before.row == piece.row
                    && before.at + 1 == piece.at
                    && (piece.item.gap < COLUMN_GAP || self.is_mixed(piece.row, piece.at))
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

    /// The piece right behind one, where no label stands between.
    pub fn after(&self, piece: usize) -> Option<usize> {
        let piece = &self.pieces[piece];
        self.index.get(&(piece.row, piece.at + 1)).copied()
    }

    /// The label right behind a piece.
    pub fn label_after(&self, piece: usize) -> Option<&Label> {
        let Piece { row, at, .. } = &self.pieces[piece];
        self.label_behind(*row, *at, WORD_GAP)
    }

    /// Whether right behind a piece stands the unit of something else than `target`: `118 kg` behind an ambient.
    pub fn has_unit_of_another(&self, piece: usize, target: Target) -> bool {
        let next = self.label_after(piece);
        next.is_some_and(|label| label.unit && !label.targets.contains(&target))
    }

    /// Whether a unit of time stands right behind a piece.
    fn is_time(&self, piece: usize) -> bool {
        const UNITS: &[&str] = &[
            "MINUTE", "MINUTES", "MINS", "SECONDS", "SEC", "DAYS", "MONTHS", "YEARS",
        ];
        let Piece { row, at, .. } = &self.pieces[piece];
        let next = self.rows[*row]
            .get(at + 1)
            .filter(|next| next.gap < WORD_GAP);
        next.is_some_and(|next| {
            let word = next.text.to_uppercase();
            let word = word.trim_end_matches(['.', ',']);
            UNITS.contains(&word) || word == "MIN" && self.pieces[piece].item.text.len() <= 2
        })
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

    /// Whether a word follows a piece closely, be it a label or not.
    fn goes_on_in_words(&self, piece: usize) -> bool {
        let Piece { row, at, .. } = &self.pieces[piece];
        let next = self.rows[*row].get(at + 1);
        next.is_some_and(|next| {
            let word = next.text.trim_end_matches(['.', ',']);
            next.gap < COLUMN_GAP && word.len() > 2 && word.chars().all(char::is_alphabetic)
        })
    }

    /// The labels in whose ruled cells other labels stand.
    fn shared_cells(&self) -> impl Iterator<Item = (usize, usize)> {
        let shared = move |head: &&Head<'_>| {
            let others = self.heads.iter();
            // A unit that is written into a value is no label of the cell.
            let mut others =
                others.filter(|o| o.within.is_none() && (o.row, o.at) != (head.row, head.at));
            let cell = self.cells[head.row][head.at];
            cell.is_some_and(|cell| others.any(|other| cell.holds(&other.item.place)))
        };
        let heads = self.heads.iter().filter(shared);
        heads.map(|head| (head.row, head.at))
    }

    /// Whether a label and a piece stand in one ruled cell.
    fn in_one_cell(&self, head: &Head<'_>, piece: usize) -> bool {
        let piece = &self.pieces[piece];
        let cells = (
            self.cells[head.row][head.at],
            self.cells[piece.row][piece.at],
        );
        let within = 0.7 * head.item.place.height.max(piece.item.place.height);
        matches!(cells, (Some(own), Some(other)) if own.is(&other, within))
    }

    /// The label right behind an item of a row, no farther from it than `gap` heights of text.
    fn label_behind(&self, row: usize, at: usize, gap: f32) -> Option<&Label> {
        let own = &self.rows[row].get(at)?.place;
        let near = |next: &&Item| next.gap < gap && !self.sheet.ruled_off(own, &next.place);
        let next = self.rows[row].get(at + 1).filter(near)?;
        match &next.kind {
            Kind::Label(label) => Some(label),
            Kind::Value(_) => None,
        }
    }

    /// The unit right behind a piece, as `label_behind`; a label with a value of its own is no unit.
    fn unit_behind(&self, piece: &Piece<'_>, gap: f32) -> Option<&Label> {
        let own = |label: &Label| {
            let value = self.rows[piece.row].get(piece.at + 2);
            // `INS F RISE B`
            let rise = Target::Other("temperature_rise_c");
            value.is_some_and(|value| {
                fits(label, &value.text)
                    || label.targets.contains(&rise) && values::accepts(rise, &value.text)
            })
        };
        let label = self.label_behind(piece.row, piece.at, gap)?;
        (label.unit && !own(label)).then_some(label)
    }

    /// Whether a line is a sentence and no list of ratings.
    pub fn is_sentence(&self, line: usize) -> bool {
        self.sentences.contains(&line)
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

    /// Whether behind the word that follows a piece a speed stands.
    fn announces_speed(&self, piece: usize) -> bool {
        let Piece { row, at, .. } = &self.pieces[piece];
        let value = self.rows[*row].get(at + 2);
        value.is_some_and(|item| {
            item.text.len() >= 3 && item.text.starts_with(|c: char| c.is_ascii_digit())
        })
    }

    /// The piece at a place of a row, where no label stands there.
    pub fn piece_at(&self, row: usize, at: usize) -> Option<usize> {
        self.index.get(&(row, at)).copied()
    }

    /// The words before a piece, up to so many, the nearest first.
    pub fn words_before(&self, piece: usize, most: usize) -> impl Iterator<Item = &str> {
        let Piece { row, at, .. } = self.pieces[piece];
        let before = self.rows[row][..at].iter().rev().take(most);
        before.map(|item| item.text.as_str())
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
            let alike = item.place.is_in_print_of(&place);
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
}
