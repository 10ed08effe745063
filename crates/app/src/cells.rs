//! The cells of a study as written, each under its own name, so that two changes can be told to touch the same one or
//! not; and the text in them, which has to be text that can be read again.

use crate::AppError;
use std::collections::{BTreeMap, BTreeSet};
use study::written::{Row, StudyWritten, Value};

/// Every value by the way to it, such as `barley · lines · salt · amount`.
pub(crate) type Cells = BTreeMap<String, String>;

/// The cells of a study.
pub(crate) fn cells(written: &StudyWritten) -> Cells {
    let mut cells = Cells::new();
    row(&written.root, "", &mut cells);
    cells
}

fn row(of: &Row, way: &str, cells: &mut Cells) {
    for entry in &of.entries {
        let here = joined(way, entry.key);
        match &entry.value {
            Value::Row(below) => row(below, &here, cells),
            Value::Rows(rows) => {
                for (name, below) in named(rows) {
                    row(
                        below,
                        &joined(way_of_list(entry.key, way, &here), &name),
                        cells,
                    );
                }
            }
            value => {
                cells.insert(here, shown(value));
            }
        }
    }
}

/// The way to the rows of a list: a treatment or material is known by its name alone.
pub(crate) fn way_of_list<'w>(key: &str, way: &'w str, here: &'w str) -> &'w str {
    if matches!(key, "treatment" | "material") {
        way
    } else {
        here
    }
}

/// The rows of a list by their names, told apart where several have the same.
pub(crate) fn named(rows: &[Row]) -> Vec<(String, &Row)> {
    let mut met = BTreeMap::<String, usize>::new();
    let mut once = |row| {
        let name = name(row);
        let times = met.entry(name.clone()).or_default();
        *times += 1;
        if *times > 1 {
            format!("{name} {times}")
        } else {
            name
        }
    };
    rows.iter().map(|row| (once(row), row)).collect()
}

pub(crate) fn joined(way: &str, name: &str) -> String {
    if way.is_empty() {
        name.to_owned()
    } else {
        format!("{way} · {name}")
    }
}

/// What a row of a list is known by; a change of a formula by what it does to what.
pub(crate) fn name(row: &Row) -> String {
    for key in ["id", "material", "name"] {
        if let Some(Value::Text(text)) = row.entry(key).map(|e| &e.value) {
            return text.clone();
        }
    }
    let first = row.entries.iter().find_map(|e| match &e.value {
        Value::Text(text) => Some(format!("{} {text}", e.key)),
        _ => None,
    });
    first.unwrap_or_default()
}

fn shown(value: &Value) -> String {
    match value {
        Value::Text(text) => text.clone(),
        Value::Number(n) => n.to_string(),
        Value::Flag(true) => "yes".to_owned(),
        Value::Flag(false) => "no".to_owned(),
        Value::Words(words) => words.join(", "),
        Value::Row(_) | Value::Rows(_) => String::new(),
    }
}

/// The names of the cells that differ.
pub(crate) fn touched(before: &Cells, after: &Cells) -> BTreeSet<String> {
    let changed = |(way, value): &(&String, &String)| after.get(*way) != Some(*value);
    let gone_or_other = before.iter().filter(changed).map(|(way, _)| way);
    let new = after.keys().filter(|way| !before.contains_key(*way));
    gone_or_other.chain(new).cloned().collect()
}

/// Text as it can be written and read again: every kind of line end is one, and what can't be seen is refused with its
/// place.
pub(crate) fn tidied(mut written: StudyWritten) -> Result<StudyWritten, AppError> {
    tidy_row(&mut written.root, "")?;
    Ok(written)
}

fn tidy_row(row: &mut Row, way: &str) -> Result<(), AppError> {
    let own = name(row);
    let way = if own.is_empty() || way.is_empty() {
        way.to_owned()
    } else {
        joined(way, &own)
    };
    for entry in &mut row.entries {
        let here = joined(&way, entry.key);
        match &mut entry.value {
            Value::Text(text) => tidy(text, &here)?,
            Value::Words(words) => {
                for word in words {
                    tidy(word, &here)?;
                }
            }
            Value::Row(below) => tidy_row(below, &here)?,
            Value::Rows(rows) => {
                for below in rows {
                    tidy_row(below, &here)?;
                }
            }
            Value::Number(_) | Value::Flag(_) => {}
        }
    }
    Ok(())
}

/// One text, tidied in place.
pub(crate) fn tidy(text: &mut String, field: &str) -> Result<(), AppError> {
    if !text.contains(|c: char| c.is_control() && !matches!(c, '\n' | '\t')) {
        return Ok(());
    }
    // Carriage return, next line, vertical tab and form feed end a line (Unicode 5.8, newline guidelines).
    let ended = text
        .replace("\r\n", "\n")
        .replace(['\r', '\u{85}', '\u{b}', '\u{c}'], "\n");
    if let Some(c) = ended
        .chars()
        .find(|c| c.is_control() && !matches!(c, '\n' | '\t'))
    {
        return Err(AppError::Value {
            field: field.chars().filter(|c| !c.is_control()).take(80).collect(),
            why: format!(
                "it holds the control character U+{:04X}, which can't be seen or kept; type the text without it",
                u32::from(c)
            ),
        });
    }
    *text = ended;
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use study::edit::{Edit, apply};
    use study::written::read_written;

    fn with_salt(written: &StudyWritten, treatment: &str, amount: f64) -> StudyWritten {
        let edit = Edit::SetAmount {
            treatment: treatment.into(),
            material: "salt".into(),
            amount,
        };
        apply(written, &edit).unwrap()
    }

    #[test]
    fn two_amounts_are_two_cells_and_one_amount_is_one() {
        let before = read_written(crate::DEMONSTRATION).unwrap();
        let of = |after: &StudyWritten| touched(&cells(&before), &cells(after));
        let (barley, control) = (
            of(&with_salt(&before, "barley", 0.4)),
            of(&with_salt(&before, "control", 0.4)),
        );
        assert!(
            !barley.is_empty() && barley.is_disjoint(&control),
            "{barley:?} {control:?}"
        );
        let other = Edit::SetAmount {
            treatment: "barley".into(),
            material: "molasses".into(),
            amount: 2.5,
        };
        let other = of(&apply(&before, &other).unwrap());
        assert!(barley.is_disjoint(&other), "{barley:?} {other:?}");
        assert!(!barley.is_disjoint(&of(&with_salt(&before, "barley", 0.5))));
        let gone = Edit::RemoveTreatment {
            treatment: "barley".into(),
        };
        let gone = of(&apply(&before, &gone).unwrap());
        assert!(gone.is_disjoint(&control), "{gone:?} {control:?}");
        // A note of its own is a cell of the treatment that is gone.
        let note = Edit::SetNote {
            treatment: Some("barley".into()),
            note: "drinks more".into(),
        };
        let note = of(&apply(&before, &note).unwrap());
        assert!(!gone.is_disjoint(&note), "{gone:?} {note:?}");
    }
}
