//! Check files: lists of numbers with their inputs, answered by the product.

mod sorption;
mod topics;
mod transport;

use serde_json::Value;

/// How a check came out.
#[derive(Clone, Debug, PartialEq)]
pub struct Answered {
    /// Its name.
    pub id: String,
    /// What it is about.
    pub topic: String,
    /// What was expected, as written.
    pub expected: String,
    /// What the product says, or why it says nothing.
    pub got: String,
    /// Whether they agree within the tolerance.
    pub passed: bool,
}

/// What the product says: numbers, or why there is none.
type Got = Result<Vec<f64>, String>;

/// Runs a check file.
///
/// # Errors
/// A text that is neither of the two forms.
pub fn run(text: &str) -> Result<Vec<Answered>, String> {
    let document: Value = serde_json::from_str(text).map_err(|e| e.to_string())?;
    match &document {
        Value::Array(checks) => Ok(checks.iter().map(answered).collect()),
        Value::Object(_) => transport::run(&document),
        _ => Err("neither a list of checks nor a document about the movement of water".into()),
    }
}

fn answered(check: &Value) -> Answered {
    let text = |key: &str| check[key].as_str().unwrap_or_default().to_owned();
    let (id, topic) = (text("id"), text("topic"));
    let got = topics::answer(&topic, &id, &check["inputs"]);
    compared(
        (topic, id),
        &check["expected"],
        check["tolerance"].as_f64().unwrap_or(0.0),
        got,
    )
}

/// Compares what was got with what is expected: a number, a list of numbers, or a range written as "low-high".
fn compared((topic, id): (String, String), expected: &Value, tolerance: f64, got: Got) -> Answered {
    let wanted = numbers(expected);
    let passed = match (&got, &wanted) {
        (Ok(got), Some(wanted)) => {
            got.len() == wanted.len()
                && got
                    .iter()
                    .zip(wanted)
                    .all(|(g, w)| (g - w).abs() <= tolerance + 1e-12 * w.abs())
        }
        _ => false,
    };
    let shown = |v: &[f64]| {
        v.iter()
            .map(|v| format!("{v:.6}"))
            .collect::<Vec<_>>()
            .join(", ")
    };
    Answered {
        id,
        topic,
        expected: match expected {
            Value::String(s) => s.clone(),
            other => other.to_string(),
        },
        got: match got {
            Ok(v) if v.iter().all(|v| v.abs() < 1e-3) => v
                .iter()
                .map(|v| format!("{v:.6e}"))
                .collect::<Vec<_>>()
                .join(", "),
            Ok(v) => shown(&v),
            Err(why) => why,
        },
        passed,
    }
}

/// The numbers of an expectation: one, a list, or the first and last of a text such as "105-115 C product".
fn numbers(expected: &Value) -> Option<Vec<f64>> {
    match expected {
        Value::Number(n) => n.as_f64().map(|v| vec![v]),
        Value::Array(list) => list.iter().map(Value::as_f64).collect(),
        Value::String(text) => {
            let range = text.split_whitespace().next()?;
            range.split('-').map(|part| part.parse().ok()).collect()
        }
        _ => None,
    }
}

/// A number of the inputs.
fn number(inputs: &Value, key: &str) -> Option<f64> {
    inputs[key].as_f64()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_topic_nobody_knows_is_a_failure() {
        let text =
            r#"[{"id": "x", "topic": "weather", "inputs": {}, "expected": 1, "tolerance": 9}]"#;
        let answered = run(text).unwrap();
        assert!(!answered[0].passed && answered[0].got.contains("weather"));
    }

    #[test]
    fn a_wrong_expectation_fails_and_a_right_one_passes() {
        let check = |expected: f64| {
            let text = format!(
                r#"[{{"id": "x", "topic": "solutes", "inputs": {{"solute": "glycerol", "wt_frac_in_water": 0.6, "T_C": 25}},
                "expected": {expected}, "tolerance": 0.0002}}]"#
            );
            run(&text).unwrap()[0].passed
        };
        assert!(check(0.7383) && !check(0.7390));
        assert!(run("3").is_err());
    }
}
