//! Making worn text easier to see.

use image::{Rgb, RgbImage};
use imageproc::integral_image::{integral_image, integral_squared_image, sum_image_pixels};

/// Contrast is not raised by more than this: flat ground stays flat.
const MOST: f32 = 4.0;
/// Standard deviation that every surrounding is brought to, grey levels of 255.
const SPREAD: f32 = 55.0;

/// Evens out light: every pixel's brightness is taken relative to the mean and the spread of the `radius` pixels
/// around it. The result is grey.
pub fn local_contrast(image: &RgbImage, radius: u32) -> RgbImage {
    let grey = image::imageops::grayscale(image);
    let (w, h) = grey.dimensions();
    if w == 0 || h == 0 {
        return image.clone();
    }
    let sums = integral_image::<_, u64>(&grey);
    let squares = integral_squared_image::<_, u64>(&grey);
    RgbImage::from_fn(w, h, |x, y| {
        let (l, t) = (x.saturating_sub(radius), y.saturating_sub(radius));
        let (r, b) = ((x + radius).min(w - 1), (y + radius).min(h - 1));
        let count = ((r - l + 1) * (b - t + 1)) as f32;
        let mean = sum_image_pixels(&sums, l, t, r, b)[0] as f32 / count;
        let variance = sum_image_pixels(&squares, l, t, r, b)[0] as f32 / count - mean * mean;
        let gain = (SPREAD / variance.max(1.0).sqrt()).min(MOST);
        let value = (f32::from(grey.get_pixel(x, y).0[0]) - mean) * gain + 128.0;
        Rgb([value.clamp(0.0, 255.0) as u8; 3])
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn text_in_shadow_gets_the_contrast_of_text_in_light() {
        // Stripes of 8 pixels; the right half lies in shadow at a fifth of the light.
        let image = RgbImage::from_fn(200, 48, |x, _| {
            let ink = if (x / 8) % 2 == 0 { 100.0 } else { 200.0 };
            Rgb([if x < 100 { ink } else { ink / 5.0 } as u8; 3])
        });
        let even = local_contrast(&image, 24);
        let contrast = |from: u32| {
            let values = (from..from + 32).map(|x| even.get_pixel(x, 24).0[0]);
            f32::from(values.clone().max().unwrap()) - f32::from(values.min().unwrap())
        };
        assert!(
            (contrast(30) / contrast(140) - 1.0).abs() < 0.4,
            "{} {}",
            contrast(30),
            contrast(140)
        );
    }

    #[test]
    fn flat_ground_stays_flat_and_an_empty_picture_empty() {
        let flat = RgbImage::from_pixel(30, 30, Rgb([90, 90, 90]));
        assert!(local_contrast(&flat, 8).pixels().all(|p| p.0[0] == 128));
        assert_eq!(local_contrast(&RgbImage::new(0, 0), 8).dimensions(), (0, 0));
    }
}
