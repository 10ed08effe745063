//! What changed between two states of a study, in words and numbers.

use serde::Serialize;
use study::written::tables::{FormulaLineRow, RootRow, TreatmentRow, ZoneRow};
use study::written::{Row, StudyWritten, Value};

/// One change.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Change {
    /// What it concerns, e.g. `Barley for wheat`, or the study itself.
    pub about: String,
    /// What changed there, e.g. `salt` or `piece · thickness, mm`.
    pub what: String,
    /// What it was; none when it is new.
    pub was: Option<String>,
    /// What it is; none when it is gone.
    pub is: Option<String>,
}

/// Every change from one state to another, in the order of the later one.
///
/// ```
/// use study::edit::{Edit, apply};
/// let before = study::written::read_written(app::DEMONSTRATION).unwrap();
/// let edit = Edit::SetAmount { treatment: "control".into(), material: "salt".into(), amount: 0.4 };
/// let changes = app::diff(&before, &apply(&before, &edit).unwrap());
/// assert_eq!(changes.len(), 1);
/// assert_eq!((changes[0].was.as_deref(), changes[0].is.as_deref()), (Some("0.3"), Some("0.4")));
/// ```
pub fn diff(before: &StudyWritten, after: &StudyWritten) -> Vec<Change> {
    let mut changes = Vec::new();
    rows(&before.root, &after.root, "the study", "", &mut changes);
    changes
}

fn rows(before: &Row, after: &Row, about: &str, path: &str, changes: &mut Vec<Change>) {
    for key in after.table.keys() {
        let (was, is) = (
            before.entry(key).map(|e| &e.value),
            after.entry(key).map(|e| &e.value),
        );
        if was == is {
            continue;
        }
        let what = if path.is_empty() {
            words(key)
        } else {
            format!("{path} · {}", words(key))
        };
        match (was, is) {
            (Some(Value::Row(was)), Some(Value::Row(is))) => rows(was, is, about, &what, changes),
            (None, Some(Value::Row(is))) => rows(&Row::new(is.table), is, about, &what, changes),
            (Some(Value::Row(was)), None) => rows(was, &Row::new(was.table), about, &what, changes),
            (was, is) if list(was) || list(is) => {
                lists(of(was), of(is), about, key, &what, changes)
            }
            (was, is) => changes.push(Change {
                about: about.to_owned(),
                what,
                was: was.map(told),
                is: is.map(told),
            }),
        }
    }
}

fn list(value: Option<&Value>) -> bool {
    matches!(value, Some(Value::Rows(_)))
}

fn of(value: Option<&Value>) -> &[Row] {
    match value {
        Some(Value::Rows(rows)) => rows,
        _ => &[],
    }
}

/// Rows are paired by name; changes of a formula have none and are told as a whole.
fn lists(was: &[Row], is: &[Row], about: &str, key: &str, what: &str, changes: &mut Vec<Change>) {
    let name = |row: &Row| -> Option<String> {
        let name = row
            .get(TreatmentRow::id)
            .or(row.get(FormulaLineRow::material))
            .or(row.get(ZoneRow::name));
        name.map(str::to_owned)
    };
    let titled = |row: &Row| {
        row.get(TreatmentRow::name)
            .or(row.get(TreatmentRow::id))
            .unwrap_or_default()
            .to_owned()
    };
    if key == TreatmentRow::changes.name {
        for gone in was.iter().filter(|w| !is.contains(w)) {
            changes.push(Change {
                about: about.to_owned(),
                what: what.to_owned(),
                was: Some(sentence(gone)),
                is: None,
            });
        }
        for new in is.iter().filter(|i| !was.contains(i)) {
            changes.push(Change {
                about: about.to_owned(),
                what: what.to_owned(),
                was: None,
                is: Some(sentence(new)),
            });
        }
        return;
    }
    let own = key == RootRow::treatment.name || key == RootRow::material.name;
    for here in is {
        let there = was.iter().find(|w| name(w) == name(here));
        let label = if own { titled(here) } else { about.to_owned() };
        let path = if own {
            String::new()
        } else {
            format!("{what} {}", name(here).unwrap_or_default())
        };
        match there {
            None if own => changes.push(Change {
                about: label,
                what: words(key),
                was: None,
                is: Some("added".to_owned()),
            }),
            None => changes.push(Change {
                about: label,
                what: name(here).unwrap_or_default(),
                was: None,
                is: Some(amount(here)),
            }),
            Some(there) if key == TreatmentRow::lines.name && amount(there) != amount(here) => {
                changes.push(Change {
                    about: label,
                    what: name(here).unwrap_or_default(),
                    was: Some(amount(there)),
                    is: Some(amount(here)),
                })
            }
            Some(there) => rows(there, here, &label, &path, changes),
        }
    }
    for gone in was
        .iter()
        .filter(|w| !is.iter().any(|i| name(i) == name(w)))
    {
        let (label, what, value) = if own {
            (titled(gone), words(key), "there".to_owned())
        } else {
            (
                about.to_owned(),
                name(gone).unwrap_or_default(),
                amount(gone),
            )
        };
        changes.push(Change {
            about: label,
            what,
            was: Some(value),
            is: None,
        });
    }
    let order = |rows: &[Row], others: &[Row]| -> Vec<Option<String>> {
        rows.iter()
            .map(&name)
            .filter(|n| others.iter().any(|o| name(o) == *n))
            .collect()
    };
    let (old, new) = (order(was, is), order(is, was));
    if old != new {
        let joined =
            |names: Vec<Option<String>>| names.into_iter().flatten().collect::<Vec<_>>().join(", ");
        changes.push(Change {
            about: about.to_owned(),
            what: format!(
                "order of {}",
                if own {
                    format!("{}s", words(key))
                } else {
                    what.to_owned()
                }
            ),
            was: Some(joined(old)),
            is: Some(joined(new)),
        });
    }
}

/// What a formula line says of its amount; of other rows all that they say.
pub(crate) fn amount(row: &Row) -> String {
    let Some(line) = FormulaLineRow::read(row) else {
        return sentence(row);
    };
    if line.balance.value == Some(true) {
        return "balance".to_owned();
    }
    line.amount
        .value
        .map_or_else(|| "no amount".to_owned(), number)
}

fn sentence(row: &Row) -> String {
    let parts: Vec<String> = row
        .entries
        .iter()
        .map(|e| format!("{} {}", words(e.key), told(&e.value)))
        .collect();
    parts.join(", ")
}

pub(crate) fn told(value: &Value) -> String {
    match value {
        Value::Text(text) => text.clone(),
        Value::Number(n) => number(*n),
        Value::Flag(true) => "yes".to_owned(),
        Value::Flag(false) => "no".to_owned(),
        Value::Words(words) => words.join(", "),
        Value::Row(row) => sentence(row),
        Value::Rows(rows) => rows.iter().map(sentence).collect::<Vec<_>>().join("; "),
    }
}

fn number(n: f64) -> String {
    format!("{n}").replace('-', "\u{2212}")
}

/// A key as words: `thickness_mm` is `thickness, mm`.
pub(crate) fn words(key: &str) -> String {
    const UNITS: [(&str, &str); 21] = [
        ("_kg_per_m3", "kg/m³"),
        ("_kg_per_kg", "kg/kg"),
        ("_kj_per_kg", "kJ/kg"),
        ("_w_m2k", "W/(m² K)"),
        ("_m_min", "m/min"),
        ("_m_s", "m/s"),
        ("_per_min", "per min"),
        ("_per_h", "per h"),
        ("_per_kwh", "per kWh"),
        ("_per_kg", "per kg"),
        ("_rpm", "turns per minute"),
        ("_days", "days"),
        ("_pct", "%"),
        ("_min", "min"),
        ("_mm", "mm"),
        ("_m2", "m²"),
        ("_kg", "kg"),
        ("_m", "m"),
        ("_g", "g"),
        ("_c", "°C"),
        ("_s", "s"),
    ];
    for (ending, unit) in UNITS {
        if let Some(stem) = key.strip_suffix(ending)
            && !stem.is_empty()
        {
            return format!("{}, {unit}", stem.replace('_', " "));
        }
    }
    key.replace('_', " ")
}
