//! The program as a person runs it: what it prints, what it leaves on disk, how it ends.
//!
//! The file is long because it is one walk through the commands, in the order a person meets them.

#![allow(clippy::unwrap_used, reason = "a test may fail by panicking")]

use serde_json::Value;
use std::io::{Read, Write};
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};
use tempfile::TempDir;
use unicode_width::UnicodeWidthStr;

const DEMONSTRATION: &str = include_str!("../../../examples/spent-grain.toml");
const CASE: &str = include_str!("../../baking/tests/data/bake_reference_a.json");

fn hardtack(folder: &Path, words: &[&str]) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_hardtack"));
    command.args(words).current_dir(folder).stdin(Stdio::null());
    command
}

fn run(folder: &Path, words: &[&str]) -> Output {
    hardtack(folder, words).output().unwrap()
}

fn text(bytes: &[u8]) -> String {
    String::from_utf8(bytes.to_vec()).unwrap()
}

fn exit(output: &Output) -> i32 {
    output.status.code().expect("the program ended by itself")
}

/// Runs and expects an exit code; the standard output.
fn out(folder: &Path, words: &[&str], code: i32) -> String {
    let output = run(folder, words);
    assert_eq!(exit(&output), code, "{words:?}: {}", text(&output.stderr));
    text(&output.stdout)
}

fn json(folder: &Path, words: &[&str], code: i32) -> Value {
    let told = out(folder, words, code);
    serde_json::from_str(&told).unwrap_or_else(|e| panic!("{words:?}: {e}"))
}

/// A folder with the demonstration in `study.toml`, one text in it replaced.
fn folder_with(from: &str, to: &str) -> TempDir {
    assert!(DEMONSTRATION.contains(from), "{from}");
    let folder = TempDir::new().unwrap();
    let changed = DEMONSTRATION.replacen(from, to, 1);
    std::fs::write(folder.path().join("study.toml"), changed).unwrap();
    folder
}

fn folder() -> TempDir {
    folder_with("hardtack = 1", "hardtack = 1")
}

fn files(folder: &Path) -> Vec<(PathBuf, Vec<u8>)> {
    let mut all: Vec<_> = std::fs::read_dir(folder)
        .unwrap()
        .map(|e| e.unwrap().path())
        .map(|p| (p.clone(), std::fs::read(&p).unwrap()))
        .collect();
    all.sort();
    all
}

#[test]
fn the_demonstration_makes_a_folder_and_leaves_it_alone_afterwards() {
    let place = TempDir::new().unwrap();
    let told = out(place.path(), &["demo", "treats"], 0);
    assert!(told.contains("Spent-grain bars") && told.contains("invented"));
    let made = place.path().join("treats");
    let study = std::fs::read_to_string(made.join("spent-grain.toml")).unwrap();
    assert_eq!(study, DEMONSTRATION);
    let html = std::fs::read_to_string(made.join("report.html")).unwrap();
    assert!(html.contains("<svg") && html.to_lowercase().contains("</html>"));
    for outside in ["src=\"http", "href=\"http", "@import", "url(http"] {
        assert!(
            !html.contains(outside),
            "the report is self-contained: {outside}"
        );
    }
    // A person's changes stay.
    std::fs::write(
        made.join("spent-grain.toml"),
        study.replace("Spent-grain bars", "My bars"),
    )
    .unwrap();
    std::fs::write(made.join("report.html"), "mine").unwrap();
    let before = files(&made);
    let again = out(place.path(), &["demo", "treats"], 0);
    assert!(
        again.contains("My bars") && again.contains("--force"),
        "{again}"
    );
    assert_eq!(files(&made), before);
    out(place.path(), &["demo", "treats", "--force"], 0);
    assert_ne!(files(&made), before);
}

/// Every key the report promises, by part; kinds: n number, t text, b true or false, l list, o object.
const PROMISED: &[(&str, &str)] = &[
    ("id", "t"),
    ("name", "t"),
    ("dough.moisture_pct", "n"),
    ("dough.water_added_kg_per_100kg_dry_mix", "n"),
    ("dough.water_need.mean", "n"),
    ("dough.water_need.low95", "n"),
    ("dough.water_need.high95", "n"),
    ("piece.green_mass_g", "n"),
    ("piece.baked_mass_g", "n"),
    ("bake.time_min", "n"),
    ("bake.exit_moisture_pct", "n"),
    ("bake.cooled_moisture_pct", "n"),
    ("bake.exit_water_activity", "n"),
    ("bake.cooled_water_activity", "n"),
    ("bake.centre_peak_c", "n"),
    ("bake.top_peak_c", "n"),
    ("bake.kill_log10", "n"),
    ("bake.colour_delta_e", "n"),
    ("bake.water_removed_kg_per_kg_baked", "n"),
    ("bake.reached", "b"),
    ("line.bottleneck", "t"),
    ("line.output_kg_per_h", "n"),
    ("line.evaporation_kg_per_h", "n"),
    ("line.heat_kwh_per_kg", "n"),
    ("line.stations", "l"),
    ("nutrition.crude_protein_pct", "n"),
    ("nutrition.crude_fat_pct", "n"),
    ("nutrition.crude_fibre_pct", "n"),
    ("nutrition.ash_pct", "n"),
    ("nutrition.me_kcal_per_kg", "n"),
    ("nutrition.me_nrc_kcal_per_kg", "n"),
    ("nutrition.kcal_per_piece", "n"),
    ("nutrition.calcium_pct", "n"),
    ("nutrition.phosphorus_pct", "n"),
    ("nutrition.sodium_pct", "n"),
    ("label.ingredient_statement", "t"),
    ("label.guaranteed", "o"),
    ("cost.per_kg", "n"),
    ("cost.per_piece", "n"),
    ("cost.currency", "t"),
    ("findings", "l"),
    ("versus_control", "o"),
];

fn at<'a>(value: &'a Value, path: &str) -> &'a Value {
    path.split('.').fold(value, |v, key| &v[key])
}

#[test]
fn the_json_report_has_every_promised_key_with_sensible_values() {
    let place = folder();
    let report = json(
        place.path(),
        &["study", "report", "study.toml", "--json"],
        0,
    );
    assert_eq!(report["control"], "control");
    let treatments = report["treatments"].as_array().unwrap();
    assert!(treatments.len() >= 4);
    for t in treatments {
        for (path, kind) in PROMISED {
            let v = at(t, path);
            let fits = match *kind {
                "n" => v.as_f64().is_some_and(f64::is_finite),
                "t" => v.as_str().is_some_and(|s| !s.is_empty()),
                "b" => v.is_boolean(),
                "l" => v.is_array(),
                _ => v.is_object(),
            };
            assert!(fits, "{} {path}: {v}", t["id"]);
        }
        let n = |path: &str| at(t, path).as_f64().unwrap();
        let sensible = [
            ("dough.moisture_pct", 15.0, 45.0),
            ("piece.green_mass_g", 3.0, 60.0),
            ("bake.time_min", 4.0, 60.0),
            ("bake.centre_peak_c", 90.0, 110.0),
            ("bake.top_peak_c", 100.0, 200.0),
            ("bake.kill_log10", 0.0, 10.0),
            ("bake.colour_delta_e", 1.0, 52.0),
            ("bake.cooled_water_activity", 0.1, 0.65),
            ("line.output_kg_per_h", 20.0, 1000.0),
            ("line.heat_kwh_per_kg", 0.1, 0.6),
            ("nutrition.crude_protein_pct", 5.0, 30.0),
            ("nutrition.me_kcal_per_kg", 2800.0, 4200.0),
            ("nutrition.kcal_per_piece", 5.0, 200.0),
            ("cost.per_kg", 0.3, 10.0),
        ];
        for (path, low, high) in sensible {
            assert!(
                (low..=high).contains(&n(path)),
                "{} {path} {}",
                t["id"],
                n(path)
            );
        }
        assert!((n("bake.cooled_moisture_pct") - 8.0).abs() < 0.05);
        assert!(n("bake.exit_moisture_pct") > n("bake.cooled_moisture_pct"));
        assert!(n("piece.green_mass_g") > n("piece.baked_mass_g"));
        let need = |k: &str| n(&format!("dough.water_need.{k}"));
        assert!(need("low95") < need("mean") && need("mean") < need("high95"));
        let stations: Vec<&str> = t["line"]["stations"]
            .as_array()
            .unwrap()
            .iter()
            .map(|s| s["name"].as_str().unwrap())
            .collect();
        assert!(
            stations.len() == 5 && stations.contains(&t["line"]["bottleneck"].as_str().unwrap()),
            "{stations:?}"
        );
        assert!(
            t["label"]["guaranteed"]["moisture_max_pct"]
                .as_f64()
                .unwrap()
                >= 8.0
        );
        let is_control = t["id"] == "control";
        assert_eq!(
            t["versus_control"].as_object().unwrap().is_empty(),
            is_control
        );
    }
    // A difference is the difference.
    let [control, other] = [&treatments[0], &treatments[1]];
    let gap = at(other, "versus_control.bake.time_min").as_f64().unwrap();
    let by_hand = at(other, "bake.time_min").as_f64().unwrap()
        - at(control, "bake.time_min").as_f64().unwrap();
    assert!((gap - by_hand).abs() < 1e-12);
    let one = json(
        place.path(),
        &[
            "study",
            "report",
            "study.toml",
            "--treatment",
            "wet",
            "--json",
        ],
        0,
    );
    let ids: Vec<&Value> = one["treatments"]
        .as_array()
        .unwrap()
        .iter()
        .map(|t| &t["id"])
        .collect();
    assert_eq!(ids, ["control", "wet"]);
}

#[test]
fn a_seed_means_the_same_twice() {
    let place = folder();
    let ask = |seed: &str| {
        let words = [
            "study",
            "report",
            "study.toml",
            "--treatment",
            "barley",
            "--spread",
            "40",
            "--seed",
            seed,
            "--json",
        ];
        out(place.path(), &words, 0)
    };
    let (first, again, other) = (ask("7"), ask("7"), ask("8"));
    assert_eq!(first, again);
    assert_ne!(first, other);
    let report: Value = serde_json::from_str(&first).unwrap();
    let spread = &report["treatments"][1]["spread"];
    let time = &spread["figures"]["bake.time_min"];
    let centre = report["treatments"][1]["bake"]["time_min"]
        .as_f64()
        .unwrap();
    assert!(
        time["low95"].as_f64().unwrap() < centre && centre < time["high95"].as_f64().unwrap(),
        "{time}"
    );
    assert_eq!(
        spread["widest"]["bake.time_min"].as_array().unwrap().len(),
        3
    );
    // On the terminal the limits stand under the figures and their differences.
    let words = ["study", "report", "study.toml", "--treatment", "barley"];
    let told = out(place.path(), &[&words[..], &["--spread", "40"]].concat(), 0);
    let mut lines = told.lines().skip_while(|l| !l.starts_with("  bake, min"));
    let under = lines.nth(1).unwrap();
    assert!(
        under.starts_with("    95 %") && under.matches(" to ").count() == 3,
        "{under}"
    );
    let refused = run(
        place.path(),
        &["study", "report", "study.toml", "--spread", "3"],
    );
    assert_eq!(exit(&refused), 2);
    assert!(text(&refused.stderr).contains("20 to"));
}

/// What was written, what is written instead, and what the message has to say.
const WRONG: &[(&str, &str, &[&str])] = &[
    // Percentages that don't sum: the sum and the nearest fix.
    ("balance = true", "amount = 20.0", &["95.2", "100", "58.8"]),
    (
        "amount = 54.0, flour",
        "amount = 94.0, flour",
        &["115.2", "100", "15.2"],
    ),
    // Unknown material: the closest names.
    (
        "material = \"wheat_flour_soft\", stage",
        "material = \"wheat_flour_sfot\", stage",
        &["wheat_flour_sfot", "wheat_flour_soft"],
    ),
    (
        "swap = \"sunflower_oil\"",
        "swap = \"sunflour_oil\"",
        &["sunflour_oil", "sunflower_oil"],
    ),
    // Negative and absurd: the allowed range.
    (
        "thickness_mm = 8",
        "thickness_mm = -8",
        &["-8", "mm", "1 to 40"],
    ),
    ("amount = 13.25", "amount = -13.25", &["-13.25"]),
    (
        "temperature_c = 27",
        "temperature_c = 2700",
        &["2700", "0 to 60"],
    ),
    ("moisture_pct = 8.0", "moisture_pct = 800.0", &["800"]),
    ("consistency_fu = 2200", "consistency_fu = nan", &["nan"]),
    // A unit that doesn't fit: what to write instead.
    (
        "thickness_mm = 8",
        "thickness_cm = 0.8",
        &["cm", "thickness_mm = 8"],
    ),
    ("thickness_mm = 8", "thickness_mm = \"8 mm\"", &["8 mm"]),
    // Names that nobody knows.
    (
        "thickness_mm = 8",
        "thicknes_mm = 8",
        &["thicknes_mm", "thickness_mm"],
    ),
    (
        "control = \"control\"",
        "control = \"contrl\"",
        &["contrl", "control"],
    ),
    ("outline = \"bar\"", "outline = \"baar\"", &["baar", "bar"]),
    // Not TOML.
    ("[dough]", "[dough", &["TOML"]),
    (
        "name = \"Spent-grain bars\"",
        "name = \"Spent-grain bars",
        &["TOML"],
    ),
];

#[test]
fn a_wrong_study_is_told_with_file_line_caret_and_way_out() {
    for (from, to, says) in WRONG {
        let place = folder_with(from, to);
        let before = files(place.path());
        for words in [
            &["study", "check", "study.toml"][..],
            &["study", "report", "study.toml"],
            &["bake", "run", "study.toml"],
        ] {
            let output = run(place.path(), words);
            let told = text(&output.stderr);
            assert_eq!(exit(&output), 2, "{to}: {told}");
            assert!(output.stdout.is_empty(), "{to}");
            for word in *says {
                assert!(told.contains(word), "{to} should say {word}: {told}");
            }
            assert!(told.contains("study.toml:") && told.contains('^'), "{told}");
            let line = DEMONSTRATION[..DEMONSTRATION.find(from).unwrap()]
                .matches('\n')
                .count()
                + 1;
            let near = (line.saturating_sub(12)..=line + 1)
                .any(|n| told.contains(&format!("study.toml:{n}:")));
            assert!(near, "line {line}: {told}");
            assert!(
                told.contains("help") || told.contains("allowed: "),
                "{told}"
            );
            assert!(!told.contains("panicked"));
        }
        let checked = json(place.path(), &["study", "check", "study.toml", "--json"], 2);
        assert_eq!(checked["ok"], false);
        let first = &checked["problems"][0];
        assert!(first["line"].as_u64().unwrap() > 0 && first["column"].as_u64().unwrap() > 0);
        assert_eq!(files(place.path()), before, "nothing is written");
    }
}

#[test]
fn several_problems_are_told_at_once() {
    let place = folder_with("thickness_mm = 8", "thickness_mm = -8\nlenght_mm = 3");
    let path = place.path().join("study.toml");
    let more = std::fs::read_to_string(&path)
        .unwrap()
        .replace("temperature_c = 27", "temperature_c = 270");
    std::fs::write(&path, more).unwrap();
    let output = run(place.path(), &["study", "check", "study.toml"]);
    let told = text(&output.stderr);
    assert_eq!(exit(&output), 2);
    assert!(
        told.contains("3 problems")
            && told.contains("-8")
            && told.contains("lenght_mm")
            && told.contains("270"),
        "{told}"
    );
}

#[test]
fn what_is_no_study_at_all_is_told_kindly() {
    let place = TempDir::new().unwrap();
    let root = place.path();
    // A linear congruential walk makes noise without a generator.
    let mut state = 12345_u64;
    let noise: Vec<u8> = (0..10_000_000)
        .map(|_| {
            state = state
                .wrapping_mul(6_364_136_223_846_793_005)
                .wrapping_add(1_442_695_040_888_963_407);
            (state >> 56) as u8
        })
        .collect();
    std::fs::write(root.join("noise.toml"), &noise).unwrap();
    std::fs::write(root.join("small-noise.toml"), &noise[..100_000]).unwrap();
    std::fs::write(
        root.join("latin.toml"),
        b"hardtack = 1\n[study]\nname = \"cr\xe8me\"\n",
    )
    .unwrap();
    std::fs::write(root.join("empty.toml"), "").unwrap();
    std::fs::create_dir(root.join("folder.toml")).unwrap();
    let rows: [(&str, &[&str]); 6] = [
        ("noise.toml", &["10000000", "bytes"]),
        ("small-noise.toml", &["UTF-8", "line"]),
        ("latin.toml", &["UTF-8", "line 3"]),
        ("empty.toml", &["empty.toml:1"]),
        ("folder.toml", &["folder"]),
        ("missing.toml", &["missing.toml", "noise.toml"]),
    ];
    for (file, says) in rows {
        for words in [
            ["study", "check", file],
            ["study", "report", file],
            ["bake", "run", file],
        ] {
            let output = run(root, &words);
            let told = text(&output.stderr);
            assert_eq!(exit(&output), 2, "{words:?}: {told}");
            assert!(output.stdout.is_empty());
            assert!(
                says.iter().all(|w| told.contains(w)),
                "{words:?} should say {says:?}: {told}"
            );
            assert!(told.len() < 4000, "{file} is told briefly");
        }
    }
}

#[test]
fn an_oven_that_never_gets_there_says_what_it_reaches_and_ends_with_1() {
    // A chamber of 60 °C full of steam never dries a bar.
    let cold = "preset = \"bench convection oven\"\nzone = [{ name = \"chamber\", air_c = 60, radiating_c = 60, band_c = 60, humidity_kg_per_kg = 0.12 }]\n";
    let start = DEMONSTRATION.find("[oven]\n").unwrap();
    let end = start + DEMONSTRATION[start..].find("[line]\n").unwrap();
    let place = TempDir::new().unwrap();
    let study = format!(
        "{}[oven]\n{cold}\n{}",
        &DEMONSTRATION[..start],
        &DEMONSTRATION[end..]
    );
    std::fs::write(place.path().join("study.toml"), study).unwrap();
    let told = out(
        place.path(),
        &["study", "report", "study.toml", "--treatment", "control"],
        1,
    );
    assert!(
        told.contains("still has") && told.contains("humidity limits"),
        "{told}"
    );
    let time = told.lines().find(|l| l.starts_with("  bake, min")).unwrap();
    assert!(
        time.ends_with("not reached") && !told.contains("NaN"),
        "{told}"
    );
    let report = json(
        place.path(),
        &[
            "study",
            "report",
            "study.toml",
            "--treatment",
            "control",
            "--json",
        ],
        1,
    );
    let bake = &report["treatments"][0]["bake"];
    assert_eq!(bake["reached"], false);
    assert!(
        bake["limit"].as_str().unwrap().contains("humidity limits"),
        "{}",
        bake["limit"]
    );
    assert!(bake["cooled_moisture_pct"].as_f64().unwrap() > 8.5);
    assert!(!out(place.path(), &["bake", "run", "study.toml"], 1).contains("NaN"));
}

/// A material of which only moisture and protein are known, against a control that is known wholly.
#[test]
fn what_is_unknown_marks_every_number_it_makes_unsure() {
    let known = "[[treatment]]\nid = \"control\"";
    let cricket = r#"[[material]]
id = "cricket"
name = "Cricket meal"
category = "other"
gluten = "free_by_nature"
moisture_pct = 5
crude_protein_pct = 60

[[treatment]]
id = "crickets"
name = "Crickets for milk"
from = "control"
changes = [{ swap = "nonfat_dry_milk", with = "cricket", keep = "mass" }]
water = "need"

"#;
    let folder = folder_with(known, &format!("{cricket}{known}"));
    let asked = ["study", "report", "study.toml", "--treatment", "crickets"];
    let told = out(folder.path(), &asked, 0);
    let line = |name: &str| {
        let line = told.lines().find(|l| l.trim_start().starts_with(name));
        line.unwrap_or_else(|| panic!("{name}: {told}"))
    };
    for name in [
        "crude fat",
        "crude fibre",
        "ash",
        "calcium",
        "phosphorus",
        "sodium",
    ] {
        // The control's own number carries no mark; the treatment's and the difference do.
        assert_eq!(line(name).matches("≥ ").count(), 2, "{}", line(name));
    }
    assert!(!line("crude protein").contains('≥'));
    for name in ["energy (modified Atwater)", "energy of a piece"] {
        assert_eq!(line(name).matches("≈ ").count(), 2, "{}", line(name));
    }
    assert_eq!(line("water need").matches("≥ ").count(), 2);
    assert!(!line("water added").contains('≥'));
    assert!(line("cost of a kg").contains("unknown"));
    assert!(
        told.contains("cricket (crude fat, crude fibre, ash,"),
        "{told}"
    );

    let told = json(folder.path(), &[&asked[..], &["--json"]].concat(), 0);
    let all = told["treatments"].as_array().unwrap();
    let one = |id: &str| all.iter().find(|t| t["id"] == id).unwrap();
    let (control, crickets) = (one("control"), one("crickets"));
    assert_eq!(
        at(crickets, "nutrition.energy_unsure"),
        &serde_json::json!(["cricket"])
    );
    assert!(crickets["nutrition"]["at_least"]["ash"].is_array());
    assert_eq!(
        crickets["versus_control_unsure"]["nutrition.ash_pct"],
        "at_least"
    );
    assert_eq!(
        crickets["versus_control_unsure"]["nutrition.me_kcal_per_kg"],
        "about"
    );
    assert_eq!(
        crickets["versus_control_unsure"]["nutrition.crude_protein_pct"],
        Value::Null
    );
    assert_eq!(control["versus_control_unsure"], Value::Null);
    // No most can be guaranteed of what has no most; the leasts can.
    assert_eq!(
        at(crickets, "label.guaranteed.crude_fibre_max_pct"),
        &Value::Null
    );
    assert!(at(crickets, "label.guaranteed.crude_fat_min_pct").is_f64());
    assert!(at(control, "label.guaranteed.crude_fibre_max_pct").is_f64());
    let calories = at(crickets, "label.calorie_statement").as_str().unwrap();
    assert!(
        calories.contains("unsure") && calories.contains("cricket"),
        "{calories}"
    );
}

/// The first bakes of a treat: small pieces cut by hand, a bench oven, no cost written beside the prices.
#[test]
fn a_bench_oven_gives_small_numbers_that_still_tell() {
    let place = TempDir::new().unwrap();
    let study = r#"hardtack = 1
[study]
name = "Cat crunch"
control = "control"
species = "cat"
currency = "USD"
target = { moisture_pct = 6, at = "cooled" }

[piece]
outline = "round"
diameter_mm = 12
thickness_mm = 5

[oven]
preset = "bench convection oven"

[[treatment]]
id = "control"
percent_of = "flour"
water = "need"
lines = [
  { material = "rice_flour_white", stage = "dry", amount = 100, flour = true },
  { material = "chicken_meal", stage = "dry", amount = 30 },
  { material = "gelatin", stage = "dry", amount = 5 },
  { material = "poultry_fat", stage = "fat", amount = 8 },
  { material = "water", stage = "liquid", amount = 40 },
]
"#;
    std::fs::write(place.path().join("study.toml"), study).unwrap();
    let words = ["study", "report", "study.toml"];
    let told = out(place.path(), &words, 0);
    let last = |name: &str| {
        let line = told.lines().find(|l| l.trim_start().starts_with(name));
        line.unwrap_or_else(|| panic!("{name}: {told}"))
            .split("  ")
            .last()
            .unwrap()
            .trim()
            .to_owned()
    };
    for name in ["line output", "oven alone", "water to evaporate"] {
        let digits = last(name).trim_start_matches(['0', '.']).len();
        assert!(digits >= 2, "{name}: {}", last(name));
    }
    // Pack, people and heat cost something that nobody has written.
    assert!(
        last("cost of a kg").starts_with("≥ "),
        "{}",
        last("cost of a kg")
    );
    let told = json(place.path(), &[&words[..], &["--json"]].concat(), 0);
    let control = &told["treatments"][0];
    for cost in ["pack_per_kg", "people_and_plant_per_kg", "heat_per_kg"] {
        assert_eq!(control["cost"][cost], Value::Null, "{cost}");
    }
    // The usual gas of a dough is assumed, not measured by anybody.
    let given = control["given"].as_array().unwrap();
    let gas = given
        .iter()
        .find(|g| g["name"] == "gas in the formed dough")
        .unwrap();
    assert_eq!(gas["source"]["grade"], "assumed");
    let own = study.replace("[oven]", "[dough]\ngas_pct = 6\n\n[oven]");
    std::fs::write(place.path().join("study.toml"), own).unwrap();
    let told = json(place.path(), &[&words[..], &["--json"]].concat(), 0);
    let given = told["treatments"][0]["given"].as_array().unwrap();
    let gas = given
        .iter()
        .find(|g| g["name"] == "gas in the formed dough")
        .unwrap();
    assert_eq!(
        (&gas["source"]["grade"], gas["value"].as_f64()),
        (&"measured".into(), Some(0.06))
    );
}

#[test]
fn a_stop_finding_ends_with_1() {
    // Xylitol is deadly to dogs.
    let place = folder_with(
        "{ material = \"salt\", stage = \"dry\", amount = 0.3 }",
        "{ material = \"salt\", stage = \"dry\", amount = 0.2 },\n    { material = \"birch\", stage = \"dry\", amount = 0.1 }",
    );
    let path = place.path().join("study.toml");
    let study = std::fs::read_to_string(&path).unwrap().replacen(
        "[[material]]",
        "[[material]]\nid = \"birch\"\nname = \"Xylitol\"\nlabel_name = \"Xylitol\"\ncategory = \"sweetener\"\ngluten = \"free_by_nature\"\nmoisture_pct = 0\ncrude_protein_pct = 0\ncrude_fat_pct = 0\ncrude_fibre_pct = 0\nash_pct = 0\nwater_uptake_kg_per_kg = 0\nprice_per_kg = 4\nsource = \"invented\"\n\n[[material]]",
        1,
    );
    std::fs::write(&path, study).unwrap();
    let output = run(place.path(), &["study", "check", "study.toml"]);
    let told = text(&output.stdout) + &text(&output.stderr);
    assert_eq!(exit(&output), 1, "{told}");
    assert!(
        told.to_lowercase().contains("xylitol") && told.contains("stop"),
        "{told}"
    );
}

#[test]
fn a_pipe_closed_early_ends_quietly() {
    let place = folder();
    for words in [
        &["material", "list", "--json"][..],
        &["study", "report", "study.toml"],
        &["study", "schema"],
        &["--help"],
    ] {
        let mut child = hardtack(place.path(), words)
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .unwrap();
        let mut pipe = child.stdout.take().unwrap();
        let mut first = [0_u8; 1];
        let _ = pipe.read(&mut first);
        drop(pipe);
        let output = child.wait_with_output().unwrap();
        let told = text(&output.stderr);
        assert!(
            !told.contains("panicked") && !told.contains("Broken pipe"),
            "{words:?}: {told}"
        );
        assert_eq!(output.status.code(), Some(0), "{words:?}");
    }
}

#[test]
fn piped_output_is_plain_and_fits_100_columns() {
    let place = folder();
    let bad = folder_with("thickness_mm = 8", "thickness_mm = -8");
    let all: [(&Path, &[&str]); 8] = [
        (place.path(), &["study", "report", "study.toml"]),
        (
            place.path(),
            &[
                "study",
                "report",
                "study.toml",
                "--treatment",
                "rotary",
                "--spread",
                "20",
            ],
        ),
        (place.path(), &["study", "check", "study.toml"]),
        (place.path(), &["bake", "run", "study.toml"]),
        (place.path(), &["material", "list"]),
        (place.path(), &["material", "show", "gelatin"]),
        (place.path(), &["--help"]),
        (bad.path(), &["study", "check", "study.toml"]),
    ];
    for (folder, words) in all {
        for colour in [false, true] {
            let mut command = hardtack(folder, words);
            if colour {
                command.env("NO_COLOR", "1").env("CLICOLOR_FORCE", "0");
            }
            let output = command.output().unwrap();
            let told = text(&output.stdout) + &text(&output.stderr);
            assert!(!told.contains('\u{1b}'), "{words:?}");
            let widest = text(&output.stdout)
                .lines()
                .map(|l| (l.width(), l.to_owned()))
                .max()
                .unwrap_or_default();
            assert!(
                widest.0 <= 100,
                "{words:?}: {} columns: {}",
                widest.0,
                widest.1
            );
        }
    }
}

#[test]
fn nothing_is_overwritten_without_force() {
    let place = folder();
    let root = place.path();
    for words in [
        vec![
            "study",
            "report",
            "study.toml",
            "--treatment",
            "wet",
            "--html",
            "out",
        ],
        vec!["bake", "run", "study.toml", "--csv", "out"],
        vec!["bake", "run", "study.toml", "--svg", "out"],
    ] {
        std::fs::write(root.join("out"), "precious").unwrap();
        let output = run(root, &words);
        assert_eq!(exit(&output), 2, "{words:?}");
        let told = text(&output.stderr);
        assert!(
            told.contains("out exists and stays as it is") && told.contains("--force"),
            "{told}"
        );
        assert_eq!(
            std::fs::read_to_string(root.join("out")).unwrap(),
            "precious"
        );
        let forced: Vec<&str> = words.iter().copied().chain(["--force"]).collect();
        out(root, &forced, 0);
        assert!(std::fs::read(root.join("out")).unwrap().len() > 500);
        std::fs::remove_file(root.join("out")).unwrap();
        out(root, &words, 0);
        assert!(!root.join("out.part").exists());
    }
    // A study is never overwritten by its own report.
    let refused = run(
        root,
        &["study", "report", "study.toml", "--html", "study.toml"],
    );
    assert_eq!(exit(&refused), 2);
    assert_eq!(
        std::fs::read_to_string(root.join("study.toml")).unwrap(),
        DEMONSTRATION
    );
    let nowhere = run(
        root,
        &[
            "study",
            "report",
            "study.toml",
            "--html",
            "no/such/folder/report.html",
        ],
    );
    assert_eq!(exit(&nowhere), 2);
    assert!(text(&nowhere.stderr).contains("no/such/folder/report.html"));
}

#[test]
fn a_model_case_gives_the_reference() {
    let place = TempDir::new().unwrap();
    std::fs::write(place.path().join("case.json"), CASE).unwrap();
    let solved = json(place.path(), &["bake", "case", "case.json", "--json"], 0);
    let keys = [
        "t_s",
        "X_mean",
        "T_top_C",
        "T_mid_C",
        "T_bottom_C",
        "X_top",
        "X_mid",
        "X_bottom",
        "water_out_kg_m2",
        "enthalpy_in_net_J_m2",
    ];
    let column = |key: &str| -> Vec<f64> { serde_json::from_value(solved[key].clone()).unwrap() };
    let n = column("t_s").len();
    assert!(n > 100);
    for key in keys {
        assert_eq!(column(key).len(), n, "{key}");
    }
    // The exit moisture by an independent solver on the same cells.
    let at_exit = column("t_s")
        .iter()
        .position(|t| (t - 1056.0).abs() < 1e-6)
        .expect("a step ends with the zone");
    let x = column("X_mean")[at_exit];
    assert!((x / 0.087_106_186_7 - 1.0).abs() < 1e-6, "{x}");
    for key in ["steps", "rejected", "jacobians", "rhs"] {
        assert!(solved["work"][key].is_u64(), "{key}");
    }
    assert!(solved["account"]["water_rel_error"].as_f64().unwrap() <= 1e-12);
    assert!(solved["account"]["energy_rel_error"].as_f64().unwrap() <= 1e-10);
    // The case alone, and by standard input, is the same.
    let whole: Value = serde_json::from_str(CASE).unwrap();
    let mut child = hardtack(place.path(), &["bake", "case", "-", "--json"])
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .unwrap();
    child
        .stdin
        .take()
        .unwrap()
        .write_all(whole["case"].to_string().as_bytes())
        .unwrap();
    let told: Value = serde_json::from_slice(&child.wait_with_output().unwrap().stdout).unwrap();
    assert_eq!(told, solved);
    // Asked for by time, roughly, on fewer cells.
    let mut case = whole["case"].clone();
    case["cells"] = 20.into();
    case["accuracy"] = "quick".into();
    case["output_times"] = serde_json::json!([0.0, 500.0, 1056.0]);
    std::fs::write(place.path().join("few.json"), case.to_string()).unwrap();
    let few = json(place.path(), &["bake", "case", "few.json", "--json"], 0);
    assert_eq!(few["t_s"], serde_json::json!([0.0, 500.0, 1056.0]));
    for (wrong, says) in [
        ("{", "isn't JSON"),
        ("{\"params\": 3}", "isn't a model case"),
        ("[]", "isn't a model case"),
    ] {
        std::fs::write(place.path().join("wrong.json"), wrong).unwrap();
        let output = run(place.path(), &["bake", "case", "wrong.json", "--json"]);
        assert_eq!(exit(&output), 2);
        assert!(
            output.stdout.is_empty() && text(&output.stderr).contains(says),
            "{}",
            text(&output.stderr)
        );
    }
    case["params"]["L"] = (-0.008).into();
    std::fs::write(place.path().join("wrong.json"), case.to_string()).unwrap();
    let output = run(place.path(), &["bake", "case", "wrong.json"]);
    assert_eq!(exit(&output), 2);
    assert!(
        text(&output.stderr).contains("params.L is -0.008"),
        "{}",
        text(&output.stderr)
    );
}

#[test]
fn a_bake_is_written_as_csv_and_svg() {
    let place = folder();
    let words = [
        "bake",
        "run",
        "study.toml",
        "--treatment",
        "rotary",
        "--csv",
        "b.csv",
        "--svg",
        "b.svg",
    ];
    out(place.path(), &words, 0);
    let csv = std::fs::read_to_string(place.path().join("b.csv")).unwrap();
    let mut lines = csv.lines();
    assert_eq!(
        lines.next(),
        Some("time_min,moisture_pct,top_c,centre_c,bottom_c,colour_delta_e,zone")
    );
    let rows: Vec<Vec<&str>> = lines.map(|l| l.split(',').collect()).collect();
    assert!(rows.len() > 30 && rows.iter().all(|r| r.len() == 7 && !r[6].is_empty()));
    let number = |r: &[&str], i: usize| r[i].parse::<f64>().unwrap();
    assert!(
        rows.windows(2)
            .all(|w| number(&w[1], 0) >= number(&w[0], 0))
    );
    assert!(number(rows.last().unwrap(), 1) < number(&rows[0], 1));
    let svg = std::fs::read_to_string(place.path().join("b.svg")).unwrap();
    assert!(svg.trim_start().starts_with("<svg") || svg.starts_with("<?xml"));
    assert!(
        svg.contains("xmlns=\"http://www.w3.org/2000/svg\"") && svg.trim_end().ends_with("</svg>")
    );
    // The other question: what is it like after this band time?
    // So moist a piece would grow mould in its pack: that stops.
    let ask = |minutes: &str, code: i32| {
        let k = json(
            place.path(),
            &["bake", "run", "study.toml", "--minutes", minutes, "--json"],
            code,
        );
        (
            k["bake"]["time_min"].as_f64().unwrap(),
            k["bake"]["exit_moisture_pct"].as_f64().unwrap(),
        )
    };
    let ((short, wet), (long, dry)) = (ask("10", 1), ask("20", 0));
    assert!(
        (short - 10.0).abs() < 1e-9 && (long - 20.0).abs() < 1e-9 && wet > dry + 1.0,
        "{wet} {dry}"
    );
}

#[test]
fn materials_are_listed_and_shown_with_sources() {
    let place = TempDir::new().unwrap();
    let all = json(place.path(), &["material", "list", "--json"], 0);
    assert_eq!(all.as_array().unwrap().len(), 130);
    let some = json(place.path(), &["material", "list", "barley", "--json"], 0);
    assert!((1..10).contains(&some.as_array().unwrap().len()));
    assert!(out(place.path(), &["material", "list", "barley"], 0).contains("barley_flour"));
    let shown = out(place.path(), &["material", "show", "gelatin"], 0);
    for word in ["elatin", "crude protein", "recalled"] {
        assert!(shown.contains(word), "{word}: {shown}");
    }
    let one = json(place.path(), &["material", "show", "gelatin", "--json"], 0);
    assert_eq!(one["id"], "gelatin");
    let output = run(place.path(), &["material", "show", "gelatine"]);
    assert_eq!(exit(&output), 2);
    assert!(
        text(&output.stderr).contains("gelatin"),
        "{}",
        text(&output.stderr)
    );
}

#[test]
fn the_schema_is_one_json_document() {
    let place = TempDir::new().unwrap();
    let schema = json(place.path(), &["study", "schema"], 0);
    assert_eq!(
        schema["$schema"],
        "https://json-schema.org/draft/2020-12/schema"
    );
    for part in ["study", "piece", "process", "oven", "treatment", "material"] {
        assert!(schema["properties"][part].is_object(), "{part}");
    }
    assert!(out(place.path(), &["study", "schema", "--markdown"], 0).starts_with('#'));
}

#[test]
fn wrong_usage_ends_with_2_and_help_with_0() {
    let place = folder();
    for words in [
        &["bakke"][..],
        &["study"],
        &["study", "report"],
        &["study", "report", "study.toml", "--seed", "seven"],
        &["study", "report", "study.toml", "--treatment", "barly"],
        &["bake", "run", "study.toml", "--cells", "3"],
        &["bake", "run", "study.toml", "--minutes", "-4"],
        &["bake", "run", "study.toml", "--minutes", "1e9"],
        &["study", "batch", "study.toml"],
        &["--colour"],
    ] {
        let output = run(place.path(), words);
        assert_eq!(exit(&output), 2, "{words:?}");
        assert!(
            output.stdout.is_empty() && output.stderr.len() > 20,
            "{words:?}"
        );
    }
    let near = run(
        place.path(),
        &["study", "report", "study.toml", "--treatment", "barly"],
    );
    assert!(
        text(&near.stderr).contains("barley"),
        "{}",
        text(&near.stderr)
    );
    for words in [
        &["--help"][..],
        &["--version"],
        &["study", "report", "--help"],
    ] {
        let told = out(place.path(), words, 0);
        assert!(
            told.contains("hardtack") || told.contains("Usage"),
            "{told}"
        );
    }
}

/// A study that another version of the model told is named, with the figures then and now; others aren't.
#[test]
fn the_book_tells_which_figures_moved() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("lab.book");
    let runtime = tokio::runtime::Runtime::new().unwrap();
    runtime.block_on(async { app::App::open(&path).await.unwrap().close().await });
    let words = ["book", "moved", "--book", "lab.book"];
    let told = out(folder.path(), &words, 0);
    assert!(
        told.contains("Every study in use was saved under model"),
        "{told}"
    );
    runtime.block_on(async {
        let ledger = book::Book::open(&path, false).await.unwrap();
        let kept = ledger.newest(book::Kind::Figures, "spent-grain-bars").await;
        let kept = kept.unwrap().unwrap();
        let mut form: Value = serde_json::from_str(&kept.form).unwrap();
        form["told"]["model"] = 0.into();
        form["told"]["treatments"][0]["figures"]["cost.per_kg"] = "9.87".into();
        let save = book::Save {
            kind: book::Kind::Figures,
            thing: kept.entry.thing,
            base: Some(kept.entry.number),
            who: kept.entry.who,
            when: app::now(),
            why: None,
            title: kept.entry.title,
            form_version: kept.entry.form_version,
            form: form.to_string(),
        };
        ledger.save(save).await.unwrap();
        ledger.close().await;
    });
    let told = out(folder.path(), &words, 0);
    assert!(
        told.contains("spent-grain-bars: revision 1 was saved under model 0"),
        "{told}"
    );
    assert!(
        told.contains("cost of a kg") && told.contains("9.87"),
        "{told}"
    );
    let json = out(folder.path(), &[&words[..], &["--json"]].concat(), 0);
    let told: Value = serde_json::from_str(&json).unwrap();
    let moved = &told["studies"][0]["then"]["otherwise"]["moved"];
    assert_eq!(
        (moved.as_array().unwrap().len(), &moved[0]["then"]),
        (1, &"9.87".into())
    );
}

/// What a shell and the manual need comes from the commands themselves, and the version tells what it was built from.
#[test]
fn shells_the_manual_and_the_version_know_the_commands() {
    let place = TempDir::new().unwrap();
    for shell in ["bash", "zsh", "fish", "elvish", "powershell"] {
        let told = out(place.path(), &["terminal", "completions", shell], 0);
        assert!(
            told.contains("hardtack") && told.contains("spread"),
            "{shell}"
        );
    }
    out(place.path(), &["terminal", "manual", "man"], 0);
    let page = |name: &str| std::fs::read_to_string(place.path().join("man").join(name)).unwrap();
    // A page of the manual has a title and a name (man(7)).
    let report = page("hardtack-study-report.1");
    assert!(
        report.contains(".TH") && report.contains("\\-\\-spread"),
        "{report}"
    );
    assert!(
        report.contains("Example: hardtack study report"),
        "{report}"
    );
    assert!(page("hardtack.1").contains("hardtack\\-study(1)"));
    // What is there stays as it is.
    out(place.path(), &["terminal", "manual", "man"], 2);
    out(place.path(), &["terminal", "manual", "man", "--force"], 0);
    let version = out(place.path(), &["--version"], 0);
    assert!(
        version.contains("revision ") && version.contains("model "),
        "{version}"
    );
}

/// Long work says nothing of how far it is in a pipe.
#[test]
fn progress_is_for_terminals_alone() {
    let place = folder();
    let told = run(
        place.path(),
        &["study", "report", "study.toml", "--spread", "20"],
    );
    assert_eq!(text(&told.stderr), "");
}
