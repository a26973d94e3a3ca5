//! What all pages share.

use super::codes::Codes;
use super::form::Room;
use super::live::Live;
use super::options::{Options, ServeError};
use super::rendition::Renditions;
use super::shelf::Shelf;
use crate::read::Settings;
use crate::store::{Store, Versions};
use crate::text::Reader;
use std::sync::Arc;
use tokio::sync::Notify;

/// A store, a reader, and what the pages share. Clones are the same.
#[derive(Clone)]
pub struct App(Arc<Inner>);

struct Inner {
    store: Store,
    reader: Arc<Reader>,
    versions: Versions,
    options: Options,
    codes: Codes,
    live: Live,
    shelf: Shelf,
    renditions: Renditions,
    queued: Notify,
    uploads: Room,
}

impl App {
    /// Everything over this store.
    pub fn new(store: Store, reader: Reader, versions: Versions, options: Options) -> App {
        let renditions = Renditions::new(store.folder().join("views"), options.reading.limits);
        App(Arc::new(Inner {
            store,
            reader: Arc::new(reader),
            versions,
            options,
            codes: Codes::default(),
            live: Live::default(),
            shelf: Shelf::default(),
            renditions,
            queued: Notify::new(),
            uploads: Room::default(),
        }))
    }

    /// A code that pairs one device within ten minutes.
    pub fn pairing_code(&self) -> Result<String, ServeError> {
        self.codes()
            .make()
            .map_err(|e| ServeError::Code(e.to_string()))
    }

    pub(super) fn store(&self) -> &Store {
        &self.0.store
    }

    pub(super) fn reader(&self) -> &Arc<Reader> {
        &self.0.reader
    }

    pub(super) fn versions(&self) -> &Versions {
        &self.0.versions
    }

    pub(super) fn reading(&self) -> &Settings {
        &self.0.options.reading
    }

    pub(super) fn lan(&self) -> bool {
        self.0.options.lan
    }

    pub(super) fn address(&self) -> Option<&str> {
        self.0.options.address.as_deref()
    }

    pub(super) fn codes(&self) -> &Codes {
        &self.0.codes
    }

    pub(super) fn live(&self) -> &Live {
        &self.0.live
    }

    pub(super) fn shelf(&self) -> &Shelf {
        &self.0.shelf
    }

    pub(super) fn renditions(&self) -> &Renditions {
        &self.0.renditions
    }

    pub(super) fn queued(&self) -> &Notify {
        &self.0.queued
    }

    pub(super) fn uploads(&self) -> &Room {
        &self.0.uploads
    }

    pub(super) fn stop(&self) {
        self.0.live.stop();
        self.0.queued.notify_one();
    }

    pub(super) fn is_stopping(&self) -> bool {
        self.0.live.is_stopping()
    }
}
