//! Central composite: corners, axial points and repeated centre.

use super::fractional::Fraction;
use crate::plan::error::within;
use crate::plan::{Degree, Draft, Factor, Model, PlanError, coded_runs};
use serde::{Deserialize, Serialize};

/// How far out the axial points stand, in coded units.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Reach {
    /// The fourth root of the number of corners: precision depends on the distance alone.
    Rotatable,
    /// The square root of the number of factors: corners and axial points at one distance.
    Spherical,
    /// 1: in the middle of the faces, nothing leaves the low–high range.
    Face,
    /// A distance of one's own.
    At(f64),
}

impl Reach {
    /// The coded distance for `factors` factors and `corners` corners.
    ///
    /// Checks (common tables, from memory): 1.41421 for 2 factors, 1.68179 for 3.
    ///
    /// - Equation: rotatable F^¼; spherical √k; face 1
    /// - Units: distance in coded levels \[1\]
    /// - Valid: two factors or more
    /// - Source: Box and Hunter 1957 (from memory, to be confirmed)
    ///
    /// ```
    /// use trials::plan::Reach;
    /// assert!((Reach::Rotatable.alpha(2, 4) - 1.414_21).abs() < 1e-5);
    /// assert!((Reach::Rotatable.alpha(3, 8) - 1.681_79).abs() < 1e-5);
    /// ```
    pub fn alpha(self, factors: usize, corners: usize) -> f64 {
        match self {
            Self::Rotatable => (corners as f64).sqrt().sqrt(),
            Self::Spherical => (factors as f64).sqrt(),
            Self::Face => 1.0,
            Self::At(a) => a,
        }
    }
}

/// A central composite plan for a quadratic model; five or more factors use a fraction of the
/// corners that keeps all two-way products apart.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct CentralComposite {
    /// The factors; low and high are the corners.
    pub factors: Vec<Factor>,
    /// How far out the axial points stand.
    pub reach: Reach,
    /// Repeats of the centre.
    pub centre_points: usize,
}

impl CentralComposite {
    /// The coded points in standard order: corners, axial points, centre.
    ///
    /// - Rule: corners of a factorial, two axial points a factor, centre points
    /// - Units: coded levels \[1\]
    /// - Valid: 2 to 8 factors
    /// - Source: Box and Wilson 1951 (from memory, to be confirmed): 8 + 6 points and the centre for three factors
    ///
    /// ```
    /// use trials::plan::{CentralComposite, Factor, Reach};
    /// let factors = ["a", "b", "c"].map(|n| Factor { name: n.into(), unit: "".into(), low: 0.0, high: 1.0, allowed: None });
    /// let plan = CentralComposite { factors: factors.to_vec(), reach: Reach::Face, centre_points: 2 };
    /// assert_eq!(plan.points().unwrap().len(), 16);
    /// ```
    ///
    /// # Errors
    /// For fewer than 2 or more than 8 factors, or an axial distance that is not positive.
    pub fn points(&self) -> Result<Vec<Vec<f64>>, PlanError> {
        let k = self.factors.len();
        within("factors", k, 2, 8, "")?;
        within("centre points", self.centre_points, 1, 100, "")?;
        let drop = match k {
            0..=4 => 0,
            5..=7 => 1,
            _ => 2,
        };
        let corners = Fraction::least_aberration(k, drop)?.runs();
        let alpha = self.reach.alpha(k, corners.len());
        if !(alpha > 0.0 && alpha.is_finite()) {
            return Err(PlanError::Range {
                name: "axial distance".into(),
                low: 0.0,
                high: alpha,
                allowed: "; it must be positive",
            });
        }
        let mut points: Vec<Vec<f64>> = corners
            .into_iter()
            .map(|run| {
                run.into_iter()
                    .map(|high| if high { 1.0 } else { -1.0 })
                    .collect()
            })
            .collect();
        for i in 0..k {
            for sign in [-1.0, 1.0] {
                let mut p = vec![0.0; k];
                p[i] = sign * alpha;
                points.push(p);
            }
        }
        points.extend(std::iter::repeat_n(vec![0.0; k], self.centre_points));
        Ok(points)
    }

    pub(super) fn draw(&self, seed: u64) -> Result<Draft, PlanError> {
        Factor::check_all(&self.factors)?;
        let points = self.points()?;
        let k = self.factors.len();
        let model = Model {
            parts: 0,
            process: k,
            degree: Degree::Quadratic,
        };
        let mut draft = coded_runs(&self.factors, &points, model, seed);
        let corners = points.len() - 2 * k - self.centre_points;
        draft.fact(
            "axial distance, coded",
            format!("{:.5}", self.reach.alpha(k, corners)),
        );
        Ok(draft)
    }
}
