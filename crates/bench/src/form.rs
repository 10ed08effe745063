//! Written forms as TOML, from any type that has a serial form.

use serde::Serialize;
use serde::de::DeserializeOwned;
use serde_json::{Map, Number, Value};
use toml_edit::{Array, ArrayOfTables, DocumentMut, InlineTable, Item, Table};

/// Deeper nesting than any form has.
const DEEPEST: usize = 16;

/// A form that can't be read or written.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum FormError {
    /// The text isn't TOML.
    #[error("this isn’t a form that can be read: {0}")]
    Text(String),
    /// The text is TOML, and something else.
    #[error("this form isn’t what was looked for: {0}")]
    Shape(String),
    /// A value that has no written form.
    #[error("{0} can’t be written in a form")]
    Value(String),
}

/// Writes a form.
///
/// # Errors
/// A number that is not finite, or beyond what a form holds (a whole number of more than 63 bits).
pub fn write_form(form: &impl Serialize) -> Result<String, FormError> {
    let value = serde_json::to_value(form).map_err(|e| FormError::Value(e.to_string()))?;
    let Value::Object(map) = value else {
        return Err(FormError::Value("this".to_owned()));
    };
    let mut doc = DocumentMut::new();
    *doc.as_table_mut() = table(map)?;
    doc.as_table_mut().set_implicit(true);
    Ok(doc.to_string())
}

fn table(map: Map<String, Value>) -> Result<Table, FormError> {
    let mut out = Table::new();
    // What stands under a head comes after what stands above the first one.
    let (below, above): (Vec<_>, Vec<_>) = map
        .into_iter()
        .filter(|(_, v)| !v.is_null())
        .partition(|(_, v)| v.is_object() || is_tables(v));
    for (key, value) in above.into_iter().chain(below) {
        let item = match value {
            Value::Object(map) => Item::Table(table(map)?),
            Value::Array(rows) if is_rows(&rows) => {
                let mut tables = ArrayOfTables::new();
                for row in rows {
                    if let Value::Object(map) = row {
                        tables.push(table(map)?);
                    }
                }
                Item::ArrayOfTables(tables)
            }
            other => Item::Value(plain(other)?),
        };
        out.insert(&key, item);
    }
    Ok(out)
}

fn is_tables(value: &Value) -> bool {
    value.as_array().is_some_and(|rows| is_rows(rows))
}

fn is_rows(rows: &[Value]) -> bool {
    !rows.is_empty() && rows.iter().all(Value::is_object)
}

fn plain(value: Value) -> Result<toml_edit::Value, FormError> {
    Ok(match value {
        Value::Null => return Err(FormError::Value("nothing within a list".to_owned())),
        Value::Bool(b) => b.into(),
        Value::Number(n) => number(&n)?,
        Value::String(s) => s.into(),
        Value::Array(values) => {
            let mut array = Array::new();
            for value in values {
                array.push(plain(value)?);
            }
            array.into()
        }
        Value::Object(map) => {
            let mut inline = InlineTable::new();
            for (key, value) in map.into_iter().filter(|(_, v)| !v.is_null()) {
                inline.insert(&key, plain(value)?);
            }
            inline.into()
        }
    })
}

fn number(n: &Number) -> Result<toml_edit::Value, FormError> {
    if let Some(whole) = n.as_i64() {
        return Ok(whole.into());
    }
    if n.is_u64() {
        return Err(FormError::Value(format!(
            "{n}, more than {}, the largest whole number of a form,",
            i64::MAX
        )));
    }
    n.as_f64()
        .map(Into::into)
        .ok_or_else(|| FormError::Value(n.to_string()))
}

/// Reads a form.
///
/// # Errors
/// A text that isn't TOML, or holds something else than was looked for.
pub fn read_form<T: DeserializeOwned>(text: &str) -> Result<T, FormError> {
    let doc: DocumentMut = text
        .parse()
        .map_err(|e: toml_edit::TomlError| FormError::Text(e.message().to_owned()))?;
    let value = Value::Object(read_table(doc.as_table(), 0)?);
    serde_json::from_value(value).map_err(|e| FormError::Shape(e.to_string()))
}

fn read_table(table: &Table, depth: usize) -> Result<Map<String, Value>, FormError> {
    if depth > DEEPEST {
        return Err(FormError::Shape("it is nested too deep".to_owned()));
    }
    let mut map = Map::new();
    for (key, item) in table {
        let value = match item {
            Item::None => continue,
            Item::Value(value) => read_plain(value, depth + 1)?,
            Item::Table(table) => Value::Object(read_table(table, depth + 1)?),
            Item::ArrayOfTables(rows) => {
                let rows = rows.iter().map(|t| read_table(t, depth + 1));
                Value::Array(
                    rows.map(|r| r.map(Value::Object))
                        .collect::<Result<_, _>>()?,
                )
            }
        };
        map.insert(key.to_owned(), value);
    }
    Ok(map)
}

fn read_plain(value: &toml_edit::Value, depth: usize) -> Result<Value, FormError> {
    if depth > DEEPEST {
        return Err(FormError::Shape("it is nested too deep".to_owned()));
    }
    Ok(match value {
        toml_edit::Value::String(s) => Value::String(s.value().clone()),
        toml_edit::Value::Integer(i) => Value::from(*i.value()),
        toml_edit::Value::Float(f) => Number::from_f64(*f.value())
            .map(Value::Number)
            .ok_or_else(|| FormError::Shape(format!("{} is no number", f.value())))?,
        toml_edit::Value::Boolean(b) => Value::Bool(*b.value()),
        toml_edit::Value::Datetime(d) => Value::String(d.value().to_string()),
        toml_edit::Value::Array(values) => Value::Array(
            values
                .iter()
                .map(|v| read_plain(v, depth + 1))
                .collect::<Result<_, _>>()?,
        ),
        toml_edit::Value::InlineTable(t) => {
            let mut map = Map::new();
            for (key, value) in t {
                map.insert(key.to_owned(), read_plain(value, depth + 1)?);
            }
            Value::Object(map)
        }
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;
    use serde::Deserialize;

    #[derive(Debug, PartialEq, Serialize, Deserialize)]
    struct Row {
        name: String,
        amount: f64,
        more: Option<String>,
        list: Vec<String>,
    }

    #[derive(Debug, PartialEq, Serialize, Deserialize)]
    struct Form {
        title: String,
        whole: i64,
        rows: Vec<Row>,
        one: Row,
        nested: Vec<Vec<f64>>,
    }

    proptest! {
        #[test]
        fn what_is_written_reads_back(
            title in ".{0,40}",
            whole in any::<i64>(),
            names in prop::collection::vec(".{0,20}", 0..4),
            amount in -1e300f64..1e300,
        ) {
            let row = |name: &String| Row {
                name: name.clone(),
                amount,
                more: (name.len() > 3).then(|| name.clone()),
                list: names.clone(),
            };
            let form = Form {
                rows: names.iter().map(row).collect(),
                one: row(&title),
                nested: vec![vec![amount, 1.0], vec![]],
                title,
                whole,
            };
            let text = write_form(&form).unwrap();
            prop_assert_eq!(read_form::<Form>(&text).unwrap(), form);
        }
    }

    #[test]
    fn odd_texts_are_refused_in_words() {
        for text in [
            "= 3",
            "title = 3",
            "rows = []\nx = [[[[[[[[[[[[[[[[[[1]]]]]]]]]]]]]]]]]]",
        ] {
            let told = read_form::<Form>(text).unwrap_err().to_string();
            assert!(told.contains("form"), "{told}");
        }
        #[derive(Serialize)]
        struct Big {
            seed: u64,
        }
        let told = write_form(&Big { seed: u64::MAX }).unwrap_err().to_string();
        assert!(told.contains("18446744073709551615"), "{told}");
    }
}
