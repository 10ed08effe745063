//! The command line face: flags in, tables or one JSON document out.
//!
//! Knows flags, terminals and files; does no arithmetic of the trade.

mod args;
mod cmd;
mod examples;
mod files;
mod progress;
mod table;
mod tell;
mod trial_args;

use clap::FromArgMatches;
use std::process::ExitCode;

/// How a command ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum End {
    /// Fine.
    Fine,
    /// There are findings that stop.
    Stop,
    /// Usage or bad input.
    Bad,
}

fn main() -> ExitCode {
    let read = examples::command().try_get_matches();
    let cli = match read.and_then(|m| args::Cli::from_arg_matches(&m)) {
        Ok(cli) => cli,
        Err(error) => {
            // Help and version are fine and go to standard output; the rest is bad usage.
            let fine = !error.use_stderr();
            return match error.print() {
                Ok(()) if fine => ExitCode::SUCCESS,
                Err(e) if e.kind() == std::io::ErrorKind::BrokenPipe => ExitCode::SUCCESS,
                _ => ExitCode::from(2),
            };
        }
    };
    match cmd::run(cli) {
        Ok(End::Fine) => ExitCode::SUCCESS,
        Ok(End::Stop) => ExitCode::from(1),
        Ok(End::Bad) => ExitCode::from(2),
        Err(error) => {
            if tell::is_closed_pipe(&error) {
                return ExitCode::SUCCESS;
            }
            tell::error(&error);
            ExitCode::from(2)
        }
    }
}
