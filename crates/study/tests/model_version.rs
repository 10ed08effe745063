//! Figures that are told otherwise than before need another version of the model: a study in the book says by it that
//! its figures have moved.
//!
//! After a change that is meant, raise `study::MODEL_VERSION` and run with `UPDATE_VERSIONS=1`.

#![allow(clippy::unwrap_used)] // a helper of a test may panic

use std::path::Path;
use study::compare::{Told, ToldTreatment, moved, told};
use study::{BakeOptions, MODEL_VERSION, compare};

/// The control of every example, under the name of its file.
fn now() -> Told {
    let examples = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../examples");
    let mut files: Vec<_> = [examples.clone(), examples.join("jobs")]
        .iter()
        .flat_map(|folder| std::fs::read_dir(folder).unwrap())
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.extension().is_some_and(|e| e == "toml"))
        .collect();
    files.sort();
    let treatments = files.iter().filter_map(|path| {
        let study = study::written::read(&std::fs::read_to_string(path).unwrap()).ok()?;
        let compared = compare(&study, &[], &BakeOptions::QUICK).unwrap();
        let id = path.file_stem().unwrap().to_string_lossy().into_owned();
        let mut told = told(&compared);
        Some(ToldTreatment {
            id,
            ..told.treatments.swap_remove(0)
        })
    });
    Told {
        model: MODEL_VERSION,
        treatments: treatments.collect(),
    }
}

#[test]
fn figures_move_only_with_the_version() {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data/model_version.json");
    let text = std::fs::read_to_string(&path).unwrap_or_default();
    let then: Told = serde_json::from_str(&text).unwrap_or_default();
    let now = now();
    if std::env::var_os("UPDATE_VERSIONS").is_some() && then.model < MODEL_VERSION {
        std::fs::write(&path, serde_json::to_string_pretty(&now).unwrap() + "\n").unwrap();
        return;
    }
    assert_eq!(then.model, MODEL_VERSION, "run with UPDATE_VERSIONS=1");
    assert!(now.treatments.len() >= 13, "{}", now.treatments.len());
    let moved = moved(&then, &now);
    assert!(
        moved.is_empty(),
        "raise MODEL_VERSION if this is meant, and run with UPDATE_VERSIONS=1: {moved:#?}"
    );
    let ids =
        |told: &Told| -> Vec<String> { told.treatments.iter().map(|t| t.id.clone()).collect() };
    assert_eq!(
        ids(&then),
        ids(&now),
        "examples came or went: raise the version"
    );
}
