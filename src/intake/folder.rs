//! A folder that is watched: the system says when something happens in it, and now and then it is looked through all
//! the same, since network drives say nothing and what is said may be lost.

use super::keep::keep_walk;
use super::settle::Settling;
use super::watching::{Desks, News};
use super::{Limits, Stop};
use crate::store::StoreError;
use notify::{RecommendedWatcher, RecursiveMode, Watcher};
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, PoisonError};
use std::time::Duration;
use tokio::sync::Notify;

/// How folders are watched.
#[derive(Debug, Clone, Copy)]
pub struct WatchOptions {
    /// A file must have been left alone for so long before it is taken.
    pub quiet: Duration,
    /// A folder is looked through at least so often.
    pub rescan: Duration,
}

impl Default for WatchOptions {
    fn default() -> Self {
        WatchOptions {
            quiet: Duration::from_secs(2),
            rescan: Duration::from_secs(30),
        }
    }
}

/// Takes in what comes into a folder until somebody wants to stop.
pub(super) async fn watch(
    folder: PathBuf,
    desks: &Desks,
    stop: &Stop,
    options: WatchOptions,
) -> Result<(), StoreError> {
    let settling = Arc::new(Mutex::new(Settling::default()));
    let happened = Arc::new(Notify::new());
    let mut watcher: Option<RecommendedWatcher> = None;
    let mut away = false;
    while !stop.is_set() {
        if folder.is_dir() {
            if away {
                desks.say(format!("{}: is back", folder.display()));
                (away, watcher) = (false, None);
            }
            if watcher.is_none() {
                watcher = listen(&folder, desks, &happened);
            }
        } else if !away {
            away = true;
            desks.say(format!(
                "{}: the folder is away; it is looked for again every {} s",
                folder.display(),
                options.rescan.as_secs()
            ));
        }
        let again = !away && look(&folder, desks, stop, &settling, options.quiet).await;
        let wait = if again { options.quiet } else { options.rescan };
        tokio::select! {
            () = stop.wanted() => {}
            () = tokio::time::sleep(wait) => {}
            () = happened.notified(), if !again => {}
        }
    }
    Ok(())
}

/// Looks through the folder once; gives whether to do so again soon.
async fn look(
    folder: &Path,
    desks: &Desks,
    stop: &Stop,
    settling: &Arc<Mutex<Settling>>,
    quiet: Duration,
) -> bool {
    let (seen, source) = (settling.clone(), folder.to_owned());
    let through = move |walk: &mut super::Walk<'_>| {
        let mut seen = seen.lock().unwrap_or_else(PoisonError::into_inner);
        seen.begin();
        walk.source_if(&source, &mut |path, found| seen.ready(path, found, quiet))
    };
    let mut progress = desks.progress();
    let kept = keep_walk(
        &desks.desk().store,
        Limits::default(),
        stop,
        through,
        |tally| {
            progress.tell(tally);
        },
    )
    .await;
    let mut seen = settling.lock().unwrap_or_else(PoisonError::into_inner);
    match kept {
        Ok(_) => seen.end(),
        Err(error) => {
            desks.send(News::Said(format!("{error}; it is tried again")));
            seen.forget();
            true
        }
    }
}

/// Asks the system to say when something happens in a folder. What the store itself writes is not meant.
fn listen(folder: &Path, desks: &Desks, happened: &Arc<Notify>) -> Option<RecommendedWatcher> {
    let (happened, store) = (
        happened.clone(),
        desks.desk().store.folder().canonicalize().ok(),
    );
    let heard = move |event: notify::Result<notify::Event>| {
        let ours = |path: &PathBuf| store.as_ref().is_some_and(|store| path.starts_with(store));
        let meant = match &event {
            Ok(event) => !event.kind.is_access() && !event.paths.iter().all(ours),
            // Something was lost: look.
            Err(_) => true,
        };
        if meant {
            happened.notify_one();
        }
    };
    let watched = folder.canonicalize().unwrap_or_else(|_| folder.to_owned());
    let started = notify::recommended_watcher(heard).and_then(|mut watcher| {
        watcher.watch(&watched, RecursiveMode::Recursive)?;
        Ok(watcher)
    });
    match started {
        Ok(watcher) => Some(watcher),
        Err(error) => {
            desks.say(format!(
                "{}: the system does not say what happens in it ({error}); it is looked through now and then instead",
                folder.display()
            ));
            None
        }
    }
}
