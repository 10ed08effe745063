//! Many at once, and people who walk away in the middle.

use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Duration;

use book::{Book, BookError, Kind, Page, verify_file};
use rand::RngExt;
use rand_pcg::Pcg64Mcg;

use crate::{long_form, shelf, study};

#[tokio::test(flavor = "multi_thread", worker_threads = 4)]
async fn many_make_and_open_the_same_new_book() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("lab.book");
    let openers: Vec<_> = (0..12)
        .map(|number| {
            let path = path.clone();
            tokio::spawn(async move {
                let book = Book::open(&path, true).await.unwrap();
                book.save(study(&format!("of-{number}"), None, "flour = 60"))
                    .await
                    .unwrap();
            })
        })
        .collect();
    for opener in openers {
        opener.await.unwrap();
    }
    let book = Book::open(&path, false).await.unwrap();
    assert_eq!(book.verify(|_, _| ()).await.unwrap().revisions, 12);
}

/// A tablet that loses its connection drops the change it was waiting for.
#[tokio::test(flavor = "multi_thread", worker_threads = 4)]
async fn changes_dropped_half_way_are_whole_or_not_there() {
    let shelf = shelf().await;
    let mut random = Pcg64Mcg::new(3);
    let mut dropped = 0;
    for number in 0..300 {
        let book = shelf.book.clone();
        let change = tokio::spawn(async move {
            book.save(study(&format!("s{number}"), None, &long_form(6, 0.0)))
                .await
                .unwrap();
        });
        std::thread::sleep(Duration::from_micros(random.random_range(0..600)));
        change.abort();
        dropped += u32::from(change.await.is_err());
    }
    println!("{dropped} of 300 changes were dropped half way");
    assert!(dropped > 10);
    shelf
        .book
        .save(study("after", None, "flour = 60"))
        .await
        .unwrap();
    let report = shelf.book.verify(|_, _| ()).await.unwrap();
    assert!(
        report.is_sound() && report.revisions > u64::from(300 - dropped),
        "{report}"
    );
}

/// Every call can be waited for from any thread, as a server does.
#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn every_reading_can_move_between_threads() {
    let shelf = shelf().await;
    shelf
        .book
        .save(study("grain", None, "flour = 60"))
        .await
        .unwrap();
    let book = shelf.book.clone();
    let out = shelf.folder.path().join("copy.book");
    let again = shelf.folder.path().join("again.book");
    let steps = tokio::spawn(async move {
        let mut steps = Vec::new();
        book.verify(|done, total| steps.push((done, total)))
            .await
            .unwrap();
        book.backup(&out).await.unwrap();
        book::restore_file(&out, &again).await.unwrap();
        book.info().await.unwrap();
        book.list(
            Kind::Study,
            Some("grain"),
            book::Order::Title,
            Page::first(5),
        )
        .await
        .unwrap();
        book.recent(Page::first(5)).await.unwrap();
        book.close().await;
        steps
    })
    .await
    .unwrap();
    assert_eq!(steps, [(0, 1), (1, 1)]);
}

/// Looking over a book that another opens, writes and closes all the time takes nothing half written for damage.
#[tokio::test(flavor = "multi_thread", worker_threads = 4)]
async fn a_book_in_use_is_never_told_as_broken() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("lab.book");
    let book = Book::open(&path, true).await.unwrap();
    for number in 0..150 {
        let thing = format!("s{number}");
        let form = long_form(6, f64::from(number));
        book.save(study(&thing, None, &form)).await.unwrap();
    }
    book.close().await;
    let over = Arc::new(AtomicBool::new(false));
    let writer = tokio::spawn({
        let (path, over) = (path.clone(), Arc::clone(&over));
        async move {
            let mut number = 0;
            while !over.load(Ordering::Relaxed) {
                let book = Book::open(&path, false).await.unwrap();
                number += 1;
                let form = long_form(6, f64::from(number));
                let saved = book.save(study(&format!("w{number}"), None, &form)).await;
                saved.unwrap();
                book.close().await;
            }
            number
        }
    });
    let (mut sound, mut busy) = (0, 0);
    for _ in 0..40 {
        match verify_file(&path, None, |_, _| ()).await {
            Ok(report) => {
                assert!(report.is_sound(), "after {sound}: {report}");
                sound += 1;
            }
            Err(BookError::Locked { .. }) => busy += 1,
            Err(other) => panic!("after {sound}: {other}"),
        }
    }
    over.store(true, Ordering::Relaxed);
    let saves = writer.await.unwrap();
    println!("{sound} looks were sound and {busy} put off beside {saves} saves");
    assert!(sound > 0 && saves > 0);
}
