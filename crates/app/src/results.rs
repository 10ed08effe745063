//! What a trial says: each response analysed by the code, and from the table, that a file of it would be.

use crate::trial_tables::{rows_of, trial_table};
use crate::{App, AppError, TrialView};
use bench::{Asked, Sheet, measured};
use book::exchange::Decimal;
use measure::Finding;
use trials::analyse::from_sheet::filled;
use trials::analyse::{Analysis, AnalysisRequest, analyse};

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
    let outcome = read.and_then(|t| analyse(&t, &request));
    ResponseResult {
        asked: asked.clone(),
        table,
        control,
        outcome,
    }
}

impl App {
    /// Every response of a trial with what it says, worked out beside the threads that answer requests.
    ///
    /// # Errors
    /// Work that was broken off.
    pub async fn results(&self, view: &TrialView) -> Result<Vec<ResponseResult>, AppError> {
        let view = view.clone();
        tokio::task::spawn_blocking(move || {
            let responses = view.trial.responses.iter();
            responses
                .map(|asked| response_result(&view, asked, |r| r))
                .collect()
        })
        .await
        .map_err(|e| AppError::BrokenOff(e.to_string()))
    }
}
