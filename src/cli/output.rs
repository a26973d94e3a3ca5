//! Standard output, and what went wrong with it.

use indicatif::{ProgressBar, ProgressStyle};
use std::io;

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
