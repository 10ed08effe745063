//! `hardtack book`: look after the file that keeps the studies.

use crate::args::{Book, BookPlace};
use crate::table::{Row, Side, WIDTH, table, wrap};
use crate::{End, progress, tell};
use anyhow::Context;
use app::Then;
use book::Book as Kept;
use serde_json::json;
use std::path::PathBuf;
use study::{Figure, MODEL_VERSION};

/// Does what was asked.
pub fn run(args: Book) -> anyhow::Result<End> {
    let runtime = tokio::runtime::Builder::new_multi_thread()
        .enable_all()
        .build()
        .context("cannot start the runtime that the book waits in")?;
    runtime.block_on(async {
        match args {
            Book::Verify { place, expect } => verify(&place, expect.as_deref()).await,
            Book::Backup { out, place } => {
                let book = open(&place).await?;
                let bar = progress::bar("copying");
                let copied = book.backup_telling(&out, progress::of_rows(&bar)).await?;
                bar.finish_and_clear();
                told(&place, &copied, &copy_words("backup", &copied))
            }
            Book::Restore { from, place } => {
                let to = path(&place)?;
                let bar = progress::bar("restoring");
                let copied = book::restore_telling(&from, &to, progress::of_rows(&bar)).await?;
                bar.finish_and_clear();
                told(&place, &copied, &copy_words("book", &copied))
            }
            Book::Info(place) => {
                let info = open(&place).await?.info().await?;
                told(&place, &info, &info_words(&info))
            }
            Book::Moved(place) => moved(&place).await,
        }
    })
}

fn path(place: &BookPlace) -> anyhow::Result<PathBuf> {
    match &place.book {
        Some(path) => Ok(path.clone()),
        None => Ok(app::default_book()?),
    }
}

async fn open(place: &BookPlace) -> anyhow::Result<Kept> {
    Ok(Kept::open(&path(place)?, false).await?)
}

async fn verify(place: &BookPlace, expect: Option<&str>) -> anyhow::Result<End> {
    let bar = progress::bar("checking");
    let report = book::verify_file(&path(place)?, expect, progress::of_rows(&bar)).await?;
    bar.finish_and_clear();
    if place.json {
        tell::json(&report)?;
    } else {
        tell::out(&format!("{}: {report}\n", path(place)?.display()))?;
    }
    Ok(if report.is_sound() {
        End::Fine
    } else {
        End::Stop
    })
}

/// What every study in use was saved with, where that isn't what this program tells.
async fn moved(place: &BookPlace) -> anyhow::Result<End> {
    let kept = open(place).await?;
    let app = app::App::over(kept);
    let bar = progress::bar("working studies out again");
    let mut all = Vec::new();
    let mut page = book::Page::first(book::Page::LONGEST);
    loop {
        let studies = app
            .book()
            .list(book::Kind::Study, None, book::Order::Title, page)
            .await?;
        bar.set_length(studies.total);
        for (study, done) in studies.items.iter().zip(page.start + 1..) {
            bar.set_position(done);
            if let Some(then) = app.then(&study.thing).await? {
                all.push((study.thing.clone(), then));
            }
        }
        page.start += page.count;
        if page.start >= studies.total {
            break;
        }
    }
    bar.finish_and_clear();
    app.close().await;
    let list: Vec<_> = all
        .iter()
        .map(|(study, then)| json!({ "study": study, "then": then }))
        .collect();
    let words = moved_words(&all)?;
    told(
        place,
        &json!({ "model": MODEL_VERSION, "studies": list }),
        &words,
    )
}

fn moved_words(all: &[(String, Then)]) -> anyhow::Result<String> {
    if all.is_empty() {
        return Ok(format!(
            "Every study in use was saved under model {MODEL_VERSION}, which this program works by."
        ));
    }
    let mut text = format!("This program works by model {MODEL_VERSION}.\n");
    for (study, then) in all {
        text.push('\n');
        match then {
            Then::NotKept { revision, when } => text.push_str(&wrap(
                &format!("{study}: the figures that revision {revision} was saved with on {when} weren\u{2019}t kept: an earlier program saved it, or the program ended in the midst of it."),
                WIDTH,
                "",
            )),
            Then::Otherwise { revision, when, model, moved } => {
                let many = match moved.len() {
                    0 => "no figure that both tell has moved".to_owned(),
                    n => format!("figures told otherwise: {n}"),
                };
                text.push_str(&wrap(
                    &format!("{study}: revision {revision} was saved under model {model} on {when}; {many}."),
                    WIDTH,
                    "",
                ));
                if !moved.is_empty() {
                    let rows: Vec<Row> = moved.iter().map(|m| {
                        let name = Figure::with_key(m.figure).map_or(m.figure, |f| f.about().name);
                        Row::Cells(vec![m.treatment.clone(), name.to_owned(), m.then.clone(), m.now.clone()])
                    }).collect();
                    let sides = [Side::Left, Side::Left, Side::Right, Side::Right];
                    text.push_str(&table(&["treatment", "figure", "then", "now"], &sides, &rows));
                }
            }
        }
    }
    Ok(text)
}

fn told(place: &BookPlace, value: &impl serde::Serialize, words: &str) -> anyhow::Result<End> {
    if place.json {
        tell::json(&json!(value))?;
    } else {
        tell::out(&format!("{words}\n"))?;
    }
    Ok(End::Fine)
}

fn copy_words(what: &str, copied: &book::CopyReport) -> String {
    format!(
        "The {what} is {}: {} revisions{}, {} kB, chain sound to {}.",
        copied.path.display(),
        copied.revisions,
        bench_words(copied.entries, copied.pictures),
        copied.bytes.div_ceil(1000),
        copied.tip.hash
    )
}

/// What there is of the bench, if anything.
fn bench_words(entries: u64, pictures: u64) -> String {
    match entries + pictures {
        0 => String::new(),
        _ => format!(", {entries} rows of the bench, {pictures} pictures"),
    }
}

fn info_words(info: &book::Info) -> String {
    let mut text = format!(
        "{}\n{} revisions{}, {} kB, {} drafts waiting to be saved",
        info.path.display(),
        info.revisions,
        bench_words(info.entries, info.pictures),
        info.bytes.div_ceil(1000),
        info.drafts
    );
    for count in &info.counts {
        let removed = if count.removed > 0 {
            format!(", {} removed", count.removed)
        } else {
            String::new()
        };
        text.push_str(&format!(
            "\n  {}: {}{removed}",
            count.kind.word(),
            count.in_use
        ));
    }
    if let (Some(first), Some(last)) = (&info.first_when, &info.last_when) {
        text.push_str(&format!(
            "\nfrom {first} to {last}; the chain ends in {}",
            info.tip.hash
        ));
    }
    text
}
