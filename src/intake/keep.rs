//! Puts what a walk finds into the store: every photo is on the disk and in the queue before any is read.

use super::pdf::Undrawn;
use super::walk::{Found, FoundPage, Item, Refused, Trouble, Walk};
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
    /// Photos and pages that were new.
    pub added: u64,
    /// What the store had already, or what was met twice.
    pub known: u64,
    /// Mails and documents that gave no photo, new ones: each is now a row with its reason.
    pub refused: Vec<Refused>,
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
    each: impl FnMut(&Tally),
) -> Result<Tally, StoreError> {
    let through = move |walk: &mut Walk<'_>| {
        for source in &sources {
            walk.source(source)?;
        }
        ControlFlow::Continue(())
    };
    Ok(keep_walk(store, limits, stop, through, each).await?.0)
}

/// Takes in what a walk meets. The second value says whether it came to its end: all that it met is in the store.
pub(super) async fn keep_walk(
    store: &Store,
    limits: Limits,
    stop: &Stop,
    through: impl FnOnce(&mut Walk<'_>) -> ControlFlow<()> + Send + 'static,
    mut each: impl FnMut(&Tally),
) -> Result<(Tally, bool), StoreError> {
    let (found, mut next) = mpsc::channel(AHEAD);
    let (stop, folder) = (stop.clone(), store.folder().to_owned());
    let walking = tokio::task::spawn_blocking(move || {
        let mut each = |item| match found.blocking_send(item) {
            Ok(()) => ControlFlow::Continue(()),
            Err(_) => ControlFlow::Break(()),
        };
        let mut walk = Walk::new(&limits, Some(&folder), &stop, &mut each);
        through(&mut walk).is_continue()
    });
    let mut tally = Tally::default();
    while let Some(item) = next.recv().await {
        match item {
            Item::Photo(found) => count(&mut tally, keep(store, found, &limits).await?),
            Item::Page(page) => match draw(store, page, limits).await? {
                Drawn::Kept(new) => count(&mut tally, new),
                Drawn::Refused(refused) => refuse(store, *refused, &mut tally).await?,
            },
            Item::Refused(refused) => refuse(store, refused, &mut tally).await?,
            Item::Other(place) => *tally.others.entry(ending(&place)).or_default() += 1,
            Item::Trouble(trouble) => tally.troubles.push(trouble),
        }
        each(&tally);
    }
    match walking.await {
        Ok(to_the_end) => Ok((tally, to_the_end)),
        Err(error) => Err(StoreError::Table(format!(
            "looking through the sources stopped in the middle: {error}"
        ))),
    }
}

fn count(tally: &mut Tally, new: bool) {
    match new {
        true => tally.added += 1,
        false => tally.known += 1,
    }
}

async fn refuse(store: &Store, refused: Refused, tally: &mut Tally) -> Result<(), StoreError> {
    let Refused {
        source,
        file_name,
        kind,
        message,
    } = &refused;
    match store.add_failure(source, file_name, kind, message).await? {
        true => tally.refused.push(refused),
        false => tally.known += 1,
    }
    Ok(())
}

/// Keeps a photo; false when the store has it already.
async fn keep(store: &Store, found: Found, limits: &Limits) -> Result<bool, StoreError> {
    let photos = vec![NewPhoto {
        // An HEIC tells its size only when it is decoded, which comes later.
        size: match found.media {
            MediaType::Heic => None,
            _ => measure(&found.bytes, &limits.photo).ok(),
        },
        media: found.media,
        bytes: found.bytes,
    }];
    // A photo is known wherever it lies, but each mail with it is somebody's question.
    let known = match found.source.detail.message {
        Some(_) => store.knows(&found.source, &photos).await?,
        None => store.holds(&photos[0]).await?,
    };
    if known {
        for photo in photos {
            store.mend(photo).await?;
        }
        return Ok(false);
    }
    let entry = NewEntry {
        source: found.source,
        file_name: found.file_name,
        photos,
        part: 0,
    };
    Ok(store.add(entry).await?.1)
}

enum Drawn {
    Kept(bool),
    Refused(Box<Refused>),
}

/// Draws a page and keeps it, unless the store has it already.
async fn draw(store: &Store, found: FoundPage, limits: Limits) -> Result<Drawn, StoreError> {
    if store.knows(&found.source, &[]).await? {
        return Ok(Drawn::Kept(false));
    }
    let FoundPage {
        source,
        file_name,
        page,
    } = found;
    let drawn = tokio::task::spawn_blocking(move || page.draw(&limits)).await;
    let drawn = drawn.unwrap_or_else(|error| {
        Err(Undrawn {
            kind: "internal",
            what: format!("drawing it failed inside the program ({error}). Please report this"),
        })
    });
    match drawn {
        Ok(photo) => {
            let entry = NewEntry {
                source,
                file_name,
                photos: vec![photo],
                part: 0,
            };
            Ok(Drawn::Kept(store.add(entry).await?.1))
        }
        Err(Undrawn { kind, what }) => Ok(Drawn::Refused(Box::new(Refused {
            message: format!(
                "{}{}: {what}",
                source.detail.origin,
                source.detail.fragment()
            ),
            source,
            file_name,
            kind,
        }))),
    }
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
