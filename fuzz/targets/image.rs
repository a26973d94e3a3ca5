//! The bytes of a photo in any format.
#![no_main]

use image::ImageFormat;
use libfuzzer_sys::fuzz_target;
use platewright::photo::{Limits, Photo, measure};
use platewright_fuzz::{file, plant, tiny};

const LIMITS: Limits = Limits {
    bytes: 1 << 20,
    pixels: 1 << 20,
    decoded_bytes: 8 << 20,
};

fuzz_target!(
    init: plant(|| {
        let formats = [ImageFormat::Jpeg, ImageFormat::Png, ImageFormat::WebP, ImageFormat::Tiff];
        let mut seeds: Vec<Vec<u8>> = formats.map(tiny).into();
        seeds.push(file("fixtures/photos/turned.heic"));
        seeds
    }),
    |data: &[u8]| {
        let measured = measure(data, &LIMITS);
        if let Ok(photo) = Photo::from_bytes(data, &LIMITS) {
            let (width, height) = photo.size();
            assert!(u64::from(width) * u64::from(height) <= LIMITS.pixels);
            assert_eq!(measured.ok(), Some((width, height)));
        }
    }
);
