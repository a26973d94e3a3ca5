//! Where text stands: the detector's map of probabilities, and the rotated boxes around its islands.
//! Source of the method: Liao et al. 2020, differentiable binarization.

use std::f32::consts::FRAC_PI_2;
use std::sync::Arc;

use image::{GrayImage, Luma, RgbImage};
use imageproc::geometry::convex_hull;
use imageproc::point::Point as Pixel;
use imageproc::region_labelling::{Connectivity, connected_components};
use rten::ThreadPool;
use rten_tensor::NdTensor;
use rten_tensor::prelude::*;

use crate::photo::{Point, Quad};

use super::direction::{axis, between};
use super::model::{Network, TextError};

/// A picture's sides must be a multiple of this.
pub(super) const STEP: u32 = 32;
/// A pixel is of text from this probability on.
const TEXT: f32 = 0.3;
/// An island is text if its mean probability is at least this.
const ISLAND: f32 = 0.5;
/// The map shows text shrunk; a box grows by this times its area over its perimeter, on every side.
const GROW: f32 = 1.6;
/// Islands whose shorter side is below this many pixels are specks.
const SPECK: f32 = 2.5;

/// Boxes around pieces of text in a picture, in its pixels. The first corner is the upper left one of the box as
/// it lies; which way the text reads is not known yet.
pub(super) fn detect(
    network: &Network,
    picture: &RgbImage,
    pool: &Arc<ThreadPool>,
) -> Result<Vec<Quad>, TextError> {
    let (w, h) = picture.dimensions();
    let output = network.run(input(picture), pool)?;
    let map = output.to_vec();
    if map.len() != (w * h) as usize {
        return Err(TextError::Run(format!(
            "the detector answered {} values for {w} x {h} pixels",
            map.len()
        )));
    }
    Ok(boxes(&map, w, h))
}

/// Pixels as the detector was trained on them: blue, green, red, each less its mean over its deviation.
fn input(picture: &RgbImage) -> NdTensor<f32, 4> {
    const MEAN: [f32; 3] = [0.485, 0.456, 0.406];
    const DEVIATION: [f32; 3] = [0.229, 0.224, 0.225];
    let (w, h) = picture.dimensions();
    let plane = (w * h) as usize;
    let mut data = vec![0.0; 3 * plane];
    for (at, pixel) in picture.pixels().enumerate() {
        for c in 0..3 {
            data[c * plane + at] = (f32::from(pixel.0[2 - c]) / 255.0 - MEAN[c]) / DEVIATION[c];
        }
    }
    NdTensor::from_data([1, 3, h as usize, w as usize], data)
}

/// The boxes of a probability map.
fn boxes(map: &[f32], w: u32, h: u32) -> Vec<Quad> {
    let is_text = |x: u32, y: u32| map[(y * w + x) as usize] > TEXT;
    // Widened by a pixel to the right and down, so that hairline gaps do not part a line.
    let wide = GrayImage::from_fn(w, h, |x, y| {
        let (l, u) = (x.saturating_sub(1), y.saturating_sub(1));
        let any = is_text(x, y) || is_text(l, y) || is_text(x, u) || is_text(l, u);
        Luma([u8::from(any) * 255])
    });
    let labels = connected_components(&wide, Connectivity::Eight, Luma([0]));
    let mut islands: Vec<Island> = Vec::new();
    for (x, y, label) in labels.enumerate_pixels() {
        let Some(at) = (label.0[0] as usize).checked_sub(1) else {
            continue;
        };
        if islands.len() <= at {
            islands.resize_with(at + 1, Island::default);
        }
        if is_text(x, y) {
            islands[at].add(x, y, map[(y * w + x) as usize]);
        }
    }
    let found: Vec<(Rectangle, Vec<Pixel<f32>>)> =
        islands.iter().filter_map(Island::to_rectangle).collect();
    let quads: Vec<Quad> = found
        .iter()
        .map(|(rectangle, _)| rectangle.grown().quad())
        .collect();
    let axis = axis(&quads);
    let boxes = found.iter().zip(quads);
    boxes
        .map(|((_, hull), quad)| {
            if askew(&quad, axis) {
                Rectangle::along(hull, (axis.cos(), axis.sin()))
                    .grown()
                    .quad()
            } else {
                quad
            }
        })
        .collect()
}

/// Whether a box lies aslant of the axis of the other text because it is hardly longer than wide: around a lone
/// character, which is about as high as wide on the map, the smallest rectangle may lie anyhow.
fn askew(quad: &Quad, axis: f32) -> bool {
    const SQUARE: f32 = 1.35;
    const ASLANT: f32 = 0.2;
    let (w, h) = (quad.width(), quad.height());
    w < SQUARE * h && h < SQUARE * w && between(quad.angle(), axis, FRAC_PI_2) > ASLANT
}

/// The pixels of one connected piece of text: how many, how probable, and the ends of each row.
#[derive(Default)]
struct Island {
    count: f32,
    sum: f32,
    rows: Vec<(u32, u32, u32)>,
}

impl Island {
    fn add(&mut self, x: u32, y: u32, p: f32) {
        self.count += 1.0;
        self.sum += p;
        match self.rows.last_mut() {
            Some((row, _, right)) if *row == y => *right = x,
            _ => self.rows.push((y, x, x)),
        }
    }

    /// The smallest rectangle around it, and its convex hull.
    fn to_rectangle(&self) -> Option<(Rectangle, Vec<Pixel<f32>>)> {
        if self.count < 1.0 || self.sum / self.count < ISLAND {
            return None;
        }
        let corners: Vec<Pixel<f32>> = self
            .rows
            .iter()
            .flat_map(|&(y, left, right)| {
                let (y, l, r) = (y as f32, left as f32, right as f32 + 1.0);
                [(l, y), (r, y), (l, y + 1.0), (r, y + 1.0)].map(|(x, y)| Pixel::new(x, y))
            })
            .collect();
        let hull = convex_hull(corners);
        let rectangle = Rectangle::around(&hull)?;
        (rectangle.short() >= SPECK).then_some((rectangle, hull))
    }
}

/// A rotated rectangle: its middle, the direction of its first side, and half its two sides.
#[derive(Debug, Clone, Copy)]
struct Rectangle {
    middle: (f32, f32),
    along: (f32, f32),
    half: (f32, f32),
}

impl Rectangle {
    /// The smallest around a convex polygon; one of its sides lies on a side of the polygon.
    fn around(hull: &[Pixel<f32>]) -> Option<Rectangle> {
        let sides = hull.iter().zip(hull.iter().cycle().skip(1));
        sides
            .filter_map(|(a, b)| {
                let (dx, dy) = (b.x - a.x, b.y - a.y);
                let length = dx.hypot(dy);
                (length > 1e-3).then(|| Rectangle::along(hull, (dx / length, dy / length)))
            })
            .min_by(|a, b| (a.half.0 * a.half.1).total_cmp(&(b.half.0 * b.half.1)))
    }

    /// The smallest around points with its first side in a direction.
    fn along(points: &[Pixel<f32>], (dx, dy): (f32, f32)) -> Rectangle {
        let range = |f: &dyn Fn(&Pixel<f32>) -> f32| {
            points
                .iter()
                .map(f)
                .fold((f32::MAX, f32::MIN), |(lo, hi), v| (lo.min(v), hi.max(v)))
        };
        let u = range(&|p| p.x * dx + p.y * dy);
        let v = range(&|p| p.y * dx - p.x * dy);
        let (mu, mv) = ((u.0 + u.1) / 2.0, (v.0 + v.1) / 2.0);
        Rectangle {
            middle: (mu * dx - mv * dy, mu * dy + mv * dx),
            along: (dx, dy),
            half: ((u.1 - u.0) / 2.0, (v.1 - v.0) / 2.0),
        }
    }

    fn short(&self) -> f32 {
        2.0 * self.half.0.min(self.half.1)
    }

    fn grown(self) -> Rectangle {
        let (a, b) = self.half;
        let by = GROW * a * b / (a + b);
        Rectangle {
            half: (a + by, b + by),
            ..self
        }
    }

    fn quad(&self) -> Quad {
        let (x, y) = self.middle;
        let (dx, dy) = self.along;
        let (a, b) = self.half;
        Quad([(-a, -b), (a, -b), (a, b), (-a, b)].map(|(u, v)| Point {
            x: x + u * dx - v * dy,
            y: y + u * dy + v * dx,
        }))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The boxes of a map with a long line, tilted by a tenth, and a lone character that lies like a diamond on it.
    #[test]
    fn a_lone_character_lies_as_the_lines_do() {
        let (w, h) = (160u32, 80u32);
        let text = |x: i32, y: i32| {
            let line = (10..150).contains(&x) && (y - 20 - x / 10).abs() < 5;
            line || (x - 60).abs() + (y - 60).abs() < 8
        };
        let map: Vec<f32> = (0..h as i32)
            .flat_map(|y| (0..w as i32).map(move |x| f32::from(u8::from(text(x, y)))))
            .collect();
        let boxes = boxes(&map, w, h);
        let [line, lone] = boxes[..] else {
            panic!("{boxes:?}");
        };
        assert!((line.angle() - 0.1).abs() < 0.05, "{line:?}");
        assert!(
            between(lone.angle(), line.angle(), FRAC_PI_2) < 0.05,
            "{lone:?}"
        );
        assert!((lone.width() - lone.height()).abs() < 3.0, "{lone:?}");
    }
}
