//! What `study report --json` writes keeps to the schema that `study schema --report` tells, and its page of keys is the
//! one in docs/using.

#![allow(clippy::unwrap_used, reason = "a panic fails the test")]

use serde_json::Value;
use std::collections::BTreeSet;
use study::compare::{report, report_markdown, report_schema};
use study::{BakeOptions, compare, spread};

const STUDIES: [&str; 3] = [
    include_str!("../../../examples/spent-grain.toml"),
    include_str!("../../../examples/more/bench-oat.toml"),
    include_str!("../../../examples/more/cat-bits.toml"),
];

/// Looks a value over against a schema: every key is told, every required one is there, every type is allowed.
fn check(value: &Value, schema: &Value, root: &Value, path: &str) {
    if let Some(reference) = schema["$ref"].as_str() {
        let name = reference.rsplit('/').next().unwrap();
        return check(value, &root["$defs"][name], root, path);
    }
    for key in ["anyOf", "oneOf"] {
        if let Some(all) = schema[key].as_array() {
            assert!(
                all.iter().any(|s| fits(value, s, root)),
                "{path}: {value} fits none"
            );
            let fitting = all.iter().find(|s| fits(value, s, root)).unwrap();
            return check(value, fitting, root, path);
        }
    }
    if let Some(one) = schema.get("const") {
        assert_eq!(value, one, "{path}");
        return;
    }
    assert!(fits(value, schema, root), "{path}: {value} isn't {schema}");
    if let Some(all) = value.as_object() {
        let told = schema["properties"].as_object();
        let other = &schema["additionalProperties"];
        for (key, below) in all {
            let path = format!("{path}.{key}");
            match told.and_then(|t| t.get(key)) {
                Some(schema) => check(below, schema, root, &path),
                None if other.is_object() => check(below, other, root, &path),
                None => panic!("{path} isn't in the schema"),
            }
        }
        for key in schema["required"].as_array().into_iter().flatten() {
            assert!(
                all.contains_key(key.as_str().unwrap()),
                "{path} lacks {key}"
            );
        }
    }
    if let (Some(all), Some(items)) = (value.as_array(), schema.get("items")) {
        for (i, item) in all.iter().enumerate() {
            check(item, items, root, &format!("{path}[{i}]"));
        }
    }
}

fn fits(value: &Value, schema: &Value, root: &Value) -> bool {
    if let Some(reference) = schema["$ref"].as_str() {
        let name = reference.rsplit('/').next().unwrap();
        return fits(value, &root["$defs"][name], root);
    }
    for key in ["anyOf", "oneOf"] {
        if let Some(all) = schema[key].as_array() {
            return all.iter().any(|s| fits(value, s, root));
        }
    }
    if let Some(one) = schema.get("const") {
        return value == one;
    }
    if let Some(words) = schema["enum"].as_array() {
        return words.contains(value);
    }
    let is = |word: &str| match word {
        "object" => value.is_object(),
        "array" => value.is_array(),
        "string" => value.is_string(),
        "boolean" => value.is_boolean(),
        "null" => value.is_null(),
        "integer" => value.is_u64() || value.is_i64(),
        "number" => value.is_number(),
        other => panic!("{other}"),
    };
    match &schema["type"] {
        Value::Array(all) => all.iter().any(|w| is(w.as_str().unwrap())),
        Value::String(word) => is(word),
        _ => true,
    }
}

#[test]
fn reports_keep_to_their_schema() {
    let schema = report_schema();
    for text in STUDIES {
        let study = study::written::read(text).unwrap();
        let wanted: Vec<_> = study.treatments.iter().collect();
        let mut compared = compare(&study, &wanted, &BakeOptions::QUICK).unwrap();
        spread(&study, &mut compared, &BakeOptions::COARSE, 20, 7).unwrap();
        let told = serde_json::to_value(report(&study, &compared, "1.2.3")).unwrap();
        check(&told, &schema, &schema, "report");
    }
}

/// The schema lists what a finding can be called, from the crates' own lists.
#[test]
fn a_code_that_no_list_holds_does_not_fit() {
    let root = report_schema();
    let code = &root["$defs"]["Finding"]["properties"]["code"];
    assert!(study::codes().all(|c| fits(&c.word().into(), code, &root)));
    assert!(!fits(&"hopps".into(), code, &root));
}

/// Every number names its unit or says that it is a count or share, so that nobody has to guess.
#[test]
fn every_key_has_words() {
    let schema = report_schema();
    for (name, def) in schema["$defs"].as_object().unwrap() {
        for (key, value) in def["properties"].as_object().into_iter().flatten() {
            let described = value["description"].is_string() || value.get("$ref").is_some();
            assert!(described, "{name}.{key} has no words");
        }
    }
}

/// docs/using/report-json.md is made from the types; `UPDATE_DOCS=1` writes it anew.
#[test]
fn the_page_of_keys_is_the_types() {
    let path = concat!(
        env!("CARGO_MANIFEST_DIR"),
        "/../../docs/using/report-json.md"
    );
    let wanted = report_markdown();
    if std::env::var_os("UPDATE_DOCS").is_some() {
        std::fs::write(path, &wanted).unwrap();
    }
    let there = std::fs::read_to_string(path).unwrap_or_default();
    let keys = |text: &str| text.lines().map(str::to_owned).collect::<BTreeSet<_>>();
    assert!(
        there == wanted,
        "{:?}",
        keys(&wanted).difference(&keys(&there)).collect::<Vec<_>>()
    );
}
