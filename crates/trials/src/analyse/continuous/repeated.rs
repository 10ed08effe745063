//! Units measured again: time is a factor within the unit, treatments are judged between units.

use super::Fitted;
use super::random::{Model, block_terms, stopped, tell_zeros, told, with_covariates};
use crate::Code;
use crate::analyse::structure::{Again, Laid};
use crate::stats::design::{Coding, Design, cross};
use crate::stats::mixed::{Mixed, RandomTerm, Serial, SerialFit};
use measure::{Finding, Severity};

/// Cubed times of the units, summed, up to which fading correlation is tried.
///
/// - Units: cubed times \[1\]
/// - Source: a limit on time, measured here
const MOST_WORK: f64 = 1e6;

/// Treatments between units and time within them; how measurements of one unit go together is
/// chosen among three pictures by the restricted likelihood (AIC).
pub(super) fn repeated(
    laid: &Laid,
    again: &Again,
    findings: &mut Vec<Finding>,
) -> Result<Fitted, Vec<Finding>> {
    let t = laid.treatments.len();
    let mut factors = laid.treatments.clone();
    factors.push(again.time.clone());
    let combined = laid.combined();
    let subjects = cross(&[&combined, &again.subject]);
    let mut counts = vec![0; combined.levels.len()];
    let mut seen = vec![false; subjects.levels.len()];
    for (row, &subject) in subjects.codes.iter().enumerate() {
        if !std::mem::replace(&mut seen[subject], true) {
            counts[combined.codes[row]] += 1;
        }
    }
    if counts.iter().all(|c| *c < 2) && laid.blocks.is_empty() {
        return Err(vec![
            Finding::new(
                Severity::Stop,
                Code::OneBatchPerTreatment,
                combined.name.clone(),
                format!(
                    "there is one {} of each treatment, however often it was measured: the difference between treatments can't be told from the difference between units",
                    laid.unit
                ),
            )
            .help("make each treatment at least twice more"),
        ]);
    }
    let design = Design::factorial(factors, (t + 1).min(3), Coding::SumToZero);
    let columns = with_covariates(design.columns(), laid);
    let mut larger = block_terms(laid);
    if let Some(plots) = &laid.whole_plots {
        larger.push(RandomTerm::intercept("whole plot", plots.codes.clone()));
    }
    let mut with_units = larger.clone();
    with_units.push(RandomTerm::intercept(
        laid.unit.clone(),
        again.subject.codes.clone(),
    ));
    let even = Mixed::fit(&columns, &laid.y, &with_units).map_err(|e| stopped(&e))?;
    let serial = Serial {
        unit: again.subject.codes.clone(),
        time: again.when.clone(),
    };
    // A unit's times stand in one dense covariance.
    let times = again.subject.counts();
    let longest = times.iter().copied().max().unwrap_or(0);
    let work: f64 = times.iter().map(|n| (*n as f64).powi(3)).sum();
    let bearable = work <= MOST_WORK;
    let tried = |random: &[RandomTerm]| {
        bearable
            .then(|| SerialFit::fit(&columns, &laid.y, random, &serial).ok())
            .flatten()
    };
    let (fading, both) = (tried(&larger), tried(&with_units));
    if !bearable {
        findings.push(
            Finding::new(
                Severity::Warn,
                Code::TooManyTerms,
                again.time.name.clone(),
                format!(
                    "with {} of up to {longest} times each, correlation that fades with time wasn't tried",
                    times.len()
                ),
            )
            .help("take the mean of several times"),
        );
    }
    // AIC of the covariance: -2 ln L plus twice the parameters each has beyond the larger units.
    let mut chosen = (even.criterion + 4.0, 0);
    for (at, criterion) in [
        (1, fading.as_ref().map(|m| m.criterion + 4.0)),
        (2, both.as_ref().map(|m| m.criterion + 6.0)),
    ] {
        if criterion.is_some_and(|c| c < chosen.0) {
            chosen = (criterion.unwrap_or(f64::INFINITY), at);
        }
    }
    let (model, picture) = match (chosen.1, fading, both) {
        (1, Some(m), _) => (
            Model::Serial(Box::new(m)),
            "measurements of a unit are the more alike the closer in time (correlation fading with time)",
        ),
        (2, _, Some(m)) => (
            Model::Serial(Box::new(m)),
            "a level of its own per unit, and beside it correlation that fades with time",
        ),
        _ => {
            tell_zeros(&even, findings);
            (
                Model::Plain(Box::new(even)),
                "a level of its own per unit (all measurements of a unit equally alike)",
            )
        }
    };
    findings.push(Finding::new(
        Severity::Note,
        Code::MeasuredAgain,
        again.time.name.clone(),
        format!(
            "{} was measured again at each {}: it counts once, not once per {1}; {picture} fits best",
            laid.unit, again.time.name
        ),
    ));
    let own: Vec<usize> = (0..t).collect();
    let mut found = told(laid, &design, &own, Some(t), model, findings);
    found.method = format!(
        "repeated measurements: linear mixed model by REML, {picture}; Kenward–Roger degrees of freedom"
    );
    Ok(found)
}
