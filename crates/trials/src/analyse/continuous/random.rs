//! Incomplete blocks and split plots: mixed models, and strata where the layout is balanced.

use super::{Fitted, line};
use crate::analyse::estimates::{Estimates, Guard};
use crate::analyse::structure::Laid;
use crate::analyse::{TableLine, VarianceLine, checks};
use crate::stats::anova::level_sets;
use crate::stats::compare::pairs;
use crate::stats::design::{Coding, Design, Factor, cross};
use crate::stats::mixed::{Mixed, MixedError, RandomTerm};
use crate::stats::one_way::FTest;
use crate::stats::strata::strata;
use measure::{Finding, Severity};

fn stopped(error: &MixedError) -> Vec<Finding> {
    vec![
        Finding::new(
            Severity::Stop,
            "model-cannot-be-fitted",
            "mixed model",
            error.to_string(),
        )
        .help("name fewer treatments or blocks, or give more batches"),
    ]
}

/// The mixed model of the treatments with the given random terms: table by Kenward and Roger.
fn by_mixed_model(
    laid: &Laid,
    random: &[RandomTerm],
    findings: &mut Vec<Finding>,
) -> Result<Fitted, Vec<Finding>> {
    let design = Design::factorial(
        laid.treatments.clone(),
        laid.treatments.len().min(3),
        Coding::SumToZero,
    );
    let model = Mixed::fit(&design.columns(), &laid.y, random).map_err(|e| stopped(&e))?;
    for dropped in &model.dropped {
        findings.push(Finding::new(
            Severity::Note,
            "variance-at-zero",
            "variance",
            dropped.clone(),
        ));
    }
    let owners = design.owners();
    let mut lead = None;
    let mut interacts = false;
    let mut table = Vec::new();
    let mut checks = Vec::new();
    for term in 0..design.terms.len() {
        let rows: Vec<Vec<f64>> = (0..owners.len())
            .filter(|&c| owners[c] == Some(term))
            .map(|c| {
                (0..owners.len())
                    .map(|k| f64::from(u8::from(k == c)))
                    .collect()
            })
            .collect();
        let Some(test) = model.test(&rows) else {
            findings.push(Finding::new(
                Severity::Warn,
                "not-estimable",
                design.term_name(term),
                format!("{} can't be estimated here", design.term_name(term)),
            ));
            continue;
        };
        let name = design.term_name(term);
        interacts |= design.terms[term].len() > 1 && test.p < 0.05;
        if lead.is_none() {
            lead = Some((
                name.clone(),
                FTest {
                    f: test.f,
                    df: test.df,
                    denominator_df: test.denominator_df,
                    p: test.p,
                },
            ));
        }
        checks.push(checks::line(
            &format!("{name} by Satterthwaite"),
            test.f_satterthwaite,
            test.p_satterthwaite,
            format!(
                "denominator degrees of freedom {:.2}",
                test.denominator_df_satterthwaite
            ),
        ));
        table.push(TableLine {
            term: name,
            df: test.df,
            sum_sq: None,
            mean_sq: None,
            f: Some(test.f),
            p: Some(test.p),
            denominator_df: Some(test.denominator_df),
        });
    }
    let estimate = |factors: &[usize]| -> Estimates {
        let sets: Vec<Vec<(usize, usize)>> = level_sets(&design, factors)
            .into_iter()
            .filter(|set| {
                (0..laid.y.len()).any(|i| set.iter().all(|&(f, l)| design.factors[f].codes[i] == l))
            })
            .collect();
        let rows: Vec<Vec<f64>> = sets.iter().map(|s| design.marginal_row(s)).collect();
        let combine = |row: &[f64]| model.combine(row).map(|c| (c.estimate, c.se, c.df));
        Estimates {
            term: factors
                .iter()
                .map(|&f| design.factors[f].name.as_str())
                .collect::<Vec<_>>()
                .join(":"),
            levels: sets
                .iter()
                .map(|s| {
                    s.iter()
                        .map(|&(f, l)| design.factors[f].levels[l].as_str())
                        .collect::<Vec<_>>()
                        .join(":")
                })
                .collect(),
            n: sets
                .iter()
                .map(|s| {
                    (0..laid.y.len())
                        .filter(|&i| s.iter().all(|&(f, l)| design.factors[f].codes[i] == l))
                        .count()
                })
                .collect(),
            means: rows.iter().map(|r| combine(r)).collect(),
            differences: pairs(rows.len())
                .into_iter()
                .map(|(a, b)| {
                    let row: Vec<f64> = rows[a].iter().zip(&rows[b]).map(|(a, b)| a - b).collect();
                    combine(&row)
                })
                .collect(),
        }
    };
    let all: Vec<usize> = (0..design.factors.len()).collect();
    let mut estimates: Vec<(Estimates, bool)> = all
        .iter()
        .map(|&f| (estimate(&[f]), all.len() == 1 || !interacts))
        .collect();
    if all.len() > 1 {
        estimates.push((estimate(&all), interacts));
    }
    let scale = model.residual_variance().sqrt();
    let df = laid.y.len() as f64 - model.coefficients.iter().flatten().count() as f64;
    Ok(Fitted {
        method: "linear mixed model by REML, Kenward–Roger degrees of freedom".into(),
        table,
        estimates,
        guard: Guard::Common,
        variance: model
            .components
            .iter()
            .map(|c| VarianceLine {
                term: c.name.clone(),
                value: c.value,
            })
            .collect(),
        checks,
        test: lead,
        studentised: model.residuals.iter().map(|e| e / scale).collect(),
        fitted: model.fitted.clone(),
        residuals: model.residuals.clone(),
        df,
    })
}

fn block_terms(laid: &Laid) -> Vec<RandomTerm> {
    laid.blocks
        .iter()
        .map(|b| RandomTerm::intercept(b.name.clone(), b.codes.clone()))
        .collect()
}

/// Incomplete blocks, taken as random.
pub fn mixed(laid: &Laid, findings: &mut Vec<Finding>) -> Result<Fitted, Vec<Finding>> {
    findings.push(Finding::new(
        Severity::Note,
        "incomplete-blocks",
        laid.blocks[0].name.clone(),
        "not every block holds every treatment; blocks were taken as random so that what they tell of treatments is used too",
    ));
    by_mixed_model(laid, &block_terms(laid), findings)
}

/// Treatments on whole plots and within them.
pub fn split_plot(laid: &Laid, findings: &mut Vec<Finding>) -> Result<Fitted, Vec<Finding>> {
    let Some(plots) = &laid.whole_plots else {
        return mixed(laid, findings);
    };
    let mut random = block_terms(laid);
    random.push(RandomTerm::intercept("whole plot", plots.codes.clone()));
    let mut found = by_mixed_model(laid, &random, findings)?;
    let parts: Vec<&Factor> = laid.blocks.iter().chain(&laid.treatments).collect();
    let cells = cross(&parts);
    let possible: usize = parts.iter().map(|f| f.levels.len()).product();
    let even = |f: &Factor| f.counts().windows(2).all(|w| w[0] == w[1]);
    let treatments_even = even(&laid.combined());
    let complete = (laid.blocks.is_empty() || (cells.levels.len() == possible && even(&cells)))
        && treatments_even
        && even(plots);
    found.method =
        "split plot: linear mixed model by REML, Kenward–Roger degrees of freedom".into();
    if complete && laid.blocks.len() <= 1 {
        // Balanced: the strata are exact and say the same.
        let design = Design::factorial(
            laid.treatments.clone(),
            laid.treatments.len().min(3),
            Coding::SumToZero,
        );
        let mut units = laid.blocks.clone();
        let mut named = plots.clone();
        named.name = "whole plot".into();
        units.push(named);
        found.method = "split plot: analysis of variance in strata; means by REML with Kenward–Roger degrees of freedom".into();
        let layers = strata(&design, &units, &laid.y);
        // Differences of a factor's levels stand on the error of its own stratum, so that they
        // agree with the table even when a variance above falls to zero.
        for (own, _) in &mut found.estimates {
            let Some(layer) = layers
                .iter()
                .find(|s| s.lines.iter().any(|l| l.term == own.term))
            else {
                continue;
            };
            if own.term.contains(':') || layer.error_df <= 0.0 {
                continue;
            }
            let ms = layer.error_sum_sq / layer.error_df;
            for ((a, b), found) in pairs(own.levels.len())
                .into_iter()
                .zip(&mut own.differences)
            {
                if let Some((_, se, df)) = found {
                    *se = (ms * (1.0 / own.n[a] as f64 + 1.0 / own.n[b] as f64)).sqrt();
                    *df = layer.error_df;
                }
            }
        }
        found.table = layers
            .into_iter()
            .flat_map(|s| {
                let mut lines: Vec<TableLine> = s
                    .lines
                    .iter()
                    .map(|l| {
                        let test = l.f.zip(l.p).map(|(f, p)| (f, p, l.denominator_df));
                        line(&l.term, l.df, l.sum_sq, test)
                    })
                    .collect();
                let name = if s.unit == "within" {
                    "residual".to_string()
                } else {
                    format!("residual of {}", s.unit)
                };
                lines.push(line(&name, s.error_df, s.error_sum_sq, None));
                lines
            })
            .collect();
        if let Some(first) = found.table.iter().find(|l| l.f.is_some()) {
            found.test = Some((
                first.term.clone(),
                FTest {
                    f: first.f.unwrap_or(f64::NAN),
                    df: first.df,
                    denominator_df: first.denominator_df.unwrap_or(f64::NAN),
                    p: first.p.unwrap_or(f64::NAN),
                },
            ));
        }
    }
    Ok(found)
}
