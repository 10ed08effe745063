//! Writers are killed at random moments; whatever they were told is saved has to be there.

use crate::How;
use crate::record::Counts;
use crate::saving::{batch, draft, row, study};
use anyhow::{Context, Result};
use book::{Book, Entered, Kind, SaveError, Tip};
use rand::RngExt;
use rand_pcg::Pcg64Mcg;
use std::io::{BufRead, BufReader};
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::Duration;

const ROUNDS: u64 = 40;

fn runtime() -> Result<tokio::runtime::Runtime> {
    Ok(tokio::runtime::Builder::new_multi_thread()
        .worker_threads(2)
        .enable_all()
        .build()?)
}

/// The batch that rows of the bench are entered to.
const BATCH: &str = "batch-1";

/// Runs in a process of its own: drafts, saves and enters rows of the bench until it is killed, and says the place and
/// hash of every revision that was acknowledged, the counter of every draft, and the key of every row.
pub fn writer(path: &str) -> Result<()> {
    runtime()?.block_on(async {
        let book = Book::open(Path::new(path), true).await?;
        if book.newest(Kind::Batch, BATCH).await?.is_none() {
            let saved = book.save(batch(BATCH)).await?;
            println!("saved {} {}", saved.entry.id, saved.entry.hash);
        }
        let mut next = book.entries_of(Kind::Batch, BATCH, 0).await?.len();
        for round in 0..u64::MAX {
            let thing = format!("study-{}", round % 5);
            let newest = book.newest(Kind::Study, &thing).await?;
            let base = newest.as_ref().map(|newest| newest.entry.number);
            let form: String = (0..200)
                .map(|row| format!("row {row} = {}\n", row * 7919 % 1000 + round * (row % 7)))
                .collect();
            let unsaved = book.unsaved(Kind::Study, &thing, "Ada").await?;
            let save = study(&thing, base, &form);
            let draft = draft(&save, unsaved.counter);
            let Some(counter) = book.put_draft(&draft).await? else {
                continue;
            };
            println!("draft {thing} {counter}");
            // Three at once, and the last of the round before once more, as an outbox does that heard no answer.
            let rows = (next.saturating_sub(1)..next + 3)
                .map(|n| row(&format!("row-{n}"), BATCH, &n.to_string()))
                .collect();
            next += 3;
            for entered in book.enter(rows).await? {
                match entered {
                    Entered::Kept(row) => println!("entered {} {}", row.row.value, row.hash),
                    Entered::KeptAlready(_) => {}
                    Entered::Refused(refused) => anyhow::bail!("{refused}"),
                }
            }
            match book.save_draft(save, counter).await {
                Ok(saved) => println!("saved {} {}", saved.entry.id, saved.entry.hash),
                Err(SaveError::Stale { .. } | SaveError::DraftMoved) => {}
                Err(error) => return Err(error.into()),
            }
        }
        Ok(())
    })
}

/// The rounds.
pub fn run(how: How) -> Result<Counts> {
    let folder = tempfile::tempdir()?;
    let mut random = Pcg64Mcg::new(u128::from(how.seed));
    let mut counts = Counts::default();
    let runtime = runtime()?;
    for round in 0..ROUNDS * how.times {
        // A new book now and then, so that the making of one is interrupted too.
        let path = folder.path().join(format!("lab-{}.book", round / 10));
        // One in four is killed before it may have saved anything, the others while they save.
        let least = [0, 1, 2, 5][round as usize % 4];
        let longest = if least == 0 { 150_000 } else { 20_000 };
        let life = Duration::from_micros(random.random_range(0..longest));
        let heard = until_killed(&path, least, life)?;
        counts.add("rounds", 1);
        counts.add("saves acknowledged", heard.tips.len() as u64);
        counts.add("drafts acknowledged", heard.drafts.len() as u64);
        counts.add("rows acknowledged", heard.rows.len() as u64);
        if !path.exists() {
            counts.add("killed before there was a book", 1);
            if !heard.tips.is_empty() {
                counts.complain("losses", format!("round {round}: no book, but saves"));
            }
            continue;
        }
        runtime.block_on(looked_over(&path, &heard, round, &mut counts))?;
    }
    counts.add("losses", 0);
    Ok(counts)
}

async fn looked_over(
    path: &Path,
    heard: &Acknowledged,
    round: u64,
    counts: &mut Counts,
) -> Result<()> {
    let report = book::verify_file(path, None, |_, _| ()).await?;
    if !report.is_sound() {
        counts.complain("broken books", format!("round {round}: {report}"));
    }
    let book = Book::open(path, false).await?;
    for tip in &heard.tips {
        if !book.holds(tip).await? {
            counts.complain("losses", format!("round {round}: revision {} lost", tip.id));
        }
    }
    for (thing, counter) in &heard.drafts {
        let unsaved = book.unsaved(Kind::Study, thing, "Ada").await?;
        // A later counter says that it was saved or changed; its own, that it has to be there.
        if unsaved.counter < *counter || (unsaved.counter == *counter && unsaved.draft.is_none()) {
            counts.complain(
                "losses",
                format!("round {round}: draft {thing} {counter} lost"),
            );
        }
    }
    let rows = book.entries_of(Kind::Batch, BATCH, 0).await?;
    for (number, row) in (0_u64..).zip(&rows) {
        if row.row.value != number.to_string() {
            let told = format!("round {round}: row {number} is {}", row.row.value);
            counts.complain("rows out of order or twice", told);
            break;
        }
    }
    for (number, hash) in &heard.rows {
        let at = usize::try_from(*number).ok().and_then(|n| rows.get(n));
        if at.is_none_or(|row| row.hash != *hash) {
            counts.complain("losses", format!("round {round}: row {number} lost"));
        }
    }
    book.close().await;
    Ok(())
}

/// What a writer was told is kept.
#[derive(Default)]
struct Acknowledged {
    tips: Vec<Tip>,
    /// Drafts with their counters.
    drafts: Vec<(String, u64)>,
    /// Rows of the bench by their number, with their hash.
    rows: Vec<(u64, String)>,
}

/// Starts a writer, kills it `life` after it was told `least` times that something is kept, and gives all it was told.
fn until_killed(path: &Path, least: usize, life: Duration) -> Result<Acknowledged> {
    let mut child = Command::new(std::env::current_exe()?)
        .arg("writer")
        .arg(path)
        .stdout(Stdio::piped())
        .stderr(Stdio::null())
        .spawn()?;
    let out = BufReader::new(child.stdout.take().context("its output")?);
    let (told_one, heard) = std::sync::mpsc::channel();
    let reading = std::thread::spawn(move || {
        let mut heard = Acknowledged::default();
        for line in out.lines().map_while(Result::ok) {
            let words: Vec<&str> = line.split(' ').collect();
            let _killed_meanwhile = told_one.send(());
            match words[..] {
                ["saved", id, hash] if hash.len() == 64 => {
                    if let Ok(id) = id.parse() {
                        let hash = hash.to_owned();
                        heard.tips.push(Tip { id, hash });
                    }
                }
                ["draft", thing, counter] => {
                    if let Ok(counter) = counter.parse() {
                        heard.drafts.push((thing.to_owned(), counter));
                    }
                }
                ["entered", number, hash] if hash.len() == 64 => {
                    if let Ok(number) = number.parse() {
                        heard.rows.push((number, hash.to_owned()));
                    }
                }
                _ => {}
            }
        }
        heard
    });
    for _ in 0..least {
        heard
            .recv_timeout(Duration::from_secs(60))
            .context("a writer hardly wrote")?;
    }
    std::thread::sleep(life);
    child.kill()?; // SIGKILL
    child.wait()?;
    reading
        .join()
        .map_err(|_| anyhow::anyhow!("the reading of a writer broke off"))
}
