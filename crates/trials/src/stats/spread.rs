//! Are the variances equal? Brown and Forsythe.

use super::moments;
use super::one_way::{FTest, one_way};

/// Brown and Forsythe's test: one-way analysis of the distances from the group medians. None when a
/// group is empty or the distances leave nothing to judge by.
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
