//! Are the variances equal? Brown and Forsythe.

use super::moments;
use super::one_way::{FTest, one_way};

/// Brown and Forsythe's test: one-way analysis of the distances from the group medians. None when a
/// group is empty or the distances leave nothing to judge by.
///
/// - Equation: F of |x − median of its group|
/// - Units: F and p \[1\]
/// - Valid: groups with a value
/// - Source: Brown and Forsythe 1974 (from memory, to be confirmed); R for a public data set of plant weights:
///   1.119186, p 0.341227
///
/// ```
/// let grams = [
///     4.17, 5.58, 5.18, 6.11, 4.50, 4.61, 5.17, 4.53, 5.33, 5.14, 4.81, 4.17, 4.41, 3.59, 5.87, 3.83, 6.03, 4.89,
///     4.32, 4.69, 6.31, 5.12, 5.54, 5.50, 5.37, 5.29, 4.92, 6.15, 5.80, 5.26,
/// ];
/// let codes: Vec<usize> = (0..30).map(|i| i / 10).collect();
/// let found = trials::stats::spread::brown_forsythe(&codes, &grams, 3).unwrap();
/// assert!((found.f - 1.119_185_694_870).abs() < 1e-9);
/// ```
pub fn brown_forsythe(codes: &[usize], values: &[f64], groups: usize) -> Option<FTest> {
    let mut split = vec![Vec::new(); groups];
    for (&c, &v) in codes.iter().zip(values) {
        split[c].push(v);
    }
    let centres: Vec<f64> = split
        .iter()
        .map(|g| moments::median(g))
        .collect::<Option<_>>()?;
    let away: Vec<f64> = codes
        .iter()
        .zip(values)
        .map(|(&c, &v)| (v - centres[c]).abs())
        .collect();
    let test = one_way(codes, &away, groups).test;
    (test.f.is_finite() && test.p.is_finite()).then_some(test)
}
