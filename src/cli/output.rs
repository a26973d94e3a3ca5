//! Standard output, and what went wrong with it.

use anyhow::{Context, Result};
use indicatif::{ProgressBar, ProgressStyle};
use serde::Serialize;
use std::fs::{self, File};
use std::io::{self, BufWriter, Write};
use std::path::Path;

/// Writes a file that is there whole or not at all: what stood there before stays until all of it is written.
pub(super) fn write_whole(
    path: &Path,
    write: impl FnOnce(&mut (dyn Write + Send)) -> Result<()>,
) -> Result<()> {
    let advice = || {
        format!(
            "{}: cannot be written; check the path, the permissions and the room on the disk",
            path.display()
        )
    };
    // A pipe or a device is written to as it is.
    if fs::metadata(path).is_ok_and(|found| !found.is_file()) {
        let mut out = BufWriter::new(File::create(path).with_context(advice)?);
        write(&mut out)?;
        return out.flush().with_context(advice);
    }
    let folder = match path.parent() {
        Some(parent) if !parent.as_os_str().is_empty() => parent,
        _ => Path::new("."),
    };
    let mut unfinished = tempfile::NamedTempFile::new_in(folder).with_context(advice)?;
    let mut out = BufWriter::new(unfinished.as_file_mut());
    write(&mut out)?;
    out.flush().with_context(advice)?;
    drop(out);
    // Such a file is for its owner alone at first; this one is like any other.
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        let mode = fs::metadata(path).map_or(0o644, |found| found.permissions().mode());
        fs::set_permissions(unfinished.path(), fs::Permissions::from_mode(mode))
            .with_context(advice)?;
    }
    unfinished.as_file().sync_all().with_context(advice)?;
    unfinished
        .persist(path)
        .map_err(|e| e.error)
        .with_context(advice)?;
    Ok(())
}

/// Prints what came of it: as one JSON object for machines, or as `print` does for people.
pub(super) fn tell(
    json: bool,
    what: &impl Serialize,
    print: impl FnOnce(&mut io::StdoutLock<'_>) -> io::Result<()>,
) -> Result<()> {
    let mut out = io::stdout().lock();
    if json {
        serde_json::to_writer(&mut out, what)?;
        writeln!(out)?;
    } else {
        print(&mut out)?;
    }
    Ok(())
}

/// Whether an error says that the reader of our output has gone away.
pub(super) fn is_broken_pipe(error: &anyhow::Error) -> bool {
    error.chain().any(|cause| {
        let io = cause.downcast_ref::<io::Error>();
        let json = cause.downcast_ref::<serde_json::Error>();
        io.is_some_and(|e| e.kind() == io::ErrorKind::BrokenPipe)
            || json.is_some_and(|e| e.io_error_kind() == Some(io::ErrorKind::BrokenPipe))
    })
}

/// A progress bar on the terminal's error stream; nothing when there is no terminal or little to do.
pub(super) struct Progress(ProgressBar);

impl Progress {
    /// A bar over `total` things, called `what`.
    pub(super) fn new(total: usize, what: &str) -> Progress {
        if total < 2 {
            return Progress(ProgressBar::hidden());
        }
        let bar = ProgressBar::new(total as u64);
        if let Ok(style) = ProgressStyle::with_template(&format!(
            "{{bar:30}} {{pos}}/{{len}} {what}, {{per_sec}}, {{eta}} left"
        )) {
            bar.set_style(style);
        }
        Progress(bar)
    }

    /// A count of things, called `what`, that nobody knows the end of.
    pub(super) fn counting(what: &str) -> Progress {
        let bar = ProgressBar::new_spinner();
        if let Ok(style) = ProgressStyle::with_template(&format!("{{spinner}} {{pos}} {what}")) {
            bar.set_style(style);
        }
        Progress(bar)
    }

    /// So many are done.
    pub(super) fn at(&self, count: u64) {
        self.0.set_position(count);
    }

    /// One more is done.
    pub(super) fn step(&self) {
        self.0.inc(1);
    }

    /// Runs `print` with the bar out of the way.
    pub(super) fn pause<T>(&self, print: impl FnOnce() -> T) -> T {
        self.0.suspend(print)
    }
}

impl Drop for Progress {
    fn drop(&mut self) {
        self.0.finish_and_clear();
    }
}
