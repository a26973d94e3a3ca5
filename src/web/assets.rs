//! The files that pages load: in the program itself, so that nothing is fetched from elsewhere.

use super::error::PageError;
use axum::extract::Path;
use axum::http::header;
use axum::response::{IntoResponse, Response};

/// Gives one of the files.
pub(super) async fn show(Path(file): Path<String>) -> Result<Response, PageError> {
    let (media, content): (&str, &'static str) = match file.as_str() {
        "style.css" => ("text/css; charset=utf-8", include_str!("assets/style.css")),
        "app.js" => (
            "text/javascript; charset=utf-8",
            include_str!("assets/app.js"),
        ),
        "htmx.min.js" => (
            "text/javascript; charset=utf-8",
            include_str!("assets/htmx.min.js"),
        ),
        "icon.svg" => ("image/svg+xml", include_str!("assets/icon.svg")),
        _ => return Err(PageError::NotFound),
    };
    Ok(([(header::CONTENT_TYPE, media)], content).into_response())
}
