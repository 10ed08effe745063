//! Are the variances equal? Bartlett, Levene, Brown–Forsythe.

use super::distribution::chi_square_above;
use super::moments;
use super::one_way::{FTest, Group, one_way};
use super::ranks::RankTest;

/// Bartlett's test; sharp for normal data, misled by heavy tails.
pub fn bartlett(groups: &[Group]) -> RankTest {
    let k = groups.len() as f64;
    let dfs: Vec<f64> = groups.iter().map(|g| g.n as f64 - 1.0).collect();
    let total: f64 = dfs.iter().sum();
    let pooled = groups.iter().map(|g| g.sum_sq).sum::<f64>() / total;
    let raw = total * pooled.ln()
        - groups
            .iter()
            .zip(&dfs)
            .map(|(g, df)| df * g.variance().ln())
            .sum::<f64>();
    let correction =
        1.0 + (dfs.iter().map(|d| 1.0 / d).sum::<f64>() - 1.0 / total) / (3.0 * (k - 1.0));
    let statistic = raw / correction;
    RankTest {
        statistic,
        df: k - 1.0,
        p: chi_square_above(statistic, k - 1.0),
    }
}

/// Levene's test: one-way analysis of the distances from the group means.
pub fn levene(codes: &[usize], values: &[f64], groups: usize) -> FTest {
    distances(codes, values, groups, moments::mean)
}

/// Brown and Forsythe's test: the distances are from the medians. The sturdy choice.
pub fn brown_forsythe(codes: &[usize], values: &[f64], groups: usize) -> FTest {
    distances(codes, values, groups, moments::median)
}

fn distances(codes: &[usize], values: &[f64], groups: usize, centre: fn(&[f64]) -> f64) -> FTest {
    let mut split = vec![Vec::new(); groups];
    for (&c, &v) in codes.iter().zip(values) {
        split[c].push(v);
    }
    let centres: Vec<f64> = split.iter().map(|g| centre(g)).collect();
    let away: Vec<f64> = codes
        .iter()
        .zip(values)
        .map(|(&c, &v)| (v - centres[c]).abs())
        .collect();
    one_way(codes, &away, groups).test
}
