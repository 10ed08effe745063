//! Simplex lattice and simplex centroid: mixtures whose parts go from a least to all the rest.

use crate::plan::error::{distinct, within};
use crate::plan::{
    Column, Degree, Draft, DraftRun, Level, MOST_RUNS, Model, PlanError, degrees, point_labels,
};
use crate::random::{SplitMix64, shuffle};
use serde::{Deserialize, Serialize};

/// Every mixture with parts in steps of 1/`steps`, each `replicates` times.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct SimplexLattice {
    /// The parts.
    pub components: Vec<String>,
    /// The least fraction of each part; the rest is shared out by the lattice.
    pub least: Vec<f64>,
    /// Steps from none to all of the rest.
    pub steps: usize,
    /// Units per mixture.
    pub replicates: usize,
}

/// Equal mixtures of every choice of one, two, three … parts, each `replicates` times.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct SimplexCentroid {
    /// The parts.
    pub components: Vec<String>,
    /// The least fraction of each part.
    pub least: Vec<f64>,
    /// Units per mixture.
    pub replicates: usize,
}

fn lattice(q: usize, m: usize) -> Vec<Vec<f64>> {
    let mut points = Vec::new();
    let mut counts = vec![0usize; q];
    fill(&mut counts, 0, m, &mut points);
    points
        .into_iter()
        .map(|p| p.into_iter().map(|c| c as f64 / m as f64).collect())
        .collect()
}

fn fill(counts: &mut Vec<usize>, at: usize, left: usize, out: &mut Vec<Vec<usize>>) {
    if at + 1 == counts.len() {
        counts[at] = left;
        out.push(counts.clone());
        return;
    }
    for c in (0..=left).rev() {
        counts[at] = c;
        fill(counts, at + 1, left - c, out);
    }
}

impl SimplexLattice {
    /// The points of a {q, m} simplex lattice: all multiples of 1/m that sum to one, in number
    /// C(q + m − 1, m) (NIST/SEMATECH e-Handbook 5.5.4.2, seen in print).
    ///
    /// - Rule: all multiples of 1/m that sum to one
    /// - Units: parts \[shares\]
    /// - Valid: any q and m above 0
    /// - Source: NIST/SEMATECH e-Handbook 5.5.4.2 (seen): C(q + m − 1, m) points
    ///
    /// ```
    /// assert_eq!(trials::plan::SimplexLattice::points(3, 3).len(), 10);
    /// ```
    pub fn points(q: usize, m: usize) -> Vec<Vec<f64>> {
        if q == 0 || m == 0 {
            Vec::new()
        } else {
            lattice(q, m)
        }
    }

    pub(super) fn draw(&self, seed: u64) -> Result<Draft, PlanError> {
        within("parts", self.components.len(), 2, 10, "")?;
        within("steps", self.steps, 1, 10, "")?;
        let degree = match self.steps {
            1 => Degree::Linear,
            2 => Degree::Quadratic,
            _ => Degree::SpecialCubic,
        };
        let points = Self::points(self.components.len(), self.steps);
        mixture_runs(
            &self.components,
            &self.least,
            points,
            self.replicates,
            degree,
            seed,
        )
    }
}

impl SimplexCentroid {
    /// The 2^q − 1 points: pure parts, then halves, thirds …
    ///
    /// - Rule: the even mixture of every choice of parts
    /// - Units: parts \[shares\]
    /// - Valid: up to some twenty parts
    /// - Source: Scheffé 1963 (from memory, to be confirmed): 2^q − 1 points
    ///
    /// ```
    /// let points = trials::plan::SimplexCentroid::points(3);
    /// assert_eq!((points.len(), points[6].clone()), (7, vec![1.0 / 3.0; 3]));
    /// ```
    pub fn points(q: usize) -> Vec<Vec<f64>> {
        let mut choices: Vec<u32> = (1u32..1 << q).collect();
        choices.sort_by_key(|c| (c.count_ones(), *c));
        choices
            .into_iter()
            .map(|c| {
                let share = 1.0 / f64::from(c.count_ones());
                (0..q)
                    .map(|i| if c >> i & 1 == 1 { share } else { 0.0 })
                    .collect()
            })
            .collect()
    }

    pub(super) fn draw(&self, seed: u64) -> Result<Draft, PlanError> {
        within("parts", self.components.len(), 2, 10, "")?;
        let points = Self::points(self.components.len());
        let degree = if self.components.len() > 2 {
            Degree::SpecialCubic
        } else {
            Degree::Quadratic
        };
        mixture_runs(
            &self.components,
            &self.least,
            points,
            self.replicates,
            degree,
            seed,
        )
    }
}

fn mixture_runs(
    components: &[String],
    least: &[f64],
    points: Vec<Vec<f64>>,
    replicates: usize,
    degree: Degree,
    seed: u64,
) -> Result<Draft, PlanError> {
    distinct("part", components)?;
    within("replicates", replicates, 1, MOST_RUNS, "")?;
    within("runs", points.len() * replicates, 1, MOST_RUNS, "")?;
    let q = components.len();
    if least.len() != q {
        return Err(PlanError::WrongCount {
            what: "least fractions",
            given: least.len(),
            wanted: q,
            why: "one for each part, 0 where there is none",
        });
    }
    for (name, &low) in components.iter().zip(least) {
        if !(0.0..1.0).contains(&low) {
            return Err(PlanError::Range {
                name: name.clone(),
                low,
                high: 1.0,
                allowed: "; a least fraction is from 0 to below 1",
            });
        }
    }
    let held: f64 = least.iter().sum();
    if held >= 1.0 {
        return Err(PlanError::NoMixture {
            reason: format!("the least fractions add up to {held}, nothing is left to share out"),
        });
    }
    let all: Vec<Vec<f64>> = points
        .iter()
        .flat_map(|p| std::iter::repeat_n(p.clone(), replicates))
        .collect();
    let labels = point_labels(&all);
    let mut order: Vec<usize> = (0..all.len()).collect();
    shuffle(&mut order, &mut SplitMix64::new(seed));
    let mut draft = Draft {
        factors: components
            .iter()
            .map(|c| Column {
                name: c.clone(),
                unit: "fraction".into(),
            })
            .collect(),
        runs: order
            .iter()
            .map(|&i| DraftRun {
                treatment: labels[i].clone(),
                levels: all[i]
                    .iter()
                    .zip(least)
                    .map(|(x, low)| Level::Number(tidy(low + x * (1.0 - held))))
                    .collect(),
                ..DraftRun::default()
            })
            .collect(),
        ..Draft::default()
    };
    degrees(
        &mut draft,
        &all,
        Model {
            parts: q,
            process: 0,
            degree,
        },
    );
    Ok(draft)
}

/// Clears the last bits of a fraction for print.
pub(in crate::plan) fn tidy(x: f64) -> f64 {
    (x * 1e12).round() / 1e12
}
