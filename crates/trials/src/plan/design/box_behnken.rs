//! Box–Behnken: factors at their ends two or three at a time, the others in the middle.

use crate::plan::error::within;
use crate::plan::{Degree, Draft, Factor, Model, PlanError, coded_runs};
use serde::{Deserialize, Serialize};

/// A Box–Behnken plan for a quadratic model in 3 to 7 factors.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct BoxBehnken {
    /// The factors.
    pub factors: Vec<Factor>,
    /// Repeats of the centre.
    pub centre_points: usize,
}

/// Which factors go to their ends together. All pairs up to five factors; for six and seven the
/// triples of Box and Behnken 1960 (from memory; the seven are the lines of the Fano plane).
fn groups(k: usize) -> Vec<Vec<usize>> {
    match k {
        6 => [
            [0, 1, 3],
            [1, 2, 4],
            [2, 3, 5],
            [0, 3, 4],
            [1, 4, 5],
            [0, 2, 5],
        ]
        .map(|g| g.to_vec())
        .to_vec(),
        7 => [
            [3, 4, 5],
            [0, 5, 6],
            [1, 4, 6],
            [0, 1, 3],
            [2, 3, 6],
            [0, 2, 4],
            [1, 2, 5],
        ]
        .map(|g| g.to_vec())
        .to_vec(),
        _ => (0..k)
            .flat_map(|i| (i + 1..k).map(move |j| vec![i, j]))
            .collect(),
    }
}

impl BoxBehnken {
    /// The coded points in standard order, centre last.
    ///
    /// - Rule: ± 1 in each small group of factors, the others in the middle, and the centre
    /// - Units: coded levels \[1\]
    /// - Valid: 3 to 7 factors
    /// - Source: Box and Behnken 1960 (from memory, to be confirmed): 12 points for three factors
    ///
    /// ```
    /// use trials::plan::{BoxBehnken, Factor};
    /// let factors = ["a", "b", "c"].map(|n| Factor { name: n.into(), unit: "".into(), low: 0.0, high: 1.0, allowed: None });
    /// let points = BoxBehnken { factors: factors.to_vec(), centre_points: 3 }.points().unwrap();
    /// assert_eq!(points.len(), 15);
    /// assert!(points.iter().all(|p| p.iter().map(|x| x * x).sum::<f64>() == 2.0 || p == &[0.0; 3]));
    /// ```
    ///
    /// # Errors
    /// For fewer than 3 or more than 7 factors.
    pub fn points(&self) -> Result<Vec<Vec<f64>>, PlanError> {
        let k = self.factors.len();
        within(
            "factors",
            k,
            3,
            7,
            "; for two take a central composite plan",
        )?;
        within("centre points", self.centre_points, 1, 100, "")?;
        let mut points = Vec::new();
        for group in groups(k) {
            for signs in 0u32..1 << group.len() {
                let mut p = vec![0.0; k];
                for (bit, &factor) in group.iter().enumerate() {
                    p[factor] = if signs >> bit & 1 == 1 { 1.0 } else { -1.0 };
                }
                points.push(p);
            }
        }
        points.extend(std::iter::repeat_n(vec![0.0; k], self.centre_points));
        Ok(points)
    }

    pub(super) fn draw(&self, seed: u64) -> Result<Draft, PlanError> {
        Factor::check_all(&self.factors)?;
        let model = Model {
            parts: 0,
            process: self.factors.len(),
            degree: Degree::Quadratic,
        };
        Ok(coded_runs(&self.factors, &self.points()?, model, seed))
    }
}
