//! A book of many years: thousands of entries and megabytes of pictures for each round. It has to open at once, and
//! while all of it is checked behind, people go on.

use crate::How;
use crate::record::Counts;
use crate::saving::{NOON, study};
use crate::server::{BARS, Client, HANG, Server};
use anyhow::Result;
use book::{Book, Kind, Save};
use rand::RngExt;
use rand_pcg::Pcg64Mcg;
use std::path::Path;
use std::time::{Duration, Instant};

/// Entries in the short form.
const ENTRIES: u64 = 4_000;
/// Bytes of pictures in the short form; as they are drawn at random, they can't be packed much.
const PICTURES: usize = 1_200_000;
const PICTURE: usize = 400_000;
/// Studies that the entries belong to.
const THINGS: u64 = 1_000;
/// Longest until the book is open; an unoptimised build on a busy machine has more.
const AT_ONCE: Duration = Duration::from_secs(if cfg!(debug_assertions) { 4 } else { 1 });

/// The book of many years.
pub fn run(how: How) -> Result<Counts> {
    let folder = tempfile::tempdir()?;
    let path = folder.path().join("lab.book");
    let mut counts = Counts::default();
    // The program makes it, so that the demonstration is in it.
    Server::start(&path)?.kill();
    let runtime = tokio::runtime::Builder::new_multi_thread()
        .worker_threads(2)
        .enable_all()
        .build()?;
    runtime.block_on(filled(&path, how, &mut counts))?;
    let megabytes = std::fs::metadata(&path)?.len() / 1_000_000;
    counts.add("MB in the file", megabytes);

    let began = Instant::now();
    let book = runtime.block_on(Book::open(&path, false))?;
    at_once("opening", began, &mut counts);
    runtime.block_on(book.close());

    let began = Instant::now();
    let server = Server::start(&path)?;
    at_once("starting", began, &mut counts);
    let client = server.client();
    let began = Instant::now();
    answered(&client, "/", &mut counts)?;
    at_once("first page", began, &mut counts);
    // All of the book is checked and copied behind meanwhile.
    let until = Instant::now() + Duration::from_secs(how.seconds);
    while Instant::now() < until {
        for page in [
            "/".to_owned(),
            format!("/study/{BARS}"),
            format!("/study/{BARS}/history"),
        ] {
            answered(&client, &page, &mut counts)?;
        }
    }
    server.withstood(&mut counts);
    Ok(counts)
}

fn at_once(what: &str, began: Instant, counts: &mut Counts) {
    let took = began.elapsed();
    counts.worst(&format!("{what} ms"), took.as_millis() as u64);
    if took > AT_ONCE {
        counts.complain("slow", format!("{what} took {took:?}"));
    }
}

fn answered(client: &Client, page: &str, counts: &mut Counts) -> Result<()> {
    let answer = client.get(page)?;
    counts.add("pages", 1);
    counts.worst("slowest page ms", answer.took.as_millis() as u64);
    if answer.took > HANG {
        counts.complain("hangs", format!("{page} took {:?}", answer.took));
    }
    if answer.status != 200 {
        counts.complain("failures", format!("{page}: {}", answer.status));
    }
    Ok(())
}

async fn filled(path: &Path, how: How, counts: &mut Counts) -> Result<()> {
    let book = Book::open(path, false).await?;
    let entries = ENTRIES * how.times;
    for first in (0..entries).step_by(THINGS as usize) {
        let round = first / THINGS;
        let form = format!("note = \"round {round}\"\n");
        let base = (round > 0).then_some(round);
        let saves = (0..THINGS.min(entries - first))
            .map(|at| study(&format!("study-{at}"), base, &form))
            .collect();
        counts.add("entries", book.save_all(saves).await?.len() as u64);
    }
    let mut random = Pcg64Mcg::new(u128::from(how.seed));
    for number in 0..PICTURES * usize::try_from(how.times)? / PICTURE {
        let form = (0..PICTURE)
            .map(|_| char::from(random.random_range(b' '..=b'~')))
            .collect();
        book.save(Save {
            kind: Kind::Piece,
            thing: format!("picture-{number}"),
            base: None,
            who: "Ada".to_owned(),
            when: NOON.to_owned(),
            why: None,
            title: format!("Picture {number}"),
            form_version: 1,
            form,
        })
        .await?;
        counts.add("pictures", 1);
    }
    book.close().await;
    Ok(())
}
