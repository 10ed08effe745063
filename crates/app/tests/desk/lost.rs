//! Nothing that was acknowledged is lost, and nothing that was typed locks a study: windows, clients and programs at the
//! same moment, texts that can't be seen, drafts that can't be read, a stored book of the first program.

use crate::{BARS, amount, fresh};
use ::study::edit::{Edit, Put};
use ::study::written::tables::{RootRow, TreatmentRow};
use app::{App, AppError, SaveOutcome, Seen, Then};
use book::{Book, Draft, Kind, Page};
use std::collections::BTreeMap;
use std::path::Path;

fn noted(treatment: &str, note: &str) -> [Edit; 1] {
    [Edit::SetNote {
        treatment: Some(treatment.into()),
        note: note.into(),
    }]
}

fn treatments(app: &app::StudyView) -> Vec<String> {
    let rows = app.written.root.rows(RootRow::treatment);
    rows.iter()
        .filter_map(|t| t.get(TreatmentRow::id).map(str::to_owned))
        .collect()
}

/// Every client adds a mark to what it finds in a note of its own, again and again, from two programs on one book, while
/// the study is saved now and then. Every mark that was acknowledged is there at the end: one that was lost on the way
/// would stay missing.
#[tokio::test(flavor = "multi_thread", worker_threads = 4)]
async fn clients_at_the_same_moment_lose_no_acknowledged_edit() {
    const EDITS: u32 = 25;
    let (folder, app) = fresh().await;
    let other = App::over(
        Book::open(&folder.path().join("lab.book"), false)
            .await
            .unwrap(),
    );
    let ids = treatments(&app.study("Ada", BARS).await.unwrap());
    let saver = {
        let app = app.clone();
        tokio::spawn(async move {
            let mut saved = 0;
            for _ in 0..20 {
                tokio::time::sleep(std::time::Duration::from_millis(20)).await;
                if let Ok(SaveOutcome::Saved(_)) = app.save("Ada", BARS, 0, None).await {
                    saved += 1;
                }
            }
            saved
        })
    };
    let clients: Vec<_> = (0..4)
        .map(|client| {
            let app = if client % 2 == 0 { &app } else { &other }.clone();
            let id = ids[client].clone();
            tokio::spawn(async move {
                let (mut marks, mut refused) = (Vec::new(), 0);
                for count in 0..EDITS {
                    let view = app.study("Ada", BARS).await.unwrap();
                    let seen = Seen {
                        base: view.base,
                        counter: Some(view.counter),
                        window: Some(format!("window {client}")),
                    };
                    let mark = format!("[{client}.{count}]");
                    let row = view.written.treatment(&id).unwrap();
                    let note = row.get(TreatmentRow::note).unwrap_or_default();
                    let note = format!("{note}{mark}");
                    match app.edit("Ada", BARS, seen, &noted(&id, &note)).await {
                        Ok(view) => {
                            assert!(view.text.contains(&note));
                            marks.push(mark);
                        }
                        Err(AppError::Busy | AppError::Overtaken { .. }) => refused += 1,
                        Err(other) => panic!("client {client}: {other}"),
                    }
                }
                (marks, refused)
            })
        })
        .collect();
    let mut acknowledged = Vec::new();
    for client in clients {
        let (marks, refused) = client.await.unwrap();
        // What another program did between isn't known here by window, so it is refused rather than lost.
        assert!(refused < EDITS, "{refused} of {EDITS} refused");
        acknowledged.extend(marks);
    }
    let saved = saver.await.unwrap();
    assert!(saved > 0);
    let end = app.study("Ada", BARS).await.unwrap().text;
    let lost: Vec<_> = acknowledged.iter().filter(|m| !end.contains(*m)).collect();
    assert!(lost.is_empty(), "lost: {lost:?} of {}", acknowledged.len());
    let report = app.book().verify(|_, _| ()).await.unwrap();
    assert!(report.is_sound(), "{report}");
}

#[tokio::test]
async fn a_stale_edit_of_another_cell_is_made_and_of_the_same_one_told_with_both_values() {
    let (_folder, app) = fresh().await;
    let view = app.study("Ada", BARS).await.unwrap();
    let window = |name: &str| Seen {
        base: view.base,
        counter: Some(view.counter),
        window: Some(name.to_owned()),
    };
    let (one, two) = (window("one"), window("two"));
    app.edit("Ada", BARS, one.clone(), &amount("barley", "salt", 0.4))
        .await
        .unwrap();
    // The second window hasn't seen that; another cell goes on top of it.
    let both = app
        .edit("Ada", BARS, two.clone(), &amount("barley", "molasses", 2.5))
        .await
        .unwrap();
    assert!(both.text.contains("0.4") && both.text.contains("2.5"));
    let refused = app
        .edit("Ada", BARS, two.clone(), &amount("barley", "salt", 0.7))
        .await
        .unwrap_err();
    let AppError::Overtaken {
        cell,
        theirs,
        yours,
    } = &refused
    else {
        panic!("{refused}");
    };
    assert!(cell.contains("salt"), "{cell}");
    assert_eq!((theirs.as_str(), yours.as_str()), ("0.4", "0.7"));
    // The first window itself goes on with what it did, although it hasn't seen the second.
    app.edit("Ada", BARS, one.clone(), &amount("barley", "salt", 0.5))
        .await
        .unwrap();
    // Dropping and undoing want to have seen everything.
    for deed in [
        app.discard("Ada", BARS, two.clone()).await.err(),
        app.undo("Ada", BARS, one.clone()).await.err(),
    ] {
        assert!(matches!(deed, Some(AppError::Unseen)), "{deed:?}");
    }
    let now = app.study("Ada", BARS).await.unwrap();
    assert!(now.text.contains("0.5") && now.text.contains("2.5"));
    let seen = Seen {
        counter: Some(now.counter),
        ..two.clone()
    };
    app.undo("Ada", BARS, seen).await.unwrap();
    // Another window saves; an edit made on what was before it goes on top of what was saved.
    app.save("Ada", BARS, one, None).await.unwrap();
    let stale = Seen {
        counter: Some(now.counter + 1),
        window: Some("three".into()),
        ..two
    };
    let after = app
        .edit("Ada", BARS, stale, &amount("control", "salt", 0.35))
        .await
        .unwrap();
    let draft = after.draft.unwrap();
    assert!(draft.base == 2 && !draft.stale);
}

/// What a memory of steps no longer tells, the revision does: refused rather than lost.
#[tokio::test]
async fn after_a_restart_a_stale_edit_is_judged_by_the_revision() {
    let (folder, app) = fresh().await;
    let before = app.study("Ada", BARS).await.unwrap();
    app.edit("Ada", BARS, 1, &amount("barley", "salt", 0.4))
        .await
        .unwrap();
    app.close().await;
    let app = App::open(&folder.path().join("lab.book")).await.unwrap();
    let seen = Seen {
        base: before.base,
        counter: Some(before.counter),
        window: Some("old".into()),
    };
    let refused = app
        .edit("Ada", BARS, seen.clone(), &amount("barley", "salt", 0.7))
        .await;
    assert!(matches!(refused, Err(AppError::Overtaken { .. })));
    app.edit("Ada", BARS, seen, &amount("control", "salt", 0.35))
        .await
        .unwrap();
}

/// Control characters (Unicode category Cc): line ends of every kind are one, the others are refused at the field; and
/// the study goes on.
#[tokio::test]
async fn no_character_locks_a_study() {
    let (_folder, app) = fresh().await;
    for c in "\0\u{8}\t\n\u{b}\u{c}\r\u{1b}\u{1f}\u{7f}\u{85}\u{9f}\u{2028}".chars() {
        let text = format!("less{c}water");
        for edit in [
            Edit::SetNote {
                treatment: Some("barley".into()),
                note: text.clone(),
            },
            Edit::RenameTreatment {
                treatment: "barley".into(),
                name: text.clone(),
            },
            Edit::SetField {
                treatment: None,
                path: "study.question".into(),
                value: Some(Put::Text(text.clone())),
            },
            Edit::AddTreatment {
                from: "control".into(),
                id: String::new(),
                name: text.clone(),
            },
        ] {
            match app.edit("Ada", BARS, 1, std::slice::from_ref(&edit)).await {
                Ok(_) => {}
                Err(AppError::Value { field, why }) => {
                    assert!(why.contains("U+") && !field.is_empty(), "{field}: {why}");
                }
                Err(AppError::Edit(_)) => {}
                Err(other) => panic!("{c:?}: {other}"),
            }
            app.study("Ada", BARS).await.unwrap();
            app.export("Ada", BARS, None).await.unwrap();
        }
        app.discard("Ada", BARS, 0).await.unwrap();
        if let Ok(thing) = app.create_named("Ada", &text).await {
            app.study("Ada", &thing).await.unwrap();
        }
    }
    app.edit("Ada", BARS, 1, &amount("barley", "salt", 0.4))
        .await
        .unwrap();
    app.save("Ada", BARS, 1, Some("a\u{b}b".into()))
        .await
        .unwrap();
    assert!(
        app.save("Ada", BARS, 1, Some("a\u{1b}b".into()))
            .await
            .is_err()
    );
}

/// A draft that another version left and nobody can read: everything that doesn't need its words goes on.
#[tokio::test]
async fn a_draft_that_cannot_be_read_can_be_taken_out_undone_and_discarded() {
    let (_folder, app) = fresh().await;
    for way in ["discard", "undo", "restore"] {
        let unsaved = app.book().unsaved(Kind::Study, BARS, "Ada").await.unwrap();
        let draft = Draft {
            kind: Kind::Study,
            thing: BARS.into(),
            who: "Ada".into(),
            counter: unsaved.counter,
            base: Some(1),
            when: "2026-03-02T12:00:00Z".into(),
            title: "Bars".into(),
            form_version: 1,
            form: "name = \u{8} nonsense".into(),
        };
        app.book().put_draft(&draft).await.unwrap();
        assert!(matches!(
            app.study("Ada", BARS).await,
            Err(AppError::Unreadable { .. })
        ));
        assert_eq!(app.export("Ada", BARS, None).await.unwrap(), draft.form);
        match way {
            "undo" => {
                app.undo("Ada", BARS, 0).await.unwrap();
            }
            "restore" => {
                let told = app.restore("Ada", BARS, 1, 1, None).await;
                assert!(matches!(told, Err(AppError::WithDraft)));
                app.discard("Ada", BARS, 0).await.unwrap();
                app.restore("Ada", BARS, 1, 1, None).await.unwrap();
            }
            _ => app.discard("Ada", BARS, 0).await.unwrap(),
        }
        assert!(app.study("Ada", BARS).await.unwrap().draft.is_none());
    }
}

/// Numbers at the ends of what a float holds: an edit is refused or shown, and what is refused changed nothing.
#[tokio::test]
async fn extreme_numbers_change_nothing_when_they_are_refused() {
    let (_folder, app) = fresh().await;
    let texts = [
        "M 0 0 L 1e308 0 L 0 1e308 Z",
        "M 1e308 1e308 h -1e308 v 5 z",
        "M 0 0 C 1e308 1e308 1e308 -1e308 60 0 L 0 40 Z",
        "M 0 0 A 1e308 1e-308 0 0 1 60 0 L 0 40 Z",
        "M 0 0 L 1e-320 0 L 0 1e-320 Z",
    ];
    for text in texts {
        let set = |path: &str, value: Put| Edit::SetField {
            treatment: None,
            path: path.into(),
            value: Some(value),
        };
        let edits = [
            set("piece.outline", Put::Text("path".into())),
            set("piece.path", Put::Text(text.into())),
            set("piece.unit_mm", Put::Number(1.0)),
        ];
        let before = app.study("Ada", BARS).await.unwrap();
        match app.edit("Ada", BARS, 1, &edits).await {
            Ok(_) => app.discard("Ada", BARS, 0).await.unwrap(),
            Err(error) => {
                assert!(!matches!(error, AppError::BrokenOff(_)), "{text}: {error}");
                let after = app.study("Ada", BARS).await.unwrap();
                assert_eq!(after.text, before.text, "{text}");
                assert!(after.draft.is_none());
            }
        }
    }
}

/// A book as the first program left it: two studies, three revisions, two drafts, a setting.
#[tokio::test]
async fn the_book_of_the_first_program_opens_with_all_that_was_in_it() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("lab.book");
    let kept = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/desk/data/first.book");
    std::fs::copy(kept, &path).unwrap();
    let app = App::open(&path).await.unwrap();
    assert_eq!(app.settings().await.unwrap().who, "Ada");
    let report = app.book().verify(|_, _| ()).await.unwrap();
    // Noted when it was made.
    assert_eq!(
        report.tip.hash,
        "52a72f5141ca4fd637fbc703ff3430ee8ac84767a7dec48ddfa8c201547455de"
    );
    let bars = app.study("Ada", BARS).await.unwrap();
    assert!(bars.draft.is_some() && bars.base == 3 && bars.text.contains("amount = 0.6"));
    let second = app.study("Ada", "a-second-study").await.unwrap();
    assert!(second.draft.is_some() && second.text.contains("second line"));
    app.edit("Ada", BARS, 3, &amount("barley", "salt", 0.7))
        .await
        .unwrap();
    // No figures were kept by the first program, and that is said until it is saved anew.
    let then = app.then(BARS).await.unwrap();
    assert!(
        matches!(then, Some(Then::NotKept { revision: 3, .. })),
        "{then:?}"
    );
    app.save("Ada", BARS, 3, None).await.unwrap();
    assert_eq!(app.then(BARS).await.unwrap(), None);
    assert_eq!(app.history(BARS, Page::first(9)).await.unwrap().total, 4);
    let report = app.book().verify(|_, _| ()).await.unwrap();
    assert!(report.is_sound() && report.revisions == 7, "{report}");
}

/// A second start doesn't put the demonstration into a book that somebody emptied or copied.
#[tokio::test]
async fn only_a_book_that_was_made_gets_the_demonstration() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("lab.book");
    Book::open(&path, true).await.unwrap().close().await;
    let app = App::open(&path).await.unwrap();
    assert_eq!(app.book().tip().await.unwrap().id, 0);
}

#[tokio::test]
async fn another_name_keeps_the_unsaved_changes() {
    let (_folder, app) = fresh().await;
    let mut settings = app.settings().await.unwrap();
    settings.who = "Ada".into();
    app.change_settings(|_| Ok(settings.clone())).await.unwrap();
    app.edit("Ada", BARS, 1, &amount("barley", "salt", 0.4))
        .await
        .unwrap();
    settings.who = "Ada L.".into();
    app.change_settings(|_| Ok(settings.clone())).await.unwrap();
    let view = app.study("Ada L.", BARS).await.unwrap();
    assert!(view.draft.is_some() && view.text.contains("0.4"));
    assert!(app.study("Ada", BARS).await.unwrap().draft.is_none());
}

/// Every hundredth revision of a study, and every one by choice, lies beside the book as a text; what is left out is made
/// good.
#[tokio::test]
async fn texts_and_a_copy_lie_beside_the_book() {
    let (folder, app) = fresh().await;
    let texts = folder.path().join("lab.book.texts").join(BARS);
    let mut saves = BTreeMap::new();
    // Ninety-seven revisions that somebody saved before.
    for number in 1..98 {
        let save = book::Save {
            kind: Kind::Study,
            thing: BARS.into(),
            base: Some(number),
            who: "Ada".into(),
            when: app::now(),
            why: None,
            title: "Bars".into(),
            form_version: 1,
            form: app.export("Ada", BARS, None).await.unwrap(),
        };
        app.book().save(save).await.unwrap();
    }
    for n in 99..=101_u32 {
        let salt = 0.3 + f64::from(n) * 0.001;
        let base = u64::from(n - 1);
        app.edit("Ada", BARS, base, &amount("barley", "salt", salt))
            .await
            .unwrap();
        let SaveOutcome::Saved(entry) = app.save("Ada", BARS, base, None).await.unwrap() else {
            panic!("{n}");
        };
        saves.insert(entry.number, app.export("Ada", BARS, None).await.unwrap());
    }
    let read = |n: u64| std::fs::read_to_string(texts.join(format!("{n:06}.toml")));
    assert_eq!(read(100).unwrap(), saves[&100]);
    assert!(read(99).is_err() && read(101).is_err());
    let mut settings = app.settings().await.unwrap();
    settings.texts = true;
    app.change_settings(|_| Ok(settings.clone())).await.unwrap();
    app.edit("Ada", BARS, 101, &amount("barley", "salt", 0.9))
        .await
        .unwrap();
    app.save("Ada", BARS, 101, None).await.unwrap();
    assert!(read(102).is_ok());

    std::fs::remove_file(texts.join("000100.toml")).unwrap();
    assert_eq!(app.last_copy().unwrap(), None);
    app.look_after().await;
    assert_eq!(read(100).unwrap(), saves[&100]);
    assert_eq!(app.last_copy().unwrap().unwrap(), app::now()[..10]);
    assert!(app.notices().await.unwrap().is_empty());
}

/// A text that can't be written, be it wanted by choice alone, is told until it was.
#[tokio::test]
async fn a_text_that_could_not_be_written_is_told_and_made_good() {
    let (folder, app) = fresh().await;
    let mut settings = app.settings().await.unwrap();
    settings.texts = true;
    app.change_settings(|_| Ok(settings.clone())).await.unwrap();
    let texts = folder.path().join("lab.book.texts");
    std::fs::write(&texts, "in the way").unwrap();
    for (base, salt) in [(1, 0.4), (2, 0.5)] {
        app.edit("Ada", BARS, base, &amount("barley", "salt", salt))
            .await
            .unwrap();
        app.save("Ada", BARS, base, None).await.unwrap();
    }
    let told = app.notices().await.unwrap();
    assert!(
        told[0].contains("Revision 2") && told[0].contains("1 more"),
        "{told:?}"
    );
    std::fs::remove_file(&texts).unwrap();
    app.edit("Ada", BARS, 3, &amount("barley", "salt", 0.6))
        .await
        .unwrap();
    app.save("Ada", BARS, 3, None).await.unwrap();
    assert!(app.notices().await.unwrap()[0].contains("Revision 2"));
    app.look_after().await;
    assert!(app.notices().await.unwrap().is_empty());
    for number in [2, 3, 4] {
        assert!(texts.join(BARS).join(format!("{number:06}.toml")).exists());
    }
}

/// Settings that another version left and nobody understands.
#[tokio::test]
async fn settings_that_cannot_be_understood_are_told() {
    let (_folder, app) = fresh().await;
    let save = book::Save {
        kind: Kind::Setting,
        thing: "settings".into(),
        base: None,
        who: "Ada".into(),
        when: app::now(),
        why: None,
        title: "Settings".into(),
        form_version: 1,
        form: "{\"who\": 7}".into(),
    };
    app.book().save(save).await.unwrap();
    let told = app.notices().await.unwrap();
    assert!(
        told.iter()
            .any(|n| n.contains("settings can’t be understood")),
        "{told:?}"
    );
}

/// A clock that was set back is told, on the pages and when the book is checked.
#[tokio::test]
async fn a_clock_that_goes_back_is_told() {
    let (_folder, app) = fresh().await;
    let ahead = book::Save {
        kind: Kind::Study,
        thing: "of-tomorrow".into(),
        base: None,
        who: "Ada".into(),
        when: "2999-01-01T00:00:00Z".into(),
        why: None,
        title: "Of tomorrow".into(),
        form_version: 1,
        form: app::DEMONSTRATION.into(),
    };
    app.book().save(ahead).await.unwrap();
    let notices = app.notices().await.unwrap();
    assert!(notices[0].contains("Set the clock"), "{notices:?}");
    app.create_named("Ada", "Of today").await.unwrap();
    let report = app.book().verify(|_, _| ()).await.unwrap();
    assert!(report.is_sound());
    assert_eq!(report.clock_went_back.len(), 1);
    assert!(report.to_string().contains("set back"), "{report}");
}

/// Many studies of one name are as quick as the first; the names don't collide.
#[tokio::test]
async fn studies_of_one_name_get_names_of_their_own() {
    let (_folder, app) = fresh().await;
    let mut names = std::collections::BTreeSet::new();
    for _ in 0..40 {
        names.insert(app.create_named("Ada", "Same name").await.unwrap());
    }
    assert_eq!(names.len(), 40);
    assert!(names.contains("same-name") && names.contains("same-name-40"));
    let all = (0..8).map(|_| app.create_named("Ada", "Same name"));
    for made in futures_all(all).await {
        names.insert(made.unwrap());
    }
    assert_eq!(names.len(), 48);
}

/// Waits for several at once.
async fn futures_all<F: Future>(all: impl Iterator<Item = F>) -> Vec<F::Output> {
    let mut waiting: Vec<_> = all.map(Box::pin).collect();
    let mut done: Vec<Option<F::Output>> = waiting.iter().map(|_| None).collect();
    std::future::poll_fn(move |cx| {
        for (future, done) in waiting.iter_mut().zip(&mut done) {
            if done.is_none()
                && let std::task::Poll::Ready(output) = future.as_mut().poll(cx)
            {
                *done = Some(output);
            }
        }
        if done.iter().all(Option::is_some) {
            std::task::Poll::Ready(done.iter_mut().filter_map(Option::take).collect())
        } else {
            std::task::Poll::Pending
        }
    })
    .await
}
