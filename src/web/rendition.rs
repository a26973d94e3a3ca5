//! Photos as a browser can show them: upright JPEG, whole or small. Made once and kept in a folder that may be
//! deleted at any time.

use super::App;
use super::error::PageError;
use super::person::Person;
use crate::photo::{Limits, Photo};
use crate::store::StoredPhoto;
use axum::extract::{Path, State};
use axum::http::header;
use axum::response::{IntoResponse, Response};
use image::codecs::jpeg::JpegEncoder;
use image::imageops::FilterType;
use std::io::Write;
use std::path::PathBuf;
use tokio::sync::Semaphore;

/// The folder of renditions, and how they are made.
#[derive(Debug)]
pub(super) struct Renditions {
    folder: PathBuf,
    limits: Limits,
    /// Millions of pixels that may be in memory: each rendition holds a whole photo while it is made.
    memory: Semaphore,
}

/// How large a photo is shown.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Size {
    /// For the place beside the readings: every stroke of the letters is there.
    View,
    /// For lists.
    Thumb,
}

impl Size {
    fn longest_side(self) -> u32 {
        match self {
            Size::View => 3200,
            Size::Thumb => 280,
        }
    }

    fn name(self) -> &'static str {
        match self {
            Size::View => "view.jpg",
            Size::Thumb => "thumb.jpg",
        }
    }
}

const QUALITY: u8 = 85;

/// Eight usual photos of a phone, or one as large as any may be.
const MEGAPIXELS_IN_HAND: u32 = 96;

impl Renditions {
    pub(super) fn new(folder: PathBuf, limits: Limits) -> Renditions {
        Renditions {
            folder,
            limits,
            memory: Semaphore::new(MEGAPIXELS_IN_HAND as usize),
        }
    }

    async fn get(&self, app: &App, photo: &StoredPhoto, size: Size) -> Result<Vec<u8>, PageError> {
        let kept = self
            .folder
            .join(format!("{}-{}", photo.sha256, size.name()));
        if let Ok(bytes) = tokio::fs::read(&kept).await {
            return Ok(bytes);
        }
        let _room = self
            .memory
            .acquire_many(photo.megapixels().min(MEGAPIXELS_IN_HAND))
            .await
            .map_err(|e| PageError::Inside(e.to_string()))?;
        if let Ok(bytes) = tokio::fs::read(&kept).await {
            return Ok(bytes);
        }
        let file = app.store().photo_file(photo).await?;
        let (folder, limits) = (self.folder.clone(), self.limits);
        tokio::task::spawn_blocking(move || {
            let bytes = make(file.as_ref(), &limits, size)?;
            // Kept if it can be; the next one makes it anew otherwise.
            let keep = || -> std::io::Result<()> {
                std::fs::create_dir_all(&folder)?;
                let mut file = tempfile::NamedTempFile::new_in(&folder)?;
                file.write_all(&bytes)?;
                file.persist(&kept)?;
                Ok(())
            };
            let _ = keep();
            Ok(bytes)
        })
        .await?
    }
}

fn make(path: &std::path::Path, limits: &Limits, size: Size) -> Result<Vec<u8>, PageError> {
    let photo = Photo::open(path, limits)
        .map_err(|_| PageError::Refused("the photo cannot be shown; it is damaged".to_owned()))?;
    let (width, height) = photo.size();
    let longest = width.max(height);
    let most = size.longest_side();
    let pixels = if longest > most {
        let scale = |side: u32| {
            u32::try_from(u64::from(side) * u64::from(most) / u64::from(longest))
                .unwrap_or(1)
                .max(1)
        };
        image::imageops::resize(
            &photo.pixels,
            scale(width),
            scale(height),
            FilterType::Triangle,
        )
    } else {
        photo.pixels
    };
    let mut bytes = Vec::new();
    JpegEncoder::new_with_quality(&mut bytes, QUALITY)
        .encode_image(&pixels)
        .map_err(|e| PageError::Inside(e.to_string()))?;
    Ok(bytes)
}

/// Gives a photo as JPEG.
pub(super) async fn show(
    State(app): State<App>,
    _person: Person,
    Path((hash, size)): Path<(String, String)>,
) -> Result<Response, PageError> {
    let size = match size.as_str() {
        "view.jpg" => Size::View,
        "thumb.jpg" => Size::Thumb,
        _ => return Err(PageError::NotFound),
    };
    let photo = app.store().photo(&hash).await?.ok_or(PageError::NotFound)?;
    let bytes = app.renditions().get(&app, &photo, size).await?;
    let headers = [
        (header::CONTENT_TYPE, "image/jpeg"),
        // Named by its content, so it never changes.
        (header::CACHE_CONTROL, "private, max-age=604800, immutable"),
    ];
    Ok((headers, bytes).into_response())
}
