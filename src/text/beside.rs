//! Places around a label in which a value may stand that the detector did not see: a lone character is easily
//! missed.

use crate::photo::{Point, Quad};

/// Of the room right of a label, at most so many heights of it are looked at.
const FAR: f32 = 5.0;
/// Less room than this holds no character.
const NARROW: f32 = 0.6;
/// Text that reaches into a row by this part of it fills it: cut in two it reads as something else.
const CUT: f32 = 0.3;
/// Rows below a label and above one, from the top to the bottom in heights of it.
const ROWS: [(f32, f32); 4] = [(1.0, 2.1), (1.35, 2.5), (-1.6, -0.05), (-2.3, -0.15)];

/// The places right of, below and above `label` that are free of `lines`; corners in reading order.
pub(super) fn places(label: &Quad, lines: &[Quad]) -> Vec<Quad> {
    let frame = Frame::of(label);
    let length = label.width() / label.height().max(1.0);
    let boxes: Vec<[f32; 4]> = lines.iter().map(|line| frame.bounds(line)).collect();
    let right = (length + 0.15, length + FAR, -0.05, 1.05);
    let rows = ROWS.map(|(top, bottom)| (-0.4, length.max(2.5) + 0.4, top, bottom));
    std::iter::once(right)
        .chain(rows)
        .filter_map(|(left, right, top, bottom)| {
            let shared = |b: &[f32; 4]| b[3].min(bottom) - b[2].max(top);
            let in_row = boxes
                .iter()
                .filter(|b| shared(b) > CUT * (bottom - top) && b[1] > left + 0.1 && b[0] < right);
            // Up to the next text; a place that text already fills is none.
            let end = in_row.fold(right, |end, b| end.min(b[0] - 0.1));
            (end - left > NARROW).then(|| frame.quad(left, end, top, bottom))
        })
        .collect()
}

/// Coordinates along and across a label, its upper left corner the origin and its height the unit.
struct Frame {
    origin: Point,
    along: Point,
    across: Point,
}

impl Frame {
    fn of(label: &Quad) -> Frame {
        let height = label.height().max(1.0);
        let (sin, cos) = label.angle().sin_cos();
        let (x, y) = (cos * height, sin * height);
        Frame {
            origin: label.0[0],
            along: Point { x, y },
            // Corners go clockwise in every photo.
            across: Point { x: -y, y: x },
        }
    }

    fn point(&self, u: f32, v: f32) -> Point {
        Point {
            x: self.origin.x + u * self.along.x + v * self.across.x,
            y: self.origin.y + u * self.along.y + v * self.across.y,
        }
    }

    fn quad(&self, left: f32, right: f32, top: f32, bottom: f32) -> Quad {
        Quad([
            self.point(left, top),
            self.point(right, top),
            self.point(right, bottom),
            self.point(left, bottom),
        ])
    }

    /// Left, right, top and bottom of a quad.
    fn bounds(&self, quad: &Quad) -> [f32; 4] {
        let unit = self.along.x.hypot(self.along.y).powi(2);
        let mut bounds = [f32::MAX, f32::MIN, f32::MAX, f32::MIN];
        for p in quad.0 {
            let (x, y) = (p.x - self.origin.x, p.y - self.origin.y);
            let u = (x * self.along.x + y * self.along.y) / unit;
            let v = (x * self.across.x + y * self.across.y) / unit;
            bounds = [
                bounds[0].min(u),
                bounds[1].max(u),
                bounds[2].min(v),
                bounds[3].max(v),
            ];
        }
        bounds
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn level(left: f32, top: f32, right: f32, bottom: f32) -> Quad {
        Quad(
            [(left, top), (right, top), (right, bottom), (left, bottom)]
                .map(|(x, y)| Point { x, y }),
        )
    }

    #[test]
    fn the_room_ends_where_other_text_begins() {
        let label = level(100.0, 100.0, 140.0, 120.0);
        let next = level(190.0, 98.0, 260.0, 122.0);
        let found = places(&label, &[label, next]);
        assert_eq!(found.len(), 5);
        let right = found[0].0;
        assert!((right[0].x - 143.0).abs() < 0.1 && (right[1].x - 188.0).abs() < 0.1);
        let below = found[1].0;
        assert!((below[0].y - 120.0).abs() < 0.1 && (below[2].y - 142.0).abs() < 0.1);
    }

    #[test]
    fn text_that_would_be_cut_is_not_looked_at() {
        let label = level(100.0, 100.0, 140.0, 120.0);
        let below = level(60.0, 115.0, 300.0, 130.0);
        let found = places(&label, &[label, below]);
        assert!(
            found
                .iter()
                .all(|place| place.0[0].y < 105.0 || place.0[0].y > 126.0),
            "{found:?}"
        );
    }

    #[test]
    fn a_place_that_is_filled_is_not_looked_at() {
        let label = level(100.0, 100.0, 140.0, 120.0);
        let filled = [
            level(144.0, 100.0, 180.0, 120.0),
            level(90.0, 122.0, 150.0, 150.0),
            level(90.0, 50.0, 150.0, 98.0),
        ];
        assert_eq!(places(&label, &filled), []);
    }

    #[test]
    fn a_turned_label_has_its_places_turned() {
        // Reads downwards: right of it is below it in the photo.
        let label = Quad(
            [
                (120.0, 100.0),
                (120.0, 140.0),
                (100.0, 140.0),
                (100.0, 100.0),
            ]
            .map(|(x, y)| Point { x, y }),
        );
        let right = places(&label, &[])[0].center();
        assert!(
            (right.x - 110.0).abs() < 1.0 && right.y > 150.0,
            "{right:?}"
        );
    }
}
