//! What a page or a script sends about the sheet, and what a script gets back.

use super::clash::Clash;
use super::paste;
use super::pieces::Pieces;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

pub type Pairs = Vec<(String, String)>;

/// What a page or a script sent.
#[derive(Debug, Default, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct Sent {
    pub base: u64,
    pub counter: Option<u64>,
    pub window: Option<String>,
    pub per: String,
    pub rows: Vec<String>,
    pub open: Vec<String>,
    pub shape: String,
    pub cells: BTreeMap<String, String>,
    pub act: String,
    pub fields: BTreeMap<String, String>,
}

impl TryFrom<Pairs> for Sent {
    type Error = String;

    fn try_from(pairs: Pairs) -> Result<Self, String> {
        let number = |name: &str, value: &str| -> Result<u64, String> {
            let told = |_| {
                let value: String = value.chars().take(40).collect();
                format!("The page’s own {name} came as ‘{value}’, which is no whole number.")
            };
            value.trim().parse().map_err(told)
        };
        let mut sent = Self::default();
        for (name, value) in pairs {
            match name.as_str() {
                "base" => sent.base = number("base", &value)?,
                "counter" => sent.counter = Some(number("counter", &value)?),
                "window" => sent.window = Some(value),
                "per" => sent.per = value,
                "rows" => sent.rows = listed(&[Some(&value)]),
                "act" => sent.act = value,
                _ if name.starts_with("c:") => {
                    sent.cells.insert(name, value);
                }
                _ => {
                    sent.fields.insert(name, value);
                }
            }
        }
        Ok(sent)
    }
}

/// What a script gets back.
#[derive(Debug, Default, Serialize)]
pub struct Answer {
    pub base: u64,
    pub counter: u64,
    pub shape: String,
    pub broken: bool,
    pub pieces: Pieces,
    pub values: BTreeMap<String, String>,
    pub errors: BTreeMap<String, String>,
    /// Cells that another window changed meanwhile: what stands there now, and what was typed.
    pub clashes: BTreeMap<String, Clash>,
    /// What couldn't be done, in words.
    pub said: Option<String>,
    /// What was done otherwise than asked, in words.
    pub note: Option<String>,
    /// The head of the page: what is saved, what can be undone.
    pub head: String,
    /// The whole sheet, when its shape changed.
    pub sheet: Option<String>,
    /// What a swap would do.
    pub preview: Option<String>,
    /// The ways in which a pasted block can be read, and the question which, where there are several.
    pub readings: Vec<paste::Reading>,
    pub which: Option<String>,
    /// The share of the work that is done which tells how sure the answers are; 1 when they are there.
    pub sure: Option<f64>,
}

/// Names of rows, with commas between in one field.
pub fn listed(texts: &[Option<&str>]) -> Vec<String> {
    let names = texts.iter().flatten().flat_map(|t| t.split(','));
    names
        .map(|n| n.trim().to_owned())
        .filter(|n| !n.is_empty())
        .collect()
}
