//! Tries the layouts of `trials::rates` over seeds, in shares that resume: what is done stands in a
//! file, one line per layout and share, and is not done again.
//!
//! `cargo run --release -p trials --example rates -- FILE SEEDS [PART OF]`
#![expect(clippy::print_stdout, reason = "a tool prints what it does")]

use std::collections::HashMap;
use std::io::Write;
use trials::rates::{ALL, Rates};

const SHARE: u64 = 50;

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let args: Vec<String> = std::env::args().skip(1).collect();
    let [file, seeds, rest @ ..] = args.as_slice() else {
        return Err("give a file for the shares and the number of seeds".into());
    };
    let seeds: u64 = seeds.parse()?;
    let number = |i: usize, or: usize| rest.get(i).map_or(Ok(or), |s| s.parse::<usize>());
    let (part, of) = (number(0, 0)?, number(1, 1)?);
    let before = std::fs::read_to_string(file).unwrap_or_default();
    let mut done: HashMap<(String, u64), Rates> = HashMap::new();
    for line in before.lines() {
        let cells: Vec<&str> = line.split('\t').collect();
        if let [name, from, trials, alarms, covered, intervals, refused] = cells.as_slice() {
            let rates = Rates {
                trials: trials.parse()?,
                alarms: alarms.parse()?,
                covered: covered.parse()?,
                intervals: intervals.parse()?,
                refused: refused.parse()?,
            };
            done.insert(((*name).to_owned(), from.parse()?), rates);
        }
    }
    let mut out = std::fs::OpenOptions::new()
        .create(true)
        .append(true)
        .open(file)?;
    for from in (0..seeds).step_by(SHARE as usize) {
        for (at, layout) in ALL.iter().enumerate() {
            let key = (layout.name.to_owned(), from);
            if at % of != part || done.contains_key(&key) {
                continue;
            }
            let r = Rates::of(layout, from, (from + SHARE).min(seeds));
            writeln!(
                out,
                "{}\t{from}\t{}\t{}\t{}\t{}\t{}",
                layout.name, r.trials, r.alarms, r.covered, r.intervals, r.refused
            )?;
            done.insert(key, r);
        }
    }
    for layout in &ALL {
        let all = done
            .iter()
            .filter(|((name, _), _)| name == layout.name)
            .fold(Rates::default(), |sum, (_, r)| sum.and(*r));
        println!(
            "{:<75} {:>5} trials  alarms {:>5.1} %  cover {:>5.1} %  no answer {}",
            layout.name,
            all.trials,
            100.0 * f64::from(all.alarms) / f64::from(all.trials.max(1)),
            100.0 * f64::from(all.covered) / f64::from(all.intervals.max(1)),
            all.refused
        );
    }
    Ok(())
}
