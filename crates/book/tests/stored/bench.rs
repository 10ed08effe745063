//! Rows written at the bench: each once, in order, in one chain with the revisions.

use std::time::Instant;

use book::{
    Book, BookError, Entered, EntryReason, Kind, NewBenchEntry, PICTURE_LIMIT_BYTES,
    VALUE_LIMIT_BYTES,
};
use sqlx::{ConnectOptions, Connection};

use crate::{Shelf, batch, bench_entry, shelf, study};

async fn bench() -> Shelf {
    let shelf = shelf().await;
    shelf.book.save(batch("b1")).await.unwrap();
    shelf
}

fn dose(key: &str, value: &str) -> NewBenchEntry {
    bench_entry(key, "b1", "dose", value)
}

/// The field and the reason of a refusal.
fn why(entered: &Entered) -> (&'static str, EntryReason) {
    match entered {
        Entered::Refused(refused) => (refused.field, refused.reason),
        other => panic!("{other:?}"),
    }
}

async fn values(book: &Book, thing: &str) -> Vec<String> {
    let rows = book.entries_of(Kind::Batch, thing, 0).await.unwrap();
    rows.into_iter().map(|row| row.row.value).collect()
}

#[tokio::test]
async fn an_entry_sent_twice_is_kept_once_and_another_under_its_key_is_refused() {
    let shelf = bench().await;
    let book = &shelf.book;
    let sent = vec![dose("k1", "120"), dose("k2", "8")];
    let first = book.enter(sent.clone()).await.unwrap();
    let [Entered::Kept(one), Entered::Kept(two)] = &first[..] else {
        panic!("{first:?}");
    };
    assert_eq!((one.id, one.number, two.id, two.number), (2, 1, 3, 2));
    assert_eq!(two.previous, one.hash);
    let tip = book.tip().await.unwrap();
    assert_eq!((tip.id, &tip.hash), (3, &two.hash));

    // Again, over another device and later: kept already, and nothing is added.
    let again = sent.iter().map(|entry| NewBenchEntry {
        arrived: "2026-03-02T12:09:00Z".to_owned(),
        device: None,
        ..entry.clone()
    });
    let again = book.enter(again.collect()).await.unwrap();
    assert_eq!(
        again,
        [
            Entered::KeptAlready(one.clone()),
            Entered::KeptAlready(two.clone())
        ]
    );
    assert_eq!(book.tip().await.unwrap(), tip);

    // Every field but those two makes it another entry.
    let mut others: Vec<NewBenchEntry> = Vec::new();
    let mut with = |change: fn(&mut NewBenchEntry)| {
        let mut other = dose("k1", "120");
        change(&mut other);
        others.push(other);
    };
    with(|e| e.value = "121".into());
    with(|e| e.at = "2026-03-02T12:00:01Z".into());
    with(|e| e.who = "Ben".into());
    with(|e| e.what = "weighed".into());
    with(|e| e.of = None);
    with(|e| e.on = Some("bowl=2".into()));
    with(|e| e.unit = Some("kg".into()));
    with(|e| e.why = Some("misread".into()));
    with(|e| e.thing = "b2".into());
    for entered in book.enter(others).await.unwrap() {
        assert_eq!(why(&entered), ("key", EntryReason::OtherContent));
    }
    // Twice in one sending.
    let twice = book.enter(vec![dose("k3", "1"), dose("k3", "1"), dose("k3", "2")]);
    let twice = twice.await.unwrap();
    assert!(matches!(
        &twice[..],
        [
            Entered::Kept(_),
            Entered::KeptAlready(_),
            Entered::Refused(_)
        ]
    ));
    assert_eq!(values(book, "b1").await, ["120", "8", "1"]);
    assert!(book.verify(|_, _| ()).await.unwrap().is_sound());
}

#[tokio::test]
async fn rows_and_revisions_stand_in_one_chain() {
    let shelf = bench().await;
    let book = &shelf.book;
    book.enter(vec![dose("k1", "120")]).await.unwrap();
    let saved = book.save(study("grain", None, "flour = 60")).await.unwrap();
    let noted = book.tip().await.unwrap();
    let row = &book.entries_of(Kind::Batch, "b1", 0).await.unwrap()[0];
    assert_eq!((row.id, saved.entry.id), (2, 3));
    assert_eq!(saved.entry.previous, row.hash);
    book.enter(vec![dose("k2", "8"), dose("k3", "4")])
        .await
        .unwrap();
    assert!(book.holds(&noted).await.unwrap());
    let tip = book.tip().await.unwrap();
    assert!(book.holds(&tip).await.unwrap());
    let after = book.entries_of(Kind::Batch, "b1", 3).await.unwrap();
    assert_eq!(after.iter().map(|row| row.id).collect::<Vec<_>>(), [4, 5]);
    assert!(
        book.entries_of(Kind::Batch, "b1", 5)
            .await
            .unwrap()
            .is_empty()
    );

    // The list of all revisions and the counts don't take rows for revisions.
    let recent = book.recent(book::Page::first(10)).await.unwrap();
    assert_eq!(recent.total, 2);
    assert_eq!(
        recent.items.iter().map(|e| e.id).collect::<Vec<_>>(),
        [3, 1]
    );
    let info = book.info().await.unwrap();
    assert_eq!((info.revisions, info.entries, info.tip.id), (2, 3, 5));
    assert!(book.revision(4).await.unwrap().is_none());
    let list = book.list(Kind::Batch, None, book::Order::Recent, book::Page::first(9));
    assert_eq!(list.await.unwrap().total, 1);

    let report = book.verify(|_, _| ()).await.unwrap();
    assert!(report.is_sound(), "{report}");
    assert_eq!((report.revisions, report.entries), (2, 3));
    assert!(
        report.to_string().contains("3 rows of the bench"),
        "{report}"
    );
    // A row's hash may be noted on a signed sheet as a revision's is.
    let noted = book::verify_file(book.path(), Some(&row.hash), |_, _| ()).await;
    assert!(noted.unwrap().is_sound());
}

#[tokio::test]
async fn a_row_strikes_only_earlier_rows_of_its_own_batch() {
    let shelf = bench().await;
    let book = &shelf.book;
    book.save(batch("b2")).await.unwrap();
    let strike = |key: &str, thing: &str, strikes: &str, why: Option<&str>| NewBenchEntry {
        strikes: Some(strikes.to_owned()),
        why: why.map(str::to_owned),
        ..bench_entry(key, thing, "dose", "")
    };
    let sent = vec![
        strike("k0", "b1", "k1", Some("too early")),
        dose("k1", "120"),
        strike("k2", "b2", "k1", Some("another batch")),
        strike("k3", "b1", "k1", None),
        strike("k4", "b1", "k1", Some("  ")),
        strike("k5", "b1", "k1", Some("misread")),
        strike("k6", "b1", "k5", Some("it was right")),
        strike("k7", "b1", "k7", Some("itself")),
        strike("k8", "b1", "k2", Some("was refused")),
    ];
    let entered = book.enter(sent).await.unwrap();
    for (at, expected) in [
        (0, ("strikes", EntryReason::NothingToStrike)),
        (2, ("strikes", EntryReason::NothingToStrike)),
        (3, ("why", EntryReason::Empty)),
        (4, ("why", EntryReason::Empty)),
        (7, ("strikes", EntryReason::NothingToStrike)),
        (8, ("strikes", EntryReason::NothingToStrike)),
    ] {
        assert_eq!(why(&entered[at]), expected, "{at}");
    }
    for at in [1, 5, 6] {
        assert!(
            matches!(entered[at], Entered::Kept(_)),
            "{at}: {:?}",
            entered[at]
        );
    }
    // Later too, in a sending of its own; both stay readable.
    let later = book
        .enter(vec![strike("k9", "b1", "k1", Some("again"))])
        .await
        .unwrap();
    assert!(matches!(later[0], Entered::Kept(_)));
    assert_eq!(values(book, "b1").await, ["120", "", "", ""]);
    assert!(
        book.entries_of(Kind::Batch, "b2", 0)
            .await
            .unwrap()
            .is_empty()
    );
}

#[tokio::test]
async fn what_cannot_be_kept_is_refused_by_field_and_the_rest_is_kept() {
    let shelf = bench().await;
    let book = &shelf.book;
    let mut sent = Vec::new();
    let mut expected = Vec::new();
    let mut wrong = |field: &'static str, reason, change: &dyn Fn(&mut NewBenchEntry)| {
        let mut entry = dose(&format!("w{}", sent.len()), "1");
        change(&mut entry);
        sent.push(entry);
        expected.push((field, reason));
    };
    wrong("key", EntryReason::Empty, &|e| e.key.clear());
    wrong("key", EntryReason::TooLong(64), &|e| e.key = "x".repeat(65));
    wrong("key", EntryReason::Character, &|e| e.key = "a b".into());
    wrong("key", EntryReason::Character, &|e| e.key = "ü".into());
    wrong("what", EntryReason::Empty, &|e| e.what.clear());
    wrong("what", EntryReason::Character, &|e| e.what = "dose;".into());
    wrong("kind", EntryReason::NoBenchKind, &|e| e.kind = Kind::Study);
    wrong("thing", EntryReason::NoSuchThing, &|e| {
        e.thing = "b9".into()
    });
    wrong("thing", EntryReason::Empty, &|e| e.thing.clear());
    wrong("thing", EntryReason::NoSuchThing, &|e| e.kind = Kind::Trial);
    wrong("at", EntryReason::NoMoment, &|e| e.at = "noon".into());
    wrong("at", EntryReason::NoMoment, &|e| {
        e.at = "2026-03-02T12:00:00+01:00".into()
    });
    wrong("arrived", EntryReason::NoMoment, &|e| e.arrived.clear());
    wrong("who", EntryReason::Empty, &|e| e.who = " ".into());
    wrong("who", EntryReason::TooLong(400), &|e| {
        e.who = "x".repeat(401)
    });
    wrong("device", EntryReason::Character, &|e| {
        e.device = Some("a\0".into())
    });
    wrong("of", EntryReason::TooLong(400), &|e| {
        e.of = Some("x".repeat(401))
    });
    wrong("on", EntryReason::Character, &|e| e.on = Some("\0".into()));
    wrong("unit", EntryReason::TooLong(400), &|e| {
        e.unit = Some("x".repeat(401))
    });
    wrong("value", EntryReason::TooLong(VALUE_LIMIT_BYTES), &|e| {
        e.value = "x".repeat(VALUE_LIMIT_BYTES + 1);
    });
    wrong("why", EntryReason::TooLong(VALUE_LIMIT_BYTES), &|e| {
        e.why = Some("x".repeat(VALUE_LIMIT_BYTES + 1));
    });
    wrong("strikes", EntryReason::Character, &|e| {
        e.strikes = Some("?".into())
    });
    sent.push(dose("good", "7"));
    let mut entered = book.enter(sent).await.unwrap();
    assert!(matches!(entered.pop(), Some(Entered::Kept(_))));
    for (entered, expected) in entered.iter().zip(expected) {
        assert_eq!(why(entered), expected);
        let Entered::Refused(refused) = entered else {
            continue;
        };
        let words = refused.to_string();
        assert!(
            words.contains(';') || words.contains("belongs"),
            "no way out: {words}"
        );
    }
    // A batch that was taken out of use still takes what was done for it.
    let remove = book::Remove {
        kind: Kind::Batch,
        thing: "b1".to_owned(),
        base: 1,
        who: "Ben".to_owned(),
        when: crate::NOON.to_owned(),
        why: None,
    };
    book.remove(remove).await.unwrap();
    book.enter(vec![dose("late", "9")]).await.unwrap();
    assert_eq!(values(book, "b1").await, ["7", "9"]);
    // Nothing at all.
    assert!(book.enter(Vec::new()).await.unwrap().is_empty());
}

#[tokio::test]
async fn hostile_text_comes_back_as_it_went_in() {
    let shelf = bench().await;
    let book = &shelf.book;
    for (n, text) in crate::hostile::nasty().into_iter().enumerate() {
        let entry = NewBenchEntry {
            who: format!("{text}."),
            device: Some(text.clone()),
            of: Some(text.clone()),
            on: Some(text.clone()),
            unit: Some(text.clone()),
            why: Some(text.clone()),
            ..dose(&format!("k{n}"), &text)
        };
        let entered = book.enter(vec![entry.clone()]).await.unwrap();
        assert!(matches!(entered[0], Entered::Kept(_)), "{entered:?}");
        let rows = book.entries_of(Kind::Batch, "b1", 0).await.unwrap();
        let row = rows.last().unwrap();
        assert_eq!((&row.row.value, row.row.of.as_ref()), (&text, Some(&text)));
        // The same again is the same.
        let again = book.enter(vec![entry]).await.unwrap();
        assert!(matches!(again[0], Entered::KeptAlready(_)), "{again:?}");
    }
    assert!(book.verify(|_, _| ()).await.unwrap().is_sound());
}

#[tokio::test]
async fn rows_and_pictures_go_into_a_copy_and_come_back_from_it() {
    let shelf = bench().await;
    let book = &shelf.book;
    book.enter(vec![dose("k1", "120")]).await.unwrap();
    let hash = book.keep_picture(b"light and dough").await.unwrap();
    let out = shelf.folder.path().join("copy.book");
    let copied = book.backup(&out).await.unwrap();
    assert_eq!(
        (copied.revisions, copied.entries, copied.pictures),
        (1, 1, 1)
    );
    let to = shelf.folder.path().join("restored.book");
    let restored = book::restore_file(&out, &to).await.unwrap();
    assert_eq!(restored.tip, book.tip().await.unwrap());
    let again = Book::open(&to, false).await.unwrap();
    assert_eq!(values(&again, "b1").await, ["120"]);
    assert_eq!(
        again.picture(&hash).await.unwrap().unwrap(),
        b"light and dough"
    );
}

#[tokio::test]
async fn a_picture_is_kept_once_by_its_hash_and_within_its_limit() {
    let shelf = bench().await;
    let book = &shelf.book;
    // SHA-256 of "abc" from FIPS 180-4's worked examples (from memory, to be confirmed).
    let abc = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad";
    for _ in 0..3 {
        assert_eq!(book.keep_picture(b"abc").await.unwrap(), abc);
    }
    assert_eq!(book.info().await.unwrap().pictures, 1);
    assert_eq!(book.picture(abc).await.unwrap().unwrap(), b"abc");
    for strange in [
        "",
        "ABC",
        "'; DROP TABLE picture; --",
        "\0",
        &abc.to_uppercase(),
    ] {
        assert_eq!(book.picture(strange).await.unwrap(), None, "{strange:?}");
    }
    let largest = vec![7; PICTURE_LIMIT_BYTES];
    book.keep_picture(&largest).await.unwrap();
    for bytes in [Vec::new(), vec![7; PICTURE_LIMIT_BYTES + 1]] {
        let refused = book.keep_picture(&bytes).await.unwrap_err();
        assert!(matches!(refused, BookError::Refused { .. }), "{refused}");
    }
    assert!(book.verify(|_, _| ()).await.unwrap().is_sound());
}

/// Another program that means to correct the book is stopped by it, and where the guards are taken off, the chain tells.
#[tokio::test]
async fn tampering_with_rows_and_pictures_is_stopped_or_found() {
    let shelf = bench().await;
    let book = &shelf.book;
    for n in 0..6 {
        book.enter(vec![dose(&format!("k{n}"), "120")])
            .await
            .unwrap();
    }
    book.keep_picture(b"light and dough").await.unwrap();
    book.keep_picture(b"dough and light").await.unwrap();
    let mut other = sqlx::sqlite::SqliteConnectOptions::new()
        .filename(book.path())
        .connect()
        .await
        .unwrap();
    for sql in [
        "UPDATE bench_entry SET value = '0' WHERE id = 3",
        "DELETE FROM bench_entry WHERE id = 7",
        "INSERT OR REPLACE INTO bench_entry SELECT * FROM bench_entry WHERE id = 3",
        "INSERT INTO bench_entry SELECT 90, number, 'new', kind, thing, at_utc, arrived_utc, who, device, what, of_which, on_unit, value, unit, strikes, why, previous, hash FROM bench_entry WHERE id = 3",
        "UPDATE picture SET bytes = X'00'",
        "DELETE FROM picture",
    ] {
        assert!(
            sqlx::raw_sql(sql).execute(&mut other).await.is_err(),
            "{sql}"
        );
    }
    assert!(book.verify(|_, _| ()).await.unwrap().is_sound());
    // The guards' own words, to be put back before each look.
    let guards: Vec<(String, String)> =
        sqlx::query_as("SELECT name, sql FROM sqlite_master WHERE type = 'trigger'")
            .fetch_all(&mut other)
            .await
            .unwrap();
    let dropped: String = guards
        .iter()
        .map(|(name, _)| format!("DROP TRIGGER {name};"))
        .collect();
    let back: String = guards.iter().map(|(_, sql)| format!("{sql};")).collect();
    for (harm, undo, place) in [
        (
            "UPDATE bench_entry SET value = '0' WHERE id = 3",
            "UPDATE bench_entry SET value = '120' WHERE id = 3",
            Some(3),
        ),
        (
            "UPDATE bench_entry SET number = 9 WHERE id = 4",
            "UPDATE bench_entry SET number = 3 WHERE id = 4",
            Some(4),
        ),
        (
            "UPDATE bench_entry SET thing = 'b2' WHERE id = 5",
            "UPDATE bench_entry SET thing = 'b1' WHERE id = 5",
            Some(5),
        ),
        (
            "UPDATE bench_entry SET id = 50 WHERE id = 6",
            "UPDATE bench_entry SET id = 6 WHERE id = 50",
            Some(7),
        ),
        (
            "UPDATE bench_entry SET kind = 'kettle' WHERE id = 2",
            "UPDATE bench_entry SET kind = 'batch' WHERE id = 2",
            Some(2),
        ),
        (
            "UPDATE picture SET bytes = X'00' WHERE bytes = X'6c6967687420616e6420646f756768'",
            "UPDATE picture SET bytes = X'6c6967687420616e6420646f756768' WHERE bytes = X'00'",
            None,
        ),
        (
            "UPDATE head SET bench_entries = 5",
            "UPDATE head SET bench_entries = 6",
            None,
        ),
        (
            "DELETE FROM picture WHERE bytes = X'6c6967687420616e6420646f756768'",
            "",
            None,
        ),
    ] {
        let all = [dropped.as_str(), harm, ";", &back].concat();
        sqlx::raw_sql(sqlx::AssertSqlSafe(all))
            .execute(&mut other)
            .await
            .unwrap();
        let report = book.verify(|_, _| ()).await.unwrap();
        let broken = report
            .broken
            .clone()
            .unwrap_or_else(|| panic!("{harm} was not found"));
        assert_eq!(broken.id, place, "{harm}: {report}");
        let all = [dropped.as_str(), undo, ";", &back].concat();
        sqlx::raw_sql(sqlx::AssertSqlSafe(all))
            .execute(&mut other)
            .await
            .unwrap();
    }
    other.close().await.unwrap();
}

/// Each index of the rows, byte by byte: what it hides is told, never left out.
#[tokio::test]
async fn a_broken_index_does_not_make_a_batch_smaller() {
    let shelf = bench().await;
    let path = shelf.book.path().to_owned();
    let rows = (0..40).map(|n| dose(&format!("k{n}"), "120"));
    shelf.book.enter(rows.collect()).await.unwrap();
    shelf.book.close().await;
    let mut connection = sqlx::sqlite::SqliteConnectOptions::new()
        .filename(&path)
        .connect()
        .await
        .unwrap();
    let pages: Vec<i64> = sqlx::query_scalar(
        "SELECT rootpage FROM sqlite_master WHERE name LIKE 'sqlite_autoindex_bench_entry_%'",
    )
    .fetch_all(&mut connection)
    .await
    .unwrap();
    assert_eq!(pages.len(), 4, "place, key, and two ways by thing");
    connection.close().await.unwrap();
    let whole = std::fs::read(&path).unwrap();
    let (mut told, mut refused) = (0, 0);
    for page in pages {
        let begins = (usize::try_from(page).unwrap() - 1) * 4096;
        for place in (begins..begins + 88)
            .step_by(5)
            .chain((begins + 3200..begins + 4096).step_by(40))
        {
            let mut harmed = whole.clone();
            harmed[place] ^= 0x41;
            std::fs::write(&path, &harmed).unwrap();
            let Ok(book) = Book::open(&path, false).await else {
                refused += 1;
                continue;
            };
            for (after, rest) in [(0, 40), (2, 39), (21, 20), (40, 1)] {
                match book.entries_of(Kind::Batch, "b1", after).await {
                    Ok(rows) => {
                        assert_eq!(rows.len(), rest, "byte {}, after {after}", place - begins);
                        told += 1;
                    }
                    Err(_) => refused += 1,
                }
            }
            book.close().await;
            for ending in ["-wal", "-shm"] {
                let _there_may_be_none =
                    std::fs::remove_file(format!("{}{ending}", path.display()));
            }
        }
    }
    println!("{told} answered in full, {refused} refused");
    assert!(told > 20 && refused > 20, "{told} {refused}");
}

/// A requirement of the project's own: 600 bytes for a row.
#[tokio::test]
async fn a_row_costs_at_most_six_hundred_bytes() {
    const ROWS: u64 = 2_000;
    let shelf = bench().await;
    let path = shelf.book.path().to_owned();
    shelf.book.close().await;
    let before = std::fs::metadata(&path).unwrap().len();
    let book = Book::open(&path, false).await.unwrap();
    for round in 0..ROWS / 20 {
        let some = (0..20).map(|n| NewBenchEntry {
            // As a device makes them: 22 characters, in no order.
            key: format!(
                "{:022x}",
                (round * 20 + n + 1).wrapping_mul(0x9e37_79b9_7f4a_7c15)
            ),
            on: Some("position=left;piece=12".to_owned()),
            who: "Ada Fields".to_owned(),
            device: Some("tablet by the oven".to_owned()),
            of: Some("breaking-force".to_owned()),
            ..bench_entry("", "b1", "observed", "12.75")
        });
        book.enter(some.collect()).await.unwrap();
    }
    book.close().await;
    let each = (std::fs::metadata(&path).unwrap().len() - before) / ROWS;
    println!("{each} bytes for each row");
    assert!(each <= 600, "{each} bytes for each row");
}

/// Requirements of the project's own: 10⁵ rows entered within 4 s. Told, and held only against being slow by another
/// order: this is an unoptimised build on a busy machine.
#[tokio::test]
async fn a_hundred_thousand_rows_are_entered_in_one_go() {
    const ROWS: usize = 100_000;
    let shelf = bench().await;
    let book = &shelf.book;
    let rows: Vec<_> = (0..ROWS)
        .map(|n| dose(&format!("key-{n:06}"), "12.5"))
        .collect();
    let began = Instant::now();
    let entered = book.enter(rows.clone()).await.unwrap();
    let took = began.elapsed();
    assert!(
        entered
            .iter()
            .all(|entered| matches!(entered, Entered::Kept(_)))
    );
    let began = Instant::now();
    let again = book.enter(rows).await.unwrap();
    let looked = began.elapsed();
    assert!(
        again
            .iter()
            .all(|entered| matches!(entered, Entered::KeptAlready(_)))
    );
    let began = Instant::now();
    assert_eq!(
        book.entries_of(Kind::Batch, "b1", 0).await.unwrap().len(),
        ROWS
    );
    let read = began.elapsed();
    let began = Instant::now();
    assert_eq!(
        book.entries_of(Kind::Batch, "b1", ROWS as u64 - 8)
            .await
            .unwrap()
            .len(),
        9
    );
    let newest = began.elapsed();
    let began = Instant::now();
    assert_eq!(book.verify(|_, _| ()).await.unwrap().entries, ROWS as u64);
    println!(
        "{ROWS} rows entered in {took:?}, sent again in {looked:?}, read in {read:?}, the newest in {newest:?}, verified in {:?}",
        began.elapsed()
    );
    assert!(took.as_secs() < 40, "{took:?}");
}

/// A thousand rows struck through stay readable, each with its reason.
#[tokio::test]
async fn a_thousand_rows_struck_through_stay_readable() {
    let shelf = bench().await;
    let book = &shelf.book;
    let rows = (0..1_000).map(|n| dose(&format!("k{n}"), "12.5"));
    book.enter(rows.collect()).await.unwrap();
    let strikes = (0..1_000).map(|n| NewBenchEntry {
        strikes: Some(format!("k{n}")),
        why: Some(format!("misread {n}")),
        ..dose(&format!("s{n}"), "12.4")
    });
    let entered = book.enter(strikes.collect()).await.unwrap();
    assert!(
        entered
            .iter()
            .all(|entered| matches!(entered, Entered::Kept(_)))
    );
    let rows = book.entries_of(Kind::Batch, "b1", 0).await.unwrap();
    assert_eq!(rows.len(), 2_000);
    assert_eq!(rows[1_700].row.why.as_deref(), Some("misread 700"));
    assert_eq!(rows[1_700].row.strikes.as_ref(), Some(&rows[700].row.key));
}

/// Ten tablets send at once, each entry twice: each is there once, each tablet's in its order.
#[tokio::test(flavor = "multi_thread", worker_threads = 4)]
async fn ten_devices_at_once_lose_and_double_nothing() {
    let shelf = bench().await;
    let devices: Vec<_> = (0..10)
        .map(|device| {
            let book = shelf.book.clone();
            tokio::spawn(async move {
                for n in 0..30 {
                    let entry = dose(&format!("d{device}-{n}"), &format!("{n}"));
                    let (one, two) =
                        tokio::join!(book.enter(vec![entry.clone()]), book.enter(vec![entry]));
                    let kept = |entered: &[Entered]| matches!(entered[0], Entered::Kept(_));
                    assert_ne!(kept(&one.unwrap()), kept(&two.unwrap()));
                }
            })
        })
        .collect();
    for device in devices {
        device.await.unwrap();
    }
    let rows = shelf.book.entries_of(Kind::Batch, "b1", 0).await.unwrap();
    assert_eq!(rows.len(), 300);
    for device in 0..10 {
        let own = format!("d{device}-");
        let order: Vec<usize> = rows
            .iter()
            .filter(|row| row.row.key.starts_with(&own))
            .map(|row| row.row.value.parse().unwrap())
            .collect();
        assert_eq!(order, (0..30).collect::<Vec<_>>());
    }
    assert!(shelf.book.verify(|_, _| ()).await.unwrap().is_sound());
}

/// The last rows of many things at once: each its own, in order, none of one that has none, and no fewer than there are.
#[tokio::test]
async fn the_last_rows_of_many_things_are_their_own() {
    let shelf = shelf().await;
    let book = &shelf.book;
    let names: Vec<String> = (0..600).map(|n| format!("b{n}")).collect();
    for name in &names {
        book.save(batch(name)).await.unwrap();
    }
    // Rows of different things come between each other; the nth thing has n % 7 of them.
    let rows = (0..6).flat_map(|round| {
        let has = names.iter().zip(0..).filter(move |(_, n)| n % 7 > round);
        has.map(move |(name, _)| {
            bench_entry(&format!("{name}-{round}"), name, "dose", &round.to_string())
        })
    });
    book.enter(rows.collect()).await.unwrap();
    let all = book
        .last_entries_of_all(Kind::Batch, &names, 4)
        .await
        .unwrap();
    for ((name, n), last) in names.iter().zip(0_usize..).zip(&all) {
        let has = n % 7;
        let told: Vec<&str> = last.iter().map(|e| e.row.value.as_str()).collect();
        let wanted: Vec<String> = (has.saturating_sub(4)..has)
            .map(|r| r.to_string())
            .collect();
        assert_eq!(told, wanted, "{name}");
        assert!(last.iter().all(|e| e.row.thing == *name));
    }
    // A row that is gone from among them makes nothing look smaller.
    let connected = sqlx::sqlite::SqliteConnectOptions::new().filename(book.path());
    let mut other = connected.connect().await.unwrap();
    let guards: Vec<(String,)> =
        sqlx::query_as("SELECT name FROM sqlite_master WHERE type = 'trigger'")
            .fetch_all(&mut other)
            .await
            .unwrap();
    for (guard,) in guards {
        let drop = format!("DROP TRIGGER {guard}");
        sqlx::raw_sql(sqlx::AssertSqlSafe(drop))
            .execute(&mut other)
            .await
            .unwrap();
    }
    for gone in ["b6-2", "b6-4"] {
        let row = sqlx::query("DELETE FROM bench_entry WHERE key = $1").bind(gone);
        row.execute(&mut other).await.unwrap();
        let told = book.last_entries_of_all(Kind::Batch, &names[6..7], 4).await;
        assert!(
            matches!(told, Err(BookError::Damaged { .. })),
            "{gone}: {told:?}"
        );
    }
}
