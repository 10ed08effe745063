//! An axis.

use super::scale::{extent, proper};

/// One axis: what it measures, in which unit.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Axis {
    /// The quantity, e.g. `time`.
    pub name: String,
    /// The unit, e.g. `min`; empty for none.
    pub unit: String,
    /// Whether zero has to be on it.
    pub zero: bool,
    /// A range that must be shown, e.g. the same for all treatments; the data may widen it.
    pub range: Option<(f64, f64)>,
    /// Ticks with their texts, for an axis of names; empty for round numbers.
    pub ticks: Vec<(f64, String)>,
}

impl Axis {
    /// An axis that follows its data.
    pub fn new(name: impl Into<String>, unit: impl Into<String>) -> Self {
        Self {
            name: name.into(),
            unit: unit.into(),
            ..Self::default()
        }
    }

    /// The same axis with zero on it.
    #[must_use]
    pub fn with_zero(mut self) -> Self {
        self.zero = true;
        self
    }

    /// The same axis showing at least this range.
    #[must_use]
    pub fn with_range(mut self, low: f64, high: f64) -> Self {
        self.range = Some((low, high));
        self
    }

    /// The same axis with ticks of its own.
    #[must_use]
    pub fn with_ticks(mut self, ticks: impl IntoIterator<Item = (f64, String)>) -> Self {
        self.ticks = ticks.into_iter().collect();
        self
    }

    /// Name and unit as written on the drawing.
    pub(crate) fn words(&self) -> String {
        if self.unit.is_empty() {
            self.name.clone()
        } else {
            format!("{}, {}", self.name, self.unit)
        }
    }

    /// The range to draw for these values.
    pub(super) fn span(&self, values: impl Iterator<Item = f64>) -> (f64, f64) {
        let fixed = self.range.into_iter().flat_map(|(a, b)| [a, b]);
        let named = self.ticks.iter().map(|(v, _)| *v);
        let zero = self.zero.then_some(0.0);
        let (low, high) =
            extent(values.chain(fixed).chain(named).chain(zero)).unwrap_or((0.0, 1.0));
        proper(low, high)
    }
}
