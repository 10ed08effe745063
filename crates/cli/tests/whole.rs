//! The whole piece, its layout and what comes after the oven, on the command line.

#![allow(clippy::unwrap_used, reason = "a test may fail by panicking")]

use serde_json::Value;
use std::path::{Path, PathBuf};
use std::process::Command;

fn run(folder: &Path, words: &[&str]) -> (i32, String, String) {
    let study = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../../examples/spent-grain.toml");
    let study = study.display().to_string();
    let words = words
        .iter()
        .map(|w| if *w == "STUDY" { study.as_str() } else { w });
    let output = Command::new(env!("CARGO_BIN_EXE_hardtack"))
        .args(words)
        .current_dir(folder)
        .output()
        .unwrap();
    let text = |bytes: &[u8]| String::from_utf8(bytes.to_vec()).unwrap();
    (
        output.status.code().unwrap(),
        text(&output.stdout),
        text(&output.stderr),
    )
}

#[test]
fn a_first_look_at_the_whole_piece_writes_every_form() {
    let folder = tempfile::tempdir().unwrap();
    let words = "bake solid STUDY --treatment barley --preview --json --frames 5 --csv a.csv --svg a.svg --png a.png";
    let (code, out, err) = run(folder.path(), &words.split(' ').collect::<Vec<_>>());
    assert_eq!(code, 0, "{err}");
    let answer: Value = serde_json::from_str(&out).unwrap();
    assert_eq!(answer["met"], true);
    let minutes = answer["time_min"].as_f64().unwrap();
    let slab = answer["correction"]["slab_min"].as_f64().unwrap();
    assert!(minutes > 5.0 && minutes < slab, "{minutes} and {slab}");
    assert_eq!(answer["inputs_sha256"].as_str().unwrap().len(), 64);
    let read = |name: &str| std::fs::read(folder.path().join(name)).unwrap();
    assert!(read("a.png").starts_with(b"\x89PNG"));
    assert!(read("a.svg").starts_with(b"<") && read("a.csv").len() > 500);
    // Nothing is overwritten unasked, and the bake isn't begun.
    let (code, _, err) = run(folder.path(), &words.split(' ').collect::<Vec<_>>());
    assert_eq!(code, 2);
    assert!(err.contains("--force"), "{err}");
}

#[test]
fn a_grid_that_cannot_be_is_told_by_its_own_numbers() {
    let folder = tempfile::tempdir().unwrap();
    for (option, value, told) in [
        ("--grid-mm", "0.01", "is 0.01, but must be 0.1 to 15"),
        ("--cells", "3", "an even number from 4 to 400"),
        ("--grid-mm", "0.1", "choose"),
    ] {
        let (code, _, err) = run(folder.path(), &["bake", "solid", "STUDY", option, value]);
        assert_eq!(code, 2, "{err}");
        assert!(err.contains(told), "{err}");
    }
}

#[test]
fn after_the_oven_and_the_piece_are_written_as_tables_and_drawings() {
    let folder = tempfile::tempdir().unwrap();
    let (code, _, err) = run(
        folder.path(),
        &["after", "STUDY", "--csv", "after.csv", "--svg", "after.svg"],
    );
    assert_eq!(code, 0, "{err}");
    let table = std::fs::read_to_string(folder.path().join("after.csv")).unwrap();
    for part in ["cooling,", "evening,", "checking,", "keeping,"] {
        assert!(table.lines().any(|l| l.starts_with(part)), "{part}");
    }
    assert!(table.lines().all(|l| l.split(',').count() == 6));
    let drawing = std::fs::read_to_string(folder.path().join("after.svg")).unwrap();
    assert!(drawing.starts_with("<svg") && drawing.contains("water activity"));
    let (code, _, err) = run(folder.path(), &["piece", "STUDY", "--csv", "piece.csv"]);
    assert_eq!(code, 0, "{err}");
    let table = std::fs::read_to_string(folder.path().join("piece.csv")).unwrap();
    assert!(table.contains("trim_share,rectangular,"), "{table}");
}
