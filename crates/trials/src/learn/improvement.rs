//! What a next trial may be worth: the improvement on the best so far that is to be expected of it.

use crate::stats::distribution::{normal_below, normal_density};

/// What a trial is expected to improve on the best so far, when its outcome is held to be normal.
///
/// - Equation: E[max(X − b, 0)] = s(φ(u) + uΦ(u)), u = (m − b)/s
/// - Units: mean m, standard deviation s and best b \[the response's\], the answer \[the same\]
/// - Valid: more is better (turn signs for less); s ≥ 0, and at s = 0 it is max(m − b, 0)
/// - Source: expectation of a truncated normal, closed form
///
/// ```
/// use trials::learn::expected_improvement;
/// // At the best itself a standard normal gains 1/√(2π).
/// let at_par = expected_improvement(0.0, 1.0, 0.0);
/// assert!((at_par - (2.0 * std::f64::consts::PI).sqrt().recip()).abs() < 1e-12);
/// assert_eq!(expected_improvement(3.0, 0.0, 1.0), 2.0);
/// ```
pub fn expected_improvement(mean: f64, sd: f64, best: f64) -> f64 {
    if sd <= 0.0 {
        return (mean - best).max(0.0);
    }
    let u = (mean - best) / sd;
    sd * (normal_density(u) + u * normal_below(u)).max(0.0)
}

/// What one more look is expected to add to the best of what is held afterwards.
///
/// A look whose outcome moves what is held of thing i by sᵢZ, Z standard normal, makes the best max(mᵢ + sᵢZ).
///
/// - Equation: E[maxᵢ(mᵢ + sᵢZ)] − maxᵢ mᵢ, over the upper envelope of the lines
/// - Units: means mᵢ and moves sᵢ \[the response's\], the answer \[the same\]
/// - Valid: as many moves as means, at least one; moves of either sign
/// - Source: expectation of a piecewise linear function of a normal, closed form
///
/// ```
/// use trials::learn::knowledge_gradient;
/// // Two alike of which one moves by Z: E[max(0, Z)] = 1/√(2π).
/// let gain = knowledge_gradient(&[0.0, 0.0], &[1.0, 0.0]);
/// assert!((gain - (2.0 * std::f64::consts::PI).sqrt().recip()).abs() < 1e-12);
/// // What moves all alike teaches nothing of which is best.
/// assert!(knowledge_gradient(&[1.0, 2.0], &[0.5, 0.5]).abs() < 1e-12);
/// ```
pub fn knowledge_gradient(means: &[f64], moves: &[f64]) -> f64 {
    let mut lines: Vec<(f64, f64)> = moves.iter().copied().zip(means.iter().copied()).collect();
    let Some(best) = means.iter().copied().reduce(f64::max) else {
        return 0.0;
    };
    lines.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.total_cmp(&b.1)));
    // Of lines as steep as each other the highest.
    lines.dedup_by(|later, earlier| {
        let alike = later.0 == earlier.0;
        if alike {
            earlier.1 = later.1;
        }
        alike
    });
    // Where each line of the envelope takes over from the one before.
    let mut envelope: Vec<((f64, f64), f64)> = Vec::new();
    for line in lines {
        let mut from = f64::NEG_INFINITY;
        while let Some(((slope, level), begins)) = envelope.last().copied() {
            from = (level - line.1) / (line.0 - slope);
            if from > begins {
                break;
            }
            envelope.pop();
            from = f64::NEG_INFINITY;
        }
        envelope.push((line, from));
    }
    let mut sum = 0.0;
    for (k, ((slope, level), from)) in envelope.iter().enumerate() {
        let to = envelope.get(k + 1).map_or(f64::INFINITY, |next| next.1);
        let density = |z: f64| {
            if z.is_finite() {
                normal_density(z)
            } else {
                0.0
            }
        };
        sum += level * (normal_below(to) - normal_below(*from));
        sum += slope * (density(*from) - density(to));
    }
    (sum - best).max(0.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// E[max] by the midpoint rule over ±9 standard deviations.
    fn brute(means: &[f64], moves: &[f64]) -> f64 {
        let n = 400_000;
        let step = 18.0 / f64::from(n);
        let best = means.iter().copied().fold(f64::MIN, f64::max);
        let at = |z: f64| {
            let all = means.iter().zip(moves).map(|(m, s)| m + s * z);
            all.fold(f64::MIN, f64::max)
        };
        let sum: f64 = (0..n)
            .map(|i| -9.0 + (f64::from(i) + 0.5) * step)
            .map(|z| at(z) * normal_density(z) * step)
            .sum();
        sum - best
    }

    #[test]
    fn both_agree_with_brute_force() {
        for (means, moves) in [
            (vec![1.0, 1.4, 0.2, 1.1], vec![0.3, -0.2, 1.5, 0.0]),
            (vec![0.0, -0.5, -0.1], vec![0.1, 0.8, -0.6]),
            (vec![2.0], vec![3.0]),
            (vec![1.0, 1.0, 1.0], vec![0.5, 0.5, 0.2]),
        ] {
            let (told, seen) = (knowledge_gradient(&means, &moves), brute(&means, &moves));
            assert!((told - seen).abs() < 1e-8, "{told} {seen}");
        }
        for (mean, sd, best) in [(1.0, 0.5, 1.2), (-2.0, 3.0, 0.0), (5.0, 0.1, 1.0)] {
            let told = expected_improvement(mean, sd, best);
            let seen = brute(&[best, mean], &[0.0, sd]) + best.max(mean) - best;
            assert!((told - seen).abs() < 1e-8, "{told} {seen}");
        }
    }
}
