//! The trial commands as a person runs them: what they print, what they write, how they end.
#![allow(
    clippy::unwrap_used,
    reason = "a test may stop where its data are not as written"
)]
#![allow(missing_docs, reason = "helpers of one test")]

mod bad_input;
mod coverage;
mod demo;
mod guide;
mod instruments;
mod kept;
mod odd;
mod plans;
mod recovered;
mod tools;
mod units;

use serde_json::Value;
use std::path::{Path, PathBuf};
use std::process::Command;

/// How a command ended and what it said.
pub struct Ran {
    pub code: i32,
    pub out: String,
    pub err: String,
}

impl Ran {
    pub fn json(&self) -> Value {
        serde_json::from_str(&self.out).unwrap_or_else(|e| panic!("{e}: {}{}", self.out, self.err))
    }

    /// Everything it said.
    pub fn said(&self) -> String {
        format!("{}{}", self.out, self.err)
    }
}

/// Runs `hardtack` with arguments parted by the caller.
pub fn run(args: &[&str]) -> Ran {
    let out = Command::new(env!("CARGO_BIN_EXE_hardtack"))
        .args(args)
        .current_dir(root())
        .env("NO_COLOR", "1")
        .output()
        .unwrap();
    Ran {
        code: out.status.code().unwrap(),
        out: String::from_utf8(out.stdout).unwrap(),
        err: String::from_utf8(out.stderr).unwrap(),
    }
}

/// A table in a folder of its own.
pub fn table(text: &str) -> (tempfile::TempDir, String) {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("data.csv");
    std::fs::write(&path, text).unwrap();
    let path = path.display().to_string();
    (folder, path)
}

pub fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..")
}

pub fn example(name: &str) -> String {
    root().join("examples").join(name).display().to_string()
}

/// A committed file that a program makes: compared, or written when the variable is set.
pub fn made(path: &Path, text: &str, variable: &str) {
    if std::env::var_os(variable).is_some() {
        std::fs::write(path, text).unwrap();
    }
    let there = std::fs::read_to_string(path)
        .unwrap_or_else(|e| panic!("{}: {e}; {variable}=1 makes it", path.display()));
    assert!(
        there == text,
        "{} is not what the program makes; {variable}=1 writes it anew",
        path.display()
    );
}
