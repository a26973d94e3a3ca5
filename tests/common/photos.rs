//! Photos for tests of many: one small plate, each copy another file.

#![allow(dead_code)] // each test file uses its part

use image::{DynamicImage, ImageFormat, Rgb};
use std::fs;
use std::io::Cursor;
use std::path::{Path, PathBuf};

/// A small photo of a plate; each number gives another file.
pub fn photo(number: u8) -> Vec<u8> {
    thread_local! {
        static PLATE: DynamicImage = image::open(super::common::fixture("plates/02-easy-boxed-grid-printed.jpg"))
            .unwrap()
            .thumbnail(640, 480);
    }
    let mut image = PLATE.with(|plate| plate.to_rgb8());
    for (x, y) in (0..4).flat_map(|x| (0..4).map(move |y| (x, y))) {
        image.put_pixel(x, y, Rgb([number; 3]));
    }
    let mut bytes = Cursor::new(Vec::new());
    image.write_to(&mut bytes, ImageFormat::Png).unwrap();
    bytes.into_inner()
}

/// A folder with so many photos.
pub fn log(folder: &Path, photos: u8) -> PathBuf {
    let source = folder.join("log");
    fs::create_dir(&source).unwrap();
    for number in 0..photos {
        fs::write(source.join(format!("{number:03}.png")), photo(number)).unwrap();
    }
    source
}
