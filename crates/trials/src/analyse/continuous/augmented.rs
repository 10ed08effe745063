//! A factorial with one control beside it.

use super::fixed::term_estimates;
use super::{Fitted, line};
use crate::analyse::estimates::Guard;
use crate::analyse::structure::Laid;
use crate::analyse::{TableLine, VarianceLine, checks};
use crate::stats::anova::{SumsType, anova};
use crate::stats::design::{Coding, Design};
use crate::stats::least_squares;
use crate::stats::one_way::FTest;
use crate::stats::outlier::studentised;
use measure::Finding;

/// Whether a combination of the treatments stands outside the factorial: each of its levels occurs
/// in it alone, and the rest is crossed.
pub(super) fn augmented(laid: &Laid) -> Option<usize> {
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
pub(super) fn factorial_and_control(laid: &Laid, control: usize) -> Result<Fitted, Vec<Finding>> {
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
    let (s2, df) = (fit.variance().ok_or_else(super::no_error_left)?, fit.df);
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
    Ok(Fitted {
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
    })
}
