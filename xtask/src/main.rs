//! The workshop's own tools: `cargo xtask test | browser | scripts | tidy | attack`.
//!
//! Knows the shape of the repository; must not be needed to build or run the product.
#![allow(clippy::print_stdout, clippy::print_stderr)]

mod attack;
mod browser;
mod glossary;
mod packages;
mod scripts;
mod sources;
mod tests;
mod tidy;

use anyhow::{Result, bail};
use std::path::PathBuf;

const USAGE: &str = "\
cargo xtask test    everything the tests need is set up, then all tests run
cargo xtask browser what the browser tests need is set up, and no more
cargo xtask scripts the browser's scripts are held to their types
cargo xtask attack  kills, flips, crowds and nonsense against the book and the program; `attack --help` tells how
cargo xtask tidy    walls between crates, words, names with units, licences, file sizes, sources beside numbers;
                    `--list` names the functions that lack a source, a range, an example";

fn main() -> Result<()> {
    let command = std::env::args().nth(1).unwrap_or_default();
    match command.as_str() {
        "test" => tests::run(),
        "browser" => browser::set_up(),
        "scripts" => scripts::check(),
        "tidy" => tidy::run(std::env::args().any(|a| a == "--list")),
        "attack" => {
            let words: Vec<String> = std::env::args().skip(2).collect();
            attack::run(&words)
        }
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
