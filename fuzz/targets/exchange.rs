//! hOCR and ALTO of other engines.
#![no_main]

use libfuzzer_sys::fuzz_target;
use platewright::check::Settings;
use platewright::read::from_page;
use platewright::text::exchange::{Format, parse, write};
use platewright_fuzz::{file, plant};

fuzz_target!(
    init: plant(|| ["fixtures/lines/tesseract-alto.xml", "fixtures/lines/tesseract.hocr"].map(file).into()),
    |data: &[u8]| {
        let Ok(sheets) = parse(data) else {
            return;
        };
        for format in [Format::Alto, Format::Hocr] {
            let mut written = Vec::new();
            write(format, &sheets, &mut written).expect("memory");
            let again = parse(&written).unwrap_or_else(|e| panic!("{format:?}: {e}"));
            assert_eq!(again.len(), sheets.len(), "{format:?}");
        }
        for sheet in sheets.iter().filter(|s| s.page.lines.len() <= 60) {
            let _ = from_page(&sheet.page, &Settings::default());
        }
    }
);
