//! Reads what is queued, one entry at a time with all processors, while the pages are served.

use super::App;
use crate::intake::Desk;
use crate::store::{StoreError, Worker};
use std::time::Duration;

/// How long to wait for something to read when nobody says that there is something.
const IDLE: Duration = Duration::from_secs(1);

/// Reads until the server stops.
pub(super) async fn run(app: App) {
    let desk = Desk {
        store: app.store().clone(),
        reader: app.reader().clone(),
        settings: app.reading().clone(),
        versions: app.versions().clone(),
        jobs: 1,
    };
    let mut worker = None;
    while !app.is_stopping() {
        match next(&desk, &mut worker).await {
            Ok(true) => continue,
            Ok(false) => {}
            Err(error) => eprintln!("platewright: {error}"),
        }
        let _ = tokio::time::timeout(IDLE, app.queued().notified()).await;
    }
}

/// Reads the next entry; false when nothing waits.
async fn next(desk: &Desk, worker: &mut Option<Worker>) -> Result<bool, StoreError> {
    let worker = match worker {
        Some(worker) => worker,
        None => worker.insert(desk.store.new_worker().await?),
    };
    let Some(lease) = desk.take(worker).await? else {
        return Ok(false);
    };
    desk.read(&lease).await?;
    Ok(true)
}
