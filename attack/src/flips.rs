//! Bits of the file are flipped on every kind of page: what changes an answer has to be found, and nothing may hang.

use crate::How;
use crate::record::Counts;
use crate::saving::{batch, draft, row, study};
use crate::server::HANG;
use anyhow::{Context, Result};
use book::{BenchEntry, Book, BookError, Draft, Entry, Kind, Order, Page, Save};
use rand::RngExt;
use rand_pcg::Pcg64Mcg;
use std::path::Path;

const FLIPS: u64 = 200;
const PAGE: usize = 4096;

type Everything = (
    Vec<Entry>,
    Vec<String>,
    Vec<Draft>,
    Vec<BenchEntry>,
    Vec<Option<Vec<u8>>>,
    String,
);

/// The flips.
pub fn run(how: How) -> Result<Counts> {
    let runtime = tokio::runtime::Builder::new_multi_thread()
        .worker_threads(2)
        .enable_all()
        .build()?;
    runtime.block_on(flips(how))
}

async fn flips(how: How) -> Result<Counts> {
    let folder = tempfile::tempdir()?;
    let path = folder.path().join("lab.book");
    let pictures = filled(&path).await?;
    let whole = std::fs::read(&path)?;
    let wanted = everything(&path, &pictures).await?;
    let mut random = Pcg64Mcg::new(u128::from(how.seed));
    let mut counts = Counts::default();
    let harmed_path = folder.path().join("harmed.book");
    // Each page in turn, so that every kind is met: the head and the layout, tables, indexes, long rows.
    let pages = whole.len() / PAGE;
    for flip in 0..FLIPS * how.times {
        let page = usize::try_from(flip).unwrap_or(0) % pages;
        // The beginning of a page says what the rest is.
        let within = if flip % 3 == 0 { 0..100 } else { 0..PAGE };
        let place = page * PAGE + random.random_range(within);
        let mut harmed = whole.clone();
        harmed[place] ^= 1 << random.random_range(0..8);
        std::fs::write(&harmed_path, &harmed)?;
        counts.add("flips", 1);
        let looked = book::verify_file(&harmed_path, None, |_, _| ());
        let Ok(looked) = tokio::time::timeout(HANG, looked).await else {
            counts.complain("hangs", format!("verifying, byte {place}"));
            continue;
        };
        let Ok(now) = tokio::time::timeout(HANG, everything(&harmed_path, &pictures)).await else {
            counts.complain("hangs", format!("opening, byte {place}"));
            continue;
        };
        let same = now.as_ref().is_ok_and(|now| *now == wanted);
        match looked {
            Ok(report) if report.is_sound() => {
                if same {
                    counts.add("of no account", 1);
                } else {
                    counts.complain("missed", format!("byte {place} changes an answer"));
                }
            }
            _ => {
                counts.add("found", 1);
                if let Ok(now) = now
                    && (now.0.len() < wanted.0.len() || now.3.len() < wanted.3.len())
                {
                    counts.complain("told as less", format!("byte {place}"));
                }
            }
        }
        for ending in ["-wal", "-shm"] {
            let _there_may_be_none =
                std::fs::remove_file(format!("{}{ending}", harmed_path.display()));
        }
    }
    counts.add("missed", 0);
    counts.add("hangs", 0);
    Ok(counts)
}

/// A book with something on every kind of page.
async fn filled(path: &Path) -> Result<Vec<String>> {
    let book = Book::open(path, true).await?;
    for number in 0..60_u64 {
        let thing = format!("study-{}", number % 20);
        let base = (number >= 20).then_some(number / 20);
        let form: String = (0..150)
            .map(|row| format!("row {row} = {}\n", row * 7919 % 1000 + number * row))
            .collect();
        let save = Save {
            why: (number % 3 == 0).then(|| "a try".to_owned()),
            title: format!("Study {thing}"),
            ..study(&thing, base, &form)
        };
        book.save(save.clone()).await?;
        if number % 4 == 0 {
            let counter = book.unsaved(save.kind, &thing, &save.who).await?.counter;
            let draft = draft(&save, counter);
            book.put_draft(&draft).await?.context("a draft")?;
        }
    }
    book.save(batch("b1")).await?;
    let rows = (0..120).map(|n| row(&format!("row-{n}"), "b1", &n.to_string()));
    book.enter(rows.collect()).await?;
    let mut pictures = Vec::new();
    for number in 0..3 {
        // Some pages of bytes stand for a picture.
        let bytes: Vec<u8> = (0..3_000 + number).flat_map(u32::to_le_bytes).collect();
        pictures.push(book.keep_picture(&bytes).await?);
    }
    book.close().await;
    Ok(pictures)
}

/// All that a book answers.
async fn everything(path: &Path, hashes: &[String]) -> Result<Everything, BookError> {
    let book = Book::open(path, false).await?;
    let all = async {
        let page = Page::first(Page::LONGEST);
        let entries = book.recent(page).await?.items;
        let mut forms = Vec::new();
        for entry in &entries {
            let found = book
                .numbered(entry.kind, &entry.thing, entry.number)
                .await?;
            forms.push(found.map(|revision| revision.form).unwrap_or_default());
        }
        let list = book.list(Kind::Study, None, Order::Title, page).await?;
        let info = book.info().await?;
        let told = format!(
            "{} {:?} {} {} {}",
            list.total, info.counts, info.drafts, info.entries, info.pictures
        );
        let rows = book.entries_of(Kind::Batch, "b1", 0).await?;
        let mut pictures = Vec::new();
        for hash in hashes {
            pictures.push(book.picture(hash).await?);
        }
        let drafts = book.drafts("Ada").await?;
        Ok((entries, forms, drafts, rows, pictures, told))
    };
    let all = all.await;
    book.close().await;
    all
}
