//! First choice: only dogs that agree with themselves count, exactly.

use super::rows::{BowlRow, Food};
use crate::power::{binomial_from, smallest_significant};
use crate::stats::proportion::{exact_interval, score_interval};
use serde::{Deserialize, Serialize};

/// First choices over both days.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct FirstChoices {
    /// Dogs that went to A on both days.
    pub both_a: u64,
    /// Dogs that went to B on both days.
    pub both_b: u64,
    /// Dogs that went to one on one day and to the other on the other.
    pub split: u64,
    /// Dogs without two noted first choices.
    pub unknown: u64,
    /// Exact two-sided p-value of the dogs that agreed with themselves, against an even split.
    pub p: f64,
    /// Share of A among them; none when no dog agreed with itself.
    pub share_a: Option<f64>,
    /// Clopper and Pearson's 95 % interval of that share.
    pub exact95: Option<(f64, f64)>,
    /// Wilson's 95 % interval.
    pub score95: Option<(f64, f64)>,
    /// First choices of A counted over dog-days: not independent, so never tested here.
    pub days_a: u64,
    /// Dog-days with a first choice.
    pub days: u64,
    /// Dog-days on which the left bowl came first.
    pub days_left: u64,
}

/// Counts and tests the first choices; none when none was noted.
pub(super) fn first_choices(used: &[[&BowlRow; 2]]) -> Option<FirstChoices> {
    let noted = used
        .iter()
        .flatten()
        .filter_map(|r| r.first.map(|f| (f, r.left)));
    let (mut days, mut days_a, mut days_left) = (0, 0, 0);
    for (first, left) in noted {
        days += 1;
        days_a += u64::from(first == Food::A);
        days_left += u64::from(first == left);
    }
    if days == 0 {
        return None;
    }
    let count = |wanted: fn(Option<Food>, Option<Food>) -> bool| {
        used.iter()
            .filter(|p| wanted(p[0].first, p[1].first))
            .count() as u64
    };
    let both_a = count(|x, y| x == Some(Food::A) && y == Some(Food::A));
    let both_b = count(|x, y| x == Some(Food::B) && y == Some(Food::B));
    let unknown = count(|x, y| x.is_none() || y.is_none());
    let n = both_a + both_b;
    Some(FirstChoices {
        both_a,
        both_b,
        split: used.len() as u64 - both_a - both_b - unknown,
        unknown,
        p: even_split_p(both_a, n),
        share_a: (n > 0).then(|| both_a as f64 / n as f64),
        exact95: (n > 0).then(|| exact_interval(both_a, n, 0.95)),
        score95: (n > 0).then(|| score_interval(both_a, n, 0.95)),
        days_a,
        days,
        days_left,
    })
}

/// Exact two-sided p-value of k of n against an even split.
///
/// - Equation: p = min(2 P(X ≥ max(k, n − k)), 1), X binomial with ½
/// - Units: k and n \[dogs\], p \[1\]
/// - Valid: 0 ≤ k ≤ n
/// - Source: exact binomial test; R in the example
///
/// ```
/// // R 4.2.2 binom.test(15, 20)
/// assert!((trials::palatability::even_split_p(15, 20) - 0.0413894653320313).abs() < 1e-13);
/// ```
pub fn even_split_p(k: u64, n: u64) -> f64 {
    let more = k.max(n - k.min(n)) as usize;
    (2.0 * binomial_from(n as usize, more, 0.5)).min(1.0)
}

/// A line of the table of minimum numbers.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct MinimumNumber {
    /// Dogs with a clear first choice.
    pub dogs: usize,
    /// The least number for one food that is significant; none if no number is.
    pub least: Option<usize>,
    /// Its exact two-sided p-value.
    pub p: Option<f64>,
}

/// For each number of dogs the least number choosing one food that is significant, two-sided.
///
/// - Rule: the least k with p at most the risk, for each number of dogs
/// - Units: dogs \[counted\], risk and p \[1\]
/// - Valid: any numbers
/// - Source: exact binomial test by R: 15 of 20, 18 of 24, 5 never
///
/// ```
/// let found = trials::palatability::minimum_numbers(&[5, 20, 24], 0.05);
/// assert_eq!(found.iter().map(|m| m.least).collect::<Vec<_>>(), [None, Some(15), Some(18)]);
/// ```
pub fn minimum_numbers(dogs: &[usize], alpha: f64) -> Vec<MinimumNumber> {
    dogs.iter()
        .map(|&n| {
            let least = smallest_significant(n, alpha);
            MinimumNumber {
                dogs: n,
                least,
                p: least.map(|k| even_split_p(k as u64, n as u64)),
            }
        })
        .collect()
}
