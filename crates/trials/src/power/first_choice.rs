//! Power of the exact binomial test of first choice.

use crate::stats::distribution::normal_quantile;
use statrs::function::gamma::ln_gamma;

/// Dogs up to which the exact binomial is searched.
pub(super) const MOST_DOGS: usize = 4_000;

/// Power of the exact two-sided binomial test against one half.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ExactPower {
    /// Power.
    pub power: f64,
    /// The risk of a false alarm the test really has, at most what was asked for.
    pub true_alpha: f64,
    /// The number of choices from which on it is significant; none if no number is.
    pub from: Option<usize>,
}

/// Power of the exact two-sided test that n first choices are an even split, when a share of
/// `share` is true.
///
/// Check: 20 dogs, 70 %: 0.416414 with a true risk of 0.041389 (R 4.2.2).
///
/// - Equation: P(X ≥ k or X ≤ n − k), X binomial, k the least significant
/// - Units: n \[dogs\], shares and power \[1\]
/// - Valid: shares from 0 to 1
/// - Source: exact binomial; R in the example
///
/// ```
/// let e = trials::power::first_choice_power(20, 0.7, 0.05);
/// assert!((e.power - 0.416413769469435).abs() < 1e-12);
/// assert!((e.true_alpha - 0.0413894653320312).abs() < 1e-12);
/// ```
pub fn first_choice_power(n: usize, share: f64, alpha: f64) -> ExactPower {
    let Some(from) = smallest_significant(n, alpha) else {
        return ExactPower {
            power: 0.0,
            true_alpha: 0.0,
            from: None,
        };
    };
    let reject = |p: f64| binomial_from(n, from, p) + binomial_from(n, from, 1.0 - p);
    ExactPower {
        power: reject(share),
        true_alpha: reject(0.5),
        from: Some(from),
    }
}

/// The smallest number of n first choices for one food that is significant, two-sided, against an
/// even split; none when not even all of them would be (5 dogs or fewer at 5 %).
///
/// - Rule: the least k with 2 P(X ≥ k) at most the risk
/// - Units: n and k \[dogs\], risk \[1\]
/// - Valid: risks between 0 and 1
/// - Source: exact binomial; R in the example
///
/// ```
/// use trials::power::smallest_significant;
/// assert_eq!(smallest_significant(20, 0.05), Some(15)); // R 4.2.2
/// assert_eq!(smallest_significant(5, 0.05), None);
/// ```
pub fn smallest_significant(n: usize, alpha: f64) -> Option<usize> {
    let mut tail = 0.0;
    let mut found = None;
    for k in (n / 2 + 1..=n).rev() {
        tail += binomial_at(n, k, 0.5);
        if 2.0 * tail > alpha {
            break;
        }
        found = Some(k);
    }
    found
}

/// Probability of exactly k of n.
fn binomial_at(n: usize, k: usize, p: f64) -> f64 {
    let (nf, kf) = (n as f64, k as f64);
    let ln_choose = ln_gamma(nf + 1.0) - ln_gamma(kf + 1.0) - ln_gamma(nf - kf + 1.0);
    let ln = |count: f64, q: f64| if count == 0.0 { 0.0 } else { count * q.ln() };
    (ln_choose + ln(kf, p) + ln(nf - kf, 1.0 - p)).exp()
}

/// Probability of k or more of n.
pub(crate) fn binomial_from(n: usize, k: usize, p: f64) -> f64 {
    (k..=n).map(|i| binomial_at(n, i, p)).sum::<f64>().min(1.0)
}

/// The fewest dogs from which on the power stays at or above the wish.
pub(super) fn first_choice_n(share: f64, power: f64, alpha: f64) -> Option<usize> {
    // Normal sizing, then room enough above it for the saw teeth to be over.
    let d = (share - 0.5).abs();
    let z = normal_quantile(1.0 - alpha / 2.0) * 0.5
        + normal_quantile(power) * (share * (1.0 - share)).sqrt();
    let guess = ((z / d).powi(2)).ceil() as usize;
    let top = (guess + guess / 2 + 60).min(MOST_DOGS);
    if guess > MOST_DOGS / 2 {
        return None;
    }
    let enough = |n: usize| first_choice_power(n, share, alpha).power >= power;
    if !enough(top) {
        return None;
    }
    let last_short = (1..top).rev().find(|&n| !enough(n));
    Some(last_short.map_or(1, |n| n + 1))
}
