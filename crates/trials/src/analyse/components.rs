//! No treatment, only batches: how much of the spread lies between them and how much within.

use super::rows::rows_in_words;
use super::structure::{columns_aside, numbers_of};
use super::table::Table;
use super::{Analysis, AnalysisRequest, EffectSize, MeanLine, VarianceLine};
use crate::Code;
use crate::stats::design::{Factor, cross};
use crate::stats::distribution::t_quantile;
use crate::stats::mixed::{Mixed, RandomTerm};
use measure::{Finding, Severity};

/// The share of the spread between the levels of blocks and units, by REML. The unit is nested in
/// the blocks.
pub(super) fn analyse(
    table: &Table,
    request: &AnalysisRequest,
    groups: &[String],
) -> Result<Analysis, Vec<Finding>> {
    let values = numbers_of(table, &request.response, "response")?;
    let excluded = |at: usize| {
        request
            .exclude
            .iter()
            .any(|e| e.row == table.row_numbers[at])
    };
    let used: Vec<usize> = (0..values.len())
        .filter(|&at| values[at].is_some() && !excluded(at))
        .collect();
    let y: Vec<f64> = used.iter().filter_map(|&at| values[at]).collect();
    let mut findings = Vec::new();
    let missing: Vec<usize> = (0..values.len())
        .filter(|&at| values[at].is_none())
        .map(|at| table.row_numbers[at])
        .collect();
    if !missing.is_empty() {
        findings.push(Finding::new(
            Severity::Warn,
            Code::MissingValues,
            request.response.clone(),
            format!("no value in {}; left out", rows_in_words(&missing)),
        ));
    }
    let unused: Vec<&str> = table
        .columns
        .iter()
        .map(|c| c.name.as_str())
        .filter(|n| {
            !n.eq_ignore_ascii_case(&request.response)
                && !groups.iter().any(|g| g.eq_ignore_ascii_case(n))
                && *n != "row_number"
        })
        .collect();
    if !unused.is_empty() {
        findings.push(columns_aside(&unused));
    }
    let mut random: Vec<RandomTerm> = Vec::new();
    let mut nest: Vec<Factor> = Vec::new();
    for name in groups {
        let Some(column) = table.column(name) else {
            continue;
        };
        let labels: Vec<String> = used
            .iter()
            .map(|&at| column.cells[at].label().unwrap_or_default())
            .collect();
        nest.push(Factor::new(name.clone(), &labels));
        let joined = cross(&nest.iter().collect::<Vec<_>>());
        random.push(RandomTerm::intercept(joined.name, joined.codes));
    }
    let model = Mixed::fit(&[vec![1.0; y.len()]], &y, &random).map_err(|e| {
        vec![
            Finding::new(
                Severity::Stop,
                Code::ModelCannotBeFitted,
                "variance",
                e.to_string(),
            )
            .help("give several values in each of several batches"),
        ]
    })?;
    for dropped in &model.dropped {
        findings.push(Finding::new(
            Severity::Note,
            Code::VarianceAtZero,
            "variance",
            dropped.clone(),
        ));
    }
    let variance: Vec<VarianceLine> = model
        .components
        .iter()
        .map(|c| VarianceLine {
            term: c.name.clone(),
            value: c.value,
        })
        .collect();
    let total: f64 = variance.iter().map(|v| v.value).sum();
    let shares: Vec<String> = variance
        .iter()
        .filter(|_| total > 0.0)
        .map(|v| format!("{} {:.0} %", v.term, 100.0 * v.value / total))
        .collect();
    let mean = model.combine(&[1.0]);
    let half = mean.map(|m| t_quantile(0.975, m.df) * m.se);
    Ok(Analysis {
        response: request.response.clone(),
        measure: request.measure.clone().unwrap_or_default(),
        unit: groups.last().cloned().unwrap_or_default(),
        units: nest
            .first()
            .map_or(0, |_| cross(&nest.iter().collect::<Vec<_>>()).levels.len()),
        subjects: None,
        rows: y.len(),
        layout: format!("no treatment; {}", groups.join(", then ")),
        method: "variance components by REML".into(),
        table: Vec::new(),
        means: vec![MeanLine {
            level: "all".into(),
            term: "mean".into(),
            n: y.len(),
            mean: mean.map(|m| m.estimate),
            se: mean.map(|m| m.se),
            low95: mean.zip(half).map(|(m, h)| m.estimate - h),
            high95: mean.zip(half).map(|(m, h)| m.estimate + h),
            letters: String::new(),
        }],
        comparisons: Vec::new(),
        contrasts: Vec::new(),
        by_ranks: Vec::new(),
        variance,
        checks: Vec::new(),
        effect: EffectSize::default(),
        equivalence: Vec::new(),
        look: None,
        beliefs: Vec::new(),
        sentence: format!(
            "{}: of the spread between single values {}.",
            request.response,
            shares.join(", ")
        ),
        findings,
        residuals: Vec::new(),
        excluded: request.exclude.clone(),
        with_all_rows: None,
    })
}
