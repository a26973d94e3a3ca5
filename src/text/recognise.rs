//! What a line of text reads: crops of one height, in batches of like width, to lattices.

use std::sync::Arc;

use image::{Rgb, RgbImage};
use rayon::prelude::*;
use rten::ThreadPool;
use rten_tensor::NdTensor;
use rten_tensor::prelude::*;

use super::lattice::{self, BLANK, Lattice};
use super::model::{Network, TextError};

/// Widths are filled up to a multiple of this.
const STEP: usize = 8;
/// Narrowest input: less starves the layers that look along the line.
const NARROWEST: usize = 64;
/// At most so many crops in a batch, and at most so much filling.
const BATCH: usize = 6;
const FILL: f32 = 1.15;
/// Classes less likely than this are not looked at.
const LEAST: f32 = 1e-6;

/// By how much a space is likelier than the recogniser says, where it says that there is no character: the published
/// weights were trained on texts whose spaces were often left out, and tuning on plates mends most of it. Measured on
/// our own generator's calibration split (token recall .936 with 3, .933 with 30).
const SPACE: f32 = 3.0;

/// In which form a network takes crops and gives its answer.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Form {
    /// Blue, green and red in [-1, 1], 48 pixels high; probabilities [n, steps, classes].
    Colour,
    /// Grey in [-0.5, 0.5], 64 pixels high; log-probabilities [steps, n, classes], as the `ocrs` engine has them.
    Grey,
}

impl Form {
    /// Height of a crop, pixels.
    pub fn height(self) -> u32 {
        match self {
            Form::Colour => 48,
            Form::Grey => 64,
        }
    }

    fn channels(self) -> usize {
        match self {
            Form::Colour => 3,
            Form::Grey => 1,
        }
    }

    /// What lies beyond a crop's end, as in training.
    fn filling(self) -> f32 {
        match self {
            Form::Colour => 0.0,
            Form::Grey => -0.5,
        }
    }

    fn value(self, pixel: Rgb<u8>, channel: usize) -> f32 {
        let [r, g, b] = pixel.0.map(f32::from);
        match self {
            Form::Colour => [b, g, r][channel] / 127.5 - 1.0,
            Form::Grey => (0.299 * r + 0.587 * g + 0.114 * b) / 255.0 - 0.5,
        }
    }
}

/// A recogniser and its alphabet: class 0 is the blank, class n the n-th character.
pub(super) struct Recogniser {
    network: Network,
    classes: Vec<char>,
    form: Form,
}

/// One character for those that plates do not tell apart: a raised point is a point, a dash is a dash.
fn plain(ch: char) -> char {
    match ch {
        '·' | '•' => '.',
        '–' | '—' => '-',
        '‘' | '’' | '′' => '\'',
        '“' | '”' | '″' => '"',
        'μ' => 'µ',
        '△' => 'Δ',
        '∅' | '⌀' => 'Ø',
        _ => ch,
    }
}

impl Recogniser {
    pub fn new(
        name: &str,
        onnx: Vec<u8>,
        alphabet: &str,
        form: Form,
    ) -> Result<Recogniser, TextError> {
        let characters = alphabet.split('\n').filter_map(|line| line.chars().next());
        Ok(Recogniser {
            network: Network::new(name, onnx)?,
            form,
            classes: std::iter::once(BLANK)
                .chain(characters.map(plain))
                .collect(),
        })
    }

    /// In which form crops are taken.
    pub fn form(&self) -> Form {
        self.form
    }

    /// The lattices of crops, each as high as the form wants them, in the order given.
    ///
    /// Which crops share a batch depends on nothing but their widths: the answer is the same whatever the
    /// number of threads.
    pub fn read(
        &self,
        crops: &[RgbImage],
        pool: &Arc<ThreadPool>,
    ) -> Result<Vec<Lattice>, TextError> {
        let mut order: Vec<usize> = (0..crops.len()).collect();
        order.sort_by_key(|&at| crops[at].width());
        let mut batches: Vec<&[usize]> = Vec::new();
        let mut rest = &order[..];
        while let Some(&first) = rest.first() {
            let widest = filled(crops[first].width() as usize) as f32 * FILL;
            let fits = |at: &&usize| crops[**at].width() as f32 <= widest;
            let count = rest.iter().take(BATCH).take_while(fits).count().max(1);
            let (batch, after) = rest.split_at(count);
            batches.push(batch);
            rest = after;
        }
        // The widest first, so that no thread is left alone with the longest work.
        batches.reverse();
        let read: Vec<Vec<(usize, Lattice)>> = pool.run(|| {
            batches
                .par_iter()
                .map(|batch| self.batch(crops, batch, pool))
                .collect::<Result<_, _>>()
        })?;
        let mut lattices = vec![Lattice::default(); crops.len()];
        for (at, lattice) in read.into_iter().flatten() {
            lattices[at] = lattice;
        }
        Ok(lattices)
    }

    /// The characters of one step with their probabilities, from those of the classes.
    fn step(&self, row: &[f32]) -> Vec<(char, f32)> {
        let mut step: Vec<(char, f32)> = Vec::new();
        for (&ch, &p) in self.classes.iter().zip(row).filter(|&(_, &p)| p > LEAST) {
            lattice::add(&mut step, ch, p);
        }
        if self.form == Form::Grey {
            return step;
        }
        let likeliest = step.iter().copied().max_by(|a, b| a.1.total_cmp(&b.1));
        if let Some((BLANK, blank)) = likeliest
            && let Some(at) = step.iter().position(|entry| entry.0 == ' ')
        {
            // Taken from the blank alone: no character becomes less likely.
            let space = step[at].1;
            let share = SPACE * space / (SPACE * space + blank);
            step[at].1 = share * (space + blank);
            step[0].1 = (1.0 - share) * (space + blank);
        }
        step
    }

    fn batch(
        &self,
        crops: &[RgbImage],
        batch: &[usize],
        pool: &Arc<ThreadPool>,
    ) -> Result<Vec<(usize, Lattice)>, TextError> {
        let width = batch
            .iter()
            .map(|&at| filled(crops[at].width() as usize))
            .max()
            .unwrap_or(NARROWEST);
        let (height, channels) = (self.form.height() as usize, self.form.channels());
        let plane = height * width;
        let mut data = vec![self.form.filling(); batch.len() * channels * plane];
        for (&at, out) in batch.iter().zip(data.chunks_exact_mut(channels * plane)) {
            for (x, y, pixel) in crops[at].enumerate_pixels() {
                for c in 0..channels {
                    let value = self.form.value(*pixel, c);
                    out[c * plane + y as usize * width + x as usize] = value;
                }
            }
        }
        let input = NdTensor::from_data([batch.len(), channels, height, width], data);
        let output = self.network.run(input, pool)?;
        let (n, classes) = (batch.len(), self.classes.len());
        let steps = match (self.form, output.shape()) {
            (Form::Colour, &[lines, steps, c]) if lines == n && c == classes => steps,
            (Form::Grey, &[steps, lines, c]) if lines == n && c == classes => steps,
            (_, shape) => {
                let detail = format!("the recogniser answered {shape:?} for {classes} classes");
                return Err(TextError::Run(detail));
            }
        };
        let values = output.to_vec();
        let row = |line: usize, step: usize| -> Vec<(char, f32)> {
            let at = match self.form {
                Form::Colour => line * steps + step,
                Form::Grey => step * n + line,
            };
            let row = &values[at * classes..(at + 1) * classes];
            match self.form {
                Form::Colour => self.step(row),
                Form::Grey => self.step(&row.iter().map(|p| p.exp()).collect::<Vec<f32>>()),
            }
        };
        Ok(batch
            .iter()
            .enumerate()
            .map(|(line, &at)| {
                // The steps over the filling hold nothing; one more is kept for a character at the edge.
                let used = (crops[at].width() as usize * steps).div_ceil(width) + 1;
                let lattice = Lattice::from_steps((0..used.min(steps)).map(|step| row(line, step)));
                (at, lattice)
            })
            .collect())
    }
}

/// The width of the input for a crop of a width.
fn filled(width: usize) -> usize {
    width.next_multiple_of(STEP).max(NARROWEST)
}
