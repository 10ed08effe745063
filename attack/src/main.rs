//! The standing attack: kills, flips, crowds and nonsense against the book and the program, on this computer only, for a
//! bounded time, from a seed that is told. Every acknowledged change is counted and looked for.
//!
//! Needs the program built beside it; knows nothing of how it works inside but the book's and the study's reading.
#![allow(clippy::print_stdout, clippy::print_stderr)] // a tool of the workshop speaks on the terminal

mod disk;
mod edits;
mod flips;
mod inputs;
mod kills;
mod large;
mod marks;
mod numbers;
mod people;
mod record;
mod routes;
mod saving;
mod server;

use anyhow::{Context, Result, bail};
use record::Counts;
use std::time::Instant;

const USAGE: &str = "\
attack [PART …] [--short] [--seed N] [--times X] [--seconds S] [--record]
parts: kills flips edits disk routes inputs numbers people large; all when none is named
--short    the form of the gate, at most two minutes together
--times X  X times as many rounds as the short form has
--seconds  how long the people work
--record   adds the counts to docs/reliability.json and writes the table of docs/reliability.md anew";

/// How hard, and from which seed.
#[derive(Clone, Copy, Debug)]
pub struct How {
    /// The seed of everything random.
    pub seed: u64,
    /// How many times the short form's rounds.
    pub times: u64,
    /// How long people work, s.
    pub seconds: u64,
}

/// The parts, in the order they run.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Part {
    Kills,
    Flips,
    Edits,
    Disk,
    Routes,
    Inputs,
    Numbers,
    People,
    Large,
}

impl Part {
    const ALL: [Self; 9] = [
        Self::Kills,
        Self::Flips,
        Self::Edits,
        Self::Disk,
        Self::Routes,
        Self::Inputs,
        Self::Numbers,
        Self::People,
        Self::Large,
    ];

    const fn word(self) -> &'static str {
        match self {
            Self::Kills => "kills",
            Self::Flips => "flips",
            Self::Edits => "edits",
            Self::Disk => "disk",
            Self::Routes => "routes",
            Self::Inputs => "inputs",
            Self::Numbers => "numbers",
            Self::People => "people",
            Self::Large => "large",
        }
    }

    fn run(self, how: How) -> Result<Counts> {
        match self {
            Self::Kills => kills::run(how),
            Self::Flips => flips::run(how),
            Self::Edits => edits::run(how),
            Self::Disk => disk::run(how),
            Self::Routes => routes::run(how),
            Self::Inputs => inputs::run(how),
            Self::Numbers => numbers::run(how),
            Self::People => people::run(how),
            Self::Large => large::run(how),
        }
    }
}

fn main() -> Result<()> {
    let words: Vec<String> = std::env::args().skip(1).collect();
    if words.first().is_some_and(|w| w == "writer") {
        return kills::writer(words.get(1).context("a book to write to")?);
    }
    let mut how = How {
        seed: 1,
        times: 1,
        seconds: 10,
    };
    let (mut parts, mut keep) = (Vec::new(), false);
    let mut words = words.iter();
    while let Some(word) = words.next() {
        let mut number = || -> Result<u64> {
            let text = words
                .next()
                .with_context(|| format!("{word} wants a number"))?;
            text.parse()
                .with_context(|| format!("{word} wants a whole number, not {text}"))
        };
        match word.as_str() {
            "--short" => (how.times, how.seconds) = (1, 10),
            "--seed" => how.seed = number()?,
            "--times" => how.times = number()?.max(1),
            "--seconds" => how.seconds = number()?.max(1),
            "--record" => keep = true,
            "--help" => {
                println!("{USAGE}");
                return Ok(());
            }
            name => match Part::ALL.into_iter().find(|p| p.word() == name) {
                Some(part) => parts.push(part),
                None => bail!("no part `{name}`\n{USAGE}"),
            },
        }
    }
    if parts.is_empty() {
        parts = Part::ALL.to_vec();
    }
    let mut failed = Vec::new();
    for part in parts {
        let began = Instant::now();
        let counts = part.run(how)?;
        println!(
            "{} (seed {}, {:.0} s): {counts}",
            part.word(),
            how.seed,
            began.elapsed().as_secs_f64()
        );
        for complaint in &counts.complaints {
            println!("  {complaint}");
        }
        if !counts.complaints.is_empty() {
            failed.push(part.word());
        }
        if keep {
            record::add(part.word(), how, &counts)?;
        }
    }
    if failed.is_empty() {
        return Ok(());
    }
    bail!("not withstood: {}", failed.join(", "))
}
