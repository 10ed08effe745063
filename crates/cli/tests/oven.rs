//! `hardtack oven` as a person runs it: learn from the example's readings, keep, show, compare.

#![allow(clippy::unwrap_used, reason = "a test may fail by panicking")]

use serde_json::Value;
use std::path::Path;
use std::process::{Command, Output, Stdio};
use tempfile::TempDir;

fn run(folder: &Path, words: &[&str]) -> Output {
    let mut command = Command::new(env!("CARGO_BIN_EXE_hardtack"));
    command.args(words).current_dir(folder).stdin(Stdio::null());
    command.output().unwrap()
}

fn out(folder: &Path, words: &[&str], code: i32) -> String {
    let output = run(folder, words);
    let told = String::from_utf8(output.stderr).unwrap();
    assert_eq!(output.status.code(), Some(code), "{words:?}: {told}");
    String::from_utf8(output.stdout).unwrap()
}

fn folder() -> TempDir {
    let folder = TempDir::new().unwrap();
    let put = |name: &str, text: &str| std::fs::write(folder.path().join(name), text).unwrap();
    put(
        "study.toml",
        include_str!("../../../examples/spent-grain.toml"),
    );
    put(
        "pulls.csv",
        include_str!("../../../examples/oven-pulls.csv"),
    );
    folder
}

#[test]
fn a_fit_is_made_kept_shown_and_compared() {
    let folder = folder();
    let at = folder.path();
    let words = [
        "oven",
        "fit",
        "pulls.csv",
        "--study",
        "study.toml",
        "--learn",
        "top_heat,band_heat,vapour_path",
        "--starts",
        "2",
        "--draws",
        "0",
        "--out",
        "fit.toml",
    ];
    let told = out(at, &words, 0);
    for part in [
        "Learned from 12 readings of 2 bakes",
        "heat transfer at the top",
        "learned share",
        "Time in the oven",
    ] {
        assert!(told.contains(part), "{part}: {told}");
    }
    // What exists stays as it is.
    assert_eq!(run(at, &words).status.code(), Some(2));
    let shown: Value =
        serde_json::from_str(&out(at, &["oven", "show", "fit.toml", "--json"], 0)).unwrap();
    let share = |i: usize| shown["parameters"][i]["learned_share"].as_f64().unwrap();
    assert_eq!(shown["parameters"][0]["word"], "top_heat");
    assert!(share(0) > 0.2 && share(0) < 1.0, "{shown}");
    // The readings were made with 1.2 times the heat from above and 0.85 times that from below.
    for (i, truth) in [(0, 1.2), (1, 0.85)] {
        let limits = &shown["parameters"][i]["factor_95"];
        let [low, high] = [0, 1].map(|k| limits[k].as_f64().unwrap());
        assert!(low < truth && truth < high, "{limits}");
    }
    let gaps = |words: &[&str]| -> f64 {
        let told: Value = serde_json::from_str(&out(at, words, 0)).unwrap();
        let rows = told["rows"].as_array().unwrap();
        let probes = rows.iter().filter(|r| r["what"] == "temperature_c");
        let gap = |r: &Value| {
            let by = if r["fitted"].is_null() {
                "believed"
            } else {
                "fitted"
            };
            (r["measured"].as_f64().unwrap() - r[by].as_f64().unwrap()).powi(2)
        };
        probes.map(gap).sum()
    };
    let plain = gaps(&[
        "oven",
        "compare",
        "pulls.csv",
        "--study",
        "study.toml",
        "--json",
    ]);
    let fitted = gaps(&[
        "oven",
        "compare",
        "pulls.csv",
        "--study",
        "study.toml",
        "--fit",
        "fit.toml",
        "--json",
    ]);
    assert!(fitted < plain, "{fitted} {plain}");
    let table = out(
        at,
        &[
            "oven",
            "compare",
            "pulls.csv",
            "--study",
            "study.toml",
            "--fit",
            "fit.toml",
        ],
        0,
    );
    assert!(
        table.contains("mass of a pulled piece") && table.contains("best values"),
        "{table}"
    );
}

#[test]
fn readings_that_cannot_be_so_are_named_and_stop_it() {
    let folder = folder();
    let at = folder.path();
    std::fs::write(
        at.join("wrong.csv"),
        "bake,what,minutes,value,before_g\na,mass_g,4,10.9,12.4\na,mass_g,8,11.9,12.4\n",
    )
    .unwrap();
    let told = out(
        at,
        &["oven", "fit", "wrong.csv", "--study", "study.toml"],
        1,
    );
    assert!(told.contains("row 3 (bake a, 8"), "{told}");
    let words = [
        "oven",
        "fit",
        "wrong.csv",
        "--study",
        "study.toml",
        "--json",
    ];
    let told: Value = serde_json::from_str(&out(at, &words, 1)).unwrap();
    assert_eq!(told["findings"][0]["code"], "mass-rises");
    let unknown = run(
        at,
        &[
            "oven",
            "fit",
            "pulls.csv",
            "--study",
            "study.toml",
            "--learn",
            "magic",
        ],
    );
    assert_eq!(unknown.status.code(), Some(2));
    assert!(String::from_utf8_lossy(&unknown.stderr).contains("vapour_path"));
    std::fs::write(at.join("odd.toml"), "of = 3").unwrap();
    assert_eq!(
        run(at, &["oven", "show", "odd.toml"]).status.code(),
        Some(2)
    );
}
