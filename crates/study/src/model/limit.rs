//! A limit that treatments have to keep.

use crate::compare::Figure;

/// A limit on a figure.
#[derive(Clone, Debug, PartialEq)]
pub struct FigureLimit {
    /// The figure.
    pub figure: Figure,
    /// The most it may be.
    pub at_most: Option<f64>,
    /// The least it may be.
    pub at_least: Option<f64>,
    /// How surely it has to be kept; none where its best value has to.
    pub probability: Option<f64>,
    /// Why; empty when nobody said.
    pub reason: String,
}

impl FigureLimit {
    /// Whether a value keeps it.
    pub fn keeps(&self, value: f64) -> bool {
        self.at_most.is_none_or(|most| value <= most)
            && self.at_least.is_none_or(|least| value >= least)
    }
}
