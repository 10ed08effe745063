//! The range of a few normal values, in standard deviations: what charts of ranges stand on.

use super::studentized_range::above;

/// Beyond so many standard deviations no range of few values lies.
///
/// - Units: \[standard deviations\]
/// - Source: a numerical choice
const FARTHEST: f64 = 14.0;
/// Steps of Simpson's rule up to there.
const STEPS: usize = 700;

/// Mean and standard deviation of the range of `n` values of the standard normal, by integrating the probability of a larger
/// one.
///
/// - Equation: E(W) = ∫ P(W > w) dw, E(W²) = 2 ∫ w P(W > w) dw
/// - Units: n \[counted\], mean and sd \[standard deviations\]
/// - Valid: two values or more; none of fewer
/// - Source: definition; 2/√π and 3/√π by hand; tables of control charts, from memory, to be confirmed
///
/// ```
/// use trials::stats::normal_range::mean_and_sd;
/// // Of two values the range is the absolute difference: mean 2/√π, variance 2 − 4/π; of three the mean is 3/√π (textbook).
/// let (mean, sd) = mean_and_sd(2).unwrap();
/// let pi = std::f64::consts::PI;
/// assert!((mean - 2.0 / pi.sqrt()).abs() < 1e-7 && (sd - (2.0 - 4.0 / pi).sqrt()).abs() < 1e-6);
/// assert!((mean_and_sd(3).unwrap().0 - 3.0 / pi.sqrt()).abs() < 1e-7);
/// ```
pub fn mean_and_sd(n: usize) -> Option<(f64, f64)> {
    if n < 2 {
        return None;
    }
    let step = FARTHEST / STEPS as f64;
    let (mut first, mut second) = (0.0, 0.0);
    for i in 0..=STEPS {
        let w = i as f64 * step;
        let weight = match i {
            0 | STEPS => 1.0,
            i if i % 2 == 1 => 4.0,
            _ => 2.0,
        };
        let larger = if i == 0 {
            1.0
        } else {
            above(w, n, f64::INFINITY)
        };
        first += weight * larger;
        second += weight * 2.0 * w * larger;
    }
    let (mean, square) = (first * step / 3.0, second * step / 3.0);
    Some((mean, (square - mean * mean).max(0.0).sqrt()))
}

#[cfg(test)]
mod tests {
    /// Tables of control charts, to the three decimals that they print; from memory, to be confirmed.
    #[test]
    fn the_constants_of_charts_are_found_again() {
        for (n, mean, sd) in [
            (2, 1.128, 0.853),
            (3, 1.693, 0.888),
            (4, 2.059, 0.880),
            (5, 2.326, 0.864),
            (6, 2.534, 0.848),
            (8, 2.847, 0.820),
            (10, 3.078, 0.797),
        ] {
            let (m, s) = super::mean_and_sd(n).unwrap();
            assert!(
                (m - mean).abs() < 6e-4 && (s - sd).abs() < 6e-4,
                "{n}: {m} {s}"
            );
        }
        assert_eq!(super::mean_and_sd(1), None);
    }
}
