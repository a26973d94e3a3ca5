//! `platewright sheet`: the record, the candidates and the cautions on paper.

use super::Done;
use super::match_::{StockArgs, load_record};
use super::place::PlaceArgs;
use crate::matching::Requirement;
use crate::photo::{Limits, Photo};
use crate::pick::pick;
use crate::record::NameplateRecord;
use crate::sheet;
use anyhow::{Context, Result};
use clap::Args as ClapArgs;
use image::RgbImage;
use std::path::{Path, PathBuf};

/// Print the record of a plate, what it demands and the candidates on a sheet of paper.
#[derive(Debug, ClapArgs)]
pub(super) struct Args {
    #[command(flatten)]
    stock: StockArgs,
    /// A record: a line of `read --json`, or one written by hand; `-` reads standard input.
    #[arg(value_name = "RECORD")]
    record: PathBuf,
    /// Where the sheet is saved.
    #[arg(long, value_name = "OUT.pdf")]
    pdf: PathBuf,
    /// The photo of the plate; without it the one that the record names is looked for.
    #[arg(long, value_name = "PHOTO")]
    photo: Option<PathBuf>,
    #[command(flatten)]
    place: PlaceArgs,
}

pub(super) fn run(args: &Args) -> Result<Done> {
    let record = load_record(&args.record)?;
    let (list, mut done) = args.stock.load()?;
    let requirement = Requirement::new(&record, args.place.place());
    let matches = pick(&requirement, &list.motors);
    let photo = match photo(args, &record) {
        Ok(photo) => photo,
        Err(error) => {
            eprintln!("platewright: {error:#}; the sheet is made without it");
            done = Done::Partly;
            None
        }
    };
    let blocks = sheet::blocks(&record, &matches, &requirement.demands(), args.stock.most);
    let bytes = sheet::render(&blocks, photo.as_ref())?;
    std::fs::write(&args.pdf, bytes)
        .with_context(|| format!("{}: the sheet could not be saved", args.pdf.display()))?;
    Ok(done)
}

/// The piece of the photo with the plate: the given photo, or the one that the record names, as it was
/// called or beside the record.
fn photo(args: &Args, record: &NameplateRecord) -> Result<Option<RgbImage>> {
    let path = match (&args.photo, &record.file) {
        (Some(given), _) => given.clone(),
        (None, Some(named)) => {
            let beside = args.record.parent().map(|folder| folder.join(named));
            match beside.filter(|b| !Path::new(named).exists() && b.exists()) {
                Some(beside) => beside,
                None => PathBuf::from(named),
            }
        }
        (None, None) => return Ok(None),
    };
    let photo = Photo::open(&path, &Limits::default())?;
    if record
        .sha256
        .as_ref()
        .is_some_and(|sum| *sum != photo.sha256)
    {
        anyhow::bail!(
            "{}: this is not the photo that the record was read from",
            path.display()
        );
    }
    Ok(Some(sheet::plate(&photo.pixels, record)))
}
