//! The file: opening, refusing, damage, backups, older and newer books.

use std::path::{Path, PathBuf};

use book::{Book, BookError, Kind, Order, Page, SaveError, Tip, restore_file};
use sqlx::{ConnectOptions, Connection, SqliteConnection};

use crate::{shelf, study};

async fn raw(path: &Path) -> SqliteConnection {
    sqlx::sqlite::SqliteConnectOptions::new()
        .filename(path)
        .connect()
        .await
        .unwrap()
}

async fn run(connection: &mut SqliteConnection, sql: &'static str) -> Result<(), sqlx::Error> {
    sqlx::raw_sql(sql).execute(connection).await.map(|_| ())
}

#[tokio::test]
async fn what_is_not_a_book_is_refused_and_left_alone() {
    let folder = tempfile::tempdir().unwrap();
    let at = |name: &str| folder.path().join(name);
    assert!(matches!(
        Book::open(&at("none"), false).await,
        Err(BookError::NotThere { .. })
    ));
    assert!(!at("none").exists());
    assert!(matches!(
        Book::open(folder.path(), true).await,
        Err(BookError::NotABook { .. })
    ));
    assert!(matches!(
        Book::open(&at("no/folder"), true).await,
        Err(BookError::Storage { .. })
    ));

    std::fs::write(
        at("letter"),
        "Dear reader, this is a letter and not a book.",
    )
    .unwrap();
    for create in [false, true] {
        let refused = Book::open(&at("letter"), create).await.unwrap_err();
        assert!(matches!(refused, BookError::NotABook { .. }), "{refused}");
    }
    assert!(std::fs::read(at("letter")).unwrap().starts_with(b"Dear"));

    std::fs::write(at("empty"), "").unwrap();
    assert!(matches!(
        Book::open(&at("empty"), false).await,
        Err(BookError::NotABook { .. })
    ));
    Book::open(&at("empty"), true).await.unwrap();

    let mut other = sqlx::sqlite::SqliteConnectOptions::new()
        .filename(at("other"))
        .create_if_missing(true)
        .connect()
        .await
        .unwrap();
    run(&mut other, "CREATE TABLE song (name TEXT)")
        .await
        .unwrap();
    other.close().await.unwrap();
    let before = std::fs::read(at("other")).unwrap();
    assert!(matches!(
        Book::open(&at("other"), true).await,
        Err(BookError::NotABook { .. })
    ));
    assert_eq!(std::fs::read(at("other")).unwrap(), before);

    std::fs::write(at("torn"), b"SQLite format 3\0 and then nonsense").unwrap();
    assert!(Book::open(&at("torn"), true).await.is_err());
}

#[tokio::test]
async fn a_newer_book_is_refused_and_left_alone() {
    let shelf = shelf().await;
    let path = shelf.book.path().to_owned();
    shelf.book.close().await;
    let mut connection = raw(&path).await;
    run(
        &mut connection,
        "INSERT INTO migration VALUES (999, 'of days to come')",
    )
    .await
    .unwrap();
    connection.close().await.unwrap();
    let refused = Book::open(&path, false).await.unwrap_err();
    assert!(
        matches!(refused, BookError::Newer { found: 999, .. }),
        "{refused}"
    );
    assert!(refused.to_string().contains("newer version"), "{refused}");
}

#[tokio::test]
async fn odd_file_names_are_only_names() {
    let folder = tempfile::tempdir().unwrap();
    for name in [
        "a b?mode=memory&x#y%41.book",
        "file:odd.book",
        "O'Neill \"lab\" Ø.book",
    ] {
        let path = folder.path().join(name);
        let book = Book::open(&path, true).await.unwrap();
        book.save(study("grain", None, "flour = 60")).await.unwrap();
        let out = folder.path().join(format!("{name}.copy"));
        assert_eq!(book.backup(&out).await.unwrap().revisions, 1);
        book.close().await;
        assert!(path.is_file() && out.is_file(), "{name}");
    }
    assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 6);
}

/// Even with another tool, a revision is neither changed nor deleted nor replaced by accident; and
/// where the guards are taken off on purpose, the chain tells.
#[tokio::test]
async fn tampering_is_stopped_or_found() {
    let shelf = shelf().await;
    let book = &shelf.book;
    for number in 0..6_u64 {
        let base = (number > 0).then_some(number);
        book.save(study("grain", base, &format!("flour = {number}")))
            .await
            .unwrap();
    }
    let noted = book.tip().await.unwrap();
    assert!(book.holds(&noted).await.unwrap());
    let mut other = raw(book.path()).await;
    for sql in [
        "UPDATE revision SET who = 'Eve' WHERE id = 3",
        "DELETE FROM revision WHERE id = 6",
        "INSERT OR REPLACE INTO revision SELECT * FROM revision WHERE id = 3",
    ] {
        assert!(run(&mut other, sql).await.is_err(), "{sql}");
    }
    assert!(book.verify(|_, _| ()).await.unwrap().is_sound());

    run(
        &mut other,
        "DROP TRIGGER revision_is_never_changed; DROP TRIGGER revision_is_never_deleted;",
    )
    .await
    .unwrap();
    let swaps = [
        (
            "UPDATE revision SET who = 'Eve' WHERE id = 3",
            "UPDATE revision SET who = 'Ada' WHERE id = 3",
            3,
        ),
        (
            "UPDATE revision SET number = 60 WHERE id = 6",
            "UPDATE revision SET number = 6 WHERE id = 6",
            6,
        ),
        (
            "UPDATE revision SET id = 40 WHERE id = 4",
            "UPDATE revision SET id = 4 WHERE id = 40",
            5,
        ),
        (
            "UPDATE revision SET form_length = 8 WHERE id = 2",
            "UPDATE revision SET form_length = 9 WHERE id = 2",
            2,
        ),
        ("UPDATE revision SET form = X'00FF' WHERE id = 5", "", 5),
    ];
    for (harm, undo, first_broken) in swaps {
        run(&mut other, harm).await.unwrap();
        let report = book.verify(|_, _| ()).await.unwrap();
        let broken = report
            .broken
            .clone()
            .unwrap_or_else(|| panic!("{harm} was not found"));
        assert_eq!(broken.id, Some(first_broken), "{harm}: {report}");
        assert!(
            report.to_string().contains("restore the newest backup"),
            "{report}"
        );
        run(&mut other, undo).await.unwrap();
    }
    // A tail cut off leaves a chain that is whole but shorter; a noted tip shows it.
    run(&mut other, "DELETE FROM revision WHERE id >= 5")
        .await
        .unwrap();
    assert_eq!(book.verify(|_, _| ()).await.unwrap().revisions, 4);
    assert!(!book.holds(&noted).await.unwrap());
    assert!(
        book.holds(&Tip {
            id: 0,
            hash: "0".repeat(64)
        })
        .await
        .unwrap()
    );
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
    let mut found = 0;
    let places: Vec<usize> = (5000..whole.len()).step_by(whole.len() / 24).collect();
    for &place in &places {
        let mut harmed = whole.clone();
        harmed[place..place + 8]
            .iter_mut()
            .for_each(|byte| *byte ^= 0x55);
        std::fs::write(&path, &harmed).unwrap();
        match Book::open(&path, false).await {
            Err(_) => found += 1,
            Ok(book) => {
                found += usize::from(
                    !matches!(book.verify(|_, _| ()).await, Ok(report) if report.is_sound()),
                );
                book.close().await;
            }
        }
    }
    // Some bytes are free space within a page, which holds nothing.
    assert!(
        found * 2 > places.len(),
        "{found} of {} were found",
        places.len()
    );
}

#[tokio::test]
async fn a_backup_is_taken_while_the_book_is_in_use_and_restored_elsewhere() {
    let shelf = shelf().await;
    let book = shelf.book.clone();
    let out = shelf.folder.path().join("copy.book");
    for number in 0..30 {
        book.save(study(
            &format!("s{number}"),
            None,
            &crate::long_form(6, 0.0),
        ))
        .await
        .unwrap();
    }
    let writing = tokio::spawn({
        let book = book.clone();
        async move {
            for number in 0..100 {
                book.save(study(&format!("t{number}"), None, "flour = 60"))
                    .await
                    .unwrap();
            }
        }
    });
    let report = book.backup(&out).await.unwrap();
    writing.await.unwrap();
    assert!((30..=130).contains(&report.revisions), "{report:?}");
    assert!(book.holds(&report.tip).await.unwrap());
    assert_eq!(report.bytes, std::fs::metadata(&out).unwrap().len());

    let again = book.backup(&out).await.unwrap_err();
    assert!(matches!(again, BookError::InTheWay { .. }), "{again}");
    let onto_itself = book.backup(book.path()).await.unwrap_err();
    assert!(
        matches!(onto_itself, BookError::InTheWay { .. }),
        "{onto_itself}"
    );
    let nowhere = book
        .backup(&shelf.folder.path().join("no/copy"))
        .await
        .unwrap_err();
    assert!(matches!(nowhere, BookError::Storage { .. }), "{nowhere}");

    let onto_the_book = restore_file(&out, book.path()).await.unwrap_err();
    assert!(
        matches!(onto_the_book, BookError::InTheWay { .. }),
        "{onto_the_book}"
    );
    let elsewhere = shelf.folder.path().join("restored.book");
    let restored = restore_file(&out, &elsewhere).await.unwrap();
    assert_eq!(restored.tip, report.tip);
    let reopened = Book::open(&elsewhere, false).await.unwrap();
    reopened
        .save(study("s0", Some(1), "flour = 59"))
        .await
        .unwrap();
    assert!(reopened.verify(|_, _| ()).await.unwrap().is_sound());
    let left: Vec<PathBuf> = std::fs::read_dir(shelf.folder.path())
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.extension().is_some_and(|ending| ending == "part"))
        .collect();
    assert!(left.is_empty(), "{left:?}");
}

#[tokio::test]
async fn a_damaged_backup_is_not_restored() {
    let shelf = shelf().await;
    let out = shelf.folder.path().join("copy.book");
    shelf
        .book
        .save(study("grain", None, "flour = 60"))
        .await
        .unwrap();
    shelf.book.backup(&out).await.unwrap();
    let mut other = raw(&out).await;
    run(
        &mut other,
        "DROP TRIGGER revision_is_never_changed; UPDATE revision SET who = 'Eve'",
    )
    .await
    .unwrap();
    other.close().await.unwrap();
    let to = shelf.folder.path().join("restored.book");
    let refused = restore_file(&out, &to).await.unwrap_err();
    assert!(matches!(refused, BookError::Damaged { .. }), "{refused}");
    assert!(!to.exists());
}

#[tokio::test]
async fn another_program_that_keeps_the_lock_is_named_kindly() {
    let shelf = shelf().await;
    let mut other = raw(shelf.book.path()).await;
    run(&mut other, "BEGIN IMMEDIATE").await.unwrap();
    let refused = shelf
        .book
        .save(study("grain", None, "flour = 60"))
        .await
        .unwrap_err();
    assert!(
        matches!(refused, SaveError::Book(BookError::Locked { .. })),
        "{refused}"
    );
    // Reading goes on meanwhile.
    let page = Page::first(10);
    assert_eq!(
        shelf
            .book
            .list(Kind::Study, None, Order::Title, page)
            .await
            .unwrap()
            .total,
        0
    );
    run(&mut other, "ROLLBACK").await.unwrap();
    shelf
        .book
        .save(study("grain", None, "flour = 60"))
        .await
        .unwrap();
}

/// The books in `tests/data` were made by the program when each layout was new. They are never
/// made again.
#[tokio::test]
async fn books_of_every_layout_open_verify_and_go_on() {
    let folder = tempfile::tempdir().unwrap();
    for layout in 1..=book::SCHEMA {
        let kept = Path::new(env!("CARGO_MANIFEST_DIR")).join(format!("tests/data/v{layout}.book"));
        let path = folder.path().join(format!("v{layout}.book"));
        std::fs::copy(&kept, &path).unwrap();
        let book = Book::open(&path, false).await.unwrap();
        let report = book.verify(|_, _| ()).await.unwrap();
        assert!(report.is_sound(), "{report}");
        assert_eq!(report.revisions, 5);
        assert_eq!(book.info().await.unwrap().schema, book::SCHEMA);
        let current = book
            .current(Kind::Study, "spent-grain")
            .await
            .unwrap()
            .unwrap();
        assert_eq!(current.form, crate::long_form(2, 0.5));
        assert_eq!(current.entry.number, 2);
        assert_eq!(book.current(Kind::Oven, "pilot").await.unwrap(), None);
        assert_eq!(book.drafts("Ada").await.unwrap().len(), 1);
        book.save(study("spent-grain", Some(2), "flour = 1"))
            .await
            .unwrap();
        assert!(book.verify(|_, _| ()).await.unwrap().is_sound());
    }
}

/// Made the book of the newest layout: run once, when a layout is new.
#[tokio::test]
#[ignore = "makes test data, once for each new layout"]
async fn make_the_book_of_this_layout() {
    let kept =
        Path::new(env!("CARGO_MANIFEST_DIR")).join(format!("tests/data/v{}.book", book::SCHEMA));
    let shelf = shelf().await;
    let book = &shelf.book;
    book.save(study("spent-grain", None, &crate::long_form(2, 0.0)))
        .await
        .unwrap();
    book.save(study("spent-grain", Some(1), &crate::long_form(2, 0.5)))
        .await
        .unwrap();
    let mut oven = study("pilot", None, "zones = 4");
    oven.kind = Kind::Oven;
    oven.why = None;
    book.save(oven).await.unwrap();
    book.remove(book::Remove {
        kind: Kind::Oven,
        thing: "pilot".to_owned(),
        base: 1,
        who: "Ben".to_owned(),
        when: crate::NOON.to_owned(),
        why: Some("sold".to_owned()),
    })
    .await
    .unwrap();
    let mut material = study("barley", None, "protein = 0.11");
    material.kind = Kind::Material;
    book.save(material).await.unwrap();
    book.put_draft(&book::Draft {
        kind: Kind::Study,
        thing: "spent-grain".to_owned(),
        who: "Ada".to_owned(),
        base: Some(2),
        when: crate::NOON.to_owned(),
        title: "Study spent-grain".to_owned(),
        form_version: 1,
        form: "flour = 61".to_owned(),
    })
    .await
    .unwrap();
    book.backup(&kept).await.unwrap();
}
