//! Places around a label in which a value may stand that the detector did not see: a lone character is easily
//! missed.

use crate::photo::{Point, Quad};

/// Of the room right of a label, at most so many heights of it are looked at.
const FAR: f32 = 5.0;
/// A lone character may stand so far right of where the label begins, in a column.
const FARTHEST: f32 = 30.0;
/// From one window to the next, in heights of it.
const STEP: f32 = 0.12;
/// Behind a label its line may go on by this much, in heights of it: a dot, a colon.
const DOT: f32 = 0.6;
/// Less room than this holds no character.
const NARROW: f32 = 0.6;
/// Text that reaches into a row by this part of it fills it: cut in two it reads as something else.
const CUT: f32 = 0.3;
/// Rows below a label and above one, from the top to the bottom in heights of it.
const ROWS: [(f32, f32); 4] = [(1.0, 2.1), (1.35, 2.5), (-1.6, -0.05), (-2.3, -0.15)];

/// The places right of, below and above `label` that are free of `lines`; corners in reading order.
pub(super) fn places(label: &Quad, lines: &[Quad]) -> Vec<Quad> {
    let room = Room::of(label, lines);
    let end = room.end_of_line();
    std::iter::once(room.right(end + 0.15, end + FAR))
        .chain(room.rows())
        .flatten()
        .map(|bounds| room.frame.quad(bounds))
        .collect()
}

/// Windows as long as high along those places, each row of windows by itself: a recogniser that reads nothing in a long place with
/// a lone character reads it in one of these. In the columns of the lines above and below it may stand farther off.
pub(super) fn windows(label: &Quad, lines: &[Quad]) -> Vec<Vec<Quad>> {
    let room = Room::of(label, lines);
    let near = room.length + FAR;
    let mut places: Vec<[f32; 4]> = Vec::new();
    // What stands close behind a label may be in the margin of its line.
    places.extend(room.right(room.length, near));
    places.extend(room.rows().flatten());
    let far = room.right(near, FARTHEST);
    places.extend(far.iter().flat_map(|far| room.columns(far)));
    places.iter().map(|place| room.along(place)).collect()
}

/// What is free around a label. Bounds are left, right, top and bottom in its frame.
struct Room {
    frame: Frame,
    /// Length of the label in its heights.
    length: f32,
    /// The bounds of all lines.
    boxes: Vec<[f32; 4]>,
}

impl Room {
    fn of(label: &Quad, lines: &[Quad]) -> Room {
        let frame = Frame::of(label);
        Room {
            length: label.width() / label.height().max(1.0),
            boxes: lines.iter().map(|line| frame.bounds(line)).collect(),
            frame,
        }
    }

    /// Where the line of the label ends, if it ends close behind the label.
    fn end_of_line(&self) -> f32 {
        let ends = self.boxes.iter().filter(|b| self.is_own(b)).map(|b| b[1]);
        ends.fold(self.length, f32::max)
    }

    /// Whether bounds are those of the label's line, which goes on by no more than a dot.
    fn is_own(&self, b: &[f32; 4]) -> bool {
        let holds =
            b[0] < self.length / 2.0 && b[1] > self.length / 2.0 && b[2] < 0.5 && b[3] > 0.5;
        holds && b[1] < self.length + DOT
    }

    /// A place up to the next text; `None` where that fills it.
    fn free(&self, [left, right, top, bottom]: [f32; 4]) -> Option<[f32; 4]> {
        let shared = |b: &[f32; 4]| b[3].min(bottom) - b[2].max(top);
        let boxes = self.boxes.iter().filter(|b| !self.is_own(b));
        let in_row =
            boxes.filter(|b| shared(b) > CUT * (bottom - top) && b[1] > left + 0.1 && b[0] < right);
        let end = in_row.fold(right, |end, b| end.min(b[0] - 0.1));
        (end - left > NARROW).then_some([left, end, top, bottom])
    }

    fn right(&self, left: f32, right: f32) -> Option<[f32; 4]> {
        self.free([left, right, -0.05, 1.05])
    }

    fn rows(&self) -> impl Iterator<Item = Option<[f32; 4]>> {
        let right = self.length.max(2.5) + 0.4;
        ROWS.map(|(top, bottom)| self.free([-0.4, right, top, bottom]))
            .into_iter()
    }

    /// Around where the lines above and below begin and end, within a place.
    fn columns(&self, place: &[f32; 4]) -> Vec<[f32; 4]> {
        /// Lines so many heights above and below are of the same columns.
        const NEAR: f32 = 3.0;
        let near = |b: &&[f32; 4]| b[3] > -NEAR && b[2] < NEAR + 1.0;
        let edges = self.boxes.iter().filter(near).flat_map(|b| [b[0], b[1]]);
        let mut edges: Vec<f32> = edges
            .filter(|edge| (place[0]..place[1]).contains(edge))
            .collect();
        edges.sort_by(f32::total_cmp);
        edges.dedup_by(|a, b| (*a - *b).abs() < 0.5);
        let around = |edge: f32| [edge - 1.2, (edge + 1.2).min(place[1]), place[2], place[3]];
        edges.into_iter().map(around).collect()
    }

    /// The windows along a place.
    fn along(&self, &[left, right, top, bottom]: &[f32; 4]) -> Vec<Quad> {
        let side = bottom - top;
        let last = ((right - left) / side - 1.0) / STEP;
        let window = |at: usize| {
            let from = left + at as f32 * STEP * side;
            self.frame.quad([from, from + side, top, bottom])
        };
        (0..=last.max(0.0) as usize).map(window).collect()
    }
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

    fn quad(&self, [left, right, top, bottom]: [f32; 4]) -> Quad {
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

    #[test]
    fn a_dot_behind_the_label_ends_no_room() {
        let label = level(100.0, 100.0, 140.0, 120.0);
        let line = level(98.0, 99.0, 150.0, 121.0);
        let right = places(&label, &[line])[0].0;
        assert!((right[0].x - 153.0).abs() < 0.1, "{right:?}");
        // A longer line has something else there.
        let longer = level(98.0, 99.0, 200.0, 121.0);
        assert!(
            places(&label, &[longer])
                .iter()
                .all(|p| p.center().y < 100.0 || p.center().y > 120.0)
        );
    }

    #[test]
    fn windows_are_square_and_reach_to_the_columns_of_other_lines() {
        let label = level(100.0, 100.0, 140.0, 120.0);
        let values = [
            level(400.0, 70.0, 460.0, 90.0),
            level(400.0, 130.0, 460.0, 150.0),
        ];
        let found = windows(&label, &values);
        for window in found.iter().flatten() {
            assert!((window.width() - window.height()).abs() < 0.1, "{window:?}");
        }
        let holds = |x: f32| {
            let place = Point { x, y: 110.0 };
            found.iter().flatten().any(|window| window.contains(place))
        };
        assert!(holds(150.0) && holds(405.0) && holds(455.0));
        assert!(!holds(320.0));
    }
}
