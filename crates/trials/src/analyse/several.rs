//! Several responses of one trial: one line each, p-values guarded for their being several.

use super::{AnalysisRequest, Table, analyse};
use crate::Code;
use crate::stats::adjust::{Adjustment, adjust};
use measure::{Finding, Severity};
use serde::Serialize;

/// A response.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct SeveralLine {
    /// The response.
    pub response: String,
    /// The treatment term that is told.
    pub term: String,
    /// Its test ratio; null where the response has no answer.
    pub f: Option<f64>,
    /// Its p-value.
    pub p: Option<f64>,
    /// Holm's p-value over the responses.
    pub p_holm: Option<f64>,
    /// Benjamini and Hochberg's over the responses.
    pub p_false_share: Option<f64>,
    /// The method.
    pub method: String,
    /// What the response's own analysis says.
    pub sentence: String,
}

/// Several responses.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct SeveralReport {
    /// The responses, in the order asked.
    pub lines: Vec<SeveralLine>,
    /// What it says.
    pub sentence: String,
    /// What to know beside it.
    pub findings: Vec<Finding>,
}

/// Analyses each response by its own kind and guards their p-values together.
///
/// # Errors
/// The findings of a response that can't be analysed because of bad input.
pub fn several(
    table: &Table,
    request: &AnalysisRequest,
    responses: &[String],
) -> Result<SeveralReport, Vec<Finding>> {
    let mut lines = Vec::new();
    let mut findings = Vec::new();
    for response in responses {
        let own = AnalysisRequest {
            response: response.clone(),
            ..request.clone()
        };
        match analyse(table, &own) {
            Ok(found) => {
                let term = found.effect.term.clone();
                let line = found
                    .table
                    .iter()
                    .rev()
                    .find(|l| {
                        l.p.is_some() && (l.term == term || l.term == format!("{term} (Welch)"))
                    })
                    .or_else(|| found.table.iter().find(|l| l.p.is_some()));
                lines.push(SeveralLine {
                    response: response.clone(),
                    term: line.map_or(term, |l| l.term.clone()),
                    f: line.and_then(|l| l.f),
                    p: line.and_then(|l| l.p),
                    p_holm: None,
                    p_false_share: None,
                    method: found.method,
                    sentence: found.sentence,
                });
            }
            Err(problems) if table.column(response).is_none() => return Err(problems),
            Err(problems) => {
                if let Some(worst) = problems.iter().max_by_key(|f| f.severity) {
                    findings.push(
                        Finding::new(
                            Severity::Warn,
                            Code::NoAnswerForResponse,
                            response.clone(),
                            format!("{response}: {}", worst.message),
                        )
                        .help(worst.help.clone()),
                    );
                }
                lines.push(SeveralLine {
                    response: response.clone(),
                    term: String::new(),
                    f: None,
                    p: None,
                    p_holm: None,
                    p_false_share: None,
                    method: "no answer".into(),
                    sentence: String::new(),
                });
            }
        }
    }
    let with: Vec<usize> = (0..lines.len()).filter(|&i| lines[i].p.is_some()).collect();
    let p: Vec<f64> = with.iter().filter_map(|&i| lines[i].p).collect();
    for (&at, v) in with.iter().zip(adjust(&p, Adjustment::Holm)) {
        lines[at].p_holm = Some(v);
    }
    for (&at, v) in with.iter().zip(adjust(&p, Adjustment::BenjaminiHochberg)) {
        lines[at].p_false_share = Some(v);
    }
    let shown: Vec<&str> = lines
        .iter()
        .filter(|l| l.p_holm.is_some_and(|p| p < 0.05))
        .map(|l| l.response.as_str())
        .collect();
    let sentence = if shown.is_empty() {
        format!(
            "Of {} responses none is shown to differ between treatments when they are judged together; that does not show that there is no difference.",
            lines.len()
        )
    } else {
        format!(
            "Judged together ({} responses), treatments differ in {}.",
            lines.len(),
            shown.join(", ")
        )
    };
    Ok(SeveralReport {
        lines,
        sentence,
        findings,
    })
}
