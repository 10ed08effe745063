//! Tells the program which revision of its source it was built from, where that is known.

use std::path::Path;
use std::process::Command;

fn git(asked: &[&str]) -> Option<String> {
    let told = Command::new("git").args(asked).output().ok()?;
    let text = String::from_utf8(told.stdout).ok()?;
    let text = text.trim();
    (told.status.success() && !text.is_empty()).then(|| text.to_owned())
}

fn main() {
    // Every commit adds a line to this file.
    if let Some(log) =
        git(&["rev-parse", "--git-path", "logs/HEAD"]).filter(|l| Path::new(l).exists())
    {
        println!("cargo::rerun-if-changed={log}");
    } else {
        println!("cargo::rerun-if-changed=build.rs");
    }
    let revision =
        git(&["rev-parse", "--short=12", "HEAD"]).unwrap_or_else(|| "unknown".to_owned());
    println!("cargo::rustc-env=HARDTACK_REVISION={revision}");
}
