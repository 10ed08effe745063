//! Unknown is not zero: sums that carry what they don't know.

use serde::{Deserialize, Serialize};

/// A sum over parts of which some may be unknown: "at least `at_least`, n parts unknown".
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Tally {
    /// Sum over the known parts.
    pub at_least: f64,
    /// Names of the parts whose value is unknown (and whose share isn't zero).
    pub unknown: Vec<String>,
}

impl Tally {
    /// Adds `amount × value` for a part; an unknown value with a non-zero amount is remembered by name.
    ///
    /// ```
    /// let mut t = measure::Tally::default();
    /// t.add("barley flour", 0.5, Some(2.0));
    /// t.add("hops", 0.1, None);
    /// t.add("salt", 0.0, None);
    /// assert_eq!(t.at_least, 1.0);
    /// assert_eq!(t.unknown, ["hops"]);
    /// assert_eq!(t.exact(), None);
    /// ```
    pub fn add(&mut self, name: &str, amount: f64, value: Option<f64>) {
        match value {
            Some(v) => self.at_least += amount * v,
            None if amount != 0.0 => self.unknown.push(name.to_owned()),
            None => {}
        }
    }

    /// The sum, if every part is known.
    pub fn exact(&self) -> Option<f64> {
        self.unknown.is_empty().then_some(self.at_least)
    }

    /// The same tally in another unit or basis.
    #[must_use]
    pub fn scaled(&self, factor: f64) -> Self {
        Self {
            at_least: self.at_least * factor,
            unknown: self.unknown.clone(),
        }
    }
}
