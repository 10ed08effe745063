//! Amounts: one-way, factorial, blocks, squares, split plots and mixed models.

use super::bad_input::confounding;
use super::checks;
use super::estimates::{Estimates, Guard};
use super::structure::Laid;
use super::{
    Analysis, AnalysisRequest, CheckLine, EffectSize, ResidualPoint, TableLine, VarianceLine,
    Variances, Wanted,
};
use crate::stats::anova::{Anova, SumsType, anova, level_sets, relative_efficiency};
use crate::stats::box_cox;
use crate::stats::compare::pairs;
use crate::stats::design::{Coding, Design, Factor, cross, interactions};
use crate::stats::effect::effect;
use crate::stats::least_squares;
use crate::stats::mixed::{Mixed, RandomTerm};
use crate::stats::one_way::{FTest, OneWay, one_way, welch};
use crate::stats::outlier::studentised;
use crate::stats::strata::strata;
use measure::{Finding, Severity};

/// What a model gives, whatever the model.
pub struct Fitted {
    pub method: String,
    pub table: Vec<TableLine>,
    pub estimates: Vec<(Estimates, bool)>,
    pub guard: Guard,
    pub variance: Vec<VarianceLine>,
    pub checks: Vec<CheckLine>,
    pub test: Option<(String, FTest)>,
    pub fitted: Vec<f64>,
    pub residuals: Vec<f64>,
    pub studentised: Vec<f64>,
    pub df: f64,
}

fn line(term: &str, df: f64, sum_sq: f64, test: Option<(f64, f64, f64)>) -> TableLine {
    TableLine {
        term: term.into(),
        df,
        sum_sq: Some(sum_sq),
        mean_sq: (df > 0.0).then(|| sum_sq / df),
        f: test.map(|t| t.0),
        p: test.map(|t| t.1),
        denominator_df: test.map(|t| t.2),
    }
}

/// Analyses amounts.
pub fn analyse(laid: &Laid, request: &AnalysisRequest) -> Result<Analysis, Vec<Finding>> {
    let mut findings = laid.findings.clone();
    let combined = laid.combined();
    let mut aliased = false;
    for block in &laid.blocks {
        for treatment in &laid.treatments {
            aliased |= confounding(treatment, block, &mut findings);
        }
    }
    if aliased {
        findings.retain(|f| f.severity == Severity::Stop);
        return Err(findings);
    }
    if laid.y.len() == combined.levels.len() && laid.treatments.len() == 1 && laid.blocks.is_empty()
    {
        return Ok(single(laid, request, findings));
    }
    if let Some(reason) = no_spread(laid, &combined) {
        return Err(reason);
    }
    let fitted = if laid.whole_plots.is_some() {
        split_plot(laid, request, &mut findings)?
    } else if laid.treatments.len() == 1 && laid.blocks.is_empty() {
        plain(laid, request, &mut findings)
    } else if needs_random_blocks(laid, &combined) {
        mixed(laid, request, &mut findings)?
    } else if let Some(control) = augmented(laid) {
        factorial_and_control(laid, control)
    } else {
        fixed(laid, request, &mut findings)
    };
    Ok(assemble(laid, request, findings, fitted))
}

/// Blocks that don't hold every treatment tell something of their own: they are taken as random.
fn needs_random_blocks(laid: &Laid, combined: &Factor) -> bool {
    let [block] = laid.blocks.as_slice() else {
        return false;
    };
    let cells = cross(&[block, combined]).levels.len();
    cells < block.levels.len() * combined.levels.len() && block.levels.len() >= 3
        && laid.y.len() > combined.levels.len() + 2
        // A factorial confounded in blocks on purpose keeps its blocks fixed.
        && laid.treatments.len() == 1
}

fn no_spread(laid: &Laid, combined: &Factor) -> Option<Vec<Finding>> {
    let parts: Vec<&Factor> = std::iter::once(combined).chain(&laid.blocks).collect();
    let design = Design {
        factors: parts.iter().map(|f| (*f).clone()).collect(),
        terms: (0..parts.len()).map(|i| vec![i]).collect(),
        coding: Coding::Reference,
    };
    let scale = laid.y.iter().fold(0.0_f64, |m, v| m.max(v.abs()));
    let floor = (1e-13 * scale).powi(2) * laid.y.len() as f64;
    let left = if laid.blocks.is_empty() {
        one_way(&combined.codes, &laid.y, combined.levels.len()).within
    } else {
        let fit = least_squares::fit(&design.columns(), &laid.y);
        if fit.df <= 0.0 {
            return None;
        }
        fit.rss
    };
    let replicated = laid.y.len() > combined.levels.len();
    (replicated && left <= floor).then(|| {
        vec![
            Finding::new(
                Severity::Stop,
                "zero-variance",
                "residual",
                "batches of the same treatment are all exactly alike: there is no spread to judge a difference by",
            )
            .help("check that each row is a batch of its own and that the instrument shows enough digits"),
        ]
    })
}

/// One batch of each treatment: the means, and what can't be said.
fn single(laid: &Laid, request: &AnalysisRequest, mut findings: Vec<Finding>) -> Analysis {
    findings.push(
        Finding::new(
            Severity::Stop,
            "one-batch-per-treatment",
            laid.treatments[0].name.clone(),
            "there is one batch of each treatment: the difference between treatments can't be told from the difference between batches",
        )
        .help("pieces of one batch only say how even it is; bake each treatment at least twice more, on different days"),
    );
    let k = laid.treatments[0].levels.len();
    let estimates = Estimates {
        term: laid.treatments[0].name.clone(),
        levels: laid.treatments[0].levels.clone(),
        n: vec![1; k],
        means: (0..k)
            .map(|level| {
                let at = laid.treatments[0].codes.iter().position(|c| *c == level)?;
                Some((laid.y[at], f64::NAN, f64::NAN))
            })
            .collect(),
        differences: vec![None; k * (k - 1) / 2],
    };
    let (means, _) = estimates.lines(None, Guard::Common, false);
    let mut variance = Vec::new();
    if laid.pieces.1 > 0.0 {
        variance.push(VarianceLine {
            term: "pieces within batches".into(),
            value: laid.pieces.0 / laid.pieces.1,
        });
    }
    Analysis {
        response: request.response.clone(),
        measure: laid.measure.clone(),
        unit: laid.unit.clone(),
        units: laid.y.len(),
        rows: laid.rows.iter().map(Vec::len).sum(),
        layout: laid.layout.clone(),
        method: "means only: one batch of each treatment".into(),
        table: Vec::new(),
        means,
        comparisons: Vec::new(),
        variance,
        checks: Vec::new(),
        effect: EffectSize::default(),
        equivalence: Vec::new(),
        sentence: String::new(),
        findings,
        residuals: Vec::new(),
        excluded: Vec::new(),
        with_all_rows: None,
    }
}

/// One factor, no blocks.
fn plain(laid: &Laid, request: &AnalysisRequest, findings: &mut Vec<Finding>) -> Fitted {
    let treatment = &laid.treatments[0];
    let k = treatment.levels.len();
    let found: OneWay = one_way(&treatment.codes, &laid.y, k);
    let s2 = found.error_variance();
    let df = found.test.denominator_df;
    let alike = checks::variances(treatment, &laid.y);
    let spread_out = found.groups.iter().all(|g| g.n >= 2 && g.sum_sq > 0.0);
    let unequal = spread_out
        && match request.variances {
            Variances::Equal => false,
            Variances::Unequal => true,
            Variances::Auto => alike
                .as_ref()
                .is_some_and(|c| c.p.is_some_and(|p| p < 0.05)),
        };
    let test = found.test;
    let mut table = vec![
        line(
            &treatment.name,
            test.df,
            found.between,
            Some((test.f, test.p, df)),
        ),
        line("residual", df, found.within, None),
    ];
    let mut lead = test;
    if unequal {
        lead = welch(&found.groups);
        table.push(TableLine {
            term: format!("{} (Welch)", treatment.name),
            df: lead.df,
            sum_sq: None,
            mean_sq: None,
            f: Some(lead.f),
            p: Some(lead.p),
            denominator_df: Some(lead.denominator_df),
        });
        findings.push(Finding::new(
            Severity::Note,
            "variances-differ",
            treatment.name.clone(),
            "the treatments vary by different amounts, so Welch's test and Games and Howell's comparisons were used",
        ));
    }
    let groups = &found.groups;
    let estimates = Estimates {
        term: treatment.name.clone(),
        levels: treatment.levels.clone(),
        n: groups.iter().map(|g| g.n).collect(),
        means: groups
            .iter()
            .map(|g| {
                let n = g.n as f64;
                Some(if unequal {
                    (g.mean, (g.variance() / n).sqrt(), n - 1.0)
                } else {
                    (g.mean, (s2 / n).sqrt(), df)
                })
            })
            .collect(),
        differences: pairs(k)
            .into_iter()
            .map(|(a, b)| {
                let (a, b) = (&groups[a], &groups[b]);
                let (na, nb) = (a.n as f64, b.n as f64);
                Some(if unequal {
                    let (va, vb) = (a.variance() / na, b.variance() / nb);
                    (
                        a.mean - b.mean,
                        (va + vb).sqrt(),
                        (va + vb).powi(2) / (va * va / (na - 1.0) + vb * vb / (nb - 1.0)),
                    )
                } else {
                    (a.mean - b.mean, (s2 * (1.0 / na + 1.0 / nb)).sqrt(), df)
                })
            })
            .collect(),
    };
    let fitted: Vec<f64> = treatment.codes.iter().map(|&c| groups[c].mean).collect();
    let residuals: Vec<f64> = laid.y.iter().zip(&fitted).map(|(y, f)| y - f).collect();
    let leverage: Vec<f64> = treatment
        .codes
        .iter()
        .map(|&c| 1.0 / groups[c].n as f64)
        .collect();
    let mut lines: Vec<CheckLine> = alike.into_iter().collect();
    lines.extend(checks::by_ranks(laid, treatment));
    Fitted {
        method: if unequal {
            "one-way analysis with unequal variances (Welch)".into()
        } else {
            "one-way analysis of variance".into()
        },
        table,
        estimates: vec![(estimates, true)],
        guard: if unequal { Guard::Own } else { Guard::Common },
        variance: vec![VarianceLine {
            term: "residual".into(),
            value: s2,
        }],
        checks: lines,
        test: Some((treatment.name.clone(), lead)),
        studentised: studentised(&residuals, &leverage, found.within, df),
        fitted,
        residuals,
        df,
    }
}

/// Treatments and blocks all fixed.
fn fixed(laid: &Laid, request: &AnalysisRequest, findings: &mut Vec<Finding>) -> Fitted {
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
fn term_estimates(found: &Anova, own: &[usize]) -> Vec<(Estimates, bool)> {
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

/// Whether a combination of the treatments stands outside the factorial: each of its levels occurs
/// in it alone, and the rest is crossed.
fn augmented(laid: &Laid) -> Option<usize> {
    if laid.treatments.len() < 2 {
        return None;
    }
    let combined = laid.combined();
    let of = |cell: usize, t: usize| {
        let at = combined.codes.iter().position(|c| *c == cell).unwrap_or(0);
        laid.treatments[t].codes[at]
    };
    let cells = combined.levels.len();
    let outside: Vec<usize> = (0..cells)
        .filter(|&cell| {
            (0..laid.treatments.len())
                .all(|t| (0..cells).all(|other| other == cell || of(other, t) != of(cell, t)))
        })
        .collect();
    let [control] = outside.as_slice() else {
        return None;
    };
    let crossed: usize = laid.treatments.iter().map(|t| t.levels.len() - 1).product();
    (crossed > 1 && cells == crossed + 1).then_some(*control)
}

/// A factorial with one control beside it: the control against the rest, then the factorial.
fn factorial_and_control(laid: &Laid, control: usize) -> Fitted {
    let combined = laid.combined();
    let n = laid.y.len();
    let inside: Vec<usize> = (0..n).filter(|&i| combined.codes[i] != control).collect();
    let within = Design::factorial(
        laid.treatments.iter().map(|f| f.rows(&inside)).collect(),
        laid.treatments.len(),
        Coding::SumToZero,
    );
    let mut columns = vec![vec![1.0; n]];
    let mut owners: Vec<String> = vec![String::new()];
    for block in &laid.blocks {
        for level in 1..block.levels.len() {
            columns.push(
                block
                    .codes
                    .iter()
                    .map(|&c| f64::from(u8::from(c == level)))
                    .collect(),
            );
            owners.push(block.name.clone());
        }
    }
    let against = format!("{} against the rest", combined.levels[control]);
    columns.push(
        combined
            .codes
            .iter()
            .map(|&c| f64::from(u8::from(c == control)))
            .collect(),
    );
    owners.push(against.clone());
    for (column, owner) in within.columns().iter().zip(within.owners()) {
        let Some(owner) = owner else { continue };
        let mut whole = vec![0.0; n];
        for (&at, v) in inside.iter().zip(column) {
            whole[at] = *v;
        }
        columns.push(whole);
        owners.push(within.term_name(owner));
    }
    let fit = least_squares::fit(&columns, &laid.y);
    let (s2, df) = (fit.variance(), fit.df);
    let mut names: Vec<String> = Vec::new();
    for owner in &owners[1..] {
        if !names.contains(owner) {
            names.push(owner.clone());
        }
    }
    let mut lead = None;
    let mut table: Vec<TableLine> = names
        .iter()
        .map(|name| {
            let own: Vec<usize> = fit
                .kept
                .iter()
                .copied()
                .filter(|&k| owners[k] == *name)
                .collect();
            let own_df = own.len() as f64;
            let sum_sq: f64 = own.iter().map(|&k| fit.sequential[k]).sum();
            let test = FTest::new(sum_sq / own_df / s2, own_df, df);
            if *name == against {
                lead = Some((name.clone(), test));
            }
            line(name, own_df, sum_sq, Some((test.f, test.p, df)))
        })
        .collect();
    table.push(line("residual", df, fit.rss, None));
    // Means of the cells, beside blocks.
    let mut factors = vec![combined.clone()];
    factors.extend(laid.blocks.iter().cloned());
    let terms = (0..factors.len()).map(|i| vec![i]).collect();
    let cells = anova(
        &Design {
            factors,
            terms,
            coding: Coding::SumToZero,
        },
        &laid.y,
        SumsType::III,
    );
    Fitted {
        method: "factorial and a control beside it: analysis of variance, each term after those before it".into(),
        table,
        estimates: term_estimates(&cells, &[0]),
        guard: Guard::Common,
        variance: vec![VarianceLine {
            term: "residual".into(),
            value: s2,
        }],
        checks: checks::variances(&combined, &laid.y).into_iter().collect(),
        test: lead,
        studentised: studentised(&fit.residuals, &fit.leverage, fit.rss, df),
        fitted: fit.fitted.clone(),
        residuals: fit.residuals.clone(),
        df,
    }
}

fn stopped(error: &crate::stats::mixed::MixedError) -> Vec<Finding> {
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
fn mixed(
    laid: &Laid,
    _request: &AnalysisRequest,
    findings: &mut Vec<Finding>,
) -> Result<Fitted, Vec<Finding>> {
    findings.push(Finding::new(
        Severity::Note,
        "incomplete-blocks",
        laid.blocks[0].name.clone(),
        "not every block holds every treatment; blocks were taken as random so that what they tell of treatments is used too",
    ));
    by_mixed_model(laid, &block_terms(laid), findings)
}

/// Treatments on whole plots and within them.
fn split_plot(
    laid: &Laid,
    request: &AnalysisRequest,
    findings: &mut Vec<Finding>,
) -> Result<Fitted, Vec<Finding>> {
    let Some(plots) = &laid.whole_plots else {
        return mixed(laid, request, findings);
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

/// Puts the parts together: means, comparisons, checks, effect.
fn assemble(
    laid: &Laid,
    request: &AnalysisRequest,
    mut findings: Vec<Finding>,
    fitted: Fitted,
) -> Analysis {
    let Fitted {
        method,
        table,
        estimates,
        guard,
        mut variance,
        mut checks,
        test,
        fitted: predicted,
        residuals,
        studentised,
        df,
    } = fitted;
    let find = |e: &Estimates| {
        request.control.as_ref().and_then(|c| {
            e.levels
                .iter()
                .position(|l| l == c)
                .or_else(|| e.levels.iter().position(|l| l.eq_ignore_ascii_case(c)))
        })
    };
    if let Some(control) = &request.control
        && !estimates.iter().any(|(e, _)| find(e).is_some())
    {
        findings.push(
            Finding::new(
                Severity::Warn,
                "no-such-control",
                control.clone(),
                format!("no treatment is called {control}; all pairs were compared"),
            )
            .help(format!(
                "the treatments are: {}",
                estimates[0].0.levels.join(", ")
            )),
        );
    }
    let mut means = Vec::new();
    let mut comparisons = Vec::new();
    let mut equivalence = Vec::new();
    for (own, compared) in &estimates {
        let control = find(own).filter(|_| request.wanted != Wanted::AllPairs);
        let (m, c) = own.lines(control, guard, *compared);
        means.extend(m);
        comparisons.extend(c);
        if let (Some(margin), Some(control)) = (request.margin, find(own)) {
            equivalence.extend(own.equivalence(control, margin));
        }
    }
    if request.margin.is_some() && equivalence.is_empty() {
        findings.push(
            Finding::new(
                Severity::Warn,
                "margin-without-control",
                "margin",
                "a margin was given but no control to be as good as",
            )
            .help("name the control"),
        );
    }
    let least = laid.least_units();
    if least < 3 && laid.blocks.is_empty() {
        findings.push(
            Finding::new(
                Severity::Warn,
                "few-units",
                laid.unit.clone(),
                format!(
                    "a treatment has only {least} {}: intervals are wide and checks can see little",
                    if least == 1 { "unit" } else { "units" }
                ),
            )
            .help("plan more batches; the power of a plan can be worked out beforehand"),
        );
    }
    if laid.averaged && laid.pieces.1 > 0.0 {
        let within = laid.pieces.0 / laid.pieces.1;
        let units = laid.rows.len() as f64;
        let harmonic = units / laid.rows.iter().map(|r| 1.0 / r.len() as f64).sum::<f64>();
        if let Some(residual) = variance
            .iter()
            .find(|v| v.term == "residual")
            .map(|v| v.value)
        {
            variance.push(VarianceLine {
                term: "between units, beyond their pieces".into(),
                value: (residual - within / harmonic).max(0.0),
            });
        }
        variance.push(VarianceLine {
            term: "pieces within units".into(),
            value: within,
        });
    }
    checks.extend(checks::shape(&residuals));
    checks.extend(checks::outliers(
        &studentised,
        &laid.rows,
        df,
        &mut findings,
    ));
    checks.extend(box_cox_check(laid, &mut findings));
    let effect = test
        .as_ref()
        .map_or_else(EffectSize::default, |(term, test)| {
            let e = effect(test);
            let finite = |v: f64| v.is_finite().then_some(v);
            EffectSize {
                term: term.clone(),
                eta2: finite(e.eta2),
                omega2: finite(e.omega2),
                epsilon2: finite(e.epsilon2),
                eta2_low90: finite(e.eta2_90.0),
                eta2_high90: finite(e.eta2_90.1),
            }
        });
    let combined = laid.combined();
    let points = (0..laid.y.len())
        .map(|i| ResidualPoint {
            rows: laid.rows[i].clone(),
            level: combined.levels[combined.codes[i]].clone(),
            observed: laid.y[i],
            fitted: predicted[i],
            residual: residuals[i],
            studentised: Some(studentised[i]).filter(|t| t.is_finite()),
        })
        .collect();
    Analysis {
        response: request.response.clone(),
        measure: laid.measure.clone(),
        unit: laid.unit.clone(),
        units: laid.y.len(),
        rows: laid.rows.iter().map(Vec::len).sum(),
        layout: laid.layout.clone(),
        method,
        table,
        means,
        comparisons,
        variance,
        checks,
        effect,
        equivalence,
        sentence: String::new(),
        findings,
        residuals: points,
        excluded: Vec::new(),
        with_all_rows: None,
    }
}

/// Box and Cox's hint, when the untransformed scale is clearly not the best.
fn box_cox_check(laid: &Laid, findings: &mut Vec<Finding>) -> Option<CheckLine> {
    if laid.y.len() > 500 || laid.y.len() < 8 {
        return None;
    }
    let mut factors = vec![laid.combined()];
    factors.extend(laid.blocks.iter().cloned());
    let terms = (0..factors.len()).map(|i| vec![i]).collect();
    let design = Design {
        factors,
        terms,
        coding: Coding::Reference,
    };
    let hint = box_cox::hint(&design.columns(), &laid.y)?;
    let (low, high) = hint.interval;
    let says = if (low..=high).contains(&1.0) {
        "no transformation is called for".to_string()
    } else if (low..=high).contains(&0.0) {
        findings.push(
            Finding::new(Severity::Note, "transformation", "scale", "the spread grows with the mean")
                .help("analyse the logarithm as well; ratios may describe the treatments better than differences"),
        );
        "the logarithm would even out the spread".to_string()
    } else {
        format!("a power between {low:.2} and {high:.2} would even out the spread")
    };
    Some(checks::line("Box–Cox power", hint.power, f64::NAN, says))
}
