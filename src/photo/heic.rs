//! HEIC photos as phones take them.

use super::{Limits, PhotoError};
use image::RgbImage;

/// The pixels of an HEIC file as a person sees them: its own rotation is applied, and what EXIF says of the
/// orientation is only information there (ISO/IEC 23008-12, annex A), so it must not be obeyed again.
pub(super) fn decode(bytes: &[u8], limits: &Limits, name: &str) -> Result<RgbImage, PhotoError> {
    let name = name.to_owned();
    // The decoder holds four bytes a pixel.
    let most = limits.pixels.min(limits.decoded_bytes / 4);
    let options = heifer::Options {
        max_threads: 0,
        max_pixels: most,
    };
    let image = match heifer::decode_rgba8(bytes, &options) {
        Ok(image) => image,
        Err(error) => return Err(explain(error, most, name)),
    };
    let (width, height) = (image.width, image.height);
    RgbImage::from_raw(width, height, image.into_rgb8()).ok_or(PhotoError::Damaged {
        name,
        detail: "its pixels are fewer than it says".to_owned(),
    })
}

fn explain(error: heifer::Error, most: u64, name: String) -> PhotoError {
    let detail = error.to_string();
    // The decoder says these two only in words.
    let too_large = ["too large", "size limit"]
        .iter()
        .any(|words| detail.contains(words));
    match error {
        _ if too_large => PhotoError::TooLarge {
            name,
            what: "its picture has too many pixels".to_owned(),
            most: format!("{} million pixels", most / 1_000_000),
        },
        heifer::Error::Unsupported(_) => PhotoError::Unsupported {
            name,
            format: format!("this kind of HEIC or AVIF photo ({detail})"),
        },
        _ if detail.contains("unexpected end") => PhotoError::Truncated { name },
        _ => PhotoError::Damaged { name, detail },
    }
}

#[cfg(test)]
mod tests {
    use crate::photo::{Limits, Photo};
    use std::path::PathBuf;

    fn fixture(name: &str) -> PathBuf {
        PathBuf::from(env!("CARGO_MANIFEST_DIR"))
            .join("fixtures")
            .join(name)
    }

    #[test]
    fn a_phones_photo_is_turned_once() {
        // libheif 1.15 (heif-convert) gives 1200 x 900 as well; EXIF, obeyed on top, would give 900 x 1200.
        let photo =
            Photo::open(&fixture("photos/turned.heic"), &Limits::default()).expect("a photo");
        assert_eq!(photo.size(), (1200, 900));
        // The same scene as the JPEG that it was made from, coded with some loss.
        let jpeg = fixture("plates/02-easy-boxed-grid-printed.jpg");
        let jpeg = Photo::open(&jpeg, &Limits::default()).expect("a photo");
        let small = image::imageops::thumbnail(&jpeg.pixels, 60, 45);
        let heic = image::imageops::thumbnail(&photo.pixels, 60, 45);
        let far = small
            .iter()
            .zip(heic.iter())
            .map(|(a, b)| f64::from(a.abs_diff(*b)))
            .sum::<f64>()
            / small.len() as f64;
        assert!(far < 6.0, "{far} grey levels apart");
    }

    #[test]
    fn limits_and_damage_are_told() {
        let bytes = std::fs::read(fixture("photos/turned.heic")).expect("the fixture");
        let kind = |bytes: &[u8], limits: &Limits| {
            Photo::from_bytes(bytes, limits).map_or_else(|e| e.kind(), |_| "a photo")
        };
        let small = Limits {
            pixels: 1000,
            ..Limits::default()
        };
        assert_eq!(kind(&bytes, &small), "too_large");
        let narrow = Limits {
            decoded_bytes: 1000,
            ..Limits::default()
        };
        assert_eq!(kind(&bytes, &narrow), "too_large");
        for part in [20, 300, bytes.len() / 2, bytes.len() - 100] {
            let found = kind(&bytes[..part], &Limits::default());
            assert!(
                ["truncated", "damaged"].contains(&found),
                "{part} bytes: {found}"
            );
        }
        for at in (30..bytes.len()).step_by(997) {
            let mut broken = bytes.clone();
            broken[at] ^= 0xFF;
            // Whatever comes of it, it is a photo or an error.
            kind(&broken, &Limits::default());
        }
    }
}
