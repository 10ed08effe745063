//! Questions of one's own: weighted sums of means, guarded for there being several and for having been thought of late.

use super::estimates::Estimates;
use super::structure::Laid;
use super::{ComparisonLine, Scale};
use crate::Code;
use crate::stats::adjust::{Adjustment, adjust};
use crate::stats::contrast::{of, scheffe_critical};
use crate::stats::distribution::{f_above, t_below, t_quantile};
use crate::stats::ranks;
use crate::stats::together::Together;
use measure::{Finding, Severity};
use serde::{Deserialize, Serialize};

/// A contrast asked for: weights of levels that add to nothing.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct WantedContrast {
    /// What it asks, in words.
    pub name: String,
    /// Level and weight.
    pub weights: Vec<(String, f64)>,
}

/// A contrast's answer.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ContrastLine {
    /// What it asks.
    pub name: String,
    /// The weighted sum of the means.
    pub estimate: f64,
    /// Its standard error.
    pub se: f64,
    /// Degrees of freedom; null when infinite.
    pub df: Option<f64>,
    /// Lower end of the 95 % interval, for a single contrast planned beforehand.
    pub low95: f64,
    /// Upper end.
    pub high95: f64,
    /// p-value of a single contrast planned beforehand.
    pub p: f64,
    /// Adjusted for the contrasts asked for together (Holm).
    pub p_holm: f64,
    /// Holm's p-value of the better shown of the two signs, over all signs asked for together: below
    /// 0.05 just where the limits beside it leave 0 out.
    pub p_sign: f64,
    /// Lower end of the interval that goes with it: it ends at 0 where a sign is shown.
    pub low95_holm: f64,
    /// Upper end.
    pub high95_holm: f64,
    /// p-value for all of these together by their joint distribution (multivariate t); null where
    /// their degrees of freedom differ.
    pub p_together: Option<f64>,
    /// Lower end of the 95 % interval that goes with it.
    pub low95_together: Option<f64>,
    /// Upper end.
    pub high95_together: Option<f64>,
    /// Good for any contrast whatever, thought of after a look at the data too (Scheffé).
    pub p_scheffe: f64,
    /// Lower end of Scheffé's 95 % interval.
    pub low95_scheffe: f64,
    /// Upper end.
    pub high95_scheffe: f64,
}

/// Answers contrasts of the means of a term. Their variances follow from those of the differences, so any model will
/// do: with weights that add to nothing, Var(Σ wᵢ mᵢ) = −Σ_{i<j} wᵢ wⱼ Var(mᵢ − mⱼ). Degrees of freedom are the fewest of
/// the differences involved, which errs on the safe side where they differ.
pub(super) fn contrasts(
    estimates: &Estimates,
    wanted: &[WantedContrast],
) -> Result<Vec<ContrastLine>, Vec<Finding>> {
    let k = estimates.levels.len();
    let mut problems = Vec::new();
    let mut answers = Vec::new();
    for contrast in wanted {
        let mut weights = vec![0.0; k];
        for (level, weight) in &contrast.weights {
            match estimates.levels.iter().position(|l| l == level) {
                Some(i) => weights[i] += weight,
                None => problems.push(
                    refused(
                        &contrast.name,
                        format!("no level of {} is called {level}", estimates.term),
                    )
                    .help(format!("the levels are: {}", estimates.levels.join(", "))),
                ),
            }
        }
        let sum: f64 = weights.iter().sum();
        let most = weights.iter().fold(0.0_f64, |m, w| m.max(w.abs()));
        if !(most > 0.0 && most.is_finite() && sum.abs() <= 1e-9 * most) {
            problems.push(
                refused(
                    &contrast.name,
                    format!("the weights add to {sum}, a contrast’s add to 0"),
                )
                .help("e.g. control=1,barley=-0.5,rice_chickpea=-0.5"),
            );
            continue;
        }
        match answer(estimates, contrast, weights) {
            Some(answer) => answers.push(answer),
            None => problems.push(
                refused(
                    &contrast.name,
                    "a mean or a difference that it needs can’t be estimated".to_owned(),
                )
                .help("leave out the level that was never made, or that stands in one block only"),
            ),
        }
    }
    if !problems.is_empty() {
        return Err(problems);
    }
    Ok(lines_of(estimates, answers))
}

/// A contrast by itself, before it is seen beside the others.
struct Answer {
    name: String,
    weights: Vec<f64>,
    estimate: f64,
    se: f64,
    /// Infinite where the spread is known.
    df: f64,
    p: f64,
}

/// The lines, each guarded for the others that were asked for.
fn lines_of(estimates: &Estimates, answers: Vec<Answer>) -> Vec<ContrastLine> {
    let k = estimates.levels.len();
    let p: Vec<f64> = answers.iter().map(|a| a.p).collect();
    let by_holm = adjust(&p, Adjustment::Holm);
    let alone: Vec<(f64, f64, f64)> = answers.iter().map(|a| (a.estimate, a.se, a.df)).collect();
    let signs = holm_limits(&alone);
    let joint = together(estimates, &answers);
    let beside = by_holm.into_iter().zip(signs);
    answers
        .into_iter()
        .zip(beside)
        .map(|(a, (p_holm, (p_sign, low95_holm, high95_holm)))| {
            let half = t_quantile(0.975, a.df) * a.se;
            let wide = scheffe_critical(k, a.df, 0.95) * a.se;
            let df1 = k as f64 - 1.0;
            let t = a.estimate / a.se;
            let critical = joint.as_ref().map(|(_, critical)| critical * a.se);
            ContrastLine {
                name: a.name,
                estimate: a.estimate,
                se: a.se,
                df: a.df.is_finite().then_some(a.df),
                low95: a.estimate - half,
                high95: a.estimate + half,
                p: a.p,
                p_holm,
                p_sign,
                low95_holm,
                high95_holm,
                p_together: joint.as_ref().map(|(joint, _)| joint.p(t)),
                low95_together: critical.map(|c| a.estimate - c),
                high95_together: critical.map(|c| a.estimate + c),
                p_scheffe: f_above(t * t / df1, df1, a.df),
                low95_scheffe: a.estimate - wide,
                high95_scheffe: a.estimate + wide,
            }
        })
        .collect()
}

/// The joint answer: the covariance of two contrasts follows from the variances of differences,
/// Cov(Σ wᵢ mᵢ, Σ vⱼ mⱼ) = −½ Σᵢ Σⱼ wᵢ vⱼ Var(mᵢ − mⱼ).
///
/// None where their degrees of freedom differ or there are too many of them.
fn together(estimates: &Estimates, answers: &[Answer]) -> Option<(Together, f64)> {
    let df = answers.first()?.df;
    if answers
        .iter()
        .any(|a| a.df != df && (a.df - df).abs() > 1e-6 * df)
    {
        return None;
    }
    let k = estimates.levels.len();
    let covariance = |w: &[f64], v: &[f64]| -> Option<f64> {
        let mut total = 0.0;
        for i in (0..k).filter(|&i| w[i] != 0.0) {
            for j in (0..k).filter(|&j| j != i && v[j] != 0.0) {
                let (_, se, _) = estimates.difference(i, j)?;
                total -= 0.5 * w[i] * v[j] * se * se;
            }
        }
        Some(total)
    };
    let m = answers.len();
    let mut correlation = nalgebra::DMatrix::identity(m, m);
    for (i, a) in answers.iter().enumerate() {
        for (j, b) in answers.iter().enumerate().filter(|(j, _)| *j != i) {
            correlation[(i, j)] = covariance(&a.weights, &b.weights)? / (a.se * b.se);
        }
    }
    let joint = Together::new(&correlation, df)?;
    let critical = joint.quantile(0.95);
    Some((joint, critical))
}

/// p-value and limits of Holm's test of the signs of several estimates (each: value, standard error,
/// degrees of freedom): of the 2m questions "is it above 0" and "is it below 0", each at 5 %, those
/// shown get 0 as their limit and the others share what is left (Strassburger and Bretz 2008,
/// Guilbaud 2008; from memory, held against independent values in the tests).
pub(crate) fn holm_limits(estimates: &[(f64, f64, f64)]) -> Vec<(f64, f64, f64)> {
    let p: Vec<f64> = estimates
        .iter()
        .flat_map(|(value, se, df)| [-1.0, 1.0].map(|way| t_below(way * value / se, *df)))
        .collect();
    let adjusted = adjust(&p, Adjustment::Holm);
    let shown: Vec<bool> = adjusted.iter().map(|p| *p <= 0.05).collect();
    let left = shown.iter().filter(|s| !**s).count().max(1) as f64;
    estimates
        .iter()
        .enumerate()
        .map(|(i, (value, se, df))| {
            let reach = t_quantile(1.0 - 0.05 / left, *df) * se;
            (
                adjusted[2 * i].min(adjusted[2 * i + 1]),
                if shown[2 * i] { 0.0 } else { value - reach },
                if shown[2 * i + 1] { 0.0 } else { value + reach },
            )
        })
        .collect()
}

fn refused(name: &str, what: String) -> Finding {
    Finding::new(Severity::Stop, Code::Contrast, name.to_owned(), what)
}

fn answer(estimates: &Estimates, contrast: &WantedContrast, weights: Vec<f64>) -> Option<Answer> {
    let (mut estimate, mut variance, mut df) = (0.0, 0.0, f64::INFINITY);
    for (i, w) in weights.iter().enumerate().filter(|(_, w)| **w != 0.0) {
        estimate += w * estimates.means[i]?.0;
        for (j, v) in weights.iter().enumerate().skip(i + 1) {
            if *v != 0.0 {
                let (_, se, of_pair) = estimates.difference(i, j)?;
                variance -= w * v * se * se;
                df = df.min(of_pair);
            }
        }
    }
    let se = variance.max(0.0).sqrt();
    let p = of(estimate, se, df).p;
    p.is_finite().then(|| Answer {
        name: contrast.name.clone(),
        weights,
        estimate,
        se,
        df,
        p,
    })
}

/// Dunn's comparisons of mean ranks with Holm's p-values, for one treatment without blocks.
pub(super) fn by_ranks(laid: &Laid) -> Result<Vec<ComparisonLine>, Vec<Finding>> {
    let [treatment] = laid.treatments.as_slice() else {
        return Err(no_ranks("ranks compare the levels of one treatment"));
    };
    if !laid.blocks.is_empty() {
        return Err(no_ranks(
            "ranks over all units would mix the blocks; Friedman’s test among the checks ranks within them",
        ));
    }
    let found = ranks::dunn(
        &treatment.codes,
        &laid.y,
        treatment.levels.len(),
        Adjustment::Holm,
    )
    .ok_or_else(|| no_ranks("all values are alike, so ranks tell nothing"))?;
    let line = |r: &ranks::RankPair| ComparisonLine {
        a: treatment.levels[r.a].clone(),
        b: treatment.levels[r.b].clone(),
        term: treatment.name.clone(),
        scale: Scale::Amount,
        difference: r.difference,
        low95: None,
        high95: None,
        p_adjusted: r.p_adjusted,
        method: "Dunn on mean ranks, Holm".to_owned(),
        se: r.se,
        df: None,
    };
    Ok(found.iter().map(line).collect())
}

fn no_ranks(what: &str) -> Vec<Finding> {
    vec![
        Finding::new(Severity::Stop, Code::ByRanks, "by-ranks", what)
            .help("leave --by-ranks out, or analyse one treatment without blocks"),
    ]
}
