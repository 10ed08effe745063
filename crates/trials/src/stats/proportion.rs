//! A proportion k of n with its interval.

use super::distribution::{beta_quantile, normal_quantile, root_between};

/// Clopper and Pearson's interval: never narrower than it says.
///
/// - Equation: quantiles of Beta(k, n − k + 1) and Beta(k + 1, n − k)
/// - Units: k and n \[counted\], confidence and shares \[1\]
/// - Valid: 0 ≤ k ≤ n, n above 0
/// - Source: Clopper and Pearson 1934 (from memory, to be confirmed); R in the example
///
/// ```
/// let (low, high) = trials::stats::proportion::exact_interval(15, 20, 0.95);
/// assert!((low - 0.508954128292042).abs() < 1e-10); // R 4.2.2
/// assert!((high - 0.913428530898565).abs() < 1e-10);
/// ```
pub fn exact_interval(k: u64, n: u64, confidence: f64) -> (f64, f64) {
    let half = 0.5 * (1.0 - confidence);
    let (k, n) = (k as f64, n as f64);
    let low = if k == 0.0 {
        0.0
    } else {
        beta_quantile(half, k, n - k + 1.0)
    };
    let high = if k == n {
        1.0
    } else {
        beta_quantile(1.0 - half, k + 1.0, n - k)
    };
    (low, high)
}

/// Wilson's score interval: about right on average.
///
/// - Equation: (s + z²/2n ± z √(s(1 − s)/n + z²/4n²))/(1 + z²/n)
/// - Units: k and n \[counted\], confidence and shares \[1\]
/// - Valid: n above 0
/// - Source: Wilson 1927 (from memory, to be confirmed); R in the example
///
/// ```
/// let (low, high) = trials::stats::proportion::score_interval(15, 20, 0.95);
/// assert!((low - 0.531299122381256).abs() < 1e-12); // R 4.2.2
/// assert!((high - 0.888138298592334).abs() < 1e-12);
/// ```
pub fn score_interval(k: u64, n: u64, confidence: f64) -> (f64, f64) {
    let z = normal_quantile(0.5 + 0.5 * confidence);
    let (k, n) = (k as f64, n as f64);
    let share = k / n;
    let centre = (share + z * z / (2.0 * n)) / (1.0 + z * z / n);
    let half = z / (1.0 + z * z / n) * (share * (1.0 - share) / n + z * z / (4.0 * n * n)).sqrt();
    ((centre - half).max(0.0), (centre + half).min(1.0))
}

/// The difference of two shares with its interval by a method.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum SharesMethod {
    /// Newcombe's hybrid of the two score intervals (1998, method 10).
    Newcombe,
    /// Miettinen and Nurminen's score interval (1985), variance times N/(N − 1).
    MiettinenNurminen,
    /// Mee's score interval (1984), without that factor.
    Mee,
    /// Agresti and Caffo's (2000): one yes and one no added to each.
    AgrestiCaffo,
}

/// Two shares: k₁ of n₁ (new) and k₂ of n₂ (control), all units independent.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TwoShares {
    /// (k, n) of the new.
    pub new: (f64, f64),
    /// (k, n) of the control.
    pub control: (f64, f64),
}

impl TwoShares {
    /// Share of the new less share of the control.
    ///
    /// - Equation: k₁/n₁ − k₂/n₂
    /// - Units: k and n \[counted\], difference \[share\]
    /// - Valid: both n above 0
    /// - Source: definition
    ///
    /// ```
    /// let two = trials::stats::proportion::TwoShares { new: (56.0, 70.0), control: (48.0, 80.0) };
    /// assert!((two.difference() - 0.2).abs() < 1e-15);
    /// ```
    pub fn difference(&self) -> f64 {
        self.new.0 / self.new.1 - self.control.0 / self.control.1
    }

    /// The most likely shares when their difference is held (Farrington and Manning 1990, the
    /// closed form of the cubic).
    ///
    /// - Rule: the likeliest shares whose difference is d, root of a cubic
    /// - Units: d and shares \[1\]
    /// - Valid: d from −1 to 1
    /// - Source: Farrington and Manning 1990 (from memory, to be confirmed); held at 0 they are the pooled share
    ///
    /// ```
    /// let two = trials::stats::proportion::TwoShares { new: (56.0, 70.0), control: (48.0, 80.0) };
    /// let (a, b) = two.held(0.0);
    /// assert!((a - 104.0 / 150.0).abs() < 1e-9 && (a - b).abs() < 1e-12);
    /// ```
    pub fn held(&self, d: f64) -> (f64, f64) {
        let ((x1, n1), (x2, n2)) = (self.new, self.control);
        let theta = n2 / n1;
        let (p1, p2) = (x1 / n1, x2 / n2);
        let a = 1.0 + theta;
        let b = -(1.0 + theta + p1 + theta * p2 + d * (theta + 2.0));
        let c = d * d + d * (2.0 * p1 + theta + 1.0) + p1 + theta * p2;
        let e = -p1 * d * (1.0 + d);
        let third = b / (3.0 * a);
        let v = third.powi(3) - b * c / (6.0 * a * a) + e / (2.0 * a);
        let size = (third * third - c / (3.0 * a)).max(0.0).sqrt();
        let u = if v < 0.0 { -size } else { size };
        let ratio = if u == 0.0 {
            0.0
        } else {
            (v / u.powi(3)).clamp(-1.0, 1.0)
        };
        let w = (std::f64::consts::PI + ratio.acos()) / 3.0;
        let first = (2.0 * u * w.cos() - third).clamp(d.max(0.0), (1.0 + d).min(1.0));
        (first, first - d)
    }

    /// Distance of the difference from `d` in standard errors under shares that differ by `d`.
    ///
    /// - Equation: z = (difference − d)/√(p₁(1 − p₁)/n₁ + p₂(1 − p₂)/n₂)
    /// - Units: d \[share\], z \[1\]
    /// - Valid: d between −1 and 1
    /// - Source: Miettinen and Nurminen 1985 (from memory, to be confirmed); at 0 it is the test of two shares, z²
    ///   Pearson's chi-square
    ///
    /// ```
    /// let two = trials::stats::proportion::TwoShares { new: (20.0, 40.0), control: (10.0, 40.0) };
    /// assert!((two.score(0.0, false).powi(2) - 50.0 / 9.375).abs() < 1e-9);
    /// ```
    pub fn score(&self, d: f64, corrected: bool) -> f64 {
        let (p1, p2) = self.held(d);
        let ((_, n1), (_, n2)) = (self.new, self.control);
        let mut variance = p1 * (1.0 - p1) / n1 + p2 * (1.0 - p2) / n2;
        if corrected {
            variance *= (n1 + n2) / (n1 + n2 - 1.0);
        }
        let apart = self.difference() - d;
        if variance > 0.0 {
            apart / variance.sqrt()
        } else if apart.abs() < 1e-14 {
            0.0
        } else {
            apart.signum() * f64::INFINITY
        }
    }

    /// The interval of the difference.
    ///
    /// - Rule: as the method's name says
    /// - Units: confidence and limits \[1\]
    /// - Valid: both n above 0
    /// - Source: Newcombe 1998, table II in the example
    ///
    /// ```
    /// use trials::stats::proportion::{SharesMethod, TwoShares};
    /// let two = TwoShares { new: (56.0, 70.0), control: (48.0, 80.0) };
    /// let (low, high) = two.interval(SharesMethod::Newcombe, 0.95);
    /// assert!((low - 0.0524).abs() < 5e-5 && (high - 0.3339).abs() < 5e-5); // Newcombe 1998, table II
    /// ```
    pub fn interval(&self, method: SharesMethod, confidence: f64) -> (f64, f64) {
        let z = normal_quantile(0.5 + 0.5 * confidence);
        let ((x1, n1), (x2, n2)) = (self.new, self.control);
        let d = self.difference();
        match method {
            SharesMethod::Newcombe => {
                let wilson = |x: f64, n: f64| {
                    let p = x / n;
                    let root = z * (z * z + 4.0 * n * p * (1.0 - p)).sqrt();
                    let middle = 2.0 * n * p + z * z;
                    let below = 2.0 * (n + z * z);
                    ((middle - root) / below, (middle + root) / below)
                };
                let (w1, w2) = (wilson(x1, n1), wilson(x2, n2));
                let (p1, p2) = (x1 / n1, x2 / n2);
                (
                    d - ((p1 - w1.0).powi(2) + (w2.1 - p2).powi(2)).sqrt(),
                    d + ((w1.1 - p1).powi(2) + (p2 - w2.0).powi(2)).sqrt(),
                )
            }
            SharesMethod::AgrestiCaffo => {
                let (a, b) = ((x1 + 1.0) / (n1 + 2.0), (x2 + 1.0) / (n2 + 2.0));
                let half = z * (a * (1.0 - a) / (n1 + 2.0) + b * (1.0 - b) / (n2 + 2.0)).sqrt();
                (a - b - half, a - b + half)
            }
            SharesMethod::Mee | SharesMethod::MiettinenNurminen => {
                let corrected = method == SharesMethod::MiettinenNurminen;
                // The score falls as the held difference rises.
                let at = |target: f64, low: f64, high: f64| {
                    root_between(|x| target - self.score(x, corrected), low, high)
                };
                let low = if d <= -1.0 + 1e-12 {
                    -1.0
                } else {
                    at(z, -1.0 + 1e-12, d)
                };
                let high = if d >= 1.0 - 1e-12 {
                    1.0
                } else {
                    at(-z, d, 1.0 - 1e-12)
                };
                (low, high)
            }
        }
    }
}
