//! Treatments and blocks all fixed: factorials, blocks, squares.

use super::{Fitted, line};
use crate::analyse::estimates::{Estimates, Guard};
use crate::analyse::structure::Laid;
use crate::analyse::{AnalysisRequest, CheckLine, TableLine, VarianceLine, checks};
use crate::stats::anova::{Anova, SumsType, anova, relative_efficiency};
use crate::stats::compare::pairs;
use crate::stats::design::{Coding, Design, Factor, cross, interactions};
use crate::stats::one_way::FTest;
use crate::stats::outlier::studentised;
use measure::{Finding, Severity};

/// Treatments and blocks all fixed.
pub fn fixed(laid: &Laid, request: &AnalysisRequest, findings: &mut Vec<Finding>) -> Fitted {
    let b = laid.blocks.len();
    let t = laid.treatments.len();
    let factors: Vec<Factor> = laid
        .blocks
        .iter()
        .chain(&laid.treatments)
        .cloned()
        .collect();
    let own: Vec<usize> = (b..b + t).collect();
    let cells = cross(&laid.treatments.iter().collect::<Vec<_>>());
    let possible: usize = laid.treatments.iter().map(|f| f.levels.len()).product();
    if cells.levels.len() < possible {
        findings.push(
            Finding::new(
                Severity::Warn,
                "empty-cells",
                cells.name.clone(),
                format!(
                    "{} of {possible} combinations of the treatments were never made",
                    possible - cells.levels.len()
                ),
            )
            .help("interactions and marginal means that need them are left out"),
        );
    }
    let mut order = t.min(3);
    let mut found;
    let sums = request.sums.unwrap_or(SumsType::III);
    loop {
        let mut terms: Vec<Vec<usize>> = (0..b).map(|i| vec![i]).collect();
        terms.extend(interactions(&own, order));
        let design = Design {
            factors: factors.clone(),
            terms,
            coding: Coding::SumToZero,
        };
        // What is wholly aliased with earlier terms is named and taken out.
        let first = anova(&design, &laid.y, SumsType::I);
        let lost: Vec<usize> = (0..design.terms.len())
            .filter(|&i| first.lines[i].df == 0.0)
            .collect();
        for &i in &lost {
            findings.push(
                Finding::new(
                    Severity::Warn,
                    "not-estimable",
                    design.term_name(i),
                    format!(
                        "{} is aliased with other terms and can't be estimated",
                        design.term_name(i)
                    ),
                )
                .help("it was given up to the blocks, or never tried"),
            );
        }
        let terms: Vec<Vec<usize>> = design
            .terms
            .iter()
            .enumerate()
            .filter(|(i, _)| !lost.contains(i))
            .map(|(_, t)| t.clone())
            .collect();
        let design = Design { terms, ..design };
        found = anova(&design, &laid.y, sums);
        if found.fit.df > 0.0 || order <= 1 {
            break;
        }
        order -= 1;
        findings.push(
            Finding::new(
                Severity::Warn,
                "no-replication",
                cells.name.clone(),
                "no combination was made twice, so the highest interaction serves as the error",
            )
            .help("if the treatments do interact, this hides smaller effects; repeat some combinations"),
        );
    }
    let s2 = found.fit.variance();
    let df = found.fit.df;
    let mut table: Vec<TableLine> = found
        .lines
        .iter()
        .map(|l| {
            let test = l.f.zip(l.p).map(|(f, p)| (f, p, l.denominator_df));
            line(&l.term, l.df, l.sum_sq, test)
        })
        .collect();
    table.push(line("residual", df, found.fit.rss, None));
    let estimates = term_estimates(&found, &own);
    let lead = lead_term(&found, b);
    let mut checks: Vec<CheckLine> = Vec::new();
    checks.extend(checks::variances(&cells, &laid.y));
    let mut variance = Vec::new();
    if b == 1 && t == 1 && checks::complete_table(laid, &cells).is_some() {
        let block = &found.lines[0];
        let ms_block = block.sum_sq / block.df;
        let efficiency = relative_efficiency(
            laid.blocks[0].levels.len(),
            cells.levels.len(),
            ms_block,
            s2,
        );
        checks.extend(checks::by_ranks(laid, &cells));
        checks.extend(checks::additive(laid, &cells));
        checks.push(checks::line(
            "relative efficiency of the blocks",
            efficiency,
            f64::NAN,
            format!(
                "without blocks about {efficiency:.2} times as many batches would have been needed"
            ),
        ));
        variance.push(VarianceLine {
            term: laid.blocks[0].name.clone(),
            value: ((ms_block - s2) / cells.levels.len() as f64).max(0.0),
        });
    }
    variance.push(VarianceLine {
        term: "residual".into(),
        value: s2,
    });
    let what = match (b, t) {
        (0, 2) => "two-way analysis of variance".to_string(),
        (0, _) => "factorial analysis of variance".to_string(),
        (1, 1) => "analysis of variance in blocks".to_string(),
        (2, 1) if square(laid) => "analysis of variance of a Latin square".to_string(),
        _ => "factorial analysis of variance in blocks".to_string(),
    };
    Fitted {
        method: format!("{what}, sums of squares of {}", sums.word()),
        table,
        estimates,
        guard: Guard::Common,
        variance,
        checks,
        test: lead,
        studentised: studentised(&found.fit.residuals, &found.fit.leverage, found.fit.rss, df),
        fitted: found.fit.fitted.clone(),
        residuals: found.fit.residuals.clone(),
        df,
    }
}

fn square(laid: &Laid) -> bool {
    let t = laid.treatments[0].levels.len();
    laid.blocks
        .iter()
        .all(|b| b.levels.len() == t && cross(&[b, &laid.treatments[0]]).levels.len() == t * t)
        && laid.y.len() == t * t
}

/// The first treatment term's test.
fn lead_term(found: &Anova, from: usize) -> Option<(String, FTest)> {
    found
        .lines
        .iter()
        .zip(&found.design.terms)
        .filter(|(l, t)| t.iter().all(|f| *f >= from) && l.f.is_some())
        .map(|(l, _)| {
            (
                l.term.clone(),
                FTest {
                    f: l.f.unwrap_or(f64::NAN),
                    df: l.df,
                    denominator_df: l.denominator_df,
                    p: l.p.unwrap_or(f64::NAN),
                },
            )
        })
        .next()
}

/// Marginal means of each treatment factor, and the cell means of their highest interaction; which
/// of them are compared hangs on whether there is evidence of interaction.
pub fn term_estimates(found: &Anova, own: &[usize]) -> Vec<(Estimates, bool)> {
    let interacts = found.lines.iter().zip(&found.design.terms).any(|(l, t)| {
        t.len() > 1 && t.iter().all(|f| own.contains(f)) && l.p.is_some_and(|p| p < 0.05)
    });
    let s2 = found.fit.variance();
    let df = found.fit.df;
    let build = |factors: &[usize]| -> Estimates {
        let means = found.marginal_means(factors);
        let made: Vec<_> = means
            .into_iter()
            .filter(|m| m.n > 0 || factors.len() == 1)
            .collect();
        let differences = pairs(made.len())
            .into_iter()
            .map(|(a, b)| {
                let row: Vec<f64> = made[a]
                    .row
                    .iter()
                    .zip(&made[b].row)
                    .map(|(a, b)| a - b)
                    .collect();
                let (difference, form) = found.fit.combine(&row)?;
                Some((difference, (form * s2).sqrt(), df))
            })
            .collect();
        Estimates {
            term: factors
                .iter()
                .map(|&f| found.design.factors[f].name.as_str())
                .collect::<Vec<_>>()
                .join(":"),
            levels: made.iter().map(|m| m.level.clone()).collect(),
            n: made.iter().map(|m| m.n).collect(),
            means: made
                .iter()
                .map(|m| m.mean.zip(m.se).map(|(mean, se)| (mean, se, df)))
                .collect(),
            differences,
        }
    };
    let mut out: Vec<(Estimates, bool)> = own
        .iter()
        .map(|&f| (build(&[f]), own.len() == 1 || !interacts))
        .collect();
    if own.len() > 1 {
        out.push((build(own), interacts));
    }
    out
}
