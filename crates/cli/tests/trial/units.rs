//! The right unit, whatever the table looks like; and numbers read by one rule.

use crate::{run, table};

fn json(text: &str, args: &[&str]) -> serde_json::Value {
    let (_folder, path) = table(text);
    let mut all = vec!["trial", "analyse", &path];
    all.extend(args);
    all.push("--json");
    run(&all).json()
}

/// Six batches on five days: 4 degrees of freedom for the food, not 24.
#[test]
fn a_batch_measured_on_five_days_counts_once() {
    let mut text = String::from("treatment,batch,day,y\n");
    for b in 0..6 {
        let level = 50.0 + [0.0, 3.0, -2.0, 1.0, -3.0, 2.5][b];
        for day in 1..=5 {
            let wobble = [0.3, -0.4, 0.1, 0.5, -0.2][(day + 2 * b) % 5];
            text += &format!("food{},B{b},{day},{}\n", ["A", "B"][b % 2], level + wobble);
        }
    }
    for unit in [None, Some("batch")] {
        let mut args = vec!["--response", "y"];
        if let Some(unit) = unit {
            args.extend(["--unit", unit]);
        }
        let found = json(&text, &args);
        let line = &found["table"][0];
        assert_eq!(line["term"], "treatment");
        assert!(
            (line["denominator_df"].as_f64().unwrap() - 4.0).abs() < 0.01,
            "{line}"
        );
        assert!(
            found["layout"]
                .as_str()
                .unwrap()
                .contains("measured at 5 levels of day")
        );
    }
    // Told that they were baked afresh, they are.
    let afresh = json(&text, &["--response", "y", "--block", "day"]);
    assert!(afresh["layout"].as_str().unwrap().contains("blocks of day"));
}

#[test]
fn level_names_are_text() {
    let text = "treatment,batch,y\n1.1,001,5\n1.1,01,6\n1.1,1,5.5\n1.10,002,8\n1.10,02,9\n1.10,2,8.5\n10,3,4\n10,03,4.5\n10,003,4.2\n1E1,4,7\n1E1,04,7.5\n1E1,004,7.1\n";
    let found = json(text, &["--response", "y"]);
    assert_eq!(found["units"], 12);
    let levels: Vec<&str> = found["means"]
        .as_array()
        .unwrap()
        .iter()
        .map(|m| m["level"].as_str().unwrap())
        .collect();
    assert_eq!(levels.len(), 4, "{levels:?}");
    assert!(levels.contains(&"1.10") && levels.contains(&"1E1"));
}

#[test]
fn numbers_are_read_by_the_one_rule() {
    let text = "treatment;y\nA;1.234\nA;2,5\nB;3,5\nB;4\n";
    let (_folder, path) = table(text);
    let refused = run(&[
        "trial",
        "analyse",
        &path,
        "--response",
        "y",
        "--decimal-comma",
    ]);
    assert_eq!(refused.code, 2, "{}", refused.said());
    assert!(
        refused.said().contains("1.234") && refused.said().contains("thousands"),
        "{}",
        refused.said()
    );
    // A true minus sign.
    let found = json(
        "treatment,y\nA,\u{2212}1.5\nA,-0.5\nB,3.5\nB,4\n",
        &["--response", "y"],
    );
    assert!((found["means"][0]["mean"].as_f64().unwrap() + 1.0).abs() < 1e-12);
    let thousand = json(
        "treatment,y\nA,\"1,234\"\nA,998\nB,1100\nB,1050\n",
        &["--response", "y"],
    );
    assert_eq!(thousand["findings"][0]["code"], "decimal-comma");
}

#[test]
fn an_option_that_cannot_be_used_is_an_error() {
    let text = "treatment,hour,y\ncontrol,1,5\ncontrol,2,6\nnew,1,8\nnew,2,9\n";
    for (args, code) in [
        (vec!["--control", "contrl"], "no-such-control"),
        (vec!["--margin", "2"], "margin-without-control"),
        (vec!["--margin=-2", "--control", "control"], "margin"),
        (vec!["--time", "hour"], "time-without-unit"),
        (vec!["--covariate", "x"], "no-such-column"),
    ] {
        let mut all = vec!["--response", "y"];
        all.extend(args);
        let found = json(text, &all);
        assert_eq!(found["ok"], false, "{all:?}");
        assert!(
            found["findings"]
                .as_array()
                .unwrap()
                .iter()
                .any(|f| f["code"] == code),
            "{all:?} {found}"
        );
    }
}

#[test]
fn better_by_far_is_no_worse() {
    let text = "treatment,y\ncontrol,50\ncontrol,52\ncontrol,49\ncontrol,51\ncontrol,50.5\nnew,70\nnew,72\nnew,69\nnew,71.5\nnew,70.2\n";
    let found = json(
        text,
        &[
            "--response",
            "y",
            "--control",
            "control",
            "--margin",
            "5",
            "--better",
            "higher",
        ],
    );
    assert_eq!(found["equivalence"][0]["not_worse"], true);
    let said = found["sentence"].as_str().unwrap();
    assert!(
        said.contains("It is no worse than control by 5.00 or more"),
        "{said}"
    );
}

#[test]
fn none_broken_has_an_estimate_and_an_interval() {
    let text = "treatment,batch,k,n\nctl,B1,0,40\nctl,B2,0,40\nctl,B3,0,40\nctl,B4,0,40\nnew,B5,5,40\nnew,B6,12,40\nnew,B7,9,40\nnew,B8,10,40\n";
    let found = json(
        text,
        &["--response", "k", "--out-of", "n", "--control", "ctl"],
    );
    let line = &found["comparisons"][0];
    // Firth: ln(36.5/124.5) − ln(0.5/160.5).
    assert!(
        (line["difference"].as_f64().unwrap() - 4.544_447_667_8).abs() < 1e-6,
        "{line}"
    );
    assert!(
        line["low95"].as_f64().unwrap() > 0.0 && line["high95"].as_f64().unwrap() < 20.0,
        "{line}"
    );
}

#[test]
fn huge_effects_are_answered_at_once() {
    let mut text = String::from("treatment,y\n");
    for i in 0..60 {
        text += &format!("t{},{}\n", i % 3, 1e9 * f64::from(i % 3) + f64::from(i % 7));
    }
    let found = json(&text, &["--response", "y", "--control", "t0"]);
    assert!(found["table"][0]["f"].as_f64().unwrap() > 1e12);
}

#[test]
fn keeping_looks_and_several_answer() {
    let mut text = String::from("batch,month,acid,force\n");
    for b in 0..3 {
        for month in [0, 1, 2, 3, 6] {
            let wobble = [0.01, -0.02, 0.015][(b + month as usize) % 3];
            text += &format!(
                "b{b},{month},{},{}\n",
                0.2 + 0.06 * f64::from(month) + wobble,
                40.0 + wobble * 50.0
            );
        }
    }
    let (_folder, path) = table(&text);
    let found = run(&[
        "trial",
        "keeping",
        &path,
        "--response",
        "acid",
        "--along",
        "month",
        "--limit",
        "1",
        "--side",
        "upper",
        "--json",
    ])
    .json();
    let keeps = found["keeps"].as_f64().unwrap();
    assert!((10.0..14.0).contains(&keeps), "{found}");
    assert!(
        found["sentence"]
            .as_str()
            .unwrap()
            .contains("Nothing was measured beyond")
    );
    let looks = run(&[
        "trial", "looks", "--looks", "2", "--spend", "even", "--json",
    ])
    .json();
    // Lan and DeMets' even spending, two looks: 2.157 and 2.201 (recomputed elsewhere to 1e-8).
    assert!((looks["looks"][0]["z"].as_f64().unwrap() - 2.156_999_2).abs() < 1e-5);
    let text = "treatment,y,z\nA,1,5\nA,2,6\nA,3,5\nB,11,5.5\nB,12,6\nB,13,5\n";
    let (_folder, path) = table(text);
    let several = run(&["trial", "several", &path, "--responses", "y,z", "--json"]).json();
    assert_eq!(several["lines"].as_array().unwrap().len(), 2);
    assert!(
        several["sentence"]
            .as_str()
            .unwrap()
            .contains("differ in y")
    );
}

#[test]
fn a_unit_that_was_measured_again_counts_once_in_every_count() {
    let mut text = String::from("treatment,batch,storage_day,y\n");
    for (t, treatment) in ["a", "b"].iter().enumerate() {
        for batch in 0..3 {
            for day in 0..5 {
                let y = 20 + 3 * t + batch + (day * 7 + batch) % 3;
                text += &format!("{treatment},{treatment}{batch},{day},{y}\n");
            }
        }
    }
    let (_folder, path) = table(&text);
    let told = run(&["trial", "analyse", &path, "--response", "y", "--json"]).json();
    assert_eq!((&told["units"], &told["rows"]), (&6.into(), &30.into()));
    for mean in told["means"].as_array().unwrap() {
        if mean["term"] == "treatment" {
            assert_eq!(mean["n"], 3);
        }
    }
}

#[test]
fn shares_of_a_split_plot_are_shares_and_yes_or_no_is_not_a_log_odd() {
    let mut split = String::from("day,oven,load,flour,broken,counted\n");
    for day in 0..4 {
        for oven in ["hot", "cold"] {
            for (f, flour) in ["rice", "barley", "pea"].iter().enumerate() {
                let broken = 2 + 3 * f + (day * 5 + f) % 4 + usize::from(oven == "hot");
                split += &format!("{day},{oven},{day}{oven},{flour},{broken},40\n");
            }
        }
    }
    let (_folder, path) = table(&split);
    let ask = [
        "--response",
        "broken",
        "--out-of",
        "counted",
        "--whole-plot",
        "oven",
    ];
    let args = [&["trial", "analyse", &path][..], &ask, &["--json"]].concat();
    let told = run(&args).json();
    let mean = |level: &str| {
        let all = told["means"].as_array().unwrap();
        let own = all.iter().find(|m| m["level"] == level).unwrap();
        own["mean"].as_f64().unwrap()
    };
    assert!((0.05..0.15).contains(&mean("rice")) && (0.2..0.35).contains(&mean("pea")));

    let mut eaten = String::from("food,dog,day,ate\n");
    for dog in 0..8 {
        for (f, food) in ["control", "new"].iter().enumerate() {
            for day in 0..4 {
                // The control is eaten on 3 days of 4, the new food on 1.
                let ate = usize::from((dog + day) % 4 > 2 * f);
                eaten += &format!("{food},d{dog},{day},{ate}\n");
            }
        }
    }
    let (_folder, path) = table(&eaten);
    let args = [
        "trial",
        "analyse",
        &path,
        "--response",
        "ate",
        "--unit",
        "dog",
        "--json",
    ];
    let told = run(&args).json();
    let means: Vec<f64> = ["control", "new"]
        .iter()
        .filter_map(|level| {
            let all = told["means"].as_array().unwrap();
            let own = all
                .iter()
                .find(|m| m["level"] == *level && m["term"] == "food")?;
            own["mean"].as_f64()
        })
        .collect();
    assert!(
        (means[0] - 0.75).abs() < 1e-9 && (means[1] - 0.25).abs() < 1e-9,
        "{told}"
    );
}
