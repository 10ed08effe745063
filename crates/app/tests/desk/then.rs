//! A study that was saved under another version of the model says so, with the figures told then and now.

use crate::{BARS, fresh};
use ::study::edit::Edit;
use app::{App, SaveOutcome, Then};
use book::{Kind, Save};
use serde_json::{Value, json};

async fn saved(app: &App, base: u64, amount: f64) -> u64 {
    let edit = [Edit::SetAmount {
        treatment: "barley".into(),
        material: "salt".into(),
        amount,
    }];
    app.edit("Ada", BARS, base, &edit).await.unwrap();
    match app.save("Ada", BARS, base, None).await.unwrap() {
        SaveOutcome::Saved(entry) => entry.number,
        conflict => panic!("{conflict:?}"),
    }
}

/// The newest record of figures, changed, in the place of what a program of another version would have kept.
async fn as_if_told_otherwise(app: &App, change: impl FnOnce(&mut Value)) {
    let newest = app
        .book()
        .newest(Kind::Figures, BARS)
        .await
        .unwrap()
        .unwrap();
    let mut form: Value = serde_json::from_str(&newest.form).unwrap();
    change(&mut form);
    let save = Save {
        kind: Kind::Figures,
        thing: BARS.into(),
        base: Some(newest.entry.number),
        who: "Ada".into(),
        when: app::now(),
        why: None,
        title: newest.entry.title,
        form_version: newest.entry.form_version,
        form: form.to_string(),
    };
    app.book().save(save).await.unwrap();
}

#[tokio::test]
async fn nothing_is_said_under_the_same_version_and_figures_then_and_now_under_another() {
    let (folder, app) = fresh().await;
    assert_eq!(app.then(BARS).await.unwrap(), None, "as it was made");
    let number = saved(&app, 1, 0.4).await;
    assert_eq!(app.then(BARS).await.unwrap(), None, "as it was saved");

    as_if_told_otherwise(&app, |form| {
        assert_eq!(form["revision"], json!(number));
        form["told"]["model"] = json!(0);
        let control = &mut form["told"]["treatments"][0];
        assert_eq!(control["id"], json!("control"));
        control["figures"]["bake.time_min"] = json!("14.5");
        // A figure that a later program tells no more.
        control["figures"]["bake.of_old"] = json!("1");
    })
    .await;
    // Unsaved changes are no matter of what was saved.
    let edit = [Edit::SetAmount {
        treatment: "control".into(),
        material: "salt".into(),
        amount: 0.35,
    }];
    app.edit("Ada", BARS, number, &edit).await.unwrap();
    app.close().await;

    let app = App::open(&folder.path().join("lab.book")).await.unwrap();
    let Some(Then::Otherwise {
        revision,
        model,
        moved,
        when,
    }) = app.then(BARS).await.unwrap()
    else {
        panic!("nothing is said of another version");
    };
    assert_eq!((revision, model), (number, 0));
    assert!(when.ends_with('Z'), "{when}");
    assert_eq!(moved.len(), 1, "{moved:?}");
    let figure = &moved[0];
    assert_eq!(
        (figure.treatment.as_str(), figure.figure),
        ("control", "bake.time_min")
    );
    assert_eq!(figure.then, "14.5");
    let now = app.study_at("Ada", BARS, number).await.unwrap();
    let minutes = now.answers.compared[0].answer.bake.time_min;
    assert_eq!(figure.now, format!("{minutes:.1}"));

    // Saved anew, it is told by this version again.
    app.save("Ada", BARS, number, None).await.unwrap();
    assert_eq!(app.then(BARS).await.unwrap(), None);
}

#[tokio::test]
async fn a_save_that_was_killed_before_its_figures_were_kept_says_that_they_were_not() {
    let (_folder, app) = fresh().await;
    let first = app.book().newest(Kind::Study, BARS).await.unwrap().unwrap();
    // What the ledger holds when the program ends between the two.
    let save = Save {
        kind: Kind::Study,
        thing: BARS.into(),
        base: Some(1),
        who: "Ada".into(),
        when: app::now(),
        why: None,
        title: first.entry.title,
        form_version: first.entry.form_version,
        form: first.form,
    };
    app.book().save(save).await.unwrap();
    let then = app.then(BARS).await.unwrap();
    assert!(
        matches!(then, Some(Then::NotKept { revision: 2, .. })),
        "{then:?}"
    );
    saved(&app, 2, 0.4).await;
    assert_eq!(app.then(BARS).await.unwrap(), None);
    // What was taken up again is told with its own figures, and what is out of use with none.
    app.restore("Ada", BARS, 1, 3, None).await.unwrap();
    assert_eq!(app.then(BARS).await.unwrap(), None);
    app.remove_study("Ada", BARS, 4, None).await.unwrap();
    assert_eq!(app.then(BARS).await.unwrap(), None);
}
