//! The likeliest parameters with weights and beliefs, their profiles and importance weights, against printed figures.
#![allow(clippy::unwrap_used, reason = "a test that can't go on has failed")]

use nalgebra::DMatrix;
use rand::{RngExt, SeedableRng};
use rand_pcg::Pcg64;
use trials::stats::distribution::t_quantile;
use trials::stats::map::{Belief, Closeness, Likeliest, Problem, likeliest};
use trials::stats::pareto::smoothed;
use trials::stats::profile::{held_at, interval};

/// The oxygen demand data of Bates and Watts (1988), A1.4.
const TIME: [f64; 6] = [1.0, 2.0, 3.0, 4.0, 5.0, 7.0];
const DEMAND: [f64; 6] = [8.3, 10.3, 19.0, 16.0, 15.6, 19.8];

fn demand(b: &[f64]) -> Vec<f64> {
    TIME.iter()
        .map(|t| b[0] * -(-b[1].exp() * t).exp_m1())
        .collect()
}

fn demand_slopes(b: &[f64]) -> DMatrix<f64> {
    DMatrix::from_fn(6, 2, |i, c| {
        let rate = b[1].exp();
        let gone = (-rate * TIME[i]).exp();
        if c == 0 {
            1.0 - gone
        } else {
            b[0] * gone * rate * TIME[i]
        }
    })
}

fn bod(sd: &[f64]) -> Problem<'_> {
    Problem {
        values: &demand,
        slopes: &demand_slopes,
        observed: &DEMAND,
        sd,
        beliefs: &[],
    }
}

/// Residual variance of a fit without beliefs.
fn variance(best: &Likeliest, rows: usize) -> f64 {
    best.misfit / (rows - best.parameters.len()) as f64
}

/// The profile-t table in the reference output of R (example `profile.nls`), 26 printed points.
#[test]
fn the_printed_profile_is_met() {
    let sd = [1.0; 6];
    let problem = bod(&sd);
    let best = likeliest(&problem, &[20.0, -0.5], Closeness::LastDigit);
    let s = variance(&best, 6).sqrt();
    let amount = [
        (-3.0873, 13.59751, 0.14033),
        (-2.4957, 14.46884, 0.01607),
        (-1.8906, 15.41836, -0.11787),
        (-1.2634, 16.49088, -0.26877),
        (-0.6080, 17.75662, -0.44553),
        (0.4998, 20.52853, -0.80750),
        (0.9465, 22.06851, -0.98233),
        (1.3780, 23.98253, -1.17103),
        (1.7908, 26.44552, -1.37431),
        (2.1841, 29.75928, -1.59599),
        (2.5559, 34.43804, -1.84209),
        (2.9028, 41.42542, -2.12176),
    ];
    let rate = [
        (-2.9550, 42.395076, -2.184153),
        (-2.5201, 33.446683, -1.836926),
        (-2.0570, 28.124205, -1.547326),
        (-1.5710, 24.656989, -1.293871),
        (-1.0653, 22.245847, -1.063030),
        (-0.5412, 20.482887, -0.845157),
        (0.5539, 18.095015, -0.420487),
        (1.1022, 17.273414, -0.207623),
        (1.6298, 16.621533, 0.007939),
        (2.1335, 16.086803, 0.234850),
        (2.6052, 15.638807, 0.485009),
        (3.0276, 15.265409, 0.779458),
    ];
    assert!(
        (best.parameters[0] - 19.14258).abs() < 5e-5 && (best.parameters[1] + 0.63282).abs() < 5e-5
    );
    for (which, table) in [(0, amount), (1, rate)] {
        for (tau, a, lrc) in table {
            let value = if which == 0 { a } else { lrc };
            let held = held_at(&problem, which, value, &best.parameters, best.total());
            let found = held.cost.max(0.0).sqrt() / s * f64::signum(tau);
            assert!((found - tau).abs() < 1e-4, "{which} {value}: {found} {tau}");
            let other = if which == 0 {
                (held.parameters[1], lrc)
            } else {
                (held.parameters[0], a)
            };
            assert!(
                (other.0 - other.1).abs() < 2e-4 * (1.0 + other.1.abs()),
                "{other:?}"
            );
        }
    }
}

/// Profile intervals by the t of the residual degrees of freedom: computed apart, with that table as their anchor.
#[test]
fn profile_intervals_are_lopsided_where_the_curve_is() {
    let sd = [1.0; 6];
    let problem = bod(&sd);
    let best = likeliest(&problem, &[20.0, -0.5], Closeness::LastDigit);
    let cut = |level: f64| variance(&best, 6) * t_quantile(0.5 + 0.5 * level, 4.0).powi(2);
    for (which, level, wanted) in [
        (0, 0.95, [14.04936416282624, 38.45619796806844]),
        (1, 0.95, [-2.029526321462128, 0.59231505996819]),
        (0, 0.90, [15.031423277320078, 29.243667755676114]),
    ] {
        let found = interval(&problem, &best, which, cut(level), 12.0);
        for (found, wanted) in found.into_iter().zip(wanted) {
            let found = found.unwrap();
            assert!(
                (found / wanted - 1.0).abs() < 1e-4,
                "{which} {found} {wanted}"
            );
        }
    }
    // Puromycin, treated cells (Bates and Watts 1988), Michaelis and Menten: intervals computed apart.
    let conc = [
        0.02, 0.02, 0.06, 0.06, 0.11, 0.11, 0.22, 0.22, 0.56, 0.56, 1.1, 1.1,
    ];
    let rate = [
        76.0, 47.0, 97.0, 107.0, 123.0, 139.0, 159.0, 152.0, 191.0, 201.0, 207.0, 200.0,
    ];
    let sd = [1.0; 12];
    let problem = Problem {
        values: &|b: &[f64]| conc.iter().map(|c| b[0] * c / (b[1] + c)).collect(),
        slopes: &|b: &[f64]| {
            DMatrix::from_fn(12, 2, |i, k| {
                let under = b[1] + conc[i];
                if k == 0 {
                    conc[i] / under
                } else {
                    -b[0] * conc[i] / (under * under)
                }
            })
        },
        observed: &rate,
        sd: &sd,
        beliefs: &[],
    };
    let best = likeliest(&problem, &[150.0, 0.1], Closeness::LastDigit);
    let cut = variance(&best, 12) * t_quantile(0.975, 10.0).powi(2);
    for (which, wanted) in [
        (0, [197.30193290028393, 229.28905505505318]),
        (1, [0.04692034203517121, 0.08615691342713876]),
    ] {
        for (found, wanted) in interval(&problem, &best, which, cut, 12.0)
            .into_iter()
            .zip(wanted)
        {
            assert!(
                (found.unwrap() / wanted - 1.0).abs() < 1e-4,
                "{which} {found:?} {wanted}"
            );
        }
    }
}

/// Weights and beliefs: likeliest parameters, Laplace deviations and the exact means computed apart on a fine grid.
#[test]
fn beliefs_and_importance_weights_on_the_same_data() {
    let sd = [2.5; 6];
    let problem = Problem {
        values: &|b: &[f64]| demand(&[b[0].exp(), b[1]]),
        slopes: &|b: &[f64]| {
            let mut j = demand_slopes(&[b[0].exp(), b[1]]);
            j.column_mut(0).scale_mut(b[0].exp());
            j
        },
        observed: &DEMAND,
        sd: &sd,
        beliefs: &[
            Some(Belief {
                mean: 20.0_f64.ln(),
                sd: 0.5,
            }),
            Some(Belief {
                mean: -0.6,
                sd: 0.7,
            }),
        ],
    };
    let best = likeliest(&problem, &[3.0, -0.6], Closeness::LastDigit);
    for (found, wanted) in best
        .parameters
        .iter()
        .zip([2.952164291551673, -0.6310076018972667])
    {
        assert!((found - wanted).abs() < 1e-4, "{found} {wanted}");
    }
    let covariance = best.covariance.clone().unwrap();
    for (i, wanted) in [0.11444627720816833, 0.32748149496811346]
        .into_iter()
        .enumerate()
    {
        // Gauss and Newton's curvature leaves the residuals' own bend out: within 6 % here.
        assert!(
            (covariance[(i, i)].sqrt() / wanted - 1.0).abs() < 0.06,
            "{covariance}"
        );
    }
    // Student's t on 4 degrees of freedom about the likeliest, with the spread of Laplace.
    let half = best.covariance.clone().unwrap().cholesky().unwrap().l();
    let total = |b: &[f64]| {
        let data = (problem.values)(b)
            .into_iter()
            .zip(DEMAND)
            .map(|(v, y)| ((y - v) / 2.5).powi(2));
        data.sum::<f64>() + ((b[0] - 20.0_f64.ln()) / 0.5).powi(2) + ((b[1] + 0.6) / 0.7).powi(2)
    };
    let mut rng = Pcg64::seed_from_u64(5);
    let mut normal = || {
        let (u, v): (f64, f64) = (rng.random(), rng.random());
        (-2.0 * (1.0 - u).ln()).sqrt() * (2.0 * std::f64::consts::PI * v).cos()
    };
    let (mut draws, mut ln_weights) = (Vec::new(), Vec::new());
    for _ in 0..4000 {
        let z = [normal(), normal()];
        let chi: f64 = (0..4).map(|_| normal().powi(2)).sum();
        let wide = (4.0 / chi).sqrt();
        let t = z.map(|z| z * wide);
        let b = [
            best.parameters[0] + half[(0, 0)] * t[0],
            best.parameters[1] + half[(1, 0)] * t[0] + half[(1, 1)] * t[1],
        ];
        let ln_proposal = -3.0 * (1.0 + (t[0] * t[0] + t[1] * t[1]) / 4.0).ln();
        ln_weights.push(-0.5 * total(&b) - ln_proposal);
        draws.push(b);
    }
    let weights = smoothed(&ln_weights);
    assert!(weights.shape < 0.25, "{}", weights.shape);
    for (i, (mean, spread)) in [
        (2.9625959575385745, 0.1252742099768504),
        (-0.6379173075553625, 0.3496006531092451),
    ]
    .into_iter()
    .enumerate()
    {
        let of = |f: &dyn Fn(f64) -> f64| -> f64 {
            draws
                .iter()
                .zip(&weights.weights)
                .map(|(d, w)| w * f(d[i]))
                .sum()
        };
        let found = of(&|v| v);
        let sd = of(&|v| (v - found).powi(2)).sqrt();
        assert!(
            (found - mean).abs() < 0.02 && (sd / spread - 1.0).abs() < 0.06,
            "{i} {found} {sd}"
        );
    }
}

/// A tail of known shape is found.
#[test]
fn the_shape_of_a_pareto_tail() {
    let mut rng = Pcg64::seed_from_u64(9);
    for k in [0.2, 0.5, 0.9] {
        // A generalised Pareto variable of shape k; its logarithms are the weights'.
        let ln: Vec<f64> = (0..20_000)
            .map(|_| {
                let u: f64 = rng.random();
                ((-k * (-u).ln_1p()).exp_m1() / k).ln()
            })
            .collect();
        let found = smoothed(&ln).shape;
        assert!((found - k).abs() < 0.12, "{k} {found}");
    }
}
