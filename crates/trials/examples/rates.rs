//! Tries the layouts of `trials::rates` over seeds, in shares that resume: what is done stands in a
//! file, one line per layout and share, and is not done again. Prints the table of the page.
//!
//! `cargo run --release -p trials --example rates -- FILE SEEDS [PART OF]`
//!
//! Several runs may share one file, each with its own `PART` (from 0) `OF` so many.
#![expect(clippy::print_stdout, reason = "a tool prints what it does")]

use std::collections::BTreeMap;
use std::io::Write;
use trials::rates::{ALL, Rates};
use trials::stats::distribution::t_quantile;
use trials::stats::proportion::score_interval;

/// Seeds of a share; a share is done whole or not at all.
const SHARE: u64 = 50;

type Done = BTreeMap<(String, u64), Rates>;

/// The shares of a file. Lines of another form are not passed over: the file is another's.
fn read(text: &str) -> Result<Done, Box<dyn std::error::Error>> {
    let mut done = Done::new();
    for line in text.lines() {
        let (name, numbers) = line.split_once('\t').ok_or("not a line of shares")?;
        let numbers: Vec<u64> = numbers
            .split('\t')
            .map(str::parse)
            .collect::<Result<_, _>>()?;
        let &[from, ref counts @ ..] = numbers.as_slice() else {
            return Err(format!("no counts for {name}").into());
        };
        let counts: Vec<u32> = counts
            .iter()
            .map(|c| u32::try_from(*c))
            .collect::<Result<_, _>>()?;
        let &[trials, alarms, a, b, c, covered, intervals, refused] = counts.as_slice() else {
            return Err(format!("{} counts for {name}, not 8", counts.len()).into());
        };
        let rates = Rates {
            trials,
            alarms,
            families: [a, b, c],
            covered,
            intervals,
            refused,
        };
        done.insert((name.to_owned(), from), rates);
    }
    Ok(done)
}

/// Coverage in per cent with its 95 % interval, from how shares differ: intervals of one trial go
/// together, so they can't be counted as so many trials.
fn cover(shares: &[Rates]) -> String {
    let of = |r: &Rates| f64::from(r.covered) / f64::from(r.intervals.max(1));
    let all = shares.iter().fold(Rates::default(), |s, r| s.and(*r));
    let n = shares.len() as f64;
    let square: f64 = shares.iter().map(|r| (of(r) - of(&all)).powi(2)).sum();
    let half = t_quantile(0.975, n - 1.0) * (square / (n - 1.0) / n).sqrt();
    format!("{:.1} ± {:.1}", 100.0 * of(&all), 100.0 * half)
}

fn share(part: u32, of: u32) -> String {
    let (low, high) = score_interval(u64::from(part), u64::from(of), 0.95);
    let rate = 100.0 * f64::from(part) / f64::from(of);
    format!("{rate:.1} ({:.1}–{:.1})", 100.0 * low, 100.0 * high)
}

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let args: Vec<String> = std::env::args().skip(1).collect();
    let [file, seeds, rest @ ..] = args.as_slice() else {
        return Err("give a file for the shares and the number of seeds".into());
    };
    let seeds: u64 = seeds.parse()?;
    let number = |i: usize, or: usize| rest.get(i).map_or(Ok(or), |s| s.parse::<usize>());
    let (part, of) = (number(0, 0)?, number(1, 1)?);
    if part >= of {
        return Err(format!("parts are counted from 0: {part} is not below {of}").into());
    }
    let mut out = std::fs::OpenOptions::new()
        .create(true)
        .append(true)
        .open(file)?;
    let before = std::fs::read_to_string(file)?;
    // What a stopped run left of its last line is done again.
    let whole = before.rfind('\n').map_or(0, |at| at + 1);
    if whole < before.len() {
        out.set_len(whole as u64)?;
    }
    let mut done = read(&before[..whole])?;
    for from in (0..seeds).step_by(SHARE as usize) {
        for (at, layout) in ALL.iter().enumerate() {
            let key = (layout.name.to_owned(), from);
            if at % of != part || done.contains_key(&key) {
                continue;
            }
            let r = Rates::of(layout, from, from + SHARE);
            let [a, b, c] = r.families;
            let line = format!(
                "{}\t{from}\t{}\t{}\t{a}\t{b}\t{c}\t{}\t{}\t{}\n",
                layout.name, r.trials, r.alarms, r.covered, r.intervals, r.refused
            );
            out.write_all(line.as_bytes())?;
            done.insert(key, r);
        }
    }
    println!(
        "| layout | trials | alarms of the worst family, % | any alarm, % | cover, % | no answer |"
    );
    println!("| --- | ---: | ---: | ---: | ---: | ---: |");
    for layout in &ALL {
        let own = done.iter().filter(|((name, _), _)| name == layout.name);
        let shares: Vec<Rates> = own.map(|(_, r)| *r).collect();
        let all = shares.iter().fold(Rates::default(), |sum, r| sum.and(*r));
        if all.trials == 0 {
            continue;
        }
        println!(
            "| {} | {} | {} | {:.1} | {} | {} |",
            layout.name,
            all.trials,
            share(all.family_alarms(), all.trials),
            100.0 * f64::from(all.alarms) / f64::from(all.trials),
            cover(&shares),
            all.refused
        );
    }
    Ok(())
}
