//! The disk fills up while people edit and save, and is freed again. What was acknowledged has to be there, what wasn't
//! has to be refused, and the program goes on. A small file system in memory stands for the disk; making one takes the
//! right to mount, and where there is none that is told.

use crate::How;
use crate::marks::Marks;
use crate::record::Counts;
use crate::server::{BARS, Client, Server};
use anyhow::{Context, Result, bail};
use book::{Book, Kind};
use rand::RngExt;
use rand_pcg::Pcg64Mcg;
use serde_json::json;
use std::path::Path;
use std::process::Command;

/// Refusals that are waited for before the disk is freed.
const REFUSALS: u64 = 20;
/// More tries than a small disk can take; what is refused for another reason than the disk is one as well.
const MOST: u64 = 3_000;
/// Letters of random text that go along with an edit; a note has at most 20,000.
const LENGTH: usize = 19_000;

/// A file system in memory, gone when dropped.
struct Disk(tempfile::TempDir);

impl Disk {
    fn of(size: &str) -> Result<Option<Self>> {
        let disk = Self(tempfile::tempdir()?);
        let size = format!("size={size}");
        let made = mount(&["-t", "tmpfs", "-o", &size, "tmpfs"], disk.0.path());
        Ok(made.then_some(disk))
    }

    fn grow(&self, size: &str) -> Result<()> {
        if mount(&["-o", &format!("remount,size={size}")], self.0.path()) {
            return Ok(());
        }
        bail!("the disk can't be made larger")
    }
}

impl Drop for Disk {
    fn drop(&mut self) {
        let _it_may_be_in_use = Command::new("umount").arg("-l").arg(self.0.path()).status();
    }
}

fn mount(how: &[&str], at: &Path) -> bool {
    let done = Command::new("mount").args(how).arg(at).output();
    done.is_ok_and(|done| done.status.success())
}

/// What one person was told.
#[derive(Default)]
struct Told {
    edits: u64,
    saves: u64,
    refused: u64,
}

/// The rounds, each on a disk of another size.
pub fn run(how: How) -> Result<Counts> {
    let mut counts = Counts::default();
    let mut random = Pcg64Mcg::new(u128::from(how.seed));
    for round in 0..how.times {
        let size = format!("{}k", random.random_range(1_000..3_000));
        let Some(disk) = Disk::of(&size)? else {
            counts.add("not tried: no right to mount", 1);
            return Ok(counts);
        };
        filled_and_freed(&disk, &mut random, round, &mut counts)?;
    }
    counts.add("losses", 0);
    Ok(counts)
}

fn filled_and_freed(
    disk: &Disk,
    random: &mut Pcg64Mcg,
    round: u64,
    counts: &mut Counts,
) -> Result<()> {
    let path = disk.0.path().join("lab.book");
    let server = Server::start(&path)?;
    let client = server.client();
    let mut told = Told::default();
    for tried in 0.. {
        if told.refused >= REFUSALS {
            break;
        }
        if tried > MOST {
            bail!("the disk never filled: {}", counts.complaints.join("; "));
        }
        work(&client, random, &mut told, counts)?;
    }
    // Reading goes on while nothing can be written.
    let page = client.get(&format!("/study/{BARS}"))?;
    if page.status != 200 {
        counts.complain(
            "failures",
            format!("round {round}: a page: {}", page.status),
        );
    }
    disk.grow("64m")?;
    let before = told.edits;
    for _ in 0..5 {
        work(&client, random, &mut told, counts)?;
    }
    if told.edits == before {
        counts.complain("failures", format!("round {round}: it didn't go on"));
    }
    let end = client.get(&format!("/study/{BARS}/export"))?.text;
    for lost in Marks::of(0, &end).lost(told.edits) {
        counts.complain("losses", format!("round {round}: edit {lost} is lost"));
    }
    server.withstood(counts);
    let runtime = tokio::runtime::Builder::new_current_thread()
        .enable_all()
        .build()?;
    runtime.block_on(async {
        let report = book::verify_file(&path, None, |_, _| ()).await?;
        if !report.is_sound() {
            counts.complain("broken books", format!("round {round}: {report}"));
        }
        let book = Book::open(&path, false).await?;
        let newest = book.newest(Kind::Study, BARS).await?;
        let saves = newest.context("no study")?.entry.number - 1;
        // One more may stand there than was acknowledged: the answer may not have come through.
        if saves < told.saves {
            let lost = told.saves - saves;
            counts.complain("losses", format!("round {round}: {lost} saves are lost"));
        }
        book.close().await;
        anyhow::Ok(())
    })?;
    counts.add("rounds", 1);
    counts.add("edits acknowledged", told.edits);
    counts.add("saves acknowledged", told.saves);
    counts.add("refused", told.refused);
    Ok(())
}

/// An edit and, now and then, a save.
fn work(
    client: &Client,
    random: &mut Pcg64Mcg,
    told: &mut Told,
    counts: &mut Counts,
) -> Result<()> {
    let state = client.get(&format!("/study/{BARS}"))?.json()?["state"].clone();
    let study = client.get(&format!("/study/{BARS}/export"))?.text;
    let marks = Marks::of(0, &study).and(told.edits).text(0);
    let long: String = (0..LENGTH)
        .map(|_| char::from(random.random_range(b'a'..=b'z')))
        .collect();
    let edits = json!({
        "base": state["base"].as_u64().context("no base")?, "counter": state["counter"], "window": "one",
        "edits": [
            { "edit": "set_note", "treatment": "control", "note": marks },
            { "edit": "set_note", "treatment": "barley", "note": long },
        ],
    });
    match client.send(&format!("/study/{BARS}/edit"), &edits)?.status {
        200 => told.edits += 1,
        507 => told.refused += 1,
        status => counts.complain("failures", format!("an edit: {status}")),
    }
    if random.random_range(0..3) == 0 {
        let kind = "application/x-www-form-urlencoded";
        let path = format!("/study/{BARS}/save");
        match client.ask("POST", &path, kind, b"base=0&why=")?.status {
            ..400 => told.saves += 1,
            507 => told.refused += 1,
            // Nothing to save, or another stands there.
            409 | 422 => {}
            status => counts.complain("failures", format!("a save: {status}")),
        }
    }
    Ok(())
}
