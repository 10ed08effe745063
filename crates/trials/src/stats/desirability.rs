//! Several responses at once: desirabilities between 0 and 1 and their geometric mean (Derringer
//! and Suich 1980).

/// What is wished of one response.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Wish {
    /// More is better: worthless at `low`, perfect at `high`.
    Larger {
        /// Worthless at or below.
        low: f64,
        /// Perfect at or above.
        high: f64,
        /// 1 straight; above 1 demanding; below 1 lenient.
        weight: f64,
    },
    /// Less is better: perfect at `low`, worthless at `high`.
    Smaller {
        /// Perfect at or below.
        low: f64,
        /// Worthless at or above.
        high: f64,
        /// As above.
        weight: f64,
    },
    /// A target between two limits.
    Target {
        /// Worthless at or below.
        low: f64,
        /// Perfect here.
        target: f64,
        /// Worthless at or above.
        high: f64,
        /// As above.
        weight: f64,
    },
}

impl Wish {
    /// The desirability of a value.
    ///
    /// - Equation: d = ((y − low)/(high − low))^w, held to 0 … 1; from both sides towards a target
    /// - Units: y \[as the response\], d and w \[1\]
    /// - Valid: ends in their order, w above 0
    /// - Source: Derringer and Suich 1980 (from memory, to be confirmed)
    ///
    /// ```
    /// use trials::stats::desirability::Wish;
    /// let wish = Wish::Target { low: 6.0, target: 8.0, high: 9.0, weight: 1.0 };
    /// assert_eq!([5.0, 7.0, 8.0, 8.5, 10.0].map(|y| wish.of(y)), [0.0, 0.5, 1.0, 0.5, 0.0]);
    /// ```
    pub fn of(self, value: f64) -> f64 {
        let rise = |from: f64, to: f64| ((value - from) / (to - from)).clamp(0.0, 1.0);
        match self {
            Self::Larger { low, high, weight } => rise(low, high).powf(weight),
            Self::Smaller { low, high, weight } => rise(high, low).powf(weight),
            Self::Target {
                low,
                target,
                high,
                weight,
            } => if value <= target {
                rise(low, target)
            } else {
                rise(high, target)
            }
            .powf(weight),
        }
    }
}

/// The overall desirability: the geometric mean, so that one worthless response sinks all.
///
/// - Equation: D = (Π dᵢ)^(1/n)
/// - Units: d and D \[1\]
/// - Valid: d from 0 to 1
/// - Source: Derringer and Suich 1980 (from memory, to be confirmed); √(¼ · 1)
///
/// ```
/// use trials::stats::desirability::overall;
/// assert!((overall(&[0.25, 1.0]) - 0.5).abs() < 1e-12);
/// assert_eq!(overall(&[0.0, 1.0]), 0.0);
/// ```
pub fn overall(desirabilities: &[f64]) -> f64 {
    if desirabilities.contains(&0.0) {
        return 0.0;
    }
    let n = desirabilities.len().max(1) as f64;
    (desirabilities.iter().map(|d| d.ln()).sum::<f64>() / n).exp()
}
