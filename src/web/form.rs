//! Parts of a form that brings files, within limits: what is in hand at once is bounded by what the browsers say that
//! they send, and a browser that stops in the middle is let go.

use super::error::PageError;
use axum::extract::multipart::{Field, MultipartError};
use axum::http::{HeaderMap, StatusCode, header};
use std::time::Duration;
use tokio::sync::{Semaphore, SemaphorePermit};

/// Largest request, bytes: several phone photos.
pub(super) const MOST_BYTES: usize = 256 << 20;

/// Mebibytes of all requests with files that are in memory at a time; more of them wait their turn.
const IN_HAND: u32 = 256;

/// Longest silence of a browser that is sending.
const SILENCE: Duration = Duration::from_secs(60);

/// Room in memory for requests with files.
#[derive(Debug)]
pub(super) struct Room(Semaphore);

impl Default for Room {
    fn default() -> Room {
        Room(Semaphore::new(IN_HAND as usize))
    }
}

impl Room {
    /// Waits until there is room for a request of this length; one that does not say its length counts as the largest.
    pub(super) async fn take(&self, headers: &HeaderMap) -> Result<SemaphorePermit<'_>, PageError> {
        let length = headers
            .get(header::CONTENT_LENGTH)
            .and_then(|value| value.to_str().ok()?.parse::<u64>().ok());
        let mebibytes = length.map_or(IN_HAND, |bytes| {
            u32::try_from((bytes >> 20) + 1).unwrap_or(IN_HAND)
        });
        let taken = self.0.acquire_many(mebibytes.min(IN_HAND)).await;
        taken.map_err(|e| PageError::Inside(e.to_string()))
    }
}

/// The bytes of a part; `None` when there are more than `most`.
pub(super) async fn bytes(field: &mut Field<'_>, most: u64) -> Result<Option<Vec<u8>>, PageError> {
    let mut bytes = Vec::new();
    let mut length = 0u64;
    loop {
        let chunk = tokio::time::timeout(SILENCE, field.chunk()).await;
        let chunk = chunk.map_err(|_| {
            PageError::Refused(
                "nothing more came; check the connection and send it again".to_owned(),
            )
        })?;
        let Some(chunk) = chunk.map_err(broken)? else {
            return Ok((length <= most).then_some(bytes));
        };
        length += chunk.len() as u64;
        if length <= most {
            bytes.extend_from_slice(&chunk);
        } else {
            // Read to its end and forgotten, so that the parts after it are not lost.
            bytes = Vec::new();
        }
    }
}

/// A short text.
pub(super) async fn text(field: &mut Field<'_>) -> Result<String, PageError> {
    let bytes = bytes(field, 1024).await?.unwrap_or_default();
    Ok(String::from_utf8_lossy(&bytes).into_owned())
}

/// What to say of a form that did not arrive whole.
pub(super) fn broken(error: MultipartError) -> PageError {
    if error.status() == StatusCode::PAYLOAD_TOO_LARGE {
        PageError::TooLarge("the files are too large together; send fewer at a time".to_owned())
    } else {
        PageError::Refused("the files did not arrive whole; send them again".to_owned())
    }
}
