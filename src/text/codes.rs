//! Codes on the photo: text in another script. QR codes, Data Matrix and linear codes are decoded with the
//! `rxing` library from the part of the photo that holds the plate, at moderate resolution.
//!
//! What a code says comes from whoever printed it. It is text to compare with and nothing else: never
//! followed as a link, never run, and without characters that could steer a terminal or turn text around.

use std::collections::HashSet;
use std::f32::consts::FRAC_PI_2;
use std::panic::{AssertUnwindSafe, catch_unwind};

use image::imageops::{self, FilterType};
use image::{GrayImage, RgbImage};
use imageproc::drawing::draw_polygon_mut;
use imageproc::point::Point as Pixel;
use rxing::common::{GlobalHistogramBinarizer, HybridBinarizer};
use rxing::{
    BarcodeFormat, BinaryBitmap, DecodeHints, Luma8Source, MultiFormatReader, RXingResult,
    RXingResultMetadataType,
};

use super::Page;
use super::direction::facing;
use crate::photo::{Photo, Point, Quad, project, projection};

/// Longer side of the picture in which codes are looked for, pixels. A code a twelfth as wide as the plate,
/// with 20 modules a side, still has 4 pixels a module.
const SIDE: f32 = 1000.0;
/// A picture smaller than this holds no code.
const SMALLEST: u32 = 24;
/// How far around the text codes may stand, as a part of the text's longer side.
const MARGIN: f32 = 0.12;
/// Rows in which linear codes are looked for: a code at least a 32nd as high as the plate is met.
const ROWS: u32 = 32;
/// At most so many codes are read from a photo.
const MOST: usize = 4;
/// At most so many characters of a code are kept.
const LONGEST: usize = 400;
/// Linear codes shorter than this are read into any stripes; no model or serial number is that short.
const SHORTEST: usize = 4;

/// How a code is drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Symbology {
    /// ISO/IEC 18004.
    QrCode,
    /// ISO/IEC 16022.
    DataMatrix,
    /// ISO/IEC 15417.
    Code128,
    /// ISO/IEC 16388.
    Code39,
    /// Another linear code with a check digit.
    Linear,
}

impl Symbology {
    /// Its name in the JSON of a record.
    pub fn name(self) -> &'static str {
        match self {
            Symbology::QrCode => "QR Code",
            Symbology::DataMatrix => "Data Matrix",
            Symbology::Code128 => "Code 128",
            Symbology::Code39 => "Code 39",
            Symbology::Linear => "linear",
        }
    }
}

/// What a person calls it.
impl std::fmt::Display for Symbology {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(match self {
            Symbology::QrCode => "QR code",
            Symbology::DataMatrix => "Data Matrix code",
            Symbology::Code128 | Symbology::Code39 | Symbology::Linear => "bar code",
        })
    }
}

/// A code and what it says.
#[derive(Debug, Clone, PartialEq)]
pub struct Code {
    /// How it is drawn.
    pub symbology: Symbology,
    /// What it says, without control characters, at most 400 characters.
    pub text: String,
    /// About where it stands, in pixels of the photo.
    pub quad: Quad,
}

/// The codes around the text of a photo, in reading direction. Costs about as much as reading two lines.
pub fn find_codes(photo: &Photo, page: &Page) -> Vec<Code> {
    let widest = page
        .lines
        .iter()
        .max_by(|a, b| a.quad.width().total_cmp(&b.quad.width()));
    let (Some(text), Some(widest)) = (page.plate, widest) else {
        return Vec::new();
    };
    around(&photo.pixels, &text, widest.quad.angle())
}

/// The codes in and around a part of a picture whose text reads in `direction` (radians).
fn around(pixels: &RgbImage, text: &Quad, direction: f32) -> Vec<Code> {
    let Some(place) = Quad::around([text]) else {
        return Vec::new();
    };
    let margin = MARGIN * place.width().max(place.height());
    let [a, _, c, _] = place.0;
    let (w, h) = (pixels.width() as f32, pixels.height() as f32);
    let (left, top) = ((a.x - margin).clamp(0.0, w), (a.y - margin).clamp(0.0, h));
    let (right, bottom) = ((c.x + margin).clamp(0.0, w), (c.y + margin).clamp(0.0, h));
    let (width, height) = ((right - left) as u32, (bottom - top) as u32);
    if width.min(height) < SMALLEST {
        return Vec::new();
    }
    let fine = grey(pixels, left as u32, top as u32, width, height);
    let scale = (SIDE / fine.width().max(fine.height()) as f32).min(1.0);
    let side = |length: u32| ((length as f32 * scale) as u32).max(SMALLEST);
    let (w, h) = (side(fine.width()), side(fine.height()));
    let coarse = imageops::thumbnail(&fine, w, h);

    let (left, top) = (left.floor(), top.floor());
    let (right, bottom) = (left + width as f32, top + height as f32);
    let place = Quad([[left, top], [right, top], [right, bottom], [left, bottom]].map(Point::from));
    // Linear codes are read along the rows, so the text is brought upright, to the next quarter.
    let quarters = (direction / FRAC_PI_2).round().rem_euclid(4.0) as u32;
    let place = facing(&place, quarters as f32 * FRAC_PI_2);
    let upright = |picture: GrayImage| match quarters {
        1 => imageops::rotate270(&picture),
        2 => imageops::rotate180(&picture),
        3 => imageops::rotate90(&picture),
        _ => picture,
    };
    let mut codes = read(upright(coarse), &[QR_CODE, DATA_MATRIX], &place);
    codes.extend(read(upright(fine), &[Kind::Linear], &place));
    codes.truncate(MOST);
    codes
}

/// A part of a picture in grey, its longer side less than twice [`SIDE`].
fn grey(pixels: &RgbImage, left: u32, top: u32, width: u32, height: u32) -> GrayImage {
    let part = imageops::crop_imm(pixels, left, top, width, height);
    let smaller = width.max(height) / SIDE as u32;
    if smaller < 2 {
        return imageops::grayscale(&*part);
    }
    imageops::grayscale(&imageops::thumbnail(
        &*part,
        width / smaller,
        height / smaller,
    ))
}

/// The codes of some kinds in a grey picture of `place`.
fn read(mut picture: GrayImage, kinds: &[Kind], place: &Quad) -> Vec<Code> {
    let (width, height) = (picture.width() as f32, picture.height() as f32);
    let Some(to_photo) = projection(place, width, height) else {
        return Vec::new();
    };
    let mut codes: Vec<Code> = Vec::new();
    for &kind in kinds {
        while let Some(mut code) = decode(&picture, kind).filter(|_| codes.len() < MOST) {
            if codes.iter().any(|c| c.text == code.text) {
                break;
            }
            let corners = code
                .quad
                .0
                .map(|p| Pixel::new(p.x.round() as i32, p.y.round() as i32));
            code.quad = Quad(code.quad.0.map(|p| project(&to_photo, p)));
            codes.push(code);
            // Painted over, so that the next look finds the next code. A polygon ends before it begins.
            if corners[0] == corners[3] {
                break;
            }
            draw_polygon_mut(&mut picture, &corners, image::Luma([255]));
        }
    }
    codes
}

/// What is looked for at once.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Kind {
    Matrix(BarcodeFormat),
    Linear,
}

const QR_CODE: Kind = Kind::Matrix(BarcodeFormat::QR_CODE);
const DATA_MATRIX: Kind = Kind::Matrix(BarcodeFormat::DATA_MATRIX);

fn decode(picture: &GrayImage, kind: Kind) -> Option<Code> {
    let formats: HashSet<BarcodeFormat> = match kind {
        Kind::Matrix(format) => HashSet::from([format]),
        // Those with a check digit or a start and stop pattern of their own; the others are found in any
        // row of letters.
        Kind::Linear => HashSet::from([
            BarcodeFormat::CODE_128,
            BarcodeFormat::CODE_39,
            BarcodeFormat::CODE_93,
            BarcodeFormat::EAN_13,
            BarcodeFormat::UPC_A,
        ]),
    };
    let hints = DecodeHints {
        PossibleFormats: Some(formats),
        TryHarder: Some(true),
        ..DecodeHints::default()
    };
    // The library is large and young, and the picture is anybody's: should it panic, the code is not read
    // and the photo still is. The panic's message still goes to the error stream.
    let found = catch_unwind(AssertUnwindSafe(|| with_library(picture, &hints, kind))).ok()??;
    let text = clean(found.getText());
    let symbology = match found.getBarcodeFormat() {
        BarcodeFormat::QR_CODE => Symbology::QrCode,
        BarcodeFormat::DATA_MATRIX => Symbology::DataMatrix,
        BarcodeFormat::CODE_128 => Symbology::Code128,
        BarcodeFormat::CODE_39 => Symbology::Code39,
        _ => Symbology::Linear,
    };
    let least = if kind == Kind::Linear { SHORTEST } else { 1 };
    let quad = place(&points(&found, picture, kind))?;
    (text.chars().count() >= least).then_some(Code {
        symbology,
        text,
        quad,
    })
}

fn with_library(picture: &GrayImage, hints: &DecodeHints, kind: Kind) -> Option<RXingResult> {
    let rows;
    let source = match kind {
        Kind::Matrix(_) => picture,
        Kind::Linear => {
            rows = imageops::resize(picture, picture.width(), ROWS, FilterType::Nearest);
            &rows
        }
    };
    let (width, height) = source.dimensions();
    let source = Luma8Source::new_with_slice(source.as_raw(), width, height).ok()?;
    let mut reader = MultiFormatReader::default();
    reader.set_hints(hints);
    match kind {
        // Squares are compared with what surrounds them, stripes with their row.
        Kind::Matrix(_) => {
            reader.decode_with_state(&mut BinaryBitmap::new(HybridBinarizer::new(source)))
        }
        Kind::Linear => reader.decode_with_state(&mut BinaryBitmap::new(
            GlobalHistogramBinarizer::new(source),
        )),
    }
    .ok()
}

/// The points that the library found, in pixels of the picture.
fn points(found: &RXingResult, picture: &GrayImage, kind: Kind) -> Vec<Point> {
    let point = |p: &rxing::Point| Point { x: p.x, y: p.y };
    let mut points: Vec<Point> = found.getPoints().iter().map(point).collect();
    if kind != Kind::Linear {
        return points;
    }
    for p in &mut points {
        p.y = (p.y + 0.5) * picture.height() as f32 / ROWS as f32;
    }
    // The library halves the distance to the end of a Code 39 (0.9.3); a row read from the right is turned
    // round after that.
    if let (BarcodeFormat::CODE_39, [_, end]) = (found.getBarcodeFormat(), &mut points[..]) {
        let turned = RXingResultMetadataType::ORIENTATION;
        let width = picture.width() as f32 - 1.0;
        end.x = match found.getRXingResultMetadata().contains_key(&turned) {
            true => width - 2.0 * (width - end.x),
            false => 2.0 * end.x,
        };
    }
    points
}

/// The place of a code by the points that the library found: its corners, three of them, or the ends of a
/// row through the stripes.
fn place(points: &[Point]) -> Option<Quad> {
    if !points.iter().all(|p| p.x.abs() < 1e5 && p.y.abs() < 1e5) {
        return None;
    }
    match *points {
        [a, b] => {
            let (dx, dy) = ((b.x - a.x) / 8.0, (b.y - a.y) / 8.0);
            let off = |p: Point, sign: f32| Point {
                x: p.x - sign * dy,
                y: p.y + sign * dx,
            };
            Some(Quad([off(a, -1.0), off(b, -1.0), off(b, 1.0), off(a, 1.0)]))
        }
        // The marks of a QR code: lower left, upper left, upper right.
        [c, a, b] => Some(Quad([
            a,
            b,
            Point {
                x: b.x + c.x - a.x,
                y: b.y + c.y - a.y,
            },
            c,
        ])),
        // The library gives the last two corners in either order; around the code they do not cross.
        [a, b, c, d, ..] => {
            let along = (b.x - a.x) * (d.x - c.x) + (b.y - a.y) * (d.y - c.y);
            Some(Quad(if along > 0.0 {
                [a, b, d, c]
            } else {
                [a, b, c, d]
            }))
        }
        _ => None,
    }
}

/// Text without control characters and without those that hide or reorder others. Separators of fields,
/// which are control characters too, become blanks.
fn clean(text: &str) -> String {
    let shown = |ch: char| match ch {
        '\u{1c}'..='\u{1f}' | '\t' | '\n' | '\r' => Some(' '),
        '\u{ad}' | '\u{61c}' | '\u{200b}'..='\u{200f}' | '\u{2028}'..='\u{202e}' => None,
        '\u{2060}'..='\u{206f}' | '\u{feff}' | '\u{fff0}'..='\u{fffb}' => None,
        '\u{e0000}'..='\u{e0fff}' => None,
        _ if ch.is_control() => None,
        _ => Some(ch),
    };
    let text: String = text.chars().filter_map(shown).take(LONGEST).collect();
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

#[cfg(test)]
mod tests;
