//! Treatments and blocks all fixed: factorials, blocks, squares.

use super::{Fitted, line};
use crate::Code;
use crate::analyse::estimates::{Estimates, Guard};
use crate::analyse::structure::Laid;
use crate::analyse::{AnalysisRequest, CheckLine, TableLine, VarianceLine, checks};
use crate::stats::anova::{Anova, SumsType, anova, relative_efficiency};
use crate::stats::compare::pairs;
use crate::stats::design::{Coding, Design, Factor, cross, interactions};
use crate::stats::least_squares;
use crate::stats::one_way::FTest;
use crate::stats::outlier::studentised;
use measure::{Finding, Severity};

/// Treatments and blocks all fixed.
///
/// With `several` units of a treatment on a block, treatment × block is a term of its own and the
/// claim is for the blocks that were tried.
pub(super) fn fixed(
    laid: &Laid,
    request: &AnalysisRequest,
    several: bool,
    findings: &mut Vec<Finding>,
) -> Result<Fitted, Vec<Finding>> {
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
                Code::EmptyCells,
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
        let among = interactions(&own, order);
        terms.extend(among.iter().cloned());
        if several {
            terms.extend(among.iter().map(|t| [&[0], t.as_slice()].concat()));
        }
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
                    Code::NotEstimable,
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
                Code::NoReplication,
                cells.name.clone(),
                "no combination was made twice, so the highest interaction serves as the error",
            )
            .help("if the treatments do interact, this hides smaller effects; repeat some combinations"),
        );
    }
    let s2 = found.fit.variance().ok_or_else(super::no_error_left)?;
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
            None,
            format!(
                "without blocks about {efficiency:.2} times as many batches would have been needed"
            ),
        ));
        variance.push(VarianceLine {
            term: laid.blocks[0].name.clone(),
            value: ((ms_block - s2) / cells.levels.len() as f64).max(0.0),
        });
    }
    checks.extend(carry_over(laid));
    variance.push(VarianceLine {
        term: "residual".into(),
        value: s2,
    });
    let what = match (b, t) {
        (0, 2) => "two-way analysis of variance".to_string(),
        (0, _) => "factorial analysis of variance".to_string(),
        (1, _) if several => format!(
            "analysis of variance with treatment × {0}, for the {0} levels that were tried",
            laid.blocks[0].name
        ),
        (1, 1) => "analysis of variance in blocks".to_string(),
        (2, 1) if square(laid) => "analysis of variance of a Latin square".to_string(),
        _ => "factorial analysis of variance in blocks".to_string(),
    };
    Ok(Fitted {
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
    })
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
        .filter(|(_, t)| t.iter().all(|f| *f >= from))
        .find_map(|(l, _)| {
            Some((
                l.term.clone(),
                FTest {
                    f: l.f?,
                    df: l.df,
                    denominator_df: l.denominator_df,
                    p: l.p?,
                },
            ))
        })
}

/// Marginal means of each treatment factor, and the cell means of their highest interaction; which
/// of them are compared hangs on whether there is evidence of interaction.
pub(super) fn term_estimates(found: &Anova, own: &[usize]) -> Vec<(Estimates, bool)> {
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
                Some((difference, (form * s2?).sqrt(), df))
            })
            .collect();
        Estimates {
            families: 1.0,
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

/// Does the food of the period before still act? Fitted beside dogs, periods and foods; where that
/// is one and the same as the sequence (two foods, two periods) between the dogs' sums.
fn carry_over(laid: &Laid) -> Option<CheckLine> {
    let period = laid.period.as_ref().filter(|_| laid.repeated)?;
    let (dog, treatment) = (laid.blocks.last()?, laid.treatments.first()?);
    if laid.treatments.len() > 1 || dog.name == period.name {
        return None;
    }
    let n = laid.y.len();
    let before = |i: usize| -> Option<usize> {
        (0..n)
            .find(|&j| dog.codes[j] == dog.codes[i] && period.codes[j] + 1 == period.codes[i])
            .map(|j| treatment.codes[j])
    };
    let mut columns = vec![vec![1.0; n]];
    for factor in [dog, period, treatment] {
        for level in 1..factor.levels.len() {
            let dummy = factor
                .codes
                .iter()
                .map(|&c| f64::from(u8::from(c == level)));
            columns.push(dummy.collect());
        }
    }
    let without = least_squares::fit(&columns, &laid.y);
    for level in 1..treatment.levels.len() {
        columns.push(
            (0..n)
                .map(|i| match before(i) {
                    Some(b) if b == level => 1.0,
                    Some(0) => -1.0,
                    _ => 0.0,
                })
                .collect(),
        );
    }
    let with = least_squares::fit(&columns, &laid.y);
    let df = without.df - with.df;
    if df > 0.0 && with.df > 0.0 {
        let f = (without.rss - with.rss).max(0.0) / df / with.variance()?;
        let test = FTest::new(f, df, with.df);
        let says = if test.p < 0.05 {
            "what a dog ate before still acts: compare with longer pauses, or by first periods alone"
        } else {
            "nothing speaks for an effect of the food before"
        };
        return Some(checks::line(
            "carry-over of the food before",
            f,
            test.p,
            says,
        ));
    }
    let sequence = laid.sequence.as_ref()?;
    let mut sums = vec![(0.0, 0, 0); dog.levels.len()];
    for i in 0..n {
        let own = &mut sums[dog.codes[i]];
        *own = (own.0 + laid.y[i], own.1 + 1, sequence.codes[i]);
    }
    let whole = sums.iter().all(|s| s.1 == period.levels.len());
    whole.then(|| {
        let codes: Vec<usize> = sums.iter().map(|s| s.2).collect();
        let values: Vec<f64> = sums.iter().map(|s| s.0).collect();
        let test = crate::stats::one_way::one_way(&codes, &values, sequence.levels.len()).test;
        checks::line(
            "carry-over (or sequence) between dogs",
            test.f,
            test.p,
            "with two foods and two periods carry-over and sequence are one; it sees little, and the analysis isn't chosen by it",
        )
    })
}
