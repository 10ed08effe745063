//! Limits: one more, or one less.

use super::{EditError, Put, bad, field};
use crate::written::problem::{Allowed, Found};
use crate::written::tables::{LIMIT, LimitRow, MOST_LIMITS, RootRow};
use crate::written::{Row, StudyWritten, Value};

/// Adds a limit at the end.
pub(super) fn add(
    w: &mut StudyWritten,
    figure: &str,
    (at_most, at_least): (Option<f64>, Option<f64>),
    probability_pct: Option<f64>,
    reason: &str,
) -> Result<(), EditError> {
    let there = w.root.rows(RootRow::limits).len();
    if there >= MOST_LIMITS {
        let allowed = Allowed::Words("at most 40 limits; take one out first");
        return Err(bad("limits", Found::Other("one more"), allowed));
    }
    if at_most.is_none() && at_least.is_none() {
        let allowed = Allowed::Words("a number in at_most, at_least, or both");
        return Err(bad("limits.at_most", Found::Empty, allowed));
    }
    let mut row = Row::new(&LIMIT);
    let mut put = |key: &'static str, put: Option<Put>| -> Result<(), EditError> {
        let Some((put, of)) = put.zip(LIMIT.field(key)) else {
            return Ok(());
        };
        let value = field::value(of, &format!("limits.{key}"), &put)?;
        row.set(key, value);
        Ok(())
    };
    put(LimitRow::figure.name, Some(Put::Text(figure.to_owned())))?;
    put(LimitRow::at_most.name, at_most.map(Put::Number))?;
    put(LimitRow::at_least.name, at_least.map(Put::Number))?;
    put(
        LimitRow::probability_pct.name,
        probability_pct.map(Put::Number),
    )?;
    let reason = reason.trim();
    put(
        LimitRow::reason.name,
        (!reason.is_empty()).then(|| Put::Text(reason.to_owned())),
    )?;
    w.root.rows_mut(RootRow::limits).push(row);
    Ok(())
}

/// Takes out the limit of a place, counted from 1.
pub(super) fn remove(w: &mut StudyWritten, nth: usize) -> Result<(), EditError> {
    let there = w.root.rows(RootRow::limits).len();
    if nth == 0 || nth > there {
        let allowed = Allowed::Words("the number of a limit that is there, from 1");
        return Err(bad(
            "limits",
            Found::Number {
                value: nth as f64,
                unit: "",
            },
            allowed,
        ));
    }
    if there == 1 {
        w.root.remove(RootRow::limits.name);
        return Ok(());
    }
    let rows = w.root.rows_mut(RootRow::limits);
    rows.remove(nth - 1);
    let kept = std::mem::take(rows);
    w.root.set(RootRow::limits.name, Value::Rows(kept));
    Ok(())
}
