//! The entries as a workbook: a sheet with all of them, and one with what is doubtful beside its piece of the photo.

use super::Store;
use super::doubts::{self, Doubt};
use super::export::ExportError;
use super::table::{cells, headers};
use rust_xlsxwriter::{Format, FormatAlign, Image, Workbook, Worksheet, XlsxError};
use std::io::Write;

/// A workbook with more pictures opens too slowly; the other doubts stand there without.
const MOST_PICTURES: usize = 5000;

/// The columns of the sheet of doubts, with their widths in characters; the picture comes last.
const DOUBTS: [(&str, f64); 7] = [
    ("id", 22.0),
    ("file", 28.0),
    ("field", 20.0),
    ("reads", 20.0),
    ("or", 24.0),
    ("why", 48.0),
    ("picture", 74.0),
];

/// Writes the workbook. Its cells are text, so none of them is a formula. Gives how many doubtful readings have no
/// picture because there are too many.
pub async fn export_xlsx(store: &Store, out: &mut impl Write) -> Result<u64, ExportError> {
    let mut workbook = Workbook::new();
    let bold = Format::new().set_bold();
    let sheet = workbook.add_worksheet();
    sheet.set_name("motors").map_err(table)?;
    sheet.set_freeze_panes(1, 1).map_err(table)?;
    for (column, header) in (0u16..).zip(headers()) {
        sheet
            .write_string_with_format(0, column, header, &bold)
            .map_err(table)?;
    }
    let mut row = 0u32;
    let mut all = Vec::new();
    store
        .export(|exported| -> Result<(), ExportError> {
            row += 1;
            for (column, cell) in (0u16..).zip(cells(&exported)) {
                if !cell.is_empty() {
                    sheet.write_string(row, column, cell).map_err(table)?;
                }
            }
            all.extend(doubts::doubts(&exported));
            Ok(())
        })
        .await?;
    let left_out = write_doubts(store, workbook.add_worksheet(), &all, &bold).await?;
    let bytes = workbook.save_to_buffer().map_err(table)?;
    out.write_all(&bytes)?;
    out.flush()?;
    Ok(left_out)
}

fn table(error: XlsxError) -> ExportError {
    ExportError::Table(error.to_string())
}

/// Fills the sheet of doubts.
async fn write_doubts(
    store: &Store,
    sheet: &mut Worksheet,
    all: &[Doubt],
    bold: &Format,
) -> Result<u64, ExportError> {
    sheet.set_name("to check").map_err(table)?;
    sheet.set_freeze_panes(1, 0).map_err(table)?;
    for (column, (header, width)) in (0u16..).zip(DOUBTS) {
        sheet
            .write_string_with_format(0, column, header, bold)
            .map_err(table)?;
        sheet.set_column_width(column, width).map_err(table)?;
    }
    let wrapped = Format::new().set_text_wrap().set_align(FormatAlign::Top);
    let mut row = 0u32;
    let mut left_out = 0;
    for doubts in all.chunk_by(|a, b| a.entry == b.entry) {
        let room = MOST_PICTURES.saturating_sub(row as usize);
        let quads = doubts.iter().take(room).map(|doubt| doubt.quad).collect();
        let mut pieces = match doubts.first() {
            Some(first) => store.pieces(&first.entry, quads).await?,
            None => Vec::new(),
        };
        pieces.resize_with(doubts.len(), || None);
        left_out += doubts.len().saturating_sub(room) as u64;
        for (doubt, piece) in doubts.iter().zip(pieces) {
            row += 1;
            let texts = [
                doubt.entry.clone(),
                doubt.file.clone(),
                doubt.field.label().to_owned(),
                doubt.printed.clone(),
                doubt.others.join("\n"),
                doubt.reasons.join("\n"),
            ];
            for (column, text) in (0u16..).zip(&texts) {
                sheet
                    .write_string_with_format(row, column, text, &wrapped)
                    .map_err(table)?;
            }
            let Some(piece) = piece else { continue };
            let image = Image::new_from_buffer(&piece.jpeg)
                .map_err(table)?
                .set_alt_text(format!(
                    "{} on {}, {} pixels wide",
                    doubt.field.label(),
                    doubt.file,
                    piece.width
                ));
            sheet
                .set_row_height_pixels(row, doubts::HEIGHT + 6)
                .map_err(table)?;
            sheet
                .insert_image_with_offset(row, texts.len() as u16, &image, 3, 3)
                .map_err(table)?;
        }
    }
    Ok(left_out)
}
