//! Response surfaces: the full quadratic in coded variables and its canonical analysis.

use super::least_squares::{Fit, fit};
use super::mixture::{Prediction, predict_row};
use super::region::{self, Outside};
use nalgebra::{DMatrix, DVector, SymmetricEigen};

/// What kind of place the stationary point is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Shape {
    /// Highest point.
    Maximum,
    /// Lowest point.
    Minimum,
    /// Up one way, down another.
    Saddle,
    /// Flat along a direction: a ridge.
    Ridge,
}

/// The canonical analysis: where the surface is level, and how it bends there.
#[derive(Clone, Debug, PartialEq)]
pub struct Canonical {
    /// The stationary point, in coded units.
    pub point: Vec<f64>,
    /// The response there.
    pub value: f64,
    /// Bends along the canonical directions.
    pub eigenvalues: Vec<f64>,
    /// Those directions, one per eigenvalue.
    pub directions: Vec<Vec<f64>>,
    /// Its kind.
    pub shape: Shape,
    /// Whether it lies within the tried region.
    pub inside: bool,
}

/// A fitted response surface.
#[derive(Clone, Debug)]
pub struct Surface {
    /// Middle and half range of each variable, used for coding to -1 … 1.
    pub coding: Vec<(f64, f64)>,
    /// The fit: intercept, linear, squares, products, in coded units.
    pub fit: Fit,
    points: Vec<Vec<f64>>,
}

fn model_row(z: &[f64]) -> Vec<f64> {
    let mut row = vec![1.0];
    row.extend_from_slice(z);
    row.extend(z.iter().map(|v| v * v));
    for i in 0..z.len() {
        for j in i + 1..z.len() {
            row.push(z[i] * z[j]);
        }
    }
    row
}

impl Surface {
    /// Fits the full quadratic to points in their own units.
    ///
    /// - Rule: least squares of the full quadratic, variables coded to −1 … 1
    /// - Units: \[as the variables and the response\]
    /// - Valid: more runs than terms
    /// - Source: Box and Wilson 1951 (from memory, to be confirmed); a parabola without error comes back
    ///
    /// ```
    /// use trials::stats::surface::Surface;
    /// // y = 4 − (x − 3)² at 1 to 5: in coded units 4 − 4 z².
    /// let points: Vec<Vec<f64>> = (1..=5).map(|i| vec![f64::from(i)]).collect();
    /// let y: Vec<f64> = points.iter().map(|p| 4.0 - (p[0] - 3.0).powi(2)).collect();
    /// let found = Surface::fit(&points, &y);
    /// assert!((found.fit.coefficients[0].unwrap() - 4.0).abs() < 1e-9);
    /// assert!((found.fit.coefficients[2].unwrap() + 4.0).abs() < 1e-9);
    /// ```
    pub fn fit(points: &[Vec<f64>], y: &[f64]) -> Self {
        let size = points.first().map_or(0, Vec::len);
        let coding: Vec<(f64, f64)> = (0..size)
            .map(|d| {
                let low = points.iter().map(|p| p[d]).fold(f64::INFINITY, f64::min);
                let high = points
                    .iter()
                    .map(|p| p[d])
                    .fold(f64::NEG_INFINITY, f64::max);
                (0.5 * (low + high), (0.5 * (high - low)).max(1e-300))
            })
            .collect();
        let coded: Vec<Vec<f64>> = points.iter().map(|p| code(&coding, p)).collect();
        let rows: Vec<Vec<f64>> = coded.iter().map(|z| model_row(z)).collect();
        let width = rows.first().map_or(0, Vec::len);
        let columns: Vec<Vec<f64>> = (0..width)
            .map(|c| rows.iter().map(|r| r[c]).collect())
            .collect();
        Self {
            coding,
            fit: fit(&columns, y),
            points: coded,
        }
    }

    /// The prediction at a point in its own units, inside the tried region only.
    pub(crate) fn predict(&self, point: &[f64]) -> Result<Prediction, Outside> {
        let z = code(&self.coding, point);
        let row = model_row(&z);
        match region::check(&self.points, &z, &row, &self.fit) {
            Some(Outside::Range {
                variable,
                value,
                low,
                high,
            }) => {
                let (middle, half) = self.coding[variable];
                let own = |v: f64| middle + half * v;
                Err(Outside::Range {
                    variable,
                    value: own(value),
                    low: own(low),
                    high: own(high),
                })
            }
            Some(outside) => Err(outside),
            None => predict_row(&self.fit, &row).ok_or(Outside::Hull),
        }
    }

    /// The canonical analysis, `x_s = -B⁻¹ b / 2`; none when the quadratic part is singular.
    pub fn canonical(&self) -> Option<Canonical> {
        let size = self.coding.len();
        let c = |i: usize| self.fit.coefficients[i].unwrap_or(0.0);
        let linear = DVector::from_fn(size, |i, _| c(1 + i));
        let mut quadratic = DMatrix::zeros(size, size);
        let mut at = 1 + 2 * size;
        for i in 0..size {
            quadratic[(i, i)] = c(1 + size + i);
            for j in i + 1..size {
                quadratic[(i, j)] = 0.5 * c(at);
                quadratic[(j, i)] = 0.5 * c(at);
                at += 1;
            }
        }
        let eigen = SymmetricEigen::new(quadratic.clone());
        let largest = eigen.eigenvalues.amax();
        let point = quadratic.try_inverse()? * &linear * -0.5;
        let values: Vec<f64> = eigen.eigenvalues.iter().copied().collect();
        let flat = values.iter().any(|v| v.abs() < 1e-6 * largest);
        let shape = if flat {
            Shape::Ridge
        } else if values.iter().all(|v| *v < 0.0) {
            Shape::Maximum
        } else if values.iter().all(|v| *v > 0.0) {
            Shape::Minimum
        } else {
            Shape::Saddle
        };
        let z = point.as_slice().to_vec();
        Some(Canonical {
            value: c(0) + 0.5 * linear.dot(&point),
            inside: region::check(&self.points, &z, &model_row(&z), &self.fit).is_none(),
            point: z,
            directions: (0..size)
                .map(|m| eigen.eigenvectors.column(m).iter().copied().collect())
                .collect(),
            eigenvalues: values,
            shape,
        })
    }
}

fn code(coding: &[(f64, f64)], point: &[f64]) -> Vec<f64> {
    coding
        .iter()
        .zip(point)
        .map(|((middle, half), v)| (v - middle) / half)
        .collect()
}
