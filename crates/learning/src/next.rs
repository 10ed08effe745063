//! What to read of the next bake: the readings that narrow the time in the oven most.
//!
//! What a reading would teach is told before it is made, from the derivatives alone: with C what is held of the places, g the
//! slopes of ln(time), A those of the readings and R how they scatter (with the bake's own heat and moisture and the model's
//! error in it), the variance of ln(time) falls from gᵀCg by gᵀCAᵀ(ACAᵀ + R)⁻¹ACg. Ranked by that, the answer that was asked,
//! not by what is learned of the places.

use crate::bakes::{BAKE_HEAT, BAKE_MOISTURE};
use crate::time::{Sloped, sloped};
use crate::{Bakes, Chosen, Fit, Kind, Row};
use baking::bake::search::BandTarget;
use baking::bake::{BakeError, BakeInput, Workspace};
use measure::estimate::Z95;
use nalgebra::{DMatrix, DVector};

/// Moments in the oven that are looked at, as shares of the time.
const MOMENTS: [f64; 8] = [0.125, 0.25, 0.375, 0.5, 0.625, 0.75, 0.875, 1.0];
/// Heights of a probe, as shares of the thickness.
const HEIGHTS: [f64; 3] = [0.25, 0.5, 0.75];

/// A reading that could be made.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Reading {
    /// What.
    pub kind: Kind,
    /// When \[s\]; the time in the oven for a cooled end.
    pub time_s: f64,
    /// Height of a probe over the band \[m\].
    pub height_m: Option<f64>,
}

/// Readings of one bake, and what they would do.
#[derive(Clone, Debug, PartialEq)]
pub struct NextBake {
    /// The readings, in the order in which each narrows most after those before it.
    pub readings: Vec<Reading>,
    /// Standard deviation of ln(time) after each of them, by what is learned.
    pub sd_ln: Vec<f64>,
    /// Before them.
    pub sd_ln_before: f64,
    /// The time in the oven that is held likeliest \[s\].
    pub time_s: f64,
}

impl NextBake {
    /// Half of the central 95 % of the time, before the readings and after all of them \[s\].
    pub fn half_widths_s(&self) -> [f64; 2] {
        [self.sd_ln_before, self.left()].map(|sd| Z95 * sd * self.time_s)
    }

    /// The share that the readings take off the interval.
    pub fn narrower(&self) -> f64 {
        1.0 - self.left() / self.sd_ln_before
    }

    /// When pieces are pulled, in the order of time \[s\].
    pub fn times_s(&self) -> Vec<f64> {
        let mut times: Vec<f64> = self.readings.iter().map(|r| r.time_s).collect();
        times.sort_by(f64::total_cmp);
        times
    }

    fn left(&self) -> f64 {
        self.sd_ln.last().copied().unwrap_or(self.sd_ln_before)
    }
}

/// How a bake may be read.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Means {
    /// Pieces pulled and weighed.
    Pulls,
    /// Pieces pulled and dried in a dish.
    Dishes,
    /// A probe in a piece, whose whole curve is taken: one reading for each moment.
    Probe,
}

impl Means {
    /// Every one.
    pub const ALL: [Self; 3] = [Self::Pulls, Self::Dishes, Self::Probe];

    /// Its name.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Pulls => "pieces pulled and weighed",
            Self::Dishes => "pieces pulled and dried in a dish",
            Self::Probe => "a probe in a piece",
        }
    }
}

/// What is held of the places: as fitted, or as believed.
fn held(input: &BakeInput, chosen: &[Chosen], fit: Option<&Fit>) -> (Vec<f64>, DMatrix<f64>) {
    match fit {
        Some(fit) => (
            fit.parameters.iter().map(|p| p.place).collect(),
            fit.covariance.clone(),
        ),
        None => {
            let variance = chosen.iter().map(|c| c.sd(input).powi(2)).collect();
            (
                vec![0.0; chosen.len()],
                DMatrix::from_diagonal(&DVector::from_vec(variance)),
            )
        }
    }
}

fn candidates(means: Means, time_s: f64, thickness_m: f64) -> Vec<Vec<Reading>> {
    let at = |kind, share: f64, height_m| Reading {
        kind,
        time_s: share * time_s,
        height_m,
    };
    match means {
        Means::Pulls => MOMENTS.map(|s| vec![at(Kind::Mass, s, None)]).to_vec(),
        Means::Dishes => MOMENTS.map(|s| vec![at(Kind::Moisture, s, None)]).to_vec(),
        Means::Probe => HEIGHTS
            .map(|h| {
                let curve = MOMENTS.map(|s| at(Kind::Temperature, s, Some(h * thickness_m)));
                curve.to_vec()
            })
            .to_vec(),
    }
}

/// A bake that could be read: every candidate's slopes and the covariance of their scatter.
struct Table {
    slopes: DMatrix<f64>,
    scatter: DMatrix<f64>,
    /// Which rows belong to each candidate.
    rows: Vec<Vec<usize>>,
}

impl Table {
    fn of(
        input: &BakeInput,
        chosen: &[Chosen],
        places: &[f64],
        candidates: &[Vec<Reading>],
        w: &mut Workspace,
    ) -> Self {
        let mut rows = Vec::new();
        let mut of = Vec::new();
        for candidate in candidates {
            of.push((rows.len()..rows.len() + candidate.len()).collect());
            rows.extend(candidate.iter().map(|r| Row {
                line: 0,
                bake: "next".to_owned(),
                kind: r.kind,
                time_s: r.time_s,
                // Only slopes are asked for.
                value: 1.0,
                before_g: (r.kind == Kind::Mass).then_some(1.0),
                height_m: r.height_m,
            }));
        }
        let bakes = Bakes::new(input, rows, chosen.to_vec());
        let mut at = vec![0.0; bakes.places()];
        at[..places.len()].copy_from_slice(places);
        let told = bakes.told(&at, true, w);
        let p = chosen.len();
        let own = told.slopes.columns(p, 2).into_owned();
        let spread = [BAKE_HEAT.value, BAKE_MOISTURE.value].map(|s| s * s);
        let spread = DMatrix::from_diagonal(&DVector::from_column_slice(&spread));
        Self {
            slopes: told.slopes.columns(0, p).into_owned(),
            scatter: bakes.scatter(&told) + &own * spread * own.transpose(),
            rows: of,
        }
    }

    /// Variance of ln(time) with the readings of some candidates.
    fn variance(&self, sloped: &Sloped, covariance: &DMatrix<f64>, picked: &[usize]) -> f64 {
        let rows: Vec<usize> = picked.iter().flat_map(|k| self.rows[*k].clone()).collect();
        let before = sloped.variance(covariance);
        if rows.is_empty() {
            return before;
        }
        let a = self.slopes.select_rows(&rows);
        let r = DMatrix::from_fn(rows.len(), rows.len(), |i, j| {
            self.scatter[(rows[i], rows[j])]
        });
        let ac = &a * covariance;
        let seen = &ac * a.transpose() + r;
        let gain = &ac * &sloped.slopes;
        match seen.cholesky() {
            Some(root) => (before - gain.dot(&root.solve(&gain))).max(0.0),
            None => before,
        }
    }
}

/// The readings of one bake by some means that narrow the time most, at most so many: each in turn the one that narrows most
/// beside those before it, then exchanged one by one while that narrows more. None where the target isn't met.
///
/// # Errors
/// What can't be baked.
pub fn next_bake(
    input: &BakeInput,
    wanted: &BandTarget,
    (chosen, fit): (&[Chosen], Option<&Fit>),
    means: Means,
    most: usize,
    w: &mut Workspace,
) -> Result<Option<NextBake>, BakeError> {
    let (places, covariance) = held(input, chosen, fit);
    let Some(sloped) = sloped(input, wanted, chosen, &places, w)? else {
        return Ok(None);
    };
    let candidates = candidates(means, sloped.time_s, input.thickness_m);
    let table = Table::of(input, chosen, &places, &candidates, w);
    let variance = |picked: &[usize]| table.variance(&sloped, &covariance, picked);
    let picked = exchanged(
        greedy(candidates.len(), most, &variance),
        candidates.len(),
        &variance,
    );
    Ok(Some(NextBake {
        sd_ln: (1..=picked.len())
            .map(|n| variance(&picked[..n]).sqrt())
            .collect(),
        readings: picked
            .iter()
            .flat_map(|k| match means {
                // One probe is one thing to put in, told by where.
                Means::Probe => candidates[*k][..1].to_vec(),
                _ => candidates[*k].clone(),
            })
            .collect(),
        sd_ln_before: sloped.variance(&covariance).sqrt(),
        time_s: sloped.time_s,
    }))
}

fn greedy(all: usize, most: usize, variance: &dyn Fn(&[usize]) -> f64) -> Vec<usize> {
    let mut picked: Vec<usize> = Vec::new();
    while picked.len() < most.min(all) {
        let with = |k: usize| [picked.clone(), vec![k]].concat();
        let open = (0..all).filter(|k| !picked.contains(k));
        let Some(best) = open.min_by(|a, b| variance(&with(*a)).total_cmp(&variance(&with(*b))))
        else {
            break;
        };
        picked.push(best);
    }
    picked
}

fn exchanged(mut picked: Vec<usize>, all: usize, variance: &dyn Fn(&[usize]) -> f64) -> Vec<usize> {
    let mut best = variance(&picked);
    loop {
        let mut better = None;
        for i in 0..picked.len() {
            for k in (0..all).filter(|k| !picked.contains(k)) {
                let mut other = picked.clone();
                other[i] = k;
                let v = variance(&other);
                // Less than a thousandth is no gain.
                if v < best * 0.999 {
                    best = v;
                    better = Some(other);
                }
            }
        }
        match better {
            Some(other) => picked = other,
            None => return picked,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Parameter;
    use baking::bake::case::Benchmark;
    use baking::bake::search::Cooling;
    use baking::bake::{Accuracy, TargetAt};
    use measure::WetBasis;

    fn input() -> BakeInput {
        let mut input = Benchmark::SteelBand.case().input;
        (input.cells, input.accuracy) = (16, Accuracy::Quick);
        input
    }

    fn wanted() -> BandTarget {
        BandTarget {
            moisture: WetBasis::from_percent(8.0),
            at: TargetAt::OvenExit,
            allowed_s: measure::Range::new(30.0, 10_800.0),
            guess_s: None,
            cooling: Cooling::AsGiven,
        }
    }

    fn chosen() -> Vec<Chosen> {
        Parameter::USUAL.map(Chosen::whole).to_vec()
    }

    /// Held against every choice of three of the eight moments.
    #[test]
    fn three_pulls_are_those_of_an_exhaustive_search() {
        let (input, wanted, chosen) = (input(), wanted(), chosen());
        let w = &mut Workspace::new();
        let told = next_bake(&input, &wanted, (&chosen, None), Means::Pulls, 3, w);
        let told = told.unwrap().unwrap();
        let (places, covariance) = held(&input, &chosen, None);
        let sloped = sloped(&input, &wanted, &chosen, &places, w)
            .unwrap()
            .unwrap();
        let all = candidates(Means::Pulls, sloped.time_s, input.thickness_m);
        let table = Table::of(&input, &chosen, &places, &all, w);
        let mut best = f64::INFINITY;
        for i in 0..8 {
            for j in i + 1..8 {
                for k in j + 1..8 {
                    best = best.min(table.variance(&sloped, &covariance, &[i, j, k]));
                }
            }
        }
        let found = told.sd_ln[2].powi(2);
        assert!(found < 1.002 * best, "{found} {best}");
        assert!(told.sd_ln[0] < told.sd_ln_before && told.sd_ln[2] <= told.sd_ln[0]);
    }

    /// What was promised of the readings is what a fit to them leaves.
    #[test]
    fn what_is_promised_is_what_a_fit_leaves() {
        let (input, wanted, chosen) = (input(), wanted(), chosen());
        let w = &mut Workspace::new();
        let told = next_bake(&input, &wanted, (&chosen, None), Means::Pulls, 3, w);
        let told = told.unwrap().unwrap();
        let rows = told.readings.iter().map(|r| Row {
            line: 1,
            bake: "next".into(),
            kind: r.kind,
            time_s: r.time_s,
            value: 10.0,
            before_g: Some(10.0),
            height_m: None,
        });
        let mut rows: Vec<Row> = rows.collect();
        rows.sort_by(|a, b| a.time_s.total_cmp(&b.time_s));
        let mut bakes = Bakes::new(&input, rows, chosen);
        let read = bakes.predicted(&[0.0; 7], w);
        for (row, value) in bakes.rows.iter_mut().zip(read) {
            row.value = value;
        }
        let asked = crate::Asked {
            starts: 1,
            draws: 0,
            ..crate::Asked::USUAL
        };
        let fit = crate::fit(&bakes, asked, &|_| true).unwrap();
        let left = crate::time::after(&input, &wanted, &fit, w)
            .unwrap()
            .unwrap();
        let promised = told.sd_ln.last().unwrap();
        assert!(
            (left.sd_ln / promised - 1.0).abs() < 0.02,
            "{} {promised}",
            left.sd_ln
        );
    }

    #[test]
    fn after_a_fit_less_is_left_to_learn() {
        let (input, wanted, chosen) = (input(), wanted(), chosen());
        let w = &mut Workspace::new();
        for means in Means::ALL {
            let told = next_bake(&input, &wanted, (&chosen, None), means, 2, w);
            let told = told.unwrap().unwrap();
            assert!(
                told.sd_ln.last().unwrap() < &told.sd_ln_before,
                "{means:?} {told:?}"
            );
        }
    }
}
