//! Questions of one's own: weighted sums of means, guarded for there being several and for having been thought of late.

use super::ComparisonLine;
use super::estimates::Estimates;
use super::structure::Laid;
use crate::stats::adjust::{Adjustment, adjust};
use crate::stats::contrast::{of, scheffe_critical};
use crate::stats::distribution::{f_above, t_quantile};
use crate::stats::ranks;
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
pub fn contrasts(
    estimates: &Estimates,
    wanted: &[WantedContrast],
) -> Result<Vec<ContrastLine>, Vec<Finding>> {
    let k = estimates.levels.len();
    let mut problems = Vec::new();
    let mut lines = Vec::new();
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
        match answer(estimates, contrast, &weights) {
            Some(line) => lines.push(line),
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
    let p: Vec<f64> = lines.iter().map(|l| l.p).collect();
    for (line, p) in lines.iter_mut().zip(adjust(&p, Adjustment::Holm)) {
        line.p_holm = p;
    }
    Ok(lines)
}

fn refused(name: &str, what: String) -> Finding {
    Finding::new(Severity::Stop, "contrast", name.to_owned(), what)
}

fn answer(
    estimates: &Estimates,
    contrast: &WantedContrast,
    weights: &[f64],
) -> Option<ContrastLine> {
    let k = weights.len();
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
    let one = of(estimate, se, df);
    let half = t_quantile(0.975, df) * se;
    let wide = scheffe_critical(k, df, 0.95) * se;
    let df1 = k as f64 - 1.0;
    one.p.is_finite().then(|| ContrastLine {
        name: contrast.name.clone(),
        estimate,
        se,
        df: df.is_finite().then_some(df),
        low95: estimate - half,
        high95: estimate + half,
        p: one.p,
        p_holm: one.p,
        p_scheffe: f_above(one.t * one.t / df1, df1, df),
        low95_scheffe: estimate - wide,
        high95_scheffe: estimate + wide,
    })
}

/// Dunn's comparisons of mean ranks with Holm's p-values, for one treatment without blocks.
pub fn by_ranks(laid: &Laid) -> Result<Vec<ComparisonLine>, Vec<Finding>> {
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
    );
    let line = |r: &ranks::RankPair| ComparisonLine {
        a: treatment.levels[r.a].clone(),
        b: treatment.levels[r.b].clone(),
        term: treatment.name.clone(),
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
        Finding::new(Severity::Stop, "by-ranks", "by-ranks", what)
            .help("leave --by-ranks out, or analyse one treatment without blocks"),
    ]
}
