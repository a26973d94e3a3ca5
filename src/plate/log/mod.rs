//! Log pages: a table with a motor a row. Its columns are known by their headers, which are the labels of plates;
//! each row becomes a plate of its own.
//!
//! A nameplate may hold a table too, of the ratings of its one motor. A log is told from it by columns that differ
//! from motor to motor (frame, model, serial number, or one that no plate has: unit, place, remarks) in several rows,
//! one below the other, without labels between them.

mod columns;
mod header;
#[cfg(test)]
mod tests;

use super::lexicon::Target;
use super::reading::{Candidate, FieldReading, Open, Plate, Word};
use super::sheet::{Sheet, Span};
use super::values;
use crate::photo::{Point, Quad};
use crate::record::Field;
use crate::text::{Lattice, Page};
use columns::{Cell, Columns};
use header::Header;
use std::collections::BTreeMap;

/// A log page.
#[derive(Debug, Clone, PartialEq)]
pub struct Log {
    /// Its rows from the top down.
    pub rows: Vec<LogRow>,
}

impl Log {
    /// All words of its rows.
    pub fn words(&self) -> impl Iterator<Item = &Word> {
        self.rows.iter().flat_map(|row| &row.plate.words)
    }

    /// The row at a place of the photo.
    pub fn row_at(&self, place: Point) -> Option<&LogRow> {
        self.rows.iter().find(|row| row.quad.contains(place))
    }
}

/// A row of a log page.
#[derive(Debug, Clone, PartialEq)]
pub struct LogRow {
    /// What it says, as a plate.
    pub plate: Plate,
    /// Columns that are no field of a plate: header and text.
    pub other: Vec<(String, String)>,
    /// Where it stands, in pixels of the photo.
    pub quad: Quad,
}

/// So many rows make a log; fewer are enough where the header has many columns.
const ROWS: usize = 3;
const ROWS_BELOW_MANY: usize = 2;
const MANY: usize = 7;
/// Of the cells with a field, at least this share must be values of it.
const FITTING: f32 = 0.6;
/// A cell holds a value of its column however unlikely it reads: a doubtful reading tells more than none.
const LEAST_MASS: f64 = 1e-8;
/// Values no more usual than this are doubtful by their form alone, as on plates.
const UNUSUAL: f64 = 0.05;

/// Reads a page as a log; `None` where it is none.
pub fn parse(page: &Page) -> Option<Log> {
    let sheet = Sheet::new(page);
    let lines = columns::lines(&sheet);
    let heads: Vec<Option<Header>> = lines.iter().map(|l| header::find(&sheet, l)).collect();
    let mut rows = Vec::new();
    let mut is_log = false;
    let mut at = 0;
    while at < lines.len() {
        let Some(header) = &heads[at] else {
            at += 1;
            continue;
        };
        let end = (at + 1..lines.len())
            .find(|&i| heads[i].is_some())
            .unwrap_or(lines.len());
        let table = Table::read(&sheet, header, &lines[at + 1..end]);
        is_log |= table.is_log(header);
        rows.extend(table.rows);
        at = end;
    }
    is_log.then_some(Log { rows })
}

/// The rows below one header.
struct Table {
    rows: Vec<LogRow>,
    /// Cells of columns with a field, and how many of them hold a value of it.
    cells: usize,
    fitting: usize,
}

impl Table {
    fn read(sheet: &Sheet<'_>, header: &Header, lines: &[Vec<Span>]) -> Table {
        let columns = Columns::new(sheet, header, lines);
        let mut table = Table {
            rows: Vec::new(),
            cells: 0,
            fitting: 0,
        };
        for line in lines {
            let cells = columns.cells(sheet, line);
            let (row, filled, fitting) = row(sheet, header, &cells);
            // Text that runs across the page is no row: a title, a note, a signature.
            let flows = 2 * fitting <= filled && columns.flows(sheet, line);
            if filled < 2 || flows {
                continue;
            }
            table.cells += filled;
            table.fitting += fitting;
            table.rows.push(row);
        }
        table
    }

    fn is_log(&self, header: &Header) -> bool {
        let enough = match header.columns.len() {
            n if n >= MANY => ROWS_BELOW_MANY,
            _ => ROWS,
        };
        header.tells_motors_apart()
            && self.rows.len() >= enough
            && self.fitting as f32 >= FITTING * self.cells as f32
    }
}

/// A row; how many of its cells belong to a field, and how many hold a value of it.
fn row(sheet: &Sheet<'_>, header: &Header, cells: &[Cell]) -> (LogRow, usize, usize) {
    let mut plate = Plate {
        words: cells
            .iter()
            .flat_map(|c| &c.words)
            .map(|&w| word(sheet, w))
            .collect(),
        ..Plate::default()
    };
    let mut other = Vec::new();
    let mut filled = 0;
    let mut fields: BTreeMap<Field, FieldReading> = BTreeMap::new();
    for (column, cell) in header.columns.iter().zip(cells) {
        if cell.words.is_empty() {
            continue;
        }
        let quad = cell.quad(sheet);
        let Some((field, target)) = column.field.zip(column.target) else {
            other.push((column.text.clone(), cell.text(sheet)));
            continue;
        };
        filled += 1;
        match reading(sheet, cell, target, column.certainty, &column.text, quad) {
            Some(reading) => {
                fields.insert(field, reading);
            }
            None => {
                plate.unreadable.insert(field, quad);
            }
        }
    }
    let fitting = fields.len();
    plate.fields = fields;
    let quads: Vec<Quad> = plate.words.iter().map(|w| w.quad).collect();
    let row = LogRow {
        quad: Quad::around(&quads).unwrap_or_default(),
        plate,
        other,
    };
    (row, filled, fitting)
}

/// A cell as a value of its column.
fn reading(
    sheet: &Sheet<'_>,
    cell: &Cell,
    target: Target,
    certainty: f64,
    label: &str,
    quad: Quad,
) -> Option<FieldReading> {
    let fit = values::read(target, &cell.lattice(sheet), LEAST_MASS)?;
    let mut doubts = Vec::new();
    if certainty < 0.97 {
        doubts.push(format!(
            "the header of its column was read as {label:?}, which is only nearly a label"
        ));
    }
    if cell.parted {
        doubts.push("it runs into the column beside it".to_owned());
    }
    if fit.usual <= UNUSUAL {
        doubts.push(format!(
            "{:?} is hardly ever printed for this",
            fit.reads[0].printed
        ));
    }
    let open = match target {
        Target::Watts => Some(Open::InputOrShaft),
        Target::MaxAmps => Some(Open::FullLoadOrServiceFactor),
        Target::MaxRpm => Some(Open::RatedOrHighest),
        _ => None,
    };
    let candidates = fit.reads.iter().map(|r| Candidate {
        printed: r.printed.clone(),
        value: r.value.clone(),
        probability: r.probability,
    });
    Some(FieldReading {
        candidates: candidates.collect(),
        association: certainty * if cell.parted { 0.9 } else { 1.0 },
        label: Some(label.to_owned()),
        quad,
        doubts,
        claims: Vec::new(),
        open,
        seconded: None,
    })
}

fn word(sheet: &Sheet<'_>, span: Span) -> Word {
    Word {
        text: sheet.text(span),
        confidence: sheet.confidence(span),
        quad: sheet.quad(span),
        lattice: sheet.lattice(span),
    }
}

/// The lattice of words beside each other, with a blank between them.
fn joined(sheet: &Sheet<'_>, words: &[Span]) -> Lattice {
    let (first, last) = match words {
        [] => return Lattice::default(),
        [first, .., last] => (*first, *last),
        [one] => (*one, *one),
    };
    let same_line = words.iter().all(|w| w.line == first.line);
    if same_line && first.from <= last.to {
        return sheet.lattice(Span {
            to: last.to,
            ..first
        });
    }
    let blank = Lattice::from_text(" ");
    let lattices: Vec<Lattice> = words.iter().map(|&w| sheet.lattice(w)).collect();
    let mut parts: Vec<&Lattice> = Vec::new();
    for (at, lattice) in lattices.iter().enumerate() {
        if at > 0 {
            parts.push(&blank);
        }
        parts.push(lattice);
    }
    Lattice::concat(parts)
}
