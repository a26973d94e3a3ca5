//! The command line: one file a subcommand. Knows all the rooms; only it prints.

mod annotate;
mod backup;
mod batch;
mod candidates;
mod desk;
mod fields;
mod in_order;
mod match_;
mod output;
mod place;
mod read;
mod replace;
mod report;
mod requirement;
mod serve;
mod sheet;
mod show;
mod stock;
mod store;
mod watch;
mod work;

use clap::{Parser, Subcommand};
use std::ffi::OsString;
use std::process::ExitCode;

/// Reads the worn nameplate of a failed electric motor and picks its replacement out of your stock list.
#[derive(Debug, Parser)]
#[command(name = "platewright", version, max_term_width = 100)]
struct Cli {
    #[command(subcommand)]
    command: Command,
}

#[derive(Debug, Subcommand)]
enum Command {
    Read(read::Args),
    Fields(fields::Args),
    Match(match_::Args),
    Replace(replace::Args),
    Requirement(requirement::Args),
    Sheet(sheet::Args),
    Stock(stock::Args),
    Serve(serve::Args),
    Batch(batch::Args),
    Watch(watch::Args),
    Work(work::Args),
    Export(store::ExportArgs),
    Report(report::Args),
    CheckStore(store::CheckArgs),
    Backup(backup::BackupArgs),
    Restore(backup::RestoreArgs),
}

/// How a subcommand ended when nothing stopped it half way.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Done {
    /// All was done.
    Fully,
    /// Something could not be done, and was said.
    Partly,
}

impl Done {
    /// Fully, unless something is left to do or was found wrong.
    fn unless(left: bool) -> Done {
        match left {
            true => Done::Partly,
            false => Done::Fully,
        }
    }
}

/// Runs the command line and gives the exit status: 0 all done, 1 something could not be done and was
/// said, 2 the command line is wrong.
pub fn run(args: impl IntoIterator<Item = OsString>) -> ExitCode {
    let cli = match Cli::try_parse_from(args) {
        Ok(cli) => cli,
        Err(error) => {
            // Help and version are no errors; clap knows which stream they go to.
            let _ = error.print();
            return ExitCode::from(if error.use_stderr() { 2 } else { 0 });
        }
    };
    let result = match cli.command {
        Command::Read(args) => read::run(&args),
        Command::Match(args) => match_::run(&args),
        Command::Replace(args) => replace::run(&args),
        Command::Fields(args) => fields::run(&args),
        Command::Requirement(args) => requirement::run(&args),
        Command::Sheet(args) => sheet::run(&args),
        Command::Stock(args) => stock::run(&args),
        Command::Serve(args) => serve::run(&args),
        Command::Batch(args) => batch::run(&args),
        Command::Watch(args) => watch::run(&args),
        Command::Work(args) => work::run(&args),
        Command::Export(args) => store::export(&args),
        Command::Report(args) => report::run(&args),
        Command::CheckStore(args) => store::check(&args),
        Command::Backup(args) => backup::backup(&args),
        Command::Restore(args) => backup::restore(&args),
    };
    match result {
        Ok(Done::Fully) => ExitCode::SUCCESS,
        Ok(Done::Partly) => ExitCode::from(1),
        // Whoever reads our output has gone away: that is not our failure.
        Err(error) if output::is_broken_pipe(&error) => ExitCode::SUCCESS,
        Err(error) => {
            eprintln!("platewright: {error:#}");
            ExitCode::from(1)
        }
    }
}

/// Waits until somebody ends the program: Ctrl-C, or the system's polite request.
async fn asked_to_stop() {
    let interrupt = tokio::signal::ctrl_c();
    #[cfg(unix)]
    {
        use tokio::signal::unix::{SignalKind, signal};
        if let Ok(mut terminate) = signal(SignalKind::terminate()) {
            tokio::select! {
                _ = interrupt => {}
                _ = terminate.recv() => {}
            }
            return;
        }
    }
    let _ = interrupt.await;
}
