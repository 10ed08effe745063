//! A small minimiser for smooth likelihoods: BFGS with numeric derivatives, then Newton steps.

use nalgebra::{DMatrix, DVector};

/// A minimum.
#[derive(Clone, Debug)]
pub struct Minimum {
    /// Where.
    pub at: Vec<f64>,
    /// How low.
    pub value: f64,
    /// Second derivatives there.
    pub hessian: DMatrix<f64>,
    /// Whether the slope vanished.
    pub converged: bool,
}

fn gradient(f: &impl Fn(&[f64]) -> f64, x: &[f64]) -> DVector<f64> {
    DVector::from_fn(x.len(), |i, _| {
        let h = 1e-5 * x[i].abs().max(1.0);
        let at = |step: f64| {
            let mut y = x.to_vec();
            y[i] += step;
            f(&y)
        };
        // Fourth-order central difference.
        (8.0 * (at(h) - at(-h)) - (at(2.0 * h) - at(-2.0 * h))) / (12.0 * h)
    })
}

/// Second derivatives by central differences of fourth order.
fn hessian(f: &impl Fn(&[f64]) -> f64, x: &[f64]) -> DMatrix<f64> {
    let n = x.len();
    let h: Vec<f64> = x.iter().map(|v| 2e-3 * v.abs().max(1.0)).collect();
    let at = |i: usize, a: f64, j: usize, b: f64| {
        let mut y = x.to_vec();
        y[i] += a * h[i];
        y[j] += b * h[j];
        f(&y)
    };
    let centre = f(x);
    let mut out = DMatrix::zeros(n, n);
    for i in 0..n {
        out[(i, i)] = (16.0 * (at(i, 1.0, i, 0.0) + at(i, -1.0, i, 0.0))
            - (at(i, 2.0, i, 0.0) + at(i, -2.0, i, 0.0))
            - 30.0 * centre)
            / (12.0 * h[i] * h[i]);
        for j in 0..i {
            let corners = |s: f64| {
                (at(i, s, j, s) - at(i, s, j, -s) - at(i, -s, j, s) + at(i, -s, j, -s))
                    / (4.0 * s * s * h[i] * h[j])
            };
            let mixed = (4.0 * corners(0.5) - corners(1.0)) / 3.0;
            out[(i, j)] = mixed;
            out[(j, i)] = mixed;
        }
    }
    out
}

/// Minimises `f` from `start`.
pub(crate) fn minimise(f: impl Fn(&[f64]) -> f64, start: &[f64]) -> Minimum {
    let n = start.len();
    let mut x = DVector::from_column_slice(start);
    let mut value = f(start);
    let mut slope = gradient(&f, x.as_slice());
    let mut inverse = DMatrix::<f64>::identity(n, n);
    for _ in 0..300 {
        if slope.amax() < 1e-9 * value.abs().max(1.0) {
            break;
        }
        let mut step = -(&inverse * &slope);
        if step.dot(&slope) >= 0.0 {
            inverse = DMatrix::identity(n, n);
            step = -slope.clone();
        }
        let longest = step.amax();
        if longest > 5.0 {
            step *= 5.0 / longest;
        }
        let downhill = step.dot(&slope);
        let mut size = 1.0;
        let mut found = None;
        for _ in 0..40 {
            let next = &x + &step * size;
            let height = f(next.as_slice());
            if height.is_finite() && height <= value + 1e-4 * size * downhill {
                found = Some((next, height));
                break;
            }
            size *= 0.5;
        }
        let Some((next, height)) = found else { break };
        let next_slope = gradient(&f, next.as_slice());
        let s = &next - &x;
        let y = &next_slope - &slope;
        let sy = s.dot(&y);
        if sy > 1e-12 {
            let rho = 1.0 / sy;
            let left = DMatrix::identity(n, n) - &s * y.transpose() * rho;
            inverse = &left * &inverse * left.transpose() + &s * s.transpose() * rho;
        }
        let gained = value - height;
        (x, value, slope) = (next, height, next_slope);
        if gained.abs() < 1e-15 * value.abs().max(1.0) {
            break;
        }
    }
    // Newton polishes what the line search can't see.
    let mut second = hessian(&f, x.as_slice());
    for _ in 0..3 {
        let Some(factor) = second.clone().cholesky() else {
            break;
        };
        let step = factor.solve(&slope);
        let next = &x - &step;
        let height = f(next.as_slice());
        if !height.is_finite() || height > value + 1e-10 * value.abs().max(1.0) {
            break;
        }
        x = next;
        value = height;
        slope = gradient(&f, x.as_slice());
        second = hessian(&f, x.as_slice());
    }
    Minimum {
        converged: slope.amax() < 1e-4 * value.abs().max(1.0),
        at: x.as_slice().to_vec(),
        value,
        hessian: second,
    }
}
