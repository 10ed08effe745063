//! D-optimal exchange: the runs whose model terms are told apart best, found by swapping.

use super::PlanError;
use crate::random::SplitMix64;
use nalgebra::DMatrix;

/// Passes over the runs of one start; each pass only ever improves, so this is a guard.
const MOST_PASSES: usize = 200;
/// A swap must raise the determinant by more than this share.
///
/// - Units: \[1\]
/// - Source: a numerical tolerance, chosen here
const WORTHWHILE: f64 = 1e-9;
/// Two determinants closer than this (in ln) are the same optimum.
///
/// - Units: \[1\]
/// - Source: a numerical tolerance, chosen here
const SAME_LN: f64 = 1e-7;

/// The outcome of an exchange.
#[derive(Clone, Debug, PartialEq)]
pub struct Exchange {
    /// The chosen candidates by number, ascending; one may stand several times.
    pub chosen: Vec<usize>,
    /// ln det(X′X), fixed runs included.
    pub ln_det: f64,
    /// |X′X|^(1/p)/n: information per run and term, on the scale of the candidates.
    pub d_efficiency: f64,
    /// The largest f′(X′X)⁻¹f over the candidates times n; p is the least any plan can reach.
    pub largest_variance: f64,
    /// Random starts.
    pub starts: usize,
    /// How many of them ended at the best determinant.
    pub reached: usize,
}

/// Chooses `runs` of the candidate model rows, beside rows that are fixed already, so that
/// det(X′X) is as large as many random starts of the modified Fedorov exchange can make it.
///
/// For each run in turn the candidate j with the largest
/// Δ = d_j − (d_i·d_j − d_ij²) − d_i is taken in its place, d = f′(X′X)⁻¹f; the determinant grows
/// by 1 + Δ (Fedorov 1972; Cook and Nachtsheim 1980).
///
/// Check: quadratic in two factors on a 3×3 grid, 6 runs: the exhaustive optimum is 256.
///
/// - Rule: each run in turn exchanged for the candidate that raises det(X′X) most, from many random starts
/// - Units: rows \[as the model\], ln det \[1\]
/// - Valid: enough runs for the terms
/// - Source: Fedorov 1972; Cook and Nachtsheim 1980 (from memory, to be confirmed); the example's 256 by trying all
///   choices
///
/// ```
/// use trials::plan::{Degree, Model, exchange};
/// let grid: Vec<Vec<f64>> = (0..9).map(|i| vec![f64::from(i % 3) - 1.0, f64::from(i / 3) - 1.0]).collect();
/// let model = Model { parts: 0, process: 2, degree: Degree::Quadratic };
/// let best = exchange(&model.rows(&grid), &[], 6, 20, 1).unwrap();
/// assert!((best.ln_det.exp() - 256.0).abs() < 1e-6);
/// ```
///
/// # Errors
/// [`PlanError::NotEstimable`] when no choice of that many runs tells all terms apart.
pub fn exchange(
    candidates: &[Vec<f64>],
    fixed: &[Vec<f64>],
    runs: usize,
    starts: usize,
    seed: u64,
) -> Result<Exchange, PlanError> {
    let terms = candidates.first().or(fixed.first()).map_or(0, Vec::len);
    let not_estimable = |reason| PlanError::NotEstimable {
        runs: runs + fixed.len(),
        candidates: candidates.len(),
        terms,
        reason,
    };
    if candidates.is_empty() || runs == 0 || terms == 0 {
        return Err(not_estimable("there is nothing to choose"));
    }
    if runs + fixed.len() < terms {
        return Err(not_estimable(
            "ask for at least as many runs as terms, better a few more",
        ));
    }
    let all = Rows::new(candidates);
    let held = Rows::new(fixed);
    let mut best: Option<(f64, Vec<usize>, f64)> = None;
    let mut ends = Vec::with_capacity(starts.max(1));
    for start in 0..starts.max(1) {
        let mut generator = SplitMix64::stream(seed, start as u64 + 1);
        let Some((ln_det, chosen, worst)) = climb(&all, &held, runs, &mut generator) else {
            continue;
        };
        ends.push(ln_det);
        if best.as_ref().is_none_or(|b| ln_det > b.0 + SAME_LN) {
            best = Some((ln_det, chosen, worst));
        }
    }
    let (ln_det, chosen, worst) = best.ok_or_else(|| {
        not_estimable("choose a lower degree, or let the settings spread over more levels")
    })?;
    let n = (runs + fixed.len()) as f64;
    Ok(Exchange {
        chosen,
        ln_det,
        d_efficiency: (ln_det / terms as f64).exp() / n,
        largest_variance: worst * n,
        starts: starts.max(1),
        reached: ends
            .iter()
            .filter(|e| (*e - ln_det).abs() <= SAME_LN)
            .count(),
    })
}

/// Model rows, flat.
struct Rows {
    terms: usize,
    values: Vec<f64>,
}

impl Rows {
    fn new(rows: &[Vec<f64>]) -> Self {
        Self {
            terms: rows.first().map_or(0, Vec::len),
            values: rows.concat(),
        }
    }

    fn get(&self, i: usize) -> &[f64] {
        &self.values[i * self.terms..(i + 1) * self.terms]
    }

    fn len(&self) -> usize {
        self.values.len().checked_div(self.terms).unwrap_or(0)
    }
}

/// (X′X)⁻¹ and the variance d of every candidate, kept up to date over swaps.
struct State<'a> {
    all: &'a Rows,
    held: &'a Rows,
    inverse: Vec<f64>,
    variance: Vec<f64>,
    ln_det: f64,
}

impl<'a> State<'a> {
    /// From scratch; none when X′X (with `ridge` on its diagonal) cannot be inverted.
    fn build(all: &'a Rows, held: &'a Rows, chosen: &[usize], ridge: f64) -> Option<Self> {
        let p = all.terms;
        let mut m = DMatrix::<f64>::zeros(p, p);
        let rows = (0..held.len())
            .map(|i| held.get(i))
            .chain(chosen.iter().map(|&i| all.get(i)));
        for row in rows {
            for a in 0..p {
                for b in 0..=a {
                    m[(a, b)] += row[a] * row[b];
                }
            }
        }
        let mut largest = 0.0_f64;
        for a in 0..p {
            m[(a, a)] += ridge;
            largest = largest.max(m[(a, a)]);
            for b in 0..a {
                m[(b, a)] = m[(a, b)];
            }
        }
        let factor = m.cholesky()?;
        let diagonal = factor.l_dirty().diagonal();
        // Squared pivots this far below the largest entry are rounding, not information.
        if ridge == 0.0 && diagonal.iter().any(|d| d * d <= 1e-13 * largest) {
            return None;
        }
        let ln_det = 2.0 * diagonal.iter().map(|d| d.ln()).sum::<f64>();
        let inverse = factor.inverse().as_slice().to_vec();
        let mut state = Self {
            all,
            held,
            inverse,
            variance: vec![0.0; all.len()],
            ln_det,
        };
        for j in 0..all.len() {
            state.variance[j] = dot(all.get(j), &state.times(all.get(j)));
        }
        Some(state)
    }

    fn times(&self, f: &[f64]) -> Vec<f64> {
        self.inverse
            .chunks_exact(f.len())
            .map(|row| dot(row, f))
            .collect()
    }

    /// Adds (`sign` 1) or takes away (−1) a candidate by the rank-one formula.
    fn shift(&mut self, j: usize, sign: f64) {
        let f = self.all.get(j);
        let u = self.times(f);
        let scale = sign / (1.0 + sign * dot(f, &u));
        let p = u.len();
        for a in 0..p {
            for b in 0..p {
                self.inverse[a * p + b] -= scale * u[a] * u[b];
            }
        }
        for k in 0..self.all.len() {
            self.variance[k] -= scale * dot(self.all.get(k), &u).powi(2);
        }
    }
}

/// One start: some random runs, the rest by largest variance, then swaps until none pays.
fn climb(
    all: &Rows,
    held: &Rows,
    runs: usize,
    generator: &mut SplitMix64,
) -> Option<(f64, Vec<usize>, f64)> {
    let count = all.len() as u64;
    let random = 1 + generator.below(runs as u64) as usize;
    let mut chosen: Vec<usize> = (0..random)
        .map(|_| generator.below(count) as usize)
        .collect();
    let mut state = State::build(all, held, &chosen, 1e-6)?;
    while chosen.len() < runs {
        let next = largest(&state.variance);
        chosen.push(next);
        state.shift(next, 1.0);
    }
    // Random runs may leave terms untold; swaps on the ridged matrix mend that first.
    let mut ridge = if State::build(all, held, &chosen, 0.0).is_some() {
        0.0
    } else {
        1e-6
    };
    for _ in 0..MOST_PASSES {
        state = State::build(all, held, &chosen, ridge)?;
        let mut swapped = false;
        for place in &mut chosen {
            let out = *place;
            let u = state.times(all.get(out));
            let d_out = state.variance[out];
            let gain = |j: usize| {
                let (d, cross) = (state.variance[j], dot(all.get(j), &u));
                d - (d_out * d - cross * cross) - d_out
            };
            let (best, delta) = (0..all.len())
                .map(|j| (j, gain(j)))
                .fold((out, 0.0), |b, c| if c.1 > b.1 { c } else { b });
            if best != out && delta > WORTHWHILE {
                state.shift(best, 1.0);
                state.shift(out, -1.0);
                *place = best;
                swapped = true;
            }
        }
        if !swapped {
            if ridge == 0.0 {
                break;
            }
            ridge = 0.0;
        }
    }
    let state = State::build(all, state.held, &chosen, 0.0)?;
    chosen.sort_unstable();
    let worst = state.variance.iter().copied().fold(0.0, f64::max);
    Some((state.ln_det, chosen, worst))
}

fn largest(values: &[f64]) -> usize {
    values
        .iter()
        .enumerate()
        .fold(0, |b, (i, v)| if *v > values[b] { i } else { b })
}

fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(x, y)| x * y).sum()
}
