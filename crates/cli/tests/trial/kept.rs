//! Trials of the book on the command line: planned into it, written to, taken out, and analysed as a file is.

use super::{Ran, run};
use std::path::Path;

/// A book with the demonstration in it.
fn book(folder: &Path) -> String {
    let path = folder.join("lab.book");
    let runtime = tokio::runtime::Runtime::new().unwrap();
    runtime.block_on(async {
        app::App::open(&path).await.unwrap().close().await;
    });
    path.display().to_string()
}

fn fine(args: &[&str]) -> Ran {
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

/// What is taken out is what the fit of an oven reads, row by row and to the digit.
#[test]
fn readings_of_the_oven_are_what_the_fit_reads() {
    let folder = tempfile::tempdir().unwrap();
    let book = book(folder.path());
    let told = fine(&["bench", "readings", "bite", "--book", &book]);
    let rows = learning::read(&told.out).unwrap();
    // Three batches of the control: one pull and one moisture of each.
    assert_eq!(rows.len(), 6, "{}", told.out);
    let json = fine(&["bench", "readings", "bite", "--book", &book, "--json"]).json();
    let written = json["readings"]["rows"].as_array().unwrap();
    for (row, written) in rows.iter().zip(written) {
        assert_eq!(row.bake, written["bake"].as_str().unwrap());
        assert_eq!(Some(row.value), written["value"].as_f64());
        assert_eq!(
            Some(row.time_s),
            written["minutes"].as_f64().map(|m| 60.0 * m)
        );
        assert_eq!(row.before_g, written["before_g"].as_f64());
    }
    // The truth of the invented day: 23.5 % lost after 14.5 minutes, with 0.6 between batches.
    for row in rows.iter().filter(|r| r.kind == learning::Kind::Mass) {
        let lost = 1.0 - row.value / row.before_g.unwrap();
        assert!(
            row.time_s == 870.0 && (lost - 0.235).abs() < 4.0 * 0.006,
            "{row:?}"
        );
    }
    for row in rows
        .iter()
        .filter(|r| r.kind == learning::Kind::EndMoisture)
    {
        assert!(
            (row.time_s - 900.0).abs() < 1.0 && (row.value - 8.0).abs() < 0.8,
            "{row:?}"
        );
    }
    // Where it is hot inside nobody wrote.
    assert!(
        told.err.contains("left out") && told.err.contains("how high over the band"),
        "{}",
        told.err
    );
    let odd = run(&[
        "bench", "enter", "bite-b01", "probe", "hot", "--of", "core", "--book", &book,
    ]);
    assert!(
        odd.code == 2 && odd.err.contains("nothing was written"),
        "{}",
        odd.said()
    );
    // What a probe read comes along once its height is known, one reading of each half minute.
    let of = json["readings"]["rows"][0]["bake"].as_str().unwrap();
    let curve = "0 25;10 26.5;20 29;30 33;40 38.2;60 51.5";
    let args = [
        "bench", "enter", of, "probe", curve, "--of", "core", "--book", &book,
    ];
    fine(&args);
    let told = fine(&["bench", "readings", "bite", "--book", &book]);
    assert_eq!(learning::read(&told.out).unwrap().len(), 6);
    let height = [
        "bench",
        "enter",
        of,
        "probe-height",
        "4",
        "--of",
        "core",
        "--book",
        &book,
    ];
    fine(&height);
    let told = fine(&["bench", "readings", "bite", "--book", &book]);
    let rows = learning::read(&told.out).unwrap();
    let probe: Vec<_> = rows
        .iter()
        .filter(|r| r.kind == learning::Kind::Temperature)
        .collect();
    let read: Vec<(f64, f64)> = probe.iter().map(|r| (r.time_s, r.value)).collect();
    assert_eq!(read, [(0.0, 25.0), (30.0, 33.0), (60.0, 51.5)]);
    assert!(probe.iter().all(|r| r.height_m == Some(0.004)));
    let shown = fine(&["bench", "show", of, "--book", &book]).out;
    assert!(shown.contains("readings over 1.0 min"), "{shown}");
    let words: Vec<&str> = bench::OvenReading::ALL.iter().map(|r| r.word()).collect();
    assert!(
        words
            .iter()
            .all(|w| learning::Kind::ALL.iter().any(|k| k.word() == *w)),
        "{words:?}"
    );
    let file = folder.path().join("pulls.csv").display().to_string();
    let args = [
        "bench",
        "readings",
        "bite",
        "--treatment",
        "barley",
        "--csv",
        &file,
        "--book",
        &book,
    ];
    fine(&args);
    let study = format!(
        "{}/../../examples/spent-grain.toml",
        env!("CARGO_MANIFEST_DIR")
    );
    fine(&[
        "oven",
        "compare",
        &file,
        "--study",
        &study,
        "--treatment",
        "barley",
    ]);
    let wrong = run(&[
        "bench",
        "readings",
        "bite",
        "--treatment",
        "wheat",
        "--book",
        &book,
    ]);
    assert!(
        wrong.code == 2 && wrong.err.contains("rice_chickpea"),
        "{}",
        wrong.err
    );
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
        "empty",
        "--response",
        "breaking_force_n",
        "--book",
        &book,
    ];
    fine(&plan);
    let none = run(&["bench", "readings", "empty", "--book", &book]);
    assert!(
        none.code == 2 && none.err.contains("tell nothing of their oven yet"),
        "{}",
        none.err
    );
}

/// A log of half a second over 16 minutes, made by hand, with one jump and one row that goes back.
#[test]
fn a_logger_s_file_becomes_readings_of_the_oven() {
    let folder = tempfile::tempdir().unwrap();
    let book = book(folder.path());
    let list = fine(&[
        "bench", "list", "--trial", "bite", "--book", &book, "--json",
    ])
    .json();
    let of_control = list.as_array().unwrap().iter();
    let batch = of_control
        .filter(|m| m["batch"]["label"] == "control")
        .map(|m| m["batch"]["code"].as_str().unwrap().to_owned())
        .next()
        .unwrap();
    let path = folder.path().join("log.csv");
    let mut text = "time (s),core (°F),room (%)\n".to_owned();
    for half in 0..1_920 {
        let s = f64::from(half) / 2.0;
        let c = 25.0 + 75.0 * (s - 60.0).max(0.0) / 900.0;
        text.push_str(&format!("{s},{},40\n", 32.0 + 1.8 * c));
    }
    std::fs::write(&path, &text).unwrap();
    let file = path.display().to_string();
    let probe = format!("core={batch}:4.5");
    let at = ["bench", "probes", &file, "--trial", "bite", "--book", &book];
    let told = fine(&at).out;
    assert!(
        told.contains("core (1920 readings)") && told.contains("room") && told.contains("--probe"),
        "{told}"
    );
    let args = [
        &at[..],
        &["--probe", &probe, "--entered", "0:01:00", "--left", "930"],
    ]
    .concat();
    let looked = fine(&[&args[..], &["--check", "--json"]].concat()).json();
    assert_eq!(looked["entered"], serde_json::Value::Null);
    let told = fine(&args).out;
    assert!(
        told.contains("88 of 1741 readings, one of each 10 s") && told.contains("2 rows written"),
        "{told}"
    );
    assert!(fine(&args).out.contains("nothing new"), "once is enough");
    let out = fine(&["bench", "readings", "bite", "--book", &book]).out;
    let rows = learning::read(&out).unwrap();
    let read: Vec<_> = rows
        .iter()
        .filter(|r| r.kind == learning::Kind::Temperature)
        .collect();
    // From nought to 870 s one of each half minute, as warm as they were made, to the tenth that is kept.
    assert_eq!(read.len(), 30, "{out}");
    for row in read {
        assert!((row.value - (25.0 + 75.0 * row.time_s / 900.0)).abs() < 0.0501);
        assert_eq!(row.height_m, Some(0.0045));
    }
    // What can't be so is told by row and column, and nothing is written before somebody says so.
    let odd = text
        .replace("\n300,", "\n3,")
        .replace("\n301,", "\nfive,")
        .replace("\n500,", "\n500,900 ");
    std::fs::write(&path, odd).unwrap();
    let other = [&at[..], &["--probe", &probe, "--correct", "the wrong file"]].concat();
    let ran = run(&other);
    assert_eq!(ran.code, 2, "{}", ran.said());
    for part in [
        "row 602, column time",
        "297 s before row 601",
        "‘five’",
        "column core (°F)",
    ] {
        assert!(ran.err.contains(part), "{part}: {}", ran.err);
    }
    let ran = fine(&[&other[..], &["--rest"]].concat());
    assert!(ran.out.contains("1 rows written"), "{}", ran.said());
    let without = [&at[..], &["--probe", &probe]].concat();
    std::fs::write(&path, &text).unwrap();
    let ran = run(&without);
    assert!(
        ran.code == 2 && ran.out.contains("give a reason to strike them through"),
        "{}",
        ran.said()
    );
    for (wrong, part) in [
        ("core", "HEAD"),
        ("core=B99:4", "B99"),
        ("heart=B01:4", "the log has no probe"),
    ] {
        let ran = run(&[&at[..], &["--probe", wrong]].concat());
        assert!(
            ran.code == 2 && ran.err.to_uppercase().contains(&part.to_uppercase())
                || wrong == "core" && ran.err.contains("e.g. core=B03:4"),
            "{wrong}: {}",
            ran.said()
        );
    }
}

/// The arithmetic of the stress is that of `measure bend`.
#[test]
fn force_over_distance_becomes_forces_and_stresses_at_break() {
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
        "bent",
        "--response",
        "breaking_force_n:2",
        "--response",
        "breaking_stress_mpa:2",
        "--book",
        &book,
    ];
    fine(&plan);
    let path = folder.path().join("bend.csv");
    std::fs::write(
        &path,
        "piece,distance (mm),force (N)\n1,0,0\n1,0.4,61.5\n1,0.5,2\n2,0,0\n2,0.3,48\n",
    )
    .unwrap();
    let file = path.display().to_string();
    let args = [
        "bench",
        "bend",
        &file,
        "--trial",
        "bent",
        "--batch",
        "B01",
        "--span-mm",
        "40",
        "--width-mm",
        "20",
        "--thickness-mm",
        "8",
        "--book",
        &book,
    ];
    let told = fine(&args);
    assert!(
        told.out.contains("may not have broken") && told.out.contains("4 rows written"),
        "{}",
        told.out
    );
    let by_hand = fine(&[
        "measure",
        "bend",
        "--force-n",
        "61.5",
        "--span-mm",
        "40",
        "--width-mm",
        "20",
        "--thickness-mm",
        "8",
        "--json",
    ])
    .json();
    let kept = fine(&["bench", "show", "bent-b01", "--book", &book, "--json"]).json();
    let values = kept["state"]["values"].as_array().unwrap();
    let of = |id: &str| {
        values.iter().find(|v| v["of"] == id).unwrap()["value"]
            .as_f64()
            .unwrap()
    };
    assert_eq!(of("breaking_force_n"), 61.5);
    assert_eq!(
        of("breaking_stress_mpa"),
        by_hand["stress_mpa"].as_f64().unwrap()
    );
    assert!(fine(&args).out.contains("nothing new"));
    let wrong = run(&[
        "bench", "bend", &file, "--trial", "bent", "--batch", "B77", "--book", &book,
    ]);
    assert!(
        wrong.code == 2 && wrong.said().contains("B77"),
        "{}",
        wrong.said()
    );
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
