//! The distributions that tests stand on: normal, t, chi-square, F, noncentral F, scaled chi.
//!
//! These are numeric kernels: an argument outside a distribution's domain (a NaN, no degrees of
//! freedom) gives NaN, as IEEE 754 does. What is told of them checks its domain before, and tells an
//! absent number as none.

use super::quadrature;
use libm::{erfc, lgamma as ln_gamma};
use statrs::function::gamma::{gamma_lr, gamma_ur};
use std::f64::consts::{PI, SQRT_2};
use std::sync::OnceLock;

/// Standard normal density.
///
/// - Equation: φ(z) = exp(−z²/2)/√(2π)
/// - Units: z \[1\], density \[1\]
/// - Valid: any z
/// - Source: definition; 0.3989423 at 0 in every table
///
/// ```
/// use trials::stats::distribution::normal_density;
/// assert!((normal_density(0.0) - 0.398_942_280_401_433).abs() < 1e-15);
/// ```
pub fn normal_density(z: f64) -> f64 {
    (-0.5 * z * z).exp() / (2.0 * PI).sqrt()
}

/// Standard normal probability below `z`.
///
/// - Equation: Φ(z) = ½ erfc(−z/√2)
/// - Units: z \[1\], probability \[1\]
/// - Valid: any z
/// - Source: definition; 0.8413447 at 1 in every table
///
/// ```
/// use trials::stats::distribution::normal_below;
/// assert!((normal_below(1.0) - 0.841_344_746_068_543).abs() < 1e-14);
/// ```
pub fn normal_below(z: f64) -> f64 {
    0.5 * erfc(-z / SQRT_2)
}

/// Steps of the table behind [`normal_below_quick`] in one unit, and how far it goes.
///
/// - Units: \[1\]
/// - Source: a numerical choice
const PER_UNIT: f64 = 32.0;
/// How far the table goes.
///
/// - Units: \[standard deviations\]
/// - Source: a numerical choice: what lies beyond is below 1e-18
const TABLE_EDGE: f64 = 9.0;

/// Standard normal probability below `z` to 1e-15 of the whole, a few times quicker than
/// [`normal_below`]: Taylor's series from the nearest place of a table. For integrals; small
/// probabilities of their own keep no relative digits.
pub(crate) fn normal_below_quick(z: f64) -> f64 {
    static TABLE: OnceLock<Vec<(f64, f64)>> = OnceLock::new();
    if z.is_nan() {
        return f64::NAN;
    }
    if z.abs() >= TABLE_EDGE {
        return f64::from(u8::from(z > 0.0));
    }
    let table = TABLE.get_or_init(|| {
        (0..=(2.0 * TABLE_EDGE * PER_UNIT) as usize)
            .map(|i| i as f64 / PER_UNIT - TABLE_EDGE)
            .map(|x| (normal_below(x), normal_density(x)))
            .collect()
    });
    let at = ((z + TABLE_EDGE) * PER_UNIT).round();
    let x = at / PER_UNIT - TABLE_EDGE;
    let d = z - x;
    let (below, density) = table[at as usize];
    // Φ(x + d) = Φ + φ Σ (-1)^j He_j(x) d^(j+1)/(j+1)!
    let h2 = x * x - 1.0;
    let h3 = x * h2 - 2.0 * x;
    let h4 = x * h3 - 3.0 * h2;
    let h5 = x * h4 - 4.0 * h3;
    let h6 = x * h5 - 5.0 * h4;
    let series = 1.0
        - d / 2.0
            * (x - d / 3.0
                * (h2 - d / 4.0 * (h3 - d / 5.0 * (h4 - d / 6.0 * (h5 - d / 7.0 * h6)))));
    below + density * d * series
}

/// Two-sided normal p-value of `z`.
///
/// - Equation: p = erfc(|z|/√2)
/// - Units: z \[1\], p \[1\]
/// - Valid: any z
/// - Source: definition; 0.05 at 1.959964
///
/// ```
/// use trials::stats::distribution::normal_two_sided;
/// assert!((normal_two_sided(-1.959_963_984_540_054) - 0.05).abs() < 1e-14);
/// ```
pub fn normal_two_sided(z: f64) -> f64 {
    erfc(z.abs() / SQRT_2).min(1.0)
}

/// Standard normal quantile of `p` in (0, 1), by Newton–Halley steps on [`normal_below`].
///
/// - Equation: z with Φ(z) = p
/// - Units: p and z \[1\]
/// - Valid: p above 0 and below 1, infinite at the ends
/// - Source: start by Abramowitz and Stegun 26.2.23 (from memory, to be confirmed), then Newton and Halley;
///   1.959964 in every table
///
/// ```
/// let z = trials::stats::distribution::normal_quantile(0.975);
/// assert!((z - 1.959963984540054).abs() < 1e-12);
/// ```
pub fn normal_quantile(p: f64) -> f64 {
    if !(p > 0.0 && p < 1.0) {
        return if p <= 0.0 {
            f64::NEG_INFINITY
        } else if p >= 1.0 {
            f64::INFINITY
        } else {
            f64::NAN
        };
    }
    if p > 0.5 {
        return -normal_quantile(1.0 - p);
    }
    // Start: Abramowitz and Stegun 26.2.23, then polish.
    let t = (-2.0 * p.ln()).sqrt();
    let mut z = -(t
        - (2.515_517 + t * (0.802_853 + t * 0.010_328))
            / (1.0 + t * (1.432_788 + t * (0.189_269 + t * 0.001_308))));
    for _ in 0..4 {
        let step = (normal_below(z) - p) / normal_density(z);
        z -= step / (1.0 + 0.5 * z * step);
    }
    z
}

/// Regularised incomplete beta function I_x(a, b), by its continued fraction (modified Lentz).
pub(crate) fn beta_below(a: f64, b: f64, x: f64) -> f64 {
    if x.is_nan() || a.is_nan() || b.is_nan() {
        return f64::NAN;
    }
    if x <= 0.0 {
        return 0.0;
    }
    if x >= 1.0 {
        return 1.0;
    }
    if x > (a + 1.0) / (a + b + 2.0) {
        return 1.0 - beta_fraction(b, a, 1.0 - x);
    }
    beta_fraction(a, b, x)
}

/// The complement 1 - I_x(a, b) without cancellation, `y = 1 - x` given apart.
fn beta_above(a: f64, b: f64, x: f64, y: f64) -> f64 {
    if x <= 0.0 {
        return 1.0;
    }
    if y <= 0.0 {
        return 0.0;
    }
    if y > (b + 1.0) / (a + b + 2.0) {
        return 1.0 - beta_fraction(a, b, x);
    }
    beta_fraction(b, a, y)
}

fn beta_fraction(a: f64, b: f64, x: f64) -> f64 {
    /// In place of nought in a fraction.
    ///
    /// - Units: \[1\]
    /// - Source: a numerical floor, as in Lentz's method
    const TINY: f64 = 1e-300;
    let front =
        (ln_gamma(a + b) - ln_gamma(a) - ln_gamma(b) + a * x.ln() + b * (-x).ln_1p()).exp() / a;
    let mut c = 1.0;
    let mut d = 1.0 - (a + b) * x / (a + 1.0);
    d = 1.0 / if d.abs() < TINY { TINY } else { d };
    let mut h = d;
    for m in 1..20_000 {
        let m = f64::from(m);
        for part in [
            m * (b - m) * x / ((a + 2.0 * m - 1.0) * (a + 2.0 * m)),
            -(a + m) * (a + b + m) * x / ((a + 2.0 * m) * (a + 2.0 * m + 1.0)),
        ] {
            d = 1.0 + part * d;
            d = 1.0 / if d.abs() < TINY { TINY } else { d };
            c = 1.0 + part / c;
            if c.abs() < TINY {
                c = TINY;
            }
            h *= d * c;
        }
        if (d * c - 1.0).abs() < 1e-16 {
            break;
        }
    }
    front * h
}

/// Two-sided p-value of Student's t with `df` degrees of freedom (infinite: the normal).
///
/// - Equation: p = I_{ν/(ν+t²)}(ν/2, ½)
/// - Units: t \[1\], ν \[degrees of freedom\], p \[1\]
/// - Valid: ν above 0, fractions and infinity allowed
/// - Source: incomplete beta function; with ν = 1 it is Cauchy's, p(1) = ½
///
/// ```
/// use trials::stats::distribution::t_two_sided;
/// assert!((t_two_sided(1.0, 1.0) - 0.5).abs() < 1e-14);
/// assert!((t_two_sided(2.228_138_851_986_164, 10.0) - 0.05).abs() < 1e-12);
/// ```
pub fn t_two_sided(t: f64, df: f64) -> f64 {
    if t.is_nan() || df.is_nan() || df <= 0.0 {
        return f64::NAN;
    }
    if df.is_infinite() {
        return normal_two_sided(t);
    }
    if t.is_infinite() {
        return 0.0;
    }
    // I_{df/(df+t²)}(df/2, 1/2)
    let square = t * t;
    beta_above(0.5, 0.5 * df, square / (df + square), df / (df + square))
}

/// Probability of Student's t below `t`.
///
/// - Equation: P(T < t) = 1 − p/2 for t > 0, p/2 else
/// - Units: t \[1\], ν \[degrees of freedom\], probability \[1\]
/// - Valid: ν above 0
/// - Source: with ν = 1 it is Cauchy's, P(T < 1) = ¾
///
/// ```
/// assert!((trials::stats::distribution::t_below(1.0, 1.0) - 0.75).abs() < 1e-13);
/// ```
pub fn t_below(t: f64, df: f64) -> f64 {
    let tail = 0.5 * t_two_sided(t, df);
    if t > 0.0 { 1.0 - tail } else { tail }
}

/// Student's t quantile.
///
/// - Equation: t with P(T < t) = p
/// - Units: p and t \[1\], ν \[degrees of freedom\]
/// - Valid: p between 0 and 1, ν above 0
/// - Source: table of t, 2.228139 for 0.975 and 10 (R)
///
/// ```
/// let t = trials::stats::distribution::t_quantile(0.975, 10.0);
/// assert!((t - 2.228138851986164).abs() < 1e-10);
/// ```
pub fn t_quantile(p: f64, df: f64) -> f64 {
    if df.is_nan() || df <= 0.0 || p.is_nan() {
        return f64::NAN;
    }
    if df.is_infinite() {
        return normal_quantile(p);
    }
    if p < 0.5 {
        return -t_quantile(1.0 - p, df);
    }
    let tail = 2.0 * (1.0 - p);
    root_above(|t| tail - t_two_sided(t, df), 0.0, 2.0)
}

/// Probability of chi-square with `df` degrees of freedom above `x`.
///
/// - Equation: P = Γ(ν/2, x/2)/Γ(ν/2)
/// - Units: x \[1\], ν \[degrees of freedom\], probability \[1\]
/// - Valid: ν above 0
/// - Source: incomplete gamma function; with ν = 2 it is e^(−x/2)
///
/// ```
/// assert!((trials::stats::distribution::chi_square_above(3.0, 2.0) - (-1.5_f64).exp()).abs() < 1e-14);
/// ```
pub fn chi_square_above(x: f64, df: f64) -> f64 {
    if x.is_nan() || df.is_nan() || df <= 0.0 {
        return f64::NAN;
    }
    if x <= 0.0 {
        return 1.0;
    }
    gamma_ur(0.5 * df, 0.5 * x)
}

/// Probability of chi-square below `x`.
///
/// - Equation: P = γ(ν/2, x/2)/Γ(ν/2)
/// - Units: x \[1\], ν \[degrees of freedom\], probability \[1\]
/// - Valid: ν above 0
/// - Source: incomplete gamma function; with ν = 2 it is 1 − e^(−x/2)
///
/// ```
/// assert!((trials::stats::distribution::chi_square_below(3.0, 2.0) - (1.0 - (-1.5_f64).exp())).abs() < 1e-14);
/// ```
pub fn chi_square_below(x: f64, df: f64) -> f64 {
    if x <= 0.0 {
        return 0.0;
    }
    gamma_lr(0.5 * df, 0.5 * x)
}

/// Chi-square quantile.
///
/// - Equation: x with P(X < x) = p
/// - Units: p and x \[1\], ν \[degrees of freedom\]
/// - Valid: p between 0 and 1, ν above 0
/// - Source: table of chi-square, 3.841459 for 0.95 and 1
///
/// ```
/// assert!((trials::stats::distribution::chi_square_quantile(0.95, 1.0) - 3.841_458_820_694_124).abs() < 1e-9);
/// ```
pub fn chi_square_quantile(p: f64, df: f64) -> f64 {
    root_above(|x| chi_square_below(x, df) - p, 0.0, df)
}

/// Probability of F with `df1`, `df2` degrees of freedom above `f`: the p-value of an F test.
///
/// - Equation: P = I_{ν₂/(ν₁F+ν₂)}(ν₂/2, ν₁/2)
/// - Units: F \[1\], ν₁ and ν₂ \[degrees of freedom\], p \[1\]
/// - Valid: ν₁ and ν₂ above 0, infinity allowed
/// - Source: incomplete beta function; the example is R's for a public data set
///
/// ```
/// let p = trials::stats::distribution::f_above(4.84608786238014, 2.0, 27.0);
/// assert!((p - 0.0159099583256229).abs() < 1e-13); // R 4.2.2, PlantGrowth
/// ```
pub fn f_above(f: f64, df1: f64, df2: f64) -> f64 {
    if f.is_nan() || df1.is_nan() || df2.is_nan() || df1 <= 0.0 || df2 <= 0.0 {
        return f64::NAN;
    }
    if f <= 0.0 {
        return 1.0;
    }
    if f.is_infinite() {
        return 0.0;
    }
    if df2.is_infinite() {
        return chi_square_above(f * df1, df1);
    }
    let whole = df1 * f + df2;
    beta_above(0.5 * df1, 0.5 * df2, df1 * f / whole, df2 / whole)
}

/// F quantile.
///
/// - Equation: F with P(F′ > F) = 1 − p
/// - Units: p and F \[1\], ν₁ and ν₂ \[degrees of freedom\]
/// - Valid: p between 0 and 1
/// - Source: table of F, 4.964603 for 0.95, 1 and 10, which is t² of 2.228139
///
/// ```
/// let t = 2.228_138_851_986_164_f64;
/// assert!((trials::stats::distribution::f_quantile(0.95, 1.0, 10.0) - t * t).abs() < 1e-9);
/// ```
pub fn f_quantile(p: f64, df1: f64, df2: f64) -> f64 {
    let tail = 1.0 - p;
    root_above(|x| tail - f_above(x, df1, df2), 0.0, 2.0)
}

/// Beta quantile.
pub(crate) fn beta_quantile(p: f64, a: f64, b: f64) -> f64 {
    root_between(|x| beta_below(a, b, x) - p, 0.0, 1.0)
}

/// Probability of the noncentral F below `f`: a Poisson mixture of central beta probabilities,
/// summed from the middle of the Poisson outwards.
///
/// - Equation: P = Σ Poisson(j; λ/2) I_x(ν₁/2 + j, ν₂/2), x = ν₁F/(ν₁F + ν₂)
/// - Units: F \[1\], ν₁ and ν₂ \[degrees of freedom\], λ \[1\], probability \[1\]
/// - Valid: λ from 0; above 20 000 Patnaik's approximation
/// - Source: definition; without noncentrality it is the central F
///
/// ```
/// use trials::stats::distribution::noncentral_f_below;
/// assert!((noncentral_f_below(4.964_602_743_730_71, 1.0, 10.0, 0.0) - 0.95).abs() < 1e-9);
/// assert!(noncentral_f_below(4.96, 1.0, 10.0, 5.0) < 0.95);
/// ```
pub fn noncentral_f_below(f: f64, df1: f64, df2: f64, noncentrality: f64) -> f64 {
    if f <= 0.0 {
        return 0.0;
    }
    // Far from 0 the mixture is as good as one central F (Patnaik 1949), and summing it would take
    // as many terms as the noncentrality is large.
    if noncentrality > 20_000.0 {
        let df = (df1 + noncentrality).powi(2) / (df1 + 2.0 * noncentrality);
        return 1.0 - f_above(f * df1 / (df1 + noncentrality), df, df2);
    }
    let half = 0.5 * noncentrality;
    let x = df1 * f / (df1 * f + df2);
    let term = |j: f64| {
        let weight = if half > 0.0 {
            (j * half.ln() - half - ln_gamma(j + 1.0)).exp()
        } else if j == 0.0 {
            1.0
        } else {
            0.0
        };
        (weight, weight * beta_below(0.5 * df1 + j, 0.5 * df2, x))
    };
    let middle = half.floor();
    let mut total = 0.0;
    let mut j = middle;
    loop {
        let (weight, part) = term(j);
        total += part;
        if weight < 1e-18 && j > middle {
            break;
        }
        j += 1.0;
    }
    j = middle - 1.0;
    while j >= 0.0 {
        let (weight, part) = term(j);
        total += part;
        if weight < 1e-18 {
            break;
        }
        j -= 1.0;
    }
    total.min(1.0)
}

/// Natural logarithm of the density of `s = chi/sqrt(df)`, the error standard deviation over its
/// true value.
pub(crate) fn ln_scaled_chi_density(s: f64, df: f64) -> f64 {
    0.5 * df * df.ln() - (0.5 * df - 1.0) * 2f64.ln() - ln_gamma(0.5 * df) + (df - 1.0) * s.ln()
        - 0.5 * df * s * s
}

/// The mean of `value(s)` over the scaled chi distribution with `df` degrees of freedom;
/// `bend` is the place where `value` changes fastest, if it has one: the integral is cut there.
pub(crate) fn mean_over_scaled_chi(
    df: f64,
    bend: impl Into<Option<f64>>,
    mut value: impl FnMut(f64) -> f64,
) -> f64 {
    // Beyond this the error variance is as good as known, and the density's logarithms cancel.
    if df > 1e7 {
        return value(1.0);
    }
    let mode = ((df - 1.0).max(0.0) / df).sqrt().max(1e-8);
    let peak = ln_scaled_chi_density(mode, df);
    let drop = |s: f64| ln_scaled_chi_density(s, df) - peak + 40.0;
    let step = 0.5 / df.sqrt();
    let mut high = mode;
    while drop(high) > 0.0 {
        high += step;
    }
    let mut low = mode;
    while low > 0.0 && drop(low) > 0.0 {
        low -= step;
    }
    let low = low.max(0.0);
    let rule = quadrature::legendre_64();
    let cuts = match bend.into() {
        Some(bend) if bend > low && bend < high => vec![low, bend, high],
        _ => vec![low, high],
    };
    cuts.windows(2)
        .flat_map(|cut| quadrature::between(rule, cut[0], cut[1]).collect::<Vec<_>>())
        .map(|(s, w)| {
            let density = ln_scaled_chi_density(s, df).exp() * w;
            if density < 1e-18 {
                0.0
            } else {
                density * value(s)
            }
        })
        .sum()
}

/// The root of a rising function at or above `low`, the first bracket `low + width` doubled until
/// it holds.
pub(crate) fn root_above(f: impl Fn(f64) -> f64, low: f64, width: f64) -> f64 {
    let (mut below, mut high) = (low, low + width);
    for _ in 0..1100 {
        let value = f(high);
        if value.is_nan() {
            return f64::NAN;
        }
        if value >= 0.0 {
            return root_between(f, below, high);
        }
        below = high;
        high = low + 2.0 * (high - low);
        if !high.is_finite() {
            break;
        }
    }
    f64::INFINITY
}

/// The root of a rising function between `low` and `high`, to the last digits (Brent 1973: inverse
/// quadratic steps kept safe by bisection). An end where the function has its sign already is the
/// answer.
///
/// - Rule: Brent's steps: inverse quadratic where they are safe, else halving
/// - Units: place and value \[as the function's\]
/// - Valid: a function that rises from one end to the other
/// - Source: Brent 1973 (from memory, to be confirmed); √2 in the example
///
/// ```
/// let root = trials::stats::distribution::root_between(|x| x * x - 2.0, 0.0, 2.0);
/// assert!((root - 2.0_f64.sqrt()).abs() < 1e-15);
/// ```
pub fn root_between(f: impl Fn(f64) -> f64, low: f64, high: f64) -> f64 {
    let (mut a, mut b) = (low, high);
    let (mut fa, mut fb) = (f(a), f(b));
    if fa >= 0.0 {
        return a;
    }
    if fb <= 0.0 {
        return b;
    }
    // The root lies between b, the best so far, and c; a is the best before.
    let (mut c, mut fc) = (a, fa);
    let (mut step, mut before) = (b - a, b - a);
    for _ in 0..300 {
        if (fb > 0.0) == (fc > 0.0) {
            (c, fc) = (a, fa);
            (step, before) = (b - a, b - a);
        }
        if fc.abs() < fb.abs() {
            (a, b, c) = (b, c, b);
            (fa, fb, fc) = (fb, fc, fb);
        }
        let room = 2.0 * f64::EPSILON * b.abs().max(1e-300);
        let middle = 0.5 * (c - b);
        if fb == 0.0 || middle.abs() <= room {
            return b;
        }
        if fb.is_nan() {
            return f64::NAN;
        }
        let halve = before.abs() < room || fa.abs() <= fb.abs();
        let tried = (!halve).then(|| {
            let s = fb / fa;
            let (p, q) = if a == c {
                (2.0 * middle * s, 1.0 - s)
            } else {
                let (q, r) = (fa / fc, fb / fc);
                (
                    s * (2.0 * middle * q * (q - r) - (b - a) * (r - 1.0)),
                    (q - 1.0) * (r - 1.0) * (s - 1.0),
                )
            };
            if p > 0.0 { (p, -q) } else { (-p, q) }
        });
        match tried {
            Some((p, q))
                if 2.0 * p < (3.0 * middle * q - (room * q).abs()).min((before * q).abs()) =>
            {
                (before, step) = (step, p / q);
            }
            _ => (step, before) = (middle, middle),
        }
        (a, fa) = (b, fb);
        b += if step.abs() > room {
            step
        } else {
            room.copysign(middle)
        };
        fb = f(b);
    }
    b
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn quick_normal_is_the_normal() {
        for i in -10_000..=10_000 {
            let z = f64::from(i) * 1.0007e-3;
            let apart = normal_below_quick(z) - normal_below(z);
            assert!(apart.abs() < 2e-15, "{z}: {apart:e}");
        }
        assert!(normal_below_quick(f64::NAN).is_nan());
    }

    #[test]
    fn roots_are_found_in_few_steps() {
        let count = std::cell::Cell::new(0);
        let rising = |x: f64| {
            count.set(count.get() + 1);
            x.powi(3) - 2.0
        };
        let root = root_above(rising, 0.0, 1.0);
        assert!((root - 2f64.cbrt()).abs() < 1e-15);
        assert!(count.get() < 16, "{}", count.get());
        // A step has no slope to go by; halving still finds it.
        let step = root_between(|x| if x < 0.3 { -1.0 } else { 1.0 }, 0.0, 1.0);
        assert!((step - 0.3).abs() < 1e-15);
    }
}
