//! Text in and out by open standards: ALTO XML (Library of Congress, version 4) and hOCR (version 1.2).
//! What is written can be read by other programs; what other engines wrote is read into pages, so that
//! everything after the recognition can work on it.
//!
//! Files from elsewhere are not trusted: entities other than the standard's own are refused, depth and
//! amounts are bounded.

mod markup;
mod read_alto;
mod read_hocr;
#[cfg(test)]
mod schema_tests;
#[cfg(test)]
mod tests;
mod word;
mod write_alto;
mod write_hocr;

use std::io::{self, Write};

use super::Page;

/// A larger file is not read, bytes.
pub const LARGEST_FILE: usize = 32 << 20;

/// An open format for text with its places.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Format {
    /// ALTO XML.
    Alto,
    /// hOCR, text in HTML.
    Hocr,
}

/// A page and the picture that it was read from.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Sheet {
    /// File name of the picture, where it is known.
    pub image: Option<String>,
    /// The text.
    pub page: Page,
}

/// Why a file with text could not be taken.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum ExchangeError {
    /// Longer than [`LARGEST_FILE`].
    #[error(
        "the file is larger than {} MB, which no nameplate's text is; give one file a photo",
        LARGEST_FILE >> 20
    )]
    TooLarge,
    /// Not UTF-8.
    #[error("the file is not UTF-8 (byte {at}); save it as UTF-8")]
    Encoding {
        /// Offset of the first bad byte.
        at: usize,
    },
    /// Neither ALTO nor hOCR.
    #[error(
        "the file is neither ALTO XML nor hOCR; give what an OCR engine writes in one of the two"
    )]
    Unknown,
    /// Broken markup.
    #[error("line {line}: the markup is broken ({detail}); have the engine write the file again")]
    Markup {
        /// Line of the file, from 1.
        line: usize,
        /// What the parser says.
        detail: String,
    },
    /// An entity that the file defines itself, or none at all.
    #[error(
        "line {line}: the entity &{name}; is not expanded, since entities can hide anything; write the character itself"
    )]
    Entity {
        /// Line of the file, from 1.
        line: usize,
        /// Its name.
        name: String,
    },
    /// More of something than a nameplate can have.
    #[error("line {line}: more than {most} {what}, which no nameplate has; split the file")]
    TooMany {
        /// Line of the file, from 1.
        line: usize,
        /// Of what.
        what: &'static str,
        /// How many are taken.
        most: usize,
    },
    /// A line of text without a box.
    #[error(
        "line {line}: the text {text:?} has no box, and without places labels and values cannot be told apart; have the engine write boxes"
    )]
    NoPlace {
        /// Line of the file, from 1.
        line: usize,
        /// How the text begins.
        text: String,
    },
}

impl ExchangeError {
    /// A short word for the kind of error, for machines; it stays the same over versions.
    pub fn kind(&self) -> &'static str {
        match self {
            ExchangeError::TooLarge | ExchangeError::TooMany { .. } => "too_large",
            ExchangeError::Encoding { .. } => "encoding",
            ExchangeError::Unknown => "not_text",
            ExchangeError::Markup { .. } | ExchangeError::Entity { .. } => "markup",
            ExchangeError::NoPlace { .. } => "no_boxes",
        }
    }
}

/// Reads a file in either format: its pages, in order. A page without text is a page without lines.
pub fn parse(bytes: &[u8]) -> Result<Vec<Sheet>, ExchangeError> {
    if bytes.len() > LARGEST_FILE {
        return Err(ExchangeError::TooLarge);
    }
    let text = std::str::from_utf8(bytes).map_err(|e| ExchangeError::Encoding {
        at: e.valid_up_to(),
    })?;
    let text = text.trim_start_matches('\u{feff}');
    match markup::format(text)? {
        Format::Alto => read_alto::parse(text),
        Format::Hocr => read_hocr::parse(text),
    }
}

/// Writes pages as one document, a page each.
pub fn write(format: Format, sheets: &[Sheet], out: &mut impl Write) -> io::Result<()> {
    match format {
        Format::Alto => write_alto::write(sheets, out),
        Format::Hocr => write_hocr::write(sheets, out),
    }
}
