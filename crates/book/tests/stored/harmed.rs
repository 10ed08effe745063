//! A file with single bits turned over: found, refused or of no account, never a smaller book and never a long wait.

use std::path::Path;
use std::time::Duration;

use book::{Book, BookError, Kind, Order, Page, Tip};
use rand::RngExt;
use rand_pcg::Pcg64Mcg;

use crate::{shelf, study};

type Everything = (Vec<book::Entry>, Vec<String>, Vec<book::Draft>, Tip);

/// All that a book answers.
async fn everything(path: &Path) -> Result<Everything, BookError> {
    let book = Book::open(path, false).await?;
    let all = async {
        let page = Page::first(Page::LONGEST);
        let entries = book
            .list(Kind::Study, None, Order::Title, page)
            .await?
            .items;
        let mut forms = Vec::new();
        for entry in &entries {
            let found = book.current(entry.kind, &entry.thing).await?;
            forms.push(found.map(|revision| revision.form).unwrap_or_default());
            book.history(entry.kind, &entry.thing, page).await?;
        }
        book.info().await?;
        Ok((entries, forms, book.drafts("Ada").await?, book.tip().await?))
    };
    let all = all.await;
    book.close().await;
    all
}

#[tokio::test]
async fn flipped_bytes_in_the_file_are_found() {
    let shelf = shelf().await;
    let path = shelf.book.path().to_owned();
    for number in 0..40 {
        let thing = format!("study-{number}");
        shelf
            .book
            .save(study(&thing, None, &crate::long_form(2, f64::from(number))))
            .await
            .unwrap();
    }
    shelf.book.close().await;
    let whole = std::fs::read(&path).unwrap();
    let wanted = everything(&path).await.unwrap();
    let mut random = Pcg64Mcg::new(5);
    let (mut found, mut of_no_account) = (0, 0);
    // Every byte of the head and of the stored layout's beginning, then anywhere.
    let places: Vec<usize> = (0..100)
        .chain((0..300).map(|n| {
            let all = if n < 100 {
                100..4096
            } else {
                4096..whole.len()
            };
            random.random_range(all)
        }))
        .collect();
    for &place in &places {
        let mut harmed = whole.clone();
        harmed[place] ^= 1 << random.random_range(0..8);
        std::fs::write(&path, &harmed).unwrap();
        let looked = book::verify_file(&path, None, |_, _| ());
        let looked = tokio::time::timeout(Duration::from_secs(20), looked).await;
        if matches!(looked.unwrap(), Ok(report) if report.is_sound()) {
            let now = tokio::time::timeout(Duration::from_secs(20), everything(&path)).await;
            assert_eq!(now.unwrap().unwrap(), wanted, "byte {place}");
            of_no_account += 1;
        } else {
            // Opened all the same it answers or refuses, in time, and never with less as if that were all.
            let now = tokio::time::timeout(Duration::from_secs(20), everything(&path)).await;
            if let Ok((entries, ..)) = now.unwrap() {
                assert_eq!(entries.len(), wanted.0.len(), "byte {place}");
            }
            found += 1;
        }
        for ending in ["-wal", "-shm"] {
            let _there_may_be_none = std::fs::remove_file(format!("{}{ending}", path.display()));
        }
    }
    println!("{found} flips found, {of_no_account} of no account");
    assert!(found > places.len() / 4, "{found} of {}", places.len());
}

/// A byte in the type of a stored column, which the driver reads as text on a thread of its own: it is told like any
/// other harm, and at once.
#[tokio::test]
async fn a_type_of_a_column_that_is_no_text_is_told_at_once() {
    let shelf = shelf().await;
    let path = shelf.book.path().to_owned();
    for number in 0..3 {
        let thing = format!("study-{number}");
        let save = study(&thing, None, "flour = 60");
        shelf.book.save(save).await.unwrap();
    }
    shelf.book.close().await;
    let whole = std::fs::read(&path).unwrap();
    let mut found = 0;
    for word in [b" TEXT".as_slice(), b" INTEGER", b" BLOB"] {
        let places = whole.windows(word.len()).enumerate();
        for (place, _) in places.filter(|(_, found)| *found == word).take(40) {
            let mut harmed = whole.clone();
            harmed[place + 1] ^= 0x80;
            std::fs::write(&path, &harmed).unwrap();
            let looked = async {
                let looked = book::verify_file(&path, None, |_, _| ()).await;
                (
                    looked.is_ok_and(|report| report.is_sound()),
                    everything(&path).await.is_ok(),
                )
            };
            let sound = tokio::time::timeout(Duration::from_secs(60), looked).await;
            let (sound, read) = sound.unwrap();
            assert_eq!(sound, read, "byte {place}");
            // What is left of an earlier layout in a free place is of no account.
            found += u32::from(!sound);
        }
    }
    assert!(found > 10, "{found}");
}
