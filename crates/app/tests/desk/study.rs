//! What a person does with a study, on a fresh book with the demonstration.

use crate::{BARS, fresh};
use ::study::edit::Edit;
use app::{App, AppError, SaveOutcome, Settings, Shelf};
use book::{Order, Page};

fn salt(amount: f64) -> [Edit; 1] {
    [Edit::SetAmount {
        treatment: "barley".into(),
        material: "salt".into(),
        amount,
    }]
}

#[tokio::test]
async fn first_start_has_the_demonstration_and_the_next_one_does_not_make_it_again() {
    // In a folder that isn't there yet.
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("deep").join("lab.book");
    let app = App::open(&path).await.unwrap();
    app.close().await;
    let app = App::open(&folder.path().join("deep").join("lab.book"))
        .await
        .unwrap();
    let list = app
        .studies("Ada", None, Order::Recent, Shelf::Out, Page::first(10))
        .await
        .unwrap();
    assert_eq!(list.studies.total, 1);
    assert_eq!(list.studies.items[0].entry.thing, BARS);
    let found = app
        .studies(
            "Ada",
            Some("no such words"),
            Order::Recent,
            Shelf::Out,
            Page::first(10),
        )
        .await
        .unwrap();
    assert_eq!(found.studies.total, 0);
}

#[tokio::test]
async fn an_edited_cell_works_out_one_treatment() {
    let (_folder, app) = fresh().await;
    let view = app.study("Ada", BARS).await.unwrap();
    // All seven were worked out when the study was made, for the figures that are kept with it.
    assert_eq!(
        (view.answers.worked_out, view.answers.compared.len()),
        (0, 7)
    );
    assert!(view.answers.failed.is_empty(), "{:?}", view.answers.failed);
    assert_eq!(view.answers.compared[0].answer.id, "control");
    let view = app.edit("Ada", BARS, 1, &salt(0.4)).await.unwrap();
    assert_eq!(view.answers.worked_out, 1);
    assert!(view.draft.is_some());
    // The control's salt is everybody's salt but the gluten-free pair's and barley's own.
    let control = [Edit::SetAmount {
        treatment: "control".into(),
        material: "salt".into(),
        amount: 0.35,
    }];
    let view = app.edit("Ada", BARS, 1, &control).await.unwrap();
    assert!(view.answers.worked_out < view.answers.compared.len());
    let again = app.study("Ada", BARS).await.unwrap();
    assert_eq!(again.answers.worked_out, 0);
}

#[tokio::test]
async fn a_formula_that_does_not_sum_yet_is_taken_in_proportion() {
    let (_folder, app) = fresh().await;
    let edit = [Edit::SetAmount {
        treatment: "rice_chickpea".into(),
        material: "salt".into(),
        amount: 5.4,
    }];
    let view = app.edit("Ada", BARS, 1, &edit).await.unwrap();
    assert_eq!(view.in_proportion, ["rice_chickpea"]);
    assert!(!view.problems.is_empty());
    assert_eq!(view.answers.compared.len(), 7);
    let study = view.study.unwrap();
    let t = study.treatment("rice_chickpea").unwrap();
    let at = t
        .formula
        .lines()
        .iter()
        .position(|l| l.material.id == "salt")
        .unwrap();
    // 5.4 of 105 parts.
    assert!((t.formula.percent_of_mix()[at] - 100.0 * 5.4 / 105.0).abs() < 1e-6);
}

#[tokio::test]
async fn undo_and_redo_go_through_draft_and_revisions() {
    let (_folder, app) = fresh().await;
    app.edit("Ada", BARS, 1, &salt(0.4)).await.unwrap();
    let two = app.edit("Ada", BARS, 1, &salt(0.5)).await.unwrap().text;
    let one = app.undo("Ada", BARS, 0).await.unwrap();
    assert!(one.text.contains("amount = 0.4") && one.can_redo);
    let none = app.undo("Ada", BARS, 0).await.unwrap();
    assert!(none.draft.is_none() && !none.can_undo);
    assert!(matches!(
        app.undo("Ada", BARS, 0).await,
        Err(AppError::NothingTo("undo"))
    ));
    app.redo("Ada", BARS, 0).await.unwrap();
    assert_eq!(app.redo("Ada", BARS, 0).await.unwrap().text, two);
    assert!(matches!(
        app.save("Ada", BARS, 1, None).await.unwrap(),
        SaveOutcome::Saved(_)
    ));
    // Back past a saved revision: its form before, as unsaved changes.
    let back = app.undo("Ada", BARS, 0).await.unwrap();
    assert!(back.draft.is_some() && !back.text.contains("set = \"salt\""));
    assert_eq!(app.redo("Ada", BARS, 0).await.unwrap().text, two);
}

#[tokio::test]
async fn the_second_of_two_people_sees_both_versions() {
    let (_folder, app) = fresh().await;
    app.edit("Ada", BARS, 1, &salt(0.4)).await.unwrap();
    app.edit("Ben", BARS, 1, &salt(0.6)).await.unwrap();
    assert!(matches!(
        app.save("Ada", BARS, 1, Some("less".into())).await.unwrap(),
        SaveOutcome::Saved(_)
    ));
    let SaveOutcome::Conflict {
        theirs,
        base,
        yours,
        ..
    } = app.save("Ben", BARS, 1, None).await.unwrap()
    else {
        panic!("a stale save went through");
    };
    assert_eq!(theirs.entry.number, 2);
    assert_eq!(base.unwrap().entry.number, 1);
    assert!(yours.contains("amount = 0.6") && theirs.form.contains("amount = 0.4"));
    assert!(app.study("Ben", BARS).await.unwrap().draft.unwrap().stale);
    assert!(matches!(
        app.save_over("Ben", BARS, 2, None).await.unwrap(),
        SaveOutcome::Saved(_)
    ));
    assert_eq!(app.history(BARS, Page::first(10)).await.unwrap().total, 3);
}

#[tokio::test]
async fn the_difference_of_revisions_is_told_in_words_and_numbers() {
    let (_folder, app) = fresh().await;
    app.edit("Ada", BARS, 1, &salt(0.4)).await.unwrap();
    app.save("Ada", BARS, 1, Some("taste".into()))
        .await
        .unwrap();
    let d = app.difference(BARS, 1, 2).await.unwrap();
    assert_eq!(d.changes.len(), 1);
    assert!(d.changes[0].is.as_deref().unwrap().contains("salt"));
    assert!(
        d.figures
            .iter()
            .any(|f| f.figure == "nutrition.sodium_pct" && f.is > f.was)
    );
    let restored = app.restore("Ada", BARS, 1, 2, None).await.unwrap();
    assert_eq!(restored.number, 3);
    assert!(app.difference(BARS, 1, 3).await.unwrap().changes.is_empty());
}

#[tokio::test]
async fn materials_go_out_and_in_as_tables_and_into_a_study() {
    let (_folder, app) = fresh().await;
    for comma in [false, true] {
        let decimal = if comma {
            book::exchange::Decimal::Comma
        } else {
            book::exchange::Decimal::Point
        };
        app.change_settings(|now| Ok(Settings { decimal, ..now }))
            .await
            .unwrap();
        let (text, moisture) = if comma {
            ("id;moisture_pct;lot\nchickpea_flour;9,5;0012E5\n", 9.5)
        } else {
            ("id,moisture_pct,lot\nchickpea_flour,10.5,0012E5\n", 10.5)
        };
        let rows = app.preview_materials(text.into()).await.unwrap();
        assert_eq!(rows[0].trouble, None);
        let good: Vec<_> = rows.into_iter().map(|r| (r.id, r.values)).collect();
        assert_eq!(app.import_materials("Ada", &good).await.unwrap(), 1);
        let m = app.material("chickpea_flour").await.unwrap();
        assert!((m.material.unwrap().moisture().unwrap().percent() - moisture).abs() < 1e-9);
        assert_eq!(m.uses.len(), 1);
    }
    for format in app::TableFormat::ALL {
        let bytes = app.export_materials(app::Which::Own, format).await.unwrap();
        let rows = app.preview_materials(bytes).await.unwrap();
        assert_eq!(rows.len(), 1);
        assert!(
            rows[0].trouble.is_none() && rows[0].changes.is_empty(),
            "{rows:?}"
        );
        let template = app
            .export_materials(app::Which::Template, format)
            .await
            .unwrap();
        assert!(app.preview_materials(template).await.unwrap().is_empty());
    }
    let view = app
        .use_material("Ada", BARS, 1, "chickpea_flour")
        .await
        .unwrap();
    let study = view.study.unwrap();
    assert_eq!(study.materials["chickpea_flour"].lot, "0012E5");
    for bad in [
        "id;moisture_pct\nchickpea_flour;NaN\n",
        "id;moisture_pct\nchickpea_flour;1e308\n",
        "id;moisture_pct\n../etc;5\n",
    ] {
        let rows = app.preview_materials(bad.into()).await.unwrap();
        assert!(rows[0].trouble.is_some(), "{bad}");
    }
    assert!(
        app.preview_materials("id,moon\na,b\n".into())
            .await
            .is_err()
    );
}

#[tokio::test]
async fn a_study_goes_out_and_in_unchanged() {
    let (_folder, app) = fresh().await;
    let text = app.export("Ada", BARS, None).await.unwrap();
    let preview = app.preview_import("Ada", Some(BARS), &text).await.unwrap();
    assert!(preview.changes.is_empty() && preview.problems.is_empty());
    let thing = app.create_from_text("Ada", &text, None).await.unwrap();
    assert_eq!(thing, "spent-grain-bars-2");
    assert_eq!(app.export("Ada", &thing, None).await.unwrap(), text);
    assert!(matches!(
        app.create_from_text("Ada", "= nonsense", None).await,
        Err(AppError::Unreadable { .. })
    ));
    let copy = app.duplicate("Ada", BARS).await.unwrap();
    app.remove_study("Ada", &copy, 1, None).await.unwrap();
    assert!(matches!(
        app.study("Ada", &copy).await,
        Err(AppError::NoStudy(_))
    ));
    let new = app.create_named("Ada", "Crackers").await.unwrap();
    let view = app.study("Ada", &new).await.unwrap();
    assert!(view.problems.is_empty() && view.answers.failed.is_empty());
}

/// What is put away is kept and out of the list; a study of another book is copied with its text, and that book stays as
/// it is.
#[tokio::test]
async fn a_study_is_put_away_and_one_is_copied_from_another_book() {
    let (_folder, app) = fresh().await;
    let names = |shelf| {
        let app = app.clone();
        async move {
            let list = app.studies("Ada", None, Order::Title, shelf, Page::first(10));
            let list = list.await.unwrap();
            let names: Vec<String> = list
                .studies
                .items
                .into_iter()
                .map(|l| l.entry.thing)
                .collect();
            (names, list.studies.total, list.put_away)
        }
    };
    let oats = app.create_named("Ada", "Oats").await.unwrap();
    app.put_away(BARS, Shelf::Away).await.unwrap();
    assert_eq!(names(Shelf::Out).await, (vec![oats.clone()], 1, 1));
    assert_eq!(names(Shelf::Away).await, (vec![BARS.to_owned()], 1, 1));
    assert!(app.study("Ada", BARS).await.is_ok(), "it is kept");
    app.put_away(BARS, Shelf::Out).await.unwrap();
    assert_eq!(names(Shelf::Out).await.1, 2);
    assert!(app.put_away("no-such-study", Shelf::Away).await.is_err());

    let (folder, other) = fresh().await;
    let start = other.study("Grace", BARS).await.unwrap();
    other
        .edit("Grace", BARS, start.seen(), &salt(0.7))
        .await
        .unwrap();
    let stands = other.study("Grace", BARS).await.unwrap();
    other
        .save("Grace", BARS, stands.seen(), None)
        .await
        .unwrap();
    let path = other.book().path().to_owned();
    other.close().await;
    let bytes = std::fs::read(&path).unwrap();
    let theirs = app.of_another_book(&path).await.unwrap();
    assert_eq!(theirs.len(), 1);
    let copy = app
        .create_from_text("Ada", &theirs[0].1, None)
        .await
        .unwrap();
    assert!(copy != BARS && app.study("Ada", &copy).await.unwrap().text.contains("0.7"));
    assert_eq!(std::fs::read(&path).unwrap(), bytes);
    assert!(
        app.of_another_book(&folder.path().join("none.book"))
            .await
            .is_err()
    );
}

/// Two people wrote in the same revision: what was chosen stands, the rest comes together, unsaved.
#[tokio::test]
async fn what_two_people_wrote_is_put_together_as_chosen() {
    let (_folder, app) = fresh().await;
    let start = app.study("Ada", BARS).await.unwrap();
    app.edit("Ada", BARS, start.seen(), &salt(0.6))
        .await
        .unwrap();
    let grace = app.edit("Grace", BARS, 1, &salt(0.4)).await.unwrap();
    let note = Edit::SetNote {
        treatment: Some("barley".into()),
        note: "drinks more".into(),
    };
    let grace = app
        .edit("Grace", BARS, grace.seen(), &[note])
        .await
        .unwrap();
    app.save("Grace", BARS, grace.seen(), None).await.unwrap();
    let conflict = app.conflict("Ada", BARS).await.unwrap().unwrap();
    let SaveOutcome::Conflict {
        theirs,
        base,
        yours,
        ..
    } = conflict
    else {
        panic!("no conflict")
    };
    let settling = app::settling(&base.unwrap().form, &theirs.form, &yours).unwrap();
    assert_eq!(settling.both.len(), 1, "{settling:?}");
    // Nobody chose, or somebody saved once more: nothing is changed.
    let none = app::Choices::new();
    assert!(matches!(
        app.settle("Ada", BARS, 2, &none).await,
        Err(AppError::Value { .. })
    ));
    assert!(matches!(
        app.settle("Ada", BARS, 1, &none).await,
        Err(AppError::Unseen)
    ));
    let chosen = app::Choices::from([(settling.both[0].way.clone(), app::Side::Typed)]);
    let view = app.settle("Ada", BARS, 2, &chosen).await.unwrap();
    assert!(view.text.contains("0.6") && view.text.contains("drinks more"));
    assert_eq!((view.base, view.draft.is_some()), (2, true));
    let back = app.undo("Ada", BARS, view.seen()).await.unwrap();
    assert_eq!((back.base, back.text), (1, yours));
    let view = app.settle("Ada", BARS, 2, &chosen).await.unwrap();
    let saved = app.save("Ada", BARS, view.seen(), None).await.unwrap();
    assert!(matches!(saved, SaveOutcome::Saved(entry) if entry.number == 3));
}

/// Several windows put studies away at the same moment: each that was acknowledged is away.
#[tokio::test(flavor = "multi_thread", worker_threads = 4)]
async fn studies_put_away_at_the_same_moment_are_all_away() {
    let (_folder, app) = fresh().await;
    let mut things = Vec::new();
    for i in 0..8 {
        things.push(app.create_named("Ada", &format!("Oats {i}")).await.unwrap());
    }
    let mut all = tokio::task::JoinSet::new();
    for thing in things.clone() {
        let app = app.clone();
        all.spawn(async move { app.put_away(&thing, Shelf::Away).await });
    }
    while let Some(done) = all.join_next().await {
        done.unwrap().unwrap();
    }
    let mut away = app.settings().await.unwrap().put_away;
    away.sort();
    assert_eq!(away, things);
}
