//! Extreme numbers on every command that takes numbers: an answer or a refusal, no panic, in time.

use crate::How;
use crate::record::Counts;
use crate::server::program;
use anyhow::{Result, bail};
use rand::RngExt;
use rand_pcg::Pcg64Mcg;
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

/// Longest that a command may take; a bake of its own takes seconds in an unoptimised build.
const MOST: Duration = Duration::from_secs(20);

/// Each `@` takes a number; behind it stands one that the command is content with.
const COMMANDS: &[&str] = &[
    "trial power two-sample --difference @8 --sd @5",
    "trial power two-sample --difference @8 --sd @5 --n @6",
    "trial power two-sample --difference @8 --sd @5 --power @0.9 --alpha @0.01",
    "trial power two-sample --difference @1 --margin @3 --sd @2",
    "trial power paired --difference @8 --sd @5 --alpha @0.05",
    "trial power one-way --treatments @4 --difference @8 --sd @5",
    "trial power blocks --treatments @4 --difference @8 --sd @5 --n @6",
    "trial power means --means @1,@2,@4 --sd @2",
    "trial power proportions --first @0.1 --second @0.3",
    "trial power first-choice --share @0.7 --n @20",
    "trial power two-sample --difference @8 --between-sd @3 --within-sd @7 --pieces @12",
    "trial minimum @20",
    "trial minimum 20 --alpha @0.05",
    "trial looks --looks @3 --alpha @0.05",
    "trial looks --at @0.3,@0.7,1 --alpha @0.05",
    "trial plan completely-randomised --treatments a,b --replicates @4 --seed @7",
    "trial plan blocks --treatments a,b --blocks @6 --per-block @1",
    "trial plan latin-square --treatments a,b,c --squares @2",
    "trial plan williams --treatments a,b --dogs @8",
    "trial plan split-plot --whole-plot oven=150,170 --factor fat=4,8 --blocks @3",
    "trial plan factorial --factor fat=@4,@8 --factor water=@20,@24 --replicates @2",
    "trial plan central-composite --factor fat:pct=@4..@8 --factor water:pct=@20..@24 --centre @3",
    "trial plan constrained-mixture --part barley=@0.2..@0.6 --part rice=@0.1..@0.5 --part pea=@0.1..@0.5 --runs @10 --starts @3",
    "trial keeping TABLE --response y --along x --unit batch --limit @9 --side upper",
    "trial trend TABLE --response y --along x --unit batch",
    "trial surface TABLE --response y --variables x,w --predict @1,@20",
    "trial analyse TABLE --response k --out-of n --treatment treatment",
    "trial analyse TABLE --response y --treatment treatment --unit batch --control a --margin @2",
    "trial analyse TABLE --response y --treatment treatment --unit batch --covariate w",
    "trial several TABLE --responses y,w --treatment treatment --unit batch",
    "measure bend --force-n @42 --span-mm @40 --width-mm @25 --thickness-mm @8 --deflection-mm @0.6",
    "measure bend --force-n @42 --span-mm @40 --diameter-mm @12",
    "measure moisture --dish @20,@25,@24.5",
    "measure sampling --lot @500 --limit-pct @4",
    "measure spread --width-mm @62 --thickness-mm @8 --control @7",
    "measure farinograph --moisture-pct @13.4 --absorption-pct @57.2 --bowl-g @300",
    "measure farinograph --moisture-pct @13.4 --tried @56=@560 --tried @58=@480 --target @500",
    "measure net-content --rule us --label-g @400 --net-g @402,@399,@404 --lot @250",
    "measure net-content --rule eu --label-g @400 --net-g @402,@399,@404 --lot @250",
    "measure whc --sample-g @2 --sediment-g @5 --moisture-pct @10",
    "measure src --gel-g @8 --flour-g @5 --moisture-pct @13",
    "measure colour --first @60,@8,@24 --second @55,@10,@26",
    "piece STUDY --gap-mm @3 --sheet-mm @1000 --roll-mm @250",
    "study batch STUDY --dough-kg @20 --scale-g @1",
    "study batch STUDY --pieces @500 --loss-pct @3",
    "study batch STUDY --bowl-l @60 --fill-pct @50",
    "study curve STUDY --points @9",
    "study report STUDY --treatment control --spread @20 --seed @3",
    "bake run STUDY --minutes @12 --cells @20 --tolerance @1e-3",
    "bake solid STUDY --preview --minutes @12 --hole-share-pct @30",
    "bake solid STUDY --grid-mm @12 --cells @6",
    "bake solid STUDY --preview --docker-study --counts @3 --diameters-mm @2",
    "bake case CASE",
    "after STUDY --days @3 --months @12 --crisp @0.5",
    "after STUDY --pack-g @400 --pack-area-cm2 @600 --transmission @0.5 --store @25/@60",
    "after STUDY --modulus-mpa @100 --strength-mpa @1 --expansion-pct @0.2 --relaxation-h @10",
];

const NUMBERS: &[&str] = &[
    "0",
    "1",
    "-1",
    "3",
    "0.5",
    "20",
    "1e-300",
    "-1e-300",
    "1e308",
    "-1e308",
    "1e18",
    "18446744073709551615",
    "1e-9",
    "0.999999999999",
    "NaN",
    "inf",
    "-inf",
    "1e9999",
    "4294967296",
];

/// The usual number, or in this share of the time an extreme one.
fn told(usual: &str, share: f64, random: &mut Pcg64Mcg) -> String {
    if random.random_bool(share) {
        NUMBERS[random.random_range(0..NUMBERS.len())].to_owned()
    } else {
        usual.to_owned()
    }
}

/// A table of batches whose numbers are told by `number`.
fn table(mut number: impl FnMut(f64) -> String) -> String {
    let mut lines = String::from("treatment,batch,x,w,y,k,n\n");
    for row in 0..24_u32 {
        let batch = row / 3;
        let at = f64::from(row);
        let cells = [
            f64::from(row % 3),
            (at * 1.7).sin().mul_add(2.0, 20.0),
            (at * 2.3).cos().mul_add(2.0, at * 0.1) + 8.0,
            f64::from(row * 7 % 5),
            20.0,
        ]
        .map(&mut number)
        .join(",");
        lines += &format!("{},{batch},{cells}\n", ["a", "b"][batch as usize % 2]);
    }
    lines
}

/// The numbers of a model case, each told by `number`.
fn case(mut number: impl FnMut(f64) -> String) -> String {
    let mut parts = crate::inputs::CASE.split(':');
    let mut whole = parts.next().unwrap_or_default().to_owned();
    for part in parts {
        whole.push(':');
        let end = part.find([',', '}']).unwrap_or(part.len());
        match part[..end].parse() {
            Ok(value) => whole += &number(value),
            Err(_) => whole += &part[..end],
        }
        whole += &part[end..];
    }
    whole
}

/// What a template asks, each number of it told by `number`.
fn asked(template: &str, folder: &Path, mut number: impl FnMut(&str) -> String) -> Vec<String> {
    let word = |word: &str| {
        let file = match word {
            "STUDY" => "study.toml",
            "TABLE" => "table.csv",
            "CASE" => "case.json",
            _ => {
                let mut parts = word.split('@');
                let mut whole = parts.next().unwrap_or_default().to_owned();
                for part in parts {
                    let end = part
                        .match_indices([',', '=', '/'])
                        .map(|(at, _)| at)
                        .chain(part.find(".."))
                        .min()
                        .unwrap_or(part.len());
                    whole += &number(&part[..end]);
                    whole += &part[end..];
                }
                return whole;
            }
        };
        folder.join(file).display().to_string()
    };
    template.split(' ').map(word).collect()
}

/// The commands: first each with numbers that it is content with, so that the attack gets past its door.
pub fn run(how: How) -> Result<Counts> {
    let folder = tempfile::tempdir()?;
    let put = |name: &str, text: &str| std::fs::write(folder.path().join(name), text);
    put(
        "study.toml",
        include_str!("../../examples/spent-grain.toml"),
    )?;
    put("table.csv", &table(|usual| usual.to_string()))?;
    put("case.json", crate::inputs::CASE)?;
    for template in COMMANDS {
        let words = asked(template, folder.path(), str::to_owned);
        if !matches!(ended(&words)?.0, Some(0 | 1)) {
            bail!("this command attacks nothing: {}", words.join(" "));
        }
    }
    let mut random = Pcg64Mcg::new(u128::from(how.seed));
    let mut counts = Counts::default();
    let count = COMMANDS.len() as u64 * 2 * how.times;
    for run in 0..count {
        let template = COMMANDS[usize::try_from(run).unwrap_or(0) % COMMANDS.len()];
        // With one extreme number a command gets further in than with several.
        let share = if run % 2 == 0 { 1.0 } else { 0.3 };
        let words = asked(template, folder.path(), |usual| {
            told(usual, share, &mut random)
        });
        let mut rarely = |usual: f64| told(&usual.to_string(), 0.03, &mut random);
        put("table.csv", &table(&mut rarely))?;
        put("case.json", &case(&mut rarely))?;
        counts.add("commands", 1);
        let (code, took) = ended(&words)?;
        counts.worst("slowest ms", took.as_millis() as u64);
        let asked = words.join(" ");
        match code {
            None => counts.complain("hangs", asked),
            Some(0..=2) => {}
            Some(code) => counts.complain("panics", format!("ended with {code}: {asked}")),
        }
    }
    for name in ["panics", "hangs"] {
        counts.add(name, 0);
    }
    Ok(counts)
}

/// How a command ended; none when it had to be ended.
fn ended(words: &[String]) -> Result<(Option<i32>, Duration)> {
    let began = Instant::now();
    let mut child = Command::new(program()?)
        .args(words)
        .env("RUST_BACKTRACE", "0")
        .stdin(Stdio::null())
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .spawn()?;
    loop {
        if let Some(status) = child.try_wait()? {
            // Without a code it was ended by a signal, as by too deep a recursion.
            return Ok((Some(status.code().unwrap_or(-1)), began.elapsed()));
        }
        if began.elapsed() > MOST {
            child.kill()?;
            child.wait()?;
            return Ok((None, began.elapsed()));
        }
        std::thread::sleep(Duration::from_millis(5));
    }
}
