//! The disk fills up, and is freed again; and a disk that cannot be written at all.
//!
//! A small file system in memory stands for the disk. Making one takes the right to mount; without
//! it these tests say so and stop.

use std::path::{Path, PathBuf};
use std::process::Command;

use book::{Book, BookError, Kind, SaveError, Tip};

use crate::{long_form, study};

struct SmallDisk {
    folder: tempfile::TempDir,
}

impl SmallDisk {
    fn of(size: &str) -> Option<SmallDisk> {
        let folder = tempfile::tempdir().unwrap();
        let disk = SmallDisk { folder };
        let done = mount(
            &["-t", "tmpfs", "-o", &format!("size={size}"), "tmpfs"],
            disk.path(),
        );
        if done {
            Some(disk)
        } else {
            println!("skipped: a file system cannot be mounted here");
            None
        }
    }

    fn again(&self, how: &str) {
        assert!(
            mount(&["-o", &format!("remount,{how}")], self.path()),
            "remount,{how}"
        );
    }

    fn path(&self) -> &Path {
        self.folder.path()
    }

    fn book(&self) -> PathBuf {
        self.path().join("lab.book")
    }
}

impl Drop for SmallDisk {
    fn drop(&mut self) {
        let _it_may_be_in_use = Command::new("umount").arg("-l").arg(self.path()).status();
    }
}

fn mount(how: &[&str], at: &Path) -> bool {
    Command::new("mount")
        .args(how)
        .arg(at)
        .output()
        .is_ok_and(|done| done.status.success())
}

#[tokio::test]
async fn a_full_disk_is_said_clearly_and_loses_nothing() {
    let Some(disk) = SmallDisk::of("1m") else {
        return;
    };
    let book = Book::open(&disk.book(), true).await.unwrap();

    let mut saved: Vec<Tip> = Vec::new();
    let mut newest = None;
    let refused = loop {
        let form = long_form(6, saved.len() as f64 * 0.01);
        match book.save(study("grain", newest, &form)).await {
            Ok(revision) => {
                newest = Some(revision.entry.number);
                saved.push(Tip {
                    id: revision.entry.id,
                    hash: revision.entry.hash,
                });
            }
            Err(error) => break error,
        }
        assert!(saved.len() < 20_000, "the disk never filled");
    };
    assert!(
        matches!(refused, SaveError::Book(BookError::DiskFull { .. })),
        "{refused:?}"
    );
    let words = refused.to_string();
    assert!(
        words.contains("full") && words.contains("Free some space"),
        "{words}"
    );
    println!("disk full after {} revisions: {words}", saved.len());

    // Again and again: the same answer, and reading goes on.
    for _ in 0..5 {
        let refused = book
            .save(study("grain", newest, &long_form(6, 9.9)))
            .await
            .unwrap_err();
        assert!(
            matches!(refused, SaveError::Book(BookError::DiskFull { .. })),
            "{refused:?}"
        );
        let current = book.current(Kind::Study, "grain").await.unwrap().unwrap();
        assert_eq!(Some(current.entry.number), newest);
    }
    let copy = book
        .backup(&disk.path().join("copy.book"))
        .await
        .unwrap_err();
    assert!(matches!(copy, BookError::DiskFull { .. }), "{copy:?}");
    assert!(
        !disk.path().join("copy.book").exists(),
        "no half-made backup stays"
    );
    let report = book.verify(|_, _| ()).await.unwrap();
    assert!(
        report.is_sound() && report.revisions == saved.len() as u64,
        "{report}"
    );

    // Closed and opened while the disk is still full: opened, or told why not.
    book.close().await;
    let book = match Book::open(&disk.book(), false).await {
        Ok(book) => Some(book),
        Err(error) => {
            assert!(matches!(error, BookError::DiskFull { .. }), "{error:?}");
            None
        }
    };

    disk.again("size=8m");
    let book = match book {
        Some(book) => book,
        None => Book::open(&disk.book(), false).await.unwrap(),
    };
    for _ in 0..50 {
        let revision = book
            .save(study("grain", newest, &long_form(6, 1.0)))
            .await
            .unwrap();
        newest = Some(revision.entry.number);
        saved.push(Tip {
            id: revision.entry.id,
            hash: revision.entry.hash,
        });
    }
    for tip in &saved {
        assert!(
            book.holds(tip).await.unwrap(),
            "revision {} was lost",
            tip.id
        );
    }
    let report = book.verify(|_, _| ()).await.unwrap();
    assert!(
        report.is_sound() && report.revisions == saved.len() as u64,
        "{report}"
    );
}

/// The same program goes on with the same open book when space returns.
#[tokio::test]
async fn an_open_book_goes_on_when_space_returns() {
    let Some(disk) = SmallDisk::of("2m") else {
        return;
    };
    let book = Book::open(&disk.book(), true).await.unwrap();
    book.save(study("grain", None, "flour = 60")).await.unwrap();
    // Something else fills the disk.
    let junk = disk.path().join("junk");
    let _full = std::fs::write(&junk, vec![1_u8; 4 << 20]);
    let refused = loop {
        let number = book
            .newest(Kind::Study, "grain")
            .await
            .unwrap()
            .unwrap()
            .entry
            .number;
        let outcome = book
            .save(study("grain", Some(number), &long_form(6, number as f64)))
            .await;
        if let Err(error) = outcome {
            break error;
        }
    };
    assert!(
        matches!(refused, SaveError::Book(BookError::DiskFull { .. })),
        "{refused:?}"
    );
    std::fs::remove_file(&junk).unwrap();
    let number = book
        .newest(Kind::Study, "grain")
        .await
        .unwrap()
        .unwrap()
        .entry
        .number;
    book.save(study("grain", Some(number), "flour = 61"))
        .await
        .unwrap();
    assert!(book.verify(|_, _| ()).await.unwrap().is_sound());
}

#[tokio::test]
async fn a_new_book_on_a_full_disk_is_refused_and_made_later() {
    let Some(disk) = SmallDisk::of("64k") else {
        return;
    };
    let junk = disk.path().join("junk");
    let _full = std::fs::write(&junk, vec![1_u8; 1 << 20]);
    let refused = Book::open(&disk.book(), true).await.unwrap_err();
    assert!(matches!(refused, BookError::DiskFull { .. }), "{refused:?}");
    disk.again("size=4m");
    let book = Book::open(&disk.book(), true).await.unwrap();
    book.save(study("grain", None, "flour = 60")).await.unwrap();
}

#[tokio::test]
async fn a_read_only_disk_is_named() {
    let Some(disk) = SmallDisk::of("4m") else {
        return;
    };
    let book = Book::open(&disk.book(), true).await.unwrap();
    book.save(study("grain", None, "flour = 60")).await.unwrap();
    let copy = disk.path().join("copy.book");
    book.backup(&copy).await.unwrap();
    book.close().await;
    disk.again("ro");

    // A backup can be read where it lies, but not written.
    let backup = Book::open(&copy, false).await.unwrap();
    assert!(
        backup
            .current(Kind::Study, "grain")
            .await
            .unwrap()
            .is_some()
    );
    let refused = backup
        .save(study("grain", Some(1), "flour = 61"))
        .await
        .unwrap_err();
    assert!(
        matches!(refused, SaveError::Book(BookError::ReadOnly { .. })),
        "{refused:?}"
    );
    backup.close().await;
    // A book in use keeps files beside it, which it cannot make here.
    let refused = Book::open(&disk.book(), false)
        .await
        .unwrap_err()
        .to_string();
    assert!(refused.contains("read-only"), "{refused}");
    let new = Book::open(&disk.path().join("new.book"), true)
        .await
        .unwrap_err()
        .to_string();
    assert!(new.contains("read-only"), "{new}");
    disk.again("rw");
    let book = Book::open(&disk.book(), false).await.unwrap();
    book.save(study("grain", Some(1), "flour = 61"))
        .await
        .unwrap();
}

/// Rows of the bench and pictures on a full disk: refused, nothing half kept, and sent again they are kept once.
#[tokio::test]
async fn rows_of_the_bench_wait_for_space() {
    let Some(disk) = SmallDisk::of("1m") else {
        return;
    };
    let book = Book::open(&disk.book(), true).await.unwrap();
    book.save(crate::batch("b1")).await.unwrap();
    let rows = |round: usize| {
        (0..20)
            .map(|n| crate::bench_entry(&format!("k{round}-{n}"), "b1", "dose", "12.5"))
            .collect::<Vec<_>>()
    };
    let mut round = 0;
    let refused = loop {
        match book.enter(rows(round)).await {
            Ok(_) => round += 1,
            Err(error) => break error,
        }
        assert!(round < 2_000, "the disk never filled");
    };
    assert!(matches!(refused, BookError::DiskFull { .. }), "{refused}");
    let picture = book.keep_picture(&[7; 300_000]).await.unwrap_err();
    assert!(matches!(picture, BookError::DiskFull { .. }), "{picture}");
    let kept = book.entries_of(Kind::Batch, "b1", 0).await.unwrap();
    assert_eq!(kept.len(), round * 20);
    disk.again("size=8m");
    // The outbox sends again what was refused, and once more what was kept before.
    for sent in [round, round, round - 1] {
        book.enter(rows(sent)).await.unwrap();
    }
    book.keep_picture(&[7; 300_000]).await.unwrap();
    let report = book.verify(|_, _| ()).await.unwrap();
    assert!(report.is_sound(), "{report}");
    assert_eq!(
        (report.entries, report.pictures),
        ((round as u64 + 1) * 20, 1)
    );
}
