//! `cargo xtask tidy`: what the compiler doesn't check.

use crate::{glossary, root, sources};
use anyhow::{Context, Result, bail};
use serde_json::Value;
use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};
use std::process::Command;

/// Crates that know no file, clock, database, web or async runtime.
const PURE: &[&str] = &[
    "measure", "formula", "baking", "trials", "learning", "study", "bench", "paper", "report",
];

/// What a pure crate must not reach, however far down.
const IMPURE: &[&str] = &[
    "tokio",
    "axum",
    "hyper",
    "sqlx",
    "sqlx-core",
    "libsqlite3-sys",
    "rusqlite",
    "reqwest",
];

/// Licences a dependency may carry (any alternative of an `OR` is enough).
const LICENCES: &[&str] = &[
    "MIT",
    "Apache-2.0",
    "Apache-2.0 WITH LLVM-exception",
    "BSD-2-Clause",
    "BSD-3-Clause",
    "ISC",
    "Zlib",
    "Unlicense",
    "0BSD",
    "CC0-1.0",
    "Unicode-3.0",
    "BSL-1.0",
    "MPL-2.0",
    "CDLA-Permissive-2.0",
];

/// Past this a file has to say why, in its first lines, with the word "long".
const LONG_FILE_CODE_LINES: usize = 700;

/// Runs every check and tells all that is wrong at once; `list` names what lacks a source, a range, an example.
pub fn run(list: bool) -> Result<()> {
    let metadata = metadata()?;
    let mut wrong = Vec::new();
    walls(&metadata, &mut wrong);
    licences(&metadata, &mut wrong);
    files(&mut wrong)?;
    sources::check(list, &mut wrong)?;
    glossary::check(&mut wrong)?;
    if wrong.is_empty() {
        println!("tidy: walls, licences, words, names, sizes, sources and glossary are in order");
        return Ok(());
    }
    for line in &wrong {
        eprintln!("tidy: {line}");
    }
    bail!("{} things to tidy", wrong.len())
}

fn metadata() -> Result<Value> {
    let out = Command::new("cargo")
        .args(["metadata", "--format-version", "1", "--locked"])
        .current_dir(root())
        .output()
        .context("cannot start cargo metadata")?;
    if !out.status.success() {
        bail!("cargo metadata: {}", String::from_utf8_lossy(&out.stderr));
    }
    serde_json::from_slice(&out.stdout).context("cargo metadata gave no JSON")
}

fn text<'a>(value: &'a Value, key: &str) -> &'a str {
    value[key].as_str().unwrap_or_default()
}

fn walls(metadata: &Value, wrong: &mut Vec<String>) {
    let empty = Vec::new();
    let chain = &metadata["metadata"]["chain"];
    let members: BTreeSet<&str> = metadata["workspace_members"]
        .as_array()
        .unwrap_or(&empty)
        .iter()
        .filter_map(Value::as_str)
        .collect();
    let packages = metadata["packages"].as_array().unwrap_or(&empty);
    let name_of: BTreeMap<&str, &str> = packages
        .iter()
        .map(|p| (text(p, "id"), text(p, "name")))
        .collect();
    let own: BTreeSet<&str> = members
        .iter()
        .filter_map(|id| name_of.get(id).copied())
        .collect();
    for package in packages.iter().filter(|p| members.contains(text(p, "id"))) {
        let name = text(package, "name");
        let Some(allowed) = chain[name].as_array() else {
            wrong.push(format!(
                "crate {name} isn't in the chain; add it to `workspace.metadata.chain` in the root Cargo.toml"
            ));
            continue;
        };
        for dep in package["dependencies"].as_array().unwrap_or(&empty) {
            let dep_name = text(dep, "name");
            if dep["kind"].is_null()
                && own.contains(dep_name)
                && !allowed.iter().any(|a| a == dep_name)
            {
                wrong.push(format!(
                    "{name} must not know {dep_name}: against the chain"
                ));
            }
        }
    }
    let nodes: BTreeMap<&str, &Value> = metadata["resolve"]["nodes"]
        .as_array()
        .unwrap_or(&empty)
        .iter()
        .map(|n| (text(n, "id"), n))
        .collect();
    for (&id, node) in &nodes {
        let name = name_of.get(id).copied().unwrap_or_default();
        if !PURE.contains(&name) || !members.contains(id) {
            continue;
        }
        let mut seen = BTreeSet::new();
        let mut open = vec![*node];
        while let Some(n) = open.pop() {
            for dep in n["deps"].as_array().unwrap_or(&empty) {
                let normal = dep["dep_kinds"]
                    .as_array()
                    .unwrap_or(&empty)
                    .iter()
                    .any(|k| k["kind"].is_null());
                let dep_id = text(dep, "pkg");
                if normal
                    && seen.insert(dep_id)
                    && let Some(next) = nodes.get(dep_id)
                {
                    open.push(next);
                }
            }
        }
        for dep in seen.iter().filter_map(|d| name_of.get(d)) {
            if IMPURE.contains(dep) {
                wrong.push(format!("pure crate {name} reaches {dep}"));
            }
        }
    }
}

fn licences(metadata: &Value, wrong: &mut Vec<String>) {
    for package in metadata["packages"].as_array().into_iter().flatten() {
        let licence = text(package, "license").replace('/', " OR ");
        let fine = licence.split(" OR ").any(|alternative| {
            alternative
                .trim_matches(|c| c == '(' || c == ')' || c == ' ')
                .split(" AND ")
                .all(|part| {
                    LICENCES.contains(&part.trim_matches(|c| c == '(' || c == ')' || c == ' '))
                })
        });
        if !fine {
            wrong.push(format!("licence of {}: `{licence}`", text(package, "name")));
        }
    }
}

fn files(wrong: &mut Vec<String>) -> Result<()> {
    let out = Command::new("git")
        .args(["ls-files", "--cached", "--others", "--exclude-standard"])
        .current_dir(root())
        .output()
        .context("cannot list the files")?;
    for name in String::from_utf8_lossy(&out.stdout).lines() {
        let path = root().join(name);
        let kind = Path::new(name)
            .extension()
            .and_then(|e| e.to_str())
            .unwrap_or_default();
        if !["rs", "md", "html", "toml", "js", "css", "py", "sh"].contains(&kind) {
            continue;
        }
        let Ok(content) = std::fs::read_to_string(&path) else {
            continue;
        };
        words(name, &content, wrong);
        if kind == "rs" {
            size(name, &content, wrong);
            units(&PathBuf::from(name), &content, wrong);
        }
    }
    Ok(())
}

fn words(name: &str, content: &str, wrong: &mut Vec<String>) {
    // Built from halves so that this file doesn't name what it looks for.
    let never = [
        ["/wo", "rk/"].concat(),
        ["/tm", "p/t/"].concat(),
        ["trans", "cript"].concat(),
        ["crates", ".io/api"].concat(),
    ];
    for (number, line) in content.lines().enumerate() {
        if let Some(word) = never
            .iter()
            .find(|w| line.to_lowercase().contains(w.as_str()))
        {
            wrong.push(format!(
                "{name}:{}: `{word}` doesn't belong here",
                number + 1
            ));
        }
    }
}

fn size(name: &str, content: &str, wrong: &mut Vec<String>) {
    let code = content
        .lines()
        .take_while(|l| !l.starts_with("#[cfg(test)]"))
        .filter(|l| !l.trim().is_empty() && !l.trim_start().starts_with("//"))
        .count();
    let explained = content
        .lines()
        .take(12)
        .any(|l| l.starts_with("//!") && l.contains("long"));
    if code > LONG_FILE_CODE_LINES && !explained {
        wrong.push(format!(
            "{name}: {code} code lines; split it or say why it is long"
        ));
    }
}

/// Endings that tell the unit, or say that there is none.
const UNITS: &[&str] = &[
    "_hours",
    "_days",
    "_days_closed_form",
    "_m",
    "_m2",
    "_m3",
    "_mm",
    "_k",
    "_c",
    "_s",
    "_min",
    "_h",
    "_d",
    "_pa",
    "_kg",
    "_g",
    "_mg",
    "_j",
    "_n",
    "_mpa",
    "_w",
    "_l",
    "_pct",
    "_per_h",
    "_per_m",
    "_per_m2",
    "_per_m3",
    "_per_k",
    "_per_s",
    "_per_mol",
    "_per_kg",
    "_per_min",
    "_per_piece",
    "_per_c",
    "_mj",
    "_kwh",
    "_db",
    "_wb",
    "_log10",
];

/// Endings of numbers without a unit.
const PLAIN: &[&str] = &[
    "fraction",
    "share",
    "factor",
    "ratio",
    "open",
    "exposure",
    "mean",
    "sd",
    "low",
    "high",
    "low95",
    "high95",
    "value",
    "x",
    "y",
    "z",
    "p",
    "f",
    "t",
    "se",
    "df",
    "count",
    "exponent",
    "score",
    "power",
    "weight",
    "at_least",
    "emissivity",
    "tortuosity",
    "smoothing",
    "activity",
    "error",
    "alpha",
    "beta",
];

/// Public numbers of the physical crates tell their unit in the name or, where they are shares or
/// figures of a formula, in their line of documentation.
fn units(path: &Path, content: &str, wrong: &mut Vec<String>) {
    // The model case keeps the symbols of its equations; its documentation tells their units.
    let ours = path.starts_with("crates/baking/src") || path.starts_with("crates/formula/src");
    if !ours || path.ends_with("bake/case.rs") {
        return;
    }
    let mut documented = false;
    for (number, line) in content.lines().enumerate() {
        let text = line.trim_start();
        if text.starts_with("///") {
            documented |= TOLD.iter().any(|t| text.to_lowercase().contains(t));
            continue;
        }
        let told_above = std::mem::take(&mut documented);
        let Some(rest) = text.strip_prefix("pub ") else {
            continue;
        };
        let Some((name, kind)) = rest.split_once(':') else {
            continue;
        };
        let kind = kind.trim().trim_end_matches(',');
        if kind != "f64" && kind != "Option<f64>" {
            continue;
        }
        let told = UNITS.iter().any(|u| name.ends_with(u))
            || name.contains("_per_")
            || PLAIN
                .iter()
                .any(|w| name == *w || name.ends_with(&format!("_{w}")));
        if !told && !told_above && !line.contains("// no unit") {
            wrong.push(format!(
                "{}:{}: `{name}` should tell its unit in its name or its documentation",
                path.display(),
                number + 1
            ));
        }
    }
}

/// Words by which documentation tells a unit or that there is none.
const TOLD: &[&str] = &[
    "\\[",
    "share",
    "fraction",
    "factor",
    "kg per kg",
    "kg/kg",
    "per ",
    "%",
    "decades",
    "order",
];
