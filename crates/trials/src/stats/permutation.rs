//! Exchanging units: what the treatments would have shown had they been dealt to the units
//! another way. Exact where all deals can be looked through, else a seeded sample of them.

use crate::random::SplitMix64;

/// The answer.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Exchanged {
    /// The statistic as dealt.
    pub statistic: f64,
    /// Share of deals that show as much or more; of a sample with the own deal counted.
    pub p: f64,
    /// Deals looked at.
    pub deals: usize,
    /// Whether these are all there are.
    pub exact: bool,
}

/// How many deals of the labels there are within blocks; none when more than `most`.
fn count(codes: &[usize], blocks: &[usize], most: f64) -> Option<usize> {
    let groups = codes.iter().max().map_or(0, |m| m + 1);
    let many = blocks.iter().max().map_or(0, |m| m + 1);
    let mut total = 1.0;
    for block in 0..many {
        let mut own = vec![0usize; groups];
        for (c, b) in codes.iter().zip(blocks) {
            own[*c] += usize::from(*b == block);
        }
        let mut placed = 0;
        for size in own {
            for i in 1..=size {
                placed += 1;
                total *= placed as f64 / i as f64;
            }
        }
        if total > most {
            return None;
        }
    }
    Some(total.round() as usize)
}

/// Steps labels to the next arrangement in dictionary order; false after the last, when they are
/// back at the first.
fn next(labels: &mut [usize]) -> bool {
    let Some(i) = (0..labels.len().saturating_sub(1))
        .rev()
        .find(|&i| labels[i] < labels[i + 1])
    else {
        labels.reverse();
        return false;
    };
    let j = (i + 1..labels.len()).rev().find(|&j| labels[j] > labels[i]);
    if let Some(j) = j {
        labels.swap(i, j);
    }
    labels[i + 1..].reverse();
    true
}

/// Deals the treatment labels `codes` to the units anew, within `blocks` when there are several,
/// and compares `statistic` (larger says more). Up to `most` deals are all looked through; beyond,
/// `most` seeded ones.
///
/// - Equation: p = share of deals whose statistic is at least the one seen
/// - Units: p \[1\]
/// - Valid: labels that could have been dealt otherwise, within blocks
/// - Source: Fisher's randomisation; 2 of 20 deals counted by hand
///
/// ```
/// use trials::stats::permutation::exchange;
/// let y = [1.0, 2.0, 3.0, 11.0, 12.0, 13.0];
/// let apart = |codes: &[usize]| {
///     let of = |g: usize| codes.iter().zip(y).filter(|(c, _)| **c == g).map(|(_, y)| y).sum::<f64>();
///     (of(0) - of(1)).abs()
/// };
/// let found = exchange(&[0, 0, 0, 1, 1, 1], &[0; 6], 1_000, 1, apart);
/// assert!(found.exact && (found.p - 0.1).abs() < 1e-12); // 2 of 20
/// ```
pub fn exchange(
    codes: &[usize],
    blocks: &[usize],
    most: usize,
    seed: u64,
    statistic: impl Fn(&[usize]) -> f64,
) -> Exchanged {
    let own = statistic(codes);
    let limit = own * (1.0 - 1e-10) - 1e-14;
    let many = blocks.iter().max().map_or(0, |m| m + 1);
    let members: Vec<Vec<usize>> = (0..many)
        .map(|b| (0..blocks.len()).filter(|&i| blocks[i] == b).collect())
        .collect();
    let mut dealt = codes.to_vec();
    if let Some(deals) = count(codes, blocks, most as f64) {
        let mut labels: Vec<Vec<usize>> = members
            .iter()
            .map(|rows| {
                let mut own: Vec<usize> = rows.iter().map(|&i| codes[i]).collect();
                own.sort_unstable();
                own
            })
            .collect();
        let mut as_much = 0usize;
        for _ in 0..deals {
            for (rows, own) in members.iter().zip(&labels) {
                for (&row, &label) in rows.iter().zip(own) {
                    dealt[row] = label;
                }
            }
            as_much += usize::from(statistic(&dealt) >= limit);
            for own in &mut labels {
                if next(own) {
                    break;
                }
            }
        }
        return Exchanged {
            statistic: own,
            p: as_much as f64 / deals as f64,
            deals,
            exact: true,
        };
    }
    let mut generator = SplitMix64::stream(seed, 0x5e1f);
    let mut as_much = 1usize;
    for _ in 0..most {
        for rows in &members {
            for i in (1..rows.len()).rev() {
                let j = ((generator.unit() * (i + 1) as f64) as usize).min(i);
                dealt.swap(rows[i], rows[j]);
            }
        }
        as_much += usize::from(statistic(&dealt) >= limit);
    }
    Exchanged {
        statistic: own,
        p: as_much as f64 / (most + 1) as f64,
        deals: most,
        exact: false,
    }
}

/// Pearson's chi-square of the counts put together by treatment.
///
/// - Equation: Σ (k − n s)²/(n s (1 − s)), s the share of all
/// - Units: k and n \[counted\], statistic \[1\]
/// - Valid: a share of all between 0 and 1
/// - Source: Pearson's chi-square; the example by hand
///
/// ```
/// use trials::stats::permutation::pearson;
/// // 10 and 20 of 40, 15 expected: 2 · 25/(40 · 0.375 · 0.625).
/// let (k, n) = ([10.0, 20.0], [40.0, 40.0]);
/// assert!((pearson(&k, &n, 2)(&[0, 1]) - 50.0 / 9.375).abs() < 1e-12);
/// ```
pub fn pearson(k: &[f64], n: &[f64], groups: usize) -> impl Fn(&[usize]) -> f64 {
    let share = k.iter().sum::<f64>() / n.iter().sum::<f64>();
    move |codes| {
        let (ks, ns) = pooled(k, n, codes, groups);
        (0..groups)
            .map(|g| (ks[g] - ns[g] * share).powi(2) / (ns[g] * share * (1.0 - share)))
            .sum()
    }
}

/// The likelihood ratio of the same.
///
/// - Equation: 2 Σ k ln(k/(n s)), failures as well
/// - Units: k and n \[counted\], statistic \[1\]
/// - Valid: a share of all between 0 and 1
/// - Source: textbook; equal shares give 0
///
/// ```
/// use trials::stats::permutation::likelihood_ratio;
/// let (k, n) = ([10.0, 20.0], [40.0, 80.0]);
/// assert!(likelihood_ratio(&k, &n, 2)(&[0, 1]).abs() < 1e-12);
/// ```
pub fn likelihood_ratio(k: &[f64], n: &[f64], groups: usize) -> impl Fn(&[usize]) -> f64 {
    let share = k.iter().sum::<f64>() / n.iter().sum::<f64>();
    let part = |a: f64, b: f64| if a > 0.0 { a * (a / b).ln() } else { 0.0 };
    move |codes| {
        let (ks, ns) = pooled(k, n, codes, groups);
        2.0 * (0..groups)
            .map(|g| part(ks[g], ns[g] * share) + part(ns[g] - ks[g], ns[g] * (1.0 - share)))
            .sum::<f64>()
    }
}

/// Sum of squares between treatments of the units' values, each unit counting alike.
///
/// - Equation: Σ n (x̄ − x̄_all)²
/// - Units: \[square of the values'\]
/// - Valid: groups with a value
/// - Source: definition; the example by hand
///
/// ```
/// use trials::stats::permutation::between;
/// assert!((between(&[1.0, 3.0, 6.0, 10.0], 2)(&[0, 0, 1, 1]) - 36.0).abs() < 1e-12);
/// ```
pub fn between(values: &[f64], groups: usize) -> impl Fn(&[usize]) -> f64 {
    let mean = values.iter().sum::<f64>() / values.len() as f64;
    move |codes| {
        let mut sums = vec![(0.0, 0.0); groups];
        for (v, &c) in values.iter().zip(codes) {
            sums[c].0 += v - mean;
            sums[c].1 += 1.0;
        }
        sums.iter().map(|(s, n)| s * s / n).sum()
    }
}

fn pooled(k: &[f64], n: &[f64], codes: &[usize], groups: usize) -> (Vec<f64>, Vec<f64>) {
    let (mut ks, mut ns) = (vec![0.0; groups], vec![0.0; groups]);
    for ((k, n), &c) in k.iter().zip(n).zip(codes) {
        ks[c] += k;
        ns[c] += n;
    }
    (ks, ns)
}
