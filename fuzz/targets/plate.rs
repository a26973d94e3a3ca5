//! Lines of text anywhere on a photo: labels, values, and which belong together.
#![no_main]

use arbitrary::Arbitrary;
use libfuzzer_sys::fuzz_target;
use platewright::check::Settings;
use platewright::photo::{Point, Quad};
use platewright::read::from_page;
use platewright::text::{Lattice, Line, Page};
use platewright_fuzz::go_on;

/// A line of text with its place.
#[derive(Debug, Arbitrary)]
struct Written {
    /// Words of plates, so that labels are met often.
    words: Vec<Word>,
    at: (u16, u16),
    height: u8,
    turned: i8,
}

#[derive(Debug, Arbitrary)]
enum Word {
    Known(u8),
    Number(u16),
    Decimal(u8, u8),
    Range(u8, u8, u8),
    Free(String),
}

const KNOWN: &[&str] = &[
    "HP",
    "VOLTS",
    "AMPS",
    "RPM",
    "HZ",
    "PH",
    "FRAME",
    "SF",
    "SFA",
    "INS",
    "CL",
    "ENCL",
    "DUTY",
    "CONT",
    "AMB",
    "40C",
    "CODE",
    "DESIGN",
    "NEMA",
    "NOM",
    "EFF",
    "PF",
    "CAP",
    "MFD",
    "VAC",
    "ROT",
    "CCW",
    "MODEL",
    "SER",
    "NO.",
    "KW",
    "TEFC",
    "TEAO",
    "AIR OVER",
    "208-230/460",
    "1/2",
    "184T",
    "56",
    "B",
    "F",
    "/",
    "-",
    ".",
    ":",
    "V",
    "A",
    "FLA",
    "THERMALLY PROTECTED",
    "TYPE",
    "IP55",
    "~",
    "cos φ",
    "min-1",
    "1725",
    "6.8/3.4",
];

impl Word {
    fn text(&self) -> String {
        match self {
            Word::Known(i) => KNOWN[usize::from(*i) % KNOWN.len()].to_owned(),
            Word::Number(n) => n.to_string(),
            Word::Decimal(a, b) => format!("{a}.{b}"),
            Word::Range(a, b, c) => format!("{a}-{b}/{c}"),
            Word::Free(text) => text.chars().take(40).collect(),
        }
    }
}

fn line(written: &Written) -> Line {
    let words: Vec<String> = written.words.iter().take(12).map(Word::text).collect();
    let text = words.join(" ");
    let (x, y) = (f32::from(written.at.0), f32::from(written.at.1));
    let height = f32::from(written.height);
    let width = 0.5 * height * text.chars().count() as f32;
    let (sin, cos) = (f32::from(written.turned) / 40.0).sin_cos();
    let corner = |dx: f32, dy: f32| Point {
        x: x + dx * cos - dy * sin,
        y: y + dx * sin + dy * cos,
    };
    let quad = Quad([
        corner(0.0, 0.0),
        corner(width, 0.0),
        corner(width, height),
        corner(0.0, height),
    ]);
    Line::new(Lattice::from_text(&text), quad)
}

fuzz_target!(|written: Vec<Written>| {
    let page = Page {
        lines: written.iter().take(60).map(line).collect(),
        size: (4000, 3000),
        ..Page::default()
    };
    let record = from_page(&page, &Settings::default());
    for (field, reading) in &record.fields {
        assert!(
            (0.0..=1.0).contains(&reading.confidence),
            "{field:?}: {reading:?}"
        );
    }
    let _ = go_on(&record);
});
