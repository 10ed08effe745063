//! Standard errors and degrees of freedom of fixed effects: Kenward and Roger (1997) with the
//! expected information, Satterthwaite from the observed curvature.

use super::layout::Layout;
use super::reml::State;
use crate::stats::distribution::{f_above, t_two_sided};
use measure::{Constant, Grade, Range};
use nalgebra::{DMatrix, DVector, SymmetricEigen};

/// Below this share of the plain variance the adjusted one is taken for a failure of the expansion.
/// A working assumption.
const LEAST_ADJUSTED: Constant = Constant {
    name: "share of the plain variance below which the adjusted one is a failure of its expansion",
    value: 0.9,
    unit: "1",
    range: Range::new(0.5, 1.0),
    source: "working rule, assumed",
    grade: Grade::Assumed,
};

/// A combination of fixed effects.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Combination {
    /// The estimate.
    pub estimate: f64,
    /// Standard error as if the variances were known.
    pub se_model: f64,
    /// Standard error by Kenward and Roger.
    pub se: f64,
    /// Degrees of freedom by Kenward and Roger.
    pub df: f64,
    /// Degrees of freedom by Satterthwaite; none where the curvature at the estimates is flat.
    pub df_satterthwaite: Option<f64>,
}

impl Combination {
    /// Two-sided p-value.
    ///
    /// - Equation: two-sided p of estimate/se on ν
    /// - Units: estimate and se \[as the values\], p \[1\]
    /// - Valid: se above 0
    /// - Source: Student's t; 2.228139 on 10 degrees of freedom has p 0.05
    ///
    /// ```
    /// use trials::stats::mixed::Combination;
    /// let c = Combination {
    ///     estimate: 2.228_138_851_986_164, se_model: 1.0, se: 1.0, df: 10.0, df_satterthwaite: None,
    /// };
    /// assert!((c.p() - 0.05).abs() < 1e-12);
    /// ```
    pub fn p(&self) -> f64 {
        t_two_sided(self.estimate / self.se, self.df)
    }
}

/// Joint tests of several combinations.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct MixedTest {
    /// Numerator degrees of freedom.
    pub df: f64,
    /// Kenward and Roger's F, scaled.
    pub f: f64,
    /// Its scale λ.
    pub scale: f64,
    /// Its denominator degrees of freedom.
    pub denominator_df: f64,
    /// Its p-value.
    pub p: f64,
    /// The same by Satterthwaite; none where the curvature at the estimates is flat.
    pub satterthwaite: Option<Satterthwaite>,
}

/// A joint test with the unadjusted covariance.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Satterthwaite {
    /// Wald's F.
    pub f: f64,
    /// Its denominator degrees of freedom.
    pub denominator_df: f64,
    /// Its p-value.
    pub p: f64,
}

#[derive(Clone, Debug)]
pub(super) struct Inference {
    phi: DMatrix<f64>,
    /// Φ adjusted for the variances being estimated.
    adjusted: DMatrix<f64>,
    /// Φ H_i Φ.
    derivatives: Vec<DMatrix<f64>>,
    /// Covariance of the variances, expected.
    w: DMatrix<f64>,
    /// The same, from the observed curvature; none where that is flat.
    w_observed: Option<DMatrix<f64>>,
}

/// What inference needs of a model at its variances: from any parametrisation of the covariance.
pub(super) struct Parts {
    /// (X'V⁻¹X)⁻¹.
    pub phi: DMatrix<f64>,
    /// X'V⁻¹ V_i V⁻¹X.
    pub h: Vec<DMatrix<f64>>,
    /// X'V⁻¹ V_i V⁻¹ V_j V⁻¹X.
    pub q: Vec<Vec<DMatrix<f64>>>,
    /// (i, j, X'V⁻¹ V_ij V⁻¹X) where the second derivative of the covariance isn't 0.
    pub r: Vec<(usize, usize, DMatrix<f64>)>,
    /// Expected information of the variances.
    pub expected: DMatrix<f64>,
    /// Observed information.
    pub observed: DMatrix<f64>,
}

impl Inference {
    pub(super) fn new(layout: &Layout, x: &DMatrix<f64>, state: &State) -> Option<Self> {
        let info = state.information(layout, x);
        let observed = info.observed();
        Self::of(Parts {
            phi: state.phi.clone(),
            h: info.h,
            q: info.q,
            r: Vec::new(),
            expected: info.expected,
            observed,
        })
    }

    /// Kenward and Roger's adjustment `Φ + 2Φ ΣΣ w_ij (Q_ij − P_i Φ P_j − R_ij/4) Φ`.
    ///
    /// None where the layout can't tell the variances apart.
    pub(super) fn of(parts: Parts) -> Option<Self> {
        let Parts {
            phi,
            h,
            q,
            r,
            expected,
            observed,
        } = parts;
        let all = h.len();
        let w = expected.try_inverse()?;
        let w_observed = observed.try_inverse();
        let p = phi.nrows();
        let mut middle = DMatrix::<f64>::zeros(p, p);
        for i in 0..all {
            for j in 0..all {
                middle += (&q[i][j] - &h[i] * &phi * &h[j]) * w[(i, j)];
            }
        }
        for (i, j, second) in r {
            middle -= second * (0.25 * w[(i, j)]);
        }
        let middle = (&middle + middle.transpose()) * 0.5;
        let adjusted = &phi + &phi * middle * &phi * 2.0;
        let derivatives = h.iter().map(|h| &phi * h * &phi).collect();
        Some(Self {
            phi,
            adjusted,
            derivatives,
            w,
            w_observed,
        })
    }

    /// A combination of the fixed effects; none where nothing is left to judge it by.
    pub(super) fn combination(&self, l: &DVector<f64>, estimate: f64) -> Option<Combination> {
        let form = |m: &DMatrix<f64>| l.dot(&(m * l));
        let variance = form(&self.phi);
        let slopes =
            DVector::from_iterator(self.derivatives.len(), self.derivatives.iter().map(form));
        let spread = |w: &DMatrix<f64>| slopes.dot(&(w * &slopes));
        // For one combination Kenward and Roger's scale is 1 and their df is this. Their adjustment
        // is an expansion that a nearly saturated layout can push far below the plain variance; then
        // the plain one stands.
        let adjusted = form(&self.adjusted);
        let adjusted = if adjusted < LEAST_ADJUSTED.value * variance {
            variance
        } else {
            adjusted
        };
        let df = |w: &DMatrix<f64>| {
            Some(2.0 * variance * variance / spread(w)).filter(|df| df.is_finite() && *df > 0.0)
        };
        Some(Combination {
            estimate,
            se_model: variance.sqrt(),
            se: Some(adjusted.sqrt()).filter(|se| se.is_finite())?,
            df: df(&self.w)?,
            df_satterthwaite: self.w_observed.as_ref().and_then(df),
        })
    }

    /// A joint test; none where nothing is left to judge it by.
    pub(super) fn test(&self, l: &DMatrix<f64>, beta: &DVector<f64>) -> Option<MixedTest> {
        let q = l.nrows() as f64;
        let estimates = l * beta;
        let wald = |m: &DMatrix<f64>| -> Option<f64> {
            let middle = (l * m * l.transpose()).cholesky()?;
            Some(estimates.dot(&middle.solve(&estimates)) / q)
        };
        let inner = (l * &self.phi * l.transpose()).try_inverse()?;
        // Θ Φ H_i Φ with Θ = L'(LΦL')⁻¹L, seen from the q × q side.
        let parts: Vec<DMatrix<f64>> = self
            .derivatives
            .iter()
            .map(|d| &inner * (l * d * l.transpose()))
            .collect();
        let (mut a1, mut a2) = (0.0, 0.0);
        for (i, a) in parts.iter().enumerate() {
            for (j, b) in parts.iter().enumerate() {
                a1 += self.w[(i, j)] * a.trace() * b.trace();
                a2 += self.w[(i, j)] * (a * b).trace();
            }
        }
        let (denominator_df, scale) = kenward_roger(q, a1, a2);
        let f = scale * wald(&self.adjusted)?;
        let p = f_above(f, q, denominator_df);
        p.is_finite().then(|| MixedTest {
            df: q,
            f,
            scale,
            denominator_df,
            p,
            satterthwaite: wald(&self.phi).zip(self.satterthwaite(l)).map(|(f, df)| {
                Satterthwaite {
                    f,
                    denominator_df: df,
                    p: f_above(f, q, df),
                }
            }),
        })
    }

    /// Fai and Cornelius's denominator: the single degrees of freedom of independent directions,
    /// put together by the mean of F.
    fn satterthwaite(&self, l: &DMatrix<f64>) -> Option<f64> {
        let q = l.nrows();
        let covariance = l * &self.phi * l.transpose();
        let eigen = SymmetricEigen::new(covariance);
        let dfs: Vec<f64> = (0..q)
            .map(|m| {
                let direction = l.tr_mul(&eigen.eigenvectors.column(m));
                self.combination(&direction, 0.0)?.df_satterthwaite
            })
            .collect::<Option<_>>()?;
        let first = *dfs.first()?;
        let spread = dfs.iter().fold(0.0_f64, |m, d| m.max((d - first).abs()));
        if q == 1 || spread < 1e-8 * first {
            return Some(first);
        }
        let e: f64 = dfs
            .iter()
            .filter(|d| **d > 2.0)
            .map(|d| d / (d - 2.0))
            .sum();
        Some(if e > q as f64 {
            2.0 * e / (e - q as f64)
        } else {
            2.0
        })
    }
}

/// Denominator degrees of freedom and scale that give F the right mean and variance.
fn kenward_roger(q: f64, a1: f64, a2: f64) -> (f64, f64) {
    let b = (a1 + 6.0 * a2) / (2.0 * q);
    let g = ((q + 1.0) * a1 - (q + 4.0) * a2) / ((q + 2.0) * a2);
    let below = 3.0 * q + 2.0 * (1.0 - g);
    let (c1, c2, c3) = (g / below, (q - g) / below, (q + 2.0 - g) / below);
    let mean = 1.0 / (1.0 - a2 / q);
    let variance = 2.0 / q * (1.0 + c1 * b) / ((1.0 - c2 * b).powi(2) * (1.0 - c3 * b));
    let ratio = variance / (2.0 * mean * mean);
    let df = 4.0 + (q + 2.0) / (q * ratio - 1.0);
    (df, df / (mean * (df - 2.0)))
}
