//! Extreme numbers on every command that takes numbers: an answer or a refusal, no panic, in time.

use crate::How;
use crate::record::Counts;
use crate::server::program;
use anyhow::Result;
use rand::RngExt;
use rand_pcg::Pcg64Mcg;
use std::io::Write;
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

const RUNS: u64 = 125;
/// Longest that a command may take; a bake of its own takes seconds in an unoptimised build.
const MOST: Duration = Duration::from_secs(20);

/// Each `@` takes a number.
const COMMANDS: &[&str] = &[
    "trial power two-sample --difference @ --sd @",
    "trial power two-sample --difference @ --sd @ --n @",
    "trial power two-sample --difference 1 --sd 1 --power @ --alpha @",
    "trial power paired --difference @ --sd @ --alpha @",
    "trial power one-way --treatments @ --difference @ --sd @",
    "trial power blocks --treatments @ --difference @ --sd @ --n @",
    "trial power means --means @,@,@ --sd @",
    "trial power proportions --first @ --second @",
    "trial power first-choice --share @ --n @",
    "trial power two-sample --difference 1 --between-sd @ --within-sd @ --pieces @",
    "trial minimum @",
    "trial minimum 20 --alpha @",
    "trial plan complete --treatments a,b --replicates @",
    "trial plan blocks --treatments a,b --blocks @ --per-block @",
    "measure bend @ --span-mm @ --width-mm @ --thickness-mm @",
    "measure bend @ --span-mm @ --diameter-mm @",
    "measure moisture --dish @,@,@",
    "measure sampling --lot @ --limit-pct @",
    "measure spread --width-mm @ --thickness-mm @ --control @",
    "measure farinograph --moisture-pct @ --absorption-pct @ --bowl-g @",
    "measure net-content --rule us --label-g @ --net-g @,@,@ --lot @",
    "measure whc --sample-g @ --sediment-g @ --moisture-pct @",
    "piece STUDY --gap-mm @ --sheet-mm @ --roll-mm @",
    "study batch STUDY --dough-kg @ --scale-g @",
    "study batch STUDY --pieces @ --loss-pct @",
    "study batch STUDY --bowl-l @ --fill-pct @",
    "bake run STUDY --minutes @",
    "after STUDY --days @ --months @ --crisp @",
    "after STUDY --pack-g @ --pack-area-cm2 @ --transmission @",
    "trial analyse COUNTS --response k --out-of n --treatment treatment",
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

/// The commands.
pub fn run(how: How) -> Result<Counts> {
    let folder = tempfile::tempdir()?;
    let study = folder.path().join("study.toml");
    std::fs::write(&study, include_str!("../../examples/spent-grain.toml"))?;
    let mut random = Pcg64Mcg::new(u128::from(how.seed));
    let mut counts = Counts::default();
    for run in 0..RUNS * how.times {
        let at = usize::try_from(run).unwrap_or(0) % COMMANDS.len();
        let mut number = || NUMBERS[random.random_range(0..NUMBERS.len())];
        let table = folder.path().join("counts.csv");
        let mut lines = String::from("treatment,batch,k,n\n");
        for batch in 0..6 {
            lines += &format!(
                "{},{batch},{},{}\n",
                ["a", "b"][batch % 2],
                number(),
                number()
            );
        }
        std::fs::File::create(&table)?.write_all(lines.as_bytes())?;
        let words: Vec<String> = COMMANDS[at]
            .split(' ')
            .map(|word| match word {
                "STUDY" => study.display().to_string(),
                "COUNTS" => table.display().to_string(),
                word if word.contains('@') => {
                    let parts: Vec<&str> = word.split('@').collect();
                    let mut whole = parts[0].to_owned();
                    for part in &parts[1..] {
                        whole += number();
                        whole += part;
                    }
                    whole
                }
                word => word.to_owned(),
            })
            .collect();
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
