//! Nonlinear least squares by Levenberg and Marquardt, with scaled parameters.

use nalgebra::{DMatrix, DVector};

/// A fitted curve.
#[derive(Clone, Debug)]
pub struct Curve {
    /// Parameters.
    pub parameters: Vec<f64>,
    /// Their standard errors; none where they can't be told apart or nothing is left to judge by.
    pub standard_errors: Option<Vec<f64>>,
    /// Residual sum of squares.
    pub rss: f64,
    /// Residual degrees of freedom.
    pub df: f64,
    /// Residual standard deviation; none without residual degrees of freedom.
    pub residual_sd: Option<f64>,
    /// Iterations.
    pub iterations: usize,
    /// Whether the last step changed nothing that matters.
    pub converged: bool,
}

fn sum_squares(r: &DVector<f64>) -> f64 {
    super::moments::sum(r.iter().map(|v| v * v))
}

/// A model: its value in every row at some parameters.
pub(super) type Values<'a> = dyn Fn(&[f64]) -> Vec<f64> + 'a;
/// The derivatives of every row by every parameter.
pub(super) type Slopes<'a> = dyn Fn(&[f64]) -> DMatrix<f64> + 'a;

/// When a descent has arrived.
#[derive(Clone, Copy, Debug)]
pub(super) struct Until {
    /// A step that moves every parameter by less than this share has arrived.
    pub moved: f64,
    /// So has one that would gain less than this of the sum of squares.
    pub gain: f64,
    /// Steps at most.
    pub steps: usize,
}

/// To the last digit.
const TO_THE_LAST: Until = Until {
    moved: 1e-13,
    gain: 0.0,
    steps: 5000,
};

/// Fourth-order central differences, with one step of Richardson's extrapolation.
fn jacobian(model: &Values<'_>, b: &[f64], n: usize) -> DMatrix<f64> {
    let mut out = DMatrix::zeros(n, b.len());
    for j in 0..b.len() {
        let h = 2e-3 * if b[j] == 0.0 { 1e-3 } else { b[j].abs() };
        let at = |step: f64| {
            let mut c = b.to_vec();
            c[j] += step;
            let moved = c[j] - b[j];
            (model(&c), moved)
        };
        let central = |h: f64| -> Vec<f64> {
            let ((up, a), (down, z)) = (at(h), at(-h));
            up.iter()
                .zip(&down)
                .map(|(u, d)| (u - d) / (a - z))
                .collect()
        };
        let (wide, middle, near) = (central(h), central(h / 2.0), central(h / 4.0));
        for i in 0..n {
            let a = (4.0 * middle[i] - wide[i]) / 3.0;
            let b = (4.0 * near[i] - middle[i]) / 3.0;
            out[(i, j)] = (16.0 * b - a) / 15.0;
        }
    }
    out
}

/// Solves min |J s - r|² + λ |D s|² by QR of the stacked matrix.
fn damped(j: &DMatrix<f64>, r: &DVector<f64>, scale: &[f64], lambda: f64) -> Option<DVector<f64>> {
    let (n, p) = j.shape();
    let mut stacked = DMatrix::zeros(n + p, p);
    for c in 0..p {
        for i in 0..n {
            stacked[(i, c)] = j[(i, c)] / scale[c];
        }
        stacked[(n + c, c)] = lambda.sqrt();
    }
    let mut right = DVector::zeros(n + p);
    right.rows_mut(0, n).copy_from(r);
    let qr = stacked.qr();
    qr.q_tr_mul(&mut right);
    let solved = qr
        .r()
        .solve_upper_triangular(&right.rows(0, p).into_owned())?;
    let step = DVector::from_fn(p, |c, _| solved[c] / scale[c]);
    step.iter().all(|v| v.is_finite()).then_some(step)
}

/// The step with half its geodesic acceleration (Transtrum and Sethna 2012): the second derivative
/// of the model along the step, fitted like a residual. None when the bend outweighs the step.
fn bent(
    model: &Values<'_>,
    b: &[f64],
    j: &DMatrix<f64>,
    scale: &[f64],
    lambda: f64,
    step: DVector<f64>,
) -> Option<DVector<f64>> {
    /// First width of the differences.
    ///
    /// - Units: share of the parameter \[1\]
    /// - Source: a numerical choice
    const H: f64 = 0.1;
    let at = |part: f64| -> Vec<f64> {
        let moved: Vec<f64> = b
            .iter()
            .zip(step.iter())
            .map(|(b, s)| b + part * s)
            .collect();
        model(&moved)
    };
    let along = j * &step;
    let (here, ahead) = (model(b), at(H));
    let second = DVector::from_fn(here.len(), |i, _| {
        -2.0 / H * ((ahead[i] - here[i]) / H - along[i])
    });
    if second.iter().any(|v| !v.is_finite()) {
        return Some(step);
    }
    let bend = damped(j, &second, scale, lambda)?;
    let long = |v: &DVector<f64>| -> f64 {
        v.iter()
            .zip(scale)
            .map(|(v, s)| (v * s).powi(2))
            .sum::<f64>()
            .sqrt()
    };
    (2.0 * long(&bend) <= 0.75 * long(&step)).then(|| step + bend * 0.5)
}

/// Fits `model(parameters) -> value per row` to `y` from `start`.
///
/// - Rule: Levenberg and Marquardt's damped steps, slopes by differences
/// - Units: \[as the parameters\]
/// - Valid: models that are smooth about the answer
/// - Source: textbook; 27 sets with certified values of NIST in the tests; the example's curve is its own data
///
/// ```
/// use trials::stats::nonlinear::fit;
/// let x = [1.0, 2.0, 3.0, 4.0_f64];
/// let y: Vec<f64> = x.iter().map(|x| 3.0 * (-0.5 * x).exp()).collect();
/// let curve = fit(&|b: &[f64]| x.iter().map(|x| b[0] * (-b[1] * x).exp()).collect(), &y, &[1.0, 1.0]);
/// assert!((curve.parameters[1] - 0.5).abs() < 1e-9);
/// ```
///
/// A start from which the first steps run away is tried again with shorter first steps; the lowest
/// residual sum of squares wins.
pub fn fit(model: &impl Fn(&[f64]) -> Vec<f64>, y: &[f64], start: &[f64]) -> Curve {
    let first = fit_from(model, y, start, FIRST_DAMPING[0]);
    let sound = |c: &Curve| {
        c.converged
            && c.standard_errors.as_ref().is_some_and(|se| {
                se.iter()
                    .zip(&c.parameters)
                    .all(|(s, b)| s.is_finite() && *s < 1e6 * b.abs())
            })
    };
    if sound(&first) {
        return first;
    }
    FIRST_DAMPING[1..].iter().fold(first, |best, &damping| {
        let next = fit_from(model, y, start, damping);
        if (sound(&next), -next.rss) > (sound(&best), -best.rss) {
            next
        } else {
            best
        }
    })
}

/// How strongly the first step is held back, in turn.
///
/// - Units: \[1\]
/// - Source: a numerical choice
const FIRST_DAMPING: [f64; 4] = [1e-2, 1.0, 1e2, 1e4];

/// Where a descent ended.
pub(super) struct Bottom {
    pub b: Vec<f64>,
    pub r: DVector<f64>,
    pub ss: f64,
    pub iterations: usize,
    pub converged: bool,
}

/// Goes down from a start by damped steps.
pub(super) fn descend(
    model: &Values<'_>,
    slopes: &Slopes<'_>,
    y: &[f64],
    start: &[f64],
    first_damping: f64,
    until: Until,
) -> Bottom {
    let n = y.len();
    let p = start.len();
    let residuals = |b: &[f64]| residuals_of(model, y, b);
    let mut b = start.to_vec();
    let mut r = residuals(&b).unwrap_or_else(|| DVector::from_element(n, 1e150));
    let mut ss = sum_squares(&r);
    let mut scale = vec![0.0_f64; p];
    let mut lambda = first_damping;
    let mut grow = 2.0;
    let mut converged = false;
    let mut iterations = 0;
    let mut quiet = 0;
    while iterations < until.steps && !converged {
        iterations += 1;
        let j = slopes(&b);
        if j.iter().any(|v| !v.is_finite()) {
            break;
        }
        for (scale, column) in scale.iter_mut().zip(j.column_iter()) {
            *scale = column.norm().max(0.7 * *scale).max(1e-300);
        }
        let mut tries = 0;
        loop {
            tries += 1;
            let step =
                damped(&j, &r, &scale, lambda).and_then(|v| bent(model, &b, &j, &scale, lambda, v));
            let tried = step.as_ref().and_then(|step| {
                let next: Vec<f64> = b.iter().zip(step.iter()).map(|(b, s)| b + s).collect();
                residuals(&next).map(|r| (next, r))
            });
            let Some((next, r_next)) = tried else {
                lambda = (lambda * 10.0).min(1e30);
                if tries > 60 {
                    converged = true;
                    break;
                }
                continue;
            };
            let ss_next = sum_squares(&r_next);
            let step = step.expect("a trial has a step");
            let moved = step
                .iter()
                .zip(&next)
                .map(|(s, b)| s.abs() / b.abs().max(1e-300))
                .fold(0.0, f64::max);
            let predicted = ss - sum_squares(&(&r - &j * &step));
            let little = predicted.abs() < until.gain * ss;
            if ss_next <= ss {
                let gain = (ss - ss_next) / predicted.max(1e-300);
                (b, r, ss) = (next, r_next, ss_next);
                lambda *= (1.0 - (2.0 * gain - 1.0).powi(3)).clamp(0.1, 2.0);
                lambda = lambda.max(1e-25);
                grow = 2.0;
                quiet = if moved < until.moved || little {
                    quiet + 1
                } else {
                    0
                };
                converged = quiet >= 2 || ss == 0.0;
                break;
            }
            if moved < 1e-15 || tries > 100 || little {
                converged = true;
                break;
            }
            lambda *= grow;
            grow *= 2.0;
        }
    }
    Bottom {
        b,
        r,
        ss,
        iterations,
        converged,
    }
}

fn residuals_of(model: &Values<'_>, y: &[f64], b: &[f64]) -> Option<DVector<f64>> {
    let values = model(b);
    let r = DVector::from_iterator(y.len(), y.iter().zip(values).map(|(y, f)| y - f));
    r.iter().all(|v| v.is_finite()).then_some(r)
}

fn fit_from(model: &Values<'_>, y: &[f64], start: &[f64], first_damping: f64) -> Curve {
    let n = y.len();
    let p = start.len();
    let residuals = |b: &[f64]| residuals_of(model, y, b);
    let slopes = |b: &[f64]| jacobian(model, b, n);
    let Bottom {
        mut b,
        mut r,
        mut ss,
        iterations,
        converged,
    } = descend(model, &slopes, y, start, first_damping, TO_THE_LAST);
    // Plain Gauss–Newton steps at the bottom, taken while they shrink.
    let mut last = f64::INFINITY;
    for _ in 0..100 {
        let j = jacobian(model, &b, n);
        let own: Vec<f64> = (0..p).map(|c| j.column(c).norm().max(1e-300)).collect();
        let Some(step) = damped(&j, &r, &own, 0.0) else {
            break;
        };
        let moved = step
            .iter()
            .zip(&b)
            .map(|(s, b)| s.abs() / b.abs().max(1e-300))
            .fold(0.0, f64::max);
        let next: Vec<f64> = b.iter().zip(step.iter()).map(|(b, s)| b + s).collect();
        let Some(r_next) = residuals(&next) else {
            break;
        };
        let ss_next = sum_squares(&r_next);
        if moved >= 0.9 * last || ss_next > ss * (1.0 + 1e-9) || moved > 1e-2 {
            break;
        }
        last = moved;
        (b, r, ss) = (next, r_next, ss_next);
    }
    let j = jacobian(model, &b, n);
    let own: Vec<f64> = (0..p).map(|c| j.column(c).norm().max(1e-300)).collect();
    let scaled = DMatrix::from_fn(n, p, |i, c| j[(i, c)] / own[c]);
    let upper = scaled.qr().r();
    let inverse = upper.solve_upper_triangular(&DMatrix::identity(p, p));
    let df = n as f64 - p as f64;
    let residual_sd = (df > 0.0).then(|| (ss / df).sqrt());
    let standard_errors = inverse.zip(residual_sd).map(|(inverse, sd)| {
        (0..p)
            .map(|c| sd * inverse.row(c).norm() / own[c])
            .collect()
    });
    Curve {
        parameters: b,
        standard_errors,
        rss: ss,
        df,
        residual_sd,
        iterations,
        converged,
    }
}
