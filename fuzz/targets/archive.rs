//! A zip archive.
#![no_main]

use image::ImageFormat;
use libfuzzer_sys::fuzz_target;
use platewright::intake::{Item, Limits, Stop, Walk};
use platewright_fuzz::{plant, tiny, zip};
use std::ops::ControlFlow;

fuzz_target!(
    init: plant(|| {
        let photo = tiny(ImageFormat::Jpeg);
        let inner = zip(&[("b.jpg", &photo)]);
        let mail = b"Subject: x\r\nContent-Type: image/png\r\n\r\n\x89PNG".as_slice();
        vec![
            zip(&[("../a.jpg", &photo), ("notes.txt", b"x")]),
            zip(&[("in.zip", &inner), ("a.eml", mail)]),
        ]
    }),
    |data: &[u8]| {
        let folder = tempfile::tempdir().expect("a folder");
        let path = folder.path().join("a.zip");
        std::fs::write(&path, data).expect("a file");
        let limits = Limits {
            archive_bytes: 4 << 20,
            nested_bytes: 1 << 20,
            ..Limits::default()
        };
        let mut unpacked = 0;
        let mut each = |item| {
            if let Item::Photo(found) = item {
                unpacked += found.bytes.len() as u64;
            }
            ControlFlow::Continue(())
        };
        let _ = Walk::new(&limits, None, &Stop::default(), &mut each).source(&path);
        // Each archive inside has its own allowance, at most so many deep.
        assert!(unpacked <= limits.archive_bytes * u64::from(limits.depth + 1));
    }
);
