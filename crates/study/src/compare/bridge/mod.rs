//! Why a figure differs from the control's: a bridge of causes that sums to the difference.
//!
//! The causes are what a treatment has of its own. They are exchanged one after the other through the whole chain, from
//! the control to the treatment; what a figure moves by at a cause's turn is that cause's share. Where a turn comes
//! matters, so up to [`ALL_ORDERS`] causes take their turns in every order and the mean counts (the value of Shapley,
//! L. S., 1953, "A value for n-person games", which is the one share that is fair to every order); more causes take
//! them in the order of the work and in its reverse. The steps of one order sum to the difference, and so does their
//! mean.

mod cause;

pub use cause::{Cause, causes, mixed};

use super::Figure;
use crate::chain::{BakeOptions, Sample, run};
use crate::model::Treatment;
use crate::views::{KnockOn, knock_on};
use baking::bake::Workspace;
use rayon::prelude::*;
use schemars::JsonSchema;
use serde::Serialize;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

/// Most causes that take their turns in every order: sixteen mixtures of control and treatment.
pub const ALL_ORDERS: usize = 4;

/// Which causes have had their turn, a bit each.
type Taken = u64;

/// A cause and what the figure moves by at its turn.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Step {
    /// The cause, in words.
    pub cause: String,
    /// What the figure moves by.
    pub value: f64,
}

/// The way of a figure from the control to a treatment.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Bridge {
    /// The control's figure.
    pub from: f64,
    /// What each cause moves it by, in the order of the work.
    pub steps: Vec<Step>,
    /// The treatment's figure: `from` and all steps.
    pub to: f64,
    /// Orders of the causes whose mean the steps are.
    pub orders: usize,
}

impl Bridge {
    /// The steps as they are shown with so many decimals: rounded so that they still sum to the difference of the ends
    /// as those are shown, those that round to nothing left out, the largest first.
    ///
    /// ```
    /// use study::compare::bridge::{Bridge, Step};
    ///
    /// let step = |cause: &str, value| Step { cause: cause.to_owned(), value };
    /// let steps = vec![step("more water", 1.34), step("a lighter piece", -0.24), step("salt", 0.02)];
    /// let bridge = Bridge { from: 14.46, steps, to: 15.58, orders: 6 };
    /// let shown: Vec<(&str, f64)> = bridge.shown(1, |v| v);
    /// assert_eq!(shown, [("more water", 1.3), ("a lighter piece", -0.2)]);
    /// ```
    pub fn shown(&self, decimals: usize, unit: impl Fn(f64) -> f64) -> Vec<(&str, f64)> {
        let tens = 10f64.powi(decimals as i32);
        let whole = |v: f64| (unit(v) * tens).round();
        let gap = |v: f64| (unit(v) - unit(0.0)) * tens;
        let wanted = whole(self.to) - whole(self.from);
        let mut steps: Vec<(&str, f64, f64)> = self
            .steps
            .iter()
            .map(|s| (s.cause.as_str(), gap(s.value), gap(s.value).round()))
            .collect();
        // What rounding leaves goes, one by one, to the steps that it moves least.
        let left = wanted - steps.iter().map(|s| s.2).sum::<f64>();
        let by = left.signum();
        for _ in 0..left.abs() as usize {
            let lag = |s: &(&str, f64, f64)| (s.1 - s.2) * by;
            if let Some(step) = steps.iter_mut().max_by(|a, b| lag(a).total_cmp(&lag(b))) {
                step.2 += by;
            }
        }
        steps.retain(|s| s.2 != 0.0);
        steps.sort_by(|a, b| b.2.abs().total_cmp(&a.2.abs()));
        steps.into_iter().map(|(c, _, v)| (c, v / tens)).collect()
    }
}

/// How much of the chain a bridge has to be worked out with.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Depth {
    /// Formula to line; water is a cause of its own.
    Bake,
    /// The pack as well.
    Pack,
    /// Water that follows the need follows it, and is no cause: what the need itself comes from.
    Need,
}

impl Depth {
    /// What a figure needs.
    pub const fn of(figure: Figure) -> Self {
        match figure {
            Figure::Checking | Figure::CrispDays => Self::Pack,
            Figure::WaterAdded | Figure::WaterNeed => Self::Need,
            _ => Self::Bake,
        }
    }
}

/// Control and treatment with everything between them worked out.
#[derive(Clone, Debug)]
pub struct Exchange {
    causes: Vec<Cause>,
    orders: Vec<Vec<usize>>,
    answers: BTreeMap<Taken, Result<Arc<KnockOn>, String>>,
}

impl Exchange {
    /// Works out what stands between a control and a treatment, both with their answers.
    ///
    /// ```
    /// use study::compare::bridge::{Depth, Exchange};
    /// use study::{BakeOptions, Figure, compare};
    ///
    /// let study = study::written::read(include_str!("../../../../../examples/spent-grain.toml")).unwrap();
    /// let barley = study.treatment("barley").unwrap();
    /// let compared = compare(&study, &[barley], &BakeOptions::QUICK).unwrap();
    /// let ends = [&compared[0].answer, &compared[1].answer];
    /// let exchange = Exchange::new([study.control(), barley], ends, Depth::Bake, &BakeOptions::QUICK);
    /// let bridge = exchange.bridge(Figure::BakeTime).unwrap();
    /// let sum: f64 = bridge.steps.iter().map(|s| s.value).sum();
    /// assert!((bridge.from + sum - bridge.to).abs() < 1e-9);
    /// ```
    pub fn new(
        [control, treatment]: [&Treatment; 2],
        [from, to]: [&Arc<KnockOn>; 2],
        depth: Depth,
        options: &BakeOptions,
    ) -> Self {
        let water = [from, to].map(|k| k.dough.water_added_kg_per_100kg_dry_mix);
        let follows = depth == Depth::Need;
        let causes = causes([control, treatment], (!follows).then_some(water));
        let options = BakeOptions {
            checks: depth == Depth::Pack && options.checks,
            ..*options
        };
        let orders = orders(causes.len());
        let all = (1 << causes.len()) - 1;
        let between: BTreeSet<Taken> = orders
            .iter()
            .flat_map(|order| taken(order))
            .filter(|taken| *taken != 0 && *taken != all)
            .collect();
        let between: Vec<Taken> = between.into_iter().collect();
        let worked = between.par_iter().map_init(Workspace::new, |w, taken| {
            let has = |i: usize| taken & (1 << i) != 0;
            let between = mixed([control, treatment], &causes, has, water, follows);
            let answer = between.and_then(|t| {
                let ran = run(&t, &options, Sample::Centre, w).map_err(|e| e.why.to_string())?;
                Ok(Arc::new(knock_on(&ran)))
            });
            (*taken, answer)
        });
        let mut answers: BTreeMap<_, _> = worked.collect();
        answers.insert(0, Ok(Arc::clone(from)));
        answers.insert(all, Ok(Arc::clone(to)));
        Self {
            causes,
            orders,
            answers,
        }
    }

    /// The bridge of a figure.
    ///
    /// # Errors
    /// Why there is none: one end isn't known, nothing is different, or no order of the causes leads through mixtures
    /// that all have the figure.
    pub fn bridge(&self, figure: Figure) -> Result<Bridge, String> {
        let value = |taken: Taken| match self.answers.get(&taken) {
            Some(Ok(answer)) => figure.told(answer),
            Some(Err(why)) => Err(why.clone()),
            None => Err("it wasn’t worked out".to_owned()),
        };
        let all = (1 << self.causes.len()) - 1;
        let (from, to) = (value(0)?, value(all)?);
        if self.causes.is_empty() {
            return Err("nothing is different from the control".to_owned());
        }
        let mut sums = vec![0.0; self.causes.len()];
        let (mut orders, mut why) = (0, String::new());
        for order in &self.orders {
            match taken(order).map(value).collect::<Result<Vec<f64>, _>>() {
                Ok(values) => {
                    for (cause, pair) in order.iter().zip(values.windows(2)) {
                        sums[*cause] += pair[1] - pair[0];
                    }
                    orders += 1;
                }
                Err(reason) => why = reason,
            }
        }
        if orders == 0 {
            return Err(format!(
                "the causes can’t be taken one by one: between the two lies a mixture without this figure ({why})"
            ));
        }
        let steps = self.causes.iter().zip(sums).map(|(cause, sum)| Step {
            cause: cause.words.clone(),
            value: sum / orders as f64,
        });
        Ok(Bridge {
            from,
            steps: steps.collect(),
            to,
            orders,
        })
    }
}

/// What has had its turn before, between and after the turns of an order.
fn taken(order: &[usize]) -> impl Iterator<Item = Taken> {
    let after = order.iter().scan(0, |taken: &mut Taken, cause| {
        *taken |= 1 << cause;
        Some(*taken)
    });
    std::iter::once(0).chain(after)
}

/// The orders in which so many causes take their turns.
fn orders(causes: usize) -> Vec<Vec<usize>> {
    if causes > ALL_ORDERS {
        return vec![(0..causes).collect(), (0..causes).rev().collect()];
    }
    let mut orders = vec![Vec::new()];
    for next in 0..causes {
        let longer = |order: &Vec<usize>| {
            let at = 0..=order.len();
            let with = |i| [&order[..i], &[next], &order[i..]].concat();
            at.map(with).collect::<Vec<_>>()
        };
        orders = orders.iter().flat_map(longer).collect();
    }
    orders
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_order_once_while_there_are_few() {
        for (causes, wanted) in [(0, 1), (1, 1), (2, 2), (3, 6), (4, 24), (5, 2), (9, 2)] {
            let all: BTreeSet<Vec<usize>> = orders(causes).into_iter().collect();
            assert_eq!(all.len(), wanted);
            for order in all {
                assert_eq!(taken(&order).last(), Some((1 << causes) - 1));
            }
        }
    }

    /// Shapley's own properties (from memory, to be confirmed): a cause that moves nothing has no share, two that do
    /// the same have the same.
    #[test]
    fn what_moves_nothing_has_no_share_and_twins_share_alike() {
        let text = include_str!("../../../../../examples/spent-grain.toml");
        let study = crate::written::read(text).unwrap();
        let control = study.control();
        let mut treatment = control.clone();
        treatment.id = "own".into();
        treatment.setting.piece.thickness_m += 0.001;
        treatment.setting.keeping.months += 1.0;
        let ran = |t: &Treatment| {
            let options = BakeOptions::BAKE_ONLY;
            let ran = run(t, &options, Sample::Centre, &mut Workspace::new()).unwrap();
            Arc::new(knock_on(&ran))
        };
        let (from, to) = (ran(control), ran(&treatment));
        let ends = [control, &treatment];
        let exchange = Exchange::new(ends, [&from, &to], Depth::Bake, &BakeOptions::BAKE_ONLY);
        let bridge = exchange.bridge(Figure::BakeTime).unwrap();
        assert_eq!(bridge.steps.len(), 2, "{bridge:?}");
        assert!(bridge.steps[0].value > 0.5, "{bridge:?}");
        // To the last digits of the sum.
        assert!(bridge.steps[1].value.abs() < 1e-12, "{bridge:?}");
    }

    #[test]
    fn shown_steps_sum_to_the_ends_as_they_are_shown() {
        let mut x = 0.37_f64;
        for n in 1..8 {
            let mut steps = Vec::new();
            for i in 0..n {
                x = (x * 12.9898).sin();
                steps.push(Step {
                    cause: i.to_string(),
                    value: x,
                });
            }
            let from = 10.0 * x;
            let to = from + steps.iter().map(|s| s.value).sum::<f64>();
            let bridge = Bridge {
                from,
                steps,
                to,
                orders: 2,
            };
            let round = |v: f64| (v * 10.0).round() / 10.0;
            let sum: f64 = bridge.shown(1, |v| v).iter().map(|s| s.1).sum();
            assert!(
                (round(from) + sum - round(to)).abs() < 1e-9,
                "{bridge:?} {sum}"
            );
        }
    }
}
