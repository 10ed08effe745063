//! A difference read as a belief: what is held likely of it after the trial.

use super::distribution::{ln_scaled_chi_density, normal_below, root_between, t_below, t_quantile};
use super::quadrature::{between, legendre};

/// Panels of the integral over the error's standard deviation, and points in each.
const PANELS: usize = 100;
const POINTS: usize = 8;

/// What is held likely of a difference.
///
/// Before the trial every difference is held as likely as another (the error's logarithm too): then
/// `(δ − estimate)/se` is Student's t. Or differences are held to lie about 0 with a standard
/// deviation: `p(δ) ∝ t((δ − estimate)/se) φ(δ/sd)`, worked out as the mixture of normals that the t is
/// over the error's standard deviation.
#[derive(Clone, Debug, PartialEq)]
pub struct Posterior(Shape);

#[derive(Clone, Debug, PartialEq)]
enum Shape {
    /// Estimate, standard error, degrees of freedom.
    T(f64, f64, f64),
    /// Weight, mean and standard deviation of each normal.
    Normals(Vec<(f64, f64, f64)>),
}

impl Posterior {
    /// The belief after an estimate with its standard error on `df` degrees of freedom (infinite
    /// allowed); `prior_sd` is the standard deviation about 0 believed beforehand, none for no belief.
    /// None unless standard error, degrees of freedom and prior are above 0 and the estimate is finite.
    ///
    /// - Rule: t likelihood times a normal prior about 0, as a mixture of normals; without a prior the t itself
    /// - Units: estimate, se and prior \[as the difference\], ν \[degrees of freedom\]
    /// - Valid: se, ν and prior above 0
    /// - Source: Bayes; normal and normal by hand
    ///
    /// ```
    /// use trials::stats::posterior::Posterior;
    /// // Normal and normal: mean 1, variance ½.
    /// let known = Posterior::new(2.0, 1.0, f64::INFINITY, Some(1.0)).unwrap();
    /// assert!((known.below(1.0) - 0.5).abs() < 1e-12);
    /// ```
    pub fn new(estimate: f64, se: f64, df: f64, prior_sd: Option<f64>) -> Option<Self> {
        if !(estimate.is_finite() && se.is_finite() && se > 0.0 && df > 0.0) {
            return None;
        }
        let Some(sd) = prior_sd else {
            return Some(Self(Shape::T(estimate, se, df)));
        };
        if !(sd > 0.0 && sd.is_finite()) {
            return None;
        }
        // One normal of the t times the prior: a normal again, and how well it meets the estimate.
        let normal = |s: f64, ln_weight: f64| {
            let variance = (se / s).powi(2);
            let total = variance + sd * sd;
            (
                ln_weight - 0.5 * (estimate * estimate / total + total.ln()),
                estimate * sd * sd / total,
                (variance * sd * sd / total).sqrt(),
            )
        };
        let parts: Vec<(f64, f64, f64)> = if df > 1e9 {
            vec![normal(1.0, 0.0)]
        } else {
            // Far down for estimates that the prior holds next to impossible.
            let root = df.sqrt();
            let (low, high) = (-(60.0 / root).min(20.0), (10.0 / root).min(3.0));
            let rule = legendre(POINTS);
            let width = (high - low) / PANELS as f64;
            (0..PANELS)
                .flat_map(|i| {
                    let from = low + width * i as f64;
                    between(&rule, from, from + width).collect::<Vec<_>>()
                })
                .map(|(ln_s, weight)| {
                    let s = ln_s.exp();
                    normal(s, weight.ln() + ln_s + ln_scaled_chi_density(s, df))
                })
                .collect()
        };
        let most = parts.iter().fold(f64::NEG_INFINITY, |m, p| m.max(p.0));
        let whole: f64 = parts.iter().map(|p| (p.0 - most).exp()).sum();
        Some(Self(Shape::Normals(
            parts
                .into_iter()
                .map(|(ln, middle, spread)| ((ln - most).exp() / whole, middle, spread))
                .filter(|p| p.0 > 1e-18)
                .collect(),
        )))
    }

    /// How likely the difference lies below `x`, 0 to 1.
    ///
    /// - Equation: P(difference < x)
    /// - Units: x \[as the difference\], probability \[1\]
    /// - Valid: any x
    /// - Source: without a prior it is Student's t, with ν = 1 Cauchy's
    ///
    /// ```
    /// use trials::stats::posterior::Posterior;
    /// assert!((Posterior::new(0.0, 1.0, 1.0, None).unwrap().below(1.0) - 0.75).abs() < 1e-12);
    /// ```
    pub fn below(&self, x: f64) -> f64 {
        match &self.0 {
            Shape::T(estimate, se, df) => t_below((x - estimate) / se, *df),
            Shape::Normals(parts) => parts
                .iter()
                .map(|(weight, middle, spread)| weight * normal_below((x - middle) / spread))
                .sum(),
        }
    }

    /// The value that the difference lies below with this probability (above 0 and below 1).
    ///
    /// - Equation: x with P(difference < x) = p
    /// - Units: p \[1\], x \[as the difference\]
    /// - Valid: p between 0 and 1
    /// - Source: normal and normal by hand: mean 1, variance ½
    ///
    /// ```
    /// use trials::stats::posterior::Posterior;
    /// let known = Posterior::new(2.0, 1.0, f64::INFINITY, Some(1.0)).unwrap();
    /// assert!((known.quantile(0.975) - (1.0 + 1.959_964 * 0.5_f64.sqrt())).abs() < 1e-6);
    /// ```
    pub fn quantile(&self, p: f64) -> f64 {
        match &self.0 {
            Shape::T(estimate, se, df) => estimate + se * t_quantile(p, *df),
            Shape::Normals(parts) => {
                let ends = parts.iter().fold(
                    (f64::INFINITY, f64::NEG_INFINITY),
                    |(low, high), (_, middle, spread)| {
                        (
                            low.min(middle - 9.0 * spread),
                            high.max(middle + 9.0 * spread),
                        )
                    },
                );
                root_between(|x| self.below(x) - p, ends.0, ends.1)
            }
        }
    }
}
