//! Stock lists in workbooks: XLSX, XLS, XLSB and ODS.

use calamine::{Data, Reader, open_workbook_auto_from_rs};
use csv::StringRecord;
use std::io::Cursor;

/// Rows of cells with their line numbers, for each sheet.
type Sheet = Vec<(u64, StringRecord)>;

/// Whether the bytes are a zip archive or an old compound file, as all workbooks are.
pub(super) fn is_workbook(bytes: &[u8]) -> bool {
    bytes.starts_with(b"PK\x03\x04") || bytes.starts_with(b"\xd0\xcf\x11\xe0")
}

/// The sheets of a workbook, in its order.
pub(super) fn sheets(bytes: &[u8]) -> Result<Vec<Sheet>, calamine::Error> {
    let mut workbook = open_workbook_auto_from_rs(Cursor::new(bytes))?;
    let sheets = workbook.worksheets().into_iter().map(|(_, range)| {
        let first = range.start().map_or(0, |(row, _)| row);
        let rows = range.rows().zip(u64::from(first) + 1..);
        rows.map(|(cells, line)| (line, cells.iter().map(text).collect()))
            .collect()
    });
    Ok(sheets.collect())
}

/// A cell as a person would have typed it. A date is what a spreadsheet makes of `1/2`: as a number it would
/// be tens of thousands, so it is named for what it is.
fn text(cell: &Data) -> String {
    match cell {
        Data::DateTime(_) | Data::DateTimeIso(_) | Data::DurationIso(_) => DATE.to_owned(),
        Data::Error(_) => "#error".to_owned(),
        other => other.to_string(),
    }
}

/// What stands for a date in the cells of a workbook.
pub(super) const DATE: &str = "(a date)";
