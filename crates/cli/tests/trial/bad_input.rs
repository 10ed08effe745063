//! Data that can't be taken as they are: a clear message or finding, never a silent wrong answer.

use crate::{Ran, run, table};

fn analyse(text: &str, more: &[&str]) -> Ran {
    let (_folder, path) = table(text);
    run(&[
        &["trial", "analyse", &path, "--response", "force"][..],
        more,
    ]
    .concat())
}

#[test]
fn one_batch_per_treatment_says_what_can_be_said() {
    let mut text = String::from("treatment,batch,piece,force\n");
    for (batch, treatment) in ["A", "B", "C"].iter().enumerate() {
        for piece in 0..5 {
            text += &format!("{treatment},{batch},{piece},{}\n", 50 + 7 * batch + piece);
        }
    }
    let ran = analyse(&text, &["--json"]);
    let found = ran.json();
    let codes: Vec<&str> = found["findings"]
        .as_array()
        .unwrap()
        .iter()
        .filter_map(|f| f["code"].as_str())
        .collect();
    assert!(codes.contains(&"one-batch-per-treatment"), "{codes:?}");
    assert!(
        found["comparisons"].as_array().unwrap().is_empty(),
        "no p-value from pieces"
    );
    assert!(
        found["sentence"]
            .as_str()
            .unwrap()
            .contains("one batch of each")
    );
}

#[test]
fn text_in_a_number_column_names_row_and_column() {
    let ran = analyse(
        "treatment,batch,force\nA,1,10\nA,2,soft\nB,3,12\nB,4,13\n",
        &[],
    );
    assert_eq!(ran.code, 2, "{}", ran.said());
    assert!(
        ran.err.contains("row 3") && ran.err.contains("force") && ran.err.contains("soft"),
        "{}",
        ran.err
    );
}

#[test]
fn empty_cells_are_named() {
    // Of the response: left out and told.
    let ran = analyse(
        "treatment,batch,force\nA,1,10\nA,2,\nA,3,11\nB,4,15\nB,5,16\nB,6,17\n",
        &["--json"],
    );
    assert_eq!(ran.code, 0, "{}", ran.said());
    let all = ran.json()["findings"].to_string();
    assert!(
        all.contains("missing-values") && all.contains("row 3"),
        "{all}"
    );
    // Of the treatment: not guessed.
    let ran = analyse(
        "treatment,batch,force\nA,1,10\n,2,11\nB,3,12\nB,4,13\n",
        &[],
    );
    assert_eq!(ran.code, 2, "{}", ran.said());
    assert!(
        ran.err.contains("row 3") && ran.err.contains("treatment"),
        "{}",
        ran.err
    );
}

#[test]
fn decimal_commas_are_read_when_told_and_noticed_when_not() {
    let text = "treatment;batch;force\nA;1;10,5\nA;2;11,5\nB;3;15,0\nB;4;16,0\n";
    let ran = analyse(text, &[]);
    assert_eq!(ran.code, 2, "{}", ran.said());
    assert!(
        ran.err.contains("comma") && ran.err.contains("row 2"),
        "{}",
        ran.err
    );
    let ran = analyse(text, &["--decimal-comma", "--json"]);
    assert_eq!(ran.code, 0, "{}", ran.said());
    let d = ran.json()["comparisons"][0]["difference"].as_f64().unwrap();
    assert!((d.abs() - 4.5).abs() < 1e-12);
    // A decimal comma in a file parted by commas makes a cell too many.
    let ran = analyse("treatment,batch,force\nA,1,10,5\nB,2,11\n", &[]);
    assert_eq!(ran.code, 2);
    assert!(ran.err.contains("row 2"), "{}", ran.err);
}

#[test]
fn duplicated_units_are_noticed() {
    let text =
        "treatment,day,batch,force\nA,1,1,10\nA,1,1,10\nA,2,2,12\nB,1,3,15\nB,2,4,16\nB,2,4,16\n";
    let ran = analyse(text, &["--json"]);
    let all = ran.json()["findings"].to_string();
    assert!(all.contains("duplicated-units"), "{all}");
}

#[test]
fn a_treatment_in_one_block_only_is_named_with_what_it_is_aliased_with() {
    let text =
        "treatment,day,batch,force\nA,1,1,10\nA,2,2,12\nB,1,3,15\nB,2,4,16\nC,3,5,20\nC,3,6,21\n";
    let ran = analyse(text, &["--json"]);
    let all = ran.json()["findings"].to_string();
    assert!(
        all.contains("treatment-aliased-with-block") || all.contains("treatment-in-one-block"),
        "{all}"
    );
    assert!(all.contains('C') && all.contains("day"), "{all}");
}

#[test]
fn zero_variance_gives_no_certainty() {
    let ran = analyse(
        "treatment,batch,force\nA,1,10\nA,2,10\nA,3,10\nB,4,12\nB,5,12\nB,6,12\n",
        &["--json"],
    );
    let found = ran.json();
    let all = found["findings"].to_string();
    assert!(all.contains("zero-variance"), "{all}");
    for c in found["comparisons"].as_array().into_iter().flatten() {
        assert_ne!(c["p_adjusted"].as_f64(), Some(0.0), "{c}");
    }
}

#[test]
fn two_methods_are_not_mixed() {
    let text =
        "treatment,batch,method,force\nA,1,oven,10\nA,2,oven,11\nB,3,balance,12\nB,4,balance,13\n";
    let ran = analyse(text, &[]);
    assert_eq!(ran.code, 1, "{}", ran.said());
    assert!(
        ran.err.contains("oven") && ran.err.contains("balance"),
        "{}",
        ran.err
    );
}

#[test]
fn percent_against_fraction_is_noticed() {
    let (_folder, path) = table(
        "treatment,batch,moisture_130_percent\nA,1,8.0\nA,2,0.081\nA,3,7.9\nB,4,8.4\nB,5,8.5\nB,6,8.3\n",
    );
    let ran = run(&[
        "trial",
        "analyse",
        &path,
        "--response",
        "moisture_130_percent",
    ]);
    assert!(ran.said().contains("fraction"), "{}", ran.said());
    assert_ne!(ran.code, 0);
}

#[test]
fn a_mark_between_thousands_is_not_taken_for_a_decimal() {
    let (_folder, path) = table(
        "treatment;batch;weight_g\na;1;998\na;2;1,234\na;3;1002\nb;4;1,100\nb;5;997\nb;6;1004\n",
    );
    let asked = ["trial", "analyse", &path, "--response", "weight_g"];
    // With a decimal comma or without: nobody can say whether 1.234 or 1234 was weighed.
    for more in [&[][..], &["--decimal-comma"]] {
        let ran = run(&[&asked[..], more].concat());
        assert_ne!(ran.code, 0, "{more:?}: {}", ran.said());
        assert!(ran.said().contains("1,234"), "{more:?}: {}", ran.said());
    }
    // Where all are written so it is a decimal comma.
    let (_folder, path) = table(
        "treatment;batch;y\na;1;0,998\na;2;1,234\na;3;1,002\nb;4;1,100\nb;5;0,997\nb;6;1,004\n",
    );
    let ran = run(&[
        "trial",
        "analyse",
        &path,
        "--response",
        "y",
        "--decimal-comma",
    ]);
    assert_eq!(ran.code, 0, "{}", ran.said());
}

#[test]
fn files_that_are_no_tables_are_told() {
    let ran = run(&[
        "trial",
        "analyse",
        "no-such-file.csv",
        "--response",
        "force",
    ]);
    assert_eq!(ran.code, 2);
    assert!(ran.err.contains("no-such-file.csv"));
    let ran = analyse("", &[]);
    assert_eq!(ran.code, 2, "{}", ran.said());
    let ran = analyse("treatment,batch,strength\nA,1,10\nB,2,11\n", &[]);
    assert_eq!(ran.code, 2);
    assert!(
        ran.err.contains("force") && ran.err.contains("strength"),
        "{}",
        ran.err
    );
}

#[test]
fn a_wrong_bowl_names_its_row() {
    let (_folder, path) = table("dog,day,left,intake_a,intake_b\nx,1,A,40,30\nx,2,C,40,30\n");
    let ran = run(&["trial", "twobowl", &path]);
    assert_eq!(ran.code, 2);
    assert!(
        ran.err.contains("row 3") && ran.err.contains("left"),
        "{}",
        ran.err
    );
}

#[test]
fn a_plan_of_more_blocks_than_anybody_bakes_is_refused_at_once() {
    for design in [
        &["blocks", "--treatments", "a,b"][..],
        &[
            "split-plot",
            "--whole-plot",
            "oven=150,170",
            "--factor",
            "fat=4,8",
        ],
    ] {
        for blocks in ["201", "4294967296", "18446744073709551615"] {
            let ran = run(&[&["trial", "plan"][..], design, &["--blocks", blocks]].concat());
            assert_eq!(ran.code, 2);
            assert!(
                ran.err.contains(&format!("--blocks {blocks}: at most 200")),
                "{}",
                ran.err
            );
        }
    }
}
