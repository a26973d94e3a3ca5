//! Work on several files at a time whose results are told in the order of the files.

use anyhow::Result;
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::mpsc;

/// Does `work` on every file, `hands` of them at a time, and tells `each` what came of it, in the order given. What is
/// in hand is finished when `each` fails; nothing new is begun.
pub(super) fn each<T: Send>(
    files: &[PathBuf],
    hands: usize,
    work: impl Fn(&Path) -> T + Sync,
    mut each: impl FnMut(&Path, T) -> Result<()>,
) -> Result<()> {
    let next = AtomicUsize::new(0);
    std::thread::scope(|scope| {
        let (done, results) = mpsc::sync_channel(hands);
        for _ in 0..hands {
            let (done, next, work) = (done.clone(), &next, &work);
            scope.spawn(move || {
                loop {
                    let at = next.fetch_add(1, Ordering::Relaxed);
                    let Some(file) = files.get(at) else { break };
                    if done.send((at, work(file))).is_err() {
                        break;
                    }
                }
            });
        }
        drop(done);
        let mut early = BTreeMap::new();
        let mut told = 0;
        for (at, result) in results {
            early.insert(at, result);
            while let Some(result) = early.remove(&told) {
                each(&files[told], result)?;
                told += 1;
            }
        }
        Ok(())
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::time::Duration;

    fn numbered(count: usize) -> Vec<PathBuf> {
        (0..count).map(|n| n.to_string().into()).collect()
    }

    fn number(path: &Path) -> usize {
        path.to_str().unwrap().parse().unwrap()
    }

    #[test]
    fn results_come_in_the_order_of_the_files_whoever_is_done_first() {
        for hands in [1, 3, 20] {
            let files = numbered(12);
            let mut told = Vec::new();
            let work = |path: &Path| {
                // The first takes longest.
                std::thread::sleep(Duration::from_millis(12 - number(path) as u64));
                number(path)
            };
            each(&files, hands, work, |_, n| {
                told.push(n);
                Ok(())
            })
            .unwrap();
            assert_eq!(told, (0..12).collect::<Vec<_>>());
        }
    }

    #[test]
    fn nothing_new_is_begun_when_nobody_hears_it() {
        let begun = AtomicUsize::new(0);
        let work = |_: &Path| begun.fetch_add(1, Ordering::Relaxed);
        let told = each(&numbered(10_000), 2, work, |_, _| anyhow::bail!("gone"));
        assert!(told.is_err());
        assert!(begun.into_inner() < 10_000);
    }
}
