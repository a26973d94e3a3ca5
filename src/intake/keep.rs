//! Puts what a walk finds into the store: every photo is on the disk and in the queue before any is read.

use super::walk::{Found, Item, Trouble, Walk};
use super::{Limits, Stop};
use crate::photo::{MediaType, measure};
use crate::store::{NewEntry, NewPhoto, Store, StoreError};
use std::collections::BTreeMap;
use std::ops::ControlFlow;
use std::path::PathBuf;
use tokio::sync::mpsc;

/// What came of taking in sources.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Tally {
    /// Photos that were new.
    pub added: u64,
    /// Photos that the store had already, or that were met twice.
    pub known: u64,
    /// Files that are no photos, by the ending of their names.
    pub others: BTreeMap<String, u64>,
    /// What could not be taken in.
    pub troubles: Vec<Trouble>,
}

/// Found photos that may wait in memory for the store.
const AHEAD: usize = 2;

/// Takes in all photos of the sources that the store does not have yet. `each` hears of the tally after every item.
pub async fn keep_all(
    store: &Store,
    sources: Vec<PathBuf>,
    limits: Limits,
    stop: &Stop,
    mut each: impl FnMut(&Tally),
) -> Result<Tally, StoreError> {
    let (found, mut next) = mpsc::channel(AHEAD);
    let (stop, folder) = (stop.clone(), store.folder().to_owned());
    let walking = tokio::task::spawn_blocking(move || {
        let mut each = |item| match found.blocking_send(item) {
            Ok(()) => ControlFlow::Continue(()),
            Err(_) => ControlFlow::Break(()),
        };
        let mut walk = Walk::new(&limits, Some(&folder), &stop, &mut each);
        for source in &sources {
            if walk.source(source).is_break() {
                break;
            }
        }
    });
    let mut tally = Tally::default();
    while let Some(item) = next.recv().await {
        match item {
            Item::Photo(found) => match keep(store, found, &limits).await? {
                true => tally.added += 1,
                false => tally.known += 1,
            },
            Item::Other(place) => *tally.others.entry(ending(&place)).or_default() += 1,
            Item::Trouble(trouble) => tally.troubles.push(trouble),
        }
        each(&tally);
    }
    if let Err(error) = walking.await {
        return Err(StoreError::Table(format!(
            "looking through the sources stopped in the middle: {error}"
        )));
    }
    Ok(tally)
}

/// Keeps a photo; false when the store has it already.
async fn keep(store: &Store, found: Found, limits: &Limits) -> Result<bool, StoreError> {
    let photo = NewPhoto {
        // An HEIC tells its size only when it is decoded, which comes later.
        size: match found.media {
            MediaType::Heic => None,
            _ => measure(&found.bytes, &limits.photo).ok(),
        },
        media: found.media,
        bytes: found.bytes,
    };
    if store.holds(&photo).await? {
        return Ok(false);
    }
    let entry = NewEntry {
        source: found.source,
        file_name: found.file_name,
        photos: vec![photo],
        part: 0,
    };
    Ok(store.add(entry).await?.1)
}

fn ending(place: &str) -> String {
    let name = place.rsplit(['/', '\\']).next().unwrap_or_default();
    match name.rsplit_once('.') {
        Some((stem, ending)) if !stem.is_empty() && ending.len() <= 8 => {
            ending.to_ascii_lowercase()
        }
        _ => "without ending".to_owned(),
    }
}
