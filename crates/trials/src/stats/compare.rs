//! Comparisons of all pairs of means.

use super::studentized_range;

/// The difference `a - b` of two groups (indices), its 95 % interval and adjusted p-value.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Difference {
    /// First group.
    pub a: usize,
    /// Second group.
    pub b: usize,
    /// Mean of a less mean of b.
    pub difference: f64,
    /// Its standard error.
    pub se: f64,
    /// Degrees of freedom.
    pub df: f64,
    /// Lower end of the interval.
    pub low: f64,
    /// Upper end of the interval.
    pub high: f64,
    /// Adjusted p-value.
    pub p: f64,
}

/// All pairs (i, j) of k with i above j, in the order 1-0, 2-0, …, 2-1, ….
pub fn pairs(k: usize) -> Vec<(usize, usize)> {
    (0..k)
        .flat_map(|j| (j + 1..k).map(move |i| (i, j)))
        .collect()
}

/// Tukey's method for estimates with their own standard errors of difference (marginal means) and
/// degrees of freedom. Where there are several such families, each gets its share of the 5 %.
pub fn tukey_of(
    differences: &[(usize, usize, f64, f64, f64)],
    k: usize,
    families: f64,
) -> Vec<Difference> {
    let mut last: Option<(f64, f64)> = None;
    differences
        .iter()
        .map(|&(a, b, difference, se, df)| {
            // The critical value is an integral; neighbours mostly share their degrees of freedom.
            let critical = last.filter(|l| l.0 == df).map_or_else(
                || studentized_range::quantile(1.0 - 0.05 / families, k, df) / 2f64.sqrt(),
                |l| l.1,
            );
            last = Some((df, critical));
            let p = studentized_range::above(2f64.sqrt() * (difference / se).abs(), k, df);
            let p = (p * families).min(1.0);
            Difference {
                a,
                b,
                difference,
                se,
                df,
                low: difference - critical * se,
                high: difference + critical * se,
                p,
            }
        })
        .collect()
}
