//! Rank methods: Kruskal–Wallis with Dunn's comparisons, and Friedman for blocks.

use super::adjust::{Adjustment, adjust};
use super::compare::pairs;
use super::distribution::{chi_square_above, normal_two_sided};

/// Mid-ranks of the values, and Σ(t³ - t) over the ties.
///
/// - Rule: places in rising order, equal values share the mean of theirs; and Σ(t³ − t) over ties
/// - Units: ranks \[1\]
/// - Valid: finite values
/// - Source: definition; the example by hand
///
/// ```
/// let (ranks, ties) = trials::stats::ranks::mid_ranks(&[5.0, 1.0, 5.0, 2.0]);
/// assert_eq!((ranks, ties), (vec![3.5, 1.0, 3.5, 2.0], 6.0));
/// ```
pub fn mid_ranks(values: &[f64]) -> (Vec<f64>, f64) {
    let mut order: Vec<usize> = (0..values.len()).collect();
    order.sort_by(|&a, &b| values[a].total_cmp(&values[b]));
    let mut ranks = vec![0.0; values.len()];
    let mut ties = 0.0;
    let mut start = 0;
    while start < order.len() {
        let mut end = start + 1;
        while end < order.len() && values[order[end]] == values[order[start]] {
            end += 1;
        }
        let rank = 0.5 * (start + 1 + end) as f64;
        for &i in &order[start..end] {
            ranks[i] = rank;
        }
        let t = (end - start) as f64;
        ties += t * t * t - t;
        start = end;
    }
    (ranks, ties)
}

/// A rank test: the statistic, its degrees of freedom and chi-square p-value.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RankTest {
    /// The statistic, corrected for ties.
    pub statistic: f64,
    /// Degrees of freedom.
    pub df: f64,
    /// p-value by chi-square.
    pub p: f64,
}

impl RankTest {
    /// The test of a statistic; none where ties leave nothing to rank.
    fn of(statistic: f64, df: f64) -> Option<Self> {
        let p = chi_square_above(statistic, df);
        (statistic.is_finite() && p.is_finite()).then_some(Self { statistic, df, p })
    }
}

/// Kruskal and Wallis's H, corrected for ties; none where all values are alike.
///
/// - Equation: H = (12/(n(n + 1)) Σ R²/n_g − 3(n + 1))/(1 − Σ(t³ − t)/(n³ − n))
/// - Units: H and p \[1\]
/// - Valid: independent values, p by chi-square
/// - Source: textbook; R for a public data set of plant weights: 7.988229, p 0.0184238
///
/// ```
/// let grams = [
///     4.17, 5.58, 5.18, 6.11, 4.50, 4.61, 5.17, 4.53, 5.33, 5.14, 4.81, 4.17, 4.41, 3.59, 5.87, 3.83, 6.03, 4.89,
///     4.32, 4.69, 6.31, 5.12, 5.54, 5.50, 5.37, 5.29, 4.92, 6.15, 5.80, 5.26,
/// ];
/// let codes: Vec<usize> = (0..30).map(|i| i / 10).collect();
/// let found = trials::stats::ranks::kruskal_wallis(&codes, &grams, 3).unwrap();
/// assert!((found.statistic - 7.988_228_749_443_72).abs() < 1e-9);
/// ```
pub fn kruskal_wallis(codes: &[usize], values: &[f64], groups: usize) -> Option<RankTest> {
    let (ranks, ties) = mid_ranks(values);
    let n = values.len() as f64;
    let (sums, counts) = rank_sums(codes, &ranks, groups);
    let between: f64 = sums.iter().zip(&counts).map(|(s, c)| s * s / c).sum();
    let raw = 12.0 / (n * (n + 1.0)) * between - 3.0 * (n + 1.0);
    let df = groups as f64 - 1.0;
    RankTest::of(raw / (1.0 - ties / (n * n * n - n)), df)
}

/// A pair in Dunn's comparisons of mean ranks.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RankPair {
    /// First group.
    pub a: usize,
    /// Second group.
    pub b: usize,
    /// Mean rank of a less mean rank of b, over its standard error.
    pub z: f64,
    /// Difference of mean ranks.
    pub difference: f64,
    /// Standard error of that difference.
    pub se: f64,
    /// Two-sided p-value.
    pub p: f64,
    /// Adjusted p-value.
    pub p_adjusted: f64,
}

/// Dunn's comparisons after Kruskal–Wallis, with the variance corrected for ties; none where all
/// values are alike.
///
/// - Equation: z = (R̄_a − R̄_b)/√(variance (1/n_a + 1/n_b))
/// - Units: z and p \[1\]
/// - Valid: after a Kruskal and Wallis test
/// - Source: Dunn 1964 (from memory, to be confirmed); R for a public data set of plant weights: Holm 0.0150009
///
/// ```
/// use trials::stats::{adjust::Adjustment, ranks::dunn};
/// let grams = [
///     4.17, 5.58, 5.18, 6.11, 4.50, 4.61, 5.17, 4.53, 5.33, 5.14, 4.81, 4.17, 4.41, 3.59, 5.87, 3.83, 6.03, 4.89,
///     4.32, 4.69, 6.31, 5.12, 5.54, 5.50, 5.37, 5.29, 4.92, 6.15, 5.80, 5.26,
/// ];
/// let codes: Vec<usize> = (0..30).map(|i| i / 10).collect();
/// let found = dunn(&codes, &grams, 3, Adjustment::Holm).unwrap();
/// assert!((found[2].p_adjusted - 0.015_000_871_110_773).abs() < 1e-9);
/// ```
pub fn dunn(
    codes: &[usize],
    values: &[f64],
    groups: usize,
    how: Adjustment,
) -> Option<Vec<RankPair>> {
    let (ranks, ties) = mid_ranks(values);
    let n = values.len() as f64;
    let (sums, counts) = rank_sums(codes, &ranks, groups);
    let variance = n * (n + 1.0) / 12.0 - ties / (12.0 * (n - 1.0));
    if variance.is_nan() || variance <= 1e-12 * n * n {
        return None;
    }
    let mut rows: Vec<RankPair> = pairs(groups)
        .into_iter()
        .map(|(a, b)| {
            let difference = sums[a] / counts[a] - sums[b] / counts[b];
            let se = (variance * (1.0 / counts[a] + 1.0 / counts[b])).sqrt();
            let p = normal_two_sided(difference / se);
            RankPair {
                a,
                b,
                z: difference / se,
                difference,
                se,
                p,
                p_adjusted: p,
            }
        })
        .collect();
    let adjusted = adjust(&rows.iter().map(|r| r.p).collect::<Vec<_>>(), how);
    for (row, p) in rows.iter_mut().zip(adjusted) {
        row.p_adjusted = p;
    }
    Some(rows)
}

/// Friedman's test: `table[block][treatment]`, complete, corrected for ties; none where every block's
/// values are alike.
///
/// - Equation: Q = 12 Σ(R − b(t + 1)/2)²/(b t (t + 1) − ties/(t − 1))
/// - Units: Q and p \[1\]
/// - Valid: complete tables, p by chi-square
/// - Source: Friedman 1937 (from memory, to be confirmed); b blocks of one mind give b(t − 1)
///
/// ```
/// use trials::stats::ranks::friedman;
/// let found = friedman(&[vec![1.0, 2.0, 3.0], vec![4.0, 5.0, 9.0], vec![2.0, 7.0, 8.0]]).unwrap();
/// assert!((found.statistic - 6.0).abs() < 1e-12);
/// ```
pub fn friedman(table: &[Vec<f64>]) -> Option<RankTest> {
    let b = table.len() as f64;
    let k = table.first().map_or(0, Vec::len);
    let t = k as f64;
    let mut sums = vec![0.0; k];
    let mut ties = 0.0;
    for row in table {
        let (ranks, tied) = mid_ranks(row);
        ties += tied;
        for (s, r) in sums.iter_mut().zip(ranks) {
            *s += r;
        }
    }
    let spread: f64 = sums.iter().map(|s| (s - b * (t + 1.0) / 2.0).powi(2)).sum();
    RankTest::of(
        12.0 * spread / (b * t * (t + 1.0) - ties / (t - 1.0)),
        t - 1.0,
    )
}

fn rank_sums(codes: &[usize], ranks: &[f64], groups: usize) -> (Vec<f64>, Vec<f64>) {
    let mut sums = vec![0.0; groups];
    let mut counts = vec![0.0; groups];
    for (&code, &rank) in codes.iter().zip(ranks) {
        sums[code] += rank;
        counts[code] += 1.0;
    }
    (sums, counts)
}

/// Skillings and Mack's test of treatments in incomplete blocks (1981): ranks within each block,
/// middle ranks where a treatment is missing.
#[derive(Clone, Debug, PartialEq)]
pub struct SkillingsMack {
    /// The test.
    pub test: RankTest,
    /// Weighted sum of centred ranks of each treatment.
    pub adjusted_sums: Vec<f64>,
}

/// The test on `table[block][treatment]`; none when treatments can't be compared through the blocks.
///
/// - Rule: Friedman's test where some values are missing, each block weighed by its own number
/// - Units: statistic and p \[1\]
/// - Valid: treatments that are joined through the blocks
/// - Source: Skillings and Mack 1981 (from memory, to be confirmed); with nothing missing it is Friedman's
///
/// ```
/// use trials::stats::ranks::skillings_mack;
/// let table = [[1.0, 2.0, 3.0], [4.0, 5.0, 9.0], [2.0, 7.0, 8.0]].map(|row| row.map(Some).to_vec());
/// assert!((skillings_mack(&table).unwrap().test.statistic - 6.0).abs() < 1e-9);
/// ```
pub fn skillings_mack(table: &[Vec<Option<f64>>]) -> Option<SkillingsMack> {
    let t = table.first()?.len();
    let mut sums = vec![0.0; t];
    let mut covariance = nalgebra::DMatrix::<f64>::zeros(t, t);
    for row in table {
        let there: Vec<usize> = (0..t).filter(|&j| row[j].is_some()).collect();
        let size = there.len() as f64;
        if there.len() < 2 {
            continue;
        }
        let values: Vec<f64> = there.iter().filter_map(|&j| row[j]).collect();
        let (ranks, _) = mid_ranks(&values);
        let weight = (12.0 / (size + 1.0)).sqrt();
        for (&j, r) in there.iter().zip(&ranks) {
            sums[j] += weight * (r - 0.5 * (size + 1.0));
            for &l in there.iter().filter(|&&l| l != j) {
                covariance[(j, l)] -= 1.0;
                covariance[(j, j)] += 1.0;
            }
        }
    }
    let inner = covariance.view((0, 0), (t - 1, t - 1)).into_owned();
    let right = nalgebra::DVector::from_iterator(t - 1, sums[..t - 1].iter().copied());
    let statistic = right.dot(&inner.cholesky()?.solve(&right));
    Some(SkillingsMack {
        test: RankTest::of(statistic, t as f64 - 1.0)?,
        adjusted_sums: sums,
    })
}

/// Page's test of a trend over ordered treatments in complete blocks (1963).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Page {
    /// Σ j R_j.
    pub l: f64,
    /// What chance alone would make it.
    pub expected: f64,
    /// Distance in standard deviations, ties allowed for.
    pub z: f64,
    /// Chance of as much rise or more, by the normal.
    pub p: f64,
    /// The same from all orderings of the observed ranks; none where there are too many.
    pub p_exact: Option<f64>,
}

/// All orderings of a block's values of a sum, each with its share.
fn orderings(values: &[f64], of: &dyn Fn(&[f64]) -> Vec<i64>) -> Vec<(Vec<i64>, f64)> {
    let mut found: std::collections::BTreeMap<Vec<i64>, f64> = std::collections::BTreeMap::new();
    let mut order: Vec<usize> = (0..values.len()).collect();
    let mut many = 0.0;
    loop {
        let own: Vec<f64> = order.iter().map(|&i| values[i]).collect();
        *found.entry(of(&own)).or_insert(0.0) += 1.0;
        many += 1.0;
        // Next permutation in dictionary order.
        let Some(i) = (0..order.len() - 1)
            .rev()
            .find(|&i| order[i] < order[i + 1])
        else {
            break;
        };
        if let Some(j) = (i + 1..order.len()).rev().find(|&j| order[j] > order[i]) {
            order.swap(i, j);
        }
        order[i + 1..].reverse();
    }
    found.into_iter().map(|(k, v)| (k, v / many)).collect()
}

/// The distribution of a sum over blocks of what each block's ordering gives; none where
/// more than `most` sums would have to be looked at.
fn convolved(
    ranks: &[Vec<f64>],
    of: &dyn Fn(&[f64]) -> Vec<i64>,
    most: usize,
) -> Option<Vec<(Vec<i64>, f64)>> {
    if ranks.first()?.len() > 6 {
        return None;
    }
    let mut total: Vec<(Vec<i64>, f64)> = Vec::new();
    let mut work = 0;
    for row in ranks {
        let own = orderings(row, of);
        work += total.len() * own.len();
        if work > most {
            return None;
        }
        if total.is_empty() {
            total = own;
            continue;
        }
        let mut next: std::collections::BTreeMap<Vec<i64>, f64> = std::collections::BTreeMap::new();
        for (a, p) in &total {
            for (b, q) in &own {
                let sum: Vec<i64> = a.iter().zip(b).map(|(a, b)| a + b).collect();
                *next.entry(sum).or_insert(0.0) += p * q;
            }
        }
        total = next.into_iter().collect();
    }
    Some(total)
}

fn ranks_of(table: &[Vec<f64>]) -> Vec<Vec<f64>> {
    table.iter().map(|row| mid_ranks(row).0).collect()
}

/// Friedman's test by all orderings of the observed ranks; none where more than
/// `most` sums would have to be looked at.
///
/// - Equation: share of all orderings within blocks whose statistic is at least the one seen
/// - Units: p \[1\]
/// - Valid: small tables
/// - Source: counted by hand: three blocks of one mind are 6 of 6³ orderings
///
/// ```
/// let table = [vec![1.0, 2.0, 3.0], vec![4.0, 5.0, 9.0], vec![2.0, 7.0, 8.0]];
/// let p = trials::stats::ranks::friedman_exact(&table, 10_000).unwrap();
/// assert!((p - 6.0 / 216.0).abs() < 1e-12);
/// ```
pub fn friedman_exact(table: &[Vec<f64>], most: usize) -> Option<f64> {
    let ranks = ranks_of(table);
    let t = ranks.first()?.len();
    // Twice the mid-ranks are whole numbers; the last sum follows from the others.
    let of = |row: &[f64]| -> Vec<i64> {
        row[..t - 1]
            .iter()
            .map(|r| (2.0 * r).round() as i64)
            .collect()
    };
    let all: i64 = ranks
        .iter()
        .flatten()
        .map(|r| (2.0 * r).round() as i64)
        .sum();
    let spread = |sums: &[i64]| -> f64 {
        let last = all - sums.iter().sum::<i64>();
        let mean = all as f64 / t as f64;
        sums.iter()
            .chain([&last])
            .map(|&s| (s as f64 - mean).powi(2))
            .sum()
    };
    let own: Vec<i64> = (0..t - 1)
        .map(|j| ranks.iter().map(|r| (2.0 * r[j]).round() as i64).sum())
        .collect();
    let limit = spread(&own) - 1e-6;
    let total = convolved(&ranks, &of, most)?;
    Some(
        total
            .iter()
            .filter(|(s, _)| spread(s) >= limit)
            .map(|(_, p)| p)
            .sum(),
    )
}

/// Page's trend over the columns of `table[block][treatment]` in their order; none where every block's
/// values are alike.
///
/// - Equation: L = Σ j R_j, z = (L − E)/sd
/// - Units: L and z and p \[1\]
/// - Valid: treatments in an order that was known beforehand
/// - Source: Page 1963 (from memory, to be confirmed); blocks of one mind in the order are 1 of 6³
///
/// ```
/// let table = [vec![1.0, 2.0, 3.0], vec![4.0, 5.0, 9.0], vec![2.0, 7.0, 8.0]];
/// let found = trials::stats::ranks::page(&table, 10_000).unwrap();
/// assert!((found.l - 42.0).abs() < 1e-12 && (found.p_exact.unwrap() - 1.0 / 216.0).abs() < 1e-12);
/// ```
pub fn page(table: &[Vec<f64>], most: usize) -> Option<Page> {
    let ranks = ranks_of(table);
    let many = table.first()?.len();
    let (b, t) = (table.len() as f64, many as f64);
    let weigh = |row: &[f64]| -> f64 {
        row.iter()
            .enumerate()
            .map(|(j, r)| (j + 1) as f64 * r)
            .sum()
    };
    let l: f64 = ranks.iter().map(|r| weigh(r)).sum();
    let expected = b * t * (t + 1.0).powi(2) / 4.0;
    let steps: f64 = (0..many)
        .map(|j| ((j + 1) as f64 - 0.5 * (t + 1.0)).powi(2))
        .sum();
    let within: f64 = ranks
        .iter()
        .flatten()
        .map(|r| (r - 0.5 * (t + 1.0)).powi(2))
        .sum();
    if within <= 0.0 {
        return None;
    }
    let z = (l - expected) / (within * steps / (t - 1.0)).sqrt();
    let of = |row: &[f64]| -> Vec<i64> { vec![(2.0 * weigh(row)).round() as i64] };
    let limit = (2.0 * l).round() as i64;
    let p_exact = convolved(&ranks, &of, most).map(|all| {
        all.iter()
            .filter(|(s, _)| s[0] >= limit)
            .map(|(_, p)| p)
            .sum()
    });
    Some(Page {
        l,
        expected,
        z,
        p: super::distribution::normal_below(-z),
        p_exact,
    })
}
