//! The analysis finds the truth that the demonstration was drawn from.

use crate::demo::{self, TRUTH};
use crate::{example, made, root, run};
use serde_json::Value;

#[test]
fn the_example_files_are_those_of_the_seed() {
    for (name, text) in demo::files() {
        made(
            &root().join("examples").join(name),
            &text,
            "UPDATE_EXAMPLES",
        );
    }
}

fn number(v: &Value, key: &str) -> f64 {
    v[key].as_f64().unwrap_or(f64::NAN)
}

fn truth(id: &str) -> &'static demo::Truth {
    TRUTH.iter().find(|t| t.id == id).unwrap()
}

#[test]
fn force_differences_cover_the_truth_and_the_large_one_is_shown() {
    let ran = run(&[
        "trial",
        "analyse",
        &example("trial-bite.csv"),
        "--response",
        "breaking_force_n",
        "--control",
        "control",
        "--margin",
        "8",
        "--json",
    ]);
    assert_eq!(ran.code, 0, "{}", ran.said());
    let found = ran.json();
    assert_eq!(found["unit"], "batch");
    let comparisons = found["comparisons"].as_array().unwrap();
    assert_eq!(comparisons.len(), 3);
    for c in comparisons {
        assert_eq!(c["b"], "control");
        let true_difference = truth(c["a"].as_str().unwrap()).force_n - truth("control").force_n;
        assert!(
            number(c, "low95") <= true_difference && true_difference <= number(c, "high95"),
            "{c}"
        );
        if c["a"] == "rice_chickpea" {
            assert!(number(c, "p_adjusted") < 0.01 && number(c, "high95") < 0.0);
        }
    }
    // Every field that other programs read.
    for (list, fields) in [
        (
            "table",
            &[
                "term",
                "df",
                "sum_sq",
                "mean_sq",
                "f",
                "p",
                "denominator_df",
            ][..],
        ),
        (
            "means",
            &["level", "n", "mean", "se", "low95", "high95", "letters"],
        ),
        (
            "comparisons",
            &[
                "a",
                "b",
                "difference",
                "low95",
                "high95",
                "p_adjusted",
                "method",
            ],
        ),
        ("variance", &["term", "value"]),
    ] {
        for line in found[list].as_array().unwrap() {
            for field in fields {
                assert!(line.get(field).is_some(), "{list} has no {field}: {line}");
            }
        }
        assert!(!found[list].as_array().unwrap().is_empty(), "{list}");
    }
    for key in ["checks", "effect", "sentence", "unit", "findings"] {
        assert!(found.get(key).is_some(), "{key}");
    }
    // A batch of eight pieces is one unit of each mean.
    assert!(
        found["means"]
            .as_array()
            .unwrap()
            .iter()
            .all(|m| m["n"] == 6)
    );
}

#[test]
fn moisture_and_breakage_cover_the_truth() {
    let batches = example("trial-bite-batches.csv");
    let moisture = run(&[
        "trial",
        "analyse",
        &batches,
        "--response",
        "moisture_130_percent",
        "--treatment",
        "treatment",
        "--block",
        "bake_day",
        "--unit",
        "batch",
        "--control",
        "control",
        "--json",
    ]);
    assert_eq!(moisture.code, 0, "{}", moisture.said());
    for c in moisture.json()["comparisons"].as_array().unwrap() {
        let d = truth(c["a"].as_str().unwrap()).moisture_pct - truth("control").moisture_pct;
        assert!(number(c, "low95") <= d && d <= number(c, "high95"), "{c}");
    }
    let broken = run(&[
        "trial",
        "analyse",
        &batches,
        "--response",
        "broken_after_48h",
        "--out-of",
        "counted",
        "--treatment",
        "treatment",
        "--block",
        "bake_day",
        "--unit",
        "batch",
        "--control",
        "control",
        "--json",
    ]);
    assert_eq!(broken.code, 0, "{}", broken.said());
    // Of nine simultaneous intervals of the page one misses its truth, barely: such things happen in
    // about one in twenty, which the test over many seeds counts.
    let found = broken.json();
    let lines = found["comparisons"].as_array().unwrap();
    assert!(lines.iter().filter(|c| !covers_odds(c)).count() <= 1);
    let large = lines.iter().find(|c| c["a"] == "rice_chickpea").unwrap();
    assert!(covers_odds(large) && number(large, "p_adjusted") < 0.05);
}

fn covers_odds(c: &Value) -> bool {
    let odds = |p: f64| (p / (1.0 - p)).ln();
    let d = odds(truth(c["a"].as_str().unwrap()).broken) - odds(truth("control").broken);
    number(c, "low95") <= d && d <= number(c, "high95")
}

#[test]
#[ignore = "slow: 300 trials of three responses"]
fn over_many_seeds_the_truth_is_covered_as_promised() {
    use trials::analyse::{AnalysisRequest, analyse};
    const TRIALS: u64 = 300;
    let mut hit = [0u32; 3];
    for seed in 0..TRIALS {
        let (pieces, batches) = demo::bite(seed);
        for (i, (text, response, out_of)) in [
            (&pieces, "breaking_force_n", None),
            (&batches, "moisture_130_percent", None),
            (&batches, "broken_after_48h", Some("counted")),
        ]
        .into_iter()
        .enumerate()
        {
            let request = AnalysisRequest {
                treatments: vec!["treatment".into()],
                blocks: vec!["bake_day".into()],
                unit: Some("batch".into()),
                control: Some("control".into()),
                out_of: out_of.map(String::from),
                ..AnalysisRequest::of(response)
            };
            let found = analyse(&read(text), &request).unwrap();
            let value = |id: &str| {
                let t = truth(id);
                [
                    t.force_n,
                    t.moisture_pct,
                    (t.broken / (1.0 - t.broken)).ln(),
                ][i]
            };
            let all = found.comparisons.iter().all(|c| {
                let d = value(&c.a) - value(&c.b);
                c.low95.unwrap() <= d && d <= c.high95.unwrap()
            });
            hit[i] += u32::from(all);
        }
    }
    let share = hit.map(|h| f64::from(h) / TRIALS as f64);
    println!("all three differences covered: force, moisture, breakage {share:?}");
    // 95 % of 300 trials has a standard error of 1.3 points. Breakage is by an approximation (Wald).
    assert!(share.iter().all(|s| *s > 0.90), "{share:?}");
}

#[test]
fn pieces_as_replicates_are_refused_with_the_reason() {
    let ran = run(&[
        "trial",
        "analyse",
        &example("trial-bite.csv"),
        "--response",
        "breaking_force_n",
        "--unit",
        "piece",
    ]);
    assert_eq!(ran.code, 1);
    assert!(
        ran.err.contains("can't be the experimental unit"),
        "{}",
        ran.err
    );
    assert!(ran.err.contains("batch"), "{}", ran.err);
}

#[test]
fn the_two_bowl_trial_covers_the_truth() {
    let ran = run(&["trial", "twobowl", &example("trial-two-bowl.csv"), "--json"]);
    assert_eq!(ran.code, 0, "{}", ran.said());
    let found = ran.json();
    assert_eq!(found["dogs"], demo::DOGS);
    let covers = |v: &Value, x: f64| number(v, "low95") <= x && x <= number(v, "high95");
    assert!(
        covers(&found["ratio"], demo::SHARE[0]),
        "{}",
        found["ratio"]
    );
    assert!(covers(&found["side"], demo::SHARE[1]), "{}", found["side"]);
}

#[test]
fn exclusions_need_a_reason_and_both_answers_are_shown() {
    let data = example("trial-bite.csv");
    let base = [
        "trial",
        "analyse",
        &data,
        "--response",
        "breaking_force_n",
        "--control",
        "control",
    ];
    let bare = run(&[&base[..], &["--exclude", "17"]].concat());
    assert_eq!(bare.code, 2, "{}", bare.said());
    assert!(bare.err.contains("row 17"), "{}", bare.err);
    let told = run(&[&base[..], &["--exclude", "17=oven door stood open"]].concat());
    assert_eq!(told.code, 0, "{}", told.said());
    assert!(told.out.contains("With nothing left out"));
    assert!(told.out.contains("oven door stood open"));
    assert!(told.out.contains("Means with nothing left out"));
}

#[test]
fn pages_carry_everything_and_read_back() {
    let folder = tempfile::tempdir().unwrap();
    let at = |name: &str| folder.path().join(name).display().to_string();
    let (html, markdown, csv) = (at("a.html"), at("a.md"), at("a.csv"));
    let args = [
        "trial",
        "analyse",
        &example("trial-bite.csv"),
        "--response",
        "breaking_force_n",
        "--control",
        "control",
        "--html",
        &html,
        "--markdown",
        &markdown,
        "--csv",
        &csv,
    ];
    let ran = run(&args);
    assert_eq!(ran.code, 0, "{}", ran.said());
    let page = std::fs::read_to_string(&html).unwrap();
    let sentence = "95 % interval";
    let (said, drawn, means) = (
        page.find(sentence).unwrap(),
        page.find("<figure").unwrap(),
        page.find("<h2>Means").unwrap(),
    );
    assert!(
        said < drawn && drawn < means,
        "sentence, then pictures, then tables"
    );
    assert!(
        !page.contains("http://")
            || page.matches("http://").count() == page.matches("http://www.w3.org").count()
    );
    assert!(!page.contains("https://") && !page.contains("<script"));
    assert!(page.matches("class=\"observation\"").count() >= 24);
    assert!(
        std::fs::read_to_string(&markdown)
            .unwrap()
            .contains("| rice_chickpea | 6 |")
    );
    let lines = std::fs::read_to_string(&csv).unwrap();
    assert!(lines.starts_with("table,row,column,value\r\n"));
    assert!(lines.lines().all(|l| l.contains(',')));
    // What is there stays as it is.
    let again = run(&args);
    assert_eq!(again.code, 2);
    assert!(again.err.contains("--force"));
}

#[test]
fn the_terminal_is_narrow_and_plain() {
    for args in [
        vec![
            "trial",
            "analyse",
            "trial-bite.csv",
            "--response",
            "breaking_force_n",
            "--control",
            "control",
        ],
        vec!["trial", "twobowl", "trial-two-bowl.csv"],
    ] {
        let mut args = args;
        let path = example(args[2]);
        args[2] = &path;
        let ran = run(&args);
        assert!(!ran.out.contains('\u{1b}'), "no colour into a pipe");
        for line in ran.out.lines() {
            assert!(line.chars().count() <= 100, "{line}");
        }
    }
}

#[test]
fn a_spreadsheet_gives_the_same_answer() {
    let text = std::fs::read_to_string(example("trial-bite.csv")).unwrap();
    let rows = text
        .lines()
        .map(|l| {
            l.split(',')
                .map(|c| {
                    c.parse::<f64>()
                        .map_or_else(|_| c.into(), book::exchange::Cell::from)
                })
                .collect()
        })
        .collect();
    let sheet = book::exchange::Table { rows };
    let bytes = book::exchange::xlsx::write(&[("bite", &sheet)]).unwrap();
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("bite.xlsx");
    std::fs::write(&path, bytes).unwrap();
    let tail = [
        "--response",
        "breaking_force_n",
        "--control",
        "control",
        "--json",
    ];
    let of = |path: &str| run(&[&["trial", "analyse", path][..], &tail].concat()).json();
    assert_eq!(
        of(&path.display().to_string()),
        of(&example("trial-bite.csv"))
    );
    let missing = run(&[
        "trial",
        "analyse",
        &path.display().to_string(),
        "--response",
        "breaking_force_n",
        "--sheet",
        "bit",
    ]);
    assert_eq!(missing.code, 2);
    assert!(missing.err.contains("bite"), "{}", missing.err);
}

/// A table of plain comma-separated text.
fn read(text: &str) -> trials::analyse::Table {
    use trials::analyse::{Cell, Table};
    let mut lines = text.lines().map(|l| l.split(','));
    let head = lines.next().unwrap().map(String::from).collect();
    let rows = lines
        .enumerate()
        .map(|(i, line)| (i + 2, line.map(|c| Cell::of(c, c.parse().ok())).collect()));
    Table::from_rows(head, rows.collect()).unwrap()
}
