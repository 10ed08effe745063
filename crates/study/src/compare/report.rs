//! The report as one JSON document: the vocabulary that pages, commands and bindings read.

use super::Compared;
use crate::codes;
use crate::model::Study;
use schemars::{JsonSchema, schema_for};
use serde::Serialize;
use serde_json::{Map, Value, json};
use std::fmt::Write as _;

/// A study with the answers of its treatments.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct Report<'a> {
    /// Version of the program.
    pub hardtack: &'static str,
    /// What was asked.
    pub study: Head<'a>,
    /// Short name of the control.
    pub control: &'a str,
    /// The control first, then the others as written.
    pub treatments: &'a [Compared],
}

/// What was asked.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct Head<'a> {
    /// What the study is called.
    pub name: &'a str,
    /// What it wants to know.
    pub question: &'a str,
    /// The animal: `dog` or `cat`.
    pub species: &'static str,
    /// Whether the data are made up.
    pub invented: bool,
    /// Currency of every price, three letters.
    pub currency: &'a str,
    /// The moisture that the bakes aim at.
    pub target: TargetMoisture,
}

/// The moisture that the bakes aim at.
#[derive(Clone, Copy, Debug, Serialize, JsonSchema)]
pub struct TargetMoisture {
    /// Mean moisture of the piece, % wet basis.
    pub moisture_pct: f64,
    /// Where it holds: `oven exit`, `cooled` or `packed`.
    pub at: &'static str,
    /// Log reduction that the bake has to be shown to reach; none when none was asked for.
    pub kill_log10: Option<f64>,
}

/// The report of a study.
pub fn report<'a>(
    study: &'a Study,
    treatments: &'a [Compared],
    hardtack: &'static str,
) -> Report<'a> {
    Report {
        hardtack,
        study: Head {
            name: &study.name,
            question: &study.question,
            species: study.species.word(),
            invented: study.invented,
            currency: &study.currency,
            target: TargetMoisture {
                moisture_pct: study.target.moisture.percent(),
                at: study.target.at.written(),
                kill_log10: study.target.kill_log10,
            },
        },
        control: &study.control().id,
        treatments,
    }
}

/// The JSON Schema (draft 2020-12) of the report; what a finding can be called is from [`codes`].
pub fn report_schema() -> Value {
    let mut schema: Value = schema_for!(Report<'_>).into();
    schema["$defs"]["Code"] = json!({
        "description": "What a finding is called: one of the codes that can be.",
        "type": "string",
        "enum": codes().map(measure::Code::word).collect::<Vec<_>>(),
    });
    schema
}

/// The report's keys as a Markdown page.
pub fn report_markdown() -> String {
    let schema = report_schema();
    let mut text = String::from(
        "# The report as JSON\n\nMade from the types that are written, by `hardtack study schema --report --markdown`. \
         `hardtack study report FILE --json` writes it. A number that isn\u{2019}t known is null or left out, never 0. \
         Keys end in their unit.\n",
    );
    let none = Map::new();
    let defs = schema["$defs"].as_object().unwrap_or(&none);
    table(&mut text, "report", &schema);
    for (name, def) in defs {
        if def.get("properties").is_some() {
            table(&mut text, name, def);
        }
    }
    text.push_str(
        "\n## Codes of findings\n\nWhat a finding of a study or a trial can be called.\n\n\
         | code | meaning |\n|---|---|\n",
    );
    for code in codes() {
        let _ = writeln!(text, "| `{}` | {} |", code.word(), code.meaning());
    }
    text
}

fn table(text: &mut String, name: &str, schema: &Value) {
    let words = |v: &Value| {
        let told = v["description"].as_str().unwrap_or_default();
        told.replace('\n', " ").replace('|', "\\|")
    };
    // Writing into a string can't fail.
    let _ = write!(
        text,
        "\n## {name}\n\n{}\n\n| key | kind | meaning |\n|---|---|---|\n",
        words(schema)
    );
    for (key, value) in schema["properties"].as_object().into_iter().flatten() {
        let _ = writeln!(text, "| `{key}` | {} | {} |", kind(value), words(value));
    }
}

fn kind(schema: &Value) -> String {
    if let Some(name) = schema["$ref"].as_str() {
        return name.rsplit('/').next().unwrap_or_default().to_owned();
    }
    let alternatives = schema["anyOf"].as_array();
    if let Some(all) = alternatives {
        return all.iter().map(kind).collect::<Vec<_>>().join(" or ");
    }
    let of = |key: &str| schema.get(key).filter(|v| v.is_object()).map(kind);
    let name = |v: &Value| match (v.as_str().unwrap_or_default(), of("items")) {
        ("array", Some(items)) => format!("array of {items}"),
        ("object", _) => {
            of("additionalProperties").map_or("object".to_owned(), |v| format!("{v} by name"))
        }
        (word, _) => word.to_owned(),
    };
    match &schema["type"] {
        Value::Array(all) => all.iter().map(name).collect::<Vec<_>>().join(" or "),
        Value::Null => "anything".to_owned(),
        one => name(one),
    }
}
