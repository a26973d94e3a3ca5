//! The chain from a photo to a record: the one place where the stages are put together.

use crate::check::{self, Judgement};
use crate::photo::{Limits, Photo, PhotoError};
use crate::plate;
use crate::record::{Field, NameplateRecord, Reading, TextLine};
use crate::text::{Page, ReadOptions, Reader, TextError};
use std::path::Path;
use std::time::Instant;

/// What a photo may cost, how it is read, and when a reading counts as clear.
#[derive(Debug, Clone, Default)]
pub struct Settings {
    /// Limits on files and pixels.
    pub limits: Limits,
    /// How text is found and read.
    pub text: ReadOptions,
    /// When a reading counts as clear.
    pub check: check::Settings,
}

/// Why there is no record of a photo.
#[derive(Debug, thiserror::Error)]
pub enum ReadError {
    /// The photo cannot be opened or decoded.
    #[error(transparent)]
    Photo(#[from] PhotoError),
    /// The models failed on it.
    #[error("{name}: {source}")]
    Text {
        /// The photo's name.
        name: String,
        /// What failed.
        source: TextError,
    },
    /// There is no text on it.
    #[error(
        "{name}: no text was found on it. Take the photo closer to the plate, with light from the side"
    )]
    NoText {
        /// The photo's name.
        name: String,
    },
}

impl ReadError {
    /// A short word for the kind of error, for machines; it stays the same over versions.
    pub fn kind(&self) -> &'static str {
        match self {
            ReadError::Photo(error) => error.kind(),
            ReadError::Text { .. } => "reader",
            ReadError::NoText { .. } => "no_text",
        }
    }
}

/// Reads one photo into a record.
pub fn read(
    path: &Path,
    reader: &Reader,
    settings: &Settings,
) -> Result<NameplateRecord, ReadError> {
    let started = Instant::now();
    let name = path.display().to_string();
    let photo = Photo::open(path, &settings.limits)?;
    let page = reader
        .read(&photo, &settings.text)
        .map_err(|source| ReadError::Text {
            name: name.clone(),
            source,
        })?;
    if !has_text(&page) {
        return Err(ReadError::NoText { name });
    }
    let judgement = check::judge(&plate::parse(&page), &settings.check);
    let mut record = into_record(judgement, &page);
    record.file = Some(name);
    record.sha256 = Some(photo.sha256);
    record.ms = Some(u64::try_from(started.elapsed().as_millis()).unwrap_or(u64::MAX));
    Ok(record)
}

/// Whether anything on the page can be a word or a number: bolts and scratches give single characters that
/// the recogniser itself does not believe.
fn has_text(page: &Page) -> bool {
    page.lines
        .iter()
        .any(|line| line.text.chars().count() >= 2 && line.confidence >= 0.5)
}

/// The record of a judged plate; every field is in it, the absent ones too.
fn into_record(judgement: Judgement, page: &Page) -> NameplateRecord {
    let mut fields = judgement.fields;
    for &field in Field::ALL {
        fields
            .entry(field)
            .or_insert_with(|| Reading::absent(field, "the plate does not seem to show it"));
    }
    NameplateRecord {
        class: judgement.class,
        fields,
        ratings: judgement.ratings,
        checks: judgement.checks,
        questions: judgement.questions,
        lines: page.lines.iter().map(text_line).collect(),
        ..NameplateRecord::default()
    }
}

fn text_line(line: &crate::text::Line) -> TextLine {
    TextLine {
        text: line.text.clone(),
        confidence: f64::from(line.confidence),
        quad: line.quad,
    }
}
