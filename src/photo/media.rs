//! What a file is by its first bytes, whatever its name says.

use super::{Limits, Photo, PhotoError};
use image::metadata::Orientation;
use image::{ImageDecoder, ImageFormat, ImageReader};
use std::io::Cursor;

/// Width and height of a photo as a person sees it, from its first bytes where they tell. Refuses what is no photo
/// and what is too large, before it is decoded.
pub fn measure(bytes: &[u8], limits: &Limits) -> Result<(u32, u32), PhotoError> {
    let header = || -> Option<(u32, u32)> {
        let reader = ImageReader::new(Cursor::new(bytes))
            .with_guessed_format()
            .ok()?;
        let mut decoder = reader.into_decoder().ok()?;
        let (width, height) = decoder.dimensions();
        let turned = match decoder.orientation().ok()? {
            Orientation::Rotate90
            | Orientation::Rotate270
            | Orientation::Rotate90FlipH
            | Orientation::Rotate270FlipH => (height, width),
            _ => (width, height),
        };
        Some(turned)
    };
    let within = |(w, h): &(u32, u32)| u64::from(*w) * u64::from(*h) <= limits.pixels;
    match header().filter(within) {
        Some(size) if bytes.len() as u64 <= limits.bytes => Ok(size),
        // Whatever is wrong with it, decoding says it in words.
        _ => Photo::from_bytes(bytes, limits).map(|photo| photo.size()),
    }
}

/// A format of photos.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[allow(missing_docs)] // the names say it
pub enum MediaType {
    Jpeg,
    Png,
    WebP,
    Tiff,
    Heic,
}

impl MediaType {
    const ALL: [(MediaType, &'static str, &'static str); 5] = [
        (MediaType::Jpeg, "image/jpeg", "jpg"),
        (MediaType::Png, "image/png", "png"),
        (MediaType::WebP, "image/webp", "webp"),
        (MediaType::Tiff, "image/tiff", "tif"),
        (MediaType::Heic, "image/heic", "heic"),
    ];

    /// The format of a file; `None` when it is none of them.
    pub fn of(bytes: &[u8]) -> Option<MediaType> {
        // ISO/IEC 23008-12: a box `ftyp` with one of the brands of HEVC pictures.
        const BRANDS: [&[u8]; 6] = [b"heic", b"heix", b"hevc", b"heim", b"heis", b"mif1"];
        if bytes.get(4..8) == Some(b"ftyp") {
            let brand = bytes.get(8..12)?;
            return BRANDS.contains(&brand).then_some(MediaType::Heic);
        }
        match image::guess_format(bytes).ok()? {
            ImageFormat::Jpeg => Some(MediaType::Jpeg),
            ImageFormat::Png => Some(MediaType::Png),
            ImageFormat::WebP => Some(MediaType::WebP),
            ImageFormat::Tiff => Some(MediaType::Tiff),
            _ => None,
        }
    }

    fn row(self) -> (MediaType, &'static str, &'static str) {
        match self {
            MediaType::Jpeg => Self::ALL[0],
            MediaType::Png => Self::ALL[1],
            MediaType::WebP => Self::ALL[2],
            MediaType::Tiff => Self::ALL[3],
            MediaType::Heic => Self::ALL[4],
        }
    }

    /// Its name by IANA, such as `image/jpeg`.
    pub fn name(self) -> &'static str {
        self.row().1
    }

    /// The usual extension, without the dot.
    pub fn extension(self) -> &'static str {
        self.row().2
    }

    /// The format that a file of this name would have.
    pub fn of_name(name: &str) -> Option<MediaType> {
        let (_, extension) = name.rsplit_once('.')?;
        match extension.to_ascii_lowercase().as_str() {
            "jpg" | "jpeg" | "jpe" | "jfif" => Some(MediaType::Jpeg),
            "png" => Some(MediaType::Png),
            "webp" => Some(MediaType::WebP),
            "tif" | "tiff" => Some(MediaType::Tiff),
            "heic" | "heif" => Some(MediaType::Heic),
            _ => None,
        }
    }

    /// The format with this IANA name.
    pub fn from_name(name: &str) -> Option<MediaType> {
        Self::ALL.iter().find(|m| m.1 == name).map(|m| m.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn bytes_tell_not_names() {
        for (bytes, expected) in [
            (&b"\xFF\xD8\xFF\xE0"[..], Some(MediaType::Jpeg)),
            (b"\x89PNG\r\n\x1a\n", Some(MediaType::Png)),
            (b"RIFF\0\0\0\0WEBP", Some(MediaType::WebP)),
            (b"II*\0", Some(MediaType::Tiff)),
            (b"\0\0\0\x18ftypheic", Some(MediaType::Heic)),
            (b"\0\0\0\x18ftypmp42", None),
            (b"<svg onload=x>", None),
            (b"", None),
        ] {
            assert_eq!(MediaType::of(bytes), expected, "{bytes:?}");
            if let Some(media) = expected {
                assert_eq!(MediaType::from_name(media.name()), expected);
            }
        }
    }
}
