//! A measured response as a figure: what batches say of formulas that weren't made.
//!
//! Two models stand for election: straight in the formula, and smooth over it (a Gaussian process). Both have the
//! differences between batches in them. The one that tells batches it hasn't seen better is taken; ties go to the straight
//! one, which can be explained.

use crate::stats::distribution::t_quantile;
use nalgebra::{DMatrix, DVector};
use serde::{Deserialize, Serialize};

/// Fewest batches from which anything is told.
pub const FEWEST_BATCHES: usize = 5;
/// Lengths over which a smooth response forgets, as shares of the widest reach of a part, that are tried.
///
/// - Units: \[1\]
/// - Source: a numerical choice: a grid of which the likeliest is taken
const LENGTHS: [f64; 4] = [0.25, 0.5, 1.0, 2.0];
/// Shares of the variance that lie between batches of one formula, that are tried; nearly all of it, where no formula has
/// an effect.
///
/// - Units: \[1\]
/// - Source: a numerical choice: a grid of which the likeliest is taken
const SHARES: [f64; 6] = [0.05, 0.15, 0.3, 0.5, 0.8, 0.98];

/// A batch: where its formula lies, and what was measured on it.
#[derive(Clone, Debug, PartialEq)]
pub struct Point {
    /// Parts of the formula and settings, in one order for all; each on a scale of its own.
    pub at: Vec<f64>,
    /// Mean of what was measured on it.
    pub value: f64,
}

/// Which model tells it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Shape {
    /// Straight in the formula.
    Straight,
    /// Smooth over it.
    Smooth,
}

impl Shape {
    /// Its name.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Straight => "straight in the formula",
            Self::Smooth => "smooth over the formula",
        }
    }
}

/// Why there is no model.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum ResponseError {
    /// Too few batches.
    #[error("too few batches: {found}, and {FEWEST_BATCHES} at least are wanted")]
    TooFew {
        /// How many there are.
        found: usize,
    },
    /// All of one formula.
    #[error("every batch is of one formula: nothing can be said of another")]
    OneFormula,
    /// Points that don't fit together.
    #[error("batch {batch}: {why}")]
    Point {
        /// Which, from 1.
        batch: usize,
        /// What is wrong.
        why: &'static str,
    },
}

/// A learned response.
#[derive(Clone, Debug)]
pub struct ResponseModel {
    /// Which model was taken.
    pub shape: Shape,
    /// Root mean square of what each model missed of batches of formulas it hadn't seen: straight, smooth.
    pub missed: [f64; 2],
    /// Standard deviation of what was measured, for scale.
    pub sd: f64,
    /// Standard deviation from batch to batch of one formula.
    pub batch_sd: f64,
    points: Vec<Point>,
    scale: Vec<f64>,
    mean: f64,
    hyper: Hyper,
}

/// What a model is set by: length over which it forgets, variance of the response, and that between batches.
#[derive(Clone, Copy, Debug)]
struct Hyper {
    shape: Shape,
    length: f64,
    signal: f64,
    noise: f64,
}

/// What is told of a formula.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct ResponseTold {
    /// Mean.
    pub mean: f64,
    /// Standard deviation of the mean of many batches of it.
    pub sd: f64,
    /// Standard deviation of the next batch of it.
    pub next_sd: f64,
    /// Degrees of freedom behind these: batches less one.
    pub df: f64,
}

impl ResponseTold {
    /// The central 95 % of the next batch.
    ///
    /// - Equation: mean ± t s, t the 0.975 quantile of Student's t
    /// - Units: \[the response's\]
    /// - Valid: scatter that is about normal
    /// - Source: Student's t, table value 2.262 for 9 degrees of freedom (from memory, to be confirmed)
    ///
    /// ```
    /// let told = trials::learn::ResponseTold { mean: 10.0, sd: 0.0, next_sd: 1.0, df: 9.0 };
    /// assert!((told.next_interval()[1] - 12.262).abs() < 1e-3);
    /// ```
    pub fn next_interval(&self) -> [f64; 2] {
        let t = t_quantile(0.975, self.df);
        [-t, t].map(|t| self.mean + t * self.next_sd)
    }
}

fn covariance(hyper: Hyper, a: &[f64], b: &[f64]) -> f64 {
    match hyper.shape {
        Shape::Straight => {
            let product: f64 = a.iter().zip(b).map(|(x, y)| x * y).sum();
            hyper.signal * product
        }
        Shape::Smooth => {
            let square: f64 = a.iter().zip(b).map(|(x, y)| (x - y).powi(2)).sum();
            hyper.signal * (-0.5 * square / (hyper.length * hyper.length)).exp()
        }
    }
}

/// A model solved for its points: weights, and the inverse of their covariance.
struct Solved {
    weights: DVector<f64>,
    inverse: DMatrix<f64>,
    ln_evidence: f64,
}

fn solve(hyper: Hyper, at: &[Vec<f64>], off: &[f64]) -> Option<Solved> {
    let n = at.len();
    let k = DMatrix::from_fn(n, n, |i, j| {
        let own = if i == j { hyper.noise } else { 0.0 };
        covariance(hyper, &at[i], &at[j]) + own
    });
    let root = k.cholesky()?;
    let y = DVector::from_column_slice(off);
    let weights = root.solve(&y);
    let half_ln_det: f64 = root.l().diagonal().iter().map(|d| d.ln()).sum();
    Some(Solved {
        ln_evidence: -0.5 * y.dot(&weights) - half_ln_det,
        inverse: root.inverse(),
        weights,
    })
}

/// The likeliest settings of a shape for some points.
fn likeliest(shape: Shape, at: &[Vec<f64>], off: &[f64], variance: f64) -> Option<Hyper> {
    let lengths: &[f64] = match shape {
        Shape::Straight => &[1.0],
        Shape::Smooth => &LENGTHS,
    };
    let mut best: Option<(f64, Hyper)> = None;
    for length in lengths {
        for share in SHARES {
            let hyper = Hyper {
                shape,
                length: *length,
                signal: (1.0 - share) * variance,
                noise: share * variance,
            };
            let Some(solved) = solve(hyper, at, off) else {
                continue;
            };
            if best.is_none_or(|(b, _)| solved.ln_evidence > b) {
                best = Some((solved.ln_evidence, hyper));
            }
        }
    }
    best.map(|b| b.1)
}

/// Learns a response from batches.
///
/// # Errors
/// Too few batches, all of one formula, points that don't fit together.
///
/// ```
/// use trials::learn::{Point, Shape, learn_response};
/// // A straight line with a little scatter is told as one.
/// let off = [0.02, -0.03, 0.01, 0.0, -0.01, 0.02];
/// let points: Vec<Point> = (0..6)
///     .map(|i| Point { at: vec![i as f64], value: 3.0 + 2.0 * i as f64 + off[i] })
///     .collect();
/// let model = learn_response(&points).unwrap();
/// assert_eq!(model.shape, Shape::Straight);
/// assert!((model.at(&[2.5]).mean - 8.0).abs() < 0.2);
/// ```
pub fn learn_response(points: &[Point]) -> Result<ResponseModel, ResponseError> {
    let n = points.len();
    if n < FEWEST_BATCHES {
        return Err(ResponseError::TooFew { found: n });
    }
    let width = points[0].at.len();
    for (i, point) in points.iter().enumerate() {
        let wrong = |why| ResponseError::Point { batch: i + 1, why };
        if point.at.len() != width {
            return Err(wrong("it has another number of parts than the first"));
        }
        if !point.value.is_finite() || point.at.iter().any(|v| !v.is_finite()) {
            return Err(wrong("one of its values is no number"));
        }
    }
    let at: Vec<Vec<f64>> = points.iter().map(|p| p.at.clone()).collect();
    let scale = scale_of(&at);
    let scaled: Vec<Vec<f64>> = at.iter().map(|a| placed(a, &at, &scale)).collect();
    if scaled.iter().all(|a| *a == scaled[0]) {
        return Err(ResponseError::OneFormula);
    }
    let mean = points.iter().map(|p| p.value).sum::<f64>() / n as f64;
    let off: Vec<f64> = points.iter().map(|p| p.value - mean).collect();
    let variance = off.iter().map(|o| o * o).sum::<f64>() / (n - 1) as f64;
    let floor = variance.max(1e-12 * mean.abs().max(1.0).powi(2));
    let both = [Shape::Straight, Shape::Smooth];
    let missed = both.map(|shape| left_out(shape, &scaled, &off, floor));
    let shape = if missed[1] < 0.95 * missed[0] {
        Shape::Smooth
    } else {
        Shape::Straight
    };
    let hyper = likeliest(shape, &scaled, &off, floor).ok_or(ResponseError::OneFormula)?;
    Ok(ResponseModel {
        shape,
        missed,
        sd: variance.sqrt(),
        batch_sd: hyper.noise.sqrt(),
        points: points.to_vec(),
        scale,
        mean,
        hyper,
    })
}

/// The widest reach of each part; 0 where it doesn't vary.
fn scale_of(at: &[Vec<f64>]) -> Vec<f64> {
    (0..at[0].len())
        .map(|k| {
            let all = at.iter().map(|a| a[k]);
            let (low, high) = all.fold((f64::MAX, f64::MIN), |(l, h), v| (l.min(v), h.max(v)));
            high - low
        })
        .collect()
}

/// A formula on the scales of the points, about their middle; parts that don't vary among them say nothing.
fn placed(of: &[f64], at: &[Vec<f64>], scale: &[f64]) -> Vec<f64> {
    (0..scale.len())
        .filter(|k| scale[*k] > 0.0)
        .map(|k| {
            let middle = at.iter().map(|a| a[k]).sum::<f64>() / at.len() as f64;
            (of[k] - middle) / scale[k]
        })
        .collect()
}

/// Root mean square of what a shape misses of each formula's batches when none of them was seen.
fn left_out(shape: Shape, at: &[Vec<f64>], off: &[f64], variance: f64) -> f64 {
    let mut formulas: Vec<&Vec<f64>> = Vec::new();
    for a in at {
        if !formulas.contains(&a) {
            formulas.push(a);
        }
    }
    let mut sum = 0.0;
    for formula in formulas {
        let seen: Vec<usize> = (0..at.len()).filter(|i| at[*i] != *formula).collect();
        let others: Vec<Vec<f64>> = seen.iter().map(|i| at[*i].clone()).collect();
        let values: Vec<f64> = seen.iter().map(|i| off[*i]).collect();
        let told = likeliest(shape, &others, &values, variance)
            .and_then(|hyper| Some((hyper, solve(hyper, &others, &values)?)))
            .map_or(0.0, |(hyper, solved)| {
                let k = others.iter().map(|o| covariance(hyper, o, formula));
                k.zip(solved.weights.iter()).map(|(k, w)| k * w).sum()
            });
        let own = (0..at.len()).filter(|i| at[*i] == *formula);
        sum += own.map(|i| (off[i] - told).powi(2)).sum::<f64>();
    }
    (sum / at.len() as f64).sqrt()
}

impl ResponseModel {
    /// Whether a batch of this formula was made.
    ///
    /// - Rule: a point lies there, to the last digit
    /// - Units: parts as in the points
    /// - Valid: as many parts as the points have
    /// - Source: definition
    ///
    /// ```
    /// use trials::learn::{Point, learn_response};
    /// let points: Vec<Point> = (0..6).map(|i| Point { at: vec![(i % 2) as f64], value: i as f64 }).collect();
    /// let model = learn_response(&points).unwrap();
    /// assert!(model.has(&[1.0]) && !model.has(&[0.5]));
    /// ```
    pub fn has(&self, formula: &[f64]) -> bool {
        self.points.iter().any(|p| p.at == formula)
    }

    /// The model with one more batch, its settings as they are.
    #[must_use]
    pub fn with(&self, point: &Point) -> Self {
        let mut more = self.clone();
        more.points.push(point.clone());
        more
    }

    /// What is told of a formula.
    ///
    /// - Equation: mean kᵀK⁻¹(y − ȳ) + ȳ, variance k(x, x) − kᵀK⁻¹k, the next batch's with that between batches
    /// - Units: parts as in the points, the answer \[the response's\]
    /// - Valid: as many parts as the points have; far from all of them it is their mean, as wide as they scatter
    /// - Source: conditional of a joint normal, closed form
    ///
    /// ```
    /// use trials::learn::{Point, learn_response};
    /// let points: Vec<Point> = (0..6).map(|i| Point { at: vec![(i % 2) as f64], value: (i % 2) as f64 }).collect();
    /// let model = learn_response(&points).unwrap();
    /// // Between two formulas alike it is their mean.
    /// assert!((model.at(&[0.5]).mean - 0.5).abs() < 1e-12);
    /// ```
    pub fn at(&self, formula: &[f64]) -> ResponseTold {
        let at: Vec<Vec<f64>> = self.points.iter().map(|p| p.at.clone()).collect();
        let scaled: Vec<Vec<f64>> = at.iter().map(|a| placed(a, &at, &self.scale)).collect();
        let here = placed(formula, &at, &self.scale);
        let off: Vec<f64> = self.points.iter().map(|p| p.value - self.mean).collect();
        let prior = covariance(self.hyper, &here, &here);
        let df = (self.points.len() - 1) as f64;
        let Some(solved) = solve(self.hyper, &scaled, &off) else {
            return ResponseTold {
                mean: self.mean,
                sd: prior.sqrt(),
                next_sd: (prior + self.hyper.noise).sqrt(),
                df,
            };
        };
        let k = DVector::from_iterator(
            scaled.len(),
            scaled.iter().map(|s| covariance(self.hyper, s, &here)),
        );
        // The mean of the points is known only as well as they are many.
        let level = (self.hyper.signal + self.hyper.noise) / self.points.len() as f64;
        let variance = (prior - k.dot(&(&solved.inverse * &k))).max(0.0) + level;
        ResponseTold {
            mean: self.mean + k.dot(&solved.weights),
            sd: variance.sqrt(),
            next_sd: (variance + self.hyper.noise).sqrt(),
            df,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::random::SplitMix64;

    fn normal(random: &mut SplitMix64) -> f64 {
        let (u, v) = (1.0 - random.unit(), random.unit());
        (-2.0 * u.ln()).sqrt() * (std::f64::consts::TAU * v).cos()
    }

    fn points(seed: u64, truth: impl Fn(f64, f64) -> f64, sd: f64) -> Vec<Point> {
        let mut random = SplitMix64::stream(seed, 1);
        (0..24)
            .map(|i| {
                let (a, b) = (f64::from(i % 4) * 10.0, f64::from(i / 4 % 3) * 5.0);
                Point {
                    at: vec![a, b, 7.0],
                    value: truth(a, b) + sd * normal(&mut random),
                }
            })
            .collect()
    }

    #[test]
    fn a_bent_response_is_told_by_the_smooth_model_and_a_straight_one_by_the_straight() {
        let straight = learn_response(&points(3, |a, b| 40.0 + a - 2.0 * b, 1.5)).unwrap();
        assert_eq!(straight.shape, Shape::Straight, "{:?}", straight.missed);
        let bent = learn_response(&points(4, |a, b| 40.0 - 0.1 * (a - 15.0).powi(2) + b, 0.5));
        let bent = bent.unwrap();
        assert_eq!(bent.shape, Shape::Smooth, "{:?}", bent.missed);
        let told = bent.at(&[15.0, 5.0, 7.0]);
        assert!((told.mean - 45.0).abs() < 4.0, "{told:?}");
        assert!(told.next_sd > told.sd);
    }

    /// Without any effect the interval of a new formula's batch holds it about as often as it says.
    #[test]
    fn without_an_effect_intervals_hold_what_comes() {
        let (mut inside, mut all) = (0, 0);
        for seed in 0..200 {
            let model = learn_response(&points(100 + seed, |_, _| 50.0, 3.0)).unwrap();
            let mut random = SplitMix64::stream(9000 + seed, 2);
            let [low, high] = model.at(&[15.0, 2.5, 7.0]).next_interval();
            let next = 50.0 + 3.0 * normal(&mut random);
            inside += usize::from((low..high).contains(&next));
            all += 1;
        }
        let share = f64::from(inside as u32) / f64::from(all);
        assert!((0.90..=0.99).contains(&share), "{share}");
    }

    #[test]
    fn too_few_and_one_formula_are_told() {
        let some = points(1, |a, _| a, 1.0);
        assert_eq!(
            learn_response(&some[..3]).unwrap_err(),
            ResponseError::TooFew { found: 3 }
        );
        let one: Vec<Point> = (0..6)
            .map(|i| Point {
                at: vec![1.0],
                value: f64::from(i),
            })
            .collect();
        assert_eq!(learn_response(&one).unwrap_err(), ResponseError::OneFormula);
        let mut odd = some.clone();
        odd[2].at.pop();
        assert!(
            learn_response(&odd)
                .unwrap_err()
                .to_string()
                .contains("batch 3")
        );
    }
}
