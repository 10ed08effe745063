//! Mixed models whose residuals within a unit fade with the time between them: correlation
//! `ρ^|t − t'|` (first-order autoregression when times are evenly spaced), with or without random
//! intercepts beside it. REML by Newton steps; Kenward and Roger (1997) with the second derivatives
//! of the covariance, which is not linear in ρ.

use super::inference::{Combination, Inference, MixedTest, Parts};
use super::{Component, MixedError, RandomTerm};
use crate::stats::least_squares;
use nalgebra::{DMatrix, DVector};
use std::f64::consts::PI;

/// Which rows belong to one unit, and when each was measured.
#[derive(Clone, Debug, PartialEq)]
pub struct Serial {
    /// Unit of each row, counted from 0.
    pub unit: Vec<usize>,
    /// Time of each row.
    pub time: Vec<f64>,
}

/// Rows that random terms or units connect are worked on together; above this the cost of a
/// step is no longer small.
const LARGEST_BLOCK: usize = 400;

/// A fitted model with serial correlation.
#[derive(Clone, Debug)]
pub struct SerialFit {
    /// Fixed effects by column; none for an aliased column.
    pub coefficients: Vec<Option<f64>>,
    /// Variances of the random terms, the residual variance, and the correlation one unit of time apart.
    pub components: Vec<Component>,
    /// -2 times the restricted log likelihood.
    pub criterion: f64,
    /// Residuals about the fixed effects.
    pub residuals: Vec<f64>,
    kept: Vec<usize>,
    ols: least_squares::Fit,
    beta: DVector<f64>,
    inference: Inference,
}

/// Rows that belong together.
struct Block {
    rows: Vec<usize>,
    x: DMatrix<f64>,
    y: DVector<f64>,
    /// Z Z' of each random term.
    same: Vec<DMatrix<f64>>,
    /// Time apart within a unit; negative between units.
    lag: DMatrix<f64>,
}

struct State {
    theta: DVector<f64>,
    inverse: Vec<DMatrix<f64>>,
    phi: DMatrix<f64>,
    beta: DVector<f64>,
    criterion: f64,
}

struct Information {
    slope: DVector<f64>,
    expected: DMatrix<f64>,
    average: DMatrix<f64>,
    observed: DMatrix<f64>,
    h: Vec<DMatrix<f64>>,
    q: Vec<Vec<DMatrix<f64>>>,
    r: Vec<(usize, usize, DMatrix<f64>)>,
}

fn connected(n: usize, random: &[RandomTerm], unit: &[usize]) -> Vec<Vec<usize>> {
    let mut part: Vec<usize> = (0..n).collect();
    fn root(part: &mut [usize], mut i: usize) -> usize {
        while part[i] != i {
            part[i] = part[part[i]];
            i = part[i];
        }
        i
    }
    let sets = random
        .iter()
        .map(|t| t.codes.as_slice())
        .chain(std::iter::once(unit));
    for codes in sets {
        let mut first = vec![usize::MAX; codes.iter().max().map_or(0, |m| m + 1)];
        for (row, &code) in codes.iter().enumerate() {
            if first[code] == usize::MAX {
                first[code] = row;
            } else {
                let (a, b) = (root(&mut part, first[code]), root(&mut part, row));
                part[b] = a;
            }
        }
    }
    let mut place = vec![usize::MAX; n];
    let mut out: Vec<Vec<usize>> = Vec::new();
    for row in 0..n {
        let r = root(&mut part, row);
        if place[r] == usize::MAX {
            place[r] = out.len();
            out.push(Vec::new());
        }
        out[place[r]].push(row);
    }
    out
}

impl Block {
    fn covariance(&self, theta: &DVector<f64>) -> DMatrix<f64> {
        let k = self.same.len();
        let mut v = self.fading(|d| theta[k] * theta[k + 1].powf(d));
        for (z, t) in self.same.iter().zip(theta.iter()) {
            v += z * *t;
        }
        v
    }

    fn fading(&self, of: impl Fn(f64) -> f64) -> DMatrix<f64> {
        self.lag.map(|d| if d < 0.0 { 0.0 } else { of(d) })
    }

    /// The first derivative by each parameter.
    fn first(&self, theta: &DVector<f64>) -> Vec<DMatrix<f64>> {
        let k = self.same.len();
        let (s2, rho) = (theta[k], theta[k + 1]);
        let mut out = self.same.clone();
        out.push(self.fading(|d| rho.powf(d)));
        out.push(self.fading(|d| {
            if d == 0.0 {
                0.0
            } else {
                s2 * d * rho.powf(d - 1.0)
            }
        }));
        out
    }

    /// The second derivatives that are not 0: by variance and correlation, and twice by correlation.
    fn second(&self, theta: &DVector<f64>) -> [DMatrix<f64>; 2] {
        let k = self.same.len();
        let (s2, rho) = (theta[k], theta[k + 1]);
        [
            self.fading(|d| if d == 0.0 { 0.0 } else { d * rho.powf(d - 1.0) }),
            self.fading(|d| {
                if d == 0.0 || d == 1.0 {
                    0.0
                } else {
                    s2 * d * (d - 1.0) * rho.powf(d - 2.0)
                }
            }),
        ]
    }
}

fn at(blocks: &[Block], theta: &DVector<f64>, n: usize) -> Option<State> {
    let p = blocks[0].x.ncols();
    let random = theta.len() - 2;
    let rho = theta[random + 1];
    if theta.iter().take(random).any(|t| *t < 0.0)
        || theta[random].is_nan()
        || theta[random] <= 0.0
        || !(1e-6..1.0 - 1e-6).contains(&rho)
    {
        return None;
    }
    let (mut ln_det, mut inverse) = (0.0, Vec::with_capacity(blocks.len()));
    let mut information = DMatrix::zeros(p, p);
    let mut right = DVector::zeros(p);
    for block in blocks {
        let factor = block.covariance(theta).cholesky()?;
        ln_det += 2.0
            * factor
                .l_dirty()
                .diagonal()
                .iter()
                .map(|d| d.ln())
                .sum::<f64>();
        let inv = factor.inverse();
        let u = &inv * &block.x;
        information += u.tr_mul(&block.x);
        right += u.tr_mul(&block.y);
        inverse.push(inv);
    }
    let factor = information.cholesky()?;
    let ln_det_x: f64 = 2.0
        * factor
            .l_dirty()
            .diagonal()
            .iter()
            .map(|d| d.ln())
            .sum::<f64>();
    let phi = factor.inverse();
    let beta = &phi * right;
    let fit: f64 = blocks
        .iter()
        .zip(&inverse)
        .map(|(b, inv)| {
            let rest = &b.y - &b.x * &beta;
            rest.dot(&(inv * &rest))
        })
        .sum();
    let criterion = (n as f64 - p as f64) * (2.0 * PI).ln() + ln_det + ln_det_x + fit;
    criterion.is_finite().then(|| State {
        theta: theta.clone(),
        inverse,
        phi,
        beta,
        criterion,
    })
}

fn information(blocks: &[Block], state: &State) -> Information {
    let all = state.theta.len();
    let p = state.phi.nrows();
    let zero = || DMatrix::<f64>::zeros(p, p);
    let mut h = vec![zero(); all];
    let mut q = vec![vec![zero(); all]; all];
    let mut second = [zero(), zero()];
    let mut trace = vec![0.0; all];
    let mut twice = DMatrix::<f64>::zeros(all, all);
    let mut second_trace = [0.0; 2];
    // y'P V_i …: with P y = V⁻¹ e, block by block.
    let mut score = vec![0.0; all];
    let mut second_score = [0.0; 2];
    let mut quadratic = DMatrix::<f64>::zeros(all, all);
    let mut reach = vec![DVector::<f64>::zeros(p); all];
    for (block, inv) in blocks.iter().zip(&state.inverse) {
        let u = inv * &block.x;
        let e = inv * (&block.y - &block.x * &state.beta);
        let first = block.first(&state.theta);
        let vi: Vec<DMatrix<f64>> = first.iter().map(|d| inv * d).collect();
        let du: Vec<DMatrix<f64>> = first.iter().map(|d| d * &u).collect();
        let de: Vec<DVector<f64>> = first.iter().map(|d| d * &e).collect();
        for i in 0..all {
            trace[i] += vi[i].trace();
            h[i] += u.tr_mul(&du[i]);
            score[i] += e.dot(&de[i]);
            reach[i] += u.tr_mul(&de[i]);
            for j in 0..all {
                q[i][j] += du[i].tr_mul(&(inv * &du[j]));
                quadratic[(i, j)] += de[i].dot(&(inv * &de[j]));
                twice[(i, j)] += vi[i]
                    .iter()
                    .zip(vi[j].transpose().iter())
                    .map(|(a, b)| a * b)
                    .sum::<f64>();
            }
        }
        for (at, d) in block.second(&state.theta).iter().enumerate() {
            second[at] += u.tr_mul(&(d * &u));
            second_trace[at] += (inv * d).trace();
            second_score[at] += e.dot(&(d * &e));
        }
    }
    let phi = &state.phi;
    let slope = DVector::from_fn(all, |i, _| {
        -0.5 * (trace[i] - (phi * &h[i]).trace() - score[i])
    });
    // y'P V_i P V_j P y.
    let average = DMatrix::from_fn(all, all, |i, j| {
        0.5 * (quadratic[(i, j)] - reach[i].dot(&(phi * &reach[j])))
    });
    let ph: Vec<DMatrix<f64>> = h.iter().map(|h| phi * h).collect();
    let expected = DMatrix::from_fn(all, all, |i, j| {
        0.5 * (twice[(i, j)] - 2.0 * (phi * &q[i][j]).trace() + (&ph[i] * &ph[j]).trace())
    });
    let mut observed = &average * 2.0 - &expected;
    let (v, c) = (all - 2, all - 1);
    for (at, (i, j)) in [(0, (v, c)), (1, (c, c))] {
        let bend = 0.5 * (second_trace[at] - (phi * &second[at]).trace() - second_score[at]);
        observed[(i, j)] += bend;
        if i != j {
            observed[(j, i)] += bend;
        }
    }
    let [mixed, twice_rho] = second;
    Information {
        slope,
        expected,
        average,
        observed,
        h,
        q,
        r: vec![(v, c, mixed.clone()), (c, v, mixed), (c, c, twice_rho)],
    }
}

impl SerialFit {
    /// Fits the model; `random` are intercepts beside the serial residual. A random variance that
    /// falls to 0 is an error here: then the model without it is the one to fit.
    ///
    /// - Rule: restricted maximum likelihood with errors of one unit that die away with the time between them, ρ^|t
    ///   − t′|
    /// - Units: \[as the values\], times \[as given\], correlation \[1\]
    /// - Valid: some units with two times; normal errors
    /// - Source: textbook (from memory, to be confirmed); R's answers in the tests; units that mirror each other
    ///   have their middle as mean
    ///
    /// ```
    /// use trials::stats::mixed::{Serial, SerialFit};
    /// let serial = Serial { unit: vec![0, 0, 0, 1, 1, 1, 2, 2, 2, 3, 3, 3], time: [0.0, 1.0, 2.0].repeat(4) };
    /// let y = [4.0, 4.4, 4.1, 6.0, 5.6, 5.9, 5.3, 4.6, 5.2, 4.7, 5.4, 4.8];
    /// let found = SerialFit::fit(&[vec![1.0; 12]], &y, &[], &serial).unwrap();
    /// // Every unit has its mirror image about 5.
    /// assert!((found.coefficients[0].unwrap() - 5.0).abs() < 1e-9);
    /// ```
    pub fn fit(
        columns: &[Vec<f64>],
        y: &[f64],
        random: &[RandomTerm],
        serial: &Serial,
    ) -> Result<Self, MixedError> {
        let n = y.len();
        let ols = least_squares::fit(columns, y);
        let kept = ols.kept.clone();
        if n <= kept.len() + random.len() + 2 {
            return Err(MixedError::NoErrorLeft {
                rows: n,
                parameters: kept.len() + random.len() + 2,
            });
        }
        let parts = connected(n, random, &serial.unit);
        if parts.iter().any(|p| p.len() > LARGEST_BLOCK) {
            return Err(MixedError::NotSettled);
        }
        let blocks: Vec<Block> = parts
            .into_iter()
            .map(|rows| {
                let m = rows.len();
                Block {
                    x: DMatrix::from_fn(m, kept.len(), |i, j| columns[kept[j]][rows[i]]),
                    y: DVector::from_fn(m, |i, _| y[rows[i]]),
                    same: random
                        .iter()
                        .map(|t| {
                            DMatrix::from_fn(m, m, |i, j| {
                                f64::from(u8::from(t.codes[rows[i]] == t.codes[rows[j]]))
                            })
                        })
                        .collect(),
                    lag: DMatrix::from_fn(m, m, |i, j| {
                        if serial.unit[rows[i]] == serial.unit[rows[j]] {
                            (serial.time[rows[i]] - serial.time[rows[j]]).abs()
                        } else {
                            -1.0
                        }
                    }),
                    rows,
                }
            })
            .collect();
        let variance = ols.rss / ols.df;
        let mut best: Option<(State, Information)> = None;
        for rho in [0.3, 0.7, 0.05] {
            if let Some(found) = newton(&blocks, n, random.len(), variance, rho)
                && best
                    .as_ref()
                    .is_none_or(|(b, _)| found.0.criterion < b.criterion - 1e-9)
            {
                best = Some(found);
            }
        }
        let (state, info) = best.ok_or(MixedError::NotSettled)?;
        let mut components: Vec<Component> = random
            .iter()
            .zip(state.theta.iter())
            .map(|(t, v)| Component {
                name: t.name.clone(),
                value: *v,
            })
            .collect();
        components.push(Component {
            name: "residual".into(),
            value: state.theta[random.len()],
        });
        components.push(Component {
            name: "correlation one unit of time apart".into(),
            value: state.theta[random.len() + 1],
        });
        let mut coefficients = vec![None; columns.len()];
        for (k, &at) in kept.iter().enumerate() {
            coefficients[at] = Some(state.beta[k]);
        }
        let mut residuals = vec![0.0; n];
        for block in &blocks {
            let rest = &block.y - &block.x * &state.beta;
            for (&row, e) in block.rows.iter().zip(rest.iter()) {
                residuals[row] = *e;
            }
        }
        Ok(Self {
            coefficients,
            components,
            criterion: state.criterion,
            residuals,
            kept,
            ols,
            beta: state.beta.clone(),
            inference: Inference::of(Parts {
                phi: state.phi,
                h: info.h,
                q: info.q,
                r: info.r,
                expected: info.expected,
                observed: info.observed,
            })
            .ok_or(MixedError::NotSettled)?,
        })
    }

    /// The estimate of a combination of all coefficients; none when aliasing makes it inestimable.
    ///
    /// - Equation: c′b with Kenward and Roger's standard error and degrees of freedom
    /// - Units: \[as the values\], ν \[degrees of freedom\]
    /// - Valid: combinations that aliasing leaves estimable
    /// - Source: as `Mixed::combine`
    ///
    /// ```
    /// use trials::stats::mixed::{Serial, SerialFit};
    /// let serial = Serial { unit: vec![0, 0, 0, 1, 1, 1, 2, 2, 2, 3, 3, 3], time: [0.0, 1.0, 2.0].repeat(4) };
    /// let y = [4.0, 4.4, 4.1, 6.0, 5.6, 5.9, 5.3, 4.6, 5.2, 4.7, 5.4, 4.8];
    /// let found = SerialFit::fit(&[vec![1.0; 12]], &y, &[], &serial).unwrap();
    /// let mean = found.combine(&[1.0]).unwrap();
    /// assert!((mean.estimate - found.coefficients[0].unwrap()).abs() < 1e-12 && mean.df < 11.0);
    /// ```
    pub fn combine(&self, row: &[f64]) -> Option<Combination> {
        super::combine(&self.ols, &self.kept, &self.inference, &self.beta, row)
    }

    /// Tests several combinations together (Kenward and Roger's F).
    ///
    /// - Equation: F = scale · b′L′(L Φ L′)⁻¹ L b/q
    /// - Units: F and p \[1\], degrees of freedom \[1\]
    /// - Valid: combinations that aliasing leaves estimable
    /// - Source: as `Mixed::test`; one combination is t²
    ///
    /// ```
    /// use trials::stats::mixed::{Serial, SerialFit};
    /// let serial = Serial { unit: (0..18).map(|i| i / 3).collect(), time: [0.0, 1.0, 2.0].repeat(6) };
    /// let y = [4.0, 4.4, 4.9, 6.0, 5.6, 5.1, 5.3, 5.2, 4.6, 4.7, 4.8, 5.4, 4.2, 5.1, 5.0, 5.8, 4.9, 5.0];
    /// let found = SerialFit::fit(&[vec![1.0; 18]], &y, &[], &serial).unwrap();
    /// let (mean, test) = (found.combine(&[1.0]).unwrap(), found.test(&[vec![1.0]]).unwrap());
    /// assert!((test.f / (mean.estimate / mean.se).powi(2) - 1.0).abs() < 1e-6, "{test:?} {mean:?}");
    /// ```
    pub fn test(&self, rows: &[Vec<f64>]) -> Option<MixedTest> {
        super::test(&self.ols, &self.kept, &self.inference, &self.beta, rows)
    }
}

fn newton(
    blocks: &[Block],
    n: usize,
    random: usize,
    variance: f64,
    rho: f64,
) -> Option<(State, Information)> {
    let all = random + 2;
    let share = variance / (random as f64 + 1.0);
    let mut theta = DVector::from_element(all, share);
    theta[all - 1] = rho;
    let mut state = at(blocks, &theta, n)?;
    let mut calm = 0;
    for _ in 0..100 {
        let info = information(blocks, &state);
        if calm >= 2 {
            return Some((state, info));
        }
        let curve = if info.observed.clone().cholesky().is_some() {
            info.observed.clone()
        } else {
            info.average.clone()
        };
        let mut damp = 0.0;
        let step = loop {
            let mut damped = curve.clone();
            for i in 0..all {
                damped[(i, i)] += damp * (info.expected[(i, i)].abs() + 1e-300);
            }
            if let Some(factor) = damped.cholesky() {
                break factor.solve(&info.slope);
            }
            damp = if damp == 0.0 { 1e-6 } else { damp * 10.0 };
            if damp > 1e6 {
                return None;
            }
        };
        let (mut size, mut moved) = (1.0, false);
        for _ in 0..50 {
            let mut next = &state.theta + &step * size;
            for i in 0..all - 1 {
                next[i] = next[i].max(0.1 * state.theta[i]);
            }
            let before = state.theta[all - 1];
            next[all - 1] = next[all - 1].clamp(0.2 * before, 1.0 - 0.2 * (1.0 - before));
            if let Some(tried) = at(blocks, &next, n)
                && tried.criterion <= state.criterion + 1e-11 * state.criterion.abs().max(1.0)
            {
                let change = next
                    .iter()
                    .zip(state.theta.iter())
                    .map(|(a, b)| (a - b).abs() / a.abs().max(1e-9 * variance))
                    .fold(0.0, f64::max);
                calm = if change < 1e-9 { calm + 1 } else { 0 };
                state = tried;
                moved = true;
                break;
            }
            size *= 0.5;
        }
        // A variance or the correlation that runs to its limit: the simpler model is the one to fit.
        let total: f64 = state.theta.iter().take(all - 1).sum();
        if state.theta.iter().take(all - 1).any(|t| *t < 1e-7 * total)
            || !(1e-5..1.0 - 1e-5).contains(&state.theta[all - 1])
        {
            return None;
        }
        if !moved {
            let info = information(blocks, &state);
            let flat = info
                .slope
                .iter()
                .zip(state.theta.iter())
                .all(|(s, t)| (s * t).abs() < 1e-5 * n as f64);
            return flat.then_some((state, info));
        }
    }
    None
}
