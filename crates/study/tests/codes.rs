//! The one list of what findings are called: told apart, named as they are written, and each of them found by
//! something.

#![allow(clippy::unwrap_used, reason = "a panic fails the test")]

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

/// The name in its list that a word belongs to: `raw-dough` is `RawDough`.
fn variant(word: &str) -> String {
    let part = |p: &str| p[..1].to_uppercase() + &p[1..];
    word.split('-').map(part).collect()
}

/// Every source of the program under `at`, without the study file's problems, which have codes of their own.
fn sources(at: &Path, found: &mut Vec<PathBuf>) {
    for entry in std::fs::read_dir(at).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() && !path.ends_with("written") {
            sources(&path, found);
        } else if path.extension().is_some_and(|e| e == "rs") {
            found.push(path);
        }
    }
}

/// The codes that a source names outside of its tests and comments.
fn said(source: &str) -> impl Iterator<Item = String> {
    let program = source
        .lines()
        .take_while(|l| !l.starts_with("#[cfg(test)]"))
        .filter(|l| !l.trim_start().starts_with("//"));
    program
        .flat_map(|l| l.split("Code::").skip(1))
        .map(|rest| rest.chars().take_while(|c| c.is_alphanumeric()).collect())
}

#[test]
fn no_word_stands_in_two_lists_and_each_has_its_meaning() {
    let mut words = BTreeSet::new();
    for code in study::codes() {
        let word = code.word();
        assert!(words.insert(word), "{word} stands in two lists");
        let letters = |p: &str| {
            p.bytes()
                .all(|b| b.is_ascii_lowercase() || b.is_ascii_digit())
        };
        assert!(
            word.split('-').all(|p| !p.is_empty() && letters(p)),
            "{word}"
        );
        assert!(code.meaning().ends_with('.'), "{word}: {}", code.meaning());
    }
}

/// A code that nothing finds any more has to leave its list; so has one whose word isn't its name.
#[test]
fn every_listed_code_is_found_by_something() {
    let crates = Path::new(env!("CARGO_MANIFEST_DIR")).parent().unwrap();
    let mut files = Vec::new();
    for member in std::fs::read_dir(crates).unwrap() {
        sources(&member.unwrap().path().join("src"), &mut files);
    }
    files.retain(|f| !f.to_string_lossy().ends_with("tests.rs"));
    let named: BTreeSet<String> = files
        .iter()
        .flat_map(|f| said(&std::fs::read_to_string(f).unwrap()).collect::<Vec<_>>())
        .collect();
    let idle: Vec<&str> = study::codes()
        .map(|c| c.word())
        .filter(|w| !named.contains(&variant(w)))
        .collect();
    assert!(idle.is_empty(), "nothing finds {idle:?}");
}
