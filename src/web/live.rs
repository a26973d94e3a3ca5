//! Telling open pages that something happened. The store's own history is watched, so that what another process
//! adds or reads is seen as well.

use super::App;
use super::person::Person;
use axum::extract::State;
use axum::response::sse::{Event, KeepAlive, Sse};
use std::convert::Infallible;
use std::time::Duration;
use tokio::sync::watch;
use tokio_stream::wrappers::WatchStream;
use tokio_stream::{Stream, StreamExt};

/// The number of the last event; `None` when the server is stopping.
#[derive(Debug)]
pub(super) struct Live(watch::Sender<Option<i64>>);

impl Default for Live {
    fn default() -> Live {
        Live(watch::Sender::new(Some(0)))
    }
}

impl Live {
    pub(super) fn stop(&self) {
        self.0.send_replace(None);
    }

    pub(super) fn is_stopping(&self) -> bool {
        self.0.borrow().is_none()
    }
}

/// How often the store is asked. A person does not notice less.
const PERIOD: Duration = Duration::from_millis(300);

/// Watches the store until the server stops.
pub(super) async fn watch(app: App) {
    while !app.is_stopping() {
        if let Ok(seq) = app.store().last_event().await {
            app.live().0.send_if_modified(|known| {
                let changed = known.is_some_and(|k| k != seq);
                if changed {
                    *known = Some(seq);
                }
                changed
            });
        }
        tokio::time::sleep(PERIOD).await;
    }
}

/// The stream of a page: the number of the last event each time that there is a new one. Whoever is slow gets
/// only the last.
pub(super) async fn stream(
    State(app): State<App>,
    _person: Person,
) -> Sse<impl Stream<Item = Result<Event, Infallible>>> {
    let changes = WatchStream::new(app.live().0.subscribe())
        .take_while(Option::is_some)
        .map(|seq| Ok(Event::default().data(seq.unwrap_or_default().to_string())));
    Sse::new(changes).keep_alive(KeepAlive::new().interval(Duration::from_secs(15)))
}
