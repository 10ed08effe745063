//! Do the methods keep their promises? Seeded trials with a known truth: how often 95 % intervals
//! cover it, and how often Tukey's family finds a difference where there is none.

use super::anova::{SumsType, anova};
use super::compare::pairs;
use super::design::{Coding, Design, Factor};
use super::distribution::{normal_quantile, t_quantile};
use super::mixed::{Mixed, RandomTerm};
use super::one_way::{Group, from_groups};
use super::studentized_range;
use crate::random::SplitMix64;

/// A layout to try.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Layout {
    /// Four treatments, five batches each.
    OneWay,
    /// Four treatments, 3 to 7 batches each.
    OneWayUnequal,
    /// Four treatments in six blocks.
    Blocks,
    /// Two oven settings on whole plots in five blocks, three formulas within; formulas compared.
    SplitPlot,
    /// The same; oven settings compared.
    SplitPlotWhole,
    /// Four treatments, three batches of ten pieces each, analysed by batch means.
    BatchMeans,
    /// The same data with pieces taken as replicates: what must not be done.
    PiecesAsReplicates,
}

impl Layout {
    /// Every layout.
    pub const ALL: [Self; 7] = [
        Self::OneWay,
        Self::OneWayUnequal,
        Self::Blocks,
        Self::SplitPlot,
        Self::SplitPlotWhole,
        Self::BatchMeans,
        Self::PiecesAsReplicates,
    ];

    /// In words.
    pub const fn word(self) -> &'static str {
        match self {
            Self::OneWay => "one-way, 4 × 5 batches",
            Self::OneWayUnequal => "one-way, 3, 4, 5 and 7 batches",
            Self::Blocks => "4 treatments in 6 blocks",
            Self::SplitPlot => "split plot, formulas within (REML, Kenward–Roger)",
            Self::SplitPlotWhole => "split plot, oven settings (REML, Kenward–Roger)",
            Self::BatchMeans => "4 treatments × 3 batches × 10 pieces, by batch means",
            Self::PiecesAsReplicates => "the same, pieces wrongly taken as replicates",
        }
    }

    /// Whether the method is the right one for the layout.
    pub const fn sound(self) -> bool {
        !matches!(self, Self::PiecesAsReplicates)
    }
}

/// What came out.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Coverage {
    /// The layout.
    pub layout: Layout,
    /// Trials judged: those asked for, less any whose model did not settle.
    pub trials: u32,
    /// Share of 95 % intervals of a single difference that held the truth.
    pub interval: f64,
    /// Share of trials in which Tukey's family found any difference, there being none.
    pub family_error: f64,
}

fn normal(generator: &mut SplitMix64) -> f64 {
    normal_quantile(generator.unit().max(1e-300))
}

/// Runs seeded trials of a layout. There is no treatment effect, so the truth of every difference
/// is 0 (intervals and errors are the same under any effect: all methods are shift-equivariant).
pub fn coverage(layout: Layout, trials: u32, seed: u64) -> Coverage {
    let mut generator = SplitMix64::stream(seed, layout as u64);
    let critical = |k: usize, df: f64| studentized_range::quantile(0.95, k, df) / 2f64.sqrt();
    let (mut covered, mut intervals, mut family, mut judged) = (0.0, 0.0, 0.0, 0);
    // Judges the differences of one trial: each single interval, and the family.
    let mut judge = |differences: &[(f64, f64, f64)], family_t: &dyn Fn(f64) -> f64| {
        for (d, se, df) in differences {
            covered += f64::from(u8::from(d.abs() <= t_quantile(0.975, *df) * se));
            intervals += 1.0;
        }
        let any = differences
            .iter()
            .any(|(d, se, df)| (d / se).abs() > family_t(*df));
        family += f64::from(u8::from(any));
        judged += 1;
    };
    match layout {
        Layout::OneWay
        | Layout::OneWayUnequal
        | Layout::BatchMeans
        | Layout::PiecesAsReplicates => {
            let sizes: [usize; 4] = match layout {
                Layout::OneWay => [5; 4],
                Layout::OneWayUnequal => [3, 4, 5, 7],
                _ => [3; 4],
            };
            let pieces = if layout.sound() && layout != Layout::BatchMeans {
                0
            } else {
                10
            };
            let units: usize = sizes.iter().sum();
            let per = if layout.sound() { 1 } else { 10 };
            let df = (units * per - 4) as f64;
            let limit = critical(4, df);
            for _ in 0..trials {
                let groups: Vec<Group> = sizes
                    .iter()
                    .map(|&n| {
                        let mut values = Vec::new();
                        for _ in 0..n {
                            let batch = normal(&mut generator);
                            let own: Vec<f64> = (0..pieces)
                                .map(|_| batch + normal(&mut generator))
                                .collect();
                            match (pieces, layout.sound()) {
                                (0, _) => values.push(batch),
                                (_, true) => values.push(super::moments::mean(&own)),
                                (_, false) => values.extend(own),
                            }
                        }
                        Group::of(&values)
                    })
                    .collect();
                let table = from_groups(groups);
                let s2 = table.error_variance();
                let differences: Vec<(f64, f64, f64)> = pairs(4)
                    .into_iter()
                    .map(|(a, b)| {
                        let (a, b) = (&table.groups[a], &table.groups[b]);
                        let se = (s2 * (1.0 / a.n as f64 + 1.0 / b.n as f64)).sqrt();
                        (a.mean - b.mean, se, df)
                    })
                    .collect();
                judge(&differences, &|_| limit);
            }
        }
        Layout::Blocks => {
            let block = Factor {
                name: "block".into(),
                levels: (0..6).map(|i| i.to_string()).collect(),
                codes: (0..24).map(|i| i / 4).collect(),
            };
            let treatment = Factor {
                name: "treatment".into(),
                levels: (0..4).map(|i| i.to_string()).collect(),
                codes: (0..24).map(|i| i % 4).collect(),
            };
            let design = Design::factorial(vec![block, treatment], 1, Coding::SumToZero);
            let limit = critical(4, 15.0);
            for _ in 0..trials {
                let days: Vec<f64> = (0..6).map(|_| 2.0 * normal(&mut generator)).collect();
                let y: Vec<f64> = (0..24)
                    .map(|i| days[i / 4] + normal(&mut generator))
                    .collect();
                let found = anova(&design, &y, SumsType::I);
                let means = found.marginal_means(&[1]);
                let se = (found.fit.variance() / 3.0).sqrt();
                let differences: Vec<(f64, f64, f64)> = pairs(4)
                    .into_iter()
                    .map(|(a, b)| {
                        let mean = |i: usize| means[i].mean.unwrap_or(f64::NAN);
                        (mean(a) - mean(b), se, 15.0)
                    })
                    .collect();
                judge(&differences, &|_| limit);
            }
        }
        Layout::SplitPlot | Layout::SplitPlotWhole => {
            // Five days, two oven settings a day, three formulas an oven load.
            let codes = |f: fn(usize) -> usize| (0..30).map(f).collect::<Vec<_>>();
            let factor = |name: &str, levels: usize, codes: Vec<usize>| Factor {
                name: name.into(),
                levels: (0..levels).map(|i| i.to_string()).collect(),
                codes,
            };
            let oven = factor("oven", 2, codes(|i| (i / 3) % 2));
            let formula = factor("formula", 3, codes(|i| i % 3));
            let design = Design::factorial(vec![oven, formula], 2, Coding::SumToZero);
            let columns = design.columns();
            let random = [
                RandomTerm::intercept("day", codes(|i| i / 6)),
                RandomTerm::intercept("load", codes(|i| i / 3)),
            ];
            let (which, levels) = if layout == Layout::SplitPlot {
                (1, 3)
            } else {
                (0, 2)
            };
            let rows: Vec<Vec<f64>> = pairs(levels)
                .into_iter()
                .map(|(a, b)| {
                    let (a, b) = (
                        design.marginal_row(&[(which, a)]),
                        design.marginal_row(&[(which, b)]),
                    );
                    a.iter().zip(&b).map(|(a, b)| a - b).collect()
                })
                .collect();
            let mut known: Vec<(f64, f64)> = Vec::new();
            for _ in 0..trials {
                let days: Vec<f64> = (0..5).map(|_| 1.5 * normal(&mut generator)).collect();
                let loads: Vec<f64> = (0..10).map(|_| normal(&mut generator)).collect();
                let y: Vec<f64> = (0..30)
                    .map(|i| days[i / 6] + loads[i / 3] + normal(&mut generator))
                    .collect();
                let Ok(model) = Mixed::fit(&columns, &y, &random) else {
                    continue;
                };
                let differences: Vec<(f64, f64, f64)> = rows
                    .iter()
                    .filter_map(|r| model.combine(r).map(|c| (c.estimate, c.se, c.df)))
                    .collect();
                let df = differences
                    .first()
                    .map_or(f64::NAN, |d| (d.2 * 1e6).round() / 1e6);
                if !known.iter().any(|(d, _)| *d == df) {
                    known.push((df, critical(levels, df)));
                }
                let limit = known
                    .iter()
                    .find(|(d, _)| *d == df)
                    .map_or(f64::NAN, |k| k.1);
                judge(&differences, &|_| limit);
            }
        }
    }
    Coverage {
        layout,
        trials: judged,
        interval: covered / intervals,
        family_error: family / f64::from(judged),
    }
}
