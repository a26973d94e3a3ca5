//! Stock lists in workbooks (XLSX). A workbook is an archive of markup that may say anything of its own size: what
//! it unpacks to and how far its sheets reach is bounded before it is believed.

use calamine::{Cell, Data, DataRef, Reader, Xlsx, XlsxError};
use csv::StringRecord;
use std::collections::BTreeMap;
use std::io::{self, Cursor, Read};
use std::panic::catch_unwind;
use zip::ZipArchive;

/// Rows of cells with their line numbers, for each sheet.
type Sheet = Vec<(u64, StringRecord)>;

/// What a workbook may hold. A list of 100,000 motors with 25 columns takes less than half of each.
#[derive(Debug, Clone, Copy)]
pub(super) struct Limits {
    /// Most bytes that it unpacks to.
    pub unpacked: u64,
    /// Most columns of a sheet.
    pub columns: u32,
    /// Most cells of all sheets, empty ones between others included.
    pub cells: usize,
}

/// The limits that hold.
pub(super) const LIMITS: Limits = Limits {
    unpacked: 256 << 20,
    columns: super::list::MOST_COLUMNS as u32,
    cells: 10_000_000,
};

/// Why a workbook is not read.
#[derive(Debug, thiserror::Error)]
pub(super) enum WorkbookError {
    #[error("{0}")]
    Xlsx(#[from] XlsxError),
    #[error("one of its sheets says of itself what cannot be")]
    Absurd,
    #[error("its archive is damaged: {0}")]
    Archive(#[from] zip::result::ZipError),
    #[error("its archive is damaged: {0}")]
    Unpack(#[from] io::Error),
    #[error("it unpacks to more than {} MiB", .0 >> 20)]
    Bomb(u64),
    #[error("a sheet has more than {0} columns")]
    Wide(u32),
    #[error("its sheets span more than {} million cells", .0 / 1_000_000)]
    Large(usize),
}

/// Whether the bytes are a zip archive, as a workbook is.
pub(super) fn is_workbook(bytes: &[u8]) -> bool {
    bytes.starts_with(b"PK\x03\x04")
}

/// Whether the bytes are an old workbook (XLS): a compound file, whose sheets cannot be bounded before they are read.
pub(super) fn is_old_workbook(bytes: &[u8]) -> bool {
    bytes.starts_with(b"\xd0\xcf\x11\xe0")
}

/// The sheets of a workbook, in its order.
pub(super) fn sheets(bytes: &[u8], limits: &Limits) -> Result<Vec<Sheet>, WorkbookError> {
    unpacks_within(bytes, limits.unpacked)?;
    // The library panics on some sheets, such as one with the dimension `A1:sheet`: they cost this list and no more.
    catch_unwind(|| unpacked_sheets(bytes, limits)).unwrap_or(Err(WorkbookError::Absurd))
}

fn unpacked_sheets(bytes: &[u8], limits: &Limits) -> Result<Vec<Sheet>, WorkbookError> {
    let mut workbook: Xlsx<_> = Xlsx::new(Cursor::new(bytes))?;
    let mut left = limits.cells;
    let mut sheets = Vec::new();
    for name in workbook.sheet_names() {
        match workbook.worksheet_cells_reader(&name) {
            Ok(mut cells) => sheets.push(sheet(|| cells.next_cell(), limits, &mut left)?),
            // A diagram, or a sheet that is named and not there.
            Err(XlsxError::NotAWorksheet(_) | XlsxError::WorksheetNotFound(_)) => {}
            Err(error) => return Err(error.into()),
        }
    }
    Ok(sheets)
}

/// Unpacks everything once and keeps nothing: what an archive says of its own size proves nothing.
fn unpacks_within(bytes: &[u8], most: u64) -> Result<(), WorkbookError> {
    let mut archive = ZipArchive::new(Cursor::new(bytes))?;
    let mut left = most;
    for index in 0..archive.len() {
        let file = archive.by_index(index)?;
        let unpacked = io::copy(&mut file.take(left + 1), &mut io::sink())?;
        left = left
            .checked_sub(unpacked)
            .ok_or(WorkbookError::Bomb(most))?;
    }
    Ok(())
}

/// The rows of a sheet that have cells, with the cells from the first column on.
fn sheet<'a>(
    mut next: impl FnMut() -> Result<Option<Cell<DataRef<'a>>>, XlsxError>,
    limits: &Limits,
    left: &mut usize,
) -> Result<Sheet, WorkbookError> {
    let mut rows: BTreeMap<u32, Vec<String>> = BTreeMap::new();
    while let Some(cell) = next()? {
        let (row, column) = cell.get_position();
        let text = text(cell.get_value().clone().into());
        if text.is_empty() {
            continue;
        }
        if column >= limits.columns {
            return Err(WorkbookError::Wide(limits.columns));
        }
        let cells = rows.entry(row).or_default();
        let at = column as usize;
        if let Some(more) = (at + 1).checked_sub(cells.len()) {
            *left = left
                .checked_sub(more)
                .ok_or(WorkbookError::Large(limits.cells))?;
            cells.resize(at + 1, String::new());
        }
        if let Some(cell) = cells.get_mut(at) {
            *cell = text;
        }
    }
    // A sheet is a table: cells that are empty up to the end of a row are cells all the same.
    let widest = rows.values().map(Vec::len).max().unwrap_or(0);
    if rows.len().saturating_mul(widest) > limits.cells {
        return Err(WorkbookError::Large(limits.cells));
    }
    let line = |(row, mut cells): (u32, Vec<String>)| {
        cells.resize(widest, String::new());
        (u64::from(row) + 1, StringRecord::from(cells))
    };
    Ok(rows.into_iter().map(line).collect())
}

/// A cell as a person would have typed it. A date is what a spreadsheet makes of `1/2`: as a number it would
/// be tens of thousands, so it is named for what it is.
fn text(cell: Data) -> String {
    match cell {
        Data::DateTime(_) | Data::DateTimeIso(_) | Data::DurationIso(_) => DATE.to_owned(),
        Data::Error(_) => "#error".to_owned(),
        other => other.to_string(),
    }
}

/// What stands for a date in the cells of a workbook.
pub(super) const DATE: &str = "(a date)";

#[cfg(test)]
mod tests {
    use super::*;
    use rust_xlsxwriter::Workbook;
    use std::io::Write;

    fn book(cells: &[(u32, u16)]) -> Vec<u8> {
        let mut book = Workbook::new();
        let sheet = book.add_worksheet();
        for (row, column) in cells {
            sheet.write_string(*row, *column, "x").unwrap();
        }
        book.save_to_buffer().unwrap()
    }

    #[test]
    fn what_reaches_too_far_is_refused_before_it_takes_memory() {
        let small = Limits {
            unpacked: 1 << 20,
            columns: 30,
            cells: 100,
        };
        let many: Vec<(u32, u16)> = (0..60).map(|row| (row, 1)).collect();
        for (cells, what) in [
            (&[(0, 0), (1_048_575, 0)][..], "2 rows"),
            (&[(0, 0), (0, 16_383)], "more than 30 columns"),
            (&many, "span more than"),
        ] {
            let said = match sheets(&book(cells), &small) {
                Ok(sheets) => format!("{} rows", sheets[0].len()),
                Err(error) => error.to_string(),
            };
            assert!(said.contains(what), "{said} instead of {what}");
        }
        let error = sheets(
            &book(&[(0, 0)]),
            &Limits {
                unpacked: 2000,
                ..small
            },
        )
        .unwrap_err();
        assert!(
            error.to_string().contains("unpacks to more than"),
            "{error}"
        );
    }

    /// Found by fuzzing: what the library makes of it depends on how it is built, and is no fault of this program's.
    #[test]
    fn a_sheet_with_an_absurd_dimension_costs_its_list_and_no_more() {
        let mut whole = ZipArchive::new(Cursor::new(book(&[(0, 0)]))).unwrap();
        let mut changed = zip::ZipWriter::new(Cursor::new(Vec::new()));
        for index in 0..whole.len() {
            let mut file = whole.by_index(index).unwrap();
            let mut text = String::new();
            file.read_to_string(&mut text).unwrap();
            let text = text.replace("<dimension ref=\"A1\"/>", "<dimension ref=\"A1:sheetml\"/>");
            assert!(text.contains("sheetml\"/>") || !file.name().contains("worksheets/sheet"));
            changed
                .start_file(file.name(), zip::write::SimpleFileOptions::default())
                .unwrap();
            changed.write_all(text.as_bytes()).unwrap();
        }
        let changed = changed.finish().unwrap().into_inner();
        match sheets(&changed, &LIMITS) {
            Ok(sheets) => assert_eq!(sheets.len(), 1),
            Err(error) => assert!(matches!(error, WorkbookError::Absurd), "{error}"),
        }
    }
}
