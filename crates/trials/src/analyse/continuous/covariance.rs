//! Treatments beside amounts measured before or along with them: parallel slopes after a test of
//! slopes, means adjusted to the covariate's mean.

use super::{Fitted, line};
use crate::Code;
use crate::analyse::estimates::{Estimates, Guard};
use crate::analyse::structure::Laid;
use crate::analyse::{VarianceLine, checks};
use crate::stats::anova::level_sets;
use crate::stats::compare::pairs;
use crate::stats::design::{Coding, Design, interactions};
use crate::stats::least_squares::{Fit, fit};
use crate::stats::moments;
use crate::stats::one_way::FTest;
use crate::stats::outlier::studentised;
use measure::{Finding, Severity};

/// Fixed treatments and blocks with covariates.
pub(super) fn covariance(laid: &Laid, findings: &mut Vec<Finding>) -> Result<Fitted, Vec<Finding>> {
    let b = laid.blocks.len();
    let t = laid.treatments.len();
    let own: Vec<usize> = (b..b + t).collect();
    let mut terms: Vec<Vec<usize>> = (0..b).map(|i| vec![i]).collect();
    terms.extend(interactions(&own, t.min(3)));
    let design = Design {
        factors: laid
            .blocks
            .iter()
            .chain(&laid.treatments)
            .cloned()
            .collect(),
        terms,
        coding: Coding::SumToZero,
    };
    let owners = design.owners();
    let columns = super::with_covariates(design.columns(), laid);
    let width = columns.len();
    let found = fit(&columns, &laid.y);
    let (s2, df) = (found.variance().ok_or_else(super::no_error_left)?, found.df);
    // What the columns of a term bring after all others.
    let test_of = |gone: &dyn Fn(usize) -> bool| -> Option<(f64, f64, FTest)> {
        let kept: Vec<Vec<f64>> = (0..width)
            .filter(|&c| !gone(c))
            .map(|c| columns[c].clone())
            .collect();
        let less = fit(&kept, &laid.y);
        let own_df = less.df - df;
        (own_df > 0.0).then(|| {
            let sum_sq = (less.rss - found.rss).max(0.0);
            (own_df, sum_sq, FTest::new(sum_sq / own_df / s2, own_df, df))
        })
    };
    let mut table = Vec::new();
    let mut lead = None;
    let mut interacts = false;
    for (at, term) in design.terms.iter().enumerate() {
        let name = design.term_name(at);
        let Some((own_df, sum_sq, test)) =
            test_of(&|c| owners.get(c).copied().flatten() == Some(at))
        else {
            findings.push(Finding::new(
                Severity::Warn,
                Code::NotEstimable,
                name.clone(),
                format!("{name} is aliased with other terms and can't be estimated"),
            ));
            continue;
        };
        if term.iter().all(|f| *f >= b) {
            interacts |= term.len() > 1 && test.p < 0.05;
            lead.get_or_insert((name.clone(), test));
        }
        table.push(line(&name, own_df, sum_sq, Some((test.f, test.p, df))));
    }
    let mut lines: Vec<_> = Vec::new();
    for (i, (name, values)) in laid.covariates.iter().enumerate() {
        let column = owners.len() + i;
        if let Some((own_df, sum_sq, test)) = test_of(&|c| c == column) {
            table.push(line(name, own_df, sum_sq, Some((test.f, test.p, df))));
            let middle = moments::mean(values).map_or_else(String::new, |m| format!("{m:.4}"));
            lines.push(checks::line(
                &format!("slope along {name}"),
                found.coefficients[column],
                test.p,
                format!("means are told at {name} = {middle}"),
            ));
        }
        // Do slopes differ between treatments?
        let combined = laid.combined();
        let mut with_slopes = columns.clone();
        for level in 1..combined.levels.len() {
            with_slopes.push(
                (0..values.len())
                    .map(|r| f64::from(u8::from(combined.codes[r] == level)) * columns[column][r])
                    .collect(),
            );
        }
        let more = fit(&with_slopes, &laid.y);
        let own_df = df - more.df;
        if let Some(error) = more.variance().filter(|_| own_df > 0.0) {
            let test = FTest::new(
                (found.rss - more.rss).max(0.0) / own_df / error,
                own_df,
                more.df,
            );
            let says = if test.p < 0.05 {
                findings.push(
                    Finding::new(
                        Severity::Warn,
                        Code::SlopesDiffer,
                        name.clone(),
                        format!(
                            "the response follows {name} differently under different treatments, so no one difference between them holds: those told are at the mean of {name}"
                        ),
                    )
                    .help("look at the treatments at a low and at a high value of the covariate"),
                );
                "slopes differ between treatments"
            } else {
                "nothing speaks against equal slopes"
            };
            lines.push(checks::line(
                &format!("slopes along {name}"),
                test.f,
                test.p,
                says,
            ));
        }
    }
    table.push(line("residual", df, found.rss, None));
    let combine = |row: &[f64]| -> Option<(f64, f64, f64)> {
        let mut row = row.to_vec();
        row.resize(width, 0.0);
        of(&found, &row, s2, df)
    };
    let build = |factors: &[usize]| -> Estimates {
        let sets: Vec<Vec<(usize, usize)>> = level_sets(&design, factors)
            .into_iter()
            .filter(|s| {
                (0..laid.y.len()).any(|i| s.iter().all(|&(f, l)| design.factors[f].codes[i] == l))
            })
            .collect();
        let rows: Vec<Vec<f64>> = sets.iter().map(|s| design.marginal_row(s)).collect();
        let name = |s: &[(usize, usize)]| {
            let levels = s.iter().map(|&(f, l)| design.factors[f].levels[l].as_str());
            levels.collect::<Vec<_>>().join(":")
        };
        let many = |s: &[(usize, usize)]| {
            (0..laid.y.len())
                .filter(|&i| s.iter().all(|&(f, l)| design.factors[f].codes[i] == l))
                .count()
        };
        let names = factors.iter().map(|&f| design.factors[f].name.as_str());
        Estimates {
            term: names.collect::<Vec<_>>().join(":"),
            families: 1.0,
            levels: sets.iter().map(|s| name(s)).collect(),
            n: sets.iter().map(|s| many(s)).collect(),
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
    let mut estimates: Vec<(Estimates, bool)> = own
        .iter()
        .map(|&f| (build(&[f]), t == 1 || !interacts))
        .collect();
    if t > 1 {
        estimates.push((build(&own), interacts));
    }
    let names: Vec<&str> = laid.covariates.iter().map(|c| c.0.as_str()).collect();
    Ok(Fitted {
        method: format!(
            "analysis of covariance beside {}: parallel slopes, means at the covariate's mean",
            names.join(", ")
        ),
        table,
        estimates,
        guard: Guard::Common,
        variance: vec![VarianceLine {
            term: "residual".into(),
            value: s2,
        }],
        checks: lines,
        test: lead,
        studentised: studentised(&found.residuals, &found.leverage, found.rss, df),
        fitted: found.fitted.clone(),
        residuals: found.residuals.clone(),
        df,
    })
}

fn of(found: &Fit, row: &[f64], s2: f64, df: f64) -> Option<(f64, f64, f64)> {
    let (value, form) = found.combine(row)?;
    Some((value, (form * s2).sqrt(), df))
}
