//! The `platewright` command.

use std::process::ExitCode;

fn main() -> ExitCode {
    platewright::cli::run(std::env::args_os())
}
