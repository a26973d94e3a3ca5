//! Straight strokes: the printed rules between the cells of a plate, its edges, scratches.
//!
//! Pixels whose gradients point the same way are grown into regions, and long thin regions are segments, as in the line
//! segment detector of Grompone von Gioi, Jakubowicz, Morel and Randall (IPOL, 2012; from memory). Its test against chance
//! is left out: only segments many times longer than wide are kept.

use super::{Point, Segment};
use image::GrayImage;
use imageproc::filter::gaussian_blur_f32;
use std::f32::consts::{PI, TAU};

/// Grain of the photo is smoothed away with a kernel of so many pixels.
const BLUR: f32 = 0.8;
/// A gradient less steep than this, in grey values a pixel, has no sure direction.
const STEEP: f32 = 5.2;
/// Gradients of one edge point the same way to within this angle.
const ALIKE: f32 = PI / 8.0;
/// The blurred edge of a stroke is no wider than this, pixels.
const WIDE: f32 = 5.0;
/// So much of a segment's rectangle is of its region.
const DENSE: f32 = 0.5;

/// Both edges of every straight stroke of a picture that is at least `shortest` pixels long.
pub fn segments(picture: &GrayImage, shortest: f32) -> Vec<Segment> {
    let mut field = Field::new(&gaussian_blur_f32(picture, BLUR));
    let mut steepest: Vec<usize> = (0..field.steep.len())
        .filter(|&at| field.steep[at] > STEEP)
        .collect();
    steepest.sort_unstable_by(|&a, &b| {
        let by = field.steep[b].total_cmp(&field.steep[a]);
        by.then(a.cmp(&b))
    });
    let mut found = Vec::new();
    for seed in steepest {
        if !field.used[seed] {
            let region = field.grow(seed);
            found.extend(field.straight(&region, shortest));
        }
    }
    found
}

/// Gradients between four neighbouring pixels each.
struct Field {
    width: usize,
    height: usize,
    steep: Vec<f32>,
    /// The direction along the edge.
    along: Vec<f32>,
    used: Vec<bool>,
}

impl Field {
    fn new(picture: &GrayImage) -> Field {
        let (w, h) = (picture.width() as usize, picture.height() as usize);
        let (width, height) = (w.saturating_sub(1), h.saturating_sub(1));
        let grey = picture.as_raw();
        let (mut steep, mut along) = (Vec::new(), Vec::new());
        for y in 0..height {
            for x in 0..width {
                let at = |dx: usize, dy: usize| f32::from(grey[(y + dy) * w + x + dx]);
                let (a, b, c, d) = (at(0, 0), at(1, 0), at(0, 1), at(1, 1));
                let (gx, gy) = ((b + d - a - c) / 2.0, (c + d - a - b) / 2.0);
                let slope = (gx * gx + gy * gy).sqrt();
                steep.push(slope);
                // Most pixels have no direction, and angles take time.
                along.push(if slope > STEEP { gx.atan2(-gy) } else { 0.0 });
            }
        }
        Field {
            width,
            height,
            used: vec![false; steep.len()],
            steep,
            along,
        }
    }

    /// The pixels around a seed that go the same way.
    fn grow(&mut self, seed: usize) -> Vec<usize> {
        let mut region = vec![seed];
        self.used[seed] = true;
        let (mut sin, mut cos) = self.along[seed].sin_cos();
        let mut next = 0;
        while let Some(&at) = region.get(next) {
            next += 1;
            let (x, y) = (at % self.width, at / self.width);
            let direction = sin.atan2(cos);
            for ny in y.saturating_sub(1)..(y + 2).min(self.height) {
                for nx in x.saturating_sub(1)..(x + 2).min(self.width) {
                    let near = ny * self.width + nx;
                    if self.used[near]
                        || self.steep[near] <= STEEP
                        || apart(self.along[near], direction) > ALIKE
                    {
                        continue;
                    }
                    self.used[near] = true;
                    region.push(near);
                    let (s, c) = self.along[near].sin_cos();
                    (sin, cos) = (sin + s, cos + c);
                }
            }
        }
        region
    }

    /// The segments along a region that is long and thin; of a bent one, those of its parts.
    fn straight(&self, region: &[usize], shortest: f32) -> Vec<Segment> {
        if (region.len() as f32) < shortest {
            return Vec::new();
        }
        let points: Vec<(Point, f32)> = region
            .iter()
            .map(|&at| {
                let (x, y) = ((at % self.width) as f32, (at / self.width) as f32);
                let corner = Point {
                    x: x + 1.0,
                    y: y + 1.0,
                };
                (corner, self.steep[at])
            })
            .collect();
        let weight: f32 = points.iter().map(|p| p.1).sum();
        let mean = |of: &dyn Fn(Point) -> f32| {
            let sum: f32 = points.iter().map(|&(p, steep)| steep * of(p)).sum();
            sum / weight
        };
        let middle = Point {
            x: mean(&|p| p.x),
            y: mean(&|p| p.y),
        };
        let xx = mean(&|p| (p.x - middle.x).powi(2));
        let yy = mean(&|p| (p.y - middle.y).powi(2));
        let xy = mean(&|p| (p.x - middle.x) * (p.y - middle.y));
        let (sin, cos) = (0.5 * (2.0 * xy).atan2(xx - yy)).sin_cos();
        let spread = |of: &dyn Fn(Point) -> f32| {
            let ends = points.iter().map(|&(p, _)| of(p));
            ends.fold((f32::MAX, f32::MIN), |(low, high), v| {
                (low.min(v), high.max(v))
            })
        };
        let forth = |p: Point| (p.x - middle.x) * cos + (p.y - middle.y) * sin;
        let aside = |p: Point| (p.y - middle.y) * cos - (p.x - middle.x) * sin;
        let ((from, to), (above, below)) = (spread(&forth), spread(&aside));
        let (length, width) = (to - from + 1.0, below - above + 1.0);
        if length < shortest {
            return Vec::new();
        }
        if width <= WIDE && region.len() as f32 >= DENSE * length * width {
            let end = |t: f32| Point {
                x: middle.x + t * cos,
                y: middle.y + t * sin,
            };
            return vec![Segment {
                from: end(from),
                to: end(to),
            }];
        }
        let half = (from + to) / 2.0;
        let mut parts = (Vec::new(), Vec::new());
        for (&at, &(point, _)) in region.iter().zip(&points) {
            if forth(point) < half {
                parts.0.push(at);
            } else {
                parts.1.push(at);
            }
        }
        let mut found = self.straight(&parts.0, shortest);
        found.extend(self.straight(&parts.1, shortest));
        found
    }
}

/// The angle between two directions.
fn apart(a: f32, b: f32) -> f32 {
    let turn = (a - b).rem_euclid(TAU);
    turn.min(TAU - turn)
}

#[cfg(test)]
mod tests {
    use super::*;
    use image::Luma;
    use imageproc::drawing::draw_antialiased_line_segment_mut;
    use imageproc::pixelops::interpolate;
    use proptest::prelude::*;

    /// From one point to another.
    type Stroke = ((i32, i32), (i32, i32));

    /// A grey picture with dark strokes two pixels wide.
    fn drawn(strokes: &[Stroke]) -> GrayImage {
        let mut picture = GrayImage::from_pixel(300, 200, Luma([190]));
        for &(from, to) in strokes {
            for aside in 0..2 {
                let shifted = |(x, y): (i32, i32)| (x + aside, y + aside);
                draw_antialiased_line_segment_mut(
                    &mut picture,
                    shifted(from),
                    shifted(to),
                    Luma([60]),
                    interpolate,
                );
            }
        }
        picture
    }

    #[test]
    fn strokes_are_found_where_they_are() {
        let strokes = [
            ((20, 30), (280, 40)),
            ((150, 36), (146, 180)),
            ((20, 100), (40, 100)),
        ];
        let found = segments(&drawn(&strokes), 60.0);
        for (from, to) in &strokes[..2] {
            let end = |p: &(i32, i32)| Point {
                x: p.0 as f32,
                y: p.1 as f32,
            };
            let covers = |s: &&Segment| {
                let near = |a: Point, b: Point| a.distance(b) < 6.0;
                near(s.from, end(from)) && near(s.to, end(to))
                    || near(s.from, end(to)) && near(s.to, end(from))
            };
            // One on either side of the ink.
            assert!(
                found.iter().filter(covers).count() >= 1,
                "{from:?} {found:?}"
            );
        }
        // The third one is too short.
        let third = |s: &&Segment| (s.from.y - 100.0).abs() < 4.0 && (s.to.y - 100.0).abs() < 4.0;
        assert_eq!(found.iter().filter(third).count(), 0, "{found:?}");
    }

    #[test]
    fn a_bent_stroke_is_found_in_pieces() {
        let bent: Vec<Stroke> = (0..13)
            .map(|i| {
                let at = |i: i32| (20 + 20 * i, 60 + (i - 6) * (i - 6) / 2);
                (at(i), at(i + 1))
            })
            .collect();
        let found = segments(&drawn(&bent), 40.0);
        let along: f32 = found.iter().map(|s| s.from.distance(s.to)).sum();
        assert!(along > 250.0, "{found:?}");
    }

    #[test]
    fn grain_has_no_strokes() {
        let grain = |x: u32, y: u32| {
            let mixed = (x * 7919 + y * 104_729).wrapping_mul(2_654_435_761) >> 24;
            Luma([100 + (mixed % 60) as u8])
        };
        assert_eq!(segments(&GrayImage::from_fn(300, 200, grain), 35.0), []);
    }

    proptest! {
        #[test]
        fn any_picture_is_survived(
            width in 0u32..9, height in 0u32..9, shortest in 0f32..9.0,
            grey in prop::collection::vec(any::<u8>(), 64),
        ) {
            let picture = GrayImage::from_fn(width, height, |x, y| Luma([grey[(8 * y + x) as usize % 64]]));
            for segment in segments(&picture, shortest) {
                prop_assert!(segment.from.distance(segment.to).is_finite());
            }
        }
    }
}
