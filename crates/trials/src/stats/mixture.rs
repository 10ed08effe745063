//! Mixture models (Scheffé 1958): the parts sum to one, so there is no intercept.

use super::distribution::t_quantile;
use super::least_squares::{Fit, fit};
use super::moments::sum_of_squares;
use super::one_way::FTest;
use super::region::{self, Outside};

/// How far the model bends.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Degree {
    /// Parts alone.
    Linear,
    /// Parts and their products two by two.
    Quadratic,
    /// And the products three by three.
    SpecialCubic,
}

impl Degree {
    /// Every degree.
    pub const ALL: [Self; 3] = [Self::Linear, Self::Quadratic, Self::SpecialCubic];

    /// How many parts are multiplied at most.
    pub const fn order(self) -> usize {
        match self {
            Self::Linear => 1,
            Self::Quadratic => 2,
            Self::SpecialCubic => 3,
        }
    }
}

/// A fitted mixture model.
#[derive(Clone, Debug)]
pub struct Mixture {
    /// How far it bends.
    pub degree: Degree,
    /// Terms, as sets of parts.
    pub terms: Vec<Vec<usize>>,
    /// The fit; coefficients in the order of the terms.
    pub fit: Fit,
    /// Share of the variation about the mean explained (never about zero); none where nothing varies.
    pub r2: Option<f64>,
    points: Vec<Vec<f64>>,
}

/// A prediction with both intervals.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Prediction {
    /// Expected value.
    pub mean: f64,
    /// Its standard error.
    pub se: f64,
    /// 95 % interval of the expected value.
    pub mean95: (f64, f64),
    /// 95 % interval of one new batch.
    pub new95: (f64, f64),
}

/// The prediction of a model row, from the fit; none where it can't be estimated or no error is left.
pub(crate) fn predict_row(fit: &Fit, row: &[f64]) -> Option<Prediction> {
    let (mean, form) = fit.combine(row)?;
    let s2 = fit.variance()?;
    let t = t_quantile(0.975, fit.df);
    let se = (form * s2).sqrt();
    let wide = ((1.0 + form) * s2).sqrt();
    Some(Prediction {
        mean,
        se,
        mean95: (mean - t * se, mean + t * se),
        new95: (mean - t * wide, mean + t * wide),
    })
}

/// Why a mixture can't be fitted.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum MixtureError {
    /// Parts that do not sum to one.
    #[error("row {row}: the parts sum to {total}, not to 1; give fractions of the mixture")]
    Sum {
        /// Row, from 1.
        row: usize,
        /// What they sum to.
        total: f64,
    },
    /// Fewer rows than terms.
    #[error("{rows} rows can't fit {terms} terms and leave an error to judge by")]
    Rows {
        /// Rows.
        rows: usize,
        /// Terms.
        terms: usize,
    },
}

impl Mixture {
    /// Fits the response to points of parts, each summing to one.
    ///
    /// - Rule: least squares of Scheffé's polynomial without intercept
    /// - Units: parts \[shares that sum to 1\], coefficients \[as the response\]
    /// - Valid: more rows than terms
    /// - Source: Scheffé 1958 (from memory, to be confirmed); pure parts and halves without error give the means
    ///   and 4 × the blending
    ///
    /// ```
    /// use trials::stats::mixture::{Degree, Mixture};
    /// let points = [[1.0, 0.0], [0.0, 1.0], [0.5, 0.5], [0.25, 0.75]].map(|p| p.to_vec());
    /// // 10 and 20, and 3 more than their mean half way: a coefficient of 12.
    /// let y = [10.0, 20.0, 18.0, 17.5 + 12.0 * 0.1875];
    /// let found = Mixture::fit(&points, &y, Degree::Quadratic).unwrap();
    /// assert!((found.fit.coefficients[2].unwrap() - 12.0).abs() < 1e-9);
    /// ```
    pub fn fit(points: &[Vec<f64>], y: &[f64], degree: Degree) -> Result<Self, MixtureError> {
        for (at, point) in points.iter().enumerate() {
            let total: f64 = point.iter().sum();
            if (total - 1.0).abs() > 1e-6 {
                return Err(MixtureError::Sum { row: at + 1, total });
            }
        }
        let parts = points.first().map_or(0, Vec::len);
        let terms = super::design::interactions(&(0..parts).collect::<Vec<_>>(), degree.order());
        if y.len() <= terms.len() {
            return Err(MixtureError::Rows {
                rows: y.len(),
                terms: terms.len(),
            });
        }
        let columns: Vec<Vec<f64>> = terms
            .iter()
            .map(|t| points.iter().map(|p| product(t, p)).collect())
            .collect();
        let fitted = fit(&columns, y);
        let r2 = explained(fitted.rss, y);
        Ok(Self {
            degree,
            terms,
            fit: fitted,
            r2,
            points: points.to_vec(),
        })
    }

    /// The prediction at a mixture inside the tried region; outside it, the reason for refusing.
    ///
    /// - Equation: ŷ = Σ b · product of parts, with t limits for the mean and for a new value
    /// - Units: parts \[shares\], prediction \[as the response\]
    /// - Valid: inside the region that was tried; refused outside
    /// - Source: an identity: a fit without error gives its points back
    ///
    /// ```
    /// use trials::stats::mixture::{Degree, Mixture};
    /// let points = [[1.0, 0.0], [0.0, 1.0], [0.5, 0.5], [0.25, 0.75]].map(|p| p.to_vec());
    /// let found = Mixture::fit(&points, &[10.0, 20.0, 18.0, 17.5 + 12.0 * 0.1875], Degree::Quadratic).unwrap();
    /// assert!((found.predict(&[0.5, 0.5]).unwrap().mean - 18.0).abs() < 1e-9);
    /// ```
    pub fn predict(&self, point: &[f64]) -> Result<Prediction, Outside> {
        let row: Vec<f64> = self.terms.iter().map(|t| product(t, point)).collect();
        match region::check(&self.points, point, &row, &self.fit) {
            Some(outside) => Err(outside),
            None => predict_row(&self.fit, &row).ok_or(Outside::Hull),
        }
    }
}

fn product(term: &[usize], point: &[f64]) -> f64 {
    term.iter().map(|&i| point[i]).product()
}

/// Share of the variation about the mean that is explained; none where nothing varies.
///
/// - Equation: R² = 1 − RSS/Σ(y − ȳ)²
/// - Units: RSS \[square of the response's\], R² \[1\]
/// - Valid: some variation about the mean
/// - Source: definition, against the mean and not against 0
///
/// ```
/// use trials::stats::mixture::explained;
/// // About 2 the sum of squares is 2.
/// assert_eq!(explained(0.5, &[1.0, 2.0, 3.0]), Some(0.75));
/// assert_eq!(explained(0.0, &[2.0, 2.0]), None);
/// ```
pub fn explained(rss: f64, y: &[f64]) -> Option<f64> {
    let total = sum_of_squares(y);
    (total > 0.0).then(|| 1.0 - rss / total)
}

/// Whether the larger of two nested fits explains more than chance; none where nothing is left to
/// judge by.
pub fn nested_test(small: &Fit, large: &Fit) -> Option<FTest> {
    let df = small.df - large.df;
    let test = FTest::new(
        ((small.rss - large.rss) / df) / large.variance()?,
        df,
        large.df,
    );
    test.p.is_finite().then_some(test)
}
