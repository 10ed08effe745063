//! The invented data of the examples, put into the book: what the page of results says is what a file of them says.

use crate::{BARS, fresh};
use app::{
    App, MeasurementsFile, PanelAnswer, PanelQuestion, TableFormat, TrialAsked, TrialView,
    ask_panel, trial_rows, trial_table,
};
use bench::Asked;
use book::exchange::Decimal;
use std::collections::BTreeMap;
use trials::analyse::{Analysis, AnalysisRequest, Table, analyse};
use trials::palatability::{BowlRules, ranking_of, two_bowl_of};
use trials::plan::{Blocks, Request, Unit};

const BITE: &str = include_str!("../../../../examples/trial-bite.csv");
const BATCHES: &str = include_str!("../../../../examples/trial-bite-batches.csv");
const BOWLS: &str = include_str!("../../../../examples/trial-two-bowl.csv");

async fn planned(app: &App, treatments: &[&str], blocks: usize, responses: &[&str]) -> TrialView {
    let asked = TrialAsked {
        name: "As in the examples".into(),
        question: String::new(),
        study: BARS.into(),
        wish: Request::Blocks(Blocks {
            treatments: treatments.iter().map(|t| (*t).to_owned()).collect(),
            block_name: "bake_day".into(),
            blocks: (1..=blocks).map(|b| b.to_string()).collect(),
            per_block: 1,
        }),
        unit: Unit::Batch,
        seed: 3,
        control: Some("control".into()),
        responses: responses.iter().map(|r| Asked::read(r).unwrap()).collect(),
        pieces: Some(40),
        loss_pct: 5.0,
        blind: false,
    };
    let id = app.keep_trial("Ada", &asked, None).await.unwrap();
    app.trial(&id).await.unwrap()
}

async fn read_in(app: &App, view: &TrialView, text: &str) -> TrialView {
    let file = MeasurementsFile {
        bytes: text.as_bytes(),
        sheet: None,
        decimal: Decimal::Point,
        named: &[],
        correct: None,
    };
    let observed = app.measurements(view, &file).unwrap();
    assert_eq!(observed.problems, [], "{text}");
    app.enter_measurements("Ada", observed.new, None)
        .await
        .unwrap();
    app.trial(&view.entry.thing).await.unwrap()
}

fn table(text: &[u8]) -> Table {
    trial_table(
        trial_rows(text, None, Decimal::Point).unwrap(),
        Decimal::Point,
    )
    .unwrap()
}

/// The rows of a CSV as maps from its heads.
fn rows(text: &str) -> Vec<BTreeMap<&str, &str>> {
    let mut lines = text.lines();
    let head: Vec<&str> = lines.next().unwrap().split(',').collect();
    lines
        .map(|l| head.iter().copied().zip(l.split(',')).collect())
        .collect()
}

/// The code of the batch that the trial makes of a treatment on a day.
fn code<'a>(view: &'a TrialView, day: &str, treatment: &str) -> &'a str {
    let run = view
        .trial
        .runs
        .iter()
        .find(|r| r.places == [day] && r.treatment == treatment);
    &run.unwrap().unit
}

fn json(found: &Analysis) -> String {
    serde_json::to_string(found).unwrap()
}

/// What is on screen is what a file of the rows says, to the digit; and it agrees with the example's own file, whose rows
/// come in another order.
async fn same(app: &App, view: &TrialView, id: &str, example: Option<&str>) {
    let asked = view.trial.response(id).unwrap();
    let on_screen = app.result(view, asked).await.unwrap();
    let on_screen = on_screen.outcome.as_ref().unwrap();
    let file = app
        .measurements_file(view, Some(id), TableFormat::Csv)
        .unwrap();
    let of_file = analyse(&table(&file), &AnalysisRequest::of(id)).unwrap();
    assert_eq!(json(on_screen), json(&of_file), "{id}");
    let Some(example) = example else { return };
    let request = AnalysisRequest {
        control: Some("control".into()),
        margin: asked.margin,
        out_of: example
            .contains("counted")
            .then(|| "counted".to_owned())
            .filter(|_| id.starts_with("broken")),
        ..AnalysisRequest::of(id)
    };
    let own = analyse(&table(example.as_bytes()), &request).unwrap();
    assert_eq!(own.comparisons.len(), on_screen.comparisons.len(), "{id}");
    for line in &own.comparisons {
        let here = on_screen
            .comparisons
            .iter()
            .find(|c| c.a == line.a && c.b == line.b)
            .unwrap();
        for (x, y) in [
            (line.difference, here.difference),
            (line.low95.unwrap(), here.low95.unwrap()),
            (line.high95.unwrap(), here.high95.unwrap()),
        ] {
            assert!(
                (x - y).abs() <= 1e-6 * x.abs().max(1.0),
                "{id}: {x} and {y}"
            );
        }
    }
    assert_eq!(own.equivalence.len(), on_screen.equivalence.len(), "{id}");
    for line in &own.equivalence {
        let here = on_screen
            .equivalence
            .iter()
            .find(|e| e.a == line.a)
            .unwrap();
        assert_eq!(
            (&line.a, line.equivalent, line.not_worse),
            (&here.a, here.equivalent, here.not_worse)
        );
        assert!((line.low90 - here.low90).abs() < 1e-6);
    }
}

#[tokio::test]
async fn the_bite_of_the_examples_says_on_screen_what_its_files_say() {
    let (_folder, app) = fresh().await;
    let treatments = ["control", "barley", "rice_chickpea", "rice_chickpea_egg"];
    let responses = [
        "breaking_force_n:8:8",
        "moisture_130_percent:1:0.5",
        "broken_after_48h:1",
        "feel_score:8",
    ];
    let view = planned(&app, &treatments, 6, &responses).await;
    let mut text = "batch,piece,breaking_force_n,feel_score\n".to_owned();
    for row in rows(BITE) {
        let force: f64 = row["breaking_force_n"].parse().unwrap();
        // A score on five steps, from the force: steps have an order and no size.
        let score = (force / 18.0).ceil().clamp(1.0, 5.0);
        let code = code(&view, row["bake_day"], row["treatment"]);
        text.push_str(&format!(
            "{code},{},{},{score}\n",
            row["piece"], row["breaking_force_n"]
        ));
    }
    let view = read_in(&app, &view, &text).await;
    let mut text = "batch,moisture_130_percent,broken_after_48h,counted\n".to_owned();
    for row in rows(BATCHES) {
        let code = code(&view, row["bake_day"], row["treatment"]);
        text.push_str(&format!(
            "{code},{},{},{}\n",
            row["moisture_130_percent"], row["broken_after_48h"], row["counted"]
        ));
    }
    let view = read_in(&app, &view, &text).await;
    same(&app, &view, "breaking_force_n", Some(BITE)).await;
    same(&app, &view, "moisture_130_percent", Some(BATCHES)).await;
    same(&app, &view, "broken_after_48h", Some(BATCHES)).await;
    same(&app, &view, "feel_score", None).await;
    assert!(ask_panel(&view, PanelQuestion::TwoBowl, 0.0).is_none());
    assert!(ask_panel(&view, PanelQuestion::Ranking, 0.0).is_none());
}

#[tokio::test]
async fn a_panel_of_dogs_says_on_screen_what_its_file_says() {
    let (_folder, app) = fresh().await;
    let responses = ["intake_g:8", "offered_g:8", "first_choice:8", "rank:8"];
    let view = planned(&app, &["control", "barley"], 2, &responses).await;
    let foods = [
        ("a", code(&view, "1", "control")),
        ("b", code(&view, "1", "barley")),
    ];
    let mut text = "batch,dog,day,position,intake_g,offered_g,first_choice\n".to_owned();
    for row in rows(BOWLS) {
        for (food, code) in foods {
            let is = |column: &str| row[column].eq_ignore_ascii_case(food);
            let side = if is("left") { "left" } else { "right" };
            let first = match row["first"] {
                "" | "-" | "NA" => String::new(),
                _ => u8::from(is("first")).to_string(),
            };
            let eaten = row[format!("intake_{food}_g").as_str()];
            let offered = row[format!("offered_{food}_g").as_str()];
            text.push_str(&format!(
                "{code},{},{},{side},{eaten},{offered},{first}\n",
                row["dog"], row["day"]
            ));
        }
    }
    let view = read_in(&app, &view, &text).await;
    let own = two_bowl_of(&table(BOWLS.as_bytes()), BowlRules { least_total_g: 5.0 }).unwrap();
    let here = ask_panel(&view, PanelQuestion::TwoBowl, 5.0).unwrap();
    assert_eq!(
        here.foods,
        Some(["control".to_owned(), "barley".to_owned()])
    );
    assert!(own.first.is_some());
    let Ok(PanelAnswer::TwoBowl(said)) = &here.outcome else {
        panic!("{:?}", here.outcome);
    };
    let told = |found: &trials::palatability::TwoBowl| serde_json::to_string(found).unwrap();
    assert_eq!(told(said), told(&own));
    let taken_out = two_bowl_of(
        &table(&here.csv().unwrap()),
        BowlRules { least_total_g: 5.0 },
    );
    assert_eq!(told(said), told(&taken_out.unwrap()));

    let mut text = "batch,dog,rank\n".to_owned();
    let mut file = "dog,control,barley\n".to_owned();
    for (n, dog) in ["Rex", "Ida", "Bo", "Kim", "Pia"].iter().enumerate() {
        let ranks = if n < 4 { ["1", "2"] } else { ["1.5", "1.5"] };
        for ((_, code), rank) in foods.iter().zip(ranks) {
            text.push_str(&format!("{code},{dog},{rank}\n"));
        }
        file.push_str(&format!("{dog},{},{}\n", ranks[0], ranks[1]));
    }
    let view = read_in(&app, &view, &text).await;
    let here = ask_panel(&view, PanelQuestion::Ranking, 0.0).unwrap();
    let own = ranking_of(&table(file.as_bytes()), None).unwrap();
    let Ok(PanelAnswer::Ranking(said)) = &here.outcome else {
        panic!("{:?}", here.outcome);
    };
    assert_eq!(
        serde_json::to_string(said).unwrap(),
        serde_json::to_string(&own).unwrap()
    );
    // A side that nobody wrote is told by the reader of the file, not guessed.
    let one = format!(
        "batch,dog,day,intake_g\n{},Zoe,1,30\n{},Zoe,1,20\n",
        foods[0].1, foods[1].1
    );
    let view = read_in(&app, &view, &one).await;
    let wrong = ask_panel(&view, PanelQuestion::TwoBowl, 5.0)
        .unwrap()
        .outcome;
    assert!(wrong.unwrap_err().contains("is not A or B"));
}
