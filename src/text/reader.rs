//! From a photo to its lines: find text, zoom in where it is small, decide which way it reads, read it.

use std::sync::Arc;

use image::RgbImage;
use image::imageops::invert;
use rten::ThreadPool;

use crate::photo::{Pyramid, Quad, local_contrast, project, projection};

use super::direction::{
    across, along_lines, axis, facing, grown, line_height, opposite, reading_order, region,
    runs_across, turned,
};
use super::lattice::Lattice;
use super::model::{Files, ModelSource, Network, TextError};
use super::recognise::{Form, Recogniser};
use super::{Line, Page, beside, detect, rules};

/// Longer side of the first look, pixels.
const FIRST_SIDE: f32 = 608.0;
const FIRST_SIDE_FAST: f32 = 512.0;
/// Boxes lower than this many pixels in a look are worth a closer one, at which they are `WANTED` pixels high.
/// Boxes are about half as high again as their letters.
const SMALL: f32 = 22.0;
const WANTED: f32 = 32.0;
/// A closer look has at most so many pixels, and at most so many for one of the photo.
const LARGEST: f32 = 1.3e6;
const LARGEST_FAST: f32 = 0.6e6;
const FINEST: f32 = 1.5;
/// A plate has more lines than this.
const FEW: usize = 6;
/// So many lines are read first to find out which way the page reads, and this confidence settles it.
const SAMPLE: usize = 5;
const SETTLED: f32 = 0.9;
/// Beside a label a line counts that is read with this confidence, and it may be a scratch with this probability.
const BESIDE: f32 = 0.8;
const SCRATCHES: f32 = 0.05;
/// With this confidence a lone character is read in a window there, and in so many windows next to each other.
const LONE: f32 = 0.9;
const ALIKE: usize = 3;
/// Widest crop, in heights.
const WIDEST: f32 = 60.0;

/// How to read.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct ReadOptions {
    /// Look at fewer pixels: most of the text in two thirds of the time.
    pub fast: bool,
    /// How many threads; as many as there are processors where not given.
    pub threads: Option<usize>,
}

/// In which ways a place is read anew.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LookOptions {
    /// With more and with less around it.
    pub margins: bool,
    /// Upside down.
    pub turned: bool,
    /// With contrast evened out along the line, against glare and shadow.
    pub contrast: bool,
    /// Dark for light.
    pub inverted: bool,
}

impl Default for LookOptions {
    /// Margins alone. On 260 plates (160 of the calibration split, 100 unseen ones) evened contrast and inversion
    /// changed no measure by more than a thousandth, and cost as much as the margins.
    fn default() -> Self {
        LookOptions {
            margins: true,
            turned: false,
            contrast: false,
            inverted: false,
        }
    }
}

/// The models, loaded once; reads any number of photos, from any number of threads.
pub struct Reader {
    detector: Network,
    recogniser: Recogniser,
    /// Built and trained differently, so that it fails differently.
    second: Option<Recogniser>,
    pool: Arc<ThreadPool>,
}

impl Reader {
    /// Loads the models.
    pub fn load(source: &ModelSource) -> Result<Reader, TextError> {
        let files = Files::read(source)?;
        let threads = std::thread::available_parallelism().map_or(1, |n| n.get());
        let reader = Reader {
            detector: Network::new("det.onnx", files.det)?,
            recogniser: Recogniser::new("rec.onnx", files.rec, &files.alphabet, Form::Colour)?,
            second: files
                .second
                .map(|onnx| Recogniser::new("second.onnx", onnx, &files.alphabet, Form::Grey))
                .transpose()?,
            pool: Arc::new(ThreadPool::with_num_threads(threads)),
        };
        // Files may be whole and yet not belong together, such as a recogniser with the alphabet of another one.
        if let ModelSource::Dir(_) = source {
            reader.try_out()?;
        }
        Ok(reader)
    }

    /// Runs every network once on a blank picture.
    fn try_out(&self) -> Result<(), TextError> {
        let unfit = |name: &str, error: TextError| TextError::Model {
            name: name.to_owned(),
            detail: error.to_string(),
        };
        let blank = |side| RgbImage::new(side, side);
        let picture = blank(64);
        self.find(&Pyramid::new(&picture), &ReadOptions::default(), &self.pool)
            .map_err(|e| unfit("det.onnx", e))?;
        let second = self.second.as_ref().map(|second| ("second.onnx", second));
        for (name, recogniser) in [("rec.onnx", &self.recogniser)].into_iter().chain(second) {
            recogniser
                .read(&[blank(recogniser.form().height())], &self.pool)
                .map_err(|e| unfit(name, e))?;
        }
        Ok(())
    }

    /// All text of a photo. A photo without text gives a page without lines.
    pub fn read(&self, photo: &Pyramid, options: &ReadOptions) -> Result<Page, TextError> {
        let pool = match options.threads {
            Some(threads) => Arc::new(ThreadPool::with_num_threads(threads.max(1))),
            None => self.pool.clone(),
        };
        let boxes = self.find(photo, options, &pool)?;
        let (direction, lines) = self.read_boxes(photo, &boxes, &pool)?;
        let quads: Vec<Quad> = lines.iter().map(|line| line.quad).collect();
        let order = reading_order(&quads, direction);
        Ok(Page {
            lines: order.into_iter().map(|at| lines[at].clone()).collect(),
            size: photo.size(),
            plate: region(&quads, direction, 0.0),
            codes: Vec::new(),
            rules: rules::find(photo, &quads, direction),
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

    /// Reads some lines of a page anew, each in several ways. Gives one page for every way, in the order of the
    /// options, equal to `page` but for those lines.
    pub fn look_again(
        &self,
        photo: &Pyramid,
        page: &Page,
        lines: &[usize],
        options: &LookOptions,
    ) -> Result<Vec<Page>, TextError> {
        let height = self.recogniser.form().height();
        let places: Vec<Quad> = lines.iter().map(|&at| page.lines[at].quad).collect();
        let seen = |change: &dyn Fn(&Quad) -> Quad| -> Vec<RgbImage> {
            places
                .iter()
                .map(|quad| crop(photo, &change(quad), height))
                .collect()
        };
        let mut looks: Vec<Vec<RgbImage>> = Vec::new();
        if options.margins {
            looks.extend([0.12, -0.08].map(|part| seen(&|quad| grown(quad, part * quad.height()))));
        }
        if options.turned {
            looks.push(seen(&|quad| turned(quad, 2)));
        }
        if options.contrast {
            let even = seen(&|quad| *quad);
            looks.push(
                even.iter()
                    .map(|crop| local_contrast(crop, height / 2))
                    .collect(),
            );
        }
        if options.inverted {
            let mut negative = seen(&|quad| *quad);
            negative.iter_mut().for_each(invert);
            looks.push(negative);
        }
        let lattices = self.recogniser.read(&looks.concat(), &self.pool)?;
        let of_look = lattices.chunks(lines.len().max(1));
        Ok(of_look
            .map(|lattices| with_lattices(page, lines, lattices))
            .collect())
    }

    /// What stands right of, below or above labels whose value was not found: lines of it that are read well, or else a
    /// lone character that is, one of those given with the label (none: it is not looked for). They are in no order, and
    /// never as sure as what the detector saw: a scratch may look like a 1.
    pub fn look_beside(
        &self,
        photo: &Pyramid,
        page: &Page,
        labels: &[(Quad, &str)],
    ) -> Result<Vec<Line>, TextError> {
        let lines: Vec<Quad> = page.lines.iter().map(|line| line.quad).collect();
        let mut found: Vec<Line> = Vec::new();
        for (label, characters) in labels {
            let places = beside::places(label, &lines);
            let read = self.recognise(photo, &places, &self.pool)?;
            let may_be = |text: &str| {
                let text = text.trim();
                let lone = text.chars().count() == 1 && !characters.is_empty();
                !text.is_empty() && (!lone || characters.contains(text))
            };
            let best = read
                .into_iter()
                .filter(|line| line.confidence > BESIDE && may_be(&line.text))
                .max_by(|a, b| a.confidence.total_cmp(&b.confidence));
            let best = match best {
                None if !characters.is_empty() => {
                    let windows = beside::windows(label, &lines);
                    self.lone_character(photo, &windows, characters)?
                }
                line => line,
            };
            found.extend(best.map(|line| Line::new(line.lattice.softened(SCRATCHES), line.quad)));
        }
        Ok(found)
    }

    /// The lone character in one of these rows of windows that most surely is one.
    fn lone_character(
        &self,
        photo: &Pyramid,
        rows: &[Vec<Quad>],
        characters: &str,
    ) -> Result<Option<Line>, TextError> {
        let windows = self.recognise(photo, &rows.concat(), &self.pool)?;
        let mut windows = windows.into_iter();
        let mut best: Option<(f32, Line)> = None;
        for row in rows {
            let row: Vec<Line> = windows.by_ref().take(row.len()).collect();
            let alike = row.chunk_by(|one, next| one.text == next.text);
            for (at, run) in alike.enumerate() {
                // The first of a row may have begun before it.
                let long = run.len() >= if at == 0 { 2 } else { ALIKE };
                let lone = run[0].text.chars().count() == 1 && characters.contains(&run[0].text);
                let surest = run
                    .iter()
                    .max_by(|a, b| a.confidence.total_cmp(&b.confidence));
                let sum = run.iter().map(|line| line.confidence).sum();
                if let Some(surest) = surest
                    && (lone && long && surest.confidence > LONE)
                    && best.as_ref().is_none_or(|(most, _)| sum > *most)
                {
                    best = Some((sum, surest.clone()));
                }
            }
        }
        Ok(best.map(|(_, line)| line))
    }

    /// The page as the second reader reads those lines of it; `None` where the models have none.
    pub fn second_opinion(
        &self,
        photo: &Pyramid,
        page: &Page,
        lines: &[usize],
    ) -> Result<Option<Page>, TextError> {
        let Some(second) = &self.second else {
            return Ok(None);
        };
        let height = second.form().height();
        let crops: Vec<RgbImage> = lines
            .iter()
            .map(|&at| crop(photo, &page.lines[at].quad, height))
            .collect();
        let lattices = second.read(&crops, &self.pool)?;
        Ok(Some(with_lattices(page, lines, &lattices)))
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
        let scale = side / w.max(h) as f32;
        let boxes = self.look(pyramid, &whole, scale, pool)?;
        let boxes = self.close_in(pyramid, boxes, scale, largest, pool)?;
        let finer = (largest / (w * h) as f32).sqrt().min(1.0);
        if boxes.len() >= FEW || finer < 1.25 * scale {
            return Ok(boxes);
        }
        // Perhaps the plate is too small in the photo to be seen at all.
        let more = self.look(pyramid, &whole, finer, pool)?;
        let more = self.close_in(pyramid, more, finer, largest, pool)?;
        Ok(if more.len() > boxes.len() {
            more
        } else {
            boxes
        })
    }

    /// The boxes of a look and what stands next to them, seen as large as they are worth it.
    fn close_in(
        &self,
        pyramid: &Pyramid,
        mut boxes: Vec<Quad>,
        mut scale: f32,
        largest: f32,
        pool: &Arc<ThreadPool>,
    ) -> Result<Vec<Quad>, TextError> {
        for _ in 0..3 {
            let seen = line_height(&boxes) * scale;
            // Few boxes may be a whole plate each, too small to be seen as lines.
            let blobs = boxes.len() < FEW;
            // Text that was too small to be seen may stand next to what was.
            let part = if blobs || seen < SMALL / 2.0 {
                0.4
            } else {
                0.1
            };
            let Some(text) = surroundings(&boxes, part) else {
                break;
            };
            let affordable = (largest / (text.width() * text.height()))
                .sqrt()
                .min(FINEST);
            let closer = match (seen < SMALL, blobs) {
                (true, false) => affordable.min(scale * WANTED / seen),
                (_, true) => affordable,
                (false, false) => break,
            };
            if closer < 1.25 * scale {
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
        let height = self.recogniser.form().height();
        let crops: Vec<RgbImage> = quads
            .iter()
            .map(|quad| crop(pyramid, quad, height))
            .collect();
        let lattices = self.recogniser.read(&crops, pool)?;
        Ok(lattices
            .into_iter()
            .zip(quads)
            .map(|(lattice, &quad)| Line::new(lattice, quad))
            .collect())
    }
}

/// The rectangle around boxes along their text, with two lines and a `part` of its length to spare on every side.
fn surroundings(boxes: &[Quad], part: f32) -> Option<Quad> {
    let axis = axis(boxes);
    let text = region(boxes, axis, 2.0 * line_height(boxes))?;
    let text = region(&[text], axis, part * text.width().max(text.height()))?;
    Some(along_lines(&text, boxes))
}

/// The page with other lattices for some of its lines.
fn with_lattices(page: &Page, lines: &[usize], lattices: &[Lattice]) -> Page {
    let mut page = page.clone();
    for (&at, lattice) in lines.iter().zip(lattices) {
        page.lines[at] = Line::new(lattice.clone(), page.lines[at].quad);
    }
    page
}

/// The upright pixels of a box, at a recogniser's height.
fn crop(pyramid: &Pyramid, quad: &Quad, height: u32) -> RgbImage {
    let ratio = (quad.width() / quad.height().max(1.0)).clamp(0.1, WIDEST);
    let width = (ratio * height as f32).ceil() as u32;
    pyramid
        .piece(quad, width, height)
        .unwrap_or_else(|| RgbImage::new(width, height))
}

/// Mean confidence of lines, by their characters. A line has at least a character for each of its heights: of a line
/// that is seen upside down the recogniser tells little or nothing, but may be sure of that little.
fn confidence(lines: &[Line]) -> f32 {
    let (sum, count) = lines.iter().fold((0.0, 0.0), |(sum, count), line| {
        let n = line.text.chars().count() as f32;
        let room = line.quad.width() / line.quad.height().max(1.0);
        (sum + n * line.confidence, count + n.max(room))
    });
    sum / f32::max(count, 1.0)
}

#[cfg(test)]
mod tests {
    use std::path::Path;
    use std::sync::OnceLock;

    use image::imageops::{rotate90, rotate180, rotate270};
    use image::{Rgb, imageops};
    use imageproc::geometric_transformations::{Border, Interpolation, warp};

    use super::*;
    use crate::photo::{Limits, Photo};

    fn reader() -> &'static Reader {
        static READER: OnceLock<Reader> = OnceLock::new();
        READER.get_or_init(|| Reader::load(&ModelSource::Embedded).unwrap())
    }

    fn read(pixels: &RgbImage, options: &ReadOptions) -> Page {
        reader().read(&Pyramid::new(pixels), options).unwrap()
    }

    /// The first plate of the fixtures, an easy one.
    fn plate() -> RgbImage {
        let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("fixtures/plates");
        let files = std::fs::read_dir(folder)
            .unwrap()
            .map(|entry| entry.unwrap().path());
        let first = files
            .filter(|path| path.extension().is_some_and(|e| e == "jpg"))
            .min()
            .unwrap();
        Photo::open(&first, &Limits::default()).unwrap().pixels
    }

    fn words(page: &Page) -> Vec<&str> {
        page.lines
            .iter()
            .flat_map(|line| line.text.split(' '))
            .collect()
    }

    #[test]
    fn a_plate_reads_the_same_in_all_four_orientations() {
        let upright = plate();
        let expected = read(&upright, &ReadOptions::default());
        let expected = words(&expected);
        assert!(expected.len() > 20, "{expected:?}");
        for (name, turned) in [
            ("90", rotate90(&upright)),
            ("180", rotate180(&upright)),
            ("270", rotate270(&upright)),
        ] {
            let page = read(&turned, &ReadOptions::default());
            let found = words(&page);
            let same = expected.iter().filter(|word| found.contains(word)).count();
            assert!(
                same * 100 >= expected.len() * 85,
                "{name}: {found:?}, upright: {expected:?}"
            );
        }
    }

    /// Turned and seen from the side at once.
    #[test]
    fn a_plate_seen_aslant_reads_as_it_does_from_the_front() {
        let front = plate();
        let expected = read(&front, &ReadOptions::default());
        let expected = words(&expected);
        let (w, h) = (front.width() as f32, front.height() as f32);
        let (s, c) = 0.4f32.sin_cos();
        let turn = |x: f32, y: f32| [w / 2.0 + x * c - y * s, h / 2.0 + x * s + y * c];
        let (x, y) = (0.4 * w, 0.4 * h);
        let shown = Quad(
            [
                turn(-x, -0.6 * y),
                turn(x, -y),
                turn(x, y),
                turn(-x, 0.6 * y),
            ]
            .map(Into::into),
        );
        let seen = projection(&shown, w, h).unwrap();
        let aslant = warp(
            &front,
            seen,
            Interpolation::Bilinear,
            Border::Constant(Rgb([110, 110, 110])),
        );
        let page = read(&aslant, &ReadOptions::default());
        let found = words(&page);
        let same = expected.iter().filter(|word| found.contains(word)).count();
        assert!(
            same * 100 >= expected.len() * 85,
            "{found:?}, from the front: {expected:?}"
        );
    }

    #[test]
    fn the_number_of_threads_changes_nothing() {
        let plate = plate();
        let read = |threads| {
            let options = ReadOptions {
                threads: Some(threads),
                fast: true,
            };
            read(&plate, &options)
        };
        let one = read(1);
        assert_eq!(one, read(2));
        assert_eq!(one, read(3));
    }

    #[test]
    fn a_small_plate_in_a_large_photo_is_read_at_the_resolution_it_has() {
        let plate = imageops::resize(&plate(), 800, 600, imageops::FilterType::Triangle);
        let mut large = RgbImage::from_pixel(4000, 3000, Rgb([96, 100, 104]));
        imageops::replace(&mut large, &plate, 2300, 1500);
        let near = read(&plate, &ReadOptions::default());
        let far = read(&large, &ReadOptions::default());
        let (near, far) = (words(&near), words(&far));
        let same = near.iter().filter(|word| far.contains(word)).count();
        assert!(
            same * 100 >= near.len() * 85,
            "near: {near:?}, far: {far:?}"
        );
    }

    #[test]
    fn a_picture_without_text_gives_a_page_without_lines() {
        for (w, h) in [(1, 1), (3, 900), (640, 480)] {
            let blank = RgbImage::from_pixel(w, h, Rgb([120, 120, 120]));
            let page = read(&blank, &ReadOptions::default());
            assert_eq!((page.lines.len(), page.plate, page.size), (0, None, (w, h)));
        }
    }

    #[test]
    fn a_second_look_reads_the_same_place_in_several_ways() {
        let plate = plate();
        let photo = Pyramid::new(&plate);
        let page = read(&plate, &ReadOptions::default());
        let line = page
            .lines
            .iter()
            .max_by(|a, b| a.confidence.total_cmp(&b.confidence))
            .unwrap();
        let at = page.lines.iter().position(|l| l == line).unwrap();
        let all = LookOptions {
            contrast: true,
            inverted: true,
            ..LookOptions::default()
        };
        let looks = reader().look_again(&photo, &page, &[at], &all).unwrap();
        assert_eq!(looks.len(), 4);
        let agreeing = looks
            .iter()
            .filter(|look| look.lines[at].text == line.text)
            .count();
        assert!(
            agreeing >= 3,
            "{}: {:?}",
            line.text,
            looks.iter().map(|l| &l.lines[at].text).collect::<Vec<_>>()
        );
    }
}
