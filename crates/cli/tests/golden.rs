//! Golden snapshots of the terminal: what `study report`, `after` and `bake run` print for three different studies,
//! and the numbers of the report as JSON.
//!
//! Renew them with `INSTA_UPDATE=always cargo nextest run -p hardtack --test golden` after a look at what moved.

#![allow(clippy::unwrap_used, reason = "a test may fail by panicking")]

use serde_json::Value;
use std::collections::BTreeSet;
use std::process::{Command, Stdio};
use tempfile::TempDir;

/// Short name, file, a treatment beside the control.
const STUDIES: [(&str, &str, &str); 3] = [
    (
        "spent-grain",
        include_str!("../../../examples/spent-grain.toml"),
        "barley",
    ),
    (
        "bench-oat",
        include_str!("../../../examples/more/bench-oat.toml"),
        "peanut",
    ),
    (
        "cat-bits",
        include_str!("../../../examples/more/cat-bits.toml"),
        "fish",
    ),
];

/// Jobs of the trade: short name and file.
const JOBS: [(&str, &str); 12] = [
    (
        "cat-bits-with-egg-shell",
        include_str!("../../../examples/jobs/cat-bits-with-egg-shell.toml"),
    ),
    (
        "cubes-of-ten-millimetres",
        include_str!("../../../examples/jobs/cubes-of-ten-millimetres.toml"),
    ),
    (
        "fifteen-per-cent-fat",
        include_str!("../../../examples/jobs/fifteen-per-cent-fat.toml"),
    ),
    (
        "high-ash-with-meat-meal",
        include_str!("../../../examples/jobs/high-ash-with-meat-meal.toml"),
    ),
    (
        "leavened-biscuit",
        include_str!("../../../examples/jobs/leavened-biscuit.toml"),
    ),
    (
        "oat-and-pea-with-gelatin",
        include_str!("../../../examples/jobs/oat-and-pea-with-gelatin.toml"),
    ),
    (
        "oat-peanut-and-banana-at-home",
        include_str!("../../../examples/jobs/oat-peanut-and-banana-at-home.toml"),
    ),
    (
        "rotary-bits-of-seven-grams",
        include_str!("../../../examples/jobs/rotary-bits-of-seven-grams.toml"),
    ),
    (
        "slab-of-twenty-millimetres",
        include_str!("../../../examples/jobs/slab-of-twenty-millimetres.toml"),
    ),
    (
        "soft-sweet-potato-and-chicken",
        include_str!("../../../examples/jobs/soft-sweet-potato-and-chicken.toml"),
    ),
    (
        "two-steps-on-the-bench",
        include_str!("../../../examples/jobs/two-steps-on-the-bench.toml"),
    ),
    (
        "wheat-bone-on-mesh",
        include_str!("../../../examples/jobs/wheat-bone-on-mesh.toml"),
    ),
];

/// What is kept of each study.
const KEPT: [&str; 5] = ["report", "spread", "json", "after", "bake"];

fn told(folder: &TempDir, words: &[&str]) -> String {
    let output = Command::new(env!("CARGO_BIN_EXE_hardtack"))
        .args(words)
        .current_dir(folder.path())
        .stdin(Stdio::null())
        .output()
        .unwrap();
    let error = String::from_utf8(output.stderr).unwrap();
    assert!(
        output.status.code().is_some_and(|c| c < 2),
        "{words:?}: {error}"
    );
    String::from_utf8(output.stdout).unwrap()
}

/// Numbers to six digits, so that another machine's last digit is no news; long rows in short.
fn rounded(value: &mut Value) {
    match value {
        Value::Number(n) if n.is_f64() => {
            let shown = format!("{:.5e}", n.as_f64().unwrap());
            *value = Value::from(shown.parse::<f64>().unwrap());
        }
        Value::Array(all) => {
            all.iter_mut().for_each(rounded);
            if all.len() > 40 && all.iter().all(Value::is_number) {
                let ends = [&all[0], &all[all.len() / 2], &all[all.len() - 1]];
                let [first, middle, last] = ends.map(Value::to_string);
                *value = Value::from(format!(
                    "{} numbers: {first} … {middle} … {last}",
                    all.len()
                ));
            }
        }
        Value::Object(all) => all.values_mut().for_each(rounded),
        _ => {}
    }
}

fn kept(name: &str, text: &str) {
    insta::with_settings!({ snapshot_path => "golden", prepend_module_to_snapshot => false, omit_expression => true }, {
        insta::assert_snapshot!(name, text);
    });
}

#[test]
fn what_the_terminal_tells() {
    for (name, text, treatment) in STUDIES {
        let folder = TempDir::new().unwrap();
        std::fs::write(folder.path().join("study.toml"), text).unwrap();
        let report = ["study", "report", "study.toml"];
        kept(&format!("{name}-report"), &told(&folder, &report));
        let spread = [&report[..], &["--spread", "40", "--seed", "7"]].concat();
        kept(&format!("{name}-spread"), &told(&folder, &spread));
        let json = [&report[..], &["--json"]].concat();
        let mut json: Value = serde_json::from_str(&told(&folder, &json)).unwrap();
        rounded(&mut json);
        kept(
            &format!("{name}-json"),
            &serde_json::to_string_pretty(&json).unwrap(),
        );
        let of = ["study.toml", "--treatment", treatment];
        let after = [&["after"][..], &of].concat();
        kept(&format!("{name}-after"), &told(&folder, &after));
        let bake = [&["bake", "run"][..], &of].concat();
        kept(&format!("{name}-bake"), &told(&folder, &bake));
    }
}

/// What is believable of each, and why, stands in examples/jobs/README.md.
#[test]
fn what_the_terminal_tells_of_jobs() {
    for (name, text) in JOBS {
        let folder = TempDir::new().unwrap();
        std::fs::write(folder.path().join("study.toml"), text).unwrap();
        let report = told(&folder, &["study", "report", "study.toml"]);
        kept(&format!("job-{name}"), &report);
    }
}

/// A snapshot that no test makes any more would be believed for ever.
#[test]
fn no_snapshot_is_stale() {
    let wanted: BTreeSet<String> = STUDIES
        .iter()
        .flat_map(|(study, ..)| KEPT.map(|kept| format!("{study}-{kept}.snap")))
        .chain(JOBS.iter().map(|(job, _)| format!("job-{job}.snap")))
        .collect();
    let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/golden");
    let there: BTreeSet<String> = std::fs::read_dir(folder)
        .unwrap()
        .map(|f| f.unwrap().file_name().into_string().unwrap())
        .filter(|f| f.ends_with(".snap"))
        .collect();
    assert_eq!(there, wanted);
}
