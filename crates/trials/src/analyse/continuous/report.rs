//! Puts the parts together: means, comparisons, checks, effect.

use super::Fitted;
use crate::Code;
use crate::analyse::estimates::Estimates;
use crate::analyse::structure::Laid;
use crate::analyse::{
    Analysis, AnalysisRequest, CheckLine, EffectSize, ResidualPoint, Scale, VarianceLine, Wanted,
    checks, contrasts,
};
use crate::stats::box_cox;
use crate::stats::compare::pairs;
use crate::stats::design::{Coding, Design};
use crate::stats::effect::effect;
use measure::{Finding, Severity};

/// Puts the parts together: means, comparisons, checks, effect.
pub(crate) fn assemble(
    laid: &Laid,
    request: &AnalysisRequest,
    mut findings: Vec<Finding>,
    fitted: Fitted,
    (scale, risk): (Scale, f64),
) -> Result<Analysis, Vec<Finding>> {
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
    let control =
        super::super::control_of(request, estimates.iter().map(|(e, _)| e.levels.as_slice()))?;
    let find = |e: &Estimates| {
        control
            .as_ref()
            .and_then(|c| e.levels.iter().position(|l| l == c))
    };
    let better = request
        .better
        .or(super::super::known(request).map(|a| a.better));
    let mut means = Vec::new();
    let mut comparisons = Vec::new();
    let mut equivalence = Vec::new();
    for (own, compared) in &estimates {
        let control = find(own).filter(|_| request.wanted != Wanted::AllPairs);
        let (mut m, c) = own.lines(control, guard, *compared, scale, risk);
        for mean in &mut m {
            scale.carry_back(mean);
        }
        means.extend(m);
        comparisons.extend(c);
        if let (Some(margin), Some(control), true) = (request.margin, find(own), *compared) {
            let (own, margin) = on_own_scale(own, margin, scale);
            let scale = match scale {
                Scale::LogOdds => Scale::Share,
                Scale::LogRate => Scale::Amount,
                own => own,
            };
            equivalence.extend(own.equivalence(control, margin, better, scale));
        }
    }
    let named = |e: &Estimates| {
        let all = request.contrasts.iter().flat_map(|c| &c.weights);
        all.into_iter().all(|(level, _)| e.levels.contains(level))
    };
    let asked = estimates.iter().map(|(e, _)| e);
    let contrasts = match asked
        .clone()
        .find(|e| named(e))
        .or_else(|| asked.clone().next())
    {
        Some(e) => contrasts::contrasts(e, &request.contrasts)?,
        None => Vec::new(),
    };
    let least = laid.least_units();
    if least < 3 && laid.blocks.is_empty() {
        findings.push(
            Finding::new(
                Severity::Warn,
                Code::FewUnits,
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
    if scale == Scale::Amount {
        checks.extend(box_cox_check(laid, &mut findings));
    }
    let effect = test
        .as_ref()
        .and_then(|(term, test)| Some((term, effect(test)?)))
        .map_or_else(EffectSize::default, |(term, e)| {
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
            studentised: studentised[i],
        })
        .collect();
    Ok(Analysis {
        measure: match scale {
            Scale::LogOdds | Scale::Share => "share".into(),
            _ => laid.measure.clone(),
        },
        method,
        table,
        means,
        comparisons,
        contrasts,
        variance,
        checks,
        effect,
        equivalence,
        findings,
        residuals: points,
        ..super::empty(laid, request)
    })
}

/// Differences of shares or rates from those of their logarithms, by their slope halfway, and the
/// margin as a share.
fn on_own_scale(own: &Estimates, margin: f64, scale: Scale) -> (Estimates, f64) {
    let margin = match scale {
        Scale::LogOdds | Scale::Share => margin / 100.0,
        _ => margin,
    };
    if matches!(scale, Scale::Amount | Scale::Share | Scale::LogOddsOfHigher) {
        return (own.clone(), margin);
    }
    let mut out = own.clone();
    for ((a, b), d) in pairs(own.levels.len())
        .into_iter()
        .zip(&mut out.differences)
    {
        if let (Some((value, se, _)), Some(a), Some(b)) = (d.as_mut(), own.means[a], own.means[b]) {
            let (a, b) = (a.0, b.0);
            let change = scale.back(a) - scale.back(b);
            let slope = if (a - b).abs() > 1e-9 {
                (change / (a - b)).abs()
            } else {
                let h = 1e-5;
                (scale.back(a + h) - scale.back(a - h)) / (2.0 * h)
            };
            *value = change;
            *se *= slope;
        }
    }
    (out, margin)
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
            Finding::new(Severity::Note, Code::Transformation, "scale", "the spread grows with the mean")
                .help("analyse the logarithm as well; ratios may describe the treatments better than differences"),
        );
        "the logarithm would even out the spread".to_string()
    } else {
        format!("a power between {low:.2} and {high:.2} would even out the spread")
    };
    Some(checks::line("Box–Cox power", hint.power, None, says))
}
