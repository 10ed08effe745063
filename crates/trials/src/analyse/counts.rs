//! Counts by batch: so many of n, or so many in what was looked at. The batch is the unit: what
//! batches of one treatment differ by, beyond counting, is the error (quasi-likelihood, F and t).

mod profile;
mod second_look;

use super::continuous;
use super::estimates::{Estimates, Guard};
use super::structure::{Counts, Laid};
use super::{
    Analysis, AnalysisRequest, CheckLine, EffectSize, ResidualPoint, Scale, TableLine,
    VarianceLine, Wanted, checks,
};
use crate::Code;
use crate::response::Kind;
use crate::stats::compare::pairs;
use crate::stats::design::{Coding, Design, Factor, interactions};
use crate::stats::distribution::{beta_quantile, chi_square_above, chi_square_quantile};
use crate::stats::glm::expit;
use crate::stats::quasi::{CountTest, Counted, Family, fit};
use measure::{Constant, Finding, Grade, Range, Severity};
use profile::Profile;
use second_look::{batches_at_random, dealt_anew, negative_binomial_line};

/// Up to so many units the spread between them is also estimated by models of it.
const FOR_A_SECOND_MODEL: usize = 200;
/// Up to so many units counts are also fitted by the negative binomial.
const FOR_A_NEGATIVE_BINOMIAL: usize = 2_000;
/// Where cells hold fewer than this on average, a subject's share is an amount, not a count.
const FEW_PER_CELL: Constant = Constant {
    name: "fewest counts on average in a cell before a subject's share is an amount",
    value: 5.0,
    unit: "counts",
    range: Range::new(2.0, 10.0),
    source: "common practice, no source",
    grade: Grade::Assumed,
};

/// Analyses counts.
pub(super) fn analyse(
    laid: &Laid,
    request: &AnalysisRequest,
    risk: f64,
) -> Result<Analysis, Vec<Finding>> {
    let family = if laid.kind == Kind::Count {
        Family::Poisson
    } else {
        Family::Binomial
    };
    let exposure = || {
        laid.exposure
            .clone()
            .unwrap_or_else(|| vec![1.0; laid.y.len()])
    };
    let (k, n) = match (&laid.counts, family) {
        (Some(Counts { k, n }), Family::Binomial) => (k.clone(), n.clone()),
        _ => (laid.y.clone(), exposure()),
    };
    let scale = match family {
        Family::Binomial => Scale::LogOdds,
        Family::Poisson => Scale::LogRate,
    };
    let mean_n = n.iter().sum::<f64>() / n.len() as f64;
    let few = family == Family::Binomial && mean_n < FEW_PER_CELL.value;
    let errors = laid.whole_plots.is_some() || laid.again.is_some();
    if few && (errors || !laid.blocks.is_empty()) {
        // A yes or no, or a few of them: log odds of single ones say nothing, shares average well.
        let y = k.iter().zip(&n).map(|(k, n)| k / n).collect();
        return as_amounts(laid, request, (y, Scale::Share, risk), (&k, &n));
    }
    if errors {
        // Several errors: on the scale of log odds (log rates) of each unit, ½ added so that none
        // and all have a value, as an amount.
        let y = k
            .iter()
            .zip(&n)
            .map(|(k, n)| match family {
                Family::Binomial => ((k + 0.5) / (n - k + 0.5)).ln(),
                Family::Poisson => ((k + 0.5) / n).ln(),
            })
            .collect();
        return as_amounts(laid, request, (y, scale, risk), (&k, &n));
    }
    if let Some(too_many) = continuous::too_many_terms(laid, &laid.combined(), false) {
        return Err(too_many);
    }
    by_counting(laid, request, family, (scale, risk), (&k, &n))
}

/// The analysis of amounts on another scale.
fn as_amounts(
    laid: &Laid,
    request: &AnalysisRequest,
    (y, scale, risk): (Vec<f64>, Scale, f64),
    (k, n): (&[f64], &[f64]),
) -> Result<Analysis, Vec<Finding>> {
    let laid = Laid {
        y,
        averaged: false,
        ..laid.clone()
    };
    let mut found = continuous::on_scale(&laid, request, scale, risk)?;
    let what = match scale {
        Scale::Share => "shares by unit as amounts",
        Scale::LogRate => "log rates by unit, ½ added to each count",
        _ => "log odds by unit, ½ added to each count",
    };
    found.method = format!("{what}: {}", found.method);
    for (point, (k, n)) in found.residuals.iter_mut().zip(k.iter().zip(n)) {
        point.observed = k / n;
        point.fitted = scale.back(point.fitted);
    }
    Ok(found)
}

/// Levels with none or all, where the plain estimate is infinite.
fn edges(factor: &Factor, k: &[f64], n: &[f64], family: Family) -> Vec<(usize, f64, f64)> {
    let total = |v: &[f64], level: usize| -> f64 {
        let own = v.iter().zip(&factor.codes);
        own.filter(|(_, c)| **c == level).map(|(v, _)| v).sum()
    };
    (0..factor.levels.len())
        .map(|l| (l, total(k, l), total(n, l)))
        .filter(|(_, k, n)| *k == 0.0 || (family == Family::Binomial && k == n))
        .collect()
}

/// The spread of batches over counting alone, from batches of treatments that are not at the edge.
fn spread(
    columns: &[Vec<f64>],
    (k, n): (&[f64], &[f64]),
    inside: &[usize],
    family: Family,
) -> Option<(f64, f64)> {
    let pick = |v: &[f64]| -> Vec<f64> { inside.iter().map(|&i| v[i]).collect() };
    let own: Vec<Vec<f64>> = columns.iter().map(|c| pick(c)).collect();
    let (k, n) = (pick(k), pick(n));
    if k.is_empty() {
        return None;
    }
    let found = fit(family, &own, &k, &n, false, None);
    found.dispersion().map(|spread| (spread, found.df))
}

fn by_counting(
    laid: &Laid,
    request: &AnalysisRequest,
    family: Family,
    (scale, risk): (Scale, f64),
    (k, n): (&[f64], &[f64]),
) -> Result<Analysis, Vec<Finding>> {
    let mut findings = laid.findings.clone();
    let combined = laid.combined();
    let mut aliased = false;
    for block in &laid.blocks {
        for treatment in &laid.treatments {
            aliased |= super::bad_input::confounding(treatment, block, &mut findings);
        }
    }
    if aliased {
        findings.retain(|f| f.severity == Severity::Stop);
        return Err(findings);
    }
    let control = super::control_of(
        request,
        std::iter::once(combined.levels.as_slice())
            .chain(laid.treatments.iter().map(|t| t.levels.as_slice())),
    )?;
    let (b, t) = (laid.blocks.len(), laid.treatments.len());
    let factors: Vec<Factor> = laid
        .blocks
        .iter()
        .chain(&laid.treatments)
        .cloned()
        .collect();
    let own: Vec<usize> = (b..b + t).collect();
    let mut terms: Vec<Vec<usize>> = (0..b).map(|i| vec![i]).collect();
    terms.extend(interactions(&own, t.min(3)));
    let design = Design {
        factors,
        terms,
        coding: Coding::SumToZero,
    };
    let owners = design.owners();
    let columns = continuous::with_covariates(design.columns(), laid);
    let width = columns.len();
    let single = family == Family::Binomial && n.iter().all(|n| *n == 1.0);
    let full = fit(family, &columns, k, n, false, None);
    if full.df <= 0.0 && !single {
        findings.push(
            Finding::new(
                Severity::Stop,
                Code::OneBatchPerTreatment,
                combined.name.clone(),
                "there is one batch of each treatment: its pieces don't stand in for other batches, and no difference can be judged",
            )
            .help("bake each treatment at least twice more"),
        );
        return Ok(means_only(laid, request, &combined, (k, n), findings));
    }
    let at_edge = edges(&combined, k, n, family);
    let edge: Vec<usize> = at_edge.iter().map(|e| e.0).collect();
    // A block with none or all tells nothing of the spread either.
    let dull: Vec<Vec<usize>> = laid
        .blocks
        .iter()
        .map(|block| edges(block, k, n, family).iter().map(|e| e.0).collect())
        .collect();
    let inside: Vec<usize> = (0..k.len())
        .filter(|&i| !edge.contains(&combined.codes[i]))
        .filter(|&i| {
            laid.blocks
                .iter()
                .zip(&dull)
                .all(|(b, dull)| !dull.contains(&b.codes[i]))
        })
        .collect();
    let (raw, df) = if single {
        (1.0, f64::INFINITY)
    } else {
        spread(&columns, (k, n), &inside, family).unwrap_or((1.0, full.df))
    };
    let dispersion = raw.max(1.0);
    let penalised = (!edge.is_empty()).then(|| fit(family, &columns, k, n, true, None));
    let used: &Counted = penalised.as_ref().unwrap_or(&full);
    for (level, kk, nn) in &at_edge {
        let (low, high) = edge_interval(*kk, *nn, dispersion, family);
        findings.push(
            Finding::new(
                Severity::Warn,
                if *kk == 0.0 { Code::NoEvents } else { Code::AllEvents },
                combined.levels[*level].clone(),
                match family {
                    Family::Binomial => format!(
                        "{}: {kk} of {nn}; the true share may still be anywhere from {:.1} to {:.1} %",
                        combined.levels[*level], 100.0 * low, 100.0 * high
                    ),
                    Family::Poisson => format!(
                        "{}: none in {nn}; the true rate may still be up to {high:.3}",
                        combined.levels[*level]
                    ),
                },
            )
            .help("estimates are Firth's, which half a count more or less keeps finite")
            .source("Clopper–Pearson (Garwood for rates), with what batches spread beyond counting"),
        );
    }
    // The table: each term by the fall in deviance it brings.
    let mut table = Vec::new();
    let mut interacts = false;
    let mut lead_p = None;
    for (term, members) in design.terms.iter().enumerate() {
        let bare: Vec<Vec<f64>> = (0..width)
            .filter(|&c| owners.get(c).copied().flatten() != Some(term))
            .map(|c| columns[c].clone())
            .collect();
        let less = fit(family, &bare, k, n, false, None);
        let own_df = less.df - full.df;
        if own_df <= 0.0 {
            findings.push(
                Finding::new(
                    Severity::Warn,
                    Code::NotEstimable,
                    design.term_name(term),
                    format!("{} can't be estimated here", design.term_name(term)),
                )
                .help("name fewer blocks, or spread the treatments over them"),
            );
            continue;
        }
        let test = CountTest::new(less.deviance - full.deviance, own_df, dispersion, df);
        let treatment = members.iter().all(|f| *f >= b);
        interacts |= treatment && members.len() > 1 && test.p < 0.05;
        if treatment && lead_p.is_none() {
            lead_p = Some(test.p);
        }
        table.push(TableLine {
            term: design.term_name(term),
            df: own_df,
            sum_sq: None,
            mean_sq: None,
            f: Some(test.f),
            p: Some(test.p),
            denominator_df: df.is_finite().then_some(df),
        });
    }
    if lead_p.is_none() {
        return Err(vec![
            Finding::new(
                Severity::Stop,
                Code::NotEstimable,
                combined.name.clone(),
                "treatments and blocks can't be told apart in these counts",
            )
            .help("name fewer blocks, or spread the treatments over them"),
        ]);
    }
    let mut lines: Vec<CheckLine> = Vec::new();
    if !single {
        lines.push(checks::line(
            "spread between batches over counting",
            raw,
            chi_square_above(raw * df, df),
            if raw > 1.5 {
                "batches differ more than counting alone explains; the model allows for that"
            } else {
                "about what counting alone explains"
            },
        ));
    }
    let mut single_p = None;
    if laid.blocks.len() <= 1 {
        let found = dealt_anew(&combined, laid.blocks.first(), (k, n), single);
        single_p = single.then_some(found.1);
        lines.push(found.0);
    }
    if let Some(p) = single_p
        && t == 1
        && let Some(own) = table.last_mut()
    {
        own.p = Some(p);
    }
    match family {
        Family::Poisson if k.len() <= FOR_A_NEGATIVE_BINOMIAL => {
            lines.push(negative_binomial_line(&columns, k, n));
        }
        Family::Binomial if !single && k.len() <= FOR_A_SECOND_MODEL => {
            lines.extend(batches_at_random(&columns, k, n));
        }
        Family::Poisson | Family::Binomial => {}
    }
    let form = |row: &[f64]| -> Option<f64> {
        let covariance = used.covariance.as_ref()?;
        let mut total = 0.0;
        for (i, a) in row.iter().enumerate().filter(|(_, a)| **a != 0.0) {
            for (j, b) in row.iter().enumerate() {
                total += a * b * covariance[(i, j)];
            }
        }
        Some((dispersion * total).sqrt()).filter(|se| se.is_finite())
    };
    let value =
        |row: &[f64]| -> f64 { row.iter().zip(&used.coefficients).map(|(r, b)| r * b).sum() };
    let build = |of: &[usize]| -> Estimates {
        let sets: Vec<Vec<(usize, usize)>> = crate::stats::anova::level_sets(&design, of)
            .into_iter()
            .filter(|s| {
                (0..k.len()).any(|i| s.iter().all(|&(f, l)| design.factors[f].codes[i] == l))
            })
            .collect();
        let rows: Vec<Vec<f64>> = sets
            .iter()
            .map(|s| {
                let mut row = design.marginal_row(s);
                row.resize(width, 0.0);
                row
            })
            .collect();
        let many = |s: &[(usize, usize)]| {
            (0..k.len())
                .filter(|&i| s.iter().all(|&(f, l)| design.factors[f].codes[i] == l))
                .count()
        };
        Estimates {
            term: of
                .iter()
                .map(|&f| design.factors[f].name.as_str())
                .collect::<Vec<_>>()
                .join(":"),
            families: 1.0,
            levels: sets
                .iter()
                .map(|s| {
                    s.iter()
                        .map(|&(f, l)| design.factors[f].levels[l].as_str())
                        .collect::<Vec<_>>()
                        .join(":")
                })
                .collect(),
            n: sets.iter().map(|s| many(s)).collect(),
            means: rows
                .iter()
                .map(|r| Some((value(r), form(r)?, df)))
                .collect(),
            differences: pairs(rows.len())
                .into_iter()
                .map(|(a, b)| {
                    let d: Vec<f64> = rows[a].iter().zip(&rows[b]).map(|(a, b)| a - b).collect();
                    Some((value(&d), form(&d).filter(|se| *se > 0.0)?, df))
                })
                .collect(),
        }
    };
    let mut all: Vec<(Estimates, bool)> = own
        .iter()
        .map(|&f| (build(&[f]), t == 1 || !interacts))
        .collect();
    if t > 1 {
        all.push((build(&own), interacts));
    }
    // Where a treatment is at the edge the curvature says little of how far: the profile does.
    let profile = Profile {
        laid,
        combined: &combined,
        counts: (k, n),
        family,
        dispersion,
    };
    if t == 1 && !edge.is_empty() {
        for ((a, c), d) in pairs(combined.levels.len())
            .into_iter()
            .zip(&mut all[0].0.differences)
        {
            if (edge.contains(&a) || edge.contains(&c))
                && let Some((value, se, _)) = d
            {
                let ratio = profile.fall(a, c, 0.0).max(1e-12).sqrt();
                *se = value.abs().max(1e-9) / ratio;
            }
        }
    }
    let better = request.better.or(super::known(request).map(|a| a.better));
    let (mut means, mut comparisons, mut equivalence) = (Vec::new(), Vec::new(), Vec::new());
    for (estimates, compared) in &all {
        let at = control
            .as_ref()
            .and_then(|c| estimates.levels.iter().position(|l| l == c));
        let shown = at.filter(|_| request.wanted != Wanted::AllPairs);
        let (m, mut c) = estimates.lines(shown, Guard::Common, *compared, scale, risk);
        if t == 1 && !edge.is_empty() {
            for line in &mut c {
                profile.limits(line, &edge);
            }
        }
        means.extend(m);
        comparisons.extend(c);
        if let (Some(margin), Some(at), true) = (request.margin, at, *compared) {
            let of_totals = totals(estimates, laid, (k, n), family, dispersion, df);
            let share = if family == Family::Binomial {
                margin / 100.0
            } else {
                margin
            };
            let scale = match family {
                Family::Binomial => Scale::Share,
                Family::Poisson => Scale::Amount,
            };
            equivalence.extend(of_totals.equivalence(at, share, better, scale));
        }
    }
    for mean in &mut means {
        let own = combined.levels.iter().position(|l| *l == mean.level);
        let none = own.and_then(|l| at_edge.iter().find(|e| e.0 == l));
        match none {
            Some((_, kk, nn)) if mean.term == combined.name => {
                let (low, high) = edge_interval(*kk, *nn, dispersion, family);
                (mean.mean, mean.se) = (Some(kk / nn), None);
                (mean.low95, mean.high95) = (Some(low), Some(high));
            }
            _ => scale.carry_back(mean),
        }
    }
    if !used.converged && edge.is_empty() {
        findings.push(
            Finding::new(
                Severity::Warn,
                Code::NotSettled,
                "model",
                "the model did not settle fully; take its intervals as rough",
            )
            .help("give more batches, or fewer blocks"),
        );
    }
    let contrasts = super::contrasts::contrasts(&all[0].0, &request.contrasts)?;
    let fitted: Vec<f64> = used
        .eta
        .iter()
        .map(|e| match family {
            Family::Binomial => expit(*e),
            Family::Poisson => e.exp(),
        })
        .collect();
    let residuals = (0..k.len())
        .map(|i| {
            let spread = match family {
                Family::Binomial => n[i] * fitted[i] * (1.0 - fitted[i]),
                Family::Poisson => n[i] * fitted[i],
            };
            ResidualPoint {
                rows: laid.rows[i].clone(),
                level: combined.levels[combined.codes[i]].clone(),
                observed: k[i] / n[i],
                fitted: fitted[i],
                residual: (k[i] - n[i] * fitted[i]) / (dispersion * spread).max(1e-300).sqrt(),
                studentised: None,
            }
        })
        .collect();
    let mean_n = n.iter().sum::<f64>() / n.len() as f64;
    let mut variance = Vec::new();
    if !single && family == Family::Binomial && mean_n > 1.0 {
        variance.push(VarianceLine {
            term: "correlation of pieces of one batch".into(),
            value: ((dispersion - 1.0) / (mean_n - 1.0)).min(1.0),
        });
    }
    let method = match (family, single) {
        (Family::Binomial, true) if t == 1 && b <= 1 => {
            "yes or no of single units: exchange of units among the treatments"
        }
        (Family::Binomial, true) => "logistic regression of single units, likelihood ratio",
        (Family::Binomial, false) => {
            "logistic regression by batch with the spread between batches as error (quasi-likelihood, F)"
        }
        (Family::Poisson, _) => {
            "log-linear regression of counts by unit with the spread between units as error (quasi-likelihood, F)"
        }
    };
    Ok(Analysis {
        measure: match family {
            Family::Binomial => "share".into(),
            Family::Poisson => laid.measure.clone(),
        },
        method: method.into(),
        table,
        means,
        comparisons,
        contrasts,
        variance,
        checks: lines,
        effect: EffectSize {
            term: combined.name.clone(),
            ..EffectSize::default()
        },
        equivalence,
        findings,
        residuals,
        ..continuous::empty(laid, request)
    })
}

/// The interval of a share (rate) with none or all, the count shrunk by what batches spread beyond
/// counting.
fn edge_interval(k: f64, n: f64, dispersion: f64, family: Family) -> (f64, f64) {
    let (k, n) = (k / dispersion, n / dispersion);
    match family {
        Family::Binomial if k == 0.0 => (0.0, beta_quantile(0.975, 1.0, n)),
        Family::Binomial => (beta_quantile(0.025, k, 1.0), 1.0),
        Family::Poisson => (0.0, 0.5 * chi_square_quantile(0.975, 2.0) / n),
    }
}

/// One batch of each treatment: what was counted, and no more.
fn means_only(
    laid: &Laid,
    request: &AnalysisRequest,
    combined: &Factor,
    (k, n): (&[f64], &[f64]),
    findings: Vec<Finding>,
) -> Analysis {
    let means = (0..combined.levels.len())
        .map(|level| {
            let own: Vec<usize> = (0..k.len())
                .filter(|&i| combined.codes[i] == level)
                .collect();
            let (kk, nn): (f64, f64) = (
                own.iter().map(|&i| k[i]).sum(),
                own.iter().map(|&i| n[i]).sum(),
            );
            super::MeanLine {
                level: combined.levels[level].clone(),
                term: combined.name.clone(),
                n: own.len(),
                mean: Some(kk / nn),
                se: None,
                low95: None,
                high95: None,
                letters: String::new(),
            }
        })
        .collect();
    Analysis {
        measure: "share".into(),
        method: "means only: one batch of each treatment".into(),
        means,
        findings,
        ..continuous::empty(laid, request)
    }
}

/// Shares (rates) of the totals with half a unit of prior knowledge, for the question of a margin.
fn totals(
    estimates: &Estimates,
    laid: &Laid,
    (k, n): (&[f64], &[f64]),
    family: Family,
    dispersion: f64,
    df: f64,
) -> Estimates {
    let factors: Vec<&Factor> = laid
        .treatments
        .iter()
        .filter(|f| estimates.term.split(':').any(|t| t == f.name))
        .collect();
    let cells = crate::stats::design::cross(&factors);
    let of: Vec<(f64, f64)> = estimates
        .levels
        .iter()
        .map(|level| {
            let own: Vec<usize> = (0..k.len())
                .filter(|&i| cells.levels[cells.codes[i]] == *level)
                .collect();
            let kk: f64 = own.iter().map(|&i| k[i]).sum();
            let nn: f64 = own.iter().map(|&i| n[i]).sum();
            match family {
                // Agresti and Caffo's added yes and no, here beside a spread between batches.
                Family::Binomial => {
                    let p = (kk + 1.0) / (nn + 2.0);
                    (kk / nn, dispersion * p * (1.0 - p) / (nn + 2.0))
                }
                Family::Poisson => (kk / nn, dispersion * (kk + 0.5) / (nn * nn)),
            }
        })
        .collect();
    Estimates {
        means: of.iter().map(|(m, v)| Some((*m, v.sqrt(), df))).collect(),
        differences: pairs(of.len())
            .into_iter()
            .map(|(a, b)| Some((of[a].0 - of[b].0, (of[a].1 + of[b].1).sqrt(), df)))
            .collect(),
        ..estimates.clone()
    }
}
