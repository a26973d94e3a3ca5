//! The pages as a PDF.

use super::layout::{Item, PAGE, Placed, pages};
use super::{Block, Tone, layout};
use ab_glyph::FontRef;
use image::RgbImage;
use image::codecs::jpeg::JpegEncoder;
use krilla::Document;
use krilla::color::rgb;
use krilla::geom::{PathBuilder, Point, Rect, Size, Transform};
use krilla::image::Image;
use krilla::metadata::Metadata;
use krilla::page::PageSettings;
use krilla::paint::{Fill, Stroke};
use krilla::surface::Surface;
use krilla::text::{Font, TextDirection};

/// A subset of DejaVu Sans; its licence lies beside it.
pub(super) const FONT: &[u8] = include_bytes!("../cli/font/DejaVuSans-subset.ttf");

/// The photo's longest side on the sheet, pixels: 300 dots an inch at its largest.
const MOST_PIXELS: u32 = 1200;

/// Quality of the photo, per cent.
const JPEG_QUALITY: u8 = 80;

/// Why there is no sheet.
#[derive(Debug, thiserror::Error)]
pub enum SheetError {
    /// The built-in font is damaged.
    #[error("the built-in font cannot be used: {0}; build the program anew")]
    Font(String),
    /// The photo cannot be put on the sheet.
    #[error("the photo cannot be put on the sheet: {0}")]
    Photo(String),
    /// The PDF cannot be written.
    #[error("the PDF cannot be made: {0}")]
    Pdf(String),
}

/// The bytes of a PDF with the pieces of a sheet. `photo` is the piece of the photo with the plate.
pub fn render(blocks: &[Block], photo: Option<&RgbImage>) -> Result<Vec<u8>, SheetError> {
    let measure = FontRef::try_from_slice(FONT).map_err(|e| SheetError::Font(e.to_string()))?;
    let font = Font::new(FONT.to_vec().into(), 0)
        .ok_or_else(|| SheetError::Font("not a font".to_owned()))?;
    let picture = photo.map(shrink);
    let size = picture.as_ref().map(|p| p.dimensions());
    let picture = picture.map(|p| jpeg(&p)).transpose()?;
    let mut document = Document::new();
    document.set_metadata(
        Metadata::new()
            .title("Replacement of a motor".to_owned())
            .creator("platewright".to_owned()),
    );
    for placed in pages(blocks, &measure, size) {
        let settings = PageSettings::from_wh(PAGE.0, PAGE.1)
            .ok_or_else(|| SheetError::Pdf("page size".to_owned()))?;
        let mut page = document.start_page_with(settings);
        let mut surface = page.surface();
        for item in &placed {
            draw(&mut surface, item, &font, picture.as_ref());
        }
        surface.finish();
        page.finish();
    }
    document
        .finish()
        .map_err(|e| SheetError::Pdf(e.to_string()))
}

fn shrink(photo: &RgbImage) -> RgbImage {
    let longest = photo.width().max(photo.height());
    if longest <= MOST_PIXELS {
        return photo.clone();
    }
    let scale = |side: u32| (side * MOST_PIXELS / longest).max(1);
    image::imageops::resize(
        photo,
        scale(photo.width()),
        scale(photo.height()),
        image::imageops::FilterType::Triangle,
    )
}

fn jpeg(photo: &RgbImage) -> Result<Image, SheetError> {
    let mut bytes = Vec::new();
    JpegEncoder::new_with_quality(&mut bytes, JPEG_QUALITY)
        .encode_image(photo)
        .map_err(|e| SheetError::Photo(e.to_string()))?;
    Image::from_jpeg(bytes.into(), true).map_err(SheetError::Photo)
}

/// Width of the outline of bold letters, in parts of their size.
const BOLD: f32 = 0.045;

/// The colour of a tone, and whether it is bold.
fn ink(tone: Tone) -> (rgb::Color, bool) {
    match tone {
        Tone::Plain => (rgb::Color::new(0, 0, 0), false),
        Tone::Strong => (rgb::Color::new(0, 0, 0), true),
        Tone::Faint => (rgb::Color::new(105, 105, 105), false),
        Tone::Good => (rgb::Color::new(0, 100, 40), true),
        Tone::Work => (rgb::Color::new(20, 70, 160), true),
        Tone::Open => (rgb::Color::new(150, 80, 0), true),
        Tone::Bad => (rgb::Color::new(170, 20, 20), true),
    }
}

fn draw(surface: &mut Surface<'_>, placed: &Placed, font: &Font, picture: Option<&Image>) {
    let layout::Placed { x, y, item } = placed;
    match item {
        Item::Text { size, tone, text } => {
            let (colour, bold) = ink(*tone);
            surface.set_fill(Some(Fill {
                paint: colour.into(),
                ..Fill::default()
            }));
            // The built-in font has one weight: bold is the outline drawn along.
            surface.set_stroke(bold.then(|| Stroke {
                paint: colour.into(),
                width: size * BOLD,
                ..Stroke::default()
            }));
            surface.draw_text(
                Point::from_xy(*x, *y),
                font.clone(),
                *size,
                text,
                false,
                TextDirection::LeftToRight,
            );
            surface.set_stroke(None);
        }
        Item::Rule { width, thickness } => {
            let mut path = PathBuilder::new();
            if let Some(line) = Rect::from_xywh(*x, *y, *width, *thickness) {
                path.push_rect(line);
            }
            if let Some(path) = path.finish() {
                surface.set_fill(Some(Fill {
                    paint: rgb::Color::new(150, 150, 150).into(),
                    ..Fill::default()
                }));
                surface.draw_path(&path);
                surface.set_fill(None);
            }
        }
        Item::Photo { width, height } => {
            if let (Some(picture), Some(size)) = (picture, Size::from_wh(*width, *height)) {
                surface.push_transform(&Transform::from_translate(*x, *y));
                surface.draw_image(picture.clone(), size);
                surface.pop();
            }
        }
    }
}
