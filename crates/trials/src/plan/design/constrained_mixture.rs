//! Mixtures within bounds, chosen by the determinant, with water as a process factor.

use crate::Code;
use crate::plan::error::within;
use crate::plan::vertices::{candidates, check_bounds, pseudo};
use crate::plan::{
    Column, Component, Degree, Draft, DraftRun, Factor, Level, Model, PlanError, degrees, exchange,
    point_labels,
};
use crate::random::{SplitMix64, permutation};
use measure::{Finding, Severity};
use serde::{Deserialize, Serialize};

/// Starts × runs × settings × terms beyond which the search would take more than some seconds.
const MOST_WORK: usize = 1_000_000_000;

/// A D-optimal choice of runs from the corners, edges, faces and centre of the region that the
/// bounds of the dry parts leave, crossed with the levels of the process factors.
///
/// Added water belongs among the process factors: as a part of the mixture it would carry the
/// consistency of the dough into every other term.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct ConstrainedMixture {
    /// The parts of the dry mix with their bounds; they add up to one.
    pub components: Vec<Component>,
    /// Process factors, such as added water on the dry mix.
    pub process: Vec<Factor>,
    /// The model to be fitted.
    pub degree: Degree,
    /// Runs wished for.
    pub runs: usize,
    /// Random starts of the exchange; a start takes well under a millisecond, 200 is a good number.
    pub starts: usize,
}

impl ConstrainedMixture {
    /// The model, in pseudo-components and coded process factors.
    pub fn model(&self) -> Model {
        Model {
            parts: self.components.len(),
            process: self.process.len(),
            degree: self.degree,
        }
    }

    /// The settings to choose from: mixtures (as fractions) crossed with the coded levels of the
    /// process factors.
    ///
    /// - Rule: corners, edges, faces and middle of the region, crossed with the levels of the process factors
    /// - Units: parts \[shares\], levels \[coded\]
    /// - Valid: bounds that leave a mixture
    /// - Source: geometry: every setting is a mixture within its bounds
    ///
    /// ```
    /// use trials::plan::{Component, ConstrainedMixture, Degree};
    /// let part = |name: &str, low, high| Component { name: name.into(), low, high };
    /// let plan = ConstrainedMixture {
    ///     components: vec![part("a", 0.2, 0.6), part("b", 0.1, 0.5), part("c", 0.1, 0.6)],
    ///     process: Vec::new(), degree: Degree::Quadratic, runs: 8, starts: 1,
    /// };
    /// let settings = plan.settings().unwrap();
    /// assert!(settings.iter().all(|s| (s.iter().sum::<f64>() - 1.0).abs() < 1e-9 && s[0] >= 0.2 - 1e-9));
    /// ```
    ///
    /// # Errors
    /// Bounds that leave no mixture, or too many settings.
    pub fn settings(&self) -> Result<Vec<Vec<f64>>, PlanError> {
        let levels: &[f64] = if self.degree >= Degree::Quadratic {
            &[-1.0, 0.0, 1.0]
        } else {
            &[-1.0, 1.0]
        };
        let mut settings = candidates(&self.components)?;
        let count = settings
            .len()
            .saturating_mul(levels.len().saturating_pow(self.process.len() as u32));
        within("settings to choose from", count, 1, 20_000, "")?;
        for _ in &self.process {
            settings = settings
                .into_iter()
                .flat_map(|s| {
                    levels.iter().map(move |&l| {
                        let mut next = s.clone();
                        next.push(l);
                        next
                    })
                })
                .collect();
        }
        Ok(settings)
    }

    /// The model row of a setting (fractions, then coded process factors).
    ///
    /// - Rule: products of pseudo-components and coded levels, term by term
    /// - Units: parts \[shares\], levels \[coded\], entries \[1\]
    /// - Valid: settings of the plan
    /// - Source: an identity: pseudo-components of a mixture sum to 1
    ///
    /// ```
    /// use trials::plan::{Component, ConstrainedMixture, Degree};
    /// let part = |name: &str, low, high| Component { name: name.into(), low, high };
    /// let plan = ConstrainedMixture {
    ///     components: vec![part("a", 0.2, 0.6), part("b", 0.1, 0.5), part("c", 0.1, 0.6)],
    ///     process: Vec::new(), degree: Degree::Linear, runs: 4, starts: 1,
    /// };
    /// assert!((plan.row(&[0.4, 0.3, 0.3]).iter().sum::<f64>() - 1.0).abs() < 1e-12);
    /// ```
    pub fn row(&self, setting: &[f64]) -> Vec<f64> {
        let q = self.components.len();
        let mut x = pseudo(&self.components, &setting[..q]);
        x.extend_from_slice(&setting[q..]);
        self.model().row(&x)
    }

    pub(super) fn draw(&self, seed: u64) -> Result<Draft, PlanError> {
        Factor::check_all(&self.process)?;
        within("process factors", self.process.len(), 0, 4, "")?;
        within("runs", self.runs, 1, 500, "")?;
        within("starts", self.starts, 1, 1000, "")?;
        let mut findings = check_bounds(&self.components)?;
        for c in self
            .components
            .iter()
            .filter(|c| c.name.to_lowercase().contains("water"))
        {
            findings.push(
                Finding::new(
                    Severity::Warn,
                    Code::WaterAsMixturePart,
                    format!("part:{}", c.name),
                    format!("'{}' stands among the parts of the mixture, so every effect will be mixed with the consistency of the dough.", c.name),
                )
                .help("Let the dry parts add up to one and give added water as a process factor."),
            );
        }
        let settings = self.settings()?;
        let rows: Vec<Vec<f64>> = settings.iter().map(|s| self.row(s)).collect();
        // Work of one start, in multiplications per pass; a wish beyond a few seconds is a slip.
        let work = self.runs * rows.len() * self.model().exponents().len();
        within(
            "starts",
            self.starts,
            1,
            (MOST_WORK / work.max(1)).max(1),
            "",
        )?;
        let found = exchange(&rows, &[], self.runs, self.starts, seed)?;
        let points: Vec<Vec<f64>> = found.chosen.iter().map(|&i| settings[i].clone()).collect();
        let labels = point_labels(&points);
        let order = permutation(points.len(), &mut SplitMix64::new(seed));
        let q = self.components.len();
        let parts = self.components.iter().map(|c| Column {
            name: c.name.clone(),
            unit: "fraction".into(),
        });
        let process = self.process.iter().map(|f| Column {
            name: f.name.clone(),
            unit: f.unit.clone(),
        });
        let mut draft = Draft {
            factors: parts.chain(process).collect(),
            runs: order
                .iter()
                .map(|&i| DraftRun {
                    treatment: labels[i].clone(),
                    levels: points[i][..q]
                        .iter()
                        .copied()
                        .chain(
                            self.process
                                .iter()
                                .zip(&points[i][q..])
                                .map(|(f, &z)| f.at(z)),
                        )
                        .map(Level::Number)
                        .collect(),
                    ..DraftRun::default()
                })
                .collect(),
            findings,
            ..Draft::default()
        };
        let terms = self.model().exponents().len();
        degrees(&mut draft, &points, self.model());
        draft.fact("chosen from", format!("{} settings", settings.len()));
        draft.fact(
            "exchange",
            format!(
                "modified Fedorov, {} of {} starts reached the best plan",
                found.reached, found.starts
            ),
        );
        draft.fact(
            "ln det(X′X), pseudo-components",
            format!("{:.6}", found.ln_det),
        );
        draft.fact(
            "largest prediction variance × runs",
            format!("{:.2} (no plan gets below {terms})", found.largest_variance),
        );
        Ok(draft)
    }
}
