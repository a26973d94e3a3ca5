//! Which files of a watched folder are whole: those that have not changed for a while. Who writes a file never says
//! when it is done.

use std::collections::HashMap;
use std::fs::Metadata;
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant, SystemTime};

/// Endings of files that programs give to what they are still fetching.
const UNDER_WAY: [&str; 7] = [
    "part",
    "partial",
    "crdownload",
    "download",
    "tmp",
    "filepart",
    "swp",
];

/// What was seen of the files of a folder, look by look.
#[derive(Debug, Default)]
pub(super) struct Settling {
    files: HashMap<PathBuf, Seen>,
    /// The number of this look.
    look: u64,
}

#[derive(Debug)]
struct Seen {
    size: u64,
    changed: Option<SystemTime>,
    /// Since when it has been like this, by our own clock: another machine's may be wrong.
    since: Instant,
    taken: bool,
    look: u64,
}

impl Settling {
    /// Begins a new look at everything.
    pub(super) fn begin(&mut self) {
        self.look += 1;
    }

    /// Ends it: files that are gone are forgotten. Gives whether some must be looked at again soon.
    pub(super) fn end(&mut self) -> bool {
        let look = self.look;
        self.files.retain(|_, seen| seen.look == look);
        self.files.values().any(|seen| !seen.taken)
    }

    /// Everything is to be taken again: it did not come into the store.
    pub(super) fn forget(&mut self) {
        self.files.values_mut().for_each(|seen| seen.taken = false);
    }

    /// Whether a file is to be taken now: it is new or has changed, and has been left alone for `quiet`.
    pub(super) fn ready(&mut self, path: &Path, found: &Metadata, quiet: Duration) -> bool {
        if is_under_way(path) {
            return false;
        }
        self.is_ready(
            path,
            (found.len(), found.modified().ok()),
            Instant::now(),
            quiet,
        )
    }

    fn is_ready(
        &mut self,
        path: &Path,
        (size, changed): (u64, Option<SystemTime>),
        now: Instant,
        quiet: Duration,
    ) -> bool {
        let look = self.look;
        let seen = self.files.entry(path.to_owned()).or_insert(Seen {
            size,
            changed,
            since: now,
            taken: false,
            look,
        });
        seen.look = look;
        if (seen.size, seen.changed) != (size, changed) {
            *seen = Seen {
                size,
                changed,
                since: now,
                taken: false,
                look,
            };
        }
        let ready = !seen.taken && now.duration_since(seen.since) >= quiet;
        seen.taken |= ready;
        ready
    }
}

/// Whether its name says that somebody is still fetching it.
fn is_under_way(path: &Path) -> bool {
    let ending = path.extension().and_then(|ending| ending.to_str());
    ending.is_some_and(|ending| UNDER_WAY.contains(&ending.to_ascii_lowercase().as_str()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_file_is_taken_once_when_it_is_left_alone_and_again_when_it_changes() {
        let start = Instant::now();
        let quiet = Duration::from_secs(2);
        let written = |seconds: u64| Some(SystemTime::UNIX_EPOCH + Duration::from_secs(seconds));
        let mut settling = Settling::default();
        let path = Path::new("a.jpg");
        // Second of the look, size and time of the file, whether it is taken, whether it must be looked at again.
        for (at, size, time, taken, again) in [
            (0, 10, 100, false, true),
            (1, 20, 101, false, true),
            (2, 20, 101, false, true),
            (3, 20, 101, true, false),
            (9, 20, 101, false, false),
            // The same size at another time: written anew.
            (10, 20, 110, false, true),
            (12, 20, 110, true, false),
        ] {
            settling.begin();
            let now = start + Duration::from_secs(at);
            let is_taken = settling.is_ready(path, (size, written(time)), now, quiet);
            assert_eq!((is_taken, settling.end()), (taken, again), "second {at}");
        }
        settling.begin();
        assert!(!settling.end());
        assert!(settling.files.is_empty(), "what is gone is forgotten");
    }

    #[test]
    fn what_is_still_fetched_is_left() {
        for (name, under_way) in [
            ("a.jpg.part", true),
            ("a.CRDOWNLOAD", true),
            ("a.jpg", false),
            ("part", false),
        ] {
            assert_eq!(is_under_way(Path::new(name)), under_way, "{name}");
        }
    }
}
