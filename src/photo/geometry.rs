//! Points and quadrilaterals in a photo.

use serde::{Deserialize, Serialize};

/// A point in pixels; x to the right, y downwards, of the photo as a person sees it.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
#[serde(try_from = "Given", into = "[f32; 2]")]
pub struct Point {
    /// Pixels from the left edge.
    pub x: f32,
    /// Pixels from the upper edge.
    pub y: f32,
}

/// A point as a file gives it.
#[derive(Deserialize)]
struct Given([f32; 2]);

impl TryFrom<Given> for Point {
    type Error = &'static str;

    /// No photo is larger than this; and what is much larger would be written again as no number at all.
    fn try_from(Given([x, y]): Given) -> Result<Self, Self::Error> {
        let farthest = 1e8;
        match x.abs() <= farthest && y.abs() <= farthest {
            true => Ok(Point { x, y }),
            false => Err("a coordinate is too large"),
        }
    }
}

impl From<[f32; 2]> for Point {
    fn from([x, y]: [f32; 2]) -> Self {
        Point { x, y }
    }
}

impl From<Point> for [f32; 2] {
    /// Rounded to a tenth of a pixel, which is finer than any box is known.
    fn from(p: Point) -> Self {
        [p.x, p.y].map(|v| (v * 10.0).round() / 10.0)
    }
}

impl Point {
    /// The point that lies `t` of the way from `self` to `other`.
    pub fn lerp(self, other: Point, t: f32) -> Point {
        Point {
            x: self.x + (other.x - self.x) * t,
            y: self.y + (other.y - self.y) * t,
        }
    }

    /// Distance in pixels.
    pub fn distance(self, other: Point) -> f32 {
        (self.x - other.x).hypot(self.y - other.y)
    }
}

/// On which side of the way from `a` to `b` a point lies, by the sign; 0 on the way itself.
fn side(a: Point, b: Point, point: Point) -> f32 {
    (b.x - a.x) * (point.y - a.y) - (b.y - a.y) * (point.x - a.x)
}

/// A straight stroke in a photo, pixels.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Segment {
    /// One end.
    pub from: Point,
    /// The other.
    pub to: Point,
}

impl Segment {
    /// Whether it crosses the straight way between two points, were it longer at both ends by so many pixels.
    pub fn crosses(&self, from: Point, to: Point, longer: f32) -> bool {
        let length = self.from.distance(self.to);
        if length <= 0.0 {
            return false;
        }
        let (a, b) = (
            self.from.lerp(self.to, -longer / length),
            self.from.lerp(self.to, 1.0 + longer / length),
        );
        side(a, b, from) * side(a, b, to) < 0.0 && side(from, to, a) * side(from, to, b) < 0.0
    }
}

/// A quadrilateral around a piece of text, in reading order: upper left, upper right, lower right,
/// lower left as the text is read, whichever way it is turned in the photo.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
pub struct Quad(pub [Point; 4]);

impl Quad {
    /// Length along the reading direction, pixels (mean of upper and lower edge).
    pub fn width(&self) -> f32 {
        let [a, b, c, d] = self.0;
        (a.distance(b) + d.distance(c)) / 2.0
    }

    /// Height across the reading direction, pixels (mean of left and right edge).
    pub fn height(&self) -> f32 {
        let [a, b, c, d] = self.0;
        (a.distance(d) + b.distance(c)) / 2.0
    }

    /// The middle of the four corners.
    pub fn center(&self) -> Point {
        let sum = self
            .0
            .iter()
            .fold((0.0, 0.0), |s, p| (s.0 + p.x, s.1 + p.y));
        Point {
            x: sum.0 / 4.0,
            y: sum.1 / 4.0,
        }
    }

    /// Angle of the reading direction, radians, 0 to the right, growing clockwise as seen.
    pub fn angle(&self) -> f32 {
        let [a, b, c, d] = self.0;
        ((b.y - a.y) + (c.y - d.y)).atan2((b.x - a.x) + (c.x - d.x))
    }

    /// The part between the fractions `from` and `to` of the reading direction (0 left, 1 right).
    pub fn part(&self, from: f32, to: f32) -> Quad {
        let [a, b, c, d] = self.0;
        Quad([
            a.lerp(b, from),
            a.lerp(b, to),
            d.lerp(c, to),
            d.lerp(c, from),
        ])
    }

    /// Whether a point lies inside; the corners must go around clockwise or counter-clockwise.
    pub fn contains(&self, point: Point) -> bool {
        let sides = (0..4).map(|i| side(self.0[i], self.0[(i + 1) % 4], point));
        let (mut left, mut right) = (false, false);
        for side in sides {
            left |= side < 0.0;
            right |= side > 0.0;
        }
        !(left && right)
    }

    /// The smallest upright box around both, as a quad. `None` when `quads` is empty.
    pub fn around<'a>(quads: impl IntoIterator<Item = &'a Quad>) -> Option<Quad> {
        let points: Vec<Point> = quads.into_iter().flat_map(|q| q.0).collect();
        let first = *points.first()?;
        let (lo, hi) = points.iter().fold((first, first), |(lo, hi), p| {
            (
                Point {
                    x: lo.x.min(p.x),
                    y: lo.y.min(p.y),
                },
                Point {
                    x: hi.x.max(p.x),
                    y: hi.y.max(p.y),
                },
            )
        });
        Some(Quad([
            lo,
            Point { x: hi.x, y: lo.y },
            hi,
            Point { x: lo.x, y: hi.y },
        ]))
    }
}
