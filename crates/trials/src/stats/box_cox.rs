//! Box and Cox's hint for a transformation.

use super::least_squares::fit;

/// The power that makes the residuals smallest at equal scale.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BoxCox {
    /// The best power; 1 is no change, 0 the logarithm.
    pub power: f64,
    /// Powers not clearly worse, 95 %.
    pub interval: (f64, f64),
}

/// The hint for values above zero and the model's columns; none when a value is not above zero or
/// nothing is left over.
///
/// - Rule: the power λ of (y^λ − 1)/λ with the highest likelihood, and where it falls by 1.92
/// - Units: y \[above 0\], λ \[1\]
/// - Valid: λ from −2 to 2
/// - Source: Box and Cox 1964 (from memory, to be confirmed); λ 0.735 of a public data set by R, in the tests
///
/// ```
/// // Two groups on a log scale, each spread alike there: the hint allows the logarithm.
/// let columns = [vec![1.0; 8], vec![0.0, 0.0, 0.0, 0.0, 1.0, 1.0, 1.0, 1.0]];
/// let y: Vec<f64> = [0.8, 0.9, 1.1, 1.2, 3.8, 3.9, 4.1, 4.2].map(f64::exp).to_vec();
/// let (low, high) = trials::stats::box_cox::hint(&columns, &y).unwrap().interval;
/// assert!(low < 0.0 && high > 0.0 && high < 1.0);
/// ```
pub fn hint(columns: &[Vec<f64>], y: &[f64]) -> Option<BoxCox> {
    if y.iter().any(|v| *v <= 0.0) {
        return None;
    }
    let n = y.len() as f64;
    let log_mean = y.iter().map(|v| v.ln()).sum::<f64>() / n;
    let worth = |power: f64| -> f64 {
        let z: Vec<f64> = y
            .iter()
            .map(|v| {
                let ratio = v.ln() - log_mean;
                if (power * ratio).abs() < 1e-12 {
                    ratio
                } else {
                    (power * ratio).exp_m1() / power
                }
            })
            .collect();
        -0.5 * n * fit(columns, &z).rss.ln()
    };
    let grid: Vec<f64> = (0..=80).map(|i| -2.0 + 0.05 * f64::from(i)).collect();
    let heights: Vec<f64> = grid.iter().map(|p| worth(*p)).collect();
    let best = heights
        .iter()
        .enumerate()
        .max_by(|a, b| a.1.total_cmp(b.1))
        .map(|(i, _)| i)?;
    if !heights[best].is_finite() {
        return None;
    }
    let (mut low, mut high) = (
        grid[best.saturating_sub(1)],
        grid[(best + 1).min(grid.len() - 1)],
    );
    for _ in 0..40 {
        let (a, b) = (low + (high - low) / 3.0, high - (high - low) / 3.0);
        if worth(a) < worth(b) {
            low = a;
        } else {
            high = b;
        }
    }
    let power = 0.5 * (low + high);
    let limit = worth(power) - 0.5 * 3.841_458_820_694_124;
    let good: Vec<f64> = grid
        .iter()
        .zip(&heights)
        .filter(|(_, h)| **h >= limit)
        .map(|(p, _)| *p)
        .collect();
    Some(BoxCox {
        power,
        interval: (
            good.first().copied().unwrap_or(power),
            good.last().copied().unwrap_or(power),
        ),
    })
}
