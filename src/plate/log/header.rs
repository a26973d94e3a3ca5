//! Header lines of logs: labels side by side, each the name of a column.

use crate::plate::labels::{EXACT, gap};
use crate::plate::lexicon::{Entry, Target, key, lexicon};
use crate::plate::sheet::{Place, Sheet, Span};
use crate::record::Field;

/// Words of one header stand no farther apart than this, in heights of text.
const WORDS: f32 = 0.9;
/// A log has at least so many columns, and so many of them are fields of plates.
const COLUMNS: usize = 4;
const FIELDS: usize = 3;
/// How sure a header is that is spelled with one wrong character.
const NEARLY: f64 = 0.96;

/// Headers that are no labels of plates, or that mean something else there: the number of a line, a motor's place.
const NO_FIELD: &[&str] = &[
    "NO",
    "NR",
    "#",
    "ITEM",
    "LINE",
    "ORDER",
    "DATE",
    "UNIT",
    "TAG",
    "EQUIPMENT",
    "EQUIP",
    "LOCATION",
    "LOC",
    "AREA",
    "ROOM",
    "PLACE",
    "REMARKS",
    "REMARK",
    "NOTES",
    "NOTE",
    "COMMENTS",
    "MAKE",
    "MAKER",
    "MFR",
    "MFG",
    "MANUFACTURER",
    "TYPE",
    "QTY",
    "BELT",
    "BELTS",
    "PULLEY",
    "BEARING",
    "BEARINGS",
    "LUBE",
    "SERVICE",
    "SERVES",
    "NAME",
    "DESCRIPTION",
];

/// Headers of logs that no plate prints as a label.
const MORE: &[(&str, Field)] = &[("POWER HP", Field::Hp)];

/// A column as its header names it.
#[derive(Debug, Clone)]
pub(super) struct Column {
    /// The header as read.
    pub text: String,
    /// The field, and how its values are written; `None` where it is no field of a plate.
    pub field: Option<Field>,
    pub target: Option<Target>,
    /// How sure the header is.
    pub certainty: f64,
    pub place: Place,
}

/// The columns of a table from left to right.
#[derive(Debug, Clone)]
pub(super) struct Header {
    pub columns: Vec<Column>,
}

impl Header {
    /// Whether a column differs from motor to motor, so that each row is a motor and not a rating of one.
    pub fn tells_motors_apart(&self) -> bool {
        self.columns.iter().any(|column| match column.field {
            Some(Field::Frame | Field::Model | Field::Serial) => true,
            Some(_) => false,
            None => true,
        })
    }
}

/// The header in a line of words; `None` where the line is none.
pub(super) fn find(sheet: &Sheet<'_>, line: &[Span]) -> Option<Header> {
    let mut columns: Vec<Column> = Vec::new();
    for group in groups(sheet, line) {
        columns.extend(name(sheet, &group));
    }
    // A second column of one field is not known to be it.
    for at in 1..columns.len() {
        let field = columns[at].field;
        if field.is_some() && columns[..at].iter().any(|c| c.field == field) {
            (columns[at].field, columns[at].target) = (None, None);
        }
    }
    let fields = columns.iter().filter(|c| c.field.is_some()).count();
    let values = columns.iter().filter(|c| is_value(&c.text)).count();
    (columns.len() >= COLUMNS && fields >= FIELDS && 2 * fields >= columns.len() && values == 0)
        .then_some(Header { columns })
}

/// Whether a text holds a figure: headers have none.
fn is_value(text: &str) -> bool {
    text.chars().filter(char::is_ascii_digit).count() >= 2
}

/// Words that stand close together.
fn groups(sheet: &Sheet<'_>, line: &[Span]) -> Vec<Vec<Span>> {
    let mut groups: Vec<Vec<Span>> = Vec::new();
    for &word in line {
        let near = groups
            .last()
            .and_then(|g| g.last())
            .is_some_and(|&before| gap(&sheet.place(before), &sheet.place(word)) < WORDS);
        match groups.last_mut() {
            Some(group) if near => group.push(word),
            _ => groups.push(vec![word]),
        }
    }
    groups
}

/// The columns that a group of words names: one, unless several labels stand close together.
fn name(sheet: &Sheet<'_>, group: &[Span]) -> Vec<Column> {
    // Where each label begins and ends in the group.
    let mut labels: Vec<(usize, usize, Target, f64)> = Vec::new();
    let mut at = 0;
    while at < group.len() {
        let longest = (at + 1..=group.len())
            .rev()
            .find_map(|end| Some((end, label(&text(sheet, &group[at..end]))?)));
        match longest {
            Some((end, (target, certainty))) => {
                labels.push((at, end, target, certainty));
                at = end;
            }
            None => at += 1,
        }
    }
    // `SPEED RPM` is one header.
    labels.dedup_by(|b, a| {
        let same = field(a.2) == field(b.2);
        if same {
            a.1 = b.1;
        }
        same
    });
    if labels.len() < 2 {
        let found = labels
            .first()
            .map(|&(_, _, target, certainty)| (target, certainty));
        return vec![column(sheet, group, found)];
    }
    let mut columns = Vec::new();
    for (i, &(from, _, target, certainty)) in labels.iter().enumerate() {
        let from = if i == 0 { 0 } else { from };
        let to = labels.get(i + 1).map_or(group.len(), |next| next.0);
        columns.push(column(sheet, &group[from..to], Some((target, certainty))));
    }
    columns
}

fn column(sheet: &Sheet<'_>, words: &[Span], found: Option<(Target, f64)>) -> Column {
    let places: Vec<Place> = words.iter().map(|&w| sheet.place(w)).collect();
    let place = places[1..].iter().fold(places[0], |whole, p| whole.join(p));
    let known = found.and_then(|(target, certainty)| Some((field(target)?, target, certainty)));
    Column {
        text: text(sheet, words),
        field: known.map(|k| k.0),
        target: known.map(|k| k.1),
        certainty: known.map_or(1.0, |k| k.2),
        place,
    }
}

fn text(sheet: &Sheet<'_>, words: &[Span]) -> String {
    let words: Vec<String> = words.iter().map(|&w| sheet.text(w)).collect();
    words.join(" ")
}

fn field(target: Target) -> Option<Field> {
    match target {
        Target::Field(field) => Some(field),
        Target::Watts => Some(Field::Kw),
        Target::MetricHp => Some(Field::Hp),
        Target::MaxAmps => Some(Field::Amps),
        Target::MaxRpm => Some(Field::Rpm),
        Target::Other(_) | Target::Mark(_) => None,
    }
}

/// What a header announces, and how sure that is; `None` where it is no label.
fn label(text: &str) -> Option<(Target, f64)> {
    let wanted = key(text);
    if wanted.is_empty() || NO_FIELD.iter().any(|n| key(n) == wanted) {
        return None;
    }
    if let Some(&(_, field)) = MORE.iter().find(|m| key(m.0) == wanted) {
        return Some((Target::Field(field), EXACT));
    }
    let lexicon = lexicon();
    let targets = |found: &[&Entry]| -> Option<Target> {
        let targets = || found.iter().map(|entry| entry.target);
        // A motor has volts more often than its capacitor has.
        targets()
            .find(|t| field(*t).is_some_and(|f| f != Field::CapacitorVolts))
            .or_else(|| targets().find(|t| field(*t).is_some()))
    };
    let found = lexicon.get(&wanted);
    if !found.is_empty() {
        return targets(&found).map(|target| (target, EXACT));
    }
    if wanted.len() < 4 {
        return None;
    }
    let read: String = wanted.iter().collect();
    let near = lexicon.entries.iter().filter(|entry| {
        let spelled: String = entry.key.iter().collect();
        entry.key.len() >= 4 && strsim::damerau_levenshtein(&read, &spelled) == 1
    });
    let near: Vec<&Entry> = near.collect();
    let mut fields: Vec<_> = near
        .iter()
        .filter_map(|entry| field(entry.target))
        .collect();
    fields.sort_unstable();
    fields.dedup();
    // Near to two labels is near to none.
    if fields.len() != 1 {
        return None;
    }
    targets(&near).map(|target| (target, NEARLY))
}
