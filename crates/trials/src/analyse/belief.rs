//! Differences read as beliefs, for who wants them beside the intervals: how likely a treatment is
//! higher, better, or at least as good.

use super::{Analysis, AnalysisRequest, Scale};
use crate::Code;
use crate::response::Better;
use crate::stats::posterior::Posterior;
use measure::{Finding, Severity};
use serde::{Deserialize, Serialize};

/// What was held likely of a difference before the trial.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Prior {
    /// Every difference as likely as another.
    Flat,
    /// About 0 with this standard deviation, on the scale that the differences stand on.
    AboutZero(f64),
}

/// What is held likely of a difference `a - b` after the trial.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct BeliefLine {
    /// First level.
    pub a: String,
    /// Second level.
    pub b: String,
    /// The factor or combination of factors.
    pub term: String,
    /// The scale of the difference.
    pub scale: Scale,
    /// The difference lies below and above with equal probability.
    pub median: f64,
    /// Lower end of what the difference lies in with 95 % probability.
    pub low95: f64,
    /// Upper end.
    pub high95: f64,
    /// How likely a is higher than b.
    pub higher: f64,
    /// How likely a is better than b; null when neither way is better.
    pub better: Option<f64>,
    /// How likely a is no worse than b by the margin (within it, when neither way is better); null
    /// without a margin, and where the margin stands on another scale than a prior about 0.
    pub as_good: Option<f64>,
}

/// The beliefs after an analysis. Each difference stands for itself: they are not guarded for there
/// being several.
pub(super) fn beliefs(
    analysis: &Analysis,
    request: &AnalysisRequest,
) -> Result<Vec<BeliefLine>, Vec<Finding>> {
    let Some(prior) = request.belief else {
        return Ok(Vec::new());
    };
    let sd = match prior {
        Prior::Flat => None,
        Prior::AboutZero(sd) if sd > 0.0 && sd.is_finite() => Some(sd),
        Prior::AboutZero(sd) => {
            return Err(vec![
                Finding::new(
                    Severity::Stop,
                    Code::Prior,
                    "prior",
                    format!("a standard deviation of {sd} tells nothing of what was held likely"),
                )
                .help("give a number above 0 in the unit of the differences: about two of three differences are held to lie within it"),
            ]);
        }
    };
    let better = request
        .better
        .or(super::known(request).map(|about| about.better));
    let sign = match better {
        Some(Better::Higher) => Some(1.0),
        Some(Better::Lower) => Some(-1.0),
        Some(Better::Target) | None => None,
    };
    let lines = analysis.comparisons.iter().filter_map(|c| {
        let after = Posterior::new(c.difference, c.se, c.df.unwrap_or(f64::INFINITY), sd)?;
        // The margin stands on the scale that people read, which may be another.
        let as_good = analysis
            .equivalence
            .iter()
            .find(|e| (&e.a, &e.b, &e.term) == (&c.a, &c.b, &c.term))
            // A prior on another scale than the margin's tells nothing of it.
            .filter(|e| sd.is_none() || e.scale == c.scale)
            .and_then(|e| {
                let after = Posterior::new(e.difference, e.se, e.df.unwrap_or(f64::INFINITY), sd)?;
                Some(match sign {
                    Some(s) if s > 0.0 => 1.0 - after.below(-e.margin),
                    Some(_) => after.below(e.margin),
                    None => after.below(e.margin) - after.below(-e.margin),
                })
            });
        let higher = 1.0 - after.below(0.0);
        Some(BeliefLine {
            a: c.a.clone(),
            b: c.b.clone(),
            term: c.term.clone(),
            scale: c.scale,
            median: after.quantile(0.5),
            low95: after.quantile(0.025),
            high95: after.quantile(0.975),
            higher,
            better: sign.map(|s| if s > 0.0 { higher } else { 1.0 - higher }),
            as_good,
        })
    });
    Ok(lines.collect())
}
