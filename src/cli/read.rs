//! `platewright read`: photos into records.

use super::desk::{cores, one_a_core};
use super::output::Progress;
use super::{Done, annotate, in_order, show};
use crate::read::{ReadError, Settings, read, read_same_motor, read_text};
use crate::record::NameplateRecord;
use crate::text::exchange::{self, Format, Sheet};
use crate::text::{ModelSource, Reader};
use anyhow::{Context, Result, bail};
use clap::Args as ClapArgs;
use serde::Serialize;
use std::io::{self, BufWriter, Write};
use std::path::{Path, PathBuf};

/// Read the nameplate on each photo.
#[derive(Debug, ClapArgs)]
pub(super) struct Args {
    /// Photos: JPEG, PNG, WebP, TIFF or HEIC.
    #[arg(required = true, value_name = "PHOTO")]
    photos: Vec<PathBuf>,
    /// Print one JSON object a line, for machines.
    #[arg(long)]
    json: bool,
    /// Print the evidence too: every line of text, the checks, the other ways to read a value.
    #[arg(long, conflicts_with = "json")]
    explain: bool,
    /// Print the lines of text as one ALTO XML document, a page a photo; nothing is judged.
    #[arg(long, conflicts_with_all = ["json", "explain", "annotate", "same_motor", "hocr"])]
    alto: bool,
    /// Print the lines of text as one hOCR document, a page a photo; nothing is judged.
    #[arg(long, conflicts_with_all = ["json", "explain", "annotate", "same_motor"])]
    hocr: bool,
    /// Draw boxes and readings on the photo and save it here as PNG (one photo only).
    #[arg(long, value_name = "OUT.png")]
    annotate: Option<PathBuf>,
    /// All photos show the same motor: merge what they say into one record.
    #[arg(long, conflicts_with = "annotate")]
    same_motor: bool,
    #[command(flatten)]
    reading: ReadingArgs,
}

/// How photos are read; shared by all subcommands that do.
#[derive(Debug, ClapArgs)]
pub(super) struct ReadingArgs {
    /// Read with the models in this folder instead of the built-in ones.
    #[arg(long, value_name = "DIR")]
    models: Option<PathBuf>,
    /// Look at the photo at low resolution only: faster, misses small print.
    #[arg(long)]
    fast: bool,
    /// Probability from which a reading counts as clear where both readers agree on it; where only one has read it, half
    /// the doubt is left, and two thirds of it for a model or serial number.
    #[arg(long, value_name = "P", default_value_t = crate::check::Settings::default().clear, value_parser = probability)]
    clear: f64,
}

pub(super) fn probability(text: &str) -> Result<f64, String> {
    match text.parse::<f64>() {
        Ok(p) if (0.5..1.0).contains(&p) => Ok(p),
        _ => Err("expected a probability from 0.5 to below 1, such as 0.99".to_owned()),
    }
}

impl ReadingArgs {
    /// Where the models come from.
    pub(super) fn source(&self) -> ModelSource {
        match &self.models {
            Some(folder) => ModelSource::Dir(folder.clone()),
            None => ModelSource::Embedded,
        }
    }

    /// The models, loaded.
    pub(super) fn reader(&self) -> Result<Reader> {
        Reader::load(&self.source()).context("the models could not be loaded")
    }

    /// Limits and thresholds.
    pub(super) fn settings(&self) -> Settings {
        let mut settings = Settings::default();
        settings.text.fast = self.fast;
        settings.check.clear = self.clear;
        settings
    }
}

pub(super) fn run(args: &Args) -> Result<Done> {
    if args.annotate.is_some() && args.photos.len() > 1 {
        bail!(
            "--annotate takes one photo, {} were given; call it once a photo",
            args.photos.len()
        );
    }
    let reader = args.reading.reader()?;
    let settings = args.reading.settings();
    let format = match (args.alto, args.hocr) {
        (true, _) => Some(Format::Alto),
        (_, true) => Some(Format::Hocr),
        _ => None,
    };
    if let Some(format) = format {
        return write_text(&args.photos, format, &reader, &settings);
    }
    let mut out = BufWriter::new(io::stdout().lock());
    let mut done = Done::Fully;
    if args.same_motor {
        let read = read_same_motor(&args.photos, &reader, &settings);
        for (path, error) in &read.failures {
            done = Done::Partly;
            print_failure(&mut out, path, error, args.json)?;
        }
        if let Some(record) = read.record {
            print(&mut out, &record, args.json, args.explain)?;
        }
        return Ok(done);
    }
    let progress = Progress::new(args.photos.len(), "photos");
    let hands = hands(&args.photos);
    let settings = one_a_core(settings, hands);
    in_order::each(
        &args.photos,
        hands,
        |path| read(path, &reader, &settings),
        |path, read| {
            match read {
                Ok(record) => {
                    progress.pause(|| print(&mut out, &record, args.json, args.explain))?;
                    if let Some(target) = &args.annotate {
                        annotate::save(path, &settings.limits, &record, target)?;
                    }
                }
                Err(error) => {
                    done = Done::Partly;
                    progress.pause(|| print_failure(&mut out, path, &error, args.json))?;
                }
            }
            progress.step();
            Ok(())
        },
    )?;
    Ok(done)
}

/// How many photos are read at a time. A photo as large as any may be takes several hundred megabytes while it is read,
/// which is why there is a most.
fn hands(photos: &[PathBuf]) -> usize {
    const MOST: usize = 8;
    cores().min(photos.len()).clamp(1, MOST)
}

/// Writes the text of all photos as one document. A photo that cannot be read is missing in it, and said.
fn write_text(
    photos: &[PathBuf],
    format: Format,
    reader: &Reader,
    settings: &Settings,
) -> Result<Done> {
    let mut done = Done::Fully;
    let mut sheets = Vec::new();
    let progress = Progress::new(photos.len(), "photos");
    let hands = hands(photos);
    let settings = one_a_core(settings.clone(), hands);
    in_order::each(
        photos,
        hands,
        |path| read_text(path, reader, &settings),
        |path, read| {
            match read {
                Ok(page) => sheets.push(Sheet {
                    image: Some(path.display().to_string()),
                    page,
                }),
                Err(error) => {
                    done = Done::Partly;
                    progress.pause(|| eprintln!("platewright: {error}"));
                }
            }
            progress.step();
            Ok(())
        },
    )?;
    if !sheets.is_empty() {
        let mut out = BufWriter::new(io::stdout().lock());
        exchange::write(format, &sheets, &mut out)?;
        out.flush()?;
    }
    Ok(done)
}

/// Prints a record as a table or as a line of JSON.
pub(super) fn print(
    out: &mut impl Write,
    record: &NameplateRecord,
    json: bool,
    explain: bool,
) -> Result<()> {
    if json {
        serde_json::to_writer(&mut *out, record)?;
        writeln!(out)?;
    } else {
        show::record(out, record, explain)?;
    }
    Ok(out.flush()?)
}

/// The JSON line of a photo that could not be read.
#[derive(Serialize)]
struct Failure<'a> {
    file: String,
    error: FailureDetail,
    /// Of a log page: a record a row.
    #[serde(skip_serializing_if = "Option::is_none")]
    rows: Option<&'a [NameplateRecord]>,
}

#[derive(Serialize)]
struct FailureDetail {
    kind: &'static str,
    message: String,
}

/// Says which photo could not be read and why: as its JSON line, or on the error stream.
pub(super) fn print_failure(
    out: &mut impl Write,
    path: &Path,
    error: &ReadError,
    json: bool,
) -> Result<()> {
    let rows = match error {
        ReadError::LogPage { rows, .. } => Some(rows.as_slice()),
        _ => None,
    };
    print_what(out, path, error.kind(), error.to_string(), rows, json)
}

/// The same for any file and error.
pub(super) fn print_error(
    out: &mut impl Write,
    path: &Path,
    kind: &'static str,
    message: String,
    json: bool,
) -> Result<()> {
    print_what(out, path, kind, message, None, json)
}

fn print_what(
    out: &mut impl Write,
    path: &Path,
    kind: &'static str,
    message: String,
    rows: Option<&[NameplateRecord]>,
    json: bool,
) -> Result<()> {
    if json {
        let failure = Failure {
            file: path.display().to_string(),
            error: FailureDetail { kind, message },
            rows,
        };
        serde_json::to_writer(&mut *out, &failure)?;
        writeln!(out)?;
    } else {
        out.flush()?;
        eprintln!("platewright: {message}");
    }
    Ok(out.flush()?)
}
