//! What instruments wrote, into the batches of a trial, and what batches tell of their oven.

use super::kept::{book, fine};
use super::run;

/// What is taken out is what the fit of an oven reads, row by row and to the digit.
#[test]
fn readings_of_the_oven_are_what_the_fit_reads() {
    let folder = tempfile::tempdir().unwrap();
    let book = book(folder.path());
    let told = fine(&["bench", "readings", "bite", "--book", &book]);
    let rows = learning::read(&told.out).unwrap();
    // Three batches of the control: three pulls and one moisture of each.
    assert_eq!(rows.len(), 12, "{}", told.out);
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
    // The truth of the invented day, with what its batches differ by; masses are written to a tenth of a gram.
    for row in rows.iter().filter(|r| r.kind == learning::Kind::Mass) {
        let left = row.value / row.before_g.unwrap();
        let truth = bench::demonstration::MASS_LEFT
            .iter()
            .find(|(minutes, _)| *minutes == row.time_s / 60.0)
            .unwrap();
        let sd = bench::demonstration::MASS_LEFT_SD.hypot(0.002);
        assert!((left - truth.1).abs() < 4.0 * sd, "{row:?}");
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
    assert_eq!(learning::read(&told.out).unwrap().len(), 12);
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
