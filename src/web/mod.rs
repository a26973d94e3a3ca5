//! The page: snap on the phone, confirm at the counter, print the sheet. A web server over the store that needs
//! nothing from outside; knows all rooms but the command line.

mod answer;
mod assets;
mod candidates;
mod codes;
mod compare;
mod confirm;
mod crop;
mod download;
mod drawing;
mod error;
mod form;
mod guard;
mod live;
mod options;
mod page;
mod pair;
mod person;
mod plate;
mod queue;
mod rendition;
mod sheet;
mod shelf;
mod snap;
mod state;
mod stock;
mod upload;
mod worker;

pub use options::{Options, ServeError};
pub use state::App;

use axum::Router;
use axum::extract::DefaultBodyLimit;
use axum::middleware::{from_fn, from_fn_with_state};
use axum::routing::{get, post};
use tokio::net::TcpListener;

/// Largest form without files, bytes: a hundred columns of a stock list with their names.
const MOST_FORM: usize = 256 << 10;

/// All pages over a store.
pub fn app(app: &App) -> Router {
    let files = DefaultBodyLimit::max(form::MOST_BYTES);
    let inside = Router::new()
        .route("/", get(queue::show))
        .route("/snap", get(snap::show))
        .route("/snap/{id}", get(snap::result))
        .route("/upload", post(upload::take).layer(files))
        .route("/entry/{id}", get(confirm::show))
        .route("/entry/{id}/answer", post(answer::take))
        .route("/entry/{id}/undo", post(answer::undo))
        .route("/entry/{id}/retry", post(answer::retry))
        .route("/entry/{id}/candidates", get(candidates::show))
        .route("/entry/{id}/compare", get(compare::show))
        .route("/entry/{id}/sheet", get(sheet::show))
        .route("/entry/{id}/sheet.pdf", get(sheet::pdf))
        .route("/photo/{hash}/{size}", get(rendition::show))
        .route("/stock", get(stock::show))
        .route("/stock/preview", post(stock::preview).layer(files))
        .route("/stock/import", post(stock::import))
        .route("/stock/undo", post(stock::undo))
        .route("/export/{format}", get(download::export))
        .route("/devices", get(pair::devices))
        .route("/devices/code", post(pair::new_code))
        .route("/devices/name", post(pair::rename))
        .route("/devices/revoke", post(pair::revoke))
        .route("/events", get(live::stream))
        .layer(DefaultBodyLimit::max(MOST_FORM))
        .layer(from_fn_with_state(app.clone(), guard::admit));
    Router::new()
        .merge(inside)
        .route("/pair", get(pair::show).post(pair::take))
        .layer(DefaultBodyLimit::max(MOST_FORM))
        .route("/assets/{file}", get(assets::show))
        .fallback(async || error::PageError::NotFound)
        .layer(from_fn(guard::harden))
        .with_state(app.clone())
}

/// Serves until the process is told to stop; reads what is queued meanwhile.
pub async fn serve(
    app: App,
    listener: TcpListener,
    stop: impl Future<Output = ()> + Send + 'static,
) -> Result<(), ServeError> {
    let worker = tokio::spawn(worker::run(app.clone()));
    let watcher = tokio::spawn(live::watch(app.clone()));
    let stopping = app.clone();
    let served = axum::serve(listener, self::app(&app))
        .with_graceful_shutdown(async move {
            stop.await;
            // Open streams of events would hold the server for ever.
            stopping.stop();
        })
        .await;
    app.stop();
    // An entry that is being read is read to its end, so that nothing has to be read twice.
    let _ = worker.await;
    watcher.abort();
    served.map_err(ServeError::Serve)
}
