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
///
/// - Equation: |d|/se against q(0.95; k, ν)/√2
/// - Units: differences and standard errors \[as the values\], ν \[degrees of freedom\]
/// - Valid: independent means, errors of one variance
/// - Source: Tukey and Kramer; R for a public data set of plant weights: 0.865 with p 0.0120064
///
/// ```
/// use trials::stats::compare::tukey_of;
/// // Error variance 0.3885959 on 27 degrees of freedom, ten plants each.
/// let se = (0.388_595_925_925_926_f64 * 2.0 / 10.0).sqrt();
/// let found = tukey_of(&[(1, 2, 0.865, se, 27.0)], 3, 1.0);
/// assert!((found[0].p - 0.012_006_423_979).abs() < 1e-6);
/// assert!((found[0].low - 0.173_783_948_6).abs() < 1e-6);
/// ```
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
