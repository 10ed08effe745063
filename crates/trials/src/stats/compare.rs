//! Comparisons of means: all pairs or each with the control.

use super::contrast::scheffe_critical;
use super::distribution::f_above;
use super::dunnett::{self, Sides};
use super::one_way::Group;
use super::studentized_range;

/// The difference `a - b` of two groups (indices), its 95 % interval and adjusted p-value.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Difference {
    /// First group.
    pub a: usize,
    /// Second group.
    pub b: usize,
    /// Mean of a less mean of b.
    pub difference: f64,
    /// Its standard error.
    pub se: f64,
    /// Degrees of freedom.
    pub df: f64,
    /// Lower end of the interval.
    pub low: f64,
    /// Upper end of the interval.
    pub high: f64,
    /// Adjusted p-value.
    pub p: f64,
}

impl Difference {
    fn new(a: usize, b: usize, difference: f64, se: f64, df: f64, critical: f64, p: f64) -> Self {
        Self {
            a,
            b,
            difference,
            se,
            df,
            low: difference - critical * se,
            high: difference + critical * se,
            p,
        }
    }
}

/// All pairs (i, j) of k with i above j, in the order 1-0, 2-0, …, 2-1, ….
pub fn pairs(k: usize) -> Vec<(usize, usize)> {
    (0..k)
        .flat_map(|j| (j + 1..k).map(move |i| (i, j)))
        .collect()
}

fn standard_error(a: &Group, b: &Group, variance: f64) -> f64 {
    (variance * (1.0 / a.n as f64 + 1.0 / b.n as f64)).sqrt()
}

/// Tukey's method, with Kramer's standard error when numbers differ.
pub fn tukey(groups: &[Group], error_variance: f64, df: f64) -> Vec<Difference> {
    let k = groups.len();
    let critical = studentized_range::quantile(0.95, k, df) / 2f64.sqrt();
    pairs(k)
        .into_iter()
        .map(|(a, b)| {
            let difference = groups[a].mean - groups[b].mean;
            let se = standard_error(&groups[a], &groups[b], error_variance);
            let p = studentized_range::above(2f64.sqrt() * (difference / se).abs(), k, df);
            Difference::new(a, b, difference, se, df, critical, p)
        })
        .collect()
}

/// Tukey's method for estimates with their own standard errors of difference (marginal means) and
/// degrees of freedom. Where there are several such families, each gets its share of the 5 %.
pub fn tukey_of(
    differences: &[(usize, usize, f64, f64, f64)],
    k: usize,
    families: f64,
) -> Vec<Difference> {
    let mut last = (f64::NAN, f64::NAN);
    differences
        .iter()
        .map(|&(a, b, difference, se, df)| {
            if df != last.0 {
                let at = 1.0 - 0.05 / families;
                last = (df, studentized_range::quantile(at, k, df) / 2f64.sqrt());
            }
            let p = studentized_range::above(2f64.sqrt() * (difference / se).abs(), k, df);
            let p = (p * families).min(1.0);
            Difference::new(a, b, difference, se, df, last.1, p)
        })
        .collect()
}

/// Games and Howell's method: all pairs without equal variances.
pub fn games_howell(groups: &[Group]) -> Vec<Difference> {
    let k = groups.len();
    pairs(k)
        .into_iter()
        .map(|(a, b)| {
            let (ga, gb) = (&groups[a], &groups[b]);
            let (va, vb) = (ga.variance() / ga.n as f64, gb.variance() / gb.n as f64);
            let se = (va + vb).sqrt();
            let df =
                (va + vb).powi(2) / (va * va / (ga.n as f64 - 1.0) + vb * vb / (gb.n as f64 - 1.0));
            let difference = ga.mean - gb.mean;
            let critical = studentized_range::quantile(0.95, k, df) / 2f64.sqrt();
            let p = studentized_range::above(2f64.sqrt() * (difference / se).abs(), k, df);
            Difference::new(a, b, difference, se, df, critical, p)
        })
        .collect()
}

/// Dunnett's method: each treatment less the control, two-sided or one-sided.
///
/// One-sided intervals are open on one side.
pub fn with_control(
    groups: &[Group],
    control: usize,
    error_variance: f64,
    df: f64,
    sides: Sides,
) -> Vec<Difference> {
    let treatments: Vec<usize> = (0..groups.len()).filter(|&i| i != control).collect();
    let numbers: Vec<usize> = treatments.iter().map(|&i| groups[i].n).collect();
    let loadings = dunnett::loadings(&numbers, groups[control].n);
    let rows: Vec<_> = treatments
        .iter()
        .map(|&i| {
            (
                i,
                control,
                groups[i].mean - groups[control].mean,
                standard_error(&groups[i], &groups[control], error_variance),
            )
        })
        .collect();
    with_control_of(&rows, &loadings, df, sides)
}

/// Dunnett's method for estimates: (treatment, control, difference, standard error) and the
/// loadings of their correlation.
pub fn with_control_of(
    rows: &[(usize, usize, f64, f64)],
    loadings: &[f64],
    df: f64,
    sides: Sides,
) -> Vec<Difference> {
    let critical = dunnett::quantile(0.95, loadings, df, sides);
    rows.iter()
        .map(|&(a, b, difference, se)| {
            let p = dunnett::p_value(difference / se, loadings, df, sides);
            let mut row = Difference::new(a, b, difference, se, df, critical, p);
            match sides {
                Sides::Two => {}
                Sides::Greater => row.high = f64::INFINITY,
                Sides::Less => row.low = f64::NEG_INFINITY,
            }
            row
        })
        .collect()
}

/// Each treatment less the control without equal variances: the multivariate t with the
/// correlations `v₀/√((v₀+vᵢ)(v₀+vⱼ))` put in and each difference's own Welch degrees of freedom
/// (Hasler and Hothorn 2008). Test and interval are the same adjustment.
pub fn with_control_unequal(groups: &[Group], control: usize) -> Vec<Difference> {
    let variance = |i: usize| groups[i].variance() / groups[i].n as f64;
    let v0 = variance(control);
    let treatments: Vec<usize> = (0..groups.len()).filter(|&i| i != control).collect();
    let loadings: Vec<f64> = treatments
        .iter()
        .map(|&i| (v0 / (v0 + variance(i))).sqrt())
        .collect();
    treatments
        .iter()
        .map(|&a| {
            let (va, na, n0) = (variance(a), groups[a].n as f64, groups[control].n as f64);
            let se = (va + v0).sqrt();
            let df = (va + v0).powi(2) / (va * va / (na - 1.0) + v0 * v0 / (n0 - 1.0));
            let difference = groups[a].mean - groups[control].mean;
            let critical = dunnett::quantile(0.95, &loadings, df, Sides::Two);
            let p = dunnett::p_value(difference / se, &loadings, df, Sides::Two);
            Difference::new(a, control, difference, se, df, critical, p)
        })
        .collect()
}

/// Scheffé's method over all pairs: also holds for any other contrast.
pub fn scheffe(groups: &[Group], error_variance: f64, df: f64) -> Vec<Difference> {
    let k = groups.len();
    let critical = scheffe_critical(k, df, 0.95);
    let df1 = k as f64 - 1.0;
    pairs(k)
        .into_iter()
        .map(|(a, b)| {
            let difference = groups[a].mean - groups[b].mean;
            let se = standard_error(&groups[a], &groups[b], error_variance);
            let p = f_above((difference / se).powi(2) / df1, df1, df);
            Difference::new(a, b, difference, se, df, critical, p)
        })
        .collect()
}
