//! Windows of one person and other people on one study: what a window hasn't seen it neither overwrites nor drops.

use crate::{BARS, amount, fresh};
use ::study::edit::{Edit, apply};
use ::study::written::write;
use app::{App, AppError, SaveOutcome, Seen, StudyView};

/// A window that looks at what is shown now.
async fn window(app: &App, who: &str, name: &str) -> Seen {
    let view = app.study(who, BARS).await.unwrap();
    seen(&view, name)
}

fn seen(view: &StudyView, name: &str) -> Seen {
    Seen {
        base: view.base,
        counter: Some(view.counter),
        window: Some(name.to_owned()),
    }
}

async fn saved(app: &App, who: &str, treatment: &str, material: &str, to: f64) -> u64 {
    let here = window(app, who, "saver").await;
    let view = app
        .edit(who, BARS, here, &amount(treatment, material, to))
        .await
        .unwrap();
    match app.save(who, BARS, seen(&view, "saver"), None).await {
        Ok(SaveOutcome::Saved(entry)) => entry.number,
        other => panic!("{other:?}"),
    }
}

fn overtaken(told: Result<StudyView, AppError>) -> (String, String) {
    match told {
        Err(AppError::Overtaken { theirs, yours, .. }) => (theirs, yours),
        other => panic!("{:?}", other.map(|view| view.text)),
    }
}

/// Grace saves, Ada's second window saves after her: Ada's first window has seen neither.
#[tokio::test]
async fn a_stale_edit_counts_what_others_saved_in_between() {
    let (_folder, app) = fresh().await;
    let old = window(&app, "Ada", "old").await;
    assert_eq!(saved(&app, "Grace", "barley", "salt", 0.4).await, 2);
    assert_eq!(saved(&app, "Ada", "control", "salt", 0.35).await, 3);
    let told = app
        .edit("Ada", BARS, old.clone(), &amount("barley", "salt", 0.7))
        .await;
    assert_eq!(overtaken(told), ("0.4".into(), "0.7".into()));
    // Nothing was changed by that; another cell goes on top of what both saved.
    assert!(app.study("Ada", BARS).await.unwrap().draft.is_none());
    let view = app
        .edit("Ada", BARS, old, &amount("barley", "molasses", 2.5))
        .await
        .unwrap();
    assert_eq!(view.base, 3);
    assert!(view.text.contains("0.4") && view.text.contains("0.35"));
}

/// So many revisions in between that they aren't looked at one by one: all that differs counts.
#[tokio::test]
async fn a_stale_edit_counts_many_revisions_in_between() {
    let (_folder, app) = fresh().await;
    let old = window(&app, "Ada", "old").await;
    let written = app.study("Ada", BARS).await.unwrap().written;
    let [edit] = amount("control", "salt", 0.45);
    let form = write(&apply(&written, &edit).unwrap());
    for n in 0..101 {
        let save = book::Save {
            kind: book::Kind::Study,
            thing: BARS.into(),
            base: Some(n + 1),
            who: if n == 100 { "Ada" } else { "Grace" }.into(),
            when: app::now(),
            why: None,
            title: "Bars".into(),
            form_version: 1,
            form: form.clone(),
        };
        app.book().save(save).await.unwrap();
    }
    let told = app
        .edit("Ada", BARS, old, &amount("control", "salt", 0.7))
        .await;
    assert_eq!(overtaken(told), ("0.45".into(), "0.7".into()));
}

/// Taking up an earlier revision changes cells without being anybody's unsaved work.
#[tokio::test]
async fn a_stale_edit_counts_what_was_restored() {
    let (_folder, app) = fresh().await;
    saved(&app, "Ada", "barley", "salt", 0.4).await;
    let old = window(&app, "Ada", "old").await;
    app.restore("Ada", BARS, 1, 2, None).await.unwrap();
    let told = app
        .edit("Ada", BARS, old.clone(), &amount("barley", "salt", 0.7))
        .await;
    assert_eq!(overtaken(told).1, "0.7");
    // Nor is what was restored undone by a window that hasn't seen it.
    let undone = app.undo("Ada", BARS, old.clone()).await;
    assert!(matches!(undone, Err(AppError::Unseen)));
    app.edit("Ada", BARS, old, &amount("barley", "molasses", 2.5))
        .await
        .unwrap();
}

/// What a window itself had done before another one saved it is no surprise to it.
#[tokio::test]
async fn a_window_goes_on_with_its_own_cells_after_another_saved_them() {
    let (_folder, app) = fresh().await;
    let one = window(&app, "Ada", "one").await;
    let view = app
        .edit("Ada", BARS, one, &amount("barley", "salt", 0.4))
        .await
        .unwrap();
    let (one, two) = (seen(&view, "one"), seen(&view, "two"));
    app.save("Ada", BARS, two, None).await.unwrap();
    let view = app
        .edit("Ada", BARS, one, &amount("barley", "salt", 0.5))
        .await
        .unwrap();
    assert_eq!((view.base, view.draft.is_some()), (2, true));
}

/// Moving a line changes no cell, and is a change all the same.
#[tokio::test]
async fn an_unseen_move_is_neither_dropped_nor_undone() {
    let (_folder, app) = fresh().await;
    let (one, two) = (
        window(&app, "Ada", "one").await,
        window(&app, "Ada", "two").await,
    );
    let up = Edit::MoveLine {
        treatment: "control".into(),
        material: "salt".into(),
        before: Some("spent_grain".into()),
    };
    let before = app.study("Ada", BARS).await.unwrap().text;
    let view = app.edit("Ada", BARS, one.clone(), &[up]).await.unwrap();
    assert_ne!(view.text, before);
    let told = [
        app.discard("Ada", BARS, two.clone()).await.err(),
        app.undo("Ada", BARS, two).await.err(),
    ];
    for told in told {
        assert!(matches!(told, Some(AppError::Unseen)), "{told:?}");
    }
    // The window that moved it has.
    app.undo("Ada", BARS, one).await.unwrap();
    assert_eq!(app.study("Ada", BARS).await.unwrap().text, before);
}

/// A counter or a revision that there isn't yet, as of a page from another copy of the book.
#[tokio::test]
async fn what_claims_to_have_seen_the_future_is_refused() {
    let (_folder, app) = fresh().await;
    let here = window(&app, "Ada", "one").await;
    app.edit("Ada", BARS, here.clone(), &amount("barley", "salt", 0.4))
        .await
        .unwrap();
    let later = Seen {
        counter: Some(99),
        ..here.clone()
    };
    let further = Seen { base: 9, ..here };
    let before = app.study("Ada", BARS).await.unwrap();
    for seen in [later, further] {
        let told = [
            app.edit("Ada", BARS, seen.clone(), &amount("barley", "salt", 0.7))
                .await
                .err(),
            app.undo("Ada", BARS, seen.clone()).await.err(),
            app.discard("Ada", BARS, seen.clone()).await.err(),
            app.save("Ada", BARS, seen, None).await.err(),
        ];
        for told in told {
            assert!(matches!(told, Some(AppError::NotYet)), "{told:?}");
        }
    }
    let after = app.study("Ada", BARS).await.unwrap();
    assert_eq!((after.text, after.counter), (before.text, before.counter));
}

/// Steps are noted in the order in which the changes were made, whatever else goes on: as many steps back as there were
/// changes lead to where it began, one at a time.
#[tokio::test(flavor = "multi_thread", worker_threads = 4)]
async fn steps_of_several_windows_keep_their_order() {
    let (_folder, app) = fresh().await;
    let start = app.study("Ada", BARS).await.unwrap().text;
    let at_once = |app: App, deed: fn(App, u32) -> tokio::task::JoinHandle<()>| async move {
        let all: Vec<_> = (0..8).map(|n| deed(app.clone(), n)).collect();
        for one in all {
            one.await.unwrap();
        }
    };
    at_once(app.clone(), |app, n| {
        tokio::spawn(async move {
            let salt = 0.4 + f64::from(n) * 0.01;
            app.edit("Ada", BARS, 1, &amount("barley", "salt", salt))
                .await
                .unwrap();
        })
    })
    .await;
    at_once(app.clone(), |app, _| {
        tokio::spawn(async move {
            app.undo("Ada", BARS, 1).await.unwrap();
        })
    })
    .await;
    let end = app.study("Ada", BARS).await.unwrap();
    assert_eq!(end.text, start);
    assert!(end.draft.is_none() && end.can_redo);
    at_once(app.clone(), |app, _| {
        tokio::spawn(async move {
            app.redo("Ada", BARS, 1).await.unwrap();
        })
    })
    .await;
    assert!(!app.study("Ada", BARS).await.unwrap().can_redo);
}
