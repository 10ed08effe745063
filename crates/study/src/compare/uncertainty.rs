//! How sure the answers are: seeded draws from water need, composition, prices and graded defaults.

use super::{Compared, Figure};
use crate::chain::dough_and_piece::drawn_names;
use crate::chain::effective::Effective;
use crate::chain::{BakeOptions, RunError, Sample, Uncertain, run};
use crate::model::{Study, Treatment};
use crate::views::{KnockOn, knock_on};
use baking::bake::Workspace;
use learning::Chosen;
use rayon::prelude::*;
use schemars::JsonSchema;
use serde::Serialize;
use std::collections::BTreeMap;

/// Most draws that are asked for at once.
pub const MOST_DRAWS: usize = 20_000;

/// 95 % limits of a figure.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Limits {
    /// 2.5 % of the draws lie below.
    pub low95: f64,
    /// 2.5 % of the draws lie above.
    pub high95: f64,
}

impl Limits {
    /// Whether a difference with these limits may as well be none, or go the other way.
    pub fn hold_none(&self) -> bool {
        self.low95 <= 0.0 && self.high95 >= 0.0
    }
}

/// An input and the share of a figure's variance that goes with it.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Widest {
    /// Input.
    pub input: String,
    /// Squared rank correlation with the figure, 0 to 1.
    pub share: f64,
}

/// The spread of one treatment's figures.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Spread {
    /// Draws made.
    pub draws: usize,
    /// Draws in which the treatment had an answer and reached its target.
    pub used: usize,
    /// Seed.
    pub seed: u64,
    /// Limits of each figure by key.
    pub figures: BTreeMap<&'static str, Limits>,
    /// Limits of each figure's difference from the control, from paired draws.
    pub versus_control: BTreeMap<&'static str, Limits>,
    /// The three inputs that widen each figure most.
    pub widest: BTreeMap<&'static str, Vec<Widest>>,
}

/// Adds the spread to a comparison; draws are shared by all treatments, so that what they share
/// cancels in the difference.
///
/// # Errors
/// Never for single draws that can't be worked out (they are left out and counted); only when a
/// treatment has no answer in any.
pub fn spread(
    study: &Study,
    compared: &mut [Compared],
    options: &BakeOptions,
    draws: usize,
    seed: u64,
) -> Result<(), RunError> {
    let drawing = Drawing::of(study, compared, options, draws, seed);
    let rows: Vec<Drawn> = (0..drawing.draws)
        .into_par_iter()
        .map_init(Workspace::new, |w, number| drawing.one(number, w))
        .collect();
    drawing.tell(&rows, compared);
    Ok(())
}

/// The draws of a comparison, to be made one at a time by whoever wants to tell how far they are or to stop.
#[derive(Debug)]
pub struct Drawing<'s> {
    treatments: Vec<&'s Treatment>,
    options: BakeOptions,
    /// Draws to be made.
    pub draws: usize,
    seed: u64,
}

/// One draw: each treatment's figures, none where the draw has no answer.
#[derive(Clone, Debug)]
pub struct Drawn(Vec<Option<Vec<f64>>>);

impl<'s> Drawing<'s> {
    /// Of the treatments of a comparison; 2 to [`MOST_DRAWS`] draws.
    pub fn of(
        study: &'s Study,
        compared: &[Compared],
        options: &BakeOptions,
        draws: usize,
        seed: u64,
    ) -> Self {
        let treatment = |c: &Compared| study.treatment(&c.answer.id);
        Self {
            treatments: compared.iter().filter_map(treatment).collect(),
            options: *options,
            draws: draws.clamp(2, MOST_DRAWS),
            seed,
        }
    }

    /// The draw of a number, 0 up to the draws to be made.
    pub fn one(&self, number: usize, w: &mut Workspace) -> Drawn {
        let draw = self.sample(number);
        let of = |t: &&Treatment| {
            let k = knock_on(&run(t, &self.options, draw, w).ok()?);
            k.bake.reached.then(|| figures(&k))
        };
        Drawn(self.treatments.iter().map(of).collect())
    }

    /// Names of what was learned for a treatment, and the place of each in the draws: they go together, so their own
    /// deviates tell nothing.
    fn learned(&self, treatment: usize, draws: &[usize]) -> (Vec<String>, Vec<Vec<f64>>) {
        let of = |d: usize| Effective::of(self.treatments[treatment], self.sample(d)).places();
        let all: Vec<Vec<(Chosen, f64)>> = draws.iter().map(|d| of(*d)).collect();
        let chosen = all.first().into_iter().flatten().map(|(c, _)| *c);
        chosen
            .enumerate()
            .map(|(k, c)| {
                let places = all.iter().map(|d| d[k].1).collect();
                (format!("{}, learned", c.name()), places)
            })
            .unzip()
    }

    fn sample(&self, number: usize) -> Sample {
        Sample::Number {
            seed: self.seed,
            number: number as u64,
        }
    }

    /// Puts what the draws came to, in the order of their numbers, beside the answers.
    pub fn tell(&self, rows: &[Drawn], compared: &mut [Compared]) {
        let draws = rows.len();
        for (i, c) in compared.iter_mut().enumerate() {
            let used: Vec<usize> = (0..draws).filter(|d| rows[*d].0[i].is_some()).collect();
            let pick =
                |d: usize, t: usize, f: usize| rows[d].0[t].as_ref().map_or(f64::NAN, |v| v[f]);
            let paired: Vec<usize> = used
                .iter()
                .copied()
                .filter(|d| rows[*d].0[0].is_some())
                .collect();
            let names = input_names(self.treatments[i]);
            let mut inputs: Vec<Vec<f64>> = names
                .iter()
                .map(|n| used.iter().map(|d| self.sample(*d).z(n)).collect())
                .collect();
            let (learned, places) = self.learned(i, &used);
            let names = [names, learned].concat();
            inputs.extend(places);
            let ranked: Vec<Vec<f64>> = inputs.iter().map(|v| ranks(v)).collect();
            let mut s = Spread {
                draws,
                used: used.len(),
                seed: self.seed,
                figures: BTreeMap::new(),
                versus_control: BTreeMap::new(),
                widest: BTreeMap::new(),
            };
            for (f, figure) in Figure::ALL.into_iter().enumerate() {
                let key = figure.about().key;
                let values: Vec<f64> = used.iter().map(|d| pick(*d, i, f)).collect();
                if let Some(limits) = limits(&values) {
                    s.figures.insert(key, limits);
                    s.widest.insert(key, widest(&names, &ranked, &values));
                }
                if i > 0 {
                    let gaps: Vec<f64> = paired
                        .iter()
                        .map(|d| pick(*d, i, f) - pick(*d, 0, f))
                        .collect();
                    if let Some(limits) = limits(&gaps) {
                        s.versus_control.insert(key, limits);
                    }
                }
            }
            c.spread = Some(s);
        }
    }
}

fn figures(k: &KnockOn) -> Vec<f64> {
    Figure::ALL
        .into_iter()
        .map(|f| f.value(k).unwrap_or(f64::NAN))
        .collect()
}

/// Names of everything that varies for a treatment.
fn input_names(treatment: &Treatment) -> Vec<String> {
    let mut names = drawn_names(&treatment.formula);
    let effective = Effective::of(treatment, Sample::Centre);
    let varies = |u: &&Uncertain| !effective.knows(**u, None);
    let uncertain = Uncertain::ALL.iter().filter(varies);
    names.extend(uncertain.map(|u| u.about().name.to_owned()));
    names.sort();
    names.dedup();
    names
}

/// The 2.5 % and 97.5 % quantiles (linear between order statistics); none with an unknown value or
/// fewer than 20 draws.
fn limits(values: &[f64]) -> Option<Limits> {
    if values.len() < 20 || values.iter().any(|v| !v.is_finite()) {
        return None;
    }
    let mut sorted = values.to_vec();
    sorted.sort_by(f64::total_cmp);
    let at = |p: f64| {
        let x = p * (sorted.len() - 1) as f64;
        let (i, r) = (x.floor() as usize, x.fract());
        let next = sorted[(i + 1).min(sorted.len() - 1)];
        sorted[i] + r * (next - sorted[i])
    };
    Some(Limits {
        low95: at(0.025),
        high95: at(0.975),
    })
}

fn ranks(values: &[f64]) -> Vec<f64> {
    let mut order: Vec<usize> = (0..values.len()).collect();
    order.sort_by(|a, b| values[*a].total_cmp(&values[*b]));
    let mut out = vec![0.0; values.len()];
    for (rank, i) in order.into_iter().enumerate() {
        out[i] = rank as f64;
    }
    out
}

fn widest(names: &[String], ranked: &[Vec<f64>], values: &[f64]) -> Vec<Widest> {
    let y = ranks(values);
    let constant = values.windows(2).all(|w| w[0] == w[1]);
    if constant {
        return Vec::new();
    }
    let mut all: Vec<Widest> = names
        .iter()
        .zip(ranked)
        .map(|(name, x)| Widest {
            input: name.clone(),
            share: correlation(x, &y).powi(2),
        })
        .collect();
    all.sort_by(|a, b| {
        b.share
            .total_cmp(&a.share)
            .then_with(|| a.input.cmp(&b.input))
    });
    all.truncate(3);
    all
}

fn correlation(x: &[f64], y: &[f64]) -> f64 {
    let n = x.len() as f64;
    let (mx, my) = (x.iter().sum::<f64>() / n, y.iter().sum::<f64>() / n);
    let (mut xy, mut xx, mut yy) = (0.0, 0.0, 0.0);
    for (a, b) in x.iter().zip(y) {
        xy += (a - mx) * (b - my);
        xx += (a - mx).powi(2);
        yy += (b - my).powi(2);
    }
    if xx > 0.0 && yy > 0.0 {
        xy / (xx * yy).sqrt()
    } else {
        0.0
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn limits_are_quantiles_and_refuse_unknowns() {
        let values: Vec<f64> = (0..=1000).map(f64::from).collect();
        let l = limits(&values).unwrap();
        assert!((l.low95 - 25.0).abs() < 1e-9 && (l.high95 - 975.0).abs() < 1e-9);
        assert_eq!(limits(&[1.0; 10]), None);
        let mut with_unknown = values;
        with_unknown[3] = f64::NAN;
        assert_eq!(limits(&with_unknown), None);
    }

    #[test]
    fn the_input_that_moves_a_figure_is_named_first() {
        let names: Vec<String> = ["heat", "gas"].map(String::from).to_vec();
        let z = |key: &str| -> Vec<f64> {
            (0..200)
                .map(|number| Sample::Number { seed: 1, number }.z(key))
                .collect()
        };
        let (heat, gas) = (z("heat"), z("gas"));
        let values: Vec<f64> = heat
            .iter()
            .zip(&gas)
            .map(|(h, g)| 3.0 * h + 0.3 * g)
            .collect();
        let found = widest(&names, &[ranks(&heat), ranks(&gas)], &values);
        assert_eq!(found[0].input, "heat");
        assert!(found[0].share > 0.9);
    }
}
