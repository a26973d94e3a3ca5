//! What the fuzz targets share: seeds made from the fixtures, and a motor and a stock list to go on with.

use image::{DynamicImage, ImageFormat};
use platewright::matching::{Matches, Place, Requirement, match_stock};
use platewright::record::NameplateRecord;
use platewright::stock::StockList;
use std::fs;
use std::io::{Cursor, Write};
use std::path::{Path, PathBuf};
use std::sync::LazyLock;
use zip::write::SimpleFileOptions;

/// Writes the seeds into the folder that `PLATEWRIGHT_SEEDS` names, where it is set.
pub fn plant(seeds: impl FnOnce() -> Vec<Vec<u8>>) {
    let Some(folder) = std::env::var_os("PLATEWRIGHT_SEEDS").map(PathBuf::from) else {
        return;
    };
    fs::create_dir_all(&folder).expect("the folder of seeds");
    for (i, seed) in seeds().iter().enumerate() {
        fs::write(folder.join(format!("seed-{i}")), seed).expect("a seed");
    }
}

/// A file of `fixtures/` or `tests/cases/`.
pub fn file(name: &str) -> Vec<u8> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("..");
    fs::read(root.join(name)).expect("a fixture")
}

/// A fixture's photo, so small that thousands a second can be decoded.
pub fn tiny(format: ImageFormat) -> Vec<u8> {
    let photo = image::load_from_memory(&file("fixtures/plates/02-easy-boxed-grid-printed.jpg"));
    let small = photo.expect("a photo").thumbnail(40, 30).to_rgb8();
    let mut bytes = Cursor::new(Vec::new());
    let small = DynamicImage::ImageRgb8(small);
    small.write_to(&mut bytes, format).expect("an encoder");
    bytes.into_inner()
}

/// An archive with these files.
pub fn zip(files: &[(&str, &[u8])]) -> Vec<u8> {
    let mut archive = zip::ZipWriter::new(Cursor::new(Vec::new()));
    for (name, bytes) in files {
        archive
            .start_file(*name, SimpleFileOptions::default())
            .expect("a name");
        archive.write_all(bytes).expect("memory");
    }
    archive.finish().expect("memory").into_inner()
}

/// Goes on from a record as the commands do: what is wanted, the candidates, and back to JSON.
pub fn go_on(record: &NameplateRecord) -> Matches {
    static STOCK: LazyLock<StockList> = LazyLock::new(|| {
        StockList::from_bytes(&file("tests/cases/shop.csv"), Path::new("shop.csv")).expect("a list")
    });
    let requirement = Requirement::new(record, Place::default());
    let _ = requirement.demands();
    match_stock(&requirement, &STOCK.motors)
}
