//! Whether pieces leave the cutter whole: a logistic model with a prior, learned from the counts.
//!
//! logit P(whole) = x′β, β Gaussian before any count. The posterior is Laplace's: the normal with
//! the peak and curvature of the exact one (within about 0.01 of the exact probability from a dozen
//! pieces on).

use crate::stats::distribution::normal_density;
use crate::stats::quadrature::{between, legendre_64};
use nalgebra::{DMatrix, DVector};
use serde::{Deserialize, Serialize};

/// Newton steps allowed; a handful is usual.
const MOST_STEPS: usize = 100;
/// A mean over a normal is taken this many standard deviations to each side.
///
/// - Units: \[standard deviations\]
/// - Source: a numerical choice: what lies beyond is below 1e-15
const REACH: f64 = 8.0;

/// What is believed of one effect before any count, on the logit scale.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct ReleasePrior {
    /// The effect: `level`, water off the predicted need, a binder …
    pub name: String,
    /// Mean.
    pub mean: f64,
    /// Standard deviation, above 0.
    pub sd: f64,
}

/// One cutting: its settings and counts.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Cut {
    /// One value per effect (1 for the level).
    pub x: Vec<f64>,
    /// Pieces that left whole.
    pub whole: u32,
    /// Pieces cut.
    pub cut: u32,
}

/// What cannot be fitted.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum ReleaseError {
    /// A wrong number of values.
    #[error("cutting {cutting}: {given} values for {wanted} effects; give one for each")]
    Length {
        /// Which cutting, from 1.
        cutting: usize,
        /// Given.
        given: usize,
        /// Wanted.
        wanted: usize,
    },
    /// More whole pieces than pieces.
    #[error("cutting {cutting}: {whole} whole of {cut} pieces cannot be")]
    Counts {
        /// Which cutting, from 1.
        cutting: usize,
        /// Whole.
        whole: u32,
        /// Cut.
        cut: u32,
    },
    /// A value out of range.
    #[error("{name} is {value}; it must be {allowed}")]
    Value {
        /// What.
        name: String,
        /// Its value.
        value: f64,
        /// What is allowed.
        allowed: &'static str,
    },
}

/// The model after the counts.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Release {
    /// The effects.
    pub names: Vec<String>,
    /// Most likely value of each.
    pub mean: Vec<f64>,
    /// Covariance, row by row.
    pub covariance: Vec<Vec<f64>>,
    /// Share of the variance between cuttings that the counts were thinned with.
    pub between_cuttings: f64,
    /// ln of the probability of the counts under the model (Laplace), binomial constants left out.
    pub ln_evidence: f64,
    /// Newton steps taken.
    pub steps: usize,
}

/// The probability that a piece leaves whole.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Whole {
    /// Mean over what is still uncertain.
    pub probability: f64,
    /// Lower end of the 95 % interval.
    pub low95: f64,
    /// Upper end.
    pub high95: f64,
    /// Mean of the logit.
    pub logit: f64,
    /// Standard deviation of the logit.
    pub logit_sd: f64,
}

/// Fits the model.
///
/// Pieces of one cutting share its dough. `between_cuttings` is the share ρ of the variance that
/// lies between cuttings: n pieces then count as n/(1 + (n − 1)ρ). 0 takes every piece as
/// independent and overstates what is known.
///
/// - Equation: posterior mode of logit p = x′β, β normal, with n/(1 + (n − 1)ρ) pieces of each cutting
/// - Units: effects \[log odds\], ρ \[share\], counts \[pieces\]
/// - Valid: spreads of priors above 0, ρ from 0 to 1
/// - Source: Laplace's normal (textbook); Kish's design effect; 45 of 50 lies within the limits of the example
///
/// ```
/// use trials::learn::{Cut, ReleasePrior, fit};
/// let level = ReleasePrior { name: "level".into(), mean: 0.0, sd: 1.5 };
/// let model = fit(&[level], &[Cut { x: vec![1.0], whole: 45, cut: 50 }], 0.0).unwrap();
/// let p = model.whole(&[1.0]).unwrap();
/// assert!(p.low95 < 0.9 && p.high95 > 0.9 && p.probability > 0.8);
/// ```
///
/// # Errors
/// [`ReleaseError`] naming the cutting.
pub fn fit(
    priors: &[ReleasePrior],
    cuts: &[Cut],
    between_cuttings: f64,
) -> Result<Release, ReleaseError> {
    let value = |name: &str, value: f64, allowed| ReleaseError::Value {
        name: name.to_owned(),
        value,
        allowed,
    };
    if !(0.0..=1.0).contains(&between_cuttings) {
        return Err(value(
            "the share of variance between cuttings",
            between_cuttings,
            "from 0 to 1",
        ));
    }
    for p in priors {
        if !(p.mean.is_finite() && p.sd > 0.0 && p.sd.is_finite()) {
            return Err(value(&p.name, p.sd, "a mean with a spread above 0"));
        }
    }
    let k = priors.len();
    for (i, c) in cuts.iter().enumerate() {
        if c.x.len() != k {
            return Err(ReleaseError::Length {
                cutting: i + 1,
                given: c.x.len(),
                wanted: k,
            });
        }
        if c.whole > c.cut {
            return Err(ReleaseError::Counts {
                cutting: i + 1,
                whole: c.whole,
                cut: c.cut,
            });
        }
        if let Some(v) = c.x.iter().find(|v| !v.is_finite()) {
            return Err(value("a setting", *v, "a number"));
        }
    }
    let prior_mean = DVector::from_iterator(k, priors.iter().map(|p| p.mean));
    let prior_precision = DVector::from_iterator(k, priors.iter().map(|p| 1.0 / (p.sd * p.sd)));
    let data: Vec<(DVector<f64>, f64, f64)> = cuts
        .iter()
        .filter(|c| c.cut > 0)
        .map(|c| {
            let n = f64::from(c.cut);
            let weight = 1.0 / (1.0 + (n - 1.0) * between_cuttings);
            (
                DVector::from_column_slice(&c.x),
                weight * f64::from(c.whole),
                weight * n,
            )
        })
        .collect();
    // ln posterior without constants; strictly concave, so Newton with halving finds the peak.
    let height = |b: &DVector<f64>| -> f64 {
        let fit: f64 = data
            .iter()
            .map(|(x, y, n)| {
                let eta = x.dot(b);
                y * eta - n * softplus(eta)
            })
            .sum();
        let apart = b - &prior_mean;
        fit - 0.5 * apart.component_mul(&apart).dot(&prior_precision)
    };
    let curvature = |b: &DVector<f64>| -> DMatrix<f64> {
        let mut h = DMatrix::from_diagonal(&prior_precision);
        for (x, _, n) in &data {
            let p = logistic(x.dot(b));
            h.ger(n * p * (1.0 - p), x, x, 1.0);
        }
        h
    };
    let mut b = prior_mean.clone();
    let mut at = height(&b);
    let mut steps = 0;
    while steps < MOST_STEPS {
        let mut slope = (&prior_mean - &b).component_mul(&prior_precision);
        for (x, y, n) in &data {
            slope.axpy(y - n * logistic(x.dot(&b)), x, 1.0);
        }
        let direction = curvature(&b)
            .cholesky()
            .expect("the prior keeps the curvature positive definite")
            .solve(&slope);
        steps += 1;
        let mut share = 1.0;
        let (next, higher) = loop {
            let next = &b + &direction * share;
            let h = height(&next);
            if h >= at || share < 1e-6 {
                break (next, h);
            }
            share *= 0.5;
        };
        let moved = (&next - &b).amax();
        (b, at) = (next, higher);
        if moved < 1e-12 {
            break;
        }
    }
    let factor = curvature(&b)
        .cholesky()
        .expect("the prior keeps the curvature positive definite");
    let ln_det: f64 = 2.0
        * factor
            .l_dirty()
            .diagonal()
            .iter()
            .map(|d| d.ln())
            .sum::<f64>();
    let prior_ln_det: f64 = prior_precision.iter().map(|p| p.ln()).sum();
    let covariance = factor.inverse();
    Ok(Release {
        names: priors.iter().map(|p| p.name.clone()).collect(),
        mean: b.iter().copied().collect(),
        covariance: (0..k)
            .map(|i| (0..k).map(|j| covariance[(i, j)]).collect())
            .collect(),
        between_cuttings,
        ln_evidence: at + 0.5 * (prior_ln_det - ln_det),
        steps,
    })
}

impl Release {
    /// The probability that a piece leaves whole at a setting.
    ///
    /// - Equation: mean of 1/(1 + e^(−η)) over η normal with mean x′β and variance x′Σx
    /// - Units: x \[as the effects\], chance \[share\]
    /// - Valid: as many values as effects
    /// - Source: textbook; without data the chance is ½ about a level believed at 0, by symmetry
    ///
    /// ```
    /// use trials::learn::{ReleasePrior, fit};
    /// let level = ReleasePrior { name: "level".into(), mean: 0.0, sd: 1.5 };
    /// let p = fit(&[level], &[], 0.0).unwrap().whole(&[1.0]).unwrap();
    /// assert!((p.probability - 0.5).abs() < 1e-9 && (p.logit_sd - 1.5).abs() < 1e-9);
    /// ```
    ///
    /// # Errors
    /// [`ReleaseError::Length`] for a wrong number of values.
    pub fn whole(&self, x: &[f64]) -> Result<Whole, ReleaseError> {
        if x.len() != self.mean.len() {
            return Err(ReleaseError::Length {
                cutting: 1,
                given: x.len(),
                wanted: self.mean.len(),
            });
        }
        let logit: f64 = x.iter().zip(&self.mean).map(|(a, b)| a * b).sum();
        let variance: f64 = x
            .iter()
            .zip(&self.covariance)
            .map(|(a, row)| a * row.iter().zip(x).map(|(c, b)| c * b).sum::<f64>())
            .sum();
        let logit_sd = variance.max(0.0).sqrt();
        let z = measure::estimate::Z95;
        Ok(Whole {
            probability: mean_over_normal(logit, logit_sd, logistic),
            low95: logistic(logit - z * logit_sd),
            high95: logistic(logit + z * logit_sd),
            logit,
            logit_sd,
        })
    }

    /// What cutting `pieces` at a setting would teach, in nats: the mean over today's beliefs of
    /// ½ ln(1 + n_eff·p(1 − p)·x′Σx), the entropy the effects lose under Laplace's normal.
    ///
    /// - Equation: mean of ½ ln(1 + n_eff p(1 − p) x′Σx)
    /// - Units: x \[as the effects\], pieces \[counted\], information \[nats\]
    /// - Valid: as `whole`
    /// - Source: Lindley 1956 (from memory, to be confirmed); what is known for certain teaches nothing
    ///
    /// ```
    /// use trials::learn::{ReleasePrior, fit};
    /// let model = |sd| fit(&[ReleasePrior { name: "level".into(), mean: 0.0, sd }], &[], 0.0).unwrap();
    /// assert!(model(1e-6).expected_information(&[1.0], 50).unwrap() < 1e-9);
    /// assert!(model(1.5).expected_information(&[1.0], 50).unwrap() > 1.0);
    /// ```
    ///
    /// # Errors
    /// As [`Self::whole`].
    pub fn expected_information(&self, x: &[f64], pieces: u32) -> Result<f64, ReleaseError> {
        let w = self.whole(x)?;
        let n = f64::from(pieces);
        let n_eff = n / (1.0 + (n - 1.0).max(0.0) * self.between_cuttings);
        let variance = w.logit_sd * w.logit_sd;
        Ok(mean_over_normal(w.logit, w.logit_sd, |eta| {
            let p = logistic(eta);
            0.5 * (n_eff * p * (1.0 - p) * variance).ln_1p()
        }))
    }
}

/// Mean of a function over a normal.
fn mean_over_normal(mean: f64, sd: f64, f: impl Fn(f64) -> f64) -> f64 {
    between(legendre_64(), -REACH, REACH)
        .map(|(z, w)| w * normal_density(z) * f(mean + sd * z))
        .sum()
}

/// 1/(1 + e^−η) without overflow.
///
/// - Equation: 1/(1 + e^(−η))
/// - Units: η \[log odds\], result \[share\]
/// - Valid: any η
/// - Source: definition
///
/// ```
/// use trials::learn::release::logistic;
/// assert!((logistic(3.0_f64.ln()) - 0.75).abs() < 1e-15 && logistic(-800.0) == 0.0);
/// ```
pub fn logistic(eta: f64) -> f64 {
    if eta >= 0.0 {
        1.0 / (1.0 + (-eta).exp())
    } else {
        let e = eta.exp();
        e / (1.0 + e)
    }
}

/// ln(1 + e^η) without overflow.
fn softplus(eta: f64) -> f64 {
    eta.max(0.0) + (-eta.abs()).exp().ln_1p()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rule_has_the_moments_of_the_normal() {
        // (n − 1)!! for even n (textbook).
        for (power, moment) in [
            (0, 1.0),
            (1, 0.0),
            (2, 1.0),
            (4, 3.0),
            (6, 15.0),
            (8, 105.0),
        ] {
            let m = mean_over_normal(0.0, 1.0, |z| z.powi(power));
            assert!((m - moment).abs() < 1e-8 * moment.max(1.0), "{power}: {m}");
        }
    }
}
