//! What was counted, added up over all runs, and its table in the documentation.

use anyhow::{Context, Result};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use std::path::PathBuf;

/// What a part did and what came of it.
#[derive(Clone, Debug, Default, Serialize, Deserialize)]
pub struct Counts {
    /// What is added up over runs, by name: rounds, requests, losses.
    pub sums: BTreeMap<String, u64>,
    /// Of what the worst counts, by name: a time or a size.
    pub worst: BTreeMap<String, u64>,
    /// What was not withstood.
    #[serde(skip)]
    pub complaints: Vec<String>,
}

/// Complaints that are told one by one.
const MOST_TOLD: usize = 20;

impl Counts {
    /// Adds to a count.
    pub fn add(&mut self, name: &str, number: u64) {
        *self.sums.entry(name.to_owned()).or_default() += number;
    }

    /// Keeps the worst.
    pub fn worst(&mut self, name: &str, number: u64) {
        let kept = self.worst.entry(name.to_owned()).or_default();
        *kept = (*kept).max(number);
    }

    /// Something was not withstood; `name` counts how often.
    pub fn complain(&mut self, name: &str, what: impl Into<String>) {
        self.add(name, 1);
        if self.complaints.len() < MOST_TOLD {
            self.complaints.push(what.into());
        }
    }
}

impl std::fmt::Display for Counts {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let sums = self.sums.iter().map(|(name, n)| format!("{n} {name}"));
        let worst = self.worst.iter().map(|(name, n)| format!("{name} {n}"));
        f.write_str(&sums.chain(worst).collect::<Vec<_>>().join(", "))
    }
}

#[derive(Debug, Default, Serialize, Deserialize)]
struct Kept {
    parts: BTreeMap<String, Total>,
}

#[derive(Debug, Default, Serialize, Deserialize)]
struct Total {
    seeds: Vec<u64>,
    counts: Counts,
}

fn docs(name: &str) -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
        .join("../docs")
        .join(name)
}

const BEGIN: &str = "<!-- counted: begin -->";
const END: &str = "<!-- counted: end -->";

/// Adds a run to what was counted before and writes the table anew.
pub fn add(part: &str, seed: u64, counts: &Counts) -> Result<()> {
    let path = docs("reliability.json");
    let mut kept: Kept = match std::fs::read_to_string(&path) {
        Ok(text) => serde_json::from_str(&text).context("docs/reliability.json can't be read")?,
        Err(error) if error.kind() == std::io::ErrorKind::NotFound => Kept::default(),
        Err(error) => return Err(error).context("docs/reliability.json"),
    };
    let total = kept.parts.entry(part.to_owned()).or_default();
    if !total.seeds.contains(&seed) {
        total.seeds.push(seed);
    }
    for (name, number) in &counts.sums {
        total.counts.add(name, *number);
    }
    for (name, number) in &counts.worst {
        total.counts.worst(name, *number);
    }
    std::fs::write(&path, serde_json::to_string_pretty(&kept)? + "\n")?;
    let page = docs("reliability.md");
    let text = std::fs::read_to_string(&page)?;
    let (before, rest) = text.split_once(BEGIN).context("no place for the table")?;
    let (_, after) = rest.split_once(END).context("no end of the table")?;
    std::fs::write(
        &page,
        format!("{before}{BEGIN}\n{}{END}{after}", table(&kept)),
    )?;
    Ok(())
}

fn table(kept: &Kept) -> String {
    let mut text =
        String::from("\n| part | seeds | counted | worst |\n| --- | --- | --- | --- |\n");
    for (part, total) in &kept.parts {
        let seeds: Vec<String> = total.seeds.iter().map(u64::to_string).collect();
        let told = |all: &BTreeMap<String, u64>, first: bool| {
            let one = |(name, n): (&String, &u64)| {
                if first {
                    format!("{n} {name}")
                } else {
                    format!("{name} {n}")
                }
            };
            all.iter().map(one).collect::<Vec<_>>().join(", ")
        };
        text.push_str(&format!(
            "| {part} | {} | {} | {} |\n",
            seeds.join(", "),
            told(&total.counts.sums, true),
            told(&total.counts.worst, false)
        ));
    }
    text.push('\n');
    text
}
