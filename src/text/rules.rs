//! The rules around and between lines of text: where the cells of a plate end.

use super::direction::{grown, region};
use crate::photo::{Point, Pyramid, Quad, Segment, segments};
use image::imageops::grayscale;

/// The photo is looked at where its lines are so high, pixels: rules are then one to three pixels wide.
const HEIGHT: f32 = 22.0;
/// Rules are at least so long, in heights of text: longer than the strokes of its letters.
const LONG: f32 = 1.6;
/// So far beyond its text a plate goes on, in heights of text.
const MARGIN: f32 = 2.0;
/// The largest picture that is looked at, pixels on a side.
const LARGEST: f32 = 3000.0;

/// The straight strokes on a plate that are no part of its lines of text, which read in this direction.
pub(super) fn find(photo: &Pyramid, lines: &[Quad], direction: f32) -> Vec<Segment> {
    let mut heights: Vec<f32> = lines.iter().map(Quad::height).collect();
    heights.sort_by(f32::total_cmp);
    let Some(&height) = heights.get(heights.len() / 2) else {
        return Vec::new();
    };
    let Some(region) = region(lines, direction, MARGIN * height) else {
        return Vec::new();
    };
    let longest = region.width().max(region.height());
    let scale = (HEIGHT / height.max(1.0))
        .min(1.0)
        .min(LARGEST / longest.max(1.0));
    let size = |length: f32| (length * scale).ceil().max(1.0) as u32;
    let (width, depth) = (size(region.width()), size(region.height()));
    let Some(piece) = photo.piece(&region, width, depth) else {
        return Vec::new();
    };
    let [a, b, c, d] = region.0;
    let in_photo = |p: Point| {
        let (x, y) = (p.x / width as f32, p.y / depth as f32);
        a.lerp(b, x).lerp(d.lerp(c, x), y)
    };
    let cores: Vec<Quad> = lines.iter().map(core).collect();
    segments(&grayscale(&piece), LONG * height * scale)
        .into_iter()
        .map(|s| Segment {
            from: in_photo(s.from),
            to: in_photo(s.to),
        })
        .filter(|rule| !is_within(rule, &cores))
        .collect()
}

/// The text of a line, without what its box has above and below.
fn core(line: &Quad) -> Quad {
    const EDGE: f32 = 0.1;
    grown(line, -EDGE * line.height())
}

/// Whether most of a stroke lies within boxes.
fn is_within(rule: &Segment, boxes: &[Quad]) -> bool {
    const POINTS: usize = 24;
    let inside = (0..POINTS).filter(|&i| {
        let point = rule.from.lerp(rule.to, (i as f32 + 0.5) / POINTS as f32);
        boxes.iter().any(|quad| quad.contains(point))
    });
    2 * inside.count() > POINTS
}
