//! Counts of so many of n: beta-binomial by batch, or a random group by Laplace's approximation.

use super::checks;
use super::continuous::Fitted;
use super::estimates::{Estimates, Guard};
use super::structure::{Counts, Laid};
use super::{Analysis, AnalysisRequest, EffectSize, ResidualPoint, TableLine, VarianceLine};
use crate::stats::beta_binomial::beta_binomial;
use crate::stats::compare::pairs;
use crate::stats::design::{Coding, Design};
use crate::stats::distribution::{chi_square_above, f_above};
use crate::stats::glm::{Binomial, binomial, expit};
use crate::stats::glmm::binomial_mixed;
use crate::stats::proportion::exact_interval;
use measure::{Finding, Severity};
use nalgebra::DMatrix;

/// A fit on the logit scale.
struct Logit {
    coefficients: Vec<f64>,
    covariance: DMatrix<f64>,
    ln_likelihood: f64,
    variance: Option<VarianceLine>,
    settled: bool,
}

/// Analyses counts.
pub fn analyse(laid: &Laid, request: &AnalysisRequest) -> Result<Analysis, Vec<Finding>> {
    let mut findings = laid.findings.clone();
    let Some(Counts { k, n }) = &laid.counts else {
        return Err(vec![Finding::new(
            Severity::Stop,
            "count-without-total",
            request.response.clone(),
            "there are no counts to analyse",
        )]);
    };
    let combined = laid.combined();
    let mut aliased = false;
    for block in laid.blocks.iter().filter(|_| !laid.repeated) {
        for treatment in &laid.treatments {
            aliased |= super::bad_input::confounding(treatment, block, &mut findings);
        }
    }
    if aliased {
        findings.retain(|f| f.severity == Severity::Stop);
        return Err(findings);
    }
    // One group factor may be random: the repeated subject, else blocks are fixed.
    let random = laid
        .repeated
        .then(|| laid.blocks[laid.blocks.len() - 1].clone());
    let fixed_blocks = if laid.repeated {
        laid.blocks.len() - 1
    } else {
        laid.blocks.len()
    };
    let mut factors = vec![combined.clone()];
    factors.extend(laid.blocks[..fixed_blocks].iter().cloned());
    let design = Design {
        terms: (0..factors.len()).map(|i| vec![i]).collect(),
        factors,
        coding: Coding::Reference,
    };
    let columns = design.columns();
    let owners = design.owners();
    if !crate::stats::least_squares::fit(&columns, &laid.y)
        .aliased
        .is_empty()
    {
        return Err(vec![
            Finding::new(
                Severity::Stop,
                "not-estimable",
                combined.name.clone(),
                "treatments and blocks can't be told apart in these counts",
            )
            .help("name fewer blocks, or spread the treatments over them"),
        ]);
    }
    let bare: Vec<Vec<f64>> = columns
        .iter()
        .zip(&owners)
        .filter(|(_, o)| **o != Some(0))
        .map(|(c, _)| c.clone())
        .collect();
    let single_trials = n.iter().all(|n| *n == 1.0);
    let replicated = laid.y.len() > columns.len();
    let fit = |columns: &[Vec<f64>]| -> Logit {
        if let Some(group) = &random {
            let found = binomial_mixed(columns, k, n, &group.codes, 1);
            return Logit {
                coefficients: found.coefficients,
                covariance: found.covariance,
                ln_likelihood: found.ln_likelihood,
                variance: Some(VarianceLine {
                    term: format!("{} (log odds)", group.name),
                    value: found.sd * found.sd,
                }),
                settled: found.converged,
            };
        }
        if single_trials || !replicated {
            let found = binomial(columns, k, n);
            return Logit {
                coefficients: found.coefficients,
                covariance: found.covariance,
                ln_likelihood: found.ln_likelihood,
                variance: None,
                settled: found.converged,
            };
        }
        let found = beta_binomial(columns, k, n);
        Logit {
            coefficients: found.coefficients,
            covariance: found.covariance,
            ln_likelihood: found.ln_likelihood,
            variance: Some(VarianceLine {
                term: "correlation of pieces of one batch".into(),
                value: found.correlation,
            }),
            settled: found.converged,
        }
    };
    let full = fit(&columns);
    let null = fit(&bare);
    let method = if random.is_some() {
        "binomial mixed model by Laplace's approximation, likelihood ratio test"
    } else if single_trials {
        "binomial regression, likelihood ratio test"
    } else if replicated {
        "beta-binomial regression by batch, likelihood ratio test"
    } else {
        "binomial regression, likelihood ratio test; one batch per treatment"
    };
    if !replicated && !single_trials && random.is_none() {
        findings.push(
            Finding::new(
                Severity::Stop,
                "one-batch-per-treatment",
                combined.name.clone(),
                "there is one batch of each treatment: its pieces don't stand in for other batches, and the p-values here take them as if they did",
            )
            .help("bake each treatment at least twice more"),
        );
    }
    let df = (columns.len() - bare.len()) as f64;
    let ratio = (2.0 * (full.ln_likelihood - null.ln_likelihood)).max(0.0);
    let p = chi_square_above(ratio, df);
    let table = vec![TableLine {
        term: combined.name.clone(),
        df,
        sum_sq: None,
        mean_sq: None,
        f: Some(ratio / df),
        p: Some(p),
        denominator_df: None,
    }];
    let plain: Binomial = binomial(&columns, k, n);
    let mut lines = vec![checks::line(
        "likelihood ratio (chi-square)",
        ratio,
        p,
        format!("on {df} degrees of freedom"),
    )];
    if !single_trials && plain.df > 0.0 {
        lines.push(checks::line(
            "spread between batches over binomial",
            plain.dispersion,
            chi_square_above(plain.dispersion * plain.df, plain.df),
            if plain.dispersion > 1.5 {
                "batches differ more than counting alone explains; the model allows for that"
            } else {
                "about what counting alone explains"
            },
        ));
        let bare_fit = binomial(&bare, k, n);
        let f = (bare_fit.deviance - plain.deviance) / df / plain.dispersion.max(1e-12);
        lines.push(checks::line(
            "quasi-binomial F",
            f,
            f_above(f, df, plain.df),
            format!(
                "a careful second opinion for few batches, on {} degrees of freedom",
                plain.df
            ),
        ));
    }
    // Totals per treatment: shares, exact intervals, and the treatments with none or all.
    let levels = combined.levels.len();
    let total = |v: &[f64], level: usize| -> f64 {
        v.iter()
            .zip(&combined.codes)
            .filter(|(_, c)| **c == level)
            .map(|(v, _)| v)
            .sum()
    };
    let edge: Vec<usize> = (0..levels)
        .filter(|&l| total(k, l) == 0.0 || total(k, l) == total(n, l))
        .collect();
    for &level in &edge {
        let (kk, nn) = (total(k, level), total(n, level));
        let (low, high) = exact_interval(kk as u64, nn as u64, 0.95);
        findings.push(
            Finding::new(
                Severity::Warn,
                if kk == 0.0 { "no-events" } else { "all-events" },
                combined.levels[level].clone(),
                format!(
                    "{}: {kk} of {nn}; the true share may still be anywhere from {:.1} to {:.1} %",
                    combined.levels[level],
                    100.0 * low,
                    100.0 * high
                ),
            )
            .help("differences on the log-odds scale have no finite estimate here; see the exact interval")
            .source("Clopper–Pearson, pieces taken as independent"),
        );
    }
    let row = |level: usize| design.marginal_row(&[(0, level)]);
    let form = |row: &[f64]| -> f64 {
        let mut total = 0.0;
        for (i, a) in row.iter().enumerate() {
            for (j, b) in row.iter().enumerate() {
                total += a * b * full.covariance[(i, j)];
            }
        }
        total.sqrt()
    };
    let value =
        |row: &[f64]| -> f64 { row.iter().zip(&full.coefficients).map(|(r, b)| r * b).sum() };
    // With batches behind the shares the intervals stand on how many batches there were.
    let margin_df = if random.is_none() && !single_trials && replicated {
        (laid.y.len() - columns.len()) as f64
    } else {
        f64::INFINITY
    };
    let estimates = Estimates {
        term: combined.name.clone(),
        levels: combined.levels.clone(),
        n: combined.counts(),
        means: (0..levels)
            .map(|l| Some((value(&row(l)), form(&row(l)), margin_df)))
            .collect(),
        differences: pairs(levels)
            .into_iter()
            .map(|(a, b)| {
                if edge.contains(&a) || edge.contains(&b) {
                    return None;
                }
                let d: Vec<f64> = row(a).iter().zip(&row(b)).map(|(a, b)| a - b).collect();
                Some((value(&d), form(&d), margin_df))
            })
            .collect(),
    };
    let control = request.control.as_ref().and_then(|c| {
        combined
            .levels
            .iter()
            .position(|l| l.eq_ignore_ascii_case(c))
    });
    let (mut means, comparisons) = estimates.lines(control, Guard::Holm, true);
    for (level, mean) in means.iter_mut().enumerate() {
        if edge.contains(&level) {
            let (kk, nn) = (total(k, level), total(n, level));
            let (low, high) = exact_interval(kk as u64, nn as u64, 0.95);
            (mean.mean, mean.se) = (Some(kk / nn), None);
            (mean.low95, mean.high95) = (Some(low), Some(high));
        } else {
            let share = mean.mean.map(expit);
            mean.se = mean.se.zip(share).map(|(se, p)| se * p * (1.0 - p));
            mean.mean = share;
            mean.low95 = mean.low95.map(expit);
            mean.high95 = mean.high95.map(expit);
        }
    }
    if !full.settled && edge.is_empty() {
        findings.push(
            Finding::new(
                Severity::Warn,
                "not-settled",
                "model",
                "the model did not settle fully; take its intervals as rough",
            )
            .help("give more batches, or fewer blocks"),
        );
    }
    let fitted: Vec<f64> = (0..k.len())
        .map(|i| {
            expit(
                columns
                    .iter()
                    .zip(&full.coefficients)
                    .map(|(c, b)| c[i] * b)
                    .sum(),
            )
        })
        .collect();
    let residuals: Vec<f64> = (0..k.len())
        .map(|i| {
            (k[i] - n[i] * fitted[i]) / (n[i] * fitted[i] * (1.0 - fitted[i])).max(1e-300).sqrt()
        })
        .collect();
    let parts = Fitted {
        method: method.into(),
        table,
        estimates: Vec::new(),
        guard: Guard::Holm,
        variance: full.variance.into_iter().collect(),
        checks: lines,
        test: None,
        studentised: residuals.clone(),
        fitted,
        residuals,
        df: plain.df,
    };
    Ok(Analysis {
        response: request.response.clone(),
        measure: "share".into(),
        unit: laid.unit.clone(),
        units: laid.y.len(),
        rows: laid.rows.iter().map(Vec::len).sum(),
        layout: laid.layout.clone(),
        method: parts.method,
        table: parts.table,
        means,
        comparisons,
        contrasts: Vec::new(),
        by_ranks: Vec::new(),
        variance: parts.variance,
        checks: parts.checks,
        effect: EffectSize {
            term: combined.name.clone(),
            ..EffectSize::default()
        },
        equivalence: Vec::new(),
        sentence: String::new(),
        findings,
        residuals: (0..k.len())
            .map(|i| ResidualPoint {
                rows: laid.rows[i].clone(),
                level: combined.levels[combined.codes[i]].clone(),
                observed: k[i] / n[i],
                fitted: parts.fitted[i],
                residual: parts.residuals[i],
                studentised: None,
            })
            .collect(),
        excluded: Vec::new(),
        with_all_rows: None,
    })
}
