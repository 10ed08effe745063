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

    // An empty file may be what is left of a book: no new one is made of it.
    std::fs::write(at("empty"), "").unwrap();
    for create in [false, true] {
        let refused = Book::open(&at("empty"), create).await.unwrap_err();
        assert!(matches!(refused, BookError::NotABook { .. }), "{refused}");
        assert!(refused.to_string().contains("newest copy"), "{refused}");
    }
    assert_eq!(std::fs::read(at("empty")).unwrap(), b"");

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
    // A tail cut off leaves a chain that is whole but shorter; the book's own note of its end shows it, and where that
    // was changed as well, one that somebody wrote down.
    let end_4 = book.revision(4).await.unwrap().unwrap().entry.hash;
    run(&mut other, "DELETE FROM revision WHERE id >= 5")
        .await
        .unwrap();
    let guards = "CREATE TRIGGER revision_is_never_changed BEFORE UPDATE ON revision
BEGIN
    SELECT RAISE(ABORT, 'a revision is never changed');
END;

CREATE TRIGGER revision_is_never_deleted BEFORE DELETE ON revision
BEGIN
    SELECT RAISE(ABORT, 'a revision is never deleted');
END;";
    run(&mut other, guards).await.unwrap();
    let report = book.verify(|_, _| ()).await.unwrap();
    assert_eq!(report.revisions, 4);
    assert!(report.to_string().contains("cut off"), "{report}");
    let forge = "UPDATE head SET id = 4, hash = (SELECT hash FROM revision WHERE id = 4)";
    run(&mut other, forge).await.unwrap();
    let path = book.path();
    let expecting = async |hash: &str| {
        book::verify_file(path, Some(hash), |_, _| ())
            .await
            .unwrap()
    };
    assert!(expecting(&end_4).await.is_sound());
    let report = expecting(&noted.hash).await;
    assert!(report.to_string().contains("that was noted"), "{report}");
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

/// The index of places in the book, cell by cell: what it hides is told, never left out.
#[tokio::test]
async fn a_broken_index_does_not_make_a_book_smaller() {
    let shelf = shelf().await;
    let path = shelf.book.path().to_owned();
    for number in 0..40 {
        let thing = format!("study-{number}");
        let save = study(&thing, None, "flour = 60");
        shelf.book.save(save).await.unwrap();
    }
    shelf.book.close().await;
    let mut connection = raw(&path).await;
    let page: i64 = sqlx::query_scalar(
        "SELECT rootpage FROM sqlite_master WHERE name = 'sqlite_autoindex_revision_1'",
    )
    .fetch_one(&mut connection)
    .await
    .unwrap();
    connection.close().await.unwrap();
    let whole = std::fs::read(&path).unwrap();
    let begins = (usize::try_from(page).unwrap() - 1) * 4096;
    let (mut told, mut refused) = (0, 0);
    // The head of the page with the places of its cells, then the cells, which stand at its end.
    for place in (begins..begins + 88).chain((begins + 3700..begins + 4096).step_by(3)) {
        let mut harmed = whole.clone();
        harmed[place] ^= 0x41;
        std::fs::write(&path, &harmed).unwrap();
        let Ok(book) = Book::open(&path, false).await else {
            refused += 1;
            continue;
        };
        match book.recent(Page::first(Page::LONGEST)).await {
            Ok(recent) => {
                assert_eq!(recent.items.len(), 40, "byte {}", place - begins);
                told += 1;
            }
            Err(_) => refused += 1,
        }
        book.close().await;
        for ending in ["-wal", "-shm"] {
            let _there_may_be_none = std::fs::remove_file(format!("{}{ending}", path.display()));
        }
    }
    println!("{told} answered in full, {refused} refused");
    assert!(refused > 20, "{refused}");
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
    let mut told = Vec::new();
    let restored = book::restore_telling(&out, &elsewhere, |done, all| told.push((done, all)));
    let restored = restored.await.unwrap();
    let (done, all) = told.last().copied().unwrap();
    assert!(
        done == all
            && told
                .windows(2)
                .all(|w| w[0].0 <= w[1].0 && w[0].1 == w[1].1),
        "{told:?}"
    );
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
        let with_bench = layout >= 4;
        assert_eq!(report.revisions, if with_bench { 6 } else { 5 });
        assert_eq!(
            (report.entries, report.pictures),
            if with_bench { (2, 1) } else { (0, 0) }
        );
        let rows = book.entries_of(Kind::Batch, "b1", 0).await.unwrap();
        assert_eq!(rows.len() as u64, report.entries);
        for row in rows.iter().filter(|row| row.row.what == "photo") {
            assert_eq!(
                book.picture(&row.row.value).await.unwrap().unwrap(),
                b"not really a picture"
            );
        }
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
    book.save(crate::batch("b1")).await.unwrap();
    let mut photo = crate::bench_entry("k2", "b1", "photo", "");
    photo.value = book.keep_picture(b"not really a picture").await.unwrap();
    let rows = vec![crate::bench_entry("k1", "b1", "dose", "120.5"), photo];
    book.enter(rows).await.unwrap();
    book.put_draft(&book::Draft {
        kind: Kind::Study,
        thing: "spent-grain".to_owned(),
        who: "Ada".to_owned(),
        counter: 0,
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

/// A file that is put in the place of the open one, or taken away, is noticed before anything is lost in it.
#[cfg(unix)]
#[tokio::test]
async fn nothing_is_acknowledged_into_a_file_that_was_taken_away() {
    let shelf = shelf().await;
    let (book, path) = (&shelf.book, shelf.book.path().to_owned());
    book.save(study("grain", None, "flour = 60")).await.unwrap();
    let copy = shelf.folder.path().join("copy.book");
    book.backup(&copy).await.unwrap();
    let away = shelf.folder.path().join("away.book");
    std::fs::rename(&path, &away).unwrap();
    let refused = book
        .save(study("grain", Some(1), "flour = 61"))
        .await
        .unwrap_err();
    assert!(
        matches!(refused, SaveError::Book(BookError::Replaced { .. })),
        "{refused}"
    );
    std::fs::rename(&copy, &path).unwrap();
    let refused = book
        .save(study("grain", Some(1), "flour = 61"))
        .await
        .unwrap_err();
    assert!(refused.to_string().contains("replaced"), "{refused}");
    assert!(book.current(Kind::Study, "grain").await.is_err());
    // Put back, it goes on.
    std::fs::rename(&away, &path).unwrap();
    book.save(study("grain", Some(1), "flour = 61"))
        .await
        .unwrap();
    assert!(book.verify(|_, _| ()).await.unwrap().is_sound());
}

/// What was saved is in the one file, so that a copy of it by any other program has everything.
#[tokio::test]
async fn a_copy_of_the_file_alone_has_what_was_saved() {
    let shelf = shelf().await;
    for number in 0..5 {
        let thing = format!("s{number}");
        shelf
            .book
            .save(study(&thing, None, "flour = 60"))
            .await
            .unwrap();
    }
    let copy = shelf.folder.path().join("copied.book");
    std::fs::copy(shelf.book.path(), &copy).unwrap();
    let report = book::verify_file(&copy, None, |_, _| ()).await.unwrap();
    assert!(report.is_sound() && report.revisions == 5, "{report}");
    let copied = Book::open(&copy, true).await.unwrap();
    assert!(!copied.is_new());
    assert_eq!(copied.tip().await.unwrap().id, 5);
}

/// Looking at a book leaves it, and everything beside it, byte for byte as it was; also after a program was killed.
#[tokio::test]
async fn verifying_changes_nothing_and_needs_no_right_to_write() {
    let shelf = shelf().await;
    shelf
        .book
        .save(study("grain", None, "flour = 60"))
        .await
        .unwrap();
    let draft = book::Draft {
        kind: Kind::Study,
        thing: "grain".to_owned(),
        who: "Ada".to_owned(),
        counter: 0,
        base: Some(1),
        when: crate::NOON.to_owned(),
        title: "Grain".to_owned(),
        form_version: 1,
        form: "flour = 61".to_owned(),
    };
    shelf.book.put_draft(&draft).await.unwrap();
    // As a killed program leaves it: with what waits beside it.
    let killed = tempfile::tempdir().unwrap();
    for name in ["lab.book", "lab.book-wal"] {
        std::fs::copy(shelf.folder.path().join(name), killed.path().join(name)).unwrap();
    }
    let closed = tempfile::tempdir().unwrap();
    let old = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data/v1.book");
    std::fs::copy(old, closed.path().join("lab.book")).unwrap();
    for folder in [killed, closed] {
        let path = folder.path().join("lab.book");
        let before = std::fs::read(&path).unwrap();
        #[cfg(unix)]
        let mode = |mode| {
            use std::os::unix::fs::PermissionsExt;
            std::fs::set_permissions(folder.path(), std::fs::Permissions::from_mode(mode)).unwrap();
        };
        #[cfg(unix)]
        mode(0o500);
        let report = book::verify_file(&path, None, |_, _| ()).await.unwrap();
        assert!(report.is_sound() && report.revisions > 0, "{report}");
        #[cfg(unix)]
        mode(0o700);
        assert_eq!(std::fs::read(&path).unwrap(), before);
    }
}

/// The last fourteen days stay, each checked; the day that is there is not made again.
#[tokio::test]
async fn a_copy_a_day_is_kept_and_the_oldest_goes() {
    let shelf = shelf().await;
    let book = &shelf.book;
    book.save(study("grain", None, "flour = 60")).await.unwrap();
    for day in 1..=20 {
        let day = format!("2026-03-{day:02}");
        let made = book.keep_copy(&day).await.unwrap().unwrap();
        assert_eq!(made.revisions, 1);
        assert!(book.keep_copy(&day).await.unwrap().is_none());
    }
    let copies = book.copies().unwrap();
    assert_eq!(copies.len(), book::COPIES_KEPT);
    assert_eq!(
        (copies[0].day.as_str(), copies[13].day.as_str()),
        ("2026-03-20", "2026-03-07")
    );
    for copy in &copies {
        let report = book::verify_file(&copy.path, None, |_, _| ())
            .await
            .unwrap();
        assert!(report.is_sound(), "{report}");
    }
    assert!(book.keep_copy("../../etc").await.is_err());
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        let mode = |path: &Path| std::fs::metadata(path).unwrap().permissions().mode() & 0o777;
        assert_eq!(mode(book.path()), 0o600);
        assert_eq!(mode(&copies[0].path), 0o600);
        assert_eq!(mode(copies[0].path.parent().unwrap()), 0o700);
    }
}

/// A book is copied as it was before its layout changes.
#[tokio::test]
async fn a_copy_is_made_before_the_layout_changes() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("lab.book");
    let old = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data/v1.book");
    std::fs::copy(old, &path).unwrap();
    let book = Book::open(&path, false).await.unwrap();
    let copy = folder.path().join("lab.book.copies/before-layout-2.book");
    let mut before = raw(&copy).await;
    let layout: i64 = sqlx::query_scalar("SELECT MAX(number) FROM migration")
        .fetch_one(&mut before)
        .await
        .unwrap();
    assert_eq!(layout, 1);
    before.close().await.unwrap();
    let report = book::verify_file(&copy, None, |_, _| ()).await.unwrap();
    assert_eq!(report.tip, book.tip().await.unwrap());
    assert!(
        book.copies().unwrap().is_empty(),
        "it isn't one of the days"
    );
}

/// A text beside the book is the form, and its hash is the one that common tools work out.
#[tokio::test]
async fn a_revision_is_written_as_a_text_beside_its_hash() {
    let shelf = shelf().await;
    let saved = shelf
        .book
        .save(study("../odd name", None, "flour = 60\n"))
        .await
        .unwrap();
    assert!(!shelf.book.has_text("../odd name", 1));
    let path = shelf.book.write_text(&saved).await.unwrap();
    assert!(shelf.book.has_text("../odd name", 1));
    assert!(path.starts_with(shelf.folder.path().join("lab.book.texts")));
    assert_eq!(std::fs::read_to_string(&path).unwrap(), "flour = 60\n");
    let note = std::fs::read_to_string(path.with_extension("sha256")).unwrap();
    // `printf 'flour = 60\n' | sha256sum`, GNU coreutils 9.
    assert!(note.contains(SUM), "{note}");
    assert!(note.contains(&saved.entry.hash), "{note}");
}

const SUM: &str = "f13077f9968b318bb61eebc2c73335bdd6c452db8352bbcb0e3597110dd3a2aa  000001.toml";
