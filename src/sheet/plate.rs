//! The piece of the photo that stands on the sheet.

use crate::photo::Point;
use crate::record::NameplateRecord;
use image::RgbImage;

/// The part of the photo that the record names that holds all that was read there, with some room around it.
pub fn plate(pixels: &RgbImage, record: &NameplateRecord) -> RgbImage {
    let here = record.photo();
    let of_fields = record.fields.values().filter(|r| r.photo == here);
    let of_lines = record.lines.iter().filter(|l| l.photo == here);
    let corners: Vec<_> = of_fields
        .filter_map(|r| r.quad.as_ref())
        .chain(of_lines.map(|l| &l.quad))
        .flat_map(|q| q.0)
        .collect();
    let (width, height) = pixels.dimensions();
    let range = |of: fn(&Point) -> f32, most: u32| -> (u32, u32) {
        let low = corners.iter().map(of).fold(f32::INFINITY, f32::min);
        let high = corners.iter().map(of).fold(f32::NEG_INFINITY, f32::max);
        let room = 0.06 * (high - low);
        let clamp = |v: f32| v.clamp(0.0, most as f32) as u32;
        (clamp(low - room), clamp(high + room))
    };
    if corners.is_empty() {
        return pixels.clone();
    }
    let ((left, right), (top, bottom)) = (range(|p| p.x, width), range(|p| p.y, height));
    if right <= left || bottom <= top {
        return pixels.clone();
    }
    image::imageops::crop_imm(pixels, left, top, right - left, bottom - top).to_image()
}
