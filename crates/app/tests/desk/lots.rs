//! Lots: what came in of a material, and what taking one changes in a study.

use crate::{BARS, fresh};
use ::study::Figure;
use ::study::edit::Put;
use app::{App, AppError, Lot, Values};
use book::{Kind, NewBenchEntry};

const FLOUR: &str = "wheat_flour_soft";

fn lot(code: &str, values: &[(&str, f64)]) -> Lot {
    let put = |(key, n): &(&str, f64)| ((*key).to_owned(), Put::Number(*n));
    Lot {
        material: FLOUR.to_owned(),
        code: code.to_owned(),
        received: Some("2026-11-02".parse().unwrap()),
        best_before: Some("2027-05-02".parse().unwrap()),
        certificate: Some("C 114".to_owned()),
        values: values.iter().map(put).collect::<Values>(),
    }
}

async fn with_two() -> (tempfile::TempDir, App) {
    let (folder, app) = fresh().await;
    let dry = lot(
        "W/77 ü",
        &[
            ("moisture_pct", 9.2),
            ("crude_protein_pct", 11.4),
            ("spread.crude_protein_pct", 0.4),
        ],
    );
    let wet = lot("W/78", &[("moisture_pct", 14.6)]);
    app.save_lot("Ada", None, &dry).await.unwrap();
    app.save_lot("Ada", None, &wet).await.unwrap();
    (folder, app)
}

/// What is told before a lot is taken is what the sheet shows afterwards, to the last bit.
#[tokio::test]
async fn what_a_lot_would_change_is_what_it_changes() {
    for code in ["W/77 ü", "W/78"] {
        let (_folder, app) = with_two().await;
        let view = app.study("Ada", BARS).await.unwrap();
        let told = app.lots_in(&view).await.unwrap();
        assert_eq!(told.len(), 2);
        let lot = told.iter().find(|l| l.lot.lot.code == code).unwrap();
        assert!(!lot.taken && lot.why.is_none());
        let seen = app.study("Ada", BARS).await.unwrap().base;
        let after = app
            .take_lot("Ada", BARS, seen, (FLOUR, code))
            .await
            .unwrap();
        for worked in &after.answers.worked {
            let id = &worked.answer.id;
            for figure in Figure::ALL {
                let then = lot.figure(id, figure).map(|(with, _)| with);
                assert_eq!(then, figure.value(&worked.answer), "{code} {id} {figure:?}");
            }
        }
        let moisture = |v: Option<(f64, f64)>| v.map(|(with, now)| with - now).unwrap();
        let moved = moisture(lot.figure("control", Figure::DoughMoisture));
        // Drier flour makes a drier dough, wetter flour a wetter one, where the water isn't left to the need.
        assert!(
            if code == "W/78" {
                moved > 0.0
            } else {
                moved < 0.0
            },
            "{code} {moved}"
        );
    }
}

/// Of the lot before nothing stays: protein and spread came with W/77 alone.
#[tokio::test]
async fn taking_another_lot_leaves_nothing_of_the_one_before() {
    let (_folder, app) = with_two().await;
    let take = async |code| {
        let base = app.study("Ada", BARS).await.unwrap().base;
        app.take_lot("Ada", BARS, base, (FLOUR, code))
            .await
            .unwrap()
    };
    let first = take("W/77 ü").await;
    assert!(first.text.contains("lot = \"W/77 ü\"") && first.text.contains("certificate C 114"));
    assert!(first.text.contains("crude_protein_pct = 11.4") && first.text.contains("spread"));
    let told = app.lots_in(&first).await.unwrap();
    let taken: Vec<bool> = told.iter().map(|l| l.taken).collect();
    assert_eq!(taken.iter().filter(|t| **t).count(), 1);
    assert!(told.iter().filter(|l| l.taken).all(|l| l.with.is_empty()));
    let second = take("W/78").await;
    assert!(second.text.contains("moisture_pct = 14.6"));
    assert!(!second.text.contains("crude_protein_pct = 11.4"));
    assert!(!second.text.contains("spread = { crude_protein_pct = 0.4 }"));
    // A certificate that is corrected afterwards isn't what the study has any more.
    let kept = app.lots(FLOUR).await.unwrap();
    let kept = kept.iter().find(|k| k.lot.code == "W/78").unwrap();
    let corrected = lot("W/78", &[("moisture_pct", 13.6)]);
    app.save_lot("Ada", Some(kept.entry.number), &corrected)
        .await
        .unwrap();
    let told = app
        .lots_in(&app.study("Ada", BARS).await.unwrap())
        .await
        .unwrap();
    assert!(told.iter().any(|l| l.taken && !l.with.is_empty()));
}

#[tokio::test]
async fn a_lot_that_cannot_be_is_told_and_nothing_is_kept() {
    let (_folder, app) = with_two().await;
    let refused = async |lot: Lot| match app.save_lot("Ada", None, &lot).await {
        Err(AppError::Value { field, why }) => format!("{field}: {why}"),
        other => panic!("{other:?}"),
    };
    let twice = refused(lot("W/78", &[])).await;
    assert!(twice.contains("already"), "{twice}");
    assert!(refused(lot("  ", &[])).await.contains("stands on the bag"));
    assert!(
        refused(lot("a\u{7}", &[]))
            .await
            .contains("stands on the bag")
    );
    let mut late = lot("W/79", &[]);
    late.best_before = Some("2026-11-01".parse().unwrap());
    assert!(
        refused(late)
            .await
            .contains("2026-11-01 is before 2026-11-02")
    );
    let beyond = refused(lot("W/80", &[("moisture_pct", 120.0)])).await;
    assert!(beyond.contains("120"), "{beyond}");
    // A spread needs its value.
    let alone = refused(lot("W/81", &[("spread.ash_pct", 0.2)])).await;
    assert!(alone.contains("ash"), "{alone}");
    assert_eq!(app.lots(FLOUR).await.unwrap().len(), 2);
    assert!(
        app.lots("wheat_flour").await.unwrap().is_empty(),
        "a name that another begins with"
    );
    let none = app
        .take_lot("Ada", BARS, 1, (FLOUR, "W/99"))
        .await
        .unwrap_err();
    assert!(none.to_string().contains("no lot ‘W/99’"));
}

/// From a lot to its batches: those that name it, less those where the name was struck through.
#[tokio::test]
async fn where_a_lot_went_is_found_from_the_rows_that_name_it() {
    let (_folder, app) = with_two().await;
    let trial = app.trials(None).await.unwrap().remove(0);
    let made = app.trial(&trial.entry.thing).await.unwrap().made;
    let (first, second) = (made[0].id.clone(), made[1].id.clone());
    let row = |key: &str, thing: &str, strikes: Option<&str>, value: &str| NewBenchEntry {
        key: key.to_owned(),
        kind: Kind::Batch,
        thing: thing.to_owned(),
        at: app::now(),
        arrived: app::now(),
        who: "Ada".to_owned(),
        device: None,
        what: "lot".to_owned(),
        of: Some(FLOUR.to_owned()),
        on: None,
        value: value.to_owned(),
        unit: None,
        strikes: strikes.map(str::to_owned),
        why: strikes.map(|_| "read the wrong bag".to_owned()),
    };
    let rows = vec![
        row("lot-a", &first, None, "W/78"),
        row("lot-b", &second, None, "W/78"),
        row("lot-c", &second, Some("lot-b"), "W/77 ü"),
    ];
    app.book().enter(rows).await.unwrap();
    let ids = async |code| {
        let went = app.lot_went(FLOUR, code).await.unwrap();
        assert!(went.lot.is_some());
        went.batches
            .into_iter()
            .map(|batch| batch.made.id)
            .collect::<Vec<_>>()
    };
    assert_eq!(ids("W/78").await, [first]);
    assert_eq!(ids("W/77 ü").await, [second]);
    let went = app.lot_went(FLOUR, "W/78").await.unwrap().batches.remove(0);
    // Eight pieces were bent, one moisture and one water activity read; the treatment is told by its name.
    assert_eq!(went.made.state.measured().count(), 10);
    assert!(went.called.contains(' '), "{}", went.called);
    assert!(matches!(
        app.lot_went(FLOUR, "W/99").await,
        Err(AppError::NoLot { .. })
    ));
}
