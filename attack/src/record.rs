//! What was counted, added up over all runs, and its table in the documentation. A seed counts once: who runs it again
//! does the same again, and of two runs from one seed the longer one is kept.

use crate::How;
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

/// Runs by part and seed.
#[derive(Debug, Default, Serialize, Deserialize)]
struct Kept {
    parts: BTreeMap<String, BTreeMap<u64, Run>>,
}

/// One run, and how long it was.
#[derive(Clone, Debug, Serialize, Deserialize)]
struct Run {
    times: u64,
    seconds: u64,
    counts: Counts,
}

impl Kept {
    fn add(&mut self, part: &str, how: How, counts: &Counts) {
        let run = Run {
            times: how.times,
            seconds: how.seconds,
            counts: counts.clone(),
        };
        let runs = self.parts.entry(part.to_owned()).or_default();
        let there = runs.entry(how.seed).or_insert_with(|| run.clone());
        if (there.times, there.seconds) <= (run.times, run.seconds) {
            *there = run;
        }
    }
}

/// All runs of a part together.
fn total(runs: &BTreeMap<u64, Run>) -> Counts {
    let mut total = Counts::default();
    for run in runs.values() {
        for (name, number) in &run.counts.sums {
            total.add(name, *number);
        }
        for (name, number) in &run.counts.worst {
            total.worst(name, *number);
        }
    }
    total
}

fn docs(name: &str) -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
        .join("../docs")
        .join(name)
}

const BEGIN: &str = "<!-- counted: begin -->";
const END: &str = "<!-- counted: end -->";

/// Adds a run to what was counted before and writes the table anew.
pub fn add(part: &str, how: How, counts: &Counts) -> Result<()> {
    let path = docs("reliability.json");
    let mut kept: Kept = match std::fs::read_to_string(&path) {
        Ok(text) => serde_json::from_str(&text).context("docs/reliability.json can't be read")?,
        Err(error) if error.kind() == std::io::ErrorKind::NotFound => Kept::default(),
        Err(error) => return Err(error).context("docs/reliability.json"),
    };
    kept.add(part, how, counts);
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
    for (part, runs) in &kept.parts {
        let seeds: Vec<String> = runs.keys().map(u64::to_string).collect();
        let total = total(runs);
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
            told(&total.sums, true),
            told(&total.worst, false)
        ));
    }
    text.push('\n');
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_seed_counts_once_and_the_longer_run_of_it() {
        let mut kept = Kept::default();
        for (seed, times) in [(1, 1), (1, 1), (2, 5), (2, 1), (3, 1)] {
            let mut counts = Counts::default();
            counts.add("rounds", 40 * times);
            counts.worst("slowest ms", seed);
            let seconds = 10;
            kept.add(
                "kills",
                How {
                    seed,
                    times,
                    seconds,
                },
                &counts,
            );
        }
        let total = total(&kept.parts["kills"]);
        assert_eq!(total.sums["rounds"], 40 + 200 + 40);
        assert_eq!(total.worst["slowest ms"], 3);
        assert!(table(&kept).contains("| kills | 1, 2, 3 | 280 rounds | slowest ms 3 |"));
    }
}
