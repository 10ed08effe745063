//! A table of a trial's report: words and numbers under their heads.

/// A cell: what is shown, and the whole number where it is one.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Cell {
    /// What is shown.
    pub text: String,
    /// The number behind it.
    pub value: Option<f64>,
}

/// A table.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Sheet {
    /// What it holds.
    pub title: String,
    /// A sentence below the title; empty for none.
    pub note: String,
    /// Heads of the columns, and whether numbers stand below.
    pub heads: Vec<(String, bool)>,
    /// Whether a printed page gets a column to write in.
    pub to_fill: bool,
    /// Rows, a cell for each column.
    pub rows: Vec<Vec<Cell>>,
}

impl Sheet {
    /// A table with a title and heads; a head that begins with `#` stands over numbers.
    pub(super) fn new(title: &str, note: &str, heads: &[&str]) -> Self {
        let head = |h: &&str| match h.strip_prefix('#') {
            Some(words) => (words.to_owned(), true),
            None => ((*h).to_owned(), false),
        };
        Self {
            title: title.to_owned(),
            note: note.to_owned(),
            heads: heads.iter().map(head).collect(),
            to_fill: false,
            rows: Vec::new(),
        }
    }
}

impl From<&str> for Cell {
    fn from(text: &str) -> Self {
        Self {
            text: text.to_owned(),
            value: None,
        }
    }
}

impl From<String> for Cell {
    fn from(text: String) -> Self {
        Self { text, value: None }
    }
}

/// A number with so many decimals; nothing where there is none.
pub(super) fn fixed(value: Option<f64>, places: usize) -> Cell {
    shown(value, |v| paper::number::fixed(v, places))
}

/// A number with three significant digits; nothing where there is none.
pub(super) fn three(value: Option<f64>) -> Cell {
    shown(value, paper::number::three)
}

/// A p-value: three decimals, and never nought.
pub(super) fn p(value: Option<f64>) -> Cell {
    shown(value, |v| {
        if v < 0.001 {
            "< 0.001".to_owned()
        } else {
            paper::number::fixed(v, 3)
        }
    })
}

/// Degrees of freedom: whole where they are.
pub(super) fn df(value: Option<f64>) -> Cell {
    shown(value, |v| {
        let whole = (v - v.round()).abs() < 1e-6;
        paper::number::fixed(v, if whole { 0 } else { 1 })
    })
}

fn shown(value: Option<f64>, words: impl Fn(f64) -> String) -> Cell {
    match value.filter(|v| v.is_finite()) {
        Some(v) => Cell {
            text: words(v),
            value: Some(v),
        },
        None => Cell::from("–"),
    }
}

/// Decimals that let the least of these spreads show two digits.
pub(super) fn places(spreads: impl Iterator<Item = f64>) -> usize {
    let least = spreads
        .filter(|s| s.is_finite() && *s > 0.0)
        .fold(f64::INFINITY, f64::min);
    if least.is_finite() {
        (1.0 - least.log10().floor()).clamp(0.0, 6.0) as usize
    } else {
        2
    }
}
