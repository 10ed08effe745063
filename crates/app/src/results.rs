//! What a trial says: each response analysed by the code, and from the table, that a file of it would be.

use crate::trial_tables::{rows_of, trial_table};
use crate::{App, AppError, TrialView};
use bench::{Asked, Sheet, measured};
use book::exchange::Decimal;
use measure::Finding;
use std::sync::Arc;
use trials::analyse::from_sheet::{filled, roles, standing};
use trials::analyse::model::{MixtureModel, SurfaceModel, fit_mixture, fit_surface};
use trials::analyse::{Analysis, AnalysisRequest, Table, analyse};
use trials::stats::mixture::Degree;

/// A response with what it says.
#[derive(Clone, Debug)]
pub struct ResponseResult {
    /// The response.
    pub asked: Asked,
    /// The table that was analysed.
    pub table: Sheet,
    /// The control, as far as it was measured.
    pub control: Option<String>,
    /// What it says, or why it says nothing.
    pub outcome: Result<Analysis, Vec<Finding>>,
    /// Where settings or shares were varied as numbers: the model of the response over them.
    pub model: Option<ModelOf>,
}

/// A response over what was varied as numbers.
#[derive(Clone, Debug)]
pub enum ModelOf {
    /// Over settings.
    Surface {
        /// The model.
        model: SurfaceModel,
        /// The settings, by their columns.
        variables: Vec<String>,
    },
    /// Over shares of a blend.
    Mixture {
        /// The model.
        model: MixtureModel,
        /// The parts, by their columns.
        parts: Vec<String>,
        /// The blends that were made.
        blends: Vec<Vec<f64>>,
    },
}

/// The model that the roles of a table ask for; none where nothing was varied as a number, or too little was done.
fn model_of(table: &Table, response: &str) -> Option<ModelOf> {
    let roles = roles(table)?;
    let table = &standing(table);
    if !roles.parts.is_empty() {
        let cells = |i: usize| -> Option<Vec<f64>> {
            let parts = roles.parts.iter();
            parts.map(|n| table.column(n)?.cells[i].number()).collect()
        };
        let blends = (0..table.row_numbers.len()).filter_map(cells).collect();
        let model = fit_mixture(table, response, &roles.parts, Degree::Quadratic).ok()?;
        return Some(ModelOf::Mixture {
            model,
            parts: roles.parts,
            blends,
        });
    }
    if roles.variables.is_empty() {
        return None;
    }
    let model = fit_surface(table, response, &roles.variables).ok()?;
    Some(ModelOf::Surface {
        model,
        variables: roles.variables,
    })
}

impl ResponseResult {
    /// Whether nothing was measured of it yet.
    pub fn is_empty(&self) -> bool {
        self.table.rows.is_empty()
    }
}

/// Analyses a response of a trial. `ask` may change what is asked beyond what the table itself says.
pub fn response_result(
    view: &TrialView,
    asked: &Asked,
    ask: impl FnOnce(AnalysisRequest) -> AnalysisRequest,
) -> ResponseResult {
    let table = measured(&view.trial, &view.made, asked);
    let request = ask(AnalysisRequest::of(&asked.id));
    let read = trial_table(rows_of(&table), Decimal::Point);
    let control = read.as_ref().ok().and_then(|t| filled(t, &request).control);
    let model = read.as_ref().ok().and_then(|t| model_of(t, &asked.id));
    let outcome = read.and_then(|t| analyse(&t, &request));
    ResponseResult {
        asked: asked.clone(),
        table,
        control,
        outcome,
        model,
    }
}

impl App {
    /// Every response of a trial with what it says, worked out beside the threads that answer requests.
    ///
    /// # Errors
    /// Work that was broken off.
    pub async fn results(&self, view: &TrialView) -> Result<Vec<Arc<ResponseResult>>, AppError> {
        let mut all = Vec::with_capacity(view.trial.responses.len());
        for asked in &view.trial.responses {
            all.push(self.result(view, asked).await?);
        }
        Ok(all)
    }

    /// A response of a trial with what it says; as it was worked out before, if nothing was written since.
    ///
    /// # Errors
    /// Work that was broken off.
    pub async fn result(
        &self,
        view: &TrialView,
        asked: &Asked,
    ) -> Result<Arc<ResponseResult>, AppError> {
        let thing = &view.entry.thing;
        if let Some(found) = self.analysed(thing, &asked.id, &view.marks) {
            return Ok(found);
        }
        let (own, wanted) = (view.clone(), asked.clone());
        let worked = tokio::task::spawn_blocking(move || response_result(&own, &wanted, |r| r));
        let result = Arc::new(
            worked
                .await
                .map_err(|e| AppError::BrokenOff(e.to_string()))?,
        );
        self.keep_analysed(thing, view.marks.clone(), &result);
        Ok(result)
    }

    /// A response of a trial, asked for more than its table itself says.
    ///
    /// # Errors
    /// Work that was broken off.
    pub async fn result_with(
        &self,
        view: &TrialView,
        asked: &Asked,
        ask: impl FnOnce(AnalysisRequest) -> AnalysisRequest + Send + 'static,
    ) -> Result<Arc<ResponseResult>, AppError> {
        let (view, asked) = (view.clone(), asked.clone());
        let worked = tokio::task::spawn_blocking(move || response_result(&view, &asked, ask));
        let result = worked
            .await
            .map_err(|e| AppError::BrokenOff(e.to_string()))?;
        Ok(Arc::new(result))
    }
}
