//! What stands in the EXIF segment of a JPEG: its orientation decides how the photo is turned.
#![no_main]

use image::ImageFormat;
use libfuzzer_sys::fuzz_target;
use platewright::photo::{Limits, Photo, measure};
use platewright_fuzz::{plant, tiny};
use std::sync::LazyLock;

fuzz_target!(
    init: plant(|| {
        // Big and little endian, with the tag of the orientation (CIPA DC-008, 0x0112).
        vec![
            b"MM\0\x2A\0\0\0\x08\0\x01\x01\x12\0\x03\0\0\0\x01\0\x06\0\0\0\0\0\0".to_vec(),
            b"II\x2A\0\x08\0\0\0\x01\0\x12\x01\x03\0\x01\0\0\0\x08\0\0\0\0\0\0\0".to_vec(),
        ]
    }),
    |data: &[u8]| {
        static PLAIN: LazyLock<Vec<u8>> = LazyLock::new(|| tiny(ImageFormat::Jpeg));
        let Ok(length) = u16::try_from(data.len() + 8) else {
            return;
        };
        let mut bytes = vec![0xFF, 0xD8, 0xFF, 0xE1];
        bytes.extend(length.to_be_bytes());
        bytes.extend(b"Exif\0\0");
        bytes.extend(data);
        bytes.extend(&PLAIN[2..]);
        let limits = Limits::default();
        let photo = Photo::from_bytes(&bytes, &limits).expect("what a photo says of itself never loses it");
        assert_eq!(measure(&bytes, &limits).ok(), Some(photo.size()));
    }
);
