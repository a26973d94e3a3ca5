//! What a page says when it cannot do what was asked.

use super::page::Shell;
use crate::sheet::SheetError;
use crate::store::{ExportError, StoreError};
use askama::Template;
use axum::http::StatusCode;
use axum::response::{Html, IntoResponse, Response};

/// Why a request was not done.
#[derive(Debug, thiserror::Error)]
pub(super) enum PageError {
    /// There is no such page, entry or photo.
    #[error("there is no such page here; go back to the queue")]
    NotFound,
    /// Not let in.
    #[error("this phone or browser is not paired; scan the code that the counter shows")]
    NotPaired,
    /// A write without the token of its own page.
    #[error(
        "this form is not from a page of this browser; load the page again and send it once more"
    )]
    Forged,
    /// What was sent is not understood.
    #[error("{0}")]
    Refused(String),
    /// More than is taken.
    #[error("{0}")]
    TooLarge(String),
    /// The store.
    #[error(transparent)]
    Store(#[from] StoreError),
    /// Anything else inside.
    #[error("{0}; try again, and look at what `platewright serve` prints if it stays so")]
    Inside(String),
}

impl From<SheetError> for PageError {
    fn from(error: SheetError) -> PageError {
        PageError::Inside(error.to_string())
    }
}

impl From<ExportError> for PageError {
    fn from(error: ExportError) -> PageError {
        PageError::Inside(error.to_string())
    }
}

impl From<askama::Error> for PageError {
    fn from(error: askama::Error) -> PageError {
        PageError::Inside(error.to_string())
    }
}

impl From<tokio::task::JoinError> for PageError {
    fn from(error: tokio::task::JoinError) -> PageError {
        PageError::Inside(error.to_string())
    }
}

impl PageError {
    fn status(&self) -> StatusCode {
        match self {
            PageError::NotFound | PageError::Store(StoreError::NoEntry(_)) => StatusCode::NOT_FOUND,
            PageError::NotPaired => StatusCode::UNAUTHORIZED,
            PageError::Forged => StatusCode::FORBIDDEN,
            PageError::Refused(_)
            | PageError::Store(
                StoreError::Answer(_) | StoreError::NothingToUndo | StoreError::NotRead(_),
            ) => StatusCode::UNPROCESSABLE_ENTITY,
            PageError::TooLarge(_) => StatusCode::PAYLOAD_TOO_LARGE,
            PageError::Store(_) | PageError::Inside(_) => StatusCode::INTERNAL_SERVER_ERROR,
        }
    }
}

#[derive(Template)]
#[template(path = "error.html")]
struct ErrorPage {
    shell: Shell,
    message: String,
}

impl IntoResponse for PageError {
    fn into_response(self) -> Response {
        let status = self.status();
        if status.is_server_error() {
            eprintln!("platewright: {self}");
        }
        let message = sentence(&self.to_string());
        let page = ErrorPage {
            shell: Shell::outside(),
            message: message.clone(),
        };
        match page.render() {
            Ok(html) => (status, Html(html)).into_response(),
            Err(_) => (status, message).into_response(),
        }
    }
}

/// A message as a sentence of its own.
pub(super) fn sentence(text: &str) -> String {
    let mut chars = text.chars();
    let first: String = chars
        .next()
        .map_or(String::new(), |c| c.to_uppercase().collect());
    let end = if text.ends_with(['.', '?', '!']) {
        ""
    } else {
        "."
    };
    format!("{first}{}{end}", chars.as_str())
}
