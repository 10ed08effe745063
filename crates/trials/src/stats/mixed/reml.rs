//! The search for the variances: Newton steps on the restricted likelihood (average information
//! where the curvature is not yet that of a peak), halved until the likelihood rises, kept off
//! the boundary until it is reached.

use super::MixedError;
use super::layout::{Layout, Parameter, Part};
use nalgebra::{DMatrix, DVector};
use std::f64::consts::PI;

/// Everything about the model at given variances.
#[derive(Clone, Debug)]
pub(super) struct State {
    pub theta: DVector<f64>,
    /// S by block: V⁻¹ = (I - Z S Z')/θ_residual.
    inner: Vec<DMatrix<f64>>,
    /// V⁻¹ X.
    pub u: DMatrix<f64>,
    /// (X'V⁻¹X)⁻¹.
    pub phi: DMatrix<f64>,
    pub beta: DVector<f64>,
    /// P y.
    pub py: Vec<f64>,
    pub criterion: f64,
}

/// Derivatives of the restricted log likelihood.
#[derive(Clone, Debug)]
pub(super) struct Information {
    pub slope: DVector<f64>,
    /// ½ y'P G_i P G_j P y.
    pub average: DMatrix<f64>,
    /// ½ tr(P G_i P G_j).
    pub expected: DMatrix<f64>,
    /// H_i = X'V⁻¹ G_i V⁻¹ X.
    pub h: Vec<DMatrix<f64>>,
    /// Q_ij = X'V⁻¹ G_i V⁻¹ G_j V⁻¹ X.
    pub q: Vec<Vec<DMatrix<f64>>>,
}

impl Information {
    /// Second derivatives of minus the log likelihood.
    pub(super) fn observed(&self) -> DMatrix<f64> {
        &self.average * 2.0 - &self.expected
    }
}

pub(super) struct Found {
    pub theta: DVector<f64>,
    pub state: State,
    pub iterations: usize,
}

pub(super) enum Outcome {
    Settled(Box<Found>),
    Boundary(Part),
}

impl State {
    /// None when the variances are not those of a covariance.
    pub(super) fn at(
        layout: &Layout,
        x: &DMatrix<f64>,
        y: &[f64],
        theta: &DVector<f64>,
    ) -> Option<Self> {
        let n = layout.n;
        let residual = theta[layout.parameters.len()];
        if residual.is_nan() || residual <= 0.0 {
            return None;
        }
        let roots = roots(layout, theta)?;
        let mut ln_det = 0.0;
        let mut columns = 0;
        let mut inner = Vec::with_capacity(layout.blocks.len());
        for block in &layout.blocks {
            let size = block.cross.nrows();
            columns += size;
            let mut left = DMatrix::zeros(size, size);
            for (t, starts) in block.starts.iter().enumerate() {
                for &s in starts {
                    left.view_mut((s, s), (layout.parts[t], layout.parts[t]))
                        .copy_from(&roots[t]);
                }
            }
            let mut middle = left.tr_mul(&(&block.cross * &left));
            for i in 0..size {
                middle[(i, i)] += residual;
            }
            let factor = middle.cholesky()?;
            ln_det += 2.0
                * factor
                    .l_dirty()
                    .diagonal()
                    .iter()
                    .map(|d| d.ln())
                    .sum::<f64>();
            // S = L M⁻¹ L'.
            let solved = factor.solve(&left.transpose());
            inner.push(&left * solved);
        }
        ln_det += (n as f64 - columns as f64) * residual.ln();
        let mut state = Self {
            theta: theta.clone(),
            inner,
            u: DMatrix::zeros(n, x.ncols()),
            phi: DMatrix::zeros(0, 0),
            beta: DVector::zeros(0),
            py: Vec::new(),
            criterion: 0.0,
        };
        for j in 0..x.ncols() {
            let solved = state.solve(layout, x.column(j).as_slice());
            state.u.column_mut(j).copy_from_slice(&solved);
        }
        let information = state.u.tr_mul(x);
        let factor = information.cholesky()?;
        let ln_det_x: f64 = 2.0
            * factor
                .l_dirty()
                .diagonal()
                .iter()
                .map(|d| d.ln())
                .sum::<f64>();
        state.phi = factor.inverse();
        let target = DVector::from_column_slice(y);
        state.beta = &state.phi * state.u.tr_mul(&target);
        let rest = &target - x * &state.beta;
        state.py = state.solve(layout, rest.as_slice());
        let fit: f64 = rest.iter().zip(&state.py).map(|(a, b)| a * b).sum();
        state.criterion = (n as f64 - x.ncols() as f64) * (2.0 * PI).ln() + ln_det + ln_det_x + fit;
        state.criterion.is_finite().then_some(state)
    }

    fn residual(&self) -> f64 {
        self.theta[self.theta.len() - 1]
    }

    /// V⁻¹ w.
    pub(super) fn solve(&self, layout: &Layout, w: &[f64]) -> Vec<f64> {
        let gathered = layout.gather(w);
        let inside: Vec<Vec<f64>> = self
            .inner
            .iter()
            .zip(gathered)
            .map(|(s, g)| (s * DVector::from_vec(g)).as_slice().to_vec())
            .collect();
        let residual = self.residual();
        layout
            .scatter(&inside)
            .iter()
            .zip(w)
            .map(|(z, w)| (w - z) / residual)
            .collect()
    }

    /// P w.
    fn project(&self, layout: &Layout, x: &DMatrix<f64>, w: &[f64]) -> Vec<f64> {
        let v = DVector::from_column_slice(w);
        let rest = &v - x * (&self.phi * self.u.tr_mul(&v));
        self.solve(layout, rest.as_slice())
    }

    pub(crate) fn information(&self, layout: &Layout, x: &DMatrix<f64>) -> Information {
        let random = layout.parameters.len();
        let all = random + 1;
        let p = x.ncols();
        let residual = self.residual();
        // Traces over blocks.
        let mut trace = vec![0.0; all];
        let mut twice = DMatrix::<f64>::zeros(all, all);
        trace[random] = layout.n as f64;
        twice[(random, random)] = layout.n as f64;
        for (block, s) in layout.blocks.iter().zip(&self.inner) {
            let t = &block.cross;
            let ts = t * s;
            trace[random] -= ts.trace();
            twice[(random, random)] -= 2.0 * ts.trace();
            twice[(random, random)] += ts
                .iter()
                .zip(ts.transpose().iter())
                .map(|(a, b)| a * b)
                .sum::<f64>();
            let tst = &ts * t;
            let e = (t - &tst) / residual;
            // Z'V⁻²Z = (T - 2 TST + TSTST)/θ².
            let f = (t - &tst * 2.0 + &ts * &tst) / (residual * residual);
            for (i, a) in layout.parameters.iter().enumerate() {
                for &l in &block.starts[a.term] {
                    let double = if a.a == a.b { 1.0 } else { 2.0 };
                    trace[i] += double * e[(l + a.a, l + a.b)];
                    twice[(i, random)] += double * f[(l + a.a, l + a.b)];
                }
                for (j, b) in layout.parameters.iter().enumerate().skip(i) {
                    let mut total = 0.0;
                    for (a1, a2) in orders(a) {
                        for (b1, b2) in orders(b) {
                            for &l in &block.starts[a.term] {
                                for &m in &block.starts[b.term] {
                                    total += e[(m + b2, l + a1)] * e[(l + a2, m + b1)];
                                }
                            }
                        }
                    }
                    twice[(i, j)] += total;
                }
            }
        }
        trace[random] /= residual;
        twice[(random, random)] /= residual * residual;
        for i in 0..all {
            for j in 0..i {
                twice[(i, j)] = twice[(j, i)];
            }
        }
        // G_i V⁻¹X, and V⁻¹ of it.
        let times = |parameter: usize, w: &[f64]| -> Vec<f64> {
            match layout.parameters.get(parameter) {
                Some(&own) => layout.scatter(&layout.middle(own, &layout.gather(w))),
                None => w.to_vec(),
            }
        };
        let gu: Vec<DMatrix<f64>> = (0..all)
            .map(|i| {
                let mut out = DMatrix::zeros(layout.n, p);
                for c in 0..p {
                    out.column_mut(c)
                        .copy_from_slice(&times(i, self.u.column(c).as_slice()));
                }
                out
            })
            .collect();
        let vgu: Vec<DMatrix<f64>> = gu
            .iter()
            .map(|g| {
                let mut out = DMatrix::zeros(layout.n, p);
                for c in 0..p {
                    out.column_mut(c)
                        .copy_from_slice(&self.solve(layout, g.column(c).as_slice()));
                }
                out
            })
            .collect();
        let h: Vec<DMatrix<f64>> = gu.iter().map(|g| self.u.tr_mul(g)).collect();
        let q: Vec<Vec<DMatrix<f64>>> = gu
            .iter()
            .map(|g| vgu.iter().map(|v| g.tr_mul(v)).collect())
            .collect();
        let gpy: Vec<Vec<f64>> = (0..all).map(|i| times(i, &self.py)).collect();
        let pgpy: Vec<Vec<f64>> = gpy.iter().map(|w| self.project(layout, x, w)).collect();
        let dot = |a: &[f64], b: &[f64]| a.iter().zip(b).map(|(a, b)| a * b).sum::<f64>();
        let slope = DVector::from_fn(all, |i, _| {
            -0.5 * (trace[i] - (&self.phi * &h[i]).trace() - dot(&self.py, &gpy[i]))
        });
        let average = DMatrix::from_fn(all, all, |i, j| 0.5 * dot(&gpy[i], &pgpy[j]));
        let ph: Vec<DMatrix<f64>> = h.iter().map(|h| &self.phi * h).collect();
        let expected = DMatrix::from_fn(all, all, |i, j| {
            0.5 * (twice[(i, j)] - 2.0 * (&self.phi * &q[i][j]).trace() + (&ph[i] * &ph[j]).trace())
        });
        Information {
            slope,
            average,
            expected,
            h,
            q,
        }
    }
}

/// Both orders of a covariance's columns, or the one of a variance.
fn orders(p: &Parameter) -> Vec<(usize, usize)> {
    if p.a == p.b {
        vec![(p.a, p.a)]
    } else {
        vec![(p.a, p.b), (p.b, p.a)]
    }
}

/// Lower triangular root of each term's covariance; none when it is not one.
fn roots(layout: &Layout, theta: &DVector<f64>) -> Option<Vec<DMatrix<f64>>> {
    (0..layout.parts.len())
        .map(|t| {
            let own: Vec<f64> = layout
                .parameters
                .iter()
                .zip(theta.iter())
                .filter(|(p, _)| p.term == t)
                .map(|(_, v)| *v)
                .collect();
            let first = own[0];
            if first.is_nan() || first < 0.0 {
                return None;
            }
            if own.len() == 1 {
                return Some(DMatrix::from_element(1, 1, first.sqrt()));
            }
            let (both, second) = (own[1], own[2]);
            let rest = second - both * both / first;
            (first > 0.0 && rest >= 0.0).then(|| {
                DMatrix::from_row_slice(
                    2,
                    2,
                    &[first.sqrt(), 0.0, both / first.sqrt(), rest.sqrt()],
                )
            })
        })
        .collect()
}

/// Maximises the restricted likelihood; a start from which the steps get stuck is followed by
/// others with the random variances larger or smaller beside the residual.
pub(super) fn search(
    layout: &Layout,
    x: &DMatrix<f64>,
    y: &[f64],
    variance: f64,
) -> Result<Outcome, MixedError> {
    let mut last = Err(MixedError::NotSettled);
    for weight in [1.0, 10.0, 0.1, 100.0] {
        last = search_from(layout, x, y, variance, weight);
        if last.is_ok() {
            break;
        }
    }
    last
}

fn search_from(
    layout: &Layout,
    x: &DMatrix<f64>,
    y: &[f64],
    variance: f64,
    weight: f64,
) -> Result<Outcome, MixedError> {
    let random = layout.parameters.len();
    let rest = variance / (layout.parts.len() as f64 * weight + 1.0);
    let share = weight * rest;
    let mut theta = DVector::from_fn(random + 1, |i, _| match layout.parameters.get(i) {
        None => rest,
        Some(p) if p.a != p.b => 0.0,
        Some(p) if p.a == 0 => share,
        Some(p) => {
            let at: usize = layout.parts[..p.term].iter().sum::<usize>() + 1;
            let squares: f64 = layout
                .entries
                .chunks_exact(layout.width)
                .map(|row| row[at].2.powi(2))
                .sum();
            share * layout.n as f64 / squares.max(1e-300)
        }
    });
    let mut state = State::at(layout, x, y, &theta).ok_or(MixedError::NotSettled)?;
    let mut calm = 0;
    for iteration in 1..=200 {
        let info = state.information(layout, x);
        let observed = info.observed();
        let curve = if observed.clone().cholesky().is_some() {
            observed
        } else {
            info.average.clone()
        };
        let mut damp = 0.0;
        let step = loop {
            let mut damped = curve.clone();
            for i in 0..=random {
                damped[(i, i)] += damp * (info.expected[(i, i)].abs() + 1e-300);
            }
            if let Some(factor) = damped.cholesky() {
                break factor.solve(&info.slope);
            }
            damp = if damp == 0.0 { 1e-6 } else { damp * 10.0 };
            if damp > 1e6 {
                return Err(MixedError::NotSettled);
            }
        };
        let mut size = 1.0;
        let mut moved = false;
        for _ in 0..60 {
            let mut next = &theta + &step * size;
            // A variance may not cross zero in one step: it shrinks tenfold at most.
            for i in 0..=random {
                let own = layout.parameters.get(i).is_none_or(|p| p.a == p.b);
                if own && next[i] < 0.1 * theta[i] {
                    next[i] = 0.1 * theta[i];
                }
            }
            if let Some(tried) = State::at(layout, x, y, &next)
                && tried.criterion <= state.criterion + 1e-11 * state.criterion.abs().max(1.0)
            {
                let change = (0..=random)
                    .map(|i| {
                        let floor = match layout.parameters.get(i) {
                            Some(p) if p.a != p.b => {
                                // A covariance is judged beside its two variances.
                                (next[i - 1] * next[i + 1]).sqrt()
                            }
                            _ => next[i],
                        };
                        (next[i] - theta[i]).abs() / floor.abs().max(1e-12 * variance)
                    })
                    .fold(0.0, f64::max);
                theta = next;
                state = tried;
                moved = true;
                calm = if change < 1e-10 { calm + 1 } else { 0 };
                break;
            }
            size *= 0.5;
        }
        let total: f64 = (0..=random)
            .filter(|&i| {
                layout
                    .parameters
                    .get(i)
                    .is_none_or(|p| p.a == p.b && p.a == 0)
            })
            .map(|i| theta[i])
            .sum();
        for (i, p) in layout.parameters.iter().enumerate() {
            let own_slope = p.a == 1;
            let tiny = if own_slope || p.a != p.b {
                false
            } else {
                theta[i] < 1e-7 * total
            };
            if tiny && info.slope[i] < 0.0 {
                return Ok(Outcome::Boundary(Part {
                    term: p.term,
                    slope: layout.parts[p.term] == 2,
                }));
            }
            if own_slope {
                let (first, both, second) = (theta[i - 2], theta[i - 1], theta[i]);
                let left = 1.0 - both * both / (first * second).max(1e-300);
                if left < 1e-6 || (second < 1e-12 * variance && info.slope[i] < 0.0) {
                    return Ok(Outcome::Boundary(Part {
                        term: p.term,
                        slope: true,
                    }));
                }
            }
        }
        if !moved || calm >= 2 {
            let flat = info
                .slope
                .iter()
                .zip(theta.iter())
                .all(|(s, t)| (s * t).abs() < 1e-5 * layout.n as f64);
            if (!flat && !moved) || theta[random] < 1e-9 * total {
                return Err(MixedError::NotSettled);
            }
            return Ok(Outcome::Settled(Box::new(Found {
                theta,
                state,
                iterations: iteration,
            })));
        }
    }
    Err(MixedError::NotSettled)
}
