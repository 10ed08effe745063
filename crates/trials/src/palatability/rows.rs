//! What is written down at a two-bowl trial, read from tidy rows.

use serde::{Deserialize, Serialize};

/// One of the two foods.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub enum Food {
    /// The first food.
    A,
    /// The second food.
    B,
}

/// One dog on one day.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct BowlRow {
    /// The dog.
    pub dog: String,
    /// The day.
    pub day: String,
    /// The food on the dog's left.
    pub left: Food,
    /// Eaten of A, g.
    pub intake_a_g: f64,
    /// Eaten of B, g.
    pub intake_b_g: f64,
    /// Offered of A, g, if written down.
    pub offered_a_g: Option<f64>,
    /// Offered of B, g.
    pub offered_b_g: Option<f64>,
    /// The food eaten from first, if seen.
    pub first: Option<Food>,
}

/// What a dog must have done to count.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct BowlRules {
    /// Least intake of both foods together on each day, g; set before the trial.
    pub least_total_g: f64,
}

/// What is wrong with the data.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum PalatabilityError {
    /// A column is missing.
    #[error(
        "there is no column '{name}'; needed are dog, day, left, intake_a, intake_b, and offered_a, offered_b and first where they were noted"
    )]
    Column {
        /// Its name.
        name: &'static str,
    },
    /// A cell cannot be read.
    #[error("row {row}, column '{column}': '{text}' is not {wanted}")]
    Cell {
        /// Row of the data, from 1, headings not counted.
        row: usize,
        /// Its column.
        column: &'static str,
        /// What stands there.
        text: String,
        /// What should.
        wanted: &'static str,
    },
    /// A dog stands twice on a day.
    #[error("dog '{dog}' stands twice on day '{day}'; keep one line per dog and day")]
    Twice {
        /// The dog.
        dog: String,
        /// The day.
        day: String,
    },
    /// Too few dogs are left.
    #[error("{dogs} dogs can be used, at least 2 are needed{reasons}")]
    TooFew {
        /// Dogs left.
        dogs: usize,
        /// Why others were left out, starting with a separator.
        reasons: String,
    },
    /// A column that was named isn't there.
    #[error("there is no column `{name}`")]
    NoColumn {
        /// Its name.
        name: String,
    },
    /// A cell that is no rank.
    #[error(
        "row {row}, column {column}: {}",
        match found {
            Some(text) => format!("`{text}` is not a rank"),
            None => "there is no rank; every dog has to rank every food".to_owned(),
        }
    )]
    NoRank {
        /// Row of the file.
        row: usize,
        /// Its column.
        column: String,
        /// What stands there.
        found: Option<String>,
    },
    /// A ranking that is none.
    #[error("line {line}: {reason}")]
    Ranking {
        /// Line from 1.
        line: usize,
        /// What is wrong.
        reason: String,
    },
}

/// Reads tidy rows: one line per dog and day. Column names may be in any case and order, with or
/// without `_g`.
///
/// # Errors
/// The row, column and text that cannot be read.
pub fn read_rows(
    headings: &[String],
    lines: &[Vec<String>],
) -> Result<Vec<BowlRow>, PalatabilityError> {
    let find = |name: &str| {
        headings.iter().position(|h| {
            let h = h.trim().to_lowercase().replace([' ', '-'], "_");
            h.strip_suffix("_g").unwrap_or(&h) == name
        })
    };
    let need = |name: &'static str| find(name).ok_or(PalatabilityError::Column { name });
    let (dog, day, left) = (need("dog")?, need("day")?, need("left")?);
    let (a, b) = (need("intake_a")?, need("intake_b")?);
    let (offered_a, offered_b, first) = (find("offered_a"), find("offered_b"), find("first"));
    let mut rows = Vec::with_capacity(lines.len());
    for (i, line) in lines.iter().enumerate() {
        let row = i + 1;
        let text = |column: usize| line.get(column).map_or("", |s| s.trim());
        let bad = |column, text: &str, wanted| PalatabilityError::Cell {
            row,
            column,
            text: text.to_owned(),
            wanted,
        };
        let grams = |column: &'static str, at: usize| {
            let t = text(at);
            match t.parse::<f64>() {
                Ok(x) if x.is_finite() && x >= 0.0 => Ok(x),
                Ok(_) => Err(bad(column, t, "an amount in grams, 0 or more")),
                Err(_) if t.contains(',') => Err(bad(
                    column,
                    t,
                    "a number with a decimal point; commas are not read as decimals",
                )),
                Err(_) => Err(bad(column, t, "a number")),
            }
        };
        let optional = |column, at: Option<usize>| match at {
            Some(at) if !is_missing(text(at)) => grams(column, at).map(Some),
            _ => Ok(None),
        };
        let food = |column, at: usize| match text(at) {
            "A" | "a" => Ok(Food::A),
            "B" | "b" => Ok(Food::B),
            other => Err(bad(column, other, "A or B")),
        };
        if text(dog).is_empty() {
            return Err(bad("dog", "", "the name of a dog"));
        }
        let (eaten_a, eaten_b) = (grams("intake_a", a)?, grams("intake_b", b)?);
        let (offered_a_g, offered_b_g) = (
            optional("offered_a", offered_a)?,
            optional("offered_b", offered_b)?,
        );
        for (column, at, eaten, offered) in [
            ("intake_a", a, eaten_a, offered_a_g),
            ("intake_b", b, eaten_b, offered_b_g),
        ] {
            if offered.is_some_and(|o| eaten > o) {
                return Err(bad(
                    column,
                    text(at),
                    "eaten from what was offered: it is more",
                ));
            }
        }
        rows.push(BowlRow {
            dog: text(dog).to_owned(),
            day: text(day).to_owned(),
            left: food("left", left)?,
            intake_a_g: eaten_a,
            intake_b_g: eaten_b,
            offered_a_g,
            offered_b_g,
            first: match first {
                Some(at) if !is_missing(text(at)) => Some(food("first", at)?),
                _ => None,
            },
        });
    }
    Ok(rows)
}

fn is_missing(text: &str) -> bool {
    matches!(text, "" | "NA" | "na" | "-" | "–")
}
