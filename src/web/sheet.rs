//! The sheet: to print from the browser, and as a PDF.

use super::App;
use super::candidates::matched;
use super::error::PageError;
use super::page::{Page, Shell, moment, page};
use super::person::Person;
use crate::confirm::Answered;
use crate::matching::{Matches, Requirement, match_stock};
use crate::photo::Photo;
use crate::sheet::{self, Block};
use askama::Template;
use axum::extract::{Path, State};
use axum::http::header;
use axum::response::{IntoResponse, Response};

/// Candidates on a sheet.
const MOST: usize = 3;

#[derive(Template)]
#[template(path = "sheet.html")]
struct SheetPage {
    shell: Shell,
    id: String,
    blocks: Vec<Block>,
    photo: Option<String>,
    printed_at: String,
}

async fn content(
    app: &App,
    id: &str,
    person: &Person,
) -> Result<(Answered, Matches, Vec<Block>), PageError> {
    let entry = app.store().entry(id).await?;
    let mut all = app.store().answered(id).await?;
    all.record.file = Some(entry.file_name);
    let requirement = Requirement::new(&all.record, all.place.clone());
    // Without a list the sheet says what to buy.
    let matches = match matched(app, id, &all, person).await? {
        Some(matches) => matches,
        None => match_stock(&requirement, &[]),
    };
    let blocks = sheet::blocks(&all.record, &matches, &requirement.demands(), MOST);
    Ok((all, matches, blocks))
}

/// The sheet as a page.
pub(super) async fn show(State(app): State<App>, person: Person, Path(id): Path<String>) -> Page {
    let (all, _, blocks) = content(&app, &id, &person).await?;
    let photos = app.store().photos(&id).await?;
    let photo = photos.get(all.record.photo() as usize);
    page(&SheetPage {
        shell: Shell::new(&person, "queue"),
        blocks,
        photo: photo.map(|p| format!("/photo/{}/view.jpg", p.sha256)),
        printed_at: moment(jiff::Timestamp::now().as_millisecond()),
        id,
    })
}

/// The sheet as a PDF.
pub(super) async fn pdf(
    State(app): State<App>,
    person: Person,
    Path(id): Path<String>,
) -> Result<Response, PageError> {
    let (all, _, blocks) = content(&app, &id, &person).await?;
    let photos = app.store().photos(&id).await?;
    let file = match photos.get(all.record.photo() as usize) {
        Some(photo) => app.store().photo_file(photo).await.ok(),
        None => None,
    };
    let limits = app.reading().limits;
    let bytes = tokio::task::spawn_blocking(move || -> Result<Vec<u8>, PageError> {
        // A photo that cannot be opened any more does not keep the sheet from being printed.
        let photo = file.and_then(|f| Photo::open(f.as_ref(), &limits).ok());
        let plate = photo.map(|p| sheet::plate(&p.pixels, &all.record));
        Ok(sheet::render(&blocks, plate.as_ref())?)
    })
    .await??;
    let headers = [
        (header::CONTENT_TYPE, "application/pdf".to_owned()),
        (
            header::CONTENT_DISPOSITION,
            format!("inline; filename=\"motor-{id}.pdf\""),
        ),
    ];
    Ok((headers, bytes).into_response())
}
