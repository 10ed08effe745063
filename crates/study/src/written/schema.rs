//! The JSON Schema (draft 2020-12) of a study file, from the field lists.

use super::field::{Field, Kind, Need, Table};
use serde_json::{Map, Value, json};

/// The schema of a whole document.
pub(super) fn document(root: &Table) -> Value {
    let mut schema = table(root);
    let mut whole = Map::new();
    whole.insert(
        "$schema".into(),
        json!("https://json-schema.org/draft/2020-12/schema"),
    );
    whole.insert("title".into(), json!("Hardtack study"));
    if let Value::Object(rest) = &mut schema {
        whole.append(rest);
    }
    Value::Object(whole)
}

fn table(table: &Table) -> Value {
    let properties: Map<String, Value> = table
        .fields
        .iter()
        .map(|f| (f.key.to_owned(), field(f)))
        .collect();
    let required: Vec<_> = table
        .fields
        .iter()
        .filter(|f| f.need == Need::Required)
        .map(|f| f.key)
        .collect();
    json!({
        "type": "object",
        "description": table.doc,
        "additionalProperties": false,
        "required": required,
        "properties": properties,
    })
}

fn field(field: &Field) -> Value {
    let mut schema = match field.kind {
        Kind::Text(longest) => json!({ "type": "string", "maxLength": longest }),
        Kind::Id | Kind::Material | Kind::Treatment => {
            json!({ "type": "string", "pattern": "^[a-z0-9_-]{1,60}$" })
        }
        Kind::Number(unit, range) => {
            let mut s = json!({ "type": "number", "minimum": range.low, "maximum": range.high });
            if !unit.is_empty() {
                s["x-unit"] = json!(unit);
            }
            s
        }
        Kind::Whole(range) => {
            json!({ "type": "integer", "minimum": range.low, "maximum": range.high })
        }
        Kind::Flag => json!({ "type": "boolean" }),
        Kind::Choice(words) => json!({ "enum": words() }),
        Kind::Choices(words) => json!({ "type": "array", "items": { "enum": words() } }),
        Kind::Table(t) | Kind::Inline(t) => table(t),
        Kind::Tables(t, most) | Kind::Lines(t, most) => {
            json!({ "type": "array", "maxItems": most, "items": table(t) })
        }
        Kind::Forms(forms, most) => json!({
            "type": "array",
            "maxItems": most,
            "items": { "oneOf": forms.iter().map(|form| table(form)).collect::<Vec<_>>() },
        }),
    };
    schema["description"] = json!(field.doc);
    match field.need {
        Need::Or(n) => schema["default"] = json!(n),
        Need::OrWord(w) => schema["default"] = json!(w),
        Need::Required | Need::Optional => {}
    }
    schema
}
