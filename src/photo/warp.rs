//! Cutting pieces out of a photo: any quadrilateral, at any scale, without aliasing.

use image::RgbImage;
use image::imageops::{self, FilterType};
use imageproc::geometric_transformations::{Border, Interpolation, Projection, warp_into_with};

use super::{Point, Quad};

/// A picture and its halves, quarters, and so on: a piece is taken from the level next to its scale, so
/// that no pixel of the photo is skipped when the piece is smaller than what it shows.
pub struct Pyramid<'a> {
    base: &'a RgbImage,
    halves: Vec<RgbImage>,
}

/// Levels end where the longer side is below this.
const SMALLEST: u32 = 256;

impl<'a> Pyramid<'a> {
    /// Builds the levels of a picture.
    pub fn new(base: &'a RgbImage) -> Self {
        let mut halves: Vec<RgbImage> = Vec::new();
        loop {
            let last = halves.last().unwrap_or(base);
            let (w, h) = last.dimensions();
            if w.max(h) < 2 * SMALLEST || w.min(h) < 2 {
                return Pyramid { base, halves };
            }
            halves.push(half(last));
        }
    }

    /// Width and height of the picture itself.
    pub fn size(&self) -> (u32, u32) {
        self.base.dimensions()
    }

    fn level(&self, at: usize) -> &RgbImage {
        at.checked_sub(1)
            .map_or(self.base, |half| &self.halves[half])
    }

    /// The whole picture at another size.
    pub fn resized(&self, width: u32, height: u32) -> RgbImage {
        let fits = |level: &RgbImage| level.width() >= width && level.height() >= height;
        let level = (0..=self.halves.len())
            .rev()
            .map(|at| self.level(at))
            .find(|l| fits(l));
        imageops::resize(
            level.unwrap_or(self.base),
            width,
            height,
            FilterType::Triangle,
        )
    }

    /// What stands in `quad` (pixels of the picture), upright, `width` by `height` pixels. Beyond the
    /// picture its edge is repeated. `None` where the quad has no area.
    pub fn piece(&self, quad: &Quad, width: u32, height: u32) -> Option<RgbImage> {
        let projection = projection(quad, width as f32, height as f32)?;
        // Pixels of the photo per pixel of the piece, along the direction that is shrunk least.
        let scale = (quad.height() / height as f32).min(quad.width() / width as f32);
        let level = (scale.max(1.0).log2().round() as usize).min(self.halves.len());
        let source = self.level(level);
        let fx = source.width() as f32 / self.base.width() as f32;
        let fy = source.height() as f32 / self.base.height() as f32;
        let mut piece = RgbImage::new(width, height);
        warp_into_with(
            source,
            // Coordinates are of pixel edges outside, of pixel centres inside the sampler.
            |x, y| {
                let (x, y) = projection * (x + 0.5, y + 0.5);
                (x * fx - 0.5, y * fy - 0.5)
            },
            if scale < 0.8 {
                Interpolation::Bicubic
            } else {
                Interpolation::Bilinear
            },
            Border::Replicate,
            &mut piece,
        );
        Some(piece)
    }
}

/// Maps a `width` by `height` rectangle onto a quad. `None` where the quad has no area.
pub fn projection(quad: &Quad, width: f32, height: f32) -> Option<Projection> {
    let rectangle = [(0.0, 0.0), (width, 0.0), (width, height), (0.0, height)];
    Projection::from_control_points(rectangle, quad.0.map(|p| (p.x, p.y)))
}

/// Maps a point by a projection.
pub fn project(projection: &Projection, point: Point) -> Point {
    let (x, y) = *projection * (point.x, point.y);
    Point { x, y }
}

/// Half the size; every pixel is the mean of four.
fn half(image: &RgbImage) -> RgbImage {
    let (w, h) = (image.width() / 2, image.height() / 2);
    let stride = image.width() as usize * 3;
    let pixels = image.as_raw();
    let mut out = Vec::with_capacity((w * h * 3) as usize);
    for rows in pixels.chunks_exact(2 * stride).take(h as usize) {
        let (upper, lower) = rows.split_at(stride);
        for (a, b) in upper.chunks_exact(6).zip(lower.chunks_exact(6)) {
            for c in 0..3 {
                let sum =
                    u16::from(a[c]) + u16::from(a[c + 3]) + u16::from(b[c]) + u16::from(b[c + 3]);
                out.push(((sum + 2) / 4) as u8);
            }
        }
    }
    // The length fits by construction; an empty picture stands for the impossible.
    RgbImage::from_raw(w, h, out).unwrap_or_default()
}

#[cfg(test)]
mod tests {
    use image::Rgb;

    use super::*;

    fn quad(points: [[f32; 2]; 4]) -> Quad {
        Quad(points.map(Point::from))
    }

    /// Left half red, right half green; lower half brighter.
    fn picture(w: u32, h: u32) -> RgbImage {
        RgbImage::from_fn(w, h, |x, y| {
            let v = if y < h / 2 { 100 } else { 200 };
            Rgb(if x < w / 2 { [v, 0, 0] } else { [0, v, 0] })
        })
    }

    #[test]
    fn a_piece_is_upright_whichever_way_it_is_turned_in_the_photo() {
        let image = picture(1600, 1200);
        let pyramid = Pyramid::new(&image);
        // Read from below to above: the piece's left is the photo's bottom.
        let turned = quad([[600., 900.], [600., 300.], [1000., 300.], [1000., 900.]]);
        let piece = pyramid.piece(&turned, 60, 40).unwrap();
        assert_eq!(piece.get_pixel(5, 5).0, [200, 0, 0]);
        assert_eq!(piece.get_pixel(55, 5).0, [100, 0, 0]);
        assert_eq!(piece.get_pixel(5, 35).0, [0, 200, 0]);
    }

    #[test]
    fn fine_detail_is_averaged_not_skipped() {
        let stripes =
            RgbImage::from_fn(
                1024,
                1024,
                |x, _| Rgb([if x % 2 == 0 { 0 } else { 200 }; 3]),
            );
        let whole = quad([[0., 0.], [1024., 0.], [1024., 1024.], [0., 1024.]]);
        let piece = Pyramid::new(&stripes).piece(&whole, 100, 100).unwrap();
        assert!(piece.pixels().all(|p| (95..=105).contains(&p.0[0])));
    }

    #[test]
    fn a_quad_without_area_gives_nothing_and_one_beyond_the_photo_repeats_the_edge() {
        let image = picture(40, 40);
        let pyramid = Pyramid::new(&image);
        assert!(pyramid.piece(&quad([[1., 1.]; 4]), 10, 10).is_none());
        let beyond = quad([[-20., -20.], [0., -20.], [0., 0.], [-20., 0.]]);
        assert_eq!(
            pyramid.piece(&beyond, 8, 8).unwrap().get_pixel(0, 0).0,
            [100, 0, 0]
        );
    }
}
