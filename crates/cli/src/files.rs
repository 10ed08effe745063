//! Reading what a person names and writing without destroying anything.

use crate::tell;
use anyhow::{Context, bail};
use std::io::Write;
use std::path::Path;
use study::Study;
use study::written::{MOST_BYTES, Problem};

/// Largest case file that is read, bytes.
const MOST_CASE_BYTES: u64 = 8_000_000;

/// A study file's text.
pub fn study_text(path: &Path) -> anyhow::Result<String> {
    let bytes = bytes(path, MOST_BYTES as u64)?;
    text(path, bytes)
}

/// A text file of any kind, or standard input for `-`.
pub fn any_text(path: &Path) -> anyhow::Result<String> {
    if path == Path::new("-") {
        let mut all = Vec::new();
        std::io::Read::read_to_end(
            &mut std::io::Read::take(std::io::stdin(), MOST_CASE_BYTES + 1),
            &mut all,
        )?;
        if all.len() as u64 > MOST_CASE_BYTES {
            bail!("standard input is longer than {MOST_CASE_BYTES} bytes");
        }
        return text(path, all);
    }
    let bytes = bytes(path, MOST_CASE_BYTES)?;
    text(path, bytes)
}

fn bytes(path: &Path, most: u64) -> anyhow::Result<Vec<u8>> {
    let shown = path.display();
    let meta = std::fs::metadata(path).with_context(|| missing(path))?;
    if meta.is_dir() {
        bail!("{shown} is a folder; name a file in it");
    }
    if meta.len() > most {
        bail!(
            "{shown} has {} bytes, more than the {most} that are read; is this the right file?",
            meta.len()
        );
    }
    std::fs::read(path).with_context(|| format!("cannot read {shown}"))
}

fn missing(path: &Path) -> String {
    let folder = path
        .parent()
        .filter(|p| !p.as_os_str().is_empty())
        .unwrap_or(Path::new("."));
    let mut near: Vec<String> = std::fs::read_dir(folder)
        .into_iter()
        .flatten()
        .filter_map(Result::ok)
        .map(|e| e.file_name().to_string_lossy().into_owned())
        .filter(|n| n.ends_with(".toml") || n.ends_with(".json"))
        .collect();
    near.sort();
    near.truncate(5);
    let hint = if near.is_empty() {
        "`hardtack demo` makes an example to start from".to_owned()
    } else {
        format!("in that folder: {}", near.join(", "))
    };
    format!("cannot open {} ({hint})", path.display())
}

fn text(path: &Path, bytes: Vec<u8>) -> anyhow::Result<String> {
    String::from_utf8(bytes).map_err(|e| {
        let at = e.utf8_error().valid_up_to();
        let line = e.as_bytes()[..at].iter().filter(|b| **b == b'\n').count() + 1;
        anyhow::anyhow!(
            "{} isn't a text file in UTF-8: the first odd byte is in line {line} (byte {at}); save it as UTF-8",
            path.display()
        )
    })
}

/// A study, or its problems told.
pub fn study(path: &Path) -> anyhow::Result<Result<Study, (String, Vec<Problem>)>> {
    let text = study_text(path)?;
    Ok(study::written::read(&text).map_err(|p| (text, p)))
}

/// A study; problems are told with a caret and end the command.
pub fn study_or_tell(path: &Path) -> anyhow::Result<Option<Study>> {
    match study(path)? {
        Ok(study) => Ok(Some(study)),
        Err((text, problems)) => {
            tell::problems(&path.display().to_string(), &text, &problems);
            Ok(None)
        }
    }
}

/// Writes a whole file or nothing: into a neighbour first, then moved into place.
pub fn write(path: &Path, content: &str, force: bool) -> anyhow::Result<()> {
    write_bytes(path, content.as_bytes(), force)
}

/// The same of anything that isn't text.
pub fn write_bytes(path: &Path, content: &[u8], force: bool) -> anyhow::Result<()> {
    let shown = path.display();
    if path.is_dir() {
        bail!("{shown} is a folder; name a file");
    }
    if path.exists() && !force {
        bail!("{shown} exists and stays as it is; --force overwrites it");
    }
    let mut name = path.file_name().context("name a file to write")?.to_owned();
    name.push(".part");
    let part = path.with_file_name(name);
    let written = (|| {
        let mut file = std::fs::File::create(&part)?;
        file.write_all(content)?;
        file.sync_all()?;
        std::fs::rename(&part, path)
    })();
    if written.is_err() {
        let _ = std::fs::remove_file(&part);
    }
    written.with_context(|| format!("cannot write {shown}; nothing there was changed"))
}
