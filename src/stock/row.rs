//! From one row of a list to a motor, or to the reason why it cannot be one.

use super::StockMotor;
use super::headers::Column;
use crate::record::{Bearings, Class, Field, Protection, ShaftEnds, Value, notation, pair};
use crate::trade;
use crate::units::{Celsius, Inches, Microfarads, Volts};

/// What a row came to.
pub(super) struct Row {
    pub(super) motor: StockMotor,
    /// Cells of lesser columns that were not understood and count as unknown.
    pub(super) remarks: Vec<String>,
}

/// Cells that say nothing.
fn is_blank(cell: &str) -> bool {
    matches!(
        cell.to_ascii_lowercase().as_str(),
        "" | "-" | "--" | "---" | "?" | "n/a" | "na" | "none" | "null" | "unknown" | "tbd"
    )
}

/// One row's cells beside the columns of the header line.
pub(super) struct Cells<'a> {
    pub(super) line: u64,
    pub(super) headers: &'a [String],
    pub(super) columns: &'a [Option<Column>],
    pub(super) cells: Vec<&'a str>,
}

impl<'a> Cells<'a> {
    /// The cell of a column; `None` when the list has no such column or the cell is empty.
    fn named(&self, column: Column) -> Option<&'a str> {
        let at = self.columns.iter().position(|c| *c == Some(column))?;
        self.cells
            .get(at)
            .map(|c| c.trim())
            .filter(|c| !c.is_empty())
    }

    /// The same, and a word such as `n/a` says nothing either.
    fn get(&self, column: Column) -> Option<&'a str> {
        self.named(column).filter(|c| !is_blank(c))
    }

    /// How many lines of the list a quote that was not closed has drawn into one cell; a remark may have line
    /// breaks, but no rows of cells.
    fn swallowed(&self) -> Option<usize> {
        let least = (self.columns.len() / 2).max(2);
        let is_row = |line: &str| {
            [',', ';', '\t', '|']
                .iter()
                .any(|s| line.matches(*s).count() >= least)
        };
        let rows = |cell: &&str| cell.lines().skip(1).filter(|l| is_row(l)).count();
        self.cells.iter().map(rows).find(|n| *n > 0)
    }

    fn owned(&self, column: Column) -> Option<String> {
        self.get(column).map(str::to_owned)
    }

    /// The numbers of a column in the plate's notation; an error says which cell is wrong.
    fn numbers(&self, column: Column, field: Field) -> Result<Option<Value>, String> {
        let Some(cell) = self.get(column) else {
            return Ok(None);
        };
        match notation::parse(field, cell) {
            Some(value) if value.numbers().iter().copied().all(notation::is_possible) => {
                Ok(Some(value))
            }
            _ => Err(format!(
                "{}: {cell:?} cannot be understood; {}",
                field.key(),
                hint(field, cell)
            )),
        }
    }

    fn number(&self, column: Column, field: Field) -> Result<Option<f64>, String> {
        Ok(self
            .numbers(column, field)?
            .and_then(|v| v.numbers().first().copied()))
    }

    /// A length in inches, also as `5/8` or `1-1/8"`.
    fn inches(&self, column: Column, name: &str) -> Result<Option<Inches>, String> {
        let Some(cell) = self.get(column) else {
            return Ok(None);
        };
        inches(cell).map(Some).ok_or_else(|| {
            format!("{name}: {cell:?} is no length; write inches such as 0.625 or 5/8")
        })
    }
}

/// A length in inches: `0.625`, `5/8`, `1-1/8"`, `1.125 in`.
pub fn inches(text: &str) -> Option<Inches> {
    let lower = text.to_lowercase();
    let bare = lower
        .trim()
        .trim_end_matches(['"', '”', '″', '.'])
        .trim_end_matches("inches")
        .trim_end_matches("in");
    match notation::parse(Field::Hp, bare)? {
        Value::Number(n) if n > 0.0 => Some(Inches(n)),
        _ => None,
    }
}

fn hint(field: Field, cell: &str) -> String {
    let months = [
        "jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec",
    ];
    let lower = cell.to_lowercase();
    if cell == super::workbook::DATE
        || field == Field::Hp && months.iter().any(|m| lower.contains(m))
    {
        return "a spreadsheet has made a date of a fraction: format the column as text and write 1/2".to_owned();
    }
    let example = match field {
        Field::Volts => "208-230/460",
        Field::Amps => "13.6-12.8/6.4",
        Field::Hp => "1/2 or 1.5",
        Field::Kw => "0.75",
        Field::Phase => "1 or 3",
        Field::Hertz => "60 or 50/60",
        Field::Rpm => "1725",
        _ => "1.15",
    };
    format!("write it as on a plate, such as {example}")
}

/// Columns that hold what a plate prints.
const PLATE_COLUMNS: &[(Column, Field)] = &[
    (Column::Volts, Field::Volts),
    (Column::Amps, Field::Amps),
    (Column::Hp, Field::Hp),
    (Column::Kw, Field::Kw),
    (Column::Rpm, Field::Rpm),
    (Column::Phase, Field::Phase),
    (Column::Hertz, Field::Hertz),
    (Column::ServiceFactor, Field::ServiceFactor),
    (Column::Frame, Field::Frame),
    (Column::Enclosure, Field::Enclosure),
    (Column::InsulationClass, Field::InsulationClass),
    (Column::Duty, Field::Duty),
    (Column::AmbientC, Field::AmbientC),
    (Column::Rotation, Field::Rotation),
    (Column::CapacitorUf, Field::CapacitorUf),
    (Column::CapacitorVolts, Field::CapacitorVolts),
    (Column::Design, Field::Design),
    (Column::KvaCode, Field::KvaCode),
];

/// How many of the plate's columns make the rating points.
const RATING_COLUMNS: usize = 7;

/// Makes a motor of a row.
pub(super) fn motor(cells: &Cells<'_>) -> Result<Row, String> {
    let count = cells.cells.len();
    if count < cells.columns.len()
        || cells.cells[cells.columns.len()..]
            .iter()
            .any(|c| !c.trim().is_empty())
    {
        return Err(format!(
            "{count} cells stand under {} headers; check separators and quotes",
            cells.columns.len()
        ));
    }
    if let Some(lines) = cells.swallowed() {
        return Err(format!(
            "a quote opens here and is not closed: {lines} more lines of the list stand in one cell; close the quote or take it out"
        ));
    }
    let sku = cells
        .named(Column::Sku)
        .ok_or("no sku: the row cannot be named; give it a number of its own")?
        .to_owned();
    let mut wrong = Vec::new();
    let rating_columns = &PLATE_COLUMNS[..RATING_COLUMNS];
    for (column, field) in rating_columns {
        wrong.extend(cells.numbers(*column, *field).err());
    }
    let mut keep = |result: Result<Option<f64>, String>| {
        result.unwrap_or_else(|e| {
            wrong.push(e);
            None
        })
    };
    let service_factor = keep(cells.number(Column::ServiceFactor, Field::ServiceFactor));
    let shaft = keep(
        cells
            .inches(Column::ShaftDiameter, "shaft_diameter_in")
            .map(|v| v.map(|i| i.0)),
    );
    let length = keep(
        cells
            .inches(Column::Length, "length_in")
            .map(|v| v.map(|i| i.0)),
    );
    let shaft_length = keep(
        cells
            .inches(Column::ShaftLength, "shaft_length_in")
            .map(|v| v.map(|i| i.0)),
    );
    if !wrong.is_empty() {
        return Err(wrong.join("; "));
    }
    let pairing = pair(|field| {
        let column = rating_columns.iter().find(|(_, f)| *f == field)?.0;
        cells.get(column)
    });
    let mut remarks = Vec::new();
    let mut lesser = |column: Column, field: Field| -> Option<Value> {
        let cell = cells.get(column)?;
        let value = notation::parse(field, cell);
        if value.is_none() {
            remarks.push(format!(
                "{}: {cell:?} is not understood and counts as unknown",
                field.key()
            ));
        }
        value
    };
    let mut options = Options {
        cells,
        remarks: Vec::new(),
    };
    let shaft_flats = options.read(Column::ShaftFlats, "shaft_flats", flats);
    let shaft_ends = options.read(Column::ShaftEnds, "shaft_ends", ShaftEnds::parse);
    let protection = options.read(
        Column::ThermalProtection,
        "thermal_protection",
        Protection::parse,
    );
    let bearings = options.read(Column::Bearings, "bearings", Bearings::parse);
    let unread = options.remarks;
    let text = |v: Option<Value>| v.and_then(|v| v.text().map(str::to_owned));
    let first = |v: Option<Value>| v.and_then(|v| v.numbers().first().copied());
    let motor = StockMotor {
        line: cells.line,
        sku,
        class: None,
        ratings: pairing.points,
        pairing_doubt: pairing.doubt.map(|doubt| doubt.to_string()),
        service_factor,
        frame: cells
            .get(Column::Frame)
            .map(|f| f.trim_end_matches(".0").to_owned()),
        enclosure: text(lesser(Column::Enclosure, Field::Enclosure)),
        insulation_class: text(lesser(Column::InsulationClass, Field::InsulationClass)),
        duty: text(lesser(Column::Duty, Field::Duty)),
        ambient: first(lesser(Column::AmbientC, Field::AmbientC)).map(Celsius),
        rotation: lesser(Column::Rotation, Field::Rotation).and(cells.owned(Column::Rotation)),
        shaft_diameter: shaft.map(Inches),
        shaft_length: shaft_length.map(Inches),
        shaft_flats,
        shaft_ends,
        mounting: cells.owned(Column::Mounting),
        // A protection that the notes name counts too.
        protection: protection.or(cells.get(Column::Notes).and_then(Protection::in_words)),
        bearings,
        conduit_box: cells.owned(Column::ConduitBox),
        length: length.map(Inches),
        capacitor: first(lesser(Column::CapacitorUf, Field::CapacitorUf)).map(Microfarads),
        capacitor_volts: first(lesser(Column::CapacitorVolts, Field::CapacitorVolts)).map(Volts),
        design: text(lesser(Column::Design, Field::Design)),
        quantity: cells
            .get(Column::Quantity)
            .and_then(|q| q.replace(',', "").parse().ok()),
        price: cells.owned(Column::Price),
        location: cells.owned(Column::Location),
        notes: cells.owned(Column::Notes),
        printed: PLATE_COLUMNS
            .iter()
            .filter_map(|(column, field)| Some((*field, cells.owned(*column)?)))
            .collect(),
        extra: unknown(cells),
    };
    let class = class(
        cells.get(Column::Class),
        motor.enclosure.as_deref(),
        motor.notes.as_deref(),
    );
    remarks.extend(unread);
    if let Err(remark) = &class {
        remarks.push(remark.clone());
    }
    Ok(Row {
        motor: StockMotor {
            class: class.unwrap_or_default(),
            ..motor
        },
        remarks,
    })
}

/// Reads the columns that a list may have beyond those of the contract. What is not understood counts as unknown
/// and is remarked.
struct Options<'a, 'b> {
    cells: &'a Cells<'b>,
    remarks: Vec<String>,
}

impl Options<'_, '_> {
    fn read<T>(
        &mut self,
        column: Column,
        name: &str,
        parse: impl Fn(&str) -> Option<T>,
    ) -> Option<T> {
        // "none" is an answer here.
        let cell = self.cells.named(column)?;
        let found = parse(cell);
        if found.is_none() && !is_blank(cell) {
            self.remarks.push(format!(
                "{name}: {cell:?} is not understood and counts as unknown"
            ));
        }
        found
    }
}

/// `0`, `1`, `2 flats`, `none`.
fn flats(cell: &str) -> Option<u8> {
    let lower = cell.to_lowercase();
    let first = lower.split_whitespace().next()?;
    match first {
        "none" | "no" | "round" | "plain" => Some(0),
        "one" | "single" | "flat" => Some(1),
        "two" | "double" => Some(2),
        number => number.parse().ok().filter(|n| *n <= 4),
    }
}

/// Unknown columns, and a quantity that is no number, as the list has them.
fn unknown(cells: &Cells<'_>) -> Vec<(String, String)> {
    let shown = |column: Option<Column>, cell: &str| match column {
        None => true,
        Some(Column::Quantity) => cell.replace(',', "").parse::<f64>().is_err(),
        Some(_) => false,
    };
    let named = cells.headers.iter().zip(cells.columns).zip(&cells.cells);
    named
        .filter(|((_, column), cell)| !cell.trim().is_empty() && shown(**column, cell.trim()))
        .map(|((header, _), cell)| (header.clone(), cell.trim().to_owned()))
        .collect()
}

/// The class from the list's own word, else from the enclosure, else from the notes. An error names a
/// contradiction; the class is then unknown.
fn class(
    word: Option<&str>,
    enclosure: Option<&str>,
    notes: Option<&str>,
) -> Result<Option<Class>, String> {
    let by_enclosure = enclosure.and_then(trade::enclosure).and_then(|e| match e {
        e if e.is_air_over() => Some(Class::AirOver),
        // "Open" alone is printed on fan motors of both kinds.
        e if e.needs_no_air() && e.code != "OPEN" => Some(Class::GeneralPurpose),
        _ => None,
    });
    let said = word.and_then(class_word);
    match (said, by_enclosure) {
        (Some(said), Some(seen)) if said != seen => Err(format!(
            "class: {:?} contradicts the enclosure {:?}; the class counts as unknown",
            word.unwrap_or_default(),
            enclosure.unwrap_or_default()
        )),
        (Some(said), _) => Ok(Some(said)),
        (None, Some(seen)) => Ok(Some(seen)),
        (None, None) => Ok(notes.and_then(|n| says_air_over(n).then_some(Class::AirOver))),
    }
}

fn class_word(word: &str) -> Option<Class> {
    let compact: String = word
        .to_lowercase()
        .chars()
        .filter(|c| c.is_alphanumeric())
        .collect();
    if says_air_over(word) {
        Some(Class::AirOver)
    } else if compact.starts_with("general") || compact == "gp" {
        Some(Class::GeneralPurpose)
    } else {
        None
    }
}

fn says_air_over(text: &str) -> bool {
    let upper = text.to_uppercase();
    let words = upper.split(|c: char| !c.is_alphanumeric());
    let spaced = words.clone().collect::<Vec<_>>().join(" ");
    spaced.contains("AIR OVER")
        || words
            .into_iter()
            .any(|w| matches!(w, "AO" | "OAO" | "TEAO" | "OPAO" | "AIROVER"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_class_comes_from_word_enclosure_or_notes() {
        use Class::{AirOver, GeneralPurpose};
        for (word, enclosure, notes, expected) in [
            (Some("air-over"), None, None, Ok(Some(AirOver))),
            (
                Some("General Purpose"),
                Some("TEFC"),
                None,
                Ok(Some(GeneralPurpose)),
            ),
            (Some("AO"), Some("OPEN"), None, Ok(Some(AirOver))),
            (None, Some("TEAO"), None, Ok(Some(AirOver))),
            (None, Some("ODP"), None, Ok(Some(GeneralPurpose))),
            (None, Some("OPEN"), None, Ok(None)),
            (
                None,
                Some("OPEN"),
                Some("condenser fan, air over"),
                Ok(Some(AirOver)),
            ),
            (None, None, Some("PSC motor"), Ok(None)),
            (Some("farm duty"), None, None, Ok(None)),
        ] {
            assert_eq!(
                class(word, enclosure, notes),
                expected,
                "{word:?} {enclosure:?} {notes:?}"
            );
        }
        assert!(class(Some("general purpose"), Some("TEAO"), None).is_err());
    }

    #[test]
    fn lengths_as_people_write_them() {
        for (text, expected) in [
            ("0.625", Some(0.625)),
            ("5/8", Some(0.625)),
            ("1-1/8\"", Some(1.125)),
            ("7/8 in", Some(0.875)),
            ("5/8 x 2", None),
            ("0", None),
        ] {
            assert_eq!(inches(text).map(|i| i.0), expected, "{text}");
        }
    }
}
