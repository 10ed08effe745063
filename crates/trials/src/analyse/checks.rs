//! Checks of the assumptions, and second opinions by ranks.

use super::CheckLine;
use super::rows::rows_in_words;
use super::structure::Laid;
use crate::Code;
use crate::stats::design::Factor;
use crate::stats::nonadditivity::nonadditivity;
use crate::stats::outlier;
use crate::stats::ranks;
use crate::stats::shapiro::shapiro_wilk;
use crate::stats::spread;
use measure::{Finding, Severity};

/// A check line.
pub fn line(check: &str, statistic: f64, p: f64, says: impl Into<String>) -> CheckLine {
    let finite = |v: f64| v.is_finite().then_some(v);
    CheckLine {
        check: check.into(),
        statistic: finite(statistic),
        p: finite(p),
        says: says.into(),
    }
}

/// Are the residuals of normal shape?
pub fn shape(residuals: &[f64]) -> Option<CheckLine> {
    let found = shapiro_wilk(residuals)?;
    let says = if found.p < 0.05 {
        "the residuals are not of normal shape; with few batches compare with the answer by ranks, or transform"
    } else {
        "nothing speaks against normal residuals"
    };
    Some(line("Shapiro–Wilk on residuals", found.w, found.p, says))
}

/// Are the variances equal?
pub fn variances(treatment: &Factor, y: &[f64]) -> Option<CheckLine> {
    if treatment.counts().iter().any(|n| *n < 2) {
        return None;
    }
    let found = spread::brown_forsythe(&treatment.codes, y, treatment.levels.len());
    if !found.f.is_finite() {
        return None;
    }
    let says = if found.p < 0.05 {
        "the treatments vary by different amounts"
    } else {
        "nothing speaks against equal variances"
    };
    Some(line("Brown–Forsythe", found.f, found.p, says))
}

/// Residuals that stand out: a check line, and a finding for each.
pub fn outliers(
    studentised: &[f64],
    rows: &[Vec<usize>],
    df: f64,
    findings: &mut Vec<Finding>,
) -> Option<CheckLine> {
    let (at, largest) = studentised
        .iter()
        .enumerate()
        .filter(|(_, t)| t.is_finite())
        .max_by(|a, b| a.1.abs().total_cmp(&b.1.abs()))?;
    let n = studentised.len();
    let p = outlier::bonferroni_p(*largest, n, df);
    for (i, t) in studentised.iter().enumerate() {
        if t.is_finite() && outlier::bonferroni_p(*t, n, df) < 0.05 {
            findings.push(
                Finding::new(
                    Severity::Warn,
                    Code::Outlier,
                    rows_in_words(&rows[i]),
                    format!(
                        "{} stands out: {:.1} standard errors from what the rest predict",
                        rows_in_words(&rows[i]),
                        t.abs()
                    ),
                )
                .help("look at the batch sheet; it stays in unless it is left out with a reason, and then both answers are shown"),
            );
        }
    }
    let says = if p < 0.05 {
        format!("{} stands out", rows_in_words(&rows[at]))
    } else {
        "no batch stands out".into()
    };
    Some(line(
        "largest studentised residual (Bonferroni)",
        largest.abs(),
        p,
        says,
    ))
}

/// Kruskal and Wallis's answer without blocks, Friedman's with one complete block factor.
pub fn by_ranks(laid: &Laid, treatment: &Factor) -> Option<CheckLine> {
    let says = |p: f64| {
        if p < 0.05 {
            "by ranks the treatments differ"
        } else {
            "by ranks no difference is shown"
        }
    };
    if laid.blocks.is_empty() {
        let found = ranks::kruskal_wallis(&treatment.codes, &laid.y, treatment.levels.len());
        return Some(line(
            "Kruskal–Wallis",
            found.statistic,
            found.p,
            says(found.p),
        ));
    }
    let found = ranks::friedman(&complete_table(laid, treatment)?);
    Some(line("Friedman", found.statistic, found.p, says(found.p)))
}

/// Tukey's test whether blocks and treatments multiply instead of adding.
pub fn additive(laid: &Laid, treatment: &Factor) -> Option<CheckLine> {
    let found = nonadditivity(&complete_table(laid, treatment)?)?;
    let says = if found.p < 0.05 {
        "treatment differences grow or shrink with the block's level: look at the logarithm"
    } else {
        "nothing speaks against treatments adding to blocks"
    };
    found
        .f
        .is_finite()
        .then(|| line("Tukey's nonadditivity", found.f, found.p, says))
}

/// `table[block][treatment]` when each treatment occurs once in each of one block factor.
pub fn complete_table(laid: &Laid, treatment: &Factor) -> Option<Vec<Vec<f64>>> {
    let [block] = laid.blocks.as_slice() else {
        return None;
    };
    let (b, t) = (block.levels.len(), treatment.levels.len());
    if laid.y.len() != b * t {
        return None;
    }
    let mut table = vec![vec![f64::NAN; t]; b];
    for (i, y) in laid.y.iter().enumerate() {
        table[block.codes[i]][treatment.codes[i]] = *y;
    }
    table
        .iter()
        .flatten()
        .all(|v| v.is_finite())
        .then_some(table)
}
