//! `hardtack book`: look after the file that keeps the studies.

use crate::args::{Book, BookPlace};
use crate::{End, tell};
use anyhow::Context;
use book::Book as Kept;
use serde_json::json;
use std::path::PathBuf;

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
                let copied = book.backup(&out).await?;
                told(&place, &copied, &copy_words("backup", &copied))
            }
            Book::Restore { from, place } => {
                let to = path(&place)?;
                let copied = book::restore_file(&from, &to).await?;
                told(&place, &copied, &copy_words("book", &copied))
            }
            Book::Info(place) => {
                let info = open(&place).await?.info().await?;
                told(&place, &info, &info_words(&info))
            }
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
    let report = book::verify_file(&path(place)?, expect, |_, _| {}).await?;
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
        "The {what} is {}: {} revisions, {} kB, chain sound to {}.",
        copied.path.display(),
        copied.revisions,
        copied.bytes.div_ceil(1000),
        copied.tip.hash
    )
}

fn info_words(info: &book::Info) -> String {
    let mut text = format!(
        "{}\n{} revisions, {} kB, {} drafts waiting to be saved",
        info.path.display(),
        info.revisions,
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
