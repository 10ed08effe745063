//! A look at a trial before its end, judged by the limit that was planned for it.

use super::AnalysisRequest;
use crate::Code;
use crate::stats::sequential::{Spending, spend};
use measure::{Constant, Finding, Grade, Range, Severity};
use serde::{Deserialize, Serialize};

/// Risk of a false alarm where nobody looks before the end.
pub(super) const RISK: Constant = Constant {
    name: "risk of a false alarm where nobody looks before the end",
    value: 0.05,
    unit: "1",
    range: Range::new(0.001, 0.2),
    source: "common practice, no source",
    grade: Grade::Assumed,
};

/// Which look this is, of those that were planned.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct PlannedLook {
    /// The look, counted from 1.
    pub look: usize,
    /// Shares of the planned units that are in at each look: rising, the last 1.
    pub times: Vec<f64>,
    /// How the risk is spent.
    pub spending: Spending,
}

/// The limit of a look.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct LookLine {
    /// The look, counted from 1.
    pub look: usize,
    /// How many were planned.
    pub looks: usize,
    /// Share of the planned units that are in.
    pub time: f64,
    /// What a p-value has to fall below at this look.
    pub nominal_p: f64,
    /// Risk spent up to and with this look.
    pub spent: f64,
}

/// The limit of the look that was asked for; none where the trial is at its end.
///
/// # Errors
/// Looks that are no plan, or questions that a look doesn't answer.
pub(super) fn limit(request: &AnalysisRequest) -> Result<Option<LookLine>, Vec<Finding>> {
    let Some(planned) = &request.look else {
        return Ok(None);
    };
    let stop = |what: String, help: &str| {
        vec![Finding::new(Severity::Stop, Code::Look, "look", what).help(help)]
    };
    let times = &planned.times;
    let rising = times.windows(2).all(|w| w[0] < w[1]);
    let ends = times.first().is_some_and(|t| *t > 0.0) && times.last() == Some(&1.0);
    if !(rising && ends && times.len() <= 10) {
        return Err(stop(
            "the planned looks are no plan: their shares of the units have to rise from above 0 to 1, ten of them at most".into(),
            "give the shares that were planned, e.g. 0.5,1",
        ));
    }
    if !(1..=times.len()).contains(&planned.look) {
        return Err(stop(
            format!(
                "look {} is none of the {} that were planned",
                planned.look,
                times.len()
            ),
            "a look that wasn't planned has no limit; wait for the next planned one",
        ));
    }
    if request.margin.is_some() || !request.contrasts.is_empty() || request.by_ranks {
        return Err(stop(
            "a look spends its risk on the differences alone, not on a margin, contrasts or ranks"
                .into(),
            "ask these at the end of the trial",
        ));
    }
    let found = spend(planned.spending, times, RISK.value, true);
    Ok(found.get(planned.look - 1).map(|own| LookLine {
        look: planned.look,
        looks: times.len(),
        time: own.time,
        nominal_p: own.nominal_p,
        spent: own.spent,
    }))
}

/// The risk at which differences are judged now.
pub(super) fn risk(look: Option<&LookLine>) -> f64 {
    look.map_or(RISK.value, |l| l.nominal_p)
}
