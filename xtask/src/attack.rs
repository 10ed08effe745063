//! `cargo xtask attack`: builds the program and sets the standing attack on it.

use crate::root;
use anyhow::{Context, Result, bail};
use std::process::Command;

/// Runs the attack with what stands behind the command; with `--release` both are built so.
pub fn run(words: &[String]) -> Result<()> {
    let release = words.iter().any(|w| w == "--release");
    // As the tests build them, so that nothing is built twice: these two need the two programs.
    let mut build = vec![
        "test",
        "--workspace",
        "--test",
        "opens",
        "--test",
        "tells",
        "--no-run",
        "--quiet",
    ];
    if release {
        build.push("--release");
    }
    ended(Command::new("cargo").args(build), "building")?;
    let folder =
        std::env::var_os("CARGO_TARGET_DIR").map_or_else(|| root().join("target"), Into::into);
    let kind = if release { "release" } else { "debug" };
    let attack = folder
        .join(kind)
        .join(format!("attack{}", std::env::consts::EXE_SUFFIX));
    let words = words.iter().filter(|w| *w != "--release");
    ended(Command::new(attack).args(words), "the attack")
}

fn ended(command: &mut Command, what: &str) -> Result<()> {
    let status = command
        .current_dir(root())
        .status()
        .with_context(|| format!("cannot start {what}"))?;
    if !status.success() {
        bail!("{what} failed");
    }
    Ok(())
}
