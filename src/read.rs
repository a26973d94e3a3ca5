//! The chain from a photo to a record: the one place where the stages are put together.

use crate::check::{self, Judgement};
use crate::photo::{Likeness, Limits, Photo, PhotoError, Point, Pyramid, Quad};
use crate::plate::log::{self, Log, LogRow};
use crate::plate::{self, Plate};
use crate::record::{Field, LogNote, NameplateRecord, PlateCode, Reading, State, TextLine};
use crate::text::{self, LookOptions, Page, ReadOptions, Reader, TextError, hand};
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

/// From this confidence on a second opinion changed no measure on 317 plates (217 of the calibration split, 100 unseen
/// ones): it is spared half of the lines with fields.
const BEYOND_DOUBT: f64 = 0.999;

/// What a photo may cost, how it is read, and when a reading counts as clear.
#[derive(Debug, Clone)]
pub struct Settings {
    /// Limits on files and pixels.
    pub limits: Limits,
    /// Longest time for a photo, where many are read one after the other: what takes longer has failed.
    pub time: Duration,
    /// How text is found and read.
    pub text: ReadOptions,
    /// In which ways a doubtful place is looked at again.
    pub looks: LookOptions,
    /// When a reading counts as clear.
    pub check: check::Settings,
}

impl Default for Settings {
    fn default() -> Settings {
        Settings {
            limits: Limits::default(),
            // A hundred times what a phone's photo takes on one core.
            time: Duration::from_secs(120),
            text: ReadOptions::default(),
            looks: LookOptions::default(),
            check: check::Settings::default(),
        }
    }
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
    /// It shows handwriting.
    #[error(
        "{name}: this is handwriting, or print too blurred to be read, and nothing of it is guessed. Type it into a table (CSV) or photograph it again in focus; nameplates are best photographed one by one"
    )]
    Handwriting {
        /// The photo's name.
        name: String,
    },
    /// It shows a page of a log, a motor a row.
    #[error(
        "{name}: this is a log page with {} rows, not one nameplate. `platewright batch` takes it into a store with a record for every row",
        rows.len()
    )]
    LogPage {
        /// The photo's name.
        name: String,
        /// A record for every row, from the top down.
        rows: Vec<NameplateRecord>,
    },
}

impl ReadError {
    /// A short word for the kind of error, for machines; it stays the same over versions.
    pub fn kind(&self) -> &'static str {
        match self {
            ReadError::Photo(error) => error.kind(),
            ReadError::Text { .. } => "reader",
            ReadError::NoText { .. } => "no_text",
            ReadError::Handwriting { .. } => "handwriting",
            ReadError::LogPage { .. } => "log_page",
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
    let seen = see(path, reader, settings)?;
    let judgement = check::judge(&seen.plate, &settings.check);
    let mut record = into_record(judgement, &seen.page);
    record.file = Some(path.display().to_string());
    record.sha256 = Some(seen.sha256);
    record.ms = Some(milliseconds(started));
    Ok(record)
}

/// What came of reading several photos of one motor.
#[derive(Debug)]
pub struct SameMotor {
    /// What they show together; `None` where none could be read.
    pub record: Option<NameplateRecord>,
    /// Those that could not be read, with their reasons.
    pub failures: Vec<(PathBuf, ReadError)>,
    /// What the others look like, each with the SHA-256 of its file.
    pub likenesses: Vec<(String, Likeness)>,
}

/// Reads several photos of one motor into one record. Its lines and places say on which of the photos they are;
/// photos that cannot be read are given back with their reasons, and fail the record only if none is left.
pub fn read_same_motor(paths: &[PathBuf], reader: &Reader, settings: &Settings) -> SameMotor {
    let started = Instant::now();
    let mut photos = Vec::new();
    let mut failures = Vec::new();
    for (number, path) in (0..).zip(paths) {
        match see(path, reader, settings) {
            Ok(seen) => photos.push((number, seen)),
            Err(error) => failures.push((path.clone(), error)),
        }
    }
    let Some((first, seen)) = photos.first() else {
        return SameMotor {
            record: None,
            failures,
            likenesses: Vec::new(),
        };
    };
    let plates: Vec<Plate> = photos.iter().map(|(_, seen)| seen.plate.clone()).collect();
    // One photo reads the same here as by itself.
    let fused = match plates.as_slice() {
        [one] => one.clone(),
        several => plate::fuse(several),
    };
    let mut record = into_record(check::judge(&fused, &settings.check), &seen.page);
    for (field, reading) in &mut record.fields {
        let shows = |plate: &Plate| reading.quad.is_some_and(|quad| stands(plate, *field, quad));
        let photo = photos.iter().find(|(_, seen)| shows(&seen.plate));
        reading.photo = photo.map_or(*first, |(number, _)| *number);
    }
    let lines = |(number, seen): &(u32, Seen)| {
        let lines: Vec<TextLine> = seen.page.lines.iter().map(text_line).collect();
        let photo = *number;
        lines
            .into_iter()
            .map(move |line| TextLine { photo, ..line })
    };
    record.lines = photos.iter().flat_map(lines).collect();
    record.file = paths
        .get(*first as usize)
        .map(|path| path.display().to_string());
    record.sha256 = Some(seen.sha256.clone());
    record.ms = Some(milliseconds(started));
    let likeness = |(_, seen): (u32, Seen)| (seen.sha256, seen.likeness);
    SameMotor {
        record: Some(record),
        failures,
        likenesses: photos.into_iter().map(likeness).collect(),
    }
}

/// Whether a field stands on a plate at this place: of several photos the fused one keeps the place of one.
fn stands(plate: &Plate, field: Field, quad: Quad) -> bool {
    let read = plate.fields.get(&field).map(|reading| reading.quad);
    let label = plate.unreadable.get(&field).copied();
    [read, label].contains(&Some(quad))
}

fn milliseconds(started: Instant) -> u64 {
    u64::try_from(started.elapsed().as_millis()).unwrap_or(u64::MAX)
}

/// What one photo shows, before it is judged.
struct Seen {
    sha256: String,
    likeness: Likeness,
    page: Page,
    plate: Plate,
}

/// Reads the text of a photo and what the plate on it says, with a second look where that is doubtful.
fn see(path: &Path, reader: &Reader, settings: &Settings) -> Result<Seen, ReadError> {
    let photo = Photo::open(path, &settings.limits)?;
    let pyramid = Pyramid::new(&photo.pixels);
    let mut page = text_of(path, &pyramid, reader, settings)?;
    let by_hand = || ReadError::Handwriting {
        name: path.display().to_string(),
    };
    if let Some(log) = log_on(&page, settings) {
        if hand::is_handwritten(&page, hand::Found::Table) {
            return Err(by_hand());
        }
        return Err(ReadError::LogPage {
            name: path.display().to_string(),
            rows: rows(path, (&photo, &pyramid), &page, log, reader, settings)?,
        });
    }
    if !settings.text.fast {
        page.codes = text::find_codes(&photo, &page);
    }
    let failed = |source| ReadError::Text {
        name: path.display().to_string(),
        source,
    };
    let mut plate = plate::parse(&page);
    if hand::is_handwritten(&page, hand::Found::Fields(plate.fields.len())) {
        return Err(by_hand());
    }
    if !settings.text.fast {
        let labels = plate.unreadable.iter();
        let labels: Vec<(Quad, &str)> = labels
            .map(|(&field, &quad)| (quad, plate::lone_figures(field)))
            .collect();
        let missed = reader
            .look_beside(&pyramid, &page, &labels)
            .map_err(failed)?;
        if !missed.is_empty() {
            page.lines.extend(missed);
            plate = plate::parse(&page);
        }
        plate = look_closer(&pyramid, &page, plate, reader, settings).map_err(failed)?;
    }
    Ok(Seen {
        likeness: Likeness::of(&pyramid),
        sha256: photo.sha256,
        page,
        plate,
    })
}

/// The log on a page, where its table is more than the rating table of one plate. Five plates of the unseen split in which a table
/// was seen had 29 to 38 lines and 6 to 15 clear fields; log pages, typed or written, 70 lines and more, and at most 4.
fn log_on(page: &Page, settings: &Settings) -> Option<Log> {
    const LINES: usize = 45;
    const CLEAR: usize = 5;
    if page.lines.len() < LINES {
        return None;
    }
    let log = log::parse(page)?;
    let judgement = check::judge(&plate::parse(page), &settings.check);
    let clear = |r: &&Reading| r.state == State::Clear;
    (judgement.fields.values().filter(clear).count() <= CLEAR).then_some(log)
}

/// The records of a log page's rows, each once the second reader has read it as well.
fn rows(
    path: &Path,
    (photo, pyramid): (&Photo, &Pyramid),
    page: &Page,
    log: Log,
    reader: &Reader,
    settings: &Settings,
) -> Result<Vec<NameplateRecord>, ReadError> {
    let started = Instant::now();
    let failed = |source| ReadError::Text {
        name: path.display().to_string(),
        source,
    };
    let second = if settings.text.fast {
        None
    } else {
        let read = lines_at(page, log.words().map(|w| w.quad.center()));
        reader
            .second_opinion(pyramid, page, &read)
            .map_err(failed)?
    };
    let second = second.and_then(|page| log::parse(&page));
    let count = log.rows.len();
    let mut records = Vec::new();
    for (number, row) in (1..).zip(log.rows) {
        let LogRow { plate, other, quad } = row;
        let again = second.as_ref().and_then(|log| log.row_at(quad.center()));
        let plate = match again {
            Some(again) => plate::corroborate(&plate, &again.plate),
            None => plate,
        };
        let words = plate.words.clone();
        let mut record = into_record(check::judge(&plate, &settings.check), &Page::default());
        record.lines = words
            .into_iter()
            .map(|word| TextLine {
                text: word.text,
                confidence: f64::from(word.confidence),
                quad: word.quad,
                photo: 0,
            })
            .collect();
        record.log = Some(LogNote {
            row: number,
            other: other.into_iter().collect(),
        });
        record.file = Some(path.display().to_string());
        record.sha256 = Some(photo.sha256.clone());
        records.push(record);
    }
    // Of the page's time each row has its share.
    let ms = milliseconds(started) / count.max(1) as u64;
    records.iter_mut().for_each(|record| record.ms = Some(ms));
    Ok(records)
}

/// The plate once the second reader has read the lines with fields as well, and those that stay doubtful were
/// looked at in other ways.
fn look_closer(
    photo: &Pyramid,
    page: &Page,
    first: Plate,
    reader: &Reader,
    settings: &Settings,
) -> Result<Plate, TextError> {
    let read = worth_a_second(page, &first, &check::judge(&first, &settings.check));
    let second = reader.second_opinion(photo, page, &read)?.map(|page| {
        let mut plate = plate::parse(&page);
        // The other lines are the first reader's: they are no opinion of the second one.
        let own = |place: Point| read.iter().any(|&at| page.lines[at].quad.contains(place));
        plate.fields.retain(|_, seen| own(seen.quad.center()));
        plate
    });
    let with_second = |plate: Plate| match &second {
        Some(second) => plate::corroborate(&plate, second),
        None => plate,
    };
    let plate = with_second(first.clone());
    let judgement = check::judge(&plate, &settings.check);
    // What the layout leaves in doubt is so in every look.
    let layout = |field: &Field, reason: &String| {
        let place = plate.fields.get(field);
        place.is_some_and(|place| place.is_of_layout(reason))
    };
    let doubtful = judgement
        .fields
        .iter()
        .filter(|(field, reading)| {
            let mut reasons = reading.reasons.iter();
            reading.state == State::Doubtful && !reasons.all(|reason| layout(field, reason))
        })
        .filter_map(|(_, reading)| Some(reading.quad?.center()));
    let doubtful = lines_at(page, doubtful);
    if doubtful.is_empty() {
        return Ok(plate);
    }
    let looks = reader.look_again(photo, page, &doubtful, &settings.looks)?;
    let mut plates = vec![first];
    plates.extend(looks.iter().map(plate::parse));
    Ok(with_second(plate::average(&plates)))
}

/// The lines with fields that are not beyond doubt: those the second reader reads.
fn worth_a_second(page: &Page, plate: &Plate, judgement: &Judgement) -> Vec<usize> {
    let sure = |r: &Reading| r.state == State::Clear && r.confidence >= BEYOND_DOUBT;
    let worth = plate
        .fields
        .iter()
        .filter(|(field, _)| !judgement.fields.get(field).is_some_and(sure));
    lines_at(page, worth.map(|(_, seen)| seen.quad.center()))
}

/// The lines of a page in which places lie.
fn lines_at(page: &Page, places: impl Iterator<Item = Point>) -> Vec<usize> {
    let places: Vec<Point> = places.collect();
    (0..page.lines.len())
        .filter(|&at| places.iter().any(|p| page.lines[at].quad.contains(*p)))
        .collect()
}

/// The text of one photo, not judged.
pub fn read_text(path: &Path, reader: &Reader, settings: &Settings) -> Result<Page, ReadError> {
    let photo = Photo::open(path, &settings.limits)?;
    text_of(path, &Pyramid::new(&photo.pixels), reader, settings)
}

fn text_of(
    path: &Path,
    photo: &Pyramid,
    reader: &Reader,
    settings: &Settings,
) -> Result<Page, ReadError> {
    let name = path.display().to_string();
    match reader.read(photo, &settings.text) {
        Ok(page) if has_text(&page) => Ok(page),
        Ok(_) => Err(ReadError::NoText { name }),
        Err(source) => Err(ReadError::Text { name, source }),
    }
}

/// The record that follows from text, whoever read it.
pub fn from_page(page: &Page, settings: &check::Settings) -> NameplateRecord {
    into_record(check::judge(&plate::parse(page), settings), page)
}

/// Whether anything on the page can be a word or a number: bolts and scratches give single characters that
/// the recogniser itself does not believe.
fn has_text(page: &Page) -> bool {
    page.lines
        .iter()
        .any(|line| line.text.chars().count() >= 2 && line.confidence >= 0.5)
}

fn into_record(judgement: Judgement, page: &Page) -> NameplateRecord {
    NameplateRecord {
        class: judgement.class,
        fields: judgement.fields,
        ratings: judgement.ratings,
        checks: judgement.checks,
        questions: judgement.questions,
        lines: page.lines.iter().map(text_line).collect(),
        codes: page.codes.iter().map(plate_code).collect(),
        ..NameplateRecord::default()
    }
}

fn text_line(line: &crate::text::Line) -> TextLine {
    TextLine {
        text: line.text.clone(),
        confidence: f64::from(line.confidence),
        quad: line.quad,
        photo: 0,
    }
}

fn plate_code(code: &text::Code) -> PlateCode {
    PlateCode {
        symbology: code.symbology.name().to_owned(),
        text: code.text.clone(),
        quad: code.quad,
    }
}
