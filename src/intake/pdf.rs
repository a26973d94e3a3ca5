//! PDFs of scanned pages: each page is drawn as a photo, within limits on pages, pixels and time. They are drawn by
//! a library without unsafe code; a fault of it costs a page and nothing else.

use super::Limits;
use super::walk::{FoundPage, Go, Item, Origin, Walk};
use crate::photo::MediaType;
use crate::store::{NewPhoto, sha256};
use hayro::hayro_interpret::InterpreterSettings;
use hayro::hayro_syntax::object::{Object, Stream};
use hayro::hayro_syntax::{LoadPdfError, Pdf};
use hayro::vello_cpu::color::palette::css::WHITE;
use hayro::{PixmapSettings, RenderCache, RenderSettings, render};
use image::codecs::jpeg::JpegEncoder;
use image::{DynamicImage, RgbImage};
use std::fmt;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc;
use std::time::Duration;

/// Pages are drawn with so many dots an inch, as pages are scanned; PDF measures them in points, 72 an inch
/// (ISO 32000-1, 8.3.2.3).
const DPI: f32 = 300.0;
const POINTS: f32 = 72.0;
/// How well a drawn page is kept: no letter of a scan looks different.
const QUALITY: u8 = 92;

/// A page that can be drawn.
#[derive(Clone)]
pub struct Page {
    document: Arc<Document>,
    /// Which one, from 0.
    index: usize,
}

struct Document {
    pdf: Pdf,
    /// A page of it did not come to an end: the others are not tried.
    stuck: AtomicBool,
}

impl fmt::Debug for Page {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "page {}", self.index + 1)
    }
}

/// Why there is no picture of a page.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Undrawn {
    pub kind: &'static str,
    pub what: String,
}

/// Gives the pages of a PDF.
pub(super) fn open(walk: &mut Walk<'_>, bytes: Vec<u8>, name: &str, origin: &Origin) -> Go {
    let mut here = origin.inner(crate::store::SourceKind::Pdf, "");
    here.detail.document = Some(sha256(&bytes));
    let limits = *walk.limits;
    // The library may stumble over what is no PDF at all.
    let opened = catch_unwind(AssertUnwindSafe(|| look_into(bytes, &limits)));
    let pdf = match opened {
        Ok(Ok(pdf)) => pdf,
        Ok(Err(refused)) => return walk.refuse(&here, name, refused.kind, &refused.what),
        Err(_) => {
            let Undrawn { kind, what } = damaged();
            return walk.refuse(&here, name, kind, &what);
        }
    };
    let pages = pdf.pages().len();
    let document = Arc::new(Document {
        pdf,
        stuck: AtomicBool::new(false),
    });
    for index in 0..pages {
        let mut of = here.clone();
        of.detail.page = u32::try_from(index + 1).ok();
        walk.give(Item::Page(FoundPage {
            source: of.source(),
            file_name: format!("{name}{}", of.detail.fragment()),
            page: Page {
                document: document.clone(),
                index,
            },
        }))?;
    }
    Go::Continue(())
}

fn damaged() -> Undrawn {
    Undrawn {
        kind: "damaged",
        what: "is no whole PDF. Copy, send or scan it again".to_owned(),
    }
}

fn look_into(bytes: Vec<u8>, limits: &Limits) -> Result<Pdf, Undrawn> {
    let pdf = Pdf::new(bytes).map_err(|error| match error {
        LoadPdfError::Decryption(_) => Undrawn {
            kind: "encrypted",
            what: "is locked with a password. Open it with the password, print it into a new PDF, and give that"
                .to_owned(),
        },
        LoadPdfError::Invalid => damaged(),
    })?;
    let pages = pdf.pages().len();
    if pages == 0 {
        return Err(damaged());
    }
    if pages > limits.pdf_pages {
        return Err(Undrawn {
            kind: "too_many_pages",
            what: format!(
                "has {pages} pages, at most {} are allowed. Split it",
                limits.pdf_pages
            ),
        });
    }
    // Pictures are decoded whole, however small they are drawn.
    for object in pdf.objects() {
        if let Object::Stream(stream) = object
            && let Some((w, h)) = picture(&stream)
            && u64::from(w) * u64::from(h) > limits.photo.pixels
        {
            return Err(Undrawn {
                kind: "too_large",
                what: format!(
                    "has a picture of {w} × {h} pixels, at most {} million are allowed. Scan it with fewer dots an inch",
                    limits.photo.pixels / 1_000_000
                ),
            });
        }
    }
    Ok(pdf)
}

/// Width and height of a picture in a PDF (ISO 32000-1, 8.9.5).
fn picture(stream: &Stream<'_>) -> Option<(u32, u32)> {
    let dict = stream.dict();
    Some((
        dict.get::<u32>(&b"Width"[..])?,
        dict.get::<u32>(&b"Height"[..])?,
    ))
}

impl Page {
    /// Draws the page as a photo. Holds up whoever calls, for as long as the limits allow.
    pub(super) fn draw(&self, limits: &Limits) -> Result<NewPhoto, Undrawn> {
        if self.document.stuck.load(Ordering::SeqCst) {
            return Err(self.given_up(limits));
        }
        let (done, drawn) = mpsc::channel();
        let (page, pixels) = (self.clone(), limits.pdf_pixels);
        // A thread of its own: one that does not come to an end can only be left behind.
        let started = std::thread::Builder::new().spawn(move || {
            let drawn = catch_unwind(AssertUnwindSafe(|| page.picture(pixels)));
            let _ = done.send(drawn.unwrap_or_else(|_| Err(damaged())));
        });
        if let Err(error) = started {
            return Err(Undrawn {
                kind: "io",
                what: format!("the system gives no thread to draw it: {error}. Try again"),
            });
        }
        match drawn.recv_timeout(Duration::from_secs(limits.pdf_seconds)) {
            Ok(drawn) => drawn,
            Err(_) => {
                self.document.stuck.store(true, Ordering::SeqCst);
                Err(self.given_up(limits))
            }
        }
    }

    fn given_up(&self, limits: &Limits) -> Undrawn {
        Undrawn {
            kind: "too_slow",
            what: format!(
                "a page of it takes longer than {} s to draw, and it was given up. Print it into a new PDF, or scan it",
                limits.pdf_seconds
            ),
        }
    }

    fn picture(&self, most: u64) -> Result<NewPhoto, Undrawn> {
        let pages = self.document.pdf.pages();
        let page = pages.get(self.index).ok_or_else(damaged)?;
        let (w, h) = page.render_dimensions();
        let scale = scale(w, h, most).ok_or_else(|| Undrawn {
            kind: "too_large",
            what: format!("a page of {w} × {h} points cannot be drawn. Print it into a new PDF"),
        })?;
        let pixmap = render(
            page,
            &RenderCache::new(),
            &InterpreterSettings::default(),
            &RenderSettings::default(),
            &PixmapSettings {
                x_scale: scale,
                y_scale: scale,
                bg_color: WHITE,
            },
        );
        let size = (u32::from(pixmap.width()), u32::from(pixmap.height()));
        // On white nothing shines through, so that all four parts of a colour are what they say.
        let rgb: Vec<u8> = pixmap
            .data_as_u8_slice()
            .chunks_exact(4)
            .flat_map(|p| [p[0], p[1], p[2]])
            .collect();
        let image = RgbImage::from_raw(size.0, size.1, rgb).ok_or_else(damaged)?;
        let grey = image.pixels().all(|p| p[0] == p[1] && p[1] == p[2]);
        let image = DynamicImage::ImageRgb8(image);
        let image = if grey {
            DynamicImage::ImageLuma8(image.into_luma8())
        } else {
            image
        };
        let mut bytes = Vec::new();
        image
            .write_with_encoder(JpegEncoder::new_with_quality(&mut bytes, QUALITY))
            .map_err(|_| damaged())?;
        Ok(NewPhoto {
            bytes,
            media: MediaType::Jpeg,
            size: Some(size),
        })
    }
}

/// Pixels a point; `None` for a page that is no surface, or so long and narrow that nothing could be read.
fn scale(w: f32, h: f32, most: u64) -> Option<f32> {
    // The library counts sides in sixteen bits.
    const SIDE: f32 = 20_000.0;
    if !(w.is_finite() && h.is_finite() && w >= 1.0 && h >= 1.0) {
        return None;
    }
    let scale = (DPI / POINTS)
        .min((most as f32 / (w * h)).sqrt())
        .min(SIDE / w.max(h));
    (w.min(h) * scale >= 1.0).then_some(scale)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn pages_are_drawn_as_they_are_scanned_and_never_too_large() {
        let letter = scale(612.0, 792.0, 12_000_000).unwrap();
        assert!((letter - 300.0 / 72.0).abs() < 1e-4);
        for (w, h) in [
            (612.0, 792.0),
            (5000.0, 5000.0),
            (14_400.0, 1.0),
            (20.0, 14_400.0),
        ] {
            if let Some(scale) = scale(w, h, 12_000_000) {
                assert!(w * scale * h * scale <= 12_000_001.0 * 1.001, "{w} {h}");
                assert!((w * scale).max(h * scale) <= 20_001.0, "{w} {h}");
            }
        }
        for (w, h) in [
            (0.0, 10.0),
            (f32::NAN, 10.0),
            (f32::INFINITY, 10.0),
            (-5.0, 10.0),
        ] {
            assert_eq!(scale(w, h, 12_000_000), None);
        }
    }
}
