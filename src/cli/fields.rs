//! `platewright fields`: records from lines of text that any OCR engine wrote.

use super::Done;
use super::read::{print, print_error, probability};
use crate::check;
use crate::read::from_page;
use crate::text::exchange::{self, ExchangeError, LARGEST_FILE, Sheet};
use anyhow::Result;
use clap::Args as ClapArgs;
use std::fs::File;
use std::io::{self, BufWriter, Read};
use std::path::{Path, PathBuf};

/// Read the fields out of text that an OCR engine wrote as hOCR or ALTO XML, one page a plate.
#[derive(Debug, ClapArgs)]
pub(super) struct Args {
    /// Files in hOCR or ALTO XML.
    #[arg(required = true, value_name = "LINES")]
    lines: Vec<PathBuf>,
    /// Print one JSON object a page, for machines.
    #[arg(long)]
    json: bool,
    /// Print the evidence too: every line of text, the checks, the other ways to read a value.
    #[arg(long, conflicts_with = "json")]
    explain: bool,
    /// Probability from which a reading counts as clear.
    #[arg(long, value_name = "P", default_value_t = check::Settings::default().clear, value_parser = probability)]
    clear: f64,
}

/// Why a file of lines gives no record.
#[derive(Debug, thiserror::Error)]
enum LinesError {
    #[error("{name}: {source}; give a file in hOCR or ALTO XML")]
    File { name: String, source: io::Error },
    #[error("{name}: {source}")]
    Content { name: String, source: ExchangeError },
    #[error("{name}: there is no text in it")]
    NoText { name: String },
}

impl LinesError {
    fn kind(&self) -> &'static str {
        match self {
            LinesError::File { source, .. } => match source.kind() {
                io::ErrorKind::NotFound => "not_found",
                io::ErrorKind::PermissionDenied => "permission",
                io::ErrorKind::IsADirectory => "directory",
                _ => "file",
            },
            LinesError::Content { source, .. } => source.kind(),
            LinesError::NoText { .. } => "no_text",
        }
    }
}

pub(super) fn run(args: &Args) -> Result<Done> {
    let settings = check::Settings { clear: args.clear };
    let mut out = BufWriter::new(io::stdout().lock());
    let mut done = Done::Fully;
    let mut failed = |out: &mut _, path: &Path, error: LinesError| {
        done = Done::Partly;
        print_error(out, path, error.kind(), error.to_string(), args.json)
    };
    for path in &args.lines {
        let sheets = match load(path) {
            Ok(sheets) => sheets,
            Err(error) => {
                failed(&mut out, path, error)?;
                continue;
            }
        };
        for (at, sheet) in sheets.iter().enumerate() {
            let name = match sheets.len() {
                1 => path.display().to_string(),
                _ => format!("{}#page={}", path.display(), at + 1),
            };
            if sheet.page.lines.is_empty() {
                let page = PathBuf::from(&name);
                failed(&mut out, &page, LinesError::NoText { name })?;
                continue;
            }
            let mut record = from_page(&sheet.page, &settings);
            record.file = Some(name);
            print(&mut out, &record, args.json, args.explain)?;
        }
    }
    Ok(done)
}

fn load(path: &Path) -> Result<Vec<Sheet>, LinesError> {
    let name = || path.display().to_string();
    let mut bytes = Vec::new();
    File::open(path)
        .and_then(|file| file.take(LARGEST_FILE as u64 + 1).read_to_end(&mut bytes))
        .map_err(|source| LinesError::File {
            name: name(),
            source,
        })?;
    exchange::parse(&bytes).map_err(|source| LinesError::Content {
        name: name(),
        source,
    })
}
