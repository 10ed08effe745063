//! Trials of the book on the command line: planned into it, written to, taken out, and analysed as a file is.

use super::{Ran, run};
use std::path::Path;

/// A book with the demonstration in it.
pub(crate) fn book(folder: &Path) -> String {
    let path = folder.join("lab.book");
    let runtime = tokio::runtime::Runtime::new().unwrap();
    runtime.block_on(async {
        app::App::open(&path).await.unwrap().close().await;
    });
    path.display().to_string()
}

pub(crate) fn fine(args: &[&str]) -> Ran {
    let ran = run(args);
    assert_eq!(ran.code, 0, "{args:?}: {}", ran.said());
    ran
}

#[test]
fn a_trial_of_the_book_is_analysed_as_a_file_of_it() {
    let folder = tempfile::tempdir().unwrap();
    let book = book(folder.path());
    let out = folder.path().join("bite.csv").display().to_string();
    for response in [
        "breaking_force_n",
        "whole_at_cutting",
        "water_dose_percent",
        "moisture_130_percent",
    ] {
        fine(&[
            "bench",
            "export",
            "--trial",
            "bite",
            "--response",
            response,
            "--csv",
            &out,
            "--force",
            "--book",
            &book,
        ]);
        let here = fine(&[
            "trial",
            "analyse",
            "--trial",
            "bite",
            "--response",
            response,
            "--json",
            "--book",
            &book,
        ]);
        let there = fine(&["trial", "analyse", &out, "--response", response, "--json"]);
        assert_eq!(here.out, there.out, "{response}");
        // The name of a response says the same as its id.
        assert!(here.json()["sentence"].as_str().unwrap().len() > 40);
    }
    let told = fine(&[
        "trial",
        "analyse",
        "--trial",
        "bite",
        "--response",
        "breaking force",
        "--book",
        &book,
    ]);
    assert!(
        told.out.contains("12 of 12 batches done") && told.out.contains("invented"),
        "{}",
        told.out
    );
    let wrong = run(&[
        "trial",
        "analyse",
        "--trial",
        "bite",
        "--response",
        "charm",
        "--book",
        &book,
    ]);
    assert!(
        wrong.code == 2 && wrong.err.contains("breaking_force_n"),
        "{}",
        wrong.err
    );
    let none = run(&[
        "trial",
        "analyse",
        "--trial",
        "nothing",
        "--response",
        "charm",
        "--book",
        &book,
    ]);
    assert!(
        none.code == 2 && none.err.contains("bench list"),
        "{}",
        none.err
    );
}

#[test]
fn a_plan_is_kept_and_its_batches_are_written_to() {
    let folder = tempfile::tempdir().unwrap();
    let book = book(folder.path());
    let plan = [
        "trial",
        "plan",
        "blocks",
        "--treatments",
        "control,barley",
        "--blocks",
        "2",
        "--seed",
        "7",
    ];
    let save = [
        "--study",
        "spent-grain-bars",
        "--save",
        "two",
        "--book",
        &book,
        "--response",
        "breaking_force_n:2",
        "--response",
        "crumbs (g)",
    ];
    let kept = fine(&[&plan[..], &save].concat());
    assert!(kept.out.contains("Kept as trial two"), "{}", kept.out);
    // The same sheet as without keeping it.
    let plain = fine(&[&plan[..], &["--json"]].concat()).json();
    let list = fine(&["bench", "list", "--trial", "two", "--book", &book, "--json"]).json();
    assert_eq!(list.as_array().unwrap().len(), 4);
    for (run, made) in plain["runs"]
        .as_array()
        .unwrap()
        .iter()
        .zip(list.as_array().unwrap())
    {
        assert_eq!(run["unit_id"], made["batch"]["code"]);
        assert_eq!(run["treatment"], made["batch"]["label"]);
    }
    let again = run(&[&plan[..], &save].concat());
    assert!(
        again.code == 2 && again.err.contains("already"),
        "{}",
        again.err
    );

    let enter =
        |rest: &[&str]| run(&[&["bench", "enter", "two-b01"], rest, &["--book", &book]].concat());
    for row in [
        &["dose", "1.5"][..],
        &["dose", "250", "--unit", "g"],
        &["cut-whole", "40"],
        &["cut-whole", "-1"],
        &[
            "observed",
            "61.5",
            "--of",
            "breaking_force_n",
            "--on",
            "piece=1",
        ],
        &["dose", "9", "--key", "slip"],
        &["dose", "0.1", "--strike", "slip", "--why", "wrong scale"],
        &[
            "observed",
            "4000",
            "--of",
            "breaking_force_n",
            "--on",
            "piece=2",
            "--why",
            "steel in it",
        ],
    ] {
        let ran = enter(row);
        assert_eq!(ran.code, 0, "{row:?}: {}", ran.said());
    }
    // What can't be understood isn't written, and the way out is told.
    for (row, word) in [
        (&["dose", "much"][..], "isn’t a number"),
        (&["dose", "3", "--unit", "mm"], "allowed are"),
        (&["simmer", "3"], "dose"),
        (&["weighed", "3"], "which material"),
        (
            &[
                "observed",
                "3",
                "--of",
                "breaking_force_n",
                "--on",
                "shelf=1",
            ],
            "piece=3",
        ),
        (&["observed", "4000", "--of", "breaking_force_n"], "--why"),
        (
            &["dose", "3", "--strike", "nothing", "--why", "x"],
            "nothing",
        ),
    ] {
        let ran = enter(row);
        assert!(
            ran.code == 2 && ran.said().contains(word),
            "{row:?}: {}",
            ran.said()
        );
    }
    let shown = fine(&["bench", "show", "two-b01", "--book", &book]);
    for word in [
        "struck through",
        "wrong scale",
        "beyond what is plausible, confirmed",
        "61.5",
    ] {
        assert!(shown.out.contains(word), "{word}: {}", shown.out);
    }
    let state = fine(&["bench", "show", "two-b01", "--book", &book, "--json"]).json();
    assert!((state["state"]["water"]["total_kg"].as_f64().unwrap() - 1.85).abs() < 1e-9);
    assert_eq!(state["state"]["counts"]["whole"], 39);
}

#[test]
fn measurements_of_a_file_are_looked_at_entered_and_corrected() {
    let folder = tempfile::tempdir().unwrap();
    let book = book(folder.path());
    let file = folder.path().join("more.csv");
    let path = file.display().to_string();
    let observe = |rest: &[&str]| {
        run(&[
            &["observe", &path, "--trial", "bite", "--book", &book],
            rest,
        ]
        .concat())
    };
    std::fs::write(
        &file,
        "batch,piece,Kraft,colour\nB01,9,60.5,brown\nB01,10,sixty,\nB77,1,60,\n",
    )
    .unwrap();
    let named = ["--column", "Kraft=breaking_force_n"];
    let refused = observe(&named);
    assert_eq!(refused.code, 2);
    for word in [
        "row 3, column Kraft",
        "row 4, column batch",
        "Nothing was written",
        "not asked for",
    ] {
        assert!(refused.said().contains(word), "{word}: {}", refused.said());
    }
    let rest = observe(&[&named[..], &["--rest"]].concat());
    assert!(
        rest.code == 0 && rest.out.contains("1 rows written"),
        "{}",
        rest.said()
    );
    let again = observe(&[&named[..], &["--rest"]].concat());
    assert!(
        again.out.contains("0 rows written, 1 were there already"),
        "{}",
        again.out
    );
    std::fs::write(&file, "batch;piece;breaking_force_n\nB01;9;61,5\n").unwrap();
    let clash = observe(&["--decimal-comma"]);
    assert!(
        clash.code == 2 && clash.said().contains("60.5"),
        "{}",
        clash.said()
    );
    let mended = observe(&["--decimal-comma", "--correct", "misread"]);
    assert!(
        mended.code == 0 && mended.out.contains("1 rows written"),
        "{}",
        mended.said()
    );
    let looked = observe(&["--decimal-comma", "--check"]);
    assert!(looked.out.contains("Nothing was written"), "{}", looked.out);
}

#[test]
fn a_batch_of_no_trial_is_begun() {
    let folder = tempfile::tempdir().unwrap();
    let book = book(folder.path());
    let new = [
        "bench",
        "new",
        "spent-grain-bars",
        "barley",
        "--pieces",
        "40",
        "--book",
        &book,
    ];
    let made = fine(&[&new[..], &["--json"]].concat()).json();
    assert_eq!(made["batch"]["treatment"], "barley");
    let id = made["id"].as_str().unwrap();
    fine(&["bench", "enter", id, "dose", "0.1", "--book", &book]);
    assert!(
        fine(&["bench", "show", id, "--book", &book])
            .out
            .contains("begun")
    );
    assert!(
        fine(&new).out.contains(&format!("{id}-2")),
        "another one of the day"
    );
    let wrong = run(&["bench", "new", "spent-grain-bars", "soup", "--book", &book]);
    assert!(
        wrong.code == 2 && wrong.err.contains("rice_chickpea"),
        "{}",
        wrong.err
    );
}

/// A panel of dogs in the book says what the file of the example says.
#[test]
fn a_panel_of_the_book_is_told_as_its_file() {
    let folder = tempfile::tempdir().unwrap();
    let book = book(folder.path());
    let plan = [
        "trial",
        "plan",
        "blocks",
        "--treatments",
        "control,barley",
        "--blocks",
        "2",
        "--study",
        "spent-grain-bars",
        "--save",
        "bowls",
        "--response",
        "intake_g:8",
        "--response",
        "offered_g:8",
        "--response",
        "first_choice:8",
        "--response",
        "rank:8",
        "--book",
        &book,
    ];
    fine(&plan);
    let none = run(&["trial", "twobowl", "--trial", "bowls", "--book", &book]);
    assert!(
        none.code == 2 && none.err.contains("results.md"),
        "{}",
        none.said()
    );
    let list = fine(&[
        "bench", "list", "--trial", "bowls", "--book", &book, "--json",
    ])
    .json();
    let code = |food: &str| {
        let of = |m: &&serde_json::Value| m["batch"]["label"] == food;
        let found = list.as_array().unwrap().iter().find(of);
        found.unwrap()["batch"]["code"].as_str().unwrap().to_owned()
    };
    let foods = [("A", code("control")), ("B", code("barley"))];
    let example = format!(
        "{}/../../examples/trial-two-bowl.csv",
        env!("CARGO_MANIFEST_DIR")
    );
    let mut text = "batch,dog,day,position,intake_g,offered_g,first_choice\n".to_owned();
    for line in std::fs::read_to_string(&example).unwrap().lines().skip(1) {
        let c: Vec<&str> = line.split(',').collect();
        for (i, (food, code)) in foods.iter().enumerate() {
            let side = if c[2] == *food { "left" } else { "right" };
            let first = u8::from(c[7] == *food);
            text.push_str(&format!(
                "{code},{},{},{side},{},{},{first}\n",
                c[0],
                c[1],
                c[5 + i],
                c[3 + i]
            ));
        }
    }
    let path = folder.path().join("bowls.csv");
    std::fs::write(&path, text).unwrap();
    fine(&[
        "observe",
        &path.display().to_string(),
        "--trial",
        "bowls",
        "--book",
        &book,
    ]);
    let here = fine(&[
        "trial", "twobowl", "--trial", "bowls", "--json", "--book", &book,
    ]);
    let there = fine(&["trial", "twobowl", &example, "--json"]);
    assert_eq!(here.json(), there.json());
    assert!(
        here.err.contains("A is control, B is barley"),
        "{}",
        here.err
    );
    let both = run(&["trial", "twobowl", &example, "--trial", "bowls"]);
    assert_eq!(both.code, 2);
}
