//! A stock list: its motors, and the rows that could not be understood.

use super::StockMotor;
use super::headers::{self, Column, Mapping};
use super::{decode, row, workbook};
use rayon::prelude::*;
use serde::Serialize;
use std::fs::File;
use std::io::Read;
use std::path::{Path, PathBuf};

/// A row, or a cell of one, that was not understood.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct RowFault {
    /// Line of the list, from 1.
    pub line: u64,
    /// The row's sku, where it has one.
    pub sku: Option<String>,
    /// What is wrong, and what to write instead.
    pub message: String,
}

/// A stock list.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct StockList {
    /// The motors, in the order of the list.
    pub motors: Vec<StockMotor>,
    /// Rows that were left out.
    pub faults: Vec<RowFault>,
    /// Cells of lesser columns that count as unknown; their rows are in.
    pub remarks: Vec<RowFault>,
    /// Headers that the tool does not know.
    pub unknown_headers: Vec<String>,
}

/// Why a list could not be read at all.
#[derive(Debug, thiserror::Error)]
pub enum StockError {
    /// The file cannot be opened or read.
    #[error("{file}: the stock list cannot be read: {source}; check the path and the permissions")]
    Io {
        /// The list.
        file: PathBuf,
        /// What the system says.
        source: std::io::Error,
    },
    /// Zero bytes, or nothing but blanks.
    #[error(
        "{file}: the stock list is empty; its first line must name the columns, such as sku,hp,volts,amps"
    )]
    Empty {
        /// The list.
        file: PathBuf,
    },
    /// A picture, a program, a damaged file.
    #[error("{file}: this is neither text nor a workbook; save the stock list as CSV or XLSX")]
    NotText {
        /// The list.
        file: PathBuf,
    },
    /// More bytes than a list may have.
    #[error(
        "{file}: the stock list is larger than {} MiB; leave out what is no motor, or split it", MOST_BYTES >> 20
    )]
    TooLarge {
        /// The list.
        file: PathBuf,
    },
    /// More columns than a list may have.
    #[error(
        "{file}: a line of the stock list has more than {MOST_COLUMNS} columns; save the list alone as CSV or XLSX"
    )]
    TooWide {
        /// The list.
        file: PathBuf,
    },
    /// A kind of workbook that is not read.
    #[error("{file}: this is an old workbook (XLS); save it as XLSX or CSV")]
    OldWorkbook {
        /// The list.
        file: PathBuf,
    },
    /// A workbook that cannot be opened.
    #[error(
        "{file}: the workbook cannot be read: {detail}; save it anew as XLSX, without a password, with the list alone"
    )]
    Workbook {
        /// The list.
        file: PathBuf,
        /// What the reader says.
        detail: String,
    },
    /// No line names the columns.
    #[error(
        "{file}, line {line}: no line of headers was found (read {found:?}); the first line must name the columns, such as sku,hp,volts,amps,phase,rpm,frame"
    )]
    NoHeader {
        /// The list.
        file: PathBuf,
        /// Where headers were expected.
        line: u64,
        /// What stands there.
        found: String,
    },
    /// The headers name no column with the shop's numbers.
    #[error(
        "{file}, line {line}: no column names the motors; call one of the columns sku (found {found})"
    )]
    NoSku {
        /// The list.
        file: PathBuf,
        /// The line of headers.
        line: u64,
        /// The headers.
        found: String,
    },
    /// Headers, and nothing that could be matched.
    #[error("{file}: the stock list has headers but no rows")]
    NoRows {
        /// The list.
        file: PathBuf,
    },
}

impl StockList {
    /// Reads the list at `path`.
    pub fn open(path: &Path) -> Result<StockList, StockError> {
        let failed = |source| StockError::Io {
            file: path.to_owned(),
            source,
        };
        let mut bytes = Vec::new();
        // One byte more than allowed is enough to know.
        File::open(path)
            .map_err(failed)?
            .take(MOST_BYTES as u64 + 1)
            .read_to_end(&mut bytes)
            .map_err(failed)?;
        StockList::from_bytes(&bytes, path)
    }

    /// Reads a list from its bytes; `name` is for messages.
    pub fn from_bytes(bytes: &[u8], name: &Path) -> Result<StockList, StockError> {
        StockList::mapped(bytes, name, &Mapping::default())
    }

    /// Reads a list of which somebody said what some of its columns hold.
    pub fn mapped(bytes: &[u8], name: &Path, mapping: &Mapping) -> Result<StockList, StockError> {
        let mut table = table(bytes, name)?;
        table.remap(mapping);
        table.check(name)?;
        let list = table.read();
        if list.motors.is_empty() && list.faults.is_empty() {
            return Err(StockError::NoRows {
                file: name.to_owned(),
            });
        }
        Ok(list)
    }
}

/// One column of a list: what stands above it, what it is taken for, and its first cells.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct HeaderUse {
    /// The header.
    pub header: String,
    /// The contract's header that it stands for; `None` when it is shown and not judged.
    pub column: Option<&'static str>,
    /// What stands below it.
    pub samples: Vec<String>,
}

/// What the columns of a list are taken for, also where the list cannot be used as it is.
pub fn header_uses(
    bytes: &[u8],
    name: &Path,
    mapping: &Mapping,
) -> Result<Vec<HeaderUse>, StockError> {
    const SAMPLES: usize = 3;
    let mut table = table(bytes, name)?;
    table.remap(mapping);
    let header = &table.rows[table.header].1;
    let below = &table.rows[table.header + 1..];
    let uses = header.iter().enumerate().map(|(i, header)| HeaderUse {
        header: header.trim().to_owned(),
        column: table.columns.get(i).copied().flatten().map(Column::name),
        samples: below
            .iter()
            .filter_map(|(_, row)| row.get(i))
            .map(|cell| cell.trim().to_owned())
            .filter(|cell| !cell.is_empty())
            .take(SAMPLES)
            .collect(),
    });
    Ok(uses.collect())
}

/// A larger list is not read, bytes: 100,000 motors take a third of it.
pub const MOST_BYTES: usize = 32 << 20;

/// Most columns of a list.
pub(super) const MOST_COLUMNS: usize = 1000;

/// The table in a file: the sheet, or the separator, with the most headers that are known.
fn table(bytes: &[u8], name: &Path) -> Result<Table, StockError> {
    if bytes.len() > MOST_BYTES {
        return Err(StockError::TooLarge {
            file: name.to_owned(),
        });
    }
    if workbook::is_old_workbook(bytes) {
        return Err(StockError::OldWorkbook {
            file: name.to_owned(),
        });
    }
    let best = if workbook::is_workbook(bytes) {
        let sheets =
            workbook::sheets(bytes, &workbook::LIMITS).map_err(|e| StockError::Workbook {
                file: name.to_owned(),
                detail: e.to_string(),
            })?;
        most_known(sheets.into_iter().map(Table::of))
    } else {
        let text = decode::text(bytes).ok_or_else(|| StockError::NotText {
            file: name.to_owned(),
        })?;
        let cells = |line: &str, separator: u8| line.bytes().filter(|b| *b == separator).count();
        let too_wide = |line: &str| SEPARATORS.iter().any(|s| cells(line, *s) >= MOST_COLUMNS);
        if text.lines().any(too_wide) {
            return Err(StockError::TooWide {
                file: name.to_owned(),
            });
        }
        let heads = SEPARATORS
            .iter()
            .map(|s| (Table::split(&text, *s, MOST_TITLE_LINES).known, *s));
        let separator = heads
            .max_by_key(|(known, _)| *known)
            .map_or(b',', |(_, s)| s);
        Some(Table::split(&text, separator, usize::MAX))
    };
    best.filter(|t| !t.rows.is_empty())
        .ok_or_else(|| StockError::Empty {
            file: name.to_owned(),
        })
}

/// The table with the most headers that are known; the later one among equals.
fn most_known(tables: impl Iterator<Item = Table>) -> Option<Table> {
    tables.max_by_key(|t| t.known)
}

const SEPARATORS: &[u8] = b"|\t;,";

/// Lines above the headers that a list may have: titles, dates, `sep=;`.
const MOST_TITLE_LINES: usize = 20;

/// Rows of cells with their line numbers, and where the headers stand among them.
#[derive(Default)]
struct Table {
    rows: Vec<(u64, csv::StringRecord)>,
    header: usize,
    /// How many headers are known.
    known: usize,
    columns: Vec<Option<Column>>,
}

impl Table {
    /// The first rows of a text with this separator.
    fn split(text: &str, separator: u8, most: usize) -> Table {
        let mut reader = csv::ReaderBuilder::new()
            .delimiter(separator)
            .has_headers(false)
            .flexible(true)
            .from_reader(text.as_bytes());
        // Text in memory, any number of cells: such a reader has no errors to give.
        let rows: Vec<(u64, csv::StringRecord)> = reader
            .records()
            .filter_map(Result::ok)
            .take(most)
            .map(|r| (r.position().map_or(0, csv::Position::line), r))
            .collect();
        Table::of(rows)
    }

    /// Finds the line of headers among rows.
    fn of(mut rows: Vec<(u64, csv::StringRecord)>) -> Table {
        rows.retain(|(_, r)| r.iter().any(|c| !c.trim().is_empty()));
        let candidates = rows
            .iter()
            .take(MOST_TITLE_LINES)
            .map(|(_, r)| headers::columns(r));
        let count = |columns: &[Option<Column>]| columns.iter().flatten().count();
        let mut best = Table::default();
        for (i, columns) in candidates.enumerate() {
            if count(&columns) > best.known {
                (best.known, best.header, best.columns) = (count(&columns), i, columns);
            }
        }
        best.rows = rows;
        best
    }

    /// Takes the columns for what somebody said that they are.
    fn remap(&mut self, mapping: &Mapping) {
        if !mapping.is_empty() {
            self.columns = mapping.columns(&self.rows[self.header].1);
            self.known = self.columns.iter().flatten().count();
        }
    }

    fn check(&self, name: &Path) -> Result<(), StockError> {
        let shown = |record: &csv::StringRecord| {
            let joined = record.iter().collect::<Vec<_>>().join(",");
            joined.chars().take(80).collect::<String>()
        };
        if self.known < 2 {
            let (line, found) = self
                .rows
                .first()
                .map_or((1, String::new()), |(l, r)| (*l, shown(r)));
            return Err(StockError::NoHeader {
                file: name.to_owned(),
                line,
                found,
            });
        }
        if !self.columns.contains(&Some(Column::Sku)) {
            let (line, record) = &self.rows[self.header];
            return Err(StockError::NoSku {
                file: name.to_owned(),
                line: *line,
                found: shown(record),
            });
        }
        Ok(())
    }

    fn read(&self) -> StockList {
        let headers: Vec<String> = self.rows[self.header]
            .1
            .iter()
            .map(|h| h.trim().to_owned())
            .collect();
        let unknown = headers
            .iter()
            .zip(&self.columns)
            .filter(|(h, c)| c.is_none() && !h.is_empty());
        let mut list = StockList {
            unknown_headers: unknown.map(|(h, _)| h.clone()).collect(),
            ..StockList::default()
        };
        let sku_at = self.columns.iter().position(|c| *c == Some(Column::Sku));
        let read = |(line, record): &(u64, csv::StringRecord)| {
            let cells = row::Cells {
                line: *line,
                headers: &headers,
                columns: &self.columns,
                cells: record.iter().collect(),
            };
            let sku = sku_at.and_then(|i| record.get(i)).map(str::trim);
            let fault = |message| RowFault {
                line: *line,
                sku: sku.filter(|s| !s.is_empty()).map(str::to_owned),
                message,
            };
            match row::motor(&cells) {
                Ok(row) => Ok((
                    row.motor,
                    row.remarks.into_iter().map(fault).collect::<Vec<_>>(),
                )),
                Err(message) => Err(fault(message)),
            }
        };
        let rows: Vec<_> = self.rows[self.header + 1..].par_iter().map(read).collect();
        for row in rows {
            match row {
                Ok((motor, remarks)) => {
                    list.motors.push(motor);
                    list.remarks.extend(remarks);
                }
                Err(fault) => list.faults.push(fault),
            }
        }
        list
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::{Amps, Volts};
    use proptest::prelude::*;

    fn list(text: &str) -> StockList {
        StockList::from_bytes(text.as_bytes(), Path::new("list.csv")).unwrap()
    }

    fn failure(bytes: &[u8]) -> String {
        StockList::from_bytes(bytes, Path::new("list.csv"))
            .unwrap_err()
            .to_string()
    }

    #[test]
    fn separators_titles_and_synonyms_are_found_out() {
        let comma = list("sku,hp,volts,amps\nA-1,1/2,208-230/460,2.2-2.0/1.0\n");
        let expected: Vec<_> = [(208.0, 2.2), (230.0, 2.0), (460.0, 1.0)].into();
        let points = |l: &StockList| -> Vec<(f64, f64)> {
            let points = l.motors[0].ratings.iter();
            points
                .map(|p| (p.volts.map_or(0.0, |v| v.0), p.amps.map_or(0.0, |a| a.0)))
                .collect()
        };
        assert_eq!(points(&comma), expected);
        for text in [
            "Part No;H.P.;Voltage;FLA\r\nA-1;1/2;208-230/460;2,2-2,0/1,0\r\n",
            "Item No\tHP\tVolts\tAmps\nA-1\t.5\t208-230/460\t2.2-2.0/1.0\n",
            "sep=|\nSKU|HP|V|A\nA-1|1/2|208-230/460|2.2-2.0/1.0\n",
            "Motors of the north shelf,,,\n,,,\nSKU,HP,Volts,Amps\nA-1,1/2,208-230/460,2.2-2.0/1.0\n",
        ] {
            assert_eq!(points(&list(text)), expected, "{text}");
            assert_eq!(list(text).motors[0].sku, "A-1");
        }
    }

    #[test]
    fn a_row_that_cannot_be_understood_is_named_by_its_line() {
        let list = list(
            "sku,hp,volts,amps,rpm\nA-1,1/2,230,3.5,1725\nA-2,1/2,about 230,3.5,1725\nA-3,1-Feb,230,3.5,1725\n\
             A-4,1/2,230,3.5\n,1/2,230,3.5,1725\nA-6,1/2,230,0,1725\nA-7,1/2,230,3.5,1725\n",
        );
        let skus: Vec<&str> = list.motors.iter().map(|m| m.sku.as_str()).collect();
        assert_eq!(skus, ["A-1", "A-7"]);
        let faults: Vec<(u64, &str)> = list
            .faults
            .iter()
            .map(|f| (f.line, f.message.as_str()))
            .collect();
        let expected = [
            (3, "about 230"),
            (4, "spreadsheet"),
            (5, "4 cells stand under 5"),
            (6, "no sku"),
            (7, "\"0\""),
        ];
        assert_eq!(faults.len(), expected.len(), "{faults:?}");
        for ((line, message), (expected_line, part)) in faults.iter().zip(expected) {
            assert!(
                *line == expected_line && message.contains(part),
                "line {line}: {message}"
            );
        }
    }

    #[test]
    fn a_quote_that_is_not_closed_hides_no_rows() {
        let list = list(
            "sku,hp,volts,amps,notes\nA-1,1/2,230,3.5,\"two\nlines\"\nA-2,1/2,230,3.5,\"open\nA-3,1/2,230,3.5,\nA-4,1/2,230,3.5,\n",
        );
        assert_eq!(list.motors.len(), 1);
        assert!(
            list.faults[0].message.contains("2 more lines"),
            "{:?}",
            list.faults
        );
    }

    #[test]
    fn numbers_that_no_motor_has_are_refused() {
        let row = format!("A-1,{},230,3.5\nA-2,0,230,3.5\n", "9".repeat(400));
        let list = list(&format!("sku,hp,volts,amps\n{row}"));
        assert_eq!((list.motors.len(), list.faults.len()), (0, 2));
    }

    #[test]
    fn unknown_columns_are_kept_and_unknown_cells_remarked() {
        let list = list("sku,hp,volts,amps,Colour,rotation\nA-1,1/2,230,3.5,grey,sideways\n");
        assert_eq!(list.unknown_headers, ["Colour"]);
        assert_eq!(
            list.motors[0].extra,
            [("Colour".to_owned(), "grey".to_owned())]
        );
        assert_eq!(list.motors[0].rotation, None);
        assert!(
            list.remarks[0].message.contains("sideways"),
            "{:?}",
            list.remarks
        );
    }

    #[test]
    fn columns_can_be_told_by_hand() {
        let text = b"Our code,Power (motor),Volts\nA-1,1/2,230\n";
        let name = Path::new("list.csv");
        assert!(StockList::from_bytes(text, name).is_err());
        let before = header_uses(text, name, &Mapping::default()).unwrap();
        assert_eq!(before[0].column, None);
        assert_eq!(before[0].samples, ["A-1"]);
        let mapping =
            Mapping::from_json(r#"{"Our code": "sku", "Power (motor)": "hp", "Volts": ""}"#)
                .unwrap();
        let list = StockList::mapped(text, name, &mapping).unwrap();
        assert_eq!(list.motors[0].sku, "A-1");
        assert_eq!(list.unknown_headers, ["Volts"]);
        assert_eq!(Mapping::from_json(&mapping.to_json()).unwrap(), mapping);
        assert!(Mapping::from_json(r#"{"a": "no such column"}"#).is_none());
    }

    #[test]
    fn lists_that_cannot_be_read_say_what_to_do() {
        for (bytes, message) in [
            (&b""[..], "is empty"),
            (b" \n \n", "is empty"),
            (b"\x00\x01\x02\x03", "neither text nor a workbook"),
            (b"PK\x03\x04 and no workbook", "the workbook cannot be read"),
            (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1", "save it as XLSX"),
            (b"A-1,1/2,230\nA-2,1/3,115\n", "line 1: no line of headers"),
            (
                b"hp,volts,amps\n1/2,230,3.5\n",
                "call one of the columns sku",
            ),
            (b"sku,hp,volts,amps\n", "no rows"),
        ] {
            assert!(failure(bytes).contains(message), "{}", failure(bytes));
        }
        let missing = StockList::open(Path::new("no such list.csv"))
            .unwrap_err()
            .to_string();
        assert!(missing.contains("no such list.csv"), "{missing}");
    }

    #[test]
    fn quantities_keep_their_units() {
        let list = list("sku,volts,amps,phase\nA-1,115/230,7.4/3.7,1PH\n");
        let point = &list.motors[0].ratings[1];
        assert_eq!(
            (point.volts, point.amps, point.phase),
            (Some(Volts(230.0)), Some(Amps(3.7)), Some(1))
        );
    }

    proptest! {
        #[test]
        fn any_bytes_are_survived(bytes in proptest::collection::vec(any::<u8>(), 0..200)) {
            let _ = StockList::from_bytes(&bytes, Path::new("list.csv"));
        }

        #[test]
        fn any_rows_are_taken_or_named(cells in "[ -~]{0,60}", count in 1usize..5) {
            let row = format!("{cells}\n").replace('"', "");
            let text = format!("sku,hp,volts,amps\n{}", row.repeat(count));
            if let Ok(list) = StockList::from_bytes(text.as_bytes(), Path::new("list.csv")) {
                let blank = row.trim_matches([',', ' ', '\n']).is_empty();
                prop_assert_eq!(list.motors.len() + list.faults.len(), if blank { 0 } else { count });
            }
        }
    }
}
