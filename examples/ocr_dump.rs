//! Prints what is read in photos as JSON Lines: `ocr_dump [--fast] [--threads N] [--models DIR] PHOTO...`.
//! With `--words` every photo is one upright crop of a word or line. Used by `scripts/bench`.

use std::io::Write;
use std::path::PathBuf;
use std::time::Instant;

use clap::Parser;
use platewright::photo::{Limits, Photo, Pyramid};
use platewright::text::{Line, ModelSource, ReadOptions, Reader};

#[derive(Parser)]
struct Options {
    photos: Vec<PathBuf>,
    #[arg(long)]
    words: bool,
    #[arg(long)]
    fast: bool,
    #[arg(long)]
    threads: Option<usize>,
    #[arg(long)]
    models: Option<PathBuf>,
}

fn main() -> anyhow::Result<()> {
    let given = Options::parse();
    let source = given.models.map_or(ModelSource::Embedded, ModelSource::Dir);
    let reader = Reader::load(&source)?;
    let options = ReadOptions {
        fast: given.fast,
        threads: given.threads,
    };
    let mut out = std::io::stdout().lock();
    for path in &given.photos {
        let start = Instant::now();
        let photo = Photo::open(path, &Limits::default())?;
        let lines = match given.words {
            true => vec![reader.read_line(&photo.pixels)?],
            false => reader.read(&Pyramid::new(&photo.pixels), &options)?.lines,
        };
        let lines: Vec<_> = lines.iter().map(as_json).collect();
        let ms = start.elapsed().as_millis() as u64;
        let row =
            serde_json::json!({ "file": path.display().to_string(), "lines": lines, "ms": ms });
        writeln!(out, "{row}")?;
    }
    Ok(())
}

fn as_json(line: &Line) -> serde_json::Value {
    serde_json::json!({ "text": line.text, "confidence": line.confidence, "quad": line.quad })
}
