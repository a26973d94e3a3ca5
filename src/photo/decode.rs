//! From a file to pixels: formats, limits that hold before anything is decoded, and orientation.

use std::error::Error;
use std::fs::File;
use std::io::{self, Cursor, Read};
use std::path::Path;

use image::metadata::Orientation;
use image::{DynamicImage, ImageDecoder, ImageError, ImageFormat, ImageReader, RgbImage};
use sha2::{Digest, Sha256};

use super::media::MediaType;
use super::{heic, jpeg};

/// What a photo may cost. Checked before its pixels are decoded.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Limits {
    /// Largest file, bytes.
    pub bytes: u64,
    /// Most pixels, width times height.
    pub pixels: u64,
    /// Most bytes that the decoded pixels may take, in the file's own depth.
    pub decoded_bytes: u64,
}

impl Default for Limits {
    /// Fits the largest phone photos, and keeps the whole program below 1 GiB of memory.
    fn default() -> Self {
        Limits {
            bytes: 64 << 20,
            pixels: 80_000_000,
            decoded_bytes: 400 << 20,
        }
    }
}

/// A decoded photo as a person sees it.
#[derive(Debug, Clone, PartialEq)]
pub struct Photo {
    /// The pixels, turned upright where the file says how the camera was held.
    pub pixels: RgbImage,
    /// SHA-256 of the file, hexadecimal.
    pub sha256: String,
}

/// Why there is no photo. Every message names the file and says what to do next.
#[derive(Debug, thiserror::Error)]
#[allow(missing_docs)] // the messages say it
pub enum PhotoError {
    #[error("{name}: no such file. Check the path")]
    NotFound { name: String },
    #[error("{name}: no permission to read it. Give yourself read access, or copy the file")]
    Permission { name: String },
    #[error("{name}: is a folder. Give the photos in it, or use `batch` for whole folders")]
    Directory { name: String },
    #[error("{name}: is empty (0 bytes). Copy the photo again")]
    Empty { name: String },
    #[error("{name}: is not a photo: expected JPEG, PNG, WebP, TIFF or HEIC")]
    NotAnImage { name: String },
    #[error("{name}: {format} cannot be read here. Save it as JPEG or PNG and try again")]
    Unsupported { name: String, format: String },
    #[error("{name}: ends in the middle of the picture. Copy or send the photo again")]
    Truncated { name: String },
    #[error("{name}: is damaged ({detail}). Copy or send the photo again")]
    Damaged { name: String, detail: String },
    #[error(
        "{name}: too large: {what}, at most {most} allowed. Crop it to the plate, or scale it down"
    )]
    TooLarge {
        name: String,
        what: String,
        most: String,
    },
    #[error(
        "{name}: is a strip of {width} x {height} pixels, on which no plate can be read. Send the whole photo"
    )]
    Strip {
        name: String,
        width: u32,
        height: u32,
    },
    #[error("{name}: cannot be read: {source}. Try again, or copy the file elsewhere")]
    Io { name: String, source: io::Error },
}

impl PhotoError {
    /// A short word for the kind of error, for machines; it stays the same over versions.
    pub fn kind(&self) -> &'static str {
        match self {
            PhotoError::NotFound { .. } => "not_found",
            PhotoError::Permission { .. } => "permission",
            PhotoError::Directory { .. } => "directory",
            PhotoError::Empty { .. } => "empty",
            PhotoError::NotAnImage { .. } => "not_an_image",
            PhotoError::Unsupported { .. } => "unsupported",
            PhotoError::Truncated { .. } => "truncated",
            PhotoError::Damaged { .. } => "damaged",
            PhotoError::TooLarge { .. } => "too_large",
            PhotoError::Strip { .. } => "strip",
            PhotoError::Io { .. } => "io",
        }
    }
}

impl Photo {
    /// Reads and decodes a file.
    pub fn open(path: &Path, limits: &Limits) -> Result<Photo, PhotoError> {
        let name = path.display().to_string();
        let bytes = read_file(path, limits, &name)?;
        decode(&bytes, limits, name)
    }

    /// Decodes a file already in memory; messages call it "the photo".
    pub fn from_bytes(bytes: &[u8], limits: &Limits) -> Result<Photo, PhotoError> {
        decode(bytes, limits, "the photo".to_owned())
    }

    /// Width and height in pixels.
    pub fn size(&self) -> (u32, u32) {
        self.pixels.dimensions()
    }
}

fn read_file(path: &Path, limits: &Limits, name: &str) -> Result<Vec<u8>, PhotoError> {
    let failed = |source: io::Error| {
        let name = name.to_owned();
        match source.kind() {
            io::ErrorKind::NotFound => PhotoError::NotFound { name },
            io::ErrorKind::PermissionDenied => PhotoError::Permission { name },
            io::ErrorKind::IsADirectory => PhotoError::Directory { name },
            _ => PhotoError::Io { name, source },
        }
    };
    // Systems differ in whether a folder can be opened; so it is asked first.
    if std::fs::metadata(path).map_err(failed)?.is_dir() {
        return Err(PhotoError::Directory {
            name: name.to_owned(),
        });
    }
    let mut bytes = Vec::new();
    // One byte more than allowed is enough to know, whatever the file's length claims.
    File::open(path)
        .map_err(failed)?
        .take(limits.bytes.saturating_add(1))
        .read_to_end(&mut bytes)
        .map_err(failed)?;
    Ok(bytes)
}

fn decode(bytes: &[u8], limits: &Limits, name: String) -> Result<Photo, PhotoError> {
    if bytes.is_empty() {
        return Err(PhotoError::Empty { name });
    }
    if bytes.len() as u64 > limits.bytes {
        let what = format!("more than {} MiB", limits.bytes >> 20);
        let most = format!("{} MiB", limits.bytes >> 20);
        return Err(PhotoError::TooLarge { name, what, most });
    }
    if MediaType::of(bytes) == Some(MediaType::Heic) {
        let pixels = heic::decode(bytes, limits, &name)?;
        shape(pixels.width(), pixels.height(), &name)?;
        return Ok(Photo {
            pixels,
            sha256: hex(&Sha256::digest(bytes)),
        });
    }
    let known = ImageReader::new(Cursor::new(bytes))
        .with_guessed_format()
        .ok()
        .filter(|reader| {
            reader
                .format()
                .is_some_and(|format| format.reading_enabled())
        });
    let Some(mut reader) = known else {
        return Err(unknown(bytes, name));
    };
    let complete = match reader.format() {
        // The decoder would fill what is missing with grey, without a word.
        Some(ImageFormat::Jpeg) => jpeg::is_complete(bytes),
        Some(ImageFormat::WebP) => riff_is_complete(bytes),
        _ => true,
    };
    if !complete {
        return Err(PhotoError::Truncated { name });
    }
    let mut allocation = image::Limits::no_limits();
    allocation.max_alloc = Some(limits.decoded_bytes);
    reader.limits(allocation);
    let mut decoder = match reader.into_decoder() {
        Ok(decoder) => decoder,
        Err(error) => return Err(explain(error, limits, name)),
    };
    let (width, height) = decoder.dimensions();
    let too_many = u64::from(width) * u64::from(height) > limits.pixels;
    if too_many || decoder.total_bytes() > limits.decoded_bytes {
        let what = format!("{width} x {height} pixels");
        let most = format!("{} million pixels", limits.pixels / 1_000_000);
        return Err(PhotoError::TooLarge { name, what, most });
    }
    shape(width, height, &name)?;
    let orientation = decoder.orientation().unwrap_or(Orientation::NoTransforms);
    let decoded = match DynamicImage::from_decoder(decoder) {
        Ok(decoded) => decoded,
        Err(error) => return Err(explain(error, limits, name)),
    };
    // To three bytes a pixel first: turning makes a copy.
    let mut upright = DynamicImage::ImageRgb8(decoded.into_rgb8());
    upright.apply_orientation(orientation);
    Ok(Photo {
        pixels: upright.into_rgb8(),
        sha256: hex(&Sha256::digest(bytes)),
    })
}

/// Refuses what is so long and narrow that looking at all of it would take more memory than its pixels.
fn shape(width: u32, height: u32, name: &str) -> Result<(), PhotoError> {
    const LONGEST: u32 = 100;
    if width.max(height) / width.min(height).max(1) > LONGEST {
        return Err(PhotoError::Strip {
            name: name.to_owned(),
            width,
            height,
        });
    }
    Ok(())
}

/// Lower-case hexadecimal.
fn hex(bytes: &[u8]) -> String {
    bytes.iter().map(|b| format!("{b:02x}")).collect()
}

/// Whether a RIFF file (WebP) is as long as its header says. Source: RFC 9649.
fn riff_is_complete(bytes: &[u8]) -> bool {
    match bytes.get(4..8) {
        Some(&[a, b, c, d]) => {
            bytes.len() as u64 >= 8 + u64::from(u32::from_le_bytes([a, b, c, d]))
        }
        _ => false,
    }
}

/// What to say of bytes that are in none of the formats.
fn unknown(bytes: &[u8], name: String) -> PhotoError {
    // ISO base media files carry their brand after "ftyp".
    match (bytes.get(4..8), bytes.get(8..12)) {
        (Some(b"ftyp"), Some(b"msf1" | b"avif" | b"avis")) => {
            let format = "an AVIF photo".to_owned();
            PhotoError::Unsupported { name, format }
        }
        _ => PhotoError::NotAnImage { name },
    }
}

fn explain(error: ImageError, limits: &Limits, name: String) -> PhotoError {
    if ends_early(&error) {
        return PhotoError::Truncated { name };
    }
    match error {
        ImageError::Limits(_) => PhotoError::TooLarge {
            name,
            what: "its decoded pixels take too much memory".to_owned(),
            most: format!("{} MiB", limits.decoded_bytes >> 20),
        },
        ImageError::Unsupported(error) => {
            let format = error.to_string();
            PhotoError::Unsupported { name, format }
        }
        error => {
            let detail = error.to_string();
            PhotoError::Damaged { name, detail }
        }
    }
}

/// Whether an error says, at any depth, that the file ended too early.
fn ends_early(error: &ImageError) -> bool {
    let mut next: Option<&(dyn Error + 'static)> = Some(error);
    while let Some(error) = next {
        if let Some(error) = error.downcast_ref::<io::Error>()
            && error.kind() == io::ErrorKind::UnexpectedEof
        {
            return true;
        }
        next = error.source();
    }
    // Some decoders keep it only in words.
    let text = error.to_string().to_ascii_lowercase();
    text.contains("unexpected end") || text.contains("unexpected eof")
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A picture with something in it, so that its file has a body to cut.
    fn picture(width: u32, height: u32) -> RgbImage {
        RgbImage::from_fn(width, height, |x, y| {
            image::Rgb([(x * 7 + y * 3) as u8, (x * y) as u8, (x ^ y) as u8])
        })
    }

    fn encoded(image: &RgbImage, format: ImageFormat) -> Vec<u8> {
        let mut bytes = Cursor::new(Vec::new());
        image.write_to(&mut bytes, format).unwrap();
        bytes.into_inner()
    }

    /// A JPEG whose EXIF says how the camera was held (TIFF tag 0x0112, values 1 to 8).
    fn held(image: &RgbImage, orientation: u8) -> Vec<u8> {
        let plain = encoded(image, ImageFormat::Jpeg);
        let mut exif = b"Exif\0\0MM\0\x2A\0\0\0\x08\0\x01\x01\x12\0\x03\0\0\0\x01\0".to_vec();
        exif.extend([orientation, 0, 0, 0, 0, 0, 0]);
        let mut bytes = vec![0xFF, 0xD8, 0xFF, 0xE1, 0, exif.len() as u8 + 2];
        bytes.extend(exif);
        bytes.extend(&plain[2..]);
        bytes
    }

    const FORMATS: [ImageFormat; 4] = [
        ImageFormat::Jpeg,
        ImageFormat::Png,
        ImageFormat::WebP,
        ImageFormat::Tiff,
    ];

    fn kind(bytes: &[u8], limits: &Limits) -> &'static str {
        Photo::from_bytes(bytes, limits).map_or_else(|e| e.kind(), |_| "a photo")
    }

    #[test]
    fn all_four_formats_decode() {
        let image = picture(40, 30);
        for format in FORMATS {
            let photo = Photo::from_bytes(&encoded(&image, format), &Limits::default()).unwrap();
            assert_eq!(photo.size(), (40, 30), "{format:?}");
            assert_eq!(photo.sha256.len(), 64);
            if format != ImageFormat::Jpeg {
                assert_eq!(photo.pixels, image, "{format:?}");
            }
        }
    }

    #[test]
    fn a_file_cut_anywhere_gives_no_photo() {
        let mut failed = Vec::new();
        for format in FORMATS {
            let whole = encoded(&picture(200, 150), format);
            for part in [0.2, 0.5, 0.9, 0.99] {
                let cut = &whole[..(whole.len() as f64 * part) as usize];
                let found = kind(cut, &Limits::default());
                // A TIFF may keep its directory at the end: without it nothing says what was cut.
                if found != "truncated" && (found, format) != ("damaged", ImageFormat::Tiff) {
                    failed.push((format, part, found));
                }
            }
        }
        assert!(failed.is_empty(), "{failed:?}");
    }

    #[test]
    fn a_photo_is_turned_as_the_camera_was_held() {
        // Red in the upper left corner of the sensor's picture; where it must be seen.
        let mut image = RgbImage::new(48, 32);
        for (x, y) in (0..8).flat_map(|x| (0..8).map(move |y| (x, y))) {
            image.put_pixel(x, y, image::Rgb([255, 0, 0]));
        }
        struct Case {
            orientation: u8,
            size: (u32, u32),
            red_at: (u32, u32),
        }
        // CIPA DC-008 (Exif 2.32), tag Orientation.
        let cases = [
            Case {
                orientation: 1,
                size: (48, 32),
                red_at: (3, 3),
            },
            Case {
                orientation: 3,
                size: (48, 32),
                red_at: (44, 28),
            },
            Case {
                orientation: 6,
                size: (32, 48),
                red_at: (28, 3),
            },
            Case {
                orientation: 8,
                size: (32, 48),
                red_at: (3, 44),
            },
        ];
        for case in cases {
            let bytes = held(&image, case.orientation);
            let photo = Photo::from_bytes(&bytes, &Limits::default()).unwrap();
            assert_eq!(photo.size(), case.size, "orientation {}", case.orientation);
            let [r, g, b] = photo.pixels.get_pixel(case.red_at.0, case.red_at.1).0;
            assert!(
                r > 180 && g < 80 && b < 80,
                "orientation {}",
                case.orientation
            );
        }
    }

    #[test]
    fn what_is_no_photo_is_called_by_its_kind() {
        let small = Limits {
            pixels: 1000,
            ..Limits::default()
        };
        let short = Limits {
            bytes: 100,
            ..Limits::default()
        };
        let png = encoded(&picture(40, 30), ImageFormat::Png);
        // A PNG header that claims 30,000 x 30,000 pixels.
        let mut huge = encoded(&RgbImage::new(1, 1), ImageFormat::Png);
        huge[16..24].copy_from_slice(&[0, 0, 0x75, 0x30, 0, 0, 0x75, 0x30]);
        // CRC-32 of that header chunk, as computed by zlib.
        huge[29..33].copy_from_slice(&[0xE9, 0x45, 0x6F, 0xED]);
        let strip = encoded(&picture(1, 200), ImageFormat::Png);
        struct Case<'a> {
            bytes: &'a [u8],
            limits: Limits,
            kind: &'a str,
        }
        let all = Limits::default();
        let cases = [
            Case {
                bytes: b"",
                limits: all,
                kind: "empty",
            },
            Case {
                bytes: b"sku,hp\nA,1\n",
                limits: all,
                kind: "not_an_image",
            },
            Case {
                bytes: b"\0\0\0\x18ftypavif\0\0\0\0",
                limits: all,
                kind: "unsupported",
            },
            Case {
                bytes: b"\xFF\xD8\xFF",
                limits: all,
                kind: "truncated",
            },
            Case {
                bytes: &png,
                limits: small,
                kind: "too_large",
            },
            Case {
                bytes: &png,
                limits: short,
                kind: "too_large",
            },
            Case {
                bytes: &huge,
                limits: all,
                kind: "too_large",
            },
            Case {
                bytes: &strip,
                limits: all,
                kind: "strip",
            },
        ];
        let failed: Vec<_> = cases
            .iter()
            .map(|c| (kind(c.bytes, &c.limits), c.kind))
            .filter(|(found, expected)| found != expected)
            .collect();
        assert!(failed.is_empty(), "found, expected: {failed:?}");
    }

    #[test]
    fn a_path_that_gives_no_photo_is_named_in_the_message() {
        let folder = tempfile::tempdir().unwrap();
        let missing = folder.path().join("gone.jpg");
        let error = Photo::open(&missing, &Limits::default()).unwrap_err();
        assert_eq!(error.kind(), "not_found");
        assert!(error.to_string().contains("gone.jpg"), "{error}");
        let error = Photo::open(folder.path(), &Limits::default()).unwrap_err();
        assert_eq!(error.kind(), "directory");
        let good = folder.path().join("good.png");
        std::fs::write(&good, encoded(&picture(9, 9), ImageFormat::Png)).unwrap();
        assert!(Photo::open(&good, &Limits::default()).is_ok());
    }

    #[test]
    fn a_thumbnail_does_not_hide_that_the_picture_is_cut() {
        let whole = encoded(&picture(64, 64), ImageFormat::Jpeg);
        let thumbnail = encoded(&picture(8, 8), ImageFormat::Jpeg);
        let mut bytes = vec![0xFF, 0xD8, 0xFF, 0xE2];
        bytes.extend((thumbnail.len() as u16 + 2).to_be_bytes());
        bytes.extend(&thumbnail);
        bytes.extend(&whole[2..]);
        assert!(jpeg::is_complete(&bytes));
        assert!(!jpeg::is_complete(&bytes[..bytes.len() - 40]));
    }
}
