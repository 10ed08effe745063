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

/// Kruskal and Wallis's H, corrected for ties.
pub fn kruskal_wallis(codes: &[usize], values: &[f64], groups: usize) -> RankTest {
    let (ranks, ties) = mid_ranks(values);
    let n = values.len() as f64;
    let (sums, counts) = rank_sums(codes, &ranks, groups);
    let between: f64 = sums.iter().zip(&counts).map(|(s, c)| s * s / c).sum();
    let raw = 12.0 / (n * (n + 1.0)) * between - 3.0 * (n + 1.0);
    let statistic = raw / (1.0 - ties / (n * n * n - n));
    let df = groups as f64 - 1.0;
    RankTest {
        statistic,
        df,
        p: chi_square_above(statistic, df),
    }
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

/// Dunn's comparisons after Kruskal–Wallis, with the variance corrected for ties.
pub fn dunn(codes: &[usize], values: &[f64], groups: usize, how: Adjustment) -> Vec<RankPair> {
    let (ranks, ties) = mid_ranks(values);
    let n = values.len() as f64;
    let (sums, counts) = rank_sums(codes, &ranks, groups);
    let variance = n * (n + 1.0) / 12.0 - ties / (12.0 * (n - 1.0));
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
    rows
}

/// Friedman's test: `table[block][treatment]`, complete, corrected for ties.
pub fn friedman(table: &[Vec<f64>]) -> RankTest {
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
    let statistic = 12.0 * spread / (b * t * (t + 1.0) - ties / (t - 1.0));
    RankTest {
        statistic,
        df: t - 1.0,
        p: chi_square_above(statistic, t - 1.0),
    }
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
