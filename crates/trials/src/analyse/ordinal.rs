//! Scores: the proportional-odds model when each unit has one score, with ranks as second opinion.

use super::checks;
use super::continuous;
use super::estimates::{Estimates, Guard};
use super::structure::Laid;
use super::{Analysis, AnalysisRequest, EffectSize, TableLine};
use crate::stats::compare::pairs;
use crate::stats::design::{Coding, Design};
use crate::stats::moments;
use crate::stats::ordinal::proportional_odds;
use measure::{Finding, Severity};

/// Analyses scores.
pub fn analyse(laid: &Laid, request: &AnalysisRequest) -> Result<Analysis, Vec<Finding>> {
    let mut scores = laid.y.clone();
    scores.sort_by(f64::total_cmp);
    scores.dedup();
    if laid.averaged || scores.len() > 15 {
        let mut found = continuous::analyse(laid, request)?;
        found.findings.push(Finding::new(
            Severity::Note,
            "scores-averaged",
            request.response.clone(),
            "scores were averaged within units and treated as amounts: fair when steps are about equal; the answer by ranks stands beside it",
        ));
        return Ok(found);
    }
    let mut findings = laid.findings.clone();
    let combined = laid.combined();
    let mut factors = vec![combined.clone()];
    factors.extend(laid.blocks.iter().cloned());
    let design = Design {
        terms: (0..factors.len()).map(|i| vec![i]).collect(),
        factors,
        coding: Coding::Reference,
    };
    let columns = design.columns();
    let owners = design.owners();
    let steps: Vec<usize> = laid
        .y
        .iter()
        .map(|y| scores.iter().position(|s| s == y).unwrap_or(0))
        .collect();
    let full = proportional_odds(&columns[1..], &steps, scores.len());
    let bare: Vec<Vec<f64>> = columns
        .iter()
        .zip(&owners)
        .skip(1)
        .filter(|(_, o)| **o != Some(0))
        .map(|(c, _)| c.clone())
        .collect();
    let null = if bare.is_empty() {
        full.ln_likelihood - 0.5 * full.likelihood_ratio
    } else {
        proportional_odds(&bare, &steps, scores.len()).ln_likelihood
    };
    let df = (columns.len() - 1 - bare.len()) as f64;
    let ratio = (2.0 * (full.ln_likelihood - null)).max(0.0);
    let p = crate::stats::distribution::chi_square_above(ratio, df);
    if !full.converged {
        findings.push(
            Finding::new(
                Severity::Warn,
                "not-settled",
                "model",
                "a treatment's scores lie wholly beyond the others': the odds have no finite estimate; rely on the answer by ranks",
            ),
        );
    }
    let k = combined.levels.len();
    let effect = |level: usize| -> Vec<f64> { design.marginal_row(&[(0, level)])[1..].to_vec() };
    let differences = pairs(k)
        .into_iter()
        .map(|(a, b)| {
            let d: Vec<f64> = effect(a)
                .iter()
                .zip(&effect(b))
                .map(|(a, b)| a - b)
                .collect();
            let value: f64 = d.iter().zip(&full.effects).map(|(d, b)| d * b).sum();
            let mut form = 0.0;
            for (i, x) in d.iter().enumerate() {
                for (j, y) in d.iter().enumerate() {
                    form += x * y * full.covariance[(i, j)];
                }
            }
            (full.converged && form > 0.0).then(|| (value, form.sqrt(), f64::INFINITY))
        })
        .collect();
    let own = |level: usize| -> Vec<f64> {
        laid.y
            .iter()
            .zip(&combined.codes)
            .filter(|(_, c)| **c == level)
            .map(|(y, _)| *y)
            .collect()
    };
    let estimates = Estimates {
        term: combined.name.clone(),
        levels: combined.levels.clone(),
        n: combined.counts(),
        means: (0..k)
            .map(|l| {
                let v = own(l);
                let n = v.len() as f64;
                Some((
                    moments::mean(&v),
                    (moments::variance(&v) / n).sqrt(),
                    n - 1.0,
                ))
            })
            .collect(),
        differences,
    };
    let control = request.control.as_ref().and_then(|c| {
        combined
            .levels
            .iter()
            .position(|l| l.eq_ignore_ascii_case(c))
    });
    let (means, comparisons) = estimates.lines(control, Guard::Holm, true);
    let mut lines = vec![checks::line(
        "likelihood ratio (chi-square)",
        ratio,
        p,
        format!("on {df} degrees of freedom"),
    )];
    lines.extend(checks::by_ranks(laid, &combined));
    Ok(Analysis {
        response: request.response.clone(),
        measure: laid.measure.clone(),
        unit: laid.unit.clone(),
        units: laid.y.len(),
        rows: laid.rows.iter().map(Vec::len).sum(),
        layout: laid.layout.clone(),
        method: "proportional-odds model of scores, likelihood ratio test; differences on the log-odds scale".into(),
        table: vec![TableLine {
            term: combined.name.clone(),
            df,
            sum_sq: None,
            mean_sq: None,
            f: Some(ratio / df),
            p: Some(p),
            denominator_df: None,
        }],
        means,
        comparisons,
        contrasts: Vec::new(),
        by_ranks: Vec::new(),
        variance: Vec::new(),
        checks: lines,
        effect: EffectSize {
            term: combined.name.clone(),
            ..EffectSize::default()
        },
        equivalence: Vec::new(),
        sentence: String::new(),
        findings,
        residuals: Vec::new(),
        excluded: Vec::new(),
        with_all_rows: None,
    })
}
