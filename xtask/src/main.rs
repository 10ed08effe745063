//! The workshop's own tools: `cargo xtask test | browser | tidy`.
//!
//! Knows the shape of the repository; must not be needed to build or run the product.
#![allow(clippy::print_stdout, clippy::print_stderr)]

mod browser;
mod tests;
mod tidy;

use anyhow::{Result, bail};
use std::path::PathBuf;

const USAGE: &str = "\
cargo xtask test    everything the tests need is set up, then all tests run
cargo xtask browser what the browser tests need is set up, and no more
cargo xtask tidy    walls between crates, words, names with units, licences, file sizes";

fn main() -> Result<()> {
    let command = std::env::args().nth(1).unwrap_or_default();
    match command.as_str() {
        "test" => tests::run(),
        "browser" => browser::set_up(),
        "tidy" => tidy::run(),
        "" | "help" | "--help" => {
            println!("{USAGE}");
            Ok(())
        }
        other => bail!("no command `{other}`; there are:\n{USAGE}"),
    }
}

/// The root of the repository.
fn root() -> PathBuf {
    let here = PathBuf::from(env!("CARGO_MANIFEST_DIR"));
    here.parent().map(PathBuf::from).unwrap_or(here)
}
