//! Trials: planned, measured, taken out, and told alike from the book and from a file of it.

use crate::{BARS, fresh};
use app::{
    App, AppError, MeasurementsFile, TableFormat, TrialAsked, TrialView, trial_rows, trial_table,
};
use bench::demonstration::{FORCE_SD_N, TRUTHS};
use bench::{Asked, Batch, More, Planned, Trial, write_form};
use book::exchange::Decimal;
use book::{Kind, Save};
use std::time::Instant;
use trials::analyse::{Analysis, AnalysisRequest, analyse};
use trials::plan::{Design, Request, Unit, plan};

fn request(id: &str) -> AnalysisRequest {
    AnalysisRequest::of(id)
}

async fn demonstration(app: &App) -> TrialView {
    app.trial("bite").await.unwrap()
}

async fn analysis(app: &App, view: &TrialView, id: &str) -> Analysis {
    let all = app.results(view).await.unwrap();
    let found = all.into_iter().find(|r| r.asked.id == id).unwrap();
    found.outcome.clone().unwrap()
}

/// The truth stands in `bench::demonstration`; the day was drawn once, from a seed that is the date it was made.
#[tokio::test]
async fn the_demonstration_day_is_whole_and_its_analysis_finds_the_truth() {
    let (_folder, app) = fresh().await;
    let view = demonstration(&app).await;
    assert_eq!(view.made.len(), 12);
    assert!(view.trial.invented);
    for made in view.made.iter() {
        let state = &made.state;
        assert!(
            state.signed.is_some() && state.after_signing.is_empty(),
            "{}",
            made.id
        );
        assert!(state.rows >= 40, "{}: {} rows", made.id, state.rows);
        assert!(
            state.findings.is_empty(),
            "{}: {:?}",
            made.id,
            state.findings
        );
        assert!(
            state
                .loads
                .iter()
                .all(|l| l.minutes.is_some_and(|m| m > 10.0))
        );
    }
    assert_eq!(
        view.made
            .iter()
            .filter(|m| !m.state.struck.is_empty())
            .count(),
        1
    );
    assert_eq!(view.done.signed, 12);

    let force = analysis(&app, &view, "breaking_force_n").await;
    assert_eq!(force.unit, "batch");
    for truth in &TRUTHS[1..] {
        let line = force
            .comparisons
            .iter()
            .find(|c| c.a == truth.treatment && c.b == "control");
        let line = line.unwrap();
        let wanted = truth.force_n - TRUTHS[0].force_n;
        let (low, high) = (line.low95.unwrap(), line.high95.unwrap());
        assert!(
            low <= wanted && wanted <= high,
            "{}: {wanted} not in {low} to {high}",
            truth.treatment
        );
        assert!(
            high - low < 12.0 * FORCE_SD_N.1,
            "an interval that says something"
        );
    }
    // Means of shares stand with their intervals.
    let whole = analysis(&app, &view, "whole_at_cutting").await;
    for truth in &TRUTHS {
        let mean = whole
            .means
            .iter()
            .find(|m| m.level == truth.treatment)
            .unwrap();
        let (low, high) = (mean.low95.unwrap(), mean.high95.unwrap());
        assert!(
            low <= truth.whole && truth.whole <= high,
            "{}: {low} to {high}",
            truth.treatment
        );
    }
    let moisture = analysis(&app, &view, "moisture_130_percent").await;
    for truth in &TRUTHS {
        let mean = moisture
            .means
            .iter()
            .find(|m| m.level == truth.treatment)
            .unwrap();
        let (low, high) = (mean.low95.unwrap(), mean.high95.unwrap());
        let wanted = truth.moisture_pct;
        assert!(
            low <= wanted && wanted <= high,
            "{}: {low} to {high}",
            truth.treatment
        );
    }
    let water = analysis(&app, &view, "water_dose_percent").await;
    for truth in &TRUTHS {
        let batch = view
            .made
            .iter()
            .find(|m| m.batch.treatment == truth.treatment)
            .unwrap();
        let wanted = batch.batch.need_kg_per_100kg().unwrap() + truth.water_off_kg;
        let mean = water
            .means
            .iter()
            .find(|m| m.level == truth.treatment)
            .unwrap();
        let (low, high) = (mean.low95.unwrap(), mean.high95.unwrap());
        assert!(
            low <= wanted && wanted <= high,
            "{}: {wanted} not in {low} to {high}",
            truth.treatment
        );
    }
    assert!(app.book().verify(|_, _| ()).await.unwrap().is_sound());
}

/// From the book and from a file of it, CSV or workbook: the same answer, every digit of it.
async fn told_alike(app: &App, view: &TrialView) -> usize {
    let mut compared = 0;
    for result in app.results(view).await.unwrap() {
        let id = &result.asked.id;
        if result.is_empty() {
            continue;
        }
        for format in TableFormat::ALL {
            let bytes = app.measurements_file(view, Some(id), format).unwrap();
            let rows = trial_rows(&bytes, None, Decimal::Point).unwrap();
            let table = trial_table(rows, Decimal::Point).unwrap();
            match (&result.outcome, analyse(&table, &request(id))) {
                (Ok(here), Ok(there)) => {
                    let text = |a: &Analysis| serde_json::to_string(a).unwrap();
                    assert_eq!(text(here), text(&there), "{id} as {}", format.word());
                    compared += 1;
                }
                (Err(here), Err(there)) => assert_eq!(here, &there),
                (here, there) => panic!("{id}: {} {}", here.is_ok(), there.is_ok()),
            }
        }
    }
    compared
}

#[tokio::test]
async fn a_file_of_the_measurements_says_the_same_to_the_last_digit() {
    let (_folder, app) = fresh().await;
    let view = demonstration(&app).await;
    assert_eq!(told_alike(&app, &view).await, 10);
    // A reading that is set aside, a batch that was given up, one that was made again.
    let key = view.made[0]
        .state
        .values
        .iter()
        .find(|v| v.what == bench::What::BendForce)
        .unwrap();
    let row = book::NewBenchEntry {
        key: "aside-1".into(),
        kind: Kind::Batch,
        thing: view.made[0].id.clone(),
        at: app::now(),
        arrived: app::now(),
        who: "Ada".into(),
        device: None,
        what: "set-aside".into(),
        of: Some(key.told.key.clone()),
        on: None,
        value: "a bubble; cracked before, see note".into(),
        unit: None,
        strikes: None,
        why: None,
    };
    app.enter_one(row).await.unwrap();
    app.abandon("Ada", &view.made[4].id, "the oven stopped")
        .await
        .unwrap();
    let again = More::Again(&view.trial.runs[4].unit);
    let new = app
        .more_batches("Ada", "bite", again, "the oven stopped")
        .await
        .unwrap();
    let view = demonstration(&app).await;
    assert_eq!(view.made.len(), 13);
    assert_eq!(view.done.abandoned.len(), 1);
    assert!(view.made.iter().any(|m| m.id == new));
    assert_eq!(told_alike(&app, &view).await, 10);
    let force = analysis(&app, &view, "breaking_force_n").await;
    assert!(force.with_all_rows.is_some() && force.sentence.contains("nothing left out"));
}

fn asked(wish: Request, unit: Unit, responses: Vec<Asked>) -> TrialAsked {
    TrialAsked {
        name: "One of every design".into(),
        question: "Which?".into(),
        study: BARS.into(),
        wish,
        unit,
        seed: 7,
        control: Some("control".into()),
        responses,
        pieces: Some(40),
        loss_pct: 5.0,
        blind: true,
    }
}

/// Every design is kept with the runs that the plan draws with the same seed, and its batches weigh something.
#[tokio::test]
async fn every_design_is_kept_as_it_is_drawn() {
    let (_folder, app) = fresh().await;
    for design in Design::ALL {
        for unit in design.units() {
            let wish = Request::example(design);
            let asked = asked(
                wish.clone(),
                *unit,
                vec![Asked::read("breaking_force_n:3").unwrap()],
            );
            let id = app.keep_trial("Ada", &asked, None).await.unwrap();
            let view = app.trial(&id).await.unwrap();
            let sheet = plan(&wish, *unit, 7).unwrap();
            let runs = |r: &Planned| {
                (
                    r.order,
                    r.unit.clone(),
                    r.treatment.clone(),
                    r.places.clone(),
                )
            };
            let kept: Vec<_> = view.trial.runs.iter().map(runs).collect();
            let drawn: Vec<_> = sheet
                .runs
                .iter()
                .map(|r| {
                    (
                        r.order,
                        r.unit_id.clone(),
                        r.treatment.clone(),
                        r.places.clone(),
                    )
                })
                .collect();
            assert_eq!(kept, drawn, "{design:?}");
            assert!(
                view.made
                    .iter()
                    .all(|m| m.batch.dry_mix_kg.is_some_and(|kg| kg > 0.0))
            );
            assert!(
                view.made
                    .iter()
                    .all(|m| m.batch.need_kg_per_100kg().is_some_and(|kg| kg > 0.0))
            );
        }
    }
    let taken = asked(
        Request::example(Design::Blocks),
        Unit::Batch,
        vec![Asked::read("crumbs (g)").unwrap()],
    );
    let wrong = app
        .keep_trial("Ada", &taken, Some("bite"))
        .await
        .unwrap_err();
    assert!(wrong.to_string().contains("already"), "{wrong}");
    let wrong = app
        .keep_trial("Ada", &taken, Some("../bite"))
        .await
        .unwrap_err();
    assert!(wrong.to_string().contains("hyphens"), "{wrong}");
    assert!(matches!(
        app.trial("nothing").await,
        Err(AppError::NoTrial(_))
    ));
}

/// A trial whose runs are those of a table: columns of the batch, the treatment and the block.
async fn trial_of_table(
    app: &App,
    id: &str,
    text: &str,
    columns: [&str; 3],
    responses: Vec<Asked>,
) -> TrialView {
    let mut lines = text.lines();
    let head: Vec<&str> = lines.next().unwrap().split(',').collect();
    let at = columns.map(|c| head.iter().position(|h| *h == c).unwrap());
    let mut runs: Vec<Planned> = Vec::new();
    for line in lines {
        let cells: Vec<&str> = line.split(',').collect();
        let [batch, treatment, block] = at.map(|i| cells[i].to_owned());
        if runs.iter().all(|r| r.unit != batch) {
            runs.push(Planned {
                order: runs.len() + 1,
                batch: bench::code_of(id, &batch),
                unit: batch,
                places: vec![block],
                treatment,
                levels: Vec::new(),
                added: false,
            });
        }
    }
    let like = demonstration(app).await;
    let trial = Trial {
        name: id.into(),
        place_names: vec![columns[2].into()],
        roles: format!(
            "design=blocks; treatment=treatment; block={}; unit=batch",
            columns[2]
        ),
        responses: responses.clone(),
        runs: runs.clone(),
        ..like.trial
    };
    let save = |kind, thing: &str, form: String| Save {
        kind,
        thing: thing.into(),
        base: None,
        who: "Ada".into(),
        when: app::now(),
        why: None,
        title: thing.into(),
        form_version: 1,
        form,
    };
    let mut saves = vec![save(Kind::Trial, id, trial.write().unwrap())];
    for run in &runs {
        let batch = Batch {
            code: run.unit.clone(),
            trial: Some(id.into()),
            label: run.treatment.clone(),
            treatment: run.treatment.clone(),
            responses: responses.clone(),
            ..like.made[0].batch.clone()
        };
        saves.push(save(Kind::Batch, &run.batch, write_form(&batch).unwrap()));
    }
    app.book().save_all(saves).await.unwrap();
    app.trial(id).await.unwrap()
}

fn file(bytes: &[u8]) -> MeasurementsFile<'_> {
    MeasurementsFile {
        bytes,
        sheet: None,
        decimal: Decimal::Point,
        named: &[],
        correct: None,
    }
}

/// The example tables read into trials of the book give the answers that the tables give by themselves, and files of
/// those trials give them again.
#[tokio::test]
async fn the_example_tables_say_the_same_in_the_book() {
    let (_folder, app) = fresh().await;
    let bite = include_str!("../../../../examples/trial-bite.csv");
    let batches = include_str!("../../../../examples/trial-bite-batches.csv");
    let read = |r: &str| Asked::read(r).unwrap();
    let both = [
        ("force", bite, vec![read("breaking_force_n:8")]),
        (
            "rest",
            batches,
            vec![read("moisture_130_percent"), read("broken_after_48h")],
        ),
    ];
    for (id, text, responses) in both {
        let columns = ["batch", "treatment", "bake_day"];
        let view = trial_of_table(&app, id, text, columns, responses.clone()).await;
        let observed = app.measurements(&view, &file(text.as_bytes())).unwrap();
        assert_eq!(observed.problems, [], "{id}");
        assert_eq!(observed.rows, text.lines().count() - 1);
        let entered = app
            .enter_measurements("Ada", observed.new, None)
            .await
            .unwrap();
        assert!(entered.refused.is_empty() && entered.entered >= observed.rows);
        // The same file again: nothing new.
        let view = app.trial(id).await.unwrap();
        let again = app.measurements(&view, &file(text.as_bytes())).unwrap();
        assert_eq!((again.new.len(), again.problems.len()), (0, 0), "{id}");
        assert_eq!(again.kept_already, observed.rows * responses.len());
        assert!(told_alike(&app, &view).await >= 2 * responses.len());
        let rows = trial_rows(text.as_bytes(), None, Decimal::Point).unwrap();
        let table = trial_table(rows, Decimal::Point).unwrap();
        for asked in &responses {
            let ask = AnalysisRequest {
                control: Some("control".into()),
                blocks: vec!["bake_day".into()],
                out_of: (asked.id == "broken_after_48h").then(|| "counted".into()),
                ..request(&asked.id)
            };
            let (here, there) = (
                analysis(&app, &view, &asked.id).await,
                analyse(&table, &ask).unwrap(),
            );
            assert_eq!(here.means.len(), there.means.len(), "{}", asked.id);
            for (a, b) in here.means.iter().zip(&there.means) {
                assert_eq!(a.level, b.level);
                let (x, y) = (a.mean.unwrap(), b.mean.unwrap());
                assert!((x - y).abs() <= 1e-9 * y.abs(), "{}: {x} {y}", asked.id);
            }
            for (a, b) in here.comparisons.iter().zip(&there.comparisons) {
                assert!((a.difference - b.difference).abs() <= 1e-9 * (1.0 + b.difference.abs()));
                assert!((a.p_adjusted - b.p_adjusted).abs() <= 1e-6);
            }
        }
    }
}

/// Each odd cell is told with its row and column, and what is fine is read all the same.
#[tokio::test]
async fn odd_tables_are_told_cell_by_cell() {
    let (_folder, app) = fresh().await;
    let responses =
        ["breaking_force_n:3", "broken_after_48h", "crumbs (g)"].map(|r| Asked::read(r).unwrap());
    let asked = asked(
        Request::example(Design::Blocks),
        Unit::Batch,
        responses.to_vec(),
    );
    let id = app.keep_trial("Ada", &asked, Some("odd")).await.unwrap();
    let view = app.trial(&id).await.unwrap();
    let treatment = view.trial.runs[0].treatment.clone();
    let odd = format!(
        "\u{feff}batch;treatment;piece;Breaking force (N);broken_after_48h;counted;crumbs (kg);shelf\r\n\
         B01;{treatment};1;61,5;;;0,0025;x\r\n\
         B01;{treatment};1;62;;;;\r\n\
         B01;nothing like it;2;62;;;;\r\n\
         B99;;1;62;;;;\r\n\
         b02;;1;sixty;;;;\r\n\
         B03;;1;4000;;;;\r\n\
         B04;;;;9;8;;\r\n\
         B05;;;;3;80;;\r\n\
         =cmd|' /C calc'!A0;;1;5;;;;\r\n"
    );
    let comma = MeasurementsFile {
        decimal: Decimal::Comma,
        ..file(odd.as_bytes())
    };
    let observed = app.measurements(&view, &comma).unwrap();
    let told: Vec<(usize, &str)> = observed
        .problems
        .iter()
        .map(|p| (p.row, p.column.as_str()))
        .collect();
    assert_eq!(
        told,
        [
            (3, "Breaking force (N)"),
            (4, "treatment"),
            (5, "batch"),
            (6, "Breaking force (N)"),
            (8, "counted"),
            (10, "batch")
        ],
        "{:?}",
        observed.problems
    );
    assert_eq!(observed.marked.len(), 1);
    assert_eq!(observed.marked[0].row, 7);
    // 61,5 N, 0,0025 kg, 4000 N, 3 of 80 with what it is out of.
    assert_eq!(observed.new.len(), 5);
    let entered = app
        .enter_measurements("Ada", observed.new, None)
        .await
        .unwrap();
    assert_eq!((entered.entered, entered.refused.len()), (5, 0));
    let view = app.trial(&id).await.unwrap();
    let crumbs = bench::readings(&view.made[0].state, &view.trial.responses[2]);
    assert!(
        (crumbs[0].value - 2.5).abs() < 1e-12,
        "kg in the head, g in the book"
    );
    // Another value for the same piece: told, or struck through with a reason.
    let other = b"batch,piece,breaking_force_n\nB01,1,60\n";
    let clash = app.measurements(&view, &file(other)).unwrap();
    assert!(
        clash.new.is_empty() && clash.problems[0].why.contains("61.5"),
        "{:?}",
        clash.problems
    );
    let correct = MeasurementsFile {
        correct: Some("read off again"),
        ..file(other)
    };
    let mended = app.measurements(&view, &correct).unwrap();
    assert!(mended.problems.is_empty() && mended.new[0].strikes.is_some());
    app.enter_measurements("Ada", mended.new, Some("read off again"))
        .await
        .unwrap();
    let view = app.trial(&id).await.unwrap();
    let state = &view.made[0].state;
    assert_eq!(state.struck[0].value, "61.5");
    assert_eq!(
        bench::readings(state, &view.trial.responses[0])[0].value,
        60.0
    );
    // No such columns at all; nothing at all; no table at all.
    for bad in [
        &b"a,b\n1,2\n"[..],
        b"",
        b"batch,breaking_force_n\n",
        b"batch,breaking_force_n,breaking_force_n\nB01,1,2\n",
    ] {
        let told = app.measurements(&view, &file(bad)).unwrap();
        assert!(!told.problems.is_empty() && told.new.is_empty(), "{bad:?}");
    }
    assert!(app.measurements(&view, &file(b"\xff\xfe\x00")).is_err());
    // A column that a person names.
    let named = [("Kraft".to_owned(), "breaking_force_n".to_owned())];
    let own = MeasurementsFile {
        named: &named,
        ..file(b"code,piece,Kraft\nB06,1,55\n")
    };
    assert_eq!(app.measurements(&view, &own).unwrap().new.len(), 1);
}

/// A hundred thousand readings: read, matched, entered. Told rather than judged here, for a test runs beside others.
#[tokio::test]
#[ignore = "measures; run it alone"]
async fn a_hundred_thousand_measurements() {
    let (_folder, app) = fresh().await;
    let responses = vec![Asked::read("breaking_force_n:10000").unwrap()];
    let asked = asked(Request::example(Design::Blocks), Unit::Batch, responses);
    let id = app.keep_trial("Ada", &asked, Some("many")).await.unwrap();
    let view = app.trial(&id).await.unwrap();
    let mut text = String::from("batch,piece,breaking_force_n\n");
    for i in 0..100_000 {
        text.push_str(&format!(
            "B{:02},{},{}.{}\n",
            i % 12 + 1,
            i / 12 + 1,
            40 + i % 30,
            i % 10
        ));
    }
    let start = Instant::now();
    let observed = app.measurements(&view, &file(text.as_bytes())).unwrap();
    let read = start.elapsed();
    assert_eq!((observed.new.len(), observed.problems.len()), (100_000, 0));
    let entered = app
        .enter_measurements("Ada", observed.new, None)
        .await
        .unwrap();
    let all = start.elapsed();
    assert_eq!(entered.entered, 100_000);
    let start = Instant::now();
    let view = app.trial(&id).await.unwrap();
    let opened = start.elapsed();
    let start = Instant::now();
    let results = app.results(&view).await.unwrap();
    assert!(results[0].outcome.is_ok());
    println!(
        "read {read:?}, with entering {all:?}, folded {opened:?}, analysed {:?}",
        start.elapsed()
    );
}
