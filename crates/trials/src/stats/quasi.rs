//! Counts by batch: binomial (so many of n) and Poisson (so many in what was looked at) regression
//! whose spread may be larger than counting explains, with Firth's penalty where a treatment has
//! none or all.

use super::distribution::f_above;
use super::glm::{expit, ln_1p_exp, ln_choose};
use super::least_squares;
use libm::lgamma as ln_gamma;
use nalgebra::{DMatrix, DVector};

/// What is counted.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Family {
    /// k of n, log odds linear.
    Binomial,
    /// How many, logarithm linear; n is the exposure.
    Poisson,
}

impl Family {
    fn mean(self, eta: f64, n: f64) -> f64 {
        match self {
            Self::Binomial => n * expit(eta),
            Self::Poisson => n * eta.exp(),
        }
    }

    fn weight(self, eta: f64, n: f64) -> f64 {
        match self {
            Self::Binomial => n * expit(eta) * expit(-eta),
            Self::Poisson => n * eta.exp(),
        }
    }

    fn ln_likelihood(self, k: f64, n: f64, eta: f64) -> f64 {
        match self {
            Self::Binomial => ln_choose(n, k) + k * eta - n * ln_1p_exp(eta),
            Self::Poisson => k * (eta + n.ln()) - n * eta.exp() - ln_gamma(k + 1.0),
        }
    }

    fn deviance(self, k: f64, n: f64, eta: f64) -> f64 {
        let part = |a: f64, b: f64| if a > 0.0 { a * (a / b).ln() } else { 0.0 };
        let mean = self.mean(eta, n).max(1e-300);
        match self {
            Self::Binomial => 2.0 * (part(k, mean) + part(n - k, (n * expit(-eta)).max(1e-300))),
            Self::Poisson => 2.0 * (part(k, mean) - (k - mean)),
        }
    }

    fn start(self, k: f64, n: f64) -> f64 {
        match self {
            Self::Binomial => ((k + 0.5) / (n - k + 0.5)).ln(),
            Self::Poisson => ((k + 0.5) / n).ln(),
        }
    }
}

/// A fitted model of counts.
#[derive(Clone, Debug)]
pub struct Counted {
    /// Coefficients by column; 0 for an aliased one.
    pub coefficients: Vec<f64>,
    /// Their covariance as if counting were the only source of spread; none where the likelihood is
    /// flat.
    pub covariance: Option<DMatrix<f64>>,
    /// Linear predictor of each row.
    pub eta: Vec<f64>,
    /// Residual deviance.
    pub deviance: f64,
    /// Pearson's chi-square.
    pub pearson: f64,
    /// Residual degrees of freedom.
    pub df: f64,
    /// Log likelihood.
    pub ln_likelihood: f64,
    /// Log likelihood with half the log determinant of the information (Jeffreys' penalty).
    pub penalised_ln_likelihood: f64,
    /// Whether it settled away from the edge.
    pub converged: bool,
}

impl Counted {
    /// Pearson's chi-square over its degrees of freedom; below 1 it is chance, and 1 stands. None
    /// without degrees of freedom.
    ///
    /// - Equation: φ = X²/ν, told as it is
    /// - Units: \[1\]
    /// - Valid: degrees of freedom left
    /// - Source: Pearson's statistic over its degrees of freedom; the example by hand
    ///
    /// ```
    /// use trials::stats::quasi::{Family, fit};
    /// // 2 and 6 about 4: X² = 1 + 1 on one degree of freedom.
    /// let found = fit(Family::Poisson, &[vec![1.0, 1.0]], &[2.0, 6.0], &[1.0, 1.0], false, None);
    /// assert!((found.dispersion().unwrap() - 2.0).abs() < 1e-9);
    /// ```
    pub fn dispersion(&self) -> Option<f64> {
        (self.df > 0.0).then(|| self.pearson / self.df)
    }
}

/// Fits counts by maximum likelihood; with `penalty` by Firth's (1993), which always has a finite
/// answer. A coefficient may be held at a value (for a profile).
///
/// - Rule: maximum likelihood, with Firth's penalty ½ ln|information| where asked for
/// - Units: k and n \[counted\], coefficients \[log odds or log rate\]
/// - Valid: n above 0
/// - Source: Firth 1993 (from memory, to be confirmed); for one factor it adds ½ to each count, an identity
///
/// ```
/// use trials::stats::quasi::{Family, fit};
/// let columns = [vec![1.0, 1.0], vec![0.0, 1.0]];
/// let found = fit(Family::Binomial, &columns, &[0.0, 36.0], &[160.0, 160.0], true, None);
/// let odds = (36.5 / 124.5f64).ln() - (0.5 / 160.5f64).ln(); // one factor: ½ added to each count
/// assert!((found.coefficients[1] - odds).abs() < 1e-9);
/// ```
pub fn fit(
    family: Family,
    columns: &[Vec<f64>],
    k: &[f64],
    n: &[f64],
    penalty: bool,
    held: Option<(usize, f64)>,
) -> Counted {
    let rows = k.len();
    let start: Vec<f64> = k.iter().zip(n).map(|(k, n)| family.start(*k, *n)).collect();
    let first = least_squares::fit(columns, &start);
    let kept = first.kept.clone();
    let p = kept.len();
    let x = DMatrix::from_fn(rows, p, |i, j| columns[kept[j]][i]);
    let mut beta = DVector::from_fn(p, |j, _| first.coefficients[kept[j]].unwrap_or(0.0));
    let held = held.and_then(|(c, v)| kept.iter().position(|&k| k == c).map(|at| (at, v)));
    if let Some((at, value)) = held {
        beta[at] = value;
    }
    let free: Vec<usize> = (0..p)
        .filter(|j| held.is_none_or(|(h, _)| h != *j))
        .collect();
    let eta_of = |beta: &DVector<f64>| -> Vec<f64> {
        (&x * beta).iter().map(|e| e.clamp(-30.0, 30.0)).collect()
    };
    let information = |eta: &[f64]| -> DMatrix<f64> {
        let mut out = DMatrix::zeros(p, p);
        for i in 0..rows {
            let w = family.weight(eta[i], n[i]);
            for a in 0..p {
                for b in 0..=a {
                    out[(a, b)] += w * x[(i, a)] * x[(i, b)];
                }
            }
        }
        for a in 0..p {
            for b in 0..a {
                out[(b, a)] = out[(a, b)];
            }
        }
        out
    };
    let height = |eta: &[f64], info: &DMatrix<f64>| -> (f64, f64) {
        let plain: f64 = (0..rows)
            .map(|i| family.ln_likelihood(k[i], n[i], eta[i]))
            .sum();
        let half = info.clone().cholesky().map_or(f64::NEG_INFINITY, |c| {
            c.l_dirty().diagonal().iter().map(|d| d.ln()).sum()
        });
        (plain, plain + half)
    };
    let mut eta = eta_of(&beta);
    let mut info = information(&eta);
    let (mut plain, mut penalised) = height(&eta, &info);
    let mut settled = false;
    for _ in 0..200 {
        let Some(inverse) = info.clone().try_inverse() else {
            break;
        };
        let mut score = DVector::zeros(p);
        for i in 0..rows {
            let mean = family.mean(eta[i], n[i]);
            let mut rest = k[i] - mean;
            if penalty {
                let row = x.row(i);
                let leverage =
                    family.weight(eta[i], n[i]) * (row * &inverse * row.transpose())[(0, 0)];
                rest += leverage
                    * match family {
                        Family::Binomial => 0.5 - expit(eta[i]),
                        Family::Poisson => 0.5,
                    };
            }
            for a in 0..p {
                score[a] += x[(i, a)] * rest;
            }
        }
        let sub = DMatrix::from_fn(free.len(), free.len(), |a, b| info[(free[a], free[b])]);
        let right = DVector::from_fn(free.len(), |a, _| score[free[a]]);
        let Some(step) = sub.lu().solve(&right) else {
            break;
        };
        let longest = step.amax();
        let mut size = if longest > 5.0 { 5.0 / longest } else { 1.0 };
        let mut moved = false;
        for _ in 0..40 {
            let mut next = beta.clone();
            for (a, &j) in free.iter().enumerate() {
                next[j] += size * step[a];
            }
            let next_eta = eta_of(&next);
            let next_info = information(&next_eta);
            let (a, b) = height(&next_eta, &next_info);
            let (now, before) = if penalty { (b, penalised) } else { (a, plain) };
            if now >= before - 1e-12 * before.abs().max(1.0) {
                (beta, eta, info, plain, penalised) = (next, next_eta, next_info, a, b);
                moved = true;
                break;
            }
            size *= 0.5;
        }
        if !moved && longest < 1e-4 {
            // Too near the top for heights to tell: the last step is taken on trust.
            for (a, &j) in free.iter().enumerate() {
                beta[j] += step[a];
            }
            eta = eta_of(&beta);
            info = information(&eta);
            (plain, penalised) = height(&eta, &info);
        }
        if !moved || longest < 1e-11 {
            settled = moved || longest < 1e-4;
            break;
        }
    }
    let width = columns.len();
    let mut coefficients = vec![0.0; width];
    for (a, &i) in kept.iter().enumerate() {
        coefficients[i] = beta[a];
    }
    let covariance = info.try_inverse().map(|inverse| {
        let mut whole = DMatrix::zeros(width, width);
        for (a, &i) in kept.iter().enumerate() {
            for (b, &j) in kept.iter().enumerate() {
                whole[(i, j)] = inverse[(a, b)];
            }
        }
        whole
    });
    let (mut deviance, mut pearson) = (0.0, 0.0);
    for i in 0..rows {
        deviance += family.deviance(k[i], n[i], eta[i]);
        let w = family.weight(eta[i], n[i]).max(1e-300);
        pearson += (k[i] - family.mean(eta[i], n[i])).powi(2) / w;
    }
    Counted {
        coefficients,
        covariance,
        deviance,
        pearson,
        df: rows as f64 - p as f64,
        ln_likelihood: plain,
        penalised_ln_likelihood: penalised,
        converged: settled && eta.iter().all(|e| e.abs() < 20.0),
        eta,
    }
}

/// A test of the columns that a model has beyond another, against the spread between batches:
/// `F = (ΔD/df)/φ` on `df` and `df_spread` degrees of freedom, with φ not below 1.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CountTest {
    /// Ratio.
    pub f: f64,
    /// Numerator degrees of freedom.
    pub df: f64,
    /// Denominator degrees of freedom.
    pub denominator_df: f64,
    /// p-value.
    pub p: f64,
}

impl CountTest {
    /// The test of a fall in deviance.
    ///
    /// - Equation: F = (fall/df)/dispersion
    /// - Units: fall in deviance, F and p \[1\], degrees of freedom \[1\]
    /// - Valid: df and dispersion above 0
    /// - Source: textbook of quasi-likelihood (from memory, to be confirmed); without estimated spread it is
    ///   chi-square over df
    ///
    /// ```
    /// use trials::stats::quasi::CountTest;
    /// let test = CountTest::new(3.841_458_820_694_124, 1.0, 1.0, f64::INFINITY);
    /// assert!((test.p - 0.05).abs() < 1e-10);
    /// ```
    pub fn new(fall: f64, df: f64, dispersion: f64, denominator_df: f64) -> Self {
        let f = fall.max(0.0) / df / dispersion;
        Self {
            f,
            df,
            denominator_df,
            p: f_above(f, df, denominator_df),
        }
    }
}

/// The negative binomial model with variance μ + μ²/θ by maximum likelihood: coefficients, θ, log
/// likelihood and the coefficients' covariance from the observed curvature.
#[derive(Clone, Debug)]
pub struct NegativeBinomial {
    /// Coefficients on the log scale.
    pub coefficients: Vec<f64>,
    /// Their covariance; none where the likelihood is flat.
    pub covariance: Option<DMatrix<f64>>,
    /// θ; large means Poisson.
    pub theta: f64,
    /// Log likelihood.
    pub ln_likelihood: f64,
    /// Whether it settled.
    pub converged: bool,
}

/// Fits counts with exposure `n` to columns none of which may be aliased.
///
/// - Rule: maximum likelihood of log rates and one θ, variance μ + μ²/θ
/// - Units: k \[counted\], n \[exposure\], coefficients \[log rate\], θ \[1\]
/// - Valid: columns without alias
/// - Source: textbook (from memory, to be confirmed); one group's rate is its mean
///
/// ```
/// use trials::stats::quasi::negative_binomial;
/// let found = negative_binomial(&[vec![1.0; 4]], &[0.0, 2.0, 9.0, 5.0], &[1.0; 4]);
/// assert!((found.coefficients[0] - 4.0_f64.ln()).abs() < 1e-4);
/// ```
pub fn negative_binomial(columns: &[Vec<f64>], k: &[f64], n: &[f64]) -> NegativeBinomial {
    let p = columns.len();
    let start = fit(Family::Poisson, columns, k, n, false, None);
    let minus_ln = |at: &[f64]| -> f64 {
        let theta = at[p].clamp(-12.0, 16.0).exp();
        -(0..k.len())
            .map(|i| {
                let eta: f64 = columns.iter().zip(at).map(|(c, b)| c[i] * b).sum();
                let mu = n[i] * eta.clamp(-30.0, 30.0).exp();
                ln_gamma(k[i] + theta) - ln_gamma(theta) - ln_gamma(k[i] + 1.0)
                    + theta * (theta / (theta + mu)).ln()
                    + k[i] * (mu / (theta + mu)).ln()
            })
            .sum::<f64>()
    };
    let mut from: Vec<f64> = start
        .coefficients
        .iter()
        .map(|c| c.clamp(-15.0, 15.0))
        .collect();
    from.push(1.0);
    let found = super::optimise::minimise(minus_ln, &from);
    let covariance = found.hessian.clone().try_inverse().map_or_else(
        || start.covariance.clone(),
        |c| Some(c.view((0, 0), (p, p)).into_owned()),
    );
    NegativeBinomial {
        coefficients: found.at[..p].to_vec(),
        covariance,
        theta: found.at[p].exp(),
        ln_likelihood: -found.value,
        converged: found.converged,
    }
}
