//! Rank methods: Kruskal–Wallis with Dunn's comparisons, and Friedman for blocks.

use super::adjust::{Adjustment, adjust};
use super::compare::pairs;
use super::distribution::{chi_square_above, normal_two_sided};

/// Mid-ranks of the values, and Σ(t³ - t) over the ties.
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
