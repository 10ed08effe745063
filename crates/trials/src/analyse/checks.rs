//! Checks of the assumptions, and second opinions by ranks.

use super::CheckLine;
use super::rows::rows_in_words;
use super::structure::Laid;
use crate::Code;
use crate::stats::design::Factor;
use crate::stats::distribution::t_quantile;
use crate::stats::nonadditivity::nonadditivity;
use crate::stats::outlier;
use crate::stats::ranks;
use crate::stats::shapiro::shapiro_wilk;
use crate::stats::spread;
use measure::{Finding, Severity};

/// Sums of orderings that are looked through, over all blocks, for an exact answer by ranks: a few
/// milliseconds.
const ORDERINGS: usize = 100_000;

/// A check line; a number that isn't finite (nothing varies) is told as absent.
pub(super) fn line(
    check: &str,
    statistic: impl Into<Option<f64>>,
    p: impl Into<Option<f64>>,
    says: impl Into<String>,
) -> CheckLine {
    let finite = |v: Option<f64>| v.filter(|v| v.is_finite());
    CheckLine {
        check: check.into(),
        statistic: finite(statistic.into()),
        p: finite(p.into()),
        says: says.into(),
    }
}

/// Are the residuals of normal shape?
pub(super) fn shape(residuals: &[f64]) -> Option<CheckLine> {
    let found = shapiro_wilk(residuals)?;
    let says = if found.p < 0.05 {
        "the residuals are not of normal shape; with few batches compare with the answer by ranks, or transform"
    } else {
        "nothing speaks against normal residuals"
    };
    Some(line("Shapiro–Wilk on residuals", found.w, found.p, says))
}

/// Are the variances equal?
pub(super) fn variances(treatment: &Factor, y: &[f64]) -> Option<CheckLine> {
    if treatment.counts().iter().any(|n| *n < 2) {
        return None;
    }
    let found = spread::brown_forsythe(&treatment.codes, y, treatment.levels.len())?;
    let says = if found.p < 0.05 {
        "the treatments vary by different amounts"
    } else {
        "nothing speaks against equal variances"
    };
    Some(line("Brown–Forsythe", found.f, found.p, says))
}

/// Residuals that stand out: a check line, and a finding for each.
pub(crate) fn outliers(
    studentised: &[Option<f64>],
    rows: &[Vec<usize>],
    df: f64,
    findings: &mut Vec<Finding>,
) -> Option<CheckLine> {
    let known = || {
        studentised
            .iter()
            .enumerate()
            .filter_map(|(i, t)| Some((i, (*t)?)))
    };
    let (at, largest) = known().max_by(|a, b| a.1.abs().total_cmp(&b.1.abs()))?;
    let n = studentised.len();
    let p = outlier::bonferroni_p(largest, n, df)?;
    // The largest bounds the others: a p-value for each of a million would be one integral each.
    let limit = t_quantile(1.0 - 0.025 / n as f64, df - 1.0);
    for (i, t) in known().filter(|_| p < 0.05) {
        if t.abs() > limit {
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

/// Kruskal and Wallis's answer without blocks; with one block factor Friedman's where it is complete
/// (exact where all orderings can be looked through), Skillings and Mack's where it isn't, and
/// Page's along levels that are amounts.
pub(super) fn by_ranks(laid: &Laid, treatment: &Factor) -> Vec<CheckLine> {
    let says = |p: f64| {
        if p < 0.05 {
            "by ranks the treatments differ"
        } else {
            "by ranks no difference is shown"
        }
    };
    if laid.blocks.is_empty() {
        let found = ranks::kruskal_wallis(&treatment.codes, &laid.y, treatment.levels.len());
        return found
            .map(|f| line("Kruskal–Wallis", f.statistic, f.p, says(f.p)))
            .into_iter()
            .collect();
    }
    let Some(table) = complete_table(laid, treatment) else {
        let found = in_blocks(laid, treatment).and_then(|t| ranks::skillings_mack(&t));
        return found
            .map(|f| line("Skillings–Mack", f.test.statistic, f.test.p, says(f.test.p)))
            .into_iter()
            .collect();
    };
    let mut lines = Vec::new();
    if let Some(found) = ranks::friedman(&table) {
        let exact = ranks::friedman_exact(&table, ORDERINGS);
        let p = exact.unwrap_or(found.p);
        let how = if exact.is_some() {
            "; exact, over all orderings"
        } else {
            ""
        };
        let told = format!("{}{how}", says(p));
        lines.push(line("Friedman", found.statistic, p, told));
    }
    lines.extend(along_amounts(treatment, &table));
    lines
}

/// Do values rise along levels that are amounts?
fn along_amounts(treatment: &Factor, table: &[Vec<f64>]) -> Option<CheckLine> {
    let mut order: Vec<(usize, f64)> = treatment
        .levels
        .iter()
        .enumerate()
        .map(|(at, level)| Some((at, level.parse().ok().filter(|v: &f64| v.is_finite())?)))
        .collect::<Option<_>>()?;
    if order.len() < 3 {
        return None;
    }
    order.sort_by(|a, b| a.1.total_cmp(&b.1));
    let sorted: Vec<Vec<f64>> = table
        .iter()
        .map(|row| order.iter().map(|(at, _)| row[*at]).collect())
        .collect();
    let found = ranks::page(&sorted, ORDERINGS)?;
    // Either direction counts; the exact chance is of a rise.
    let one_sided = found.p_exact.unwrap_or(found.p);
    let p = (2.0 * one_sided.min(1.0 - one_sided)).min(1.0);
    let way = if found.z > 0.0 { "rise" } else { "fall" };
    let says = if p < 0.05 {
        format!("by ranks values {way} along {}", treatment.name)
    } else {
        format!("by ranks no rise or fall along {} is shown", treatment.name)
    };
    Some(line("Page's trend by ranks", found.l, p, says))
}

/// Tukey's test whether blocks and treatments multiply instead of adding.
pub(super) fn additive(laid: &Laid, treatment: &Factor) -> Option<CheckLine> {
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

/// `table[block][treatment]` with gaps, when each treatment occurs at most once in each of one block
/// factor.
fn in_blocks(laid: &Laid, treatment: &Factor) -> Option<Vec<Vec<Option<f64>>>> {
    let [block] = laid.blocks.as_slice() else {
        return None;
    };
    let mut table = vec![vec![None; treatment.levels.len()]; block.levels.len()];
    for (i, y) in laid.y.iter().enumerate() {
        let cell: &mut Option<f64> = &mut table[block.codes[i]][treatment.codes[i]];
        if cell.replace(*y).is_some() {
            return None;
        }
    }
    Some(table)
}

/// `table[block][treatment]` when each treatment occurs once in each of one block factor.
pub(crate) fn complete_table(laid: &Laid, treatment: &Factor) -> Option<Vec<Vec<f64>>> {
    in_blocks(laid, treatment)?
        .into_iter()
        .map(|row| row.into_iter().collect())
        .collect()
}
