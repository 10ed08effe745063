//! Limits beside the treatments: kept, broken, or not sure enough.

use super::{Compared, Figure};
use crate::model::{FigureLimit, Study};
use trials::stats::distribution::normal_below;

/// How a treatment stands to a limit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LimitStands {
    /// The figure; none where it isn't known, and then neither is whether the limit is kept.
    pub value: Option<f64>,
    /// Whether it is kept, as surely as it has to be; none where that can't be told.
    pub kept: Option<bool>,
    /// The probability that it is kept, where the figure has limits: as if it were normal between them.
    pub probability: Option<f64>,
}

/// Each limit of a study with how each treatment stands to it, in the order of the comparison.
///
/// ```
/// use study::compare::limits;
/// use study::{BakeOptions, compare};
/// let text = include_str!("../../../../examples/spent-grain.toml").replace(
///     "\n[piece]",
///     "\n[[limits]]\nfigure = \"bake.time_min\"\nat_most = 14.5\n\n[piece]",
/// );
/// let study = study::written::read(&text).unwrap();
/// let compared = compare(&study, &[&study.treatments[1]], &BakeOptions::QUICK).unwrap();
/// let told = limits(&study, &compared);
/// // 13.9 and 14.8 min.
/// assert_eq!(told[0].1.iter().map(|s| s.kept).collect::<Vec<_>>(), [Some(true), Some(false)]);
/// ```
pub fn limits<'s>(
    study: &'s Study,
    compared: &[Compared],
) -> Vec<(&'s FigureLimit, Vec<LimitStands>)> {
    let of = |limit: &'s FigureLimit| {
        let stands = compared.iter().map(|c| stands(limit, c)).collect();
        (limit, stands)
    };
    study.limits.iter().map(of).collect()
}

fn stands(limit: &FigureLimit, compared: &Compared) -> LimitStands {
    let value = limit.figure.told(&compared.answer).ok();
    let probability = value.and_then(|v| probability(limit, v, compared, limit.figure));
    let kept = match (limit.probability, probability) {
        (Some(wanted), Some(p)) => Some(p >= wanted),
        // How sure it is isn't worked out yet: only a broken one is told.
        (Some(_), None) => value.filter(|v| !limit.keeps(*v)).map(|_| false),
        (None, _) => value.map(|v| limit.keeps(v)),
    };
    LimitStands {
        value,
        kept,
        probability,
    }
}

fn probability(
    limit: &FigureLimit,
    value: f64,
    compared: &Compared,
    figure: Figure,
) -> Option<f64> {
    let spread = compared.spread.as_ref()?;
    let limits = spread.figures.get(figure.about().key)?;
    // Each side by its own half width.
    let below = |x: f64| {
        let half = if x < value {
            value - limits.low95
        } else {
            limits.high95 - value
        };
        normal_below(1.96 * (x - value) / half.max(1e-12))
    };
    let most = limit.at_most.map_or(1.0, below);
    let least = limit.at_least.map_or(0.0, below);
    Some((most - least).max(0.0))
}
