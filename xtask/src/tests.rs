//! `cargo xtask test`: set up what the tests need, then run them all.

use crate::{browser, root};
use anyhow::{Context, Result, bail};
use std::process::Command;

/// Doctests first, the test runner last, so that the last line is the runner's own summary.
pub fn run() -> Result<()> {
    browser::set_up()?;
    step(
        "documentation examples",
        &["test", "--workspace", "--doc", "--quiet"],
    )?;
    let nextest = Command::new("cargo")
        .args(["nextest", "--version"])
        .output()
        .is_ok_and(|out| out.status.success());
    if nextest {
        step(
            "tests",
            &["nextest", "run", "--workspace", "--no-fail-fast"],
        )
    } else {
        step(
            "tests",
            &[
                "test",
                "--workspace",
                "--lib",
                "--bins",
                "--tests",
                "--no-fail-fast",
            ],
        )
    }
}

fn step(what: &str, args: &[&str]) -> Result<()> {
    println!("== {what}");
    let status = Command::new("cargo")
        .args(args)
        .current_dir(root())
        .status()
        .with_context(|| format!("cannot start cargo for {what}"))?;
    if !status.success() {
        bail!("{what} failed");
    }
    Ok(())
}
