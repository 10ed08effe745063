//! Incomplete blocks and split plots: mixed models, and strata where the layout is balanced.

use super::{Fitted, line};
use crate::Code;
use crate::analyse::estimates::{Estimates, Guard};
use crate::analyse::structure::Laid;
use crate::analyse::{TableLine, VarianceLine, checks};
use crate::stats::anova::level_sets;
use crate::stats::compare::pairs;
use crate::stats::design::{Coding, Design, Factor, cross};
use crate::stats::mixed::{Mixed, MixedError, MixedTest, RandomTerm, SerialFit};
use crate::stats::moments;
use crate::stats::one_way::FTest;
use crate::stats::strata::strata;
use measure::{Finding, Severity};
use std::collections::HashSet;

pub(super) fn stopped(error: &MixedError) -> Vec<Finding> {
    vec![
        Finding::new(
            Severity::Stop,
            Code::ModelCannotBeFitted,
            "mixed model",
            error.to_string(),
        )
        .help("name fewer treatments or blocks, or give more batches"),
    ]
}

/// A model with random effects, whatever its residual.
pub(super) enum Model {
    /// Independent residuals.
    Plain(Box<Mixed>),
    /// Residuals that fade with time within a unit.
    Serial(Box<SerialFit>),
}

impl Model {
    fn combine(&self, row: &[f64]) -> Option<(f64, f64, f64)> {
        let found = match self {
            Self::Plain(m) => m.combine(row),
            Self::Serial(m) => m.combine(row),
        };
        found.map(|c| (c.estimate, c.se, c.df))
    }

    fn test(&self, rows: &[Vec<f64>]) -> Option<MixedTest> {
        match self {
            Self::Plain(m) => m.test(rows),
            Self::Serial(m) => m.test(rows),
        }
    }

    /// Whether a variance is estimated at 0.
    fn at_zero(&self) -> bool {
        let components = match self {
            Self::Plain(m) => &m.components,
            Self::Serial(m) => &m.components,
        };
        components.iter().any(|c| c.value == 0.0)
    }
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
    let columns = with_covariates(design.columns(), laid);
    let model = Mixed::fit(&columns, &laid.y, random).map_err(|e| stopped(&e))?;
    tell_zeros(&model, findings);
    let own: Vec<usize> = (0..design.factors.len()).collect();
    Ok(told(
        laid,
        &design,
        &own,
        None,
        Model::Plain(Box::new(model)),
        findings,
    ))
}

/// The columns with those of the covariates behind, each less its mean.
pub(crate) fn with_covariates(mut columns: Vec<Vec<f64>>, laid: &Laid) -> Vec<Vec<f64>> {
    for (_, values) in &laid.covariates {
        let mean = moments::mean(values).unwrap_or(0.0);
        columns.push(values.iter().map(|v| v - mean).collect());
    }
    columns
}

/// Which variances fell to zero.
pub(super) fn tell_zeros(model: &Mixed, findings: &mut Vec<Finding>) {
    for dropped in &model.dropped {
        findings.push(Finding::new(
            Severity::Note,
            Code::VarianceAtZero,
            "variance",
            dropped.clone(),
        ));
    }
}

/// Table, means and differences of a fitted model. `own` are the treatments among the design's
/// factors, `time` the factor along which they are also compared level by level.
pub(super) fn told(
    laid: &Laid,
    design: &Design,
    own: &[usize],
    time: Option<usize>,
    model: Model,
    findings: &mut Vec<Finding>,
) -> Fitted {
    let owners = design.owners();
    let width = owners.len() + laid.covariates.len();
    let single =
        |at: usize| -> Vec<f64> { (0..width).map(|k| f64::from(u8::from(k == at))).collect() };
    let mut lead = None;
    let (mut interacts, mut changes) = (false, false);
    let mut table = Vec::new();
    let mut checks = Vec::new();
    let names = (0..design.terms.len())
        .map(|t| {
            let columns: Vec<usize> = (0..owners.len())
                .filter(|&c| owners[c] == Some(t))
                .collect();
            (Some(t), design.term_name(t), columns)
        })
        .chain(
            laid.covariates
                .iter()
                .enumerate()
                .map(|(i, (name, _))| (None, name.clone(), vec![owners.len() + i])),
        );
    for (term, name, columns) in names.collect::<Vec<_>>() {
        let rows: Vec<Vec<f64>> = columns.into_iter().map(single).collect();
        let Some(test) = model.test(&rows) else {
            findings.push(Finding::new(
                Severity::Warn,
                Code::NotEstimable,
                name.clone(),
                format!("{name} can't be estimated here"),
            ));
            continue;
        };
        if let Some(term) = term.map(|t| &design.terms[t]) {
            let treatments = term.iter().filter(|f| own.contains(f)).count();
            let timed = time.is_some_and(|t| term.contains(&t));
            interacts |= treatments > 1 && !timed && test.p < 0.05;
            changes |= treatments > 0 && timed && test.p < 0.05;
            if lead.is_none() && treatments > 0 {
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
        }
        // Its degrees of freedom come from the curvature at the peak; a variance at 0 stands on no peak.
        checks.extend(test.satterthwaite.filter(|_| !model.at_zero()).map(|s| {
            checks::line(
                &format!("{name} by Satterthwaite"),
                s.f,
                s.p,
                format!("denominator degrees of freedom {:.2}", s.denominator_df),
            )
        }));
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
    let estimate = |factors: &[usize], at: Option<(usize, usize)>, families: f64| -> Estimates {
        let is_at = |i: usize| at.is_none_or(|(f, l)| design.factors[f].codes[i] == l);
        let sets: Vec<Vec<(usize, usize)>> = level_sets(design, factors)
            .into_iter()
            .filter(|set| {
                (0..laid.y.len())
                    .any(|i| is_at(i) && set.iter().all(|&(f, l)| design.factors[f].codes[i] == l))
            })
            .collect();
        let rows: Vec<Vec<f64>> = sets
            .iter()
            .map(|s| {
                let mut row = design.marginal_row(&s.iter().copied().chain(at).collect::<Vec<_>>());
                row.resize(width, 0.0);
                row
            })
            .collect();
        let mut term = factors
            .iter()
            .map(|&f| design.factors[f].name.as_str())
            .collect::<Vec<_>>()
            .join(":");
        if let Some((f, l)) = at {
            term += &format!(
                " @ {} {}",
                design.factors[f].name, design.factors[f].levels[l]
            );
        }
        Estimates {
            term,
            families,
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
                    let own = (0..laid.y.len()).filter(|&i| {
                        is_at(i) && s.iter().all(|&(f, l)| design.factors[f].codes[i] == l)
                    });
                    // A unit that was measured again counts once.
                    match &laid.again {
                        Some(again) => own
                            .map(|i| again.subject.codes[i])
                            .collect::<HashSet<_>>()
                            .len(),
                        None => own.count(),
                    }
                })
                .collect(),
            means: rows.iter().map(|r| model.combine(r)).collect(),
            differences: pairs(rows.len())
                .into_iter()
                .map(|(a, b)| {
                    let row: Vec<f64> = rows[a].iter().zip(&rows[b]).map(|(a, b)| a - b).collect();
                    model.combine(&row)
                })
                .collect(),
        }
    };
    let mut estimates: Vec<(Estimates, bool)> = own
        .iter()
        .map(|&f| (estimate(&[f], None, 1.0), own.len() == 1 || !interacts))
        .collect();
    if own.len() > 1 {
        estimates.push((estimate(own, None, 1.0), interacts));
    }
    if let Some(time) = time {
        let levels = design.factors[time].levels.len();
        estimates.push((estimate(&[time], None, 1.0), false));
        for level in 0..levels {
            let at = estimate(own, Some((time, level)), levels as f64);
            estimates.push((at, changes));
        }
    }
    let (components, fitted, residuals) = match &model {
        Model::Plain(m) => (&m.components, m.fitted.clone(), m.residuals.clone()),
        Model::Serial(m) => (
            &m.components,
            laid.y
                .iter()
                .zip(&m.residuals)
                .map(|(y, e)| y - e)
                .collect(),
            m.residuals.clone(),
        ),
    };
    let variance: Vec<VarianceLine> = components
        .iter()
        .map(|c| VarianceLine {
            term: c.name.clone(),
            value: c.value,
        })
        .collect();
    let scale = variance
        .iter()
        .find(|v| v.term == "residual" && v.value > 0.0)
        .map(|v| v.value.sqrt());
    let kept = match &model {
        Model::Plain(m) => m.coefficients.iter().flatten().count(),
        Model::Serial(m) => m.coefficients.iter().flatten().count(),
    };
    Fitted {
        method: "linear mixed model by REML, Kenward–Roger degrees of freedom".into(),
        table,
        estimates,
        guard: Guard::Common,
        variance,
        checks,
        test: lead,
        studentised: residuals.iter().map(|e| scale.map(|s| e / s)).collect(),
        fitted,
        residuals,
        df: laid.y.len() as f64 - kept as f64,
    }
}

pub(super) fn block_terms(laid: &Laid) -> Vec<RandomTerm> {
    laid.blocks
        .iter()
        .map(|b| RandomTerm::intercept(b.name.clone(), b.codes.clone()))
        .collect()
}

/// Incomplete blocks, or very many, taken as random.
pub(super) fn mixed(laid: &Laid, findings: &mut Vec<Finding>) -> Result<Fitted, Vec<Finding>> {
    if checks::complete_table(laid, &laid.combined()).is_none() {
        findings.push(Finding::new(
            Severity::Note,
            Code::IncompleteBlocks,
            laid.blocks[0].name.clone(),
            "not every block holds every treatment; blocks were taken as random so that what they tell of treatments is used too",
        ));
    }
    let mut found = by_mixed_model(laid, &block_terms(laid), findings)?;
    found
        .checks
        .extend(checks::by_ranks(laid, &laid.combined()));
    Ok(found)
}

/// Treatments on whole plots and within them.
pub(super) fn split_plot(laid: &Laid, findings: &mut Vec<Finding>) -> Result<Fitted, Vec<Finding>> {
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
        let told = |l: &TableLine| {
            Some((
                l.term.clone(),
                FTest {
                    f: l.f?,
                    df: l.df,
                    denominator_df: l.denominator_df?,
                    p: l.p?,
                },
            ))
        };
        found.test = found.table.iter().find_map(told).or(found.test);
    }
    Ok(found)
}

/// Treatments made several times on each block, for blocks like these: treatment × block belongs to
/// the error.
pub(super) fn new_blocks(laid: &Laid, findings: &mut Vec<Finding>) -> Result<Fitted, Vec<Finding>> {
    let [block] = laid.blocks.as_slice() else {
        return mixed(laid, findings);
    };
    let combined = laid.combined();
    let cells = cross(&[block, &combined]);
    let mut random = block_terms(laid);
    random.push(RandomTerm::intercept(
        format!("{} × {}", combined.name, block.name),
        cells.codes,
    ));
    findings.push(
        Finding::new(
            Severity::Note,
            Code::ClaimForNewBlocks,
            block.name.clone(),
            format!(
                "treatments are judged against how much their differences change from {0} to {0}, so the answer holds for a {0} like these",
                block.name
            ),
        )
        .help(format!("to speak only of the {} that were tried, ask with --claim these", block.name)),
    );
    let mut found = by_mixed_model(laid, &random, findings)?;
    found.method = format!(
        "blocks with several units of a treatment each, for a new {}: linear mixed model by REML, Kenward–Roger degrees of freedom",
        block.name
    );
    Ok(found)
}
