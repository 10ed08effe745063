//! Compensated sums, means and sums of squares.

/// A running sum that carries the digits lost to rounding (Neumaier 1974).
#[derive(Clone, Copy, Debug, Default)]
pub struct Sum {
    total: f64,
    lost: f64,
}

impl Sum {
    /// Adds one value.
    ///
    /// - Rule: the value is added, and what rounding loses is kept beside it
    /// - Units: \[as the values\]
    /// - Valid: finite values
    /// - Source: Neumaier's form of Kahan's sum (from memory, to be confirmed); the example loses its 1 in a plain
    ///   sum
    ///
    /// ```
    /// let mut sum = trials::stats::moments::Sum::default();
    /// [1e16, 1.0, -1e16].into_iter().for_each(|v| sum.add(v));
    /// assert_eq!(sum.value(), 1.0);
    /// ```
    pub fn add(&mut self, value: f64) {
        let next = self.total + value;
        self.lost += if self.total.abs() >= value.abs() {
            (self.total - next) + value
        } else {
            (value - next) + self.total
        };
        self.total = next;
    }

    /// The sum so far.
    ///
    /// - Equation: total + what was lost
    /// - Units: \[as the values\]
    /// - Valid: finite values
    /// - Source: as `Sum::add`
    ///
    /// ```
    /// let mut sum = trials::stats::moments::Sum::default();
    /// (0..10).for_each(|_| sum.add(0.1));
    /// assert_eq!(sum.value(), 1.0);
    /// ```
    pub fn value(self) -> f64 {
        self.total + self.lost
    }
}

/// The compensated sum of the values.
///
/// - Equation: Σ values, compensated
/// - Units: \[as the values\]
/// - Valid: finite values
/// - Source: Neumaier's form of Kahan's sum (from memory, to be confirmed)
///
/// ```
/// assert_eq!(trials::stats::moments::sum([1e16, 1.0, -1e16]), 1.0);
/// ```
pub fn sum(values: impl IntoIterator<Item = f64>) -> f64 {
    let mut total = Sum::default();
    for value in values {
        total.add(value);
    }
    total.value()
}

/// The arithmetic mean; none when there is nothing.
///
/// The mean is taken as the first value plus the mean distance from it, so that many leading
/// digits in common cost nothing.
///
/// - Equation: x̄ = x₁ + Σ(x − x₁)/n
/// - Units: \[as the values\]
/// - Valid: one value or more
/// - Source: definition
///
/// ```
/// assert_eq!(trials::stats::moments::mean(&[1.0, 2.0, 6.0]), Some(3.0));
/// assert_eq!(trials::stats::moments::mean(&[]), None);
/// ```
pub fn mean(values: &[f64]) -> Option<f64> {
    let first = *values.first()?;
    Some(first + sum(values.iter().map(|v| v - first)) / values.len() as f64)
}

/// The sum of squared distances from the mean, two passes with the correction term
/// `S - (Σd)²/n` that removes the rounding of the mean itself.
pub(crate) fn sum_of_squares(values: &[f64]) -> f64 {
    let Some(centre) = mean(values) else {
        return 0.0;
    };
    let squares = sum(values.iter().map(|v| (v - centre).powi(2)));
    let rest = sum(values.iter().map(|v| v - centre));
    (squares - rest * rest / values.len() as f64).max(0.0)
}

/// The variance with `n - 1` below; none below two values.
///
/// - Equation: s² = Σ(x − x̄)²/(n − 1)
/// - Units: \[square of the values'\]
/// - Valid: two values or more
/// - Source: definition
///
/// ```
/// // About 3: 4 + 1 + 9 over 2.
/// assert_eq!(trials::stats::moments::variance(&[1.0, 2.0, 6.0]), Some(7.0));
/// ```
pub fn variance(values: &[f64]) -> Option<f64> {
    (values.len() >= 2).then(|| sum_of_squares(values) / (values.len() - 1) as f64)
}

/// The median; none when there is nothing.
///
/// - Rule: the middle of the sorted values, the mean of the two middle ones
/// - Units: \[as the values\]
/// - Valid: one value or more
/// - Source: definition
///
/// ```
/// assert_eq!(trials::stats::moments::median(&[6.0, 1.0, 2.0]), Some(2.0));
/// assert_eq!(trials::stats::moments::median(&[6.0, 1.0, 2.0, 3.0]), Some(2.5));
/// ```
pub fn median(values: &[f64]) -> Option<f64> {
    let mut sorted = values.to_vec();
    sorted.sort_by(f64::total_cmp);
    let middle = sorted.len() / 2;
    let upper = *sorted.get(middle)?;
    Some(if sorted.len() % 2 == 1 {
        upper
    } else {
        0.5 * (sorted[middle - 1] + upper)
    })
}
