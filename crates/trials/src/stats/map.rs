//! The likeliest parameters of a model by its data and what was believed beforehand: nonlinear least squares with a weight for
//! each row, normal beliefs as rows of their own, and a Jacobian that is supplied.

use super::nonlinear::{Until, descend};
use nalgebra::{DMatrix, DVector};

/// What is believed of a parameter before the data: a normal distribution.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Belief {
    /// Its mean.
    pub mean: f64,
    /// Its standard deviation, above 0.
    pub sd: f64,
}

/// A model with what it is held against.
pub struct Problem<'a> {
    /// The model's value in every row.
    pub values: &'a dyn Fn(&[f64]) -> Vec<f64>,
    /// Derivatives: a row for each row, a column for each parameter.
    pub slopes: &'a dyn Fn(&[f64]) -> DMatrix<f64>,
    /// What was observed.
    pub observed: &'a [f64],
    /// Standard deviation of each observation, above 0.
    pub sd: &'a [f64],
    /// What is believed of each parameter; none for nothing.
    pub beliefs: &'a [Option<Belief>],
}

/// The likeliest parameters, and how sure they are by the curvature there.
#[derive(Clone, Debug)]
pub struct Likeliest {
    /// Parameters.
    pub parameters: Vec<f64>,
    /// Σ ((observed − value)/sd)².
    pub misfit: f64,
    /// Σ ((parameter − mean)/sd)² over the beliefs.
    pub from_belief: f64,
    /// Derivatives of the values over their standard deviations.
    pub whitened: DMatrix<f64>,
    /// Covariance of the parameters, of the normal distribution with the same curvature (Laplace); none where data and
    /// beliefs leave a direction open.
    pub covariance: Option<DMatrix<f64>>,
    /// Steps taken.
    pub iterations: usize,
    /// Whether the last step changed nothing that matters.
    pub converged: bool,
}

impl Likeliest {
    /// Twice the negative logarithm of the posterior, but for a constant.
    ///
    /// - Equation: misfit + part of the beliefs
    /// - Units: \[1\]
    /// - Valid: any
    /// - Source: an identity; half way between 3 and 0 it is 1.5² + 1.5²
    ///
    /// ```
    /// use nalgebra::DMatrix;
    /// use trials::stats::map::{Belief, Closeness, Problem, likeliest};
    /// let problem = Problem {
    ///     values: &|b: &[f64]| vec![b[0]],
    ///     slopes: &|_: &[f64]| DMatrix::from_element(1, 1, 1.0),
    ///     observed: &[3.0],
    ///     sd: &[1.0],
    ///     beliefs: &[Some(Belief { mean: 0.0, sd: 1.0 })],
    /// };
    /// assert!((likeliest(&problem, &[0.7], Closeness::LastDigit).total() - 4.5).abs() < 1e-9);
    /// ```
    pub fn total(&self) -> f64 {
        self.misfit + self.from_belief
    }
}

/// How closely the bottom is sought: to the last digits, or to what matters beside the standard deviations.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Closeness {
    /// Until nothing moves in the last digits; for models that are smooth to the last digit.
    LastDigit,
    /// Until a step would gain less than a millionth of the sum of squares.
    WhatMatters,
}

/// Goes down to the likeliest parameters from a start.
///
/// Check: one parameter seen once with sd 1 and believed at 0 with sd 1 ends half way, with variance ½.
///
/// - Rule: Levenberg and Marquardt's steps down Σ((y − f)/σ)² + Σ((b − m)/s)²
/// - Units: \[as the parameters\]
/// - Valid: models that are smooth about the answer
/// - Source: textbook; normal and normal meet half way
///
/// ```
/// use nalgebra::DMatrix;
/// use trials::stats::map::{Belief, Closeness, Problem, likeliest};
/// let problem = Problem {
///     values: &|b: &[f64]| vec![b[0]],
///     slopes: &|_: &[f64]| DMatrix::from_element(1, 1, 1.0),
///     observed: &[3.0],
///     sd: &[1.0],
///     beliefs: &[Some(Belief { mean: 0.0, sd: 1.0 })],
/// };
/// let found = likeliest(&problem, &[0.7], Closeness::LastDigit);
/// assert!((found.parameters[0] - 1.5).abs() < 1e-9);
/// assert!((found.covariance.unwrap()[(0, 0)] - 0.5).abs() < 1e-9);
/// ```
pub fn likeliest(problem: &Problem<'_>, start: &[f64], closeness: Closeness) -> Likeliest {
    let Problem {
        values,
        slopes,
        observed,
        sd,
        beliefs,
    } = *problem;
    let (n, p) = (observed.len(), start.len());
    let held: Vec<(usize, Belief)> = beliefs
        .iter()
        .enumerate()
        .filter_map(|(i, b)| b.map(|b| (i, b)))
        .collect();
    let stacked = |b: &[f64]| -> Vec<f64> {
        let data = values(b).into_iter().zip(sd).map(|(v, sd)| v / sd);
        data.chain(held.iter().map(|(i, belief)| b[*i] / belief.sd))
            .collect()
    };
    let stacked_slopes = |b: &[f64]| {
        let data = slopes(b);
        let mut out = DMatrix::zeros(n + held.len(), p);
        for i in 0..n {
            for c in 0..p {
                out[(i, c)] = data[(i, c)] / sd[i];
            }
        }
        for (k, (i, belief)) in held.iter().enumerate() {
            out[(n + k, *i)] = 1.0 / belief.sd;
        }
        out
    };
    let y: Vec<f64> = observed
        .iter()
        .zip(sd)
        .map(|(y, sd)| y / sd)
        .chain(held.iter().map(|(_, b)| b.mean / b.sd))
        .collect();
    let until = match closeness {
        Closeness::LastDigit => Until {
            moved: 1e-13,
            gain: 1e-26,
            steps: 5000,
        },
        Closeness::WhatMatters => Until {
            moved: 1e-7,
            gain: 1e-6,
            steps: 80,
        },
    };
    let bottom = [1e-2, 1.0, 1e3]
        .into_iter()
        .map(|damping| descend(&stacked, &stacked_slopes, &y, start, damping, until))
        .reduce_until(|b| b.converged && b.ss.is_finite());
    let whole = stacked_slopes(&bottom.b);
    let whitened = whole.rows(0, n).into_owned();
    let r = &bottom.r;
    let squares = |from: usize, rows: usize| r.rows(from, rows).norm_squared();
    Likeliest {
        misfit: squares(0, n),
        from_belief: squares(n, held.len()),
        covariance: covariance(&whole),
        whitened,
        parameters: bottom.b,
        iterations: bottom.iterations,
        converged: bottom.converged,
    }
}

/// (JᵀJ)⁻¹ by QR with scaled columns.
fn covariance(j: &DMatrix<f64>) -> Option<DMatrix<f64>> {
    let p = j.ncols();
    if j.nrows() < p {
        return None;
    }
    let own: Vec<f64> = (0..p).map(|c| j.column(c).norm()).collect();
    if own.iter().any(|v| !(*v > 0.0 && v.is_finite())) {
        return None;
    }
    let scaled = DMatrix::from_fn(j.nrows(), p, |i, c| j[(i, c)] / own[c]);
    let upper = scaled.qr().r();
    if (0..p).any(|c| upper[(c, c)].abs() < 1e-13) {
        return None;
    }
    let inverse = upper.solve_upper_triangular(&DMatrix::identity(p, p))?;
    let out = &inverse * inverse.transpose();
    Some(DMatrix::from_fn(p, p, |a, b| {
        out[(a, b)] / (own[a] * own[b])
    }))
}

/// Takes one after the other until one is good, else the best of all.
trait ReduceUntil {
    fn reduce_until(
        self,
        good: impl Fn(&super::nonlinear::Bottom) -> bool,
    ) -> super::nonlinear::Bottom;
}

impl<I: Iterator<Item = super::nonlinear::Bottom>> ReduceUntil for I {
    fn reduce_until(
        mut self,
        good: impl Fn(&super::nonlinear::Bottom) -> bool,
    ) -> super::nonlinear::Bottom {
        let mut best = self.next().expect("there is a first damping");
        while !good(&best) {
            let Some(next) = self.next() else { break };
            if next.ss < best.ss {
                best = next;
            }
        }
        best
    }
}

/// Makes rows with a common covariance into independent ones of standard deviation 1: multiplies by the inverse of its
/// Cholesky factor. None where the covariance isn't one.
///
/// ```
/// use nalgebra::DMatrix;
/// use trials::stats::map::Whitener;
/// let twice = Whitener::of(&DMatrix::from_diagonal_element(2, 2, 4.0)).unwrap();
/// assert_eq!(twice.rows(&[6.0, 2.0]), [3.0, 1.0]);
/// ```
#[derive(Clone, Debug)]
pub struct Whitener(DMatrix<f64>);

impl Whitener {
    /// For a covariance.
    pub fn of(covariance: &DMatrix<f64>) -> Option<Self> {
        covariance.clone().cholesky().map(|c| Self(c.l()))
    }

    /// A vector made independent.
    ///
    /// - Equation: L⁻¹ v, L L′ the covariance
    /// - Units: \[as the values\] in, \[1\] out
    /// - Valid: covariances that are positive
    /// - Source: Cholesky; the example by hand
    ///
    /// ```
    /// use nalgebra::DMatrix;
    /// use trials::stats::map::Whitener;
    /// // Variances 4 and 9, nothing between them.
    /// let white = Whitener::of(&DMatrix::from_row_slice(2, 2, &[4.0, 0.0, 0.0, 9.0])).unwrap();
    /// assert_eq!(white.rows(&[2.0, 3.0]), [1.0, 1.0]);
    /// ```
    pub fn rows(&self, v: &[f64]) -> Vec<f64> {
        let mut out = DVector::from_column_slice(v);
        self.0.solve_lower_triangular_mut(&mut out);
        out.iter().copied().collect()
    }

    /// The columns of a matrix made independent.
    ///
    /// - Equation: L⁻¹ M, L L′ the covariance
    /// - Units: \[as the values\] in, \[1\] out
    /// - Valid: covariances that are positive
    /// - Source: Cholesky; the example by hand
    ///
    /// ```
    /// use nalgebra::DMatrix;
    /// use trials::stats::map::Whitener;
    /// let white = Whitener::of(&DMatrix::from_row_slice(2, 2, &[4.0, 0.0, 0.0, 9.0])).unwrap();
    /// assert_eq!(white.columns(&DMatrix::from_element(2, 1, 6.0)).as_slice(), [3.0, 2.0]);
    /// ```
    pub fn columns(&self, m: &DMatrix<f64>) -> DMatrix<f64> {
        let mut out = m.clone();
        self.0.solve_lower_triangular_mut(&mut out);
        out
    }
}
