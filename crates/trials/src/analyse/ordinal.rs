//! Scores whose steps have an order but no size: the cumulative logit model, with dogs or judges
//! (or days) as a random level; ranks as second opinion.

use super::checks;
use super::continuous;
use super::estimates::{Estimates, Guard};
use super::structure::Laid;
use super::{Analysis, AnalysisRequest, EffectSize, Scale, TableLine, VarianceLine, Wanted};
use crate::Code;
use crate::stats::compare::pairs;
use crate::stats::design::{Coding, Design, Factor, interactions};
use crate::stats::distribution::f_above;
use crate::stats::moments;
use crate::stats::ordinal::proportional_odds;
use crate::stats::ordinal_mixed::cumulative_mixed;
use measure::{Finding, Severity};
use nalgebra::DMatrix;

/// Up to so many scores the cumulative logit is fitted.
const MOST_SCORES: usize = 1_000;
/// Points of the quadrature over subjects.
const POINTS: usize = 15;

/// A fitted model of scores, with or without subjects.
struct Scored {
    effects: Vec<f64>,
    covariance: Option<DMatrix<f64>>,
    ln_likelihood: f64,
    sd: Option<f64>,
    converged: bool,
}

fn fit(columns: &[Vec<f64>], steps: &[usize], levels: usize, subject: Option<&Factor>) -> Scored {
    let p = columns.len();
    if let Some(subject) = subject {
        let found = cumulative_mixed(columns, steps, levels, &subject.codes, POINTS);
        let cuts = levels - 1;
        return Scored {
            covariance: found
                .covariance
                .map(|c| c.view((cuts, cuts), (p, p)).into_owned()),
            effects: found.effects,
            ln_likelihood: found.ln_likelihood,
            sd: Some(found.sd),
            converged: found.converged,
        };
    }
    let found = proportional_odds(columns, steps, levels);
    Scored {
        effects: found.effects,
        covariance: found.covariance,
        ln_likelihood: found.ln_likelihood,
        sd: None,
        converged: found.converged,
    }
}

/// Analyses scores.
pub(super) fn analyse(
    laid: &Laid,
    request: &AnalysisRequest,
    risk: f64,
) -> Result<Analysis, Vec<Finding>> {
    let mut scores = laid.y.clone();
    scores.sort_by(f64::total_cmp);
    scores.dedup();
    let many = laid.y.len() > MOST_SCORES;
    let larger = laid.whole_plots.is_some() || laid.again.is_some() || !laid.covariates.is_empty();
    if laid.averaged || scores.len() > 15 || scores.len() < 2 || larger || many {
        return as_amounts(
            laid,
            request,
            risk,
            if many {
                "with so many scores their means are as good as normal, so scores are treated as amounts: fair when steps are about equal"
            } else if larger {
                "with several errors or a covariate scores are treated as amounts: fair when steps are about equal"
            } else {
                "scores were averaged within units and treated as amounts: fair when steps are about equal; the answer by ranks stands beside it"
            },
        );
    }
    let mut findings = laid.findings.clone();
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
    let control = super::control_of(
        request,
        std::iter::once(combined.levels.as_slice())
            .chain(laid.treatments.iter().map(|t| t.levels.as_slice())),
    )?;
    // The subject stands last among the blocks; of several blocks the others are fixed.
    let subject = laid.blocks.last();
    let fixed_blocks = laid.blocks.len().saturating_sub(1);
    let t = laid.treatments.len();
    let factors: Vec<Factor> = laid.blocks[..fixed_blocks]
        .iter()
        .chain(&laid.treatments)
        .cloned()
        .collect();
    let own: Vec<usize> = (fixed_blocks..fixed_blocks + t).collect();
    let mut terms: Vec<Vec<usize>> = (0..fixed_blocks).map(|i| vec![i]).collect();
    terms.extend(interactions(&own, t.min(2)));
    let design = Design {
        factors,
        terms,
        coding: Coding::SumToZero,
    };
    let owners = design.owners();
    let columns = design.columns();
    let aliased = !crate::stats::least_squares::fit(&columns, &laid.y)
        .aliased
        .is_empty();
    let steps: Vec<usize> = laid
        .y
        .iter()
        .map(|y| scores.iter().position(|s| s == y).unwrap_or(0))
        .collect();
    let full = fit(&columns[1..], &steps, scores.len(), subject);
    if aliased || !full.converged {
        return as_amounts(
            laid,
            request,
            risk,
            "a treatment's scores lie wholly beyond the others', or were never given beside them: odds have no finite estimate, so scores were treated as amounts; see the answer by ranks",
        );
    }
    // Degrees of freedom as an analysis of variance of the same layout would have them.
    let subjects = subject.map_or(1.0, |s| s.levels.len() as f64);
    let df2 = laid.y.len() as f64 - (columns.len() as f64 - 1.0) - subjects;
    if df2 < 1.0 {
        return Err(vec![
            Finding::new(
                Severity::Stop,
                Code::NoErrorLeft,
                "residual",
                "the treatments and blocks use up every score: nothing is left to judge a difference by",
            )
            .help("repeat some treatments, or compare fewer at once"),
        ]);
    }
    let mut table = Vec::new();
    let mut lines = Vec::new();
    let mut interacts = false;
    for (term, members) in design.terms.iter().enumerate() {
        if members.iter().any(|f| *f < fixed_blocks) {
            continue;
        }
        let bare: Vec<Vec<f64>> = (1..columns.len())
            .filter(|&c| owners[c] != Some(term))
            .map(|c| columns[c].clone())
            .collect();
        let null = fit(&bare, &steps, scores.len(), subject).ln_likelihood;
        let df = (columns.len() - 1 - bare.len()) as f64;
        let ratio = (2.0 * (full.ln_likelihood - null)).max(0.0);
        let p = f_above(ratio / df, df, df2);
        interacts |= members.len() > 1 && p < 0.05;
        lines.push(checks::line(
            &format!(
                "likelihood ratio of {} (chi-square)",
                design.term_name(term)
            ),
            ratio,
            crate::stats::distribution::chi_square_above(ratio, df),
            format!("on {df} degrees of freedom, without regard to how few units there are"),
        ));
        table.push(TableLine {
            term: design.term_name(term),
            df,
            sum_sq: None,
            mean_sq: None,
            f: Some(ratio / df),
            p: Some(p),
            denominator_df: Some(df2),
        });
    }
    let build = |of: &[usize]| -> Estimates {
        let sets: Vec<Vec<(usize, usize)>> = crate::stats::anova::level_sets(&design, of)
            .into_iter()
            .filter(|s| {
                (0..steps.len()).any(|i| s.iter().all(|&(f, l)| design.factors[f].codes[i] == l))
            })
            .collect();
        let members = |s: &[(usize, usize)]| -> Vec<f64> {
            (0..steps.len())
                .filter(|&i| s.iter().all(|&(f, l)| design.factors[f].codes[i] == l))
                .map(|i| laid.y[i])
                .collect()
        };
        let rows: Vec<Vec<f64>> = sets
            .iter()
            .map(|s| design.marginal_row(s)[1..].to_vec())
            .collect();
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
            n: sets.iter().map(|s| members(s).len()).collect(),
            means: sets
                .iter()
                .map(|s| {
                    let v = members(s);
                    let n = v.len() as f64;
                    let mean = moments::mean(&v)?;
                    // One score has a mean, but no spread of its own.
                    let se = moments::variance(&v).map_or(f64::INFINITY, |s2| (s2 / n).sqrt());
                    Some((mean, se, n - 1.0))
                })
                .collect(),
            differences: pairs(rows.len())
                .into_iter()
                .map(|(a, b)| {
                    let covariance = full.covariance.as_ref()?;
                    let d: Vec<f64> = rows[a].iter().zip(&rows[b]).map(|(a, b)| a - b).collect();
                    let value: f64 = d.iter().zip(&full.effects).map(|(d, b)| d * b).sum();
                    let mut form = 0.0;
                    for (i, x) in d.iter().enumerate() {
                        for (j, y) in d.iter().enumerate() {
                            form += x * y * covariance[(i, j)];
                        }
                    }
                    (form > 0.0).then(|| (value, form.sqrt(), df2))
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
    let (mut means, mut comparisons) = (Vec::new(), Vec::new());
    for (estimates, compared) in &all {
        let at = control
            .as_ref()
            .and_then(|c| estimates.levels.iter().position(|l| l == c))
            .filter(|_| request.wanted != Wanted::AllPairs);
        let (m, c) = estimates.lines(at, Guard::Common, *compared, Scale::LogOddsOfHigher, risk);
        means.extend(m);
        comparisons.extend(c);
    }
    let contrasts = super::contrasts::contrasts(&all[0].0, &request.contrasts)?;
    // How much worse a food may be is asked in points: answered on the mean score.
    let equivalence = if request.margin.is_some() {
        continuous::analyse(laid, request, risk)?.equivalence
    } else {
        Vec::new()
    };
    lines.extend(checks::by_ranks(laid, &combined));
    let mut variance = Vec::new();
    if let (Some(sd), Some(subject)) = (full.sd, subject) {
        variance.push(VarianceLine {
            term: format!("{} (log odds)", subject.name),
            value: sd * sd,
        });
    }
    Ok(Analysis {
        method: match subject {
            Some(subject) => format!(
                "cumulative logit model of scores with {} at random (adaptive quadrature); likelihood ratio read as F",
                subject.name
            ),
            None => {
                "cumulative logit (proportional-odds) model of scores; likelihood ratio read as F"
                    .into()
            }
        },
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
        ..continuous::empty(laid, request)
    })
}

fn as_amounts(
    laid: &Laid,
    request: &AnalysisRequest,
    risk: f64,
    why: &str,
) -> Result<Analysis, Vec<Finding>> {
    let mut found = continuous::analyse(laid, request, risk)?;
    found.findings.push(Finding::new(
        Severity::Note,
        Code::ScoresAsAmounts,
        request.response.clone(),
        why,
    ));
    let combined = laid.combined();
    if !found
        .checks
        .iter()
        .any(|c| c.check == "Friedman" || c.check == "Kruskal–Wallis")
    {
        found.checks.extend(checks::by_ranks(laid, &combined));
    }
    Ok(found)
}
