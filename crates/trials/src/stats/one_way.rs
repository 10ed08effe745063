//! One-way analysis of variance, with equal variances and without (Welch 1951).

use super::distribution::f_above;
use super::moments;

/// A group of values of one treatment.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Group {
    /// How many.
    pub n: usize,
    /// Their mean.
    pub mean: f64,
    /// Their sum of squared distances from the mean.
    pub sum_sq: f64,
}

impl Group {
    /// The group of some values; of none the number says so, and mean and squares are 0.
    pub fn of(values: &[f64]) -> Self {
        Self {
            n: values.len(),
            mean: moments::mean(values).unwrap_or(0.0),
            sum_sq: moments::sum_of_squares(values),
        }
    }

    /// Variance with n - 1 below; none below two values.
    ///
    /// - Equation: s² = SS/(n − 1)
    /// - Units: \[square of the values'\]
    /// - Valid: two values or more
    /// - Source: definition
    ///
    /// ```
    /// assert_eq!(trials::stats::one_way::Group::of(&[1.0, 2.0, 6.0]).variance(), Some(7.0));
    /// ```
    pub fn variance(&self) -> Option<f64> {
        (self.n >= 2).then(|| self.sum_sq / (self.n - 1) as f64)
    }
}

/// An F test: the ratio, its degrees of freedom and p-value.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FTest {
    /// Ratio of mean squares.
    pub f: f64,
    /// Numerator degrees of freedom.
    pub df: f64,
    /// Denominator degrees of freedom.
    pub denominator_df: f64,
    /// Probability of so large a ratio or larger if there were no difference.
    pub p: f64,
}

impl FTest {
    /// The test of a ratio.
    pub fn new(f: f64, df: f64, denominator_df: f64) -> Self {
        Self {
            f,
            df,
            denominator_df,
            p: f_above(f, df, denominator_df),
        }
    }
}

/// The one-way table.
#[derive(Clone, Debug, PartialEq)]
pub struct OneWay {
    /// The groups.
    pub groups: Vec<Group>,
    /// Sum of squares between groups.
    pub between: f64,
    /// Sum of squares within groups.
    pub within: f64,
    /// The test.
    pub test: FTest,
}

impl OneWay {
    /// Error mean square; none where every group holds one value.
    ///
    /// - Equation: MSE = SS_within/(n − k)
    /// - Units: \[square of the values'\]
    /// - Valid: some group with two values
    /// - Source: definition
    ///
    /// ```
    /// use trials::stats::one_way::one_way;
    /// // Within the groups 2 and 8, on two degrees of freedom.
    /// let found = one_way(&[0, 0, 1, 1], &[1.0, 3.0, 6.0, 10.0], 2);
    /// assert!((found.error_variance().unwrap() - 5.0).abs() < 1e-12);
    /// ```
    pub fn error_variance(&self) -> Option<f64> {
        let df = self.test.denominator_df;
        (df > 0.0).then(|| self.within / df)
    }
}

/// One-way analysis of the values with a group code each, in one pass per moment.
///
/// `groups` is the number of groups; every code must be below it and every group hold a value.
///
/// - Equation: F = (SS_between/(k − 1))/(SS_within/(n − k))
/// - Units: \[as the values\], F and p \[1\]
/// - Valid: independent values, errors of one variance, each group with a value
/// - Source: Fisher's analysis of variance; R for a public data set of plant weights: F 4.846088, p 0.0159100
///
/// ```
/// use trials::stats::one_way::one_way;
/// let grams = [
///     4.17, 5.58, 5.18, 6.11, 4.50, 4.61, 5.17, 4.53, 5.33, 5.14, 4.81, 4.17, 4.41, 3.59, 5.87, 3.83, 6.03, 4.89,
///     4.32, 4.69, 6.31, 5.12, 5.54, 5.50, 5.37, 5.29, 4.92, 6.15, 5.80, 5.26,
/// ];
/// let codes: Vec<usize> = (0..30).map(|i| i / 10).collect();
/// let found = one_way(&codes, &grams, 3);
/// assert!((found.test.f - 4.846_087_862_380_14).abs() < 1e-9);
/// assert!((found.test.p - 0.015_909_958_325_622_9).abs() < 1e-11);
/// ```
pub fn one_way(codes: &[usize], values: &[f64], groups: usize) -> OneWay {
    let mut split: Vec<Vec<f64>> =
        vec![Vec::with_capacity(values.len() / groups.max(1) + 1); groups];
    for (&code, &value) in codes.iter().zip(values) {
        split[code].push(value);
    }
    from_groups(split.iter().map(|v| Group::of(v)).collect())
}

/// One-way analysis from the groups' numbers, means and sums of squares.
///
/// ```
/// use trials::stats::one_way::{Group, from_groups};
/// let table = from_groups(vec![Group::of(&[1.0, 2.0, 3.0]), Group::of(&[4.0, 5.0, 6.0])]);
/// assert_eq!((table.between, table.within, table.test.f), (13.5, 4.0, 13.5));
/// ```
pub fn from_groups(groups: Vec<Group>) -> OneWay {
    let n: usize = groups.iter().map(|g| g.n).sum();
    let origin = groups.first().map_or(0.0, |g| g.mean);
    let centre =
        origin + moments::sum(groups.iter().map(|g| g.n as f64 * (g.mean - origin))) / n as f64;
    let between = moments::sum(
        groups
            .iter()
            .map(|g| g.n as f64 * (g.mean - centre).powi(2)),
    );
    let within = moments::sum(groups.iter().map(|g| g.sum_sq));
    let df = groups.len() as f64 - 1.0;
    let denominator_df = (n - groups.len()) as f64;
    let test = FTest::new(
        (between / df) / (within / denominator_df),
        df,
        denominator_df,
    );
    OneWay {
        groups,
        between,
        within,
        test,
    }
}

/// Welch's F test, which does not take the variances as equal; none unless every group has two
/// values and some spread.
pub fn welch(groups: &[Group]) -> Option<FTest> {
    let k = groups.len() as f64;
    let weights: Vec<f64> = groups
        .iter()
        .map(|g| Some(g.n as f64 / g.variance().filter(|v| *v > 0.0)?))
        .collect::<Option<_>>()?;
    let total: f64 = weights.iter().sum();
    let centre = groups
        .iter()
        .zip(&weights)
        .map(|(g, w)| w * g.mean)
        .sum::<f64>()
        / total;
    let spread: f64 = groups
        .iter()
        .zip(&weights)
        .map(|(g, w)| w * (g.mean - centre).powi(2))
        .sum::<f64>()
        / (k - 1.0);
    let lack: f64 = groups
        .iter()
        .zip(&weights)
        .map(|(g, w)| (1.0 - w / total).powi(2) / (g.n as f64 - 1.0))
        .sum::<f64>()
        / (k * k - 1.0);
    Some(FTest::new(
        spread / (1.0 + 2.0 * (k - 2.0) * lack),
        k - 1.0,
        1.0 / (3.0 * lack),
    ))
}
