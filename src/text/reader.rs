//! From a photo to its lines: find text, zoom in where it is small, decide which way it reads, read it.

use std::sync::Arc;

use image::RgbImage;
use rten::ThreadPool;

use crate::photo::{Photo, Pyramid, Quad, project, projection};

use super::direction::{
    across, axis, facing, line_height, opposite, reading_order, region, runs_across, turned,
};
use super::lattice::Lattice;
use super::model::{Files, ModelSource, Network, TextError};
use super::recognise::{HEIGHT, Recogniser};
use super::{Line, Page, detect};

/// Longer side of the first look, pixels.
const FIRST_SIDE: f32 = 736.0;
const FIRST_SIDE_FAST: f32 = 512.0;
/// Boxes lower than this many pixels in a look are worth a closer one, at which they are `WANTED` pixels high.
/// Boxes are about half as high again as their letters.
const SMALL: f32 = 22.0;
const WANTED: f32 = 34.0;
/// A closer look has at most so many pixels, and at most so many for one of the photo.
const LARGEST: f32 = 1.4e6;
const LARGEST_FAST: f32 = 0.7e6;
const FINEST: f32 = 1.5;
/// So many lines are read first to find out which way the page reads, and this confidence settles it.
const SAMPLE: usize = 5;
const SETTLED: f32 = 0.9;
/// Widest crop, in heights.
const WIDEST: f32 = 60.0;

/// How to read.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct ReadOptions {
    /// Look at fewer pixels: nearly the same text in two thirds of the time.
    pub fast: bool,
    /// How many threads; as many as there are processors where not given.
    pub threads: Option<usize>,
}

/// The models, loaded once; reads any number of photos, from any number of threads.
pub struct Reader {
    detector: Network,
    recogniser: Recogniser,
    pool: Arc<ThreadPool>,
}

impl Reader {
    /// Loads the models.
    pub fn load(source: &ModelSource) -> Result<Reader, TextError> {
        let files = Files::read(source)?;
        let threads = std::thread::available_parallelism().map_or(1, |n| n.get());
        Ok(Reader {
            detector: Network::new("det.onnx", files.det)?,
            recogniser: Recogniser::new(files.rec, &files.alphabet)?,
            pool: Arc::new(ThreadPool::with_num_threads(threads)),
        })
    }

    /// All text of a photo. A photo without text gives a page without lines.
    pub fn read(&self, photo: &Photo, options: &ReadOptions) -> Result<Page, TextError> {
        let pool = match options.threads {
            Some(threads) => Arc::new(ThreadPool::with_num_threads(threads.max(1))),
            None => self.pool.clone(),
        };
        let pyramid = Pyramid::new(&photo.pixels);
        let boxes = self.find(&pyramid, options, &pool)?;
        let (direction, lines) = self.read_boxes(&pyramid, &boxes, &pool)?;
        let quads: Vec<Quad> = lines.iter().map(|line| line.quad).collect();
        let order = reading_order(&quads, direction);
        Ok(Page {
            lines: order.into_iter().map(|at| lines[at].clone()).collect(),
            size: photo.size(),
            plate: region(&quads, direction, 0.0),
        })
    }

    /// What one crop with nothing but a line of text in it reads, upright.
    pub fn read_line(&self, crop: &RgbImage) -> Result<Line, TextError> {
        let (w, h) = (crop.width() as f32, crop.height() as f32);
        let whole = Quad([[0.0, 0.0], [w, 0.0], [w, h], [0.0, h]].map(Into::into));
        let mut lines = self.recognise(&Pyramid::new(crop), &[whole], &self.pool)?;
        Ok(lines
            .pop()
            .unwrap_or_else(|| Line::new(Lattice::default(), whole)))
    }

    /// Boxes around text, in pixels of the photo.
    fn find(
        &self,
        pyramid: &Pyramid,
        options: &ReadOptions,
        pool: &Arc<ThreadPool>,
    ) -> Result<Vec<Quad>, TextError> {
        let (w, h) = pyramid.size();
        let whole = Quad(
            [
                [0.0, 0.0],
                [w as f32, 0.0],
                [w as f32, h as f32],
                [0.0, h as f32],
            ]
            .map(Into::into),
        );
        let (side, largest) = match options.fast {
            true => (FIRST_SIDE_FAST, LARGEST_FAST),
            false => (FIRST_SIDE, LARGEST),
        };
        let mut scale = side / w.max(h) as f32;
        let mut boxes = self.look(pyramid, &whole, scale, pool)?;
        if boxes.is_empty() && scale < 0.5 {
            // Perhaps only too small to be seen.
            scale *= 2.0;
            boxes = self.look(pyramid, &whole, scale, pool)?;
        }
        for _ in 0..2 {
            let line = line_height(&boxes);
            let seen = line * scale;
            let margin = 2.0 * line;
            let Some(text) = region(&boxes, axis(&boxes), margin) else {
                break;
            };
            // Text that was too small to be seen may stand next to what was.
            let margin =
                if seen < SMALL / 2.0 { 0.5 } else { 0.1 } * text.width().max(text.height());
            let Some(text) = region(&[text], axis(&boxes), margin) else {
                break;
            };
            let affordable = (largest / (text.width() * text.height())).sqrt();
            let closer = (scale * WANTED / seen).min(affordable).min(FINEST);
            if seen >= SMALL || closer < 1.25 * scale {
                break;
            }
            let found = self.look(pyramid, &text, closer, pool)?;
            if found.is_empty() {
                break;
            }
            boxes = found;
            scale = closer;
        }
        Ok(boxes)
    }

    /// Boxes around text in a rectangle of the photo seen at a scale (pixels for one of the photo).
    fn look(
        &self,
        pyramid: &Pyramid,
        at: &Quad,
        scale: f32,
        pool: &Arc<ThreadPool>,
    ) -> Result<Vec<Quad>, TextError> {
        let side = |length: f32| {
            let steps = (length * scale / detect::STEP as f32).round().max(1.0);
            steps as u32 * detect::STEP
        };
        let (w, h) = (side(at.width()), side(at.height()));
        let Some((picture, to_photo)) = pyramid
            .piece(at, w, h)
            .zip(projection(at, w as f32, h as f32))
        else {
            return Ok(Vec::new());
        };
        let boxes = detect::detect(&self.detector, &picture, pool)?;
        Ok(boxes
            .iter()
            .map(|quad| Quad(quad.0.map(|p| project(&to_photo, p))))
            .collect())
    }

    /// Reads boxes: which way the page reads, and the lines, in the order of the boxes as far as they hold text.
    fn read_boxes(
        &self,
        pyramid: &Pyramid,
        boxes: &[Quad],
        pool: &Arc<ThreadPool>,
    ) -> Result<(f32, Vec<Line>), TextError> {
        let mut direction = axis(boxes);
        let height = line_height(boxes);
        // The lines that tell most about the direction: long, but not costly.
        let mut order: Vec<usize> = (0..boxes.len()).collect();
        let telling = |at: usize| (boxes[at].width() / boxes[at].height()).ln().abs().min(2.0);
        order.sort_by(|&a, &b| telling(b).total_cmp(&telling(a)));
        let (sample, rest) = order.split_at(SAMPLE.min(order.len()));
        let quads = |which: &[usize], direction| -> Vec<Quad> {
            which
                .iter()
                .map(|&at| facing(&boxes[at], direction))
                .collect()
        };

        let mut lines = self.recognise(pyramid, &quads(sample, direction), pool)?;
        if confidence(&lines) < SETTLED {
            let other = self.recognise(pyramid, &quads(sample, opposite(direction)), pool)?;
            if confidence(&other) > confidence(&lines) {
                direction = opposite(direction);
                lines = other;
            }
        }
        lines.extend(self.recognise(pyramid, &quads(rest, direction), pool)?);

        // Lines across the page may read either way.
        let doubtful: Vec<usize> = (0..lines.len())
            .filter(|&at| runs_across(&lines[at].quad, height))
            .collect();
        let down: Vec<Quad> = doubtful
            .iter()
            .map(|&at| facing(&lines[at].quad, across(direction)))
            .collect();
        let up: Vec<Quad> = down.iter().map(|quad| turned(quad, 2)).collect();
        let across = self.recognise(pyramid, &[down, up].concat(), pool)?;
        let (down, up) = across.split_at(doubtful.len());
        for ((at, down), up) in doubtful.into_iter().zip(down).zip(up) {
            let better = if up.confidence > down.confidence {
                up
            } else {
                down
            };
            lines[at] = better.clone();
        }
        lines.retain(|line| !line.text.trim().is_empty());
        Ok((direction, lines))
    }

    /// The lines in quads whose corners are in reading order.
    fn recognise(
        &self,
        pyramid: &Pyramid,
        quads: &[Quad],
        pool: &Arc<ThreadPool>,
    ) -> Result<Vec<Line>, TextError> {
        let crops: Vec<RgbImage> = quads
            .iter()
            .map(|quad| {
                let ratio = (quad.width() / quad.height().max(1.0)).clamp(0.1, WIDEST);
                let width = (ratio * HEIGHT as f32).ceil() as u32;
                pyramid
                    .piece(quad, width, HEIGHT)
                    .unwrap_or_else(|| RgbImage::new(width, HEIGHT))
            })
            .collect();
        let lattices = self.recogniser.read(&crops, pool)?;
        Ok(lattices
            .into_iter()
            .zip(quads)
            .map(|(lattice, &quad)| Line::new(lattice, quad))
            .collect())
    }
}

/// Mean confidence of lines, by their characters.
fn confidence(lines: &[Line]) -> f32 {
    let (sum, count) = lines.iter().fold((0.0, 0.0), |(sum, count), line| {
        let n = line.text.chars().count() as f32;
        (sum + n * line.confidence, count + n)
    });
    sum / f32::max(count, 1.0)
}
