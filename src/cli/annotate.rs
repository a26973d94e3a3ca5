//! The photo with its readings drawn on it.

use crate::photo::{Limits, Photo, Quad};
use crate::record::{Field, NameplateRecord, State};
use ab_glyph::FontRef;
use anyhow::{Context, Result};
use image::{Rgb, RgbImage};
use imageproc::drawing::{draw_filled_rect_mut, draw_line_segment_mut, draw_text_mut, text_size};
use imageproc::rect::Rect;
use std::path::Path;

/// A subset of DejaVu Sans; its licence lies beside it.
const FONT: &[u8] = include_bytes!("font/DejaVuSans-subset.ttf");

const LINE: Rgb<u8> = Rgb([150, 150, 150]);
const CLEAR: Rgb<u8> = Rgb([0, 120, 60]);
const DOUBTFUL: Rgb<u8> = Rgb([200, 70, 0]);
const WHITE: Rgb<u8> = Rgb([255, 255, 255]);

/// Draws the record of the photo at `path` on it and saves the picture as PNG at `target`.
pub(super) fn save(
    path: &Path,
    limits: &Limits,
    record: &NameplateRecord,
    target: &Path,
) -> Result<()> {
    let mut picture = Photo::open(path, limits)?.pixels;
    let font = FontRef::try_from_slice(FONT).context("the built-in font")?;
    let size = (picture.width().max(picture.height()) as f32 / 70.0).max(12.0);
    let thickness = (size / 10.0).round().max(1.0) as i32;
    for line in &record.lines {
        outline(&mut picture, &line.quad, LINE, 1);
    }
    for (field, reading) in &record.fields {
        let (Some(quad), Some(printed)) = (reading.quad, reading.printed.as_deref()) else {
            continue;
        };
        // The word tells the state; the colour only helps.
        let (colour, mark) = match reading.state {
            State::Clear | State::Confirmed => (CLEAR, ""),
            State::Doubtful | State::Absent => (DOUBTFUL, " ?"),
        };
        outline(&mut picture, &quad, colour, thickness);
        let text = format!("{} {printed}{mark}", short(*field));
        label(&mut picture, &font, size, &quad, &text, colour);
    }
    picture
        .save_with_format(target, image::ImageFormat::Png)
        .with_context(|| format!("{}: the picture could not be saved", target.display()))
}

fn short(field: Field) -> &'static str {
    field.key()
}

fn outline(picture: &mut RgbImage, quad: &Quad, colour: Rgb<u8>, thickness: i32) {
    for i in 0..4 {
        let (a, b) = (quad.0[i], quad.0[(i + 1) % 4]);
        for shift in 0..thickness {
            let d = shift as f32 - (thickness - 1) as f32 / 2.0;
            draw_line_segment_mut(picture, (a.x + d, a.y + d), (b.x + d, b.y + d), colour);
            draw_line_segment_mut(picture, (a.x - d, a.y + d), (b.x - d, b.y + d), colour);
        }
    }
}

fn label(
    picture: &mut RgbImage,
    font: &FontRef<'_>,
    size: f32,
    quad: &Quad,
    text: &str,
    colour: Rgb<u8>,
) {
    let (width, height) = text_size(size, font, text);
    let left = quad.0.iter().map(|p| p.x).fold(f32::INFINITY, f32::min);
    let top = quad.0.iter().map(|p| p.y).fold(f32::INFINITY, f32::min);
    let room = |edge: u32, length: u32| (edge.saturating_sub(length)) as f32;
    let x = left.clamp(0.0, room(picture.width(), width)) as i32;
    let y = (top - height as f32).clamp(0.0, room(picture.height(), height)) as i32;
    draw_filled_rect_mut(
        picture,
        Rect::at(x, y).of_size(width.max(1), height.max(1)),
        colour,
    );
    draw_text_mut(picture, WHITE, x, y, size, font, text);
}
