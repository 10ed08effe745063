//! Reading the reference data beside the tests.
#![allow(
    dead_code,
    clippy::unwrap_used,
    reason = "shared by several test files"
)]

use serde_json::Value;

/// A small table: header and cells as text.
pub struct Csv {
    pub header: Vec<String>,
    pub rows: Vec<Vec<String>>,
}

impl Csv {
    pub fn of(text: &str) -> Self {
        let split = |line: &str| -> Vec<String> {
            let mut cells = vec![String::new()];
            let mut quoted = false;
            for c in line.chars() {
                match c {
                    '"' => quoted = !quoted,
                    ',' if !quoted => cells.push(String::new()),
                    c => cells.last_mut().unwrap().push(c),
                }
            }
            cells.iter().map(|c| c.trim().to_string()).collect()
        };
        let mut lines = text.lines().filter(|l| !l.trim().is_empty());
        let header = split(lines.next().unwrap());
        Self {
            header,
            rows: lines.map(split).collect(),
        }
    }

    /// The table an analysis takes; numbers as Rust reads them.
    pub fn table(&self) -> trials::analyse::Table {
        let cell = |text: &String| {
            trials::analyse::Cell::of(text, text.parse().ok().filter(|v: &f64| v.is_finite()))
        };
        let rows = self.rows.iter().enumerate();
        let rows = rows.map(|(i, row)| (i + 2, row.iter().map(cell).collect()));
        trials::analyse::Table::from_rows(self.header.clone(), rows.collect()).unwrap()
    }

    pub fn text(&self, column: &str) -> Vec<String> {
        let at = self.header.iter().position(|h| h == column).unwrap();
        self.rows.iter().map(|r| r[at].clone()).collect()
    }

    pub fn numbers(&self, column: &str) -> Vec<f64> {
        self.text(column)
            .iter()
            .map(|c| c.parse().unwrap())
            .collect()
    }

    pub fn factor(&self, column: &str) -> trials::stats::design::Factor {
        trials::stats::design::Factor::new(column, &self.text(column))
    }
}

macro_rules! data {
    ($name:literal) => {
        include_str!(concat!(env!("CARGO_MANIFEST_DIR"), "/tests/data/", $name))
    };
}
#[allow(unused_imports)]
pub(crate) use data;

pub fn r(name: &str) -> Csv {
    Csv::of(match name {
        "PlantGrowth" => data!("r/PlantGrowth.csv"),
        "warpbreaks" => data!("r/warpbreaks.csv"),
        "ToothGrowth" => data!("r/ToothGrowth.csv"),
        "ToothGrowth_unbalanced" => data!("r/ToothGrowth_unbalanced.csv"),
        "OrchardSprays" => data!("r/OrchardSprays.csv"),
        "npk" => data!("r/npk.csv"),
        "oats" => data!("r/oats.csv"),
        "oats_unbalanced" => data!("r/oats_unbalanced.csv"),
        "sleepstudy" => data!("r/sleepstudy.csv"),
        "cbpp" => data!("r/cbpp.csv"),
        "sleep" => data!("r/sleep.csv"),
        "RoundingTimes" => data!("r/RoundingTimes.csv"),
        "Puromycin" => data!("r/Puromycin.csv"),
        "cornell" => data!("r/cornell_yarn_mixture.csv"),
        _ => panic!("no table {name}"),
    })
}

pub fn reference() -> Value {
    serde_json::from_str(data!("r/reference.json")).unwrap()
}

/// Numbers of a JSON list.
pub fn list(value: &Value) -> Vec<f64> {
    value.as_array().unwrap().iter().map(num).collect()
}

pub fn num(value: &Value) -> f64 {
    value
        .as_f64()
        .unwrap_or_else(|| panic!("not a number: {value}"))
}

/// Relative closeness (absolute near zero).
#[track_caller]
pub fn close(got: f64, want: f64, tolerance: f64) {
    assert!(
        (got - want).abs() <= tolerance * want.abs().max(1e-3),
        "got {got}, want {want} (relative {:.2e}, allowed {tolerance:.1e})",
        (got - want).abs() / want.abs().max(1e-300)
    );
}

/// Correct digits.
pub fn digits(got: f64, want: f64) -> f64 {
    if got == want {
        return 16.0;
    }
    -((got - want).abs() / want.abs()).log10()
}
