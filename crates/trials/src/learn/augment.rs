//! More runs for a trial that is under way: those that add most to what the runs done already tell.

use crate::plan::{Model, PlanError, exchange};
use serde::{Deserialize, Serialize};

/// The runs to add.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Augmentation {
    /// Places of the chosen settings among those offered.
    pub chosen: Vec<usize>,
    /// The chosen settings.
    pub settings: Vec<Vec<f64>>,
    /// ln det(X′X) of all runs, done and added.
    pub ln_det: f64,
    /// The same for the runs done alone; none when they do not tell all terms apart.
    pub ln_det_before: Option<f64>,
    /// Mean factor by which the standard errors shrink, (det before/det after)^(1/2p); none as above.
    pub standard_errors_times: Option<f64>,
    /// Starts that reached the best choice, of how many.
    pub reached: (usize, usize),
}

/// Chooses `more` runs from `offered` settings beside those `done`, by D-optimal exchange. Settings
/// are mixture parts (or pseudo-components) first, then coded process factors, as in [`Model`].
///
/// - Rule: the added runs that make det(X′X) as large as exchanges find
/// - Units: settings \[shares, coded levels\], ln det \[1\]
/// - Valid: enough runs for the terms
/// - Source: D-optimality (Fedorov 1972, from memory, to be confirmed); the middle for a quadratic by hand
///
/// ```
/// use trials::learn::augment;
/// use trials::plan::{Degree, Model};
/// // Two ends are done; a quadratic lacks its middle.
/// let line: Vec<Vec<f64>> = (-4..=4).map(|i| vec![f64::from(i) / 4.0]).collect();
/// let done = [vec![-1.0], vec![1.0]];
/// let model = Model { parts: 0, process: 1, degree: Degree::Quadratic };
/// let more = augment(model, &done, &line, 1, 5, 1).unwrap();
/// assert_eq!(more.settings, [[0.0]]);
/// ```
///
/// # Errors
/// [`PlanError::NotEstimable`] when even with the added runs the terms cannot be told apart;
/// [`PlanError::WrongCount`] when a setting has the wrong number of values.
pub fn augment(
    model: Model,
    done: &[Vec<f64>],
    offered: &[Vec<f64>],
    more: usize,
    starts: usize,
    seed: u64,
) -> Result<Augmentation, PlanError> {
    let width = model.parts + model.process;
    if let Some(bad) = done.iter().chain(offered).find(|s| s.len() != width) {
        return Err(PlanError::WrongCount {
            what: "values of a setting",
            given: bad.len(),
            wanted: width,
            why: "one for each part and process factor",
        });
    }
    let (fixed, rows) = (model.rows(done), model.rows(offered));
    let found = exchange(&rows, &fixed, more, starts, seed)?;
    let terms = model.exponents().len();
    let ln_det_before = ln_det(&fixed, terms);
    Ok(Augmentation {
        settings: found.chosen.iter().map(|&i| offered[i].clone()).collect(),
        chosen: found.chosen,
        ln_det: found.ln_det,
        ln_det_before,
        standard_errors_times: ln_det_before
            .map(|before| ((before - found.ln_det) / (2.0 * terms as f64)).exp()),
        reached: (found.reached, found.starts),
    })
}

/// ln det(X′X) of model rows; none when singular.
fn ln_det(rows: &[Vec<f64>], terms: usize) -> Option<f64> {
    if rows.len() < terms {
        return None;
    }
    let x = nalgebra::DMatrix::from_fn(rows.len(), terms, |i, j| rows[i][j]);
    let singular = x.singular_values();
    let largest = singular.max();
    singular
        .iter()
        .all(|s| *s > 1e-10 * largest)
        .then(|| 2.0 * singular.iter().map(|s| s.ln()).sum::<f64>())
}
