//! `cargo xtask scripts`: the compiler of TypeScript reads the browser's scripts and holds them to their JSDoc types.

use crate::packages::{NODE, NPM, Package, Program, have};
use crate::root;
use anyhow::{Context, Result, bail};
use std::process::Command;

/// The compiler, for this check only: the scripts are shipped as they are written. Of its line the last that runs on any
/// machine with Node.
const COMPILER: Package = Package {
    name: "typescript",
    version: "5.9.3",
    sha256: "10e108c9cf7d5f2879053dff18515fb405abf2ccef63eaaf017d9c571687a1d3",
    file: "bin/tsc",
};

/// What is checked, under which rules: the pages' scripts, and the one that runs beside the pages.
const PROJECTS: [&str; 2] = ["jsconfig.json", "jsconfig.worker.json"];

/// Where the scripts lie.
const FOLDER: &str = "crates/web/assets";

/// Fails on any error of types, and where a script was left out.
pub fn check() -> Result<()> {
    let npm = (!COMPILER.is_fetched()).then_some(NPM);
    let programs: Vec<Program> = [NODE].into_iter().chain(npm).collect();
    have(&programs)?;
    COMPILER.fetch()?;
    let mut read = String::new();
    let mut wrong = Vec::new();
    for project in PROJECTS {
        let out = Command::new(NODE.0)
            .arg(COMPILER.place())
            .args(["--listFiles", "--project"])
            .arg(format!("{FOLDER}/{project}"))
            .current_dir(root())
            .output()
            .context("cannot start node")?;
        let told = String::from_utf8_lossy(&out.stdout);
        let (files, words): (Vec<&str>, Vec<&str>) =
            told.lines().partition(|line| line.starts_with('/'));
        if !out.status.success() {
            let errors = String::from_utf8_lossy(&out.stderr);
            println!("{}\n{errors}", words.join("\n"));
            wrong.push(project);
        }
        read.push_str(&files.join("\n"));
        read.push('\n');
    }
    if !wrong.is_empty() {
        bail!(
            "the scripts don't keep to their types ({})",
            wrong.join(", ")
        );
    }
    let scripts = scripts()?;
    for name in &scripts {
        if !read
            .lines()
            .any(|line| line.ends_with(&format!("/{FOLDER}/{name}")))
        {
            bail!("{name} is read by none of {}", PROJECTS.join(", "));
        }
    }
    println!("scripts: {} keep to their types", scripts.len());
    Ok(())
}

fn scripts() -> Result<Vec<String>> {
    let mut names = Vec::new();
    for entry in std::fs::read_dir(root().join(FOLDER))? {
        let name = entry?.file_name().to_string_lossy().into_owned();
        if name.ends_with(".js") {
            names.push(name);
        }
    }
    Ok(names)
}
