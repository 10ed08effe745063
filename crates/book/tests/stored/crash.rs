//! A writer is killed at random moments. Whatever it was told is saved has to be there.
//!
//! A killed program is not a power cut: what the system had accepted is still written. That every
//! commit waits for the disk (`synchronous = FULL`) is SQLite's part, and is checked as a setting.

use std::io::{BufRead, BufReader};
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::Duration;

use book::{Book, Draft, Kind, Remove, SaveError, Tip};
use rand::RngExt;
use rand_pcg::Pcg64Mcg;

use crate::{NOON, long_form, study};

/// The variable that tells this very test program to be a writer.
const WRITE_TO: &str = "STORED_TEST_WRITE_TO";

/// Runs in a process of its own: saves, removes and drafts until it is killed, and prints the place
/// and hash of every revision that was acknowledged.
#[tokio::test]
#[ignore = "is the writer that the other tests start"]
async fn writer() {
    let Some(path) = std::env::var_os(WRITE_TO) else {
        return;
    };
    let book = Book::open(Path::new(&path), true).await.unwrap();
    println!("open");
    for round in 0..u64::MAX {
        let thing = format!("study-{}", round % 5);
        let newest = book.newest(Kind::Study, &thing).await.unwrap();
        let base = newest.as_ref().map(|newest| newest.entry.number);
        let outcome = match newest {
            Some(newest) if round % 17 == 16 && !newest.form.is_empty() => {
                let remove = Remove {
                    kind: Kind::Study,
                    thing,
                    base: newest.entry.number,
                    who: "Ada".to_owned(),
                    when: NOON.to_owned(),
                    why: None,
                };
                book.remove(remove).await
            }
            _ => {
                let form = long_form(6, round as f64 * 0.01);
                let unsaved = book.unsaved(Kind::Study, &thing, "Ada").await.unwrap();
                let draft = Draft {
                    kind: Kind::Study,
                    thing: thing.clone(),
                    who: "Ada".to_owned(),
                    counter: unsaved.counter,
                    base,
                    when: NOON.to_owned(),
                    title: "draft".to_owned(),
                    form_version: 1,
                    form: form.clone(),
                };
                // Another program may be faster with the same thing; then there is nothing of this one's to save.
                match book.put_draft(&draft).await.unwrap() {
                    Some(counter) => book.save_draft(study(&thing, base, &form), counter).await,
                    None => book.save(study(&thing, base, &form)).await,
                }
            }
        };
        match outcome {
            Ok(revision) => println!("saved {} {}", revision.entry.id, revision.entry.hash),
            Err(SaveError::Stale { .. }) => println!("stale"),
            Err(error) => panic!("{error}"),
        }
    }
}

/// Starts a writer, kills it `life` after it was told `least` times that something is saved, and gives all it was told.
fn acknowledged_until_killed(path: &Path, least: usize, life: Duration) -> Vec<Tip> {
    let mut child = Command::new(std::env::current_exe().unwrap())
        .args(["crash::writer", "--exact", "--ignored", "--nocapture"])
        .env(WRITE_TO, path)
        .stdout(Stdio::piped())
        .stderr(Stdio::null())
        .spawn()
        .unwrap();
    let out = BufReader::new(child.stdout.take().unwrap());
    let (told_one, heard) = std::sync::mpsc::channel();
    let reading = std::thread::spawn(move || {
        let mut tips = Vec::new();
        for line in out.lines().map_while(Result::ok) {
            // The test harness may begin the same line with its own words.
            let Some((_, told)) = line.split_once("saved ") else {
                continue;
            };
            if let Some((id, hash)) = told.split_once(' ')
                && hash.len() == 64
            {
                tips.push(Tip {
                    id: id.parse().unwrap(),
                    hash: hash.to_owned(),
                });
                let _ = told_one.send(());
            }
        }
        tips
    });
    for _ in 0..least {
        heard
            .recv_timeout(Duration::from_secs(60))
            .unwrap_or_else(|_| panic!("the writer hardly wrote"));
    }
    std::thread::sleep(life);
    child.kill().unwrap(); // SIGKILL
    child.wait().unwrap();
    reading.join().unwrap()
}

async fn rounds_of_killing(rounds: u32, seed: u128) {
    let folder = tempfile::tempdir().unwrap();
    let mut random = Pcg64Mcg::new(seed);
    let mut acknowledged = 0;
    let mut saved_unheard = 0;
    let mut killed_before_the_first = 0;
    for round in 0..rounds {
        // A new book now and then, so that the making of one is interrupted too.
        let path = folder.path().join(format!("lab-{}.book", round / 10));
        let before = match Book::open(&path, true).await {
            Ok(book) if round % 10 > 0 => {
                let tip = book.tip().await.unwrap();
                book.close().await;
                tip.id
            }
            Ok(book) => {
                book.close().await;
                std::fs::remove_file(&path).unwrap();
                0
            }
            Err(error) => panic!("round {round}: {error}"),
        };
        // One in four is killed before it may have saved anything, the others while they save.
        let least = [0, 1, 2, 5][round as usize % 4];
        let longest = if least == 0 { 150_000 } else { 20_000 };
        let life = Duration::from_micros(random.random_range(500..longest));
        let tips = acknowledged_until_killed(&path, least, life);

        let book = Book::open(&path, true)
            .await
            .unwrap_or_else(|error| panic!("round {round}: {error}"));
        for tip in &tips {
            assert!(
                book.holds(tip).await.unwrap(),
                "round {round}: revision {} was lost",
                tip.id
            );
        }
        let report = book.verify(|_, _| ()).await.unwrap();
        assert!(report.is_sound(), "round {round}: {report}");
        let heard = tips.last().map_or(before, |tip| tip.id);
        assert!(report.revisions >= heard);
        acknowledged += tips.len();
        saved_unheard += report.revisions - heard;
        killed_before_the_first += u32::from(tips.is_empty());
        book.close().await;
    }
    println!(
        "{rounds} writers killed: {acknowledged} revisions acknowledged, all there; \
         {saved_unheard} more were written and the word of it lost; \
         {killed_before_the_first} writers died before their first"
    );
    assert!(acknowledged > rounds as usize);
}

#[tokio::test]
async fn forty_killed_writers_lose_nothing() {
    rounds_of_killing(40, 7).await;
}

#[tokio::test]
#[ignore = "takes a minute: the same, 200 times"]
async fn two_hundred_killed_writers_lose_nothing() {
    rounds_of_killing(200, 11).await;
}

/// Two programs write to one book, partly to the same things: each change is there or was refused.
#[tokio::test]
async fn two_programs_write_to_one_book_in_turn() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("lab.book");
    let book = Book::open(&path, true).await.unwrap();
    let other = {
        let path = path.clone();
        std::thread::spawn(move || acknowledged_until_killed(&path, 6, Duration::from_secs(1)))
    };
    let (mut mine, mut stale) = (Vec::new(), 0);
    let mut round = 0_u64;
    while !other.is_finished() || mine.len() < 6 {
        round += 1;
        let thing = format!("study-{}", round % 5);
        let newest = book.newest(Kind::Study, &thing).await.unwrap();
        let base = newest.map(|newest| newest.entry.number);
        match book
            .save(study(&thing, base, &long_form(6, round as f64)))
            .await
        {
            Ok(revision) => mine.push(Tip {
                id: revision.entry.id,
                hash: revision.entry.hash,
            }),
            Err(SaveError::Stale { .. }) => stale += 1,
            Err(error) => panic!("{error}"),
        }
    }
    let theirs = other.join().unwrap();
    println!(
        "two programs: {} and {} saved, {stale} refused as stale",
        mine.len(),
        theirs.len()
    );
    assert!(mine.len() > 5 && theirs.len() > 5);
    for tip in mine.iter().chain(&theirs) {
        assert!(
            book.holds(tip).await.unwrap(),
            "revision {} was lost",
            tip.id
        );
    }
    let report = book.verify(|_, _| ()).await.unwrap();
    assert!(report.is_sound(), "{report}");
    // The killed writer may have written one more than it could say.
    let told = (mine.len() + theirs.len()) as u64;
    assert!(
        (told..=told + 1).contains(&report.revisions),
        "{told} told, {report}"
    );
}
