//! The queue as a file.

use super::App;
use super::error::PageError;
use super::person::Person;
use crate::store::{
    export_csv, export_history_csv, export_history_json_lines, export_json_lines, export_xlsx,
};
use axum::extract::{Path, State};
use axum::http::header;
use axum::response::{IntoResponse, Response};

/// Gives everything in the store as CSV, as a workbook or as JSON Lines; or its history.
pub(super) async fn export(
    State(app): State<App>,
    _person: Person,
    Path(format): Path<String>,
) -> Result<Response, PageError> {
    let store = app.store();
    let mut bytes = Vec::new();
    let media = match format.as_str() {
        "motors.csv" => {
            export_csv(store, &mut bytes).await?;
            "text/csv; charset=utf-8"
        }
        "motors.xlsx" => {
            export_xlsx(store, &mut bytes).await?;
            "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
        }
        "motors.jsonl" => {
            export_json_lines(store, &mut bytes).await?;
            "application/jsonl; charset=utf-8"
        }
        "history.csv" => {
            export_history_csv(store, &mut bytes).await?;
            "text/csv; charset=utf-8"
        }
        "history.jsonl" => {
            export_history_json_lines(store, &mut bytes).await?;
            "application/jsonl; charset=utf-8"
        }
        _ => return Err(PageError::NotFound),
    };
    let headers = [
        (header::CONTENT_TYPE, media.to_owned()),
        (
            header::CONTENT_DISPOSITION,
            format!("attachment; filename=\"{format}\""),
        ),
    ];
    Ok((headers, bytes).into_response())
}
