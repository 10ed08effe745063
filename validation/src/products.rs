//! Series of the plate and the long cylinder with a surface law, whose products are blocks and short cylinders
//! (Carslaw and Jaeger, *Conduction of Heat in Solids*; Crank, *The Mathematics of Diffusion*).

use std::f64::consts::PI;

/// Root of a function that rises through nothing or falls through it once between two places, by halving.
fn root(f: impl Fn(f64) -> f64, mut low: f64, mut high: f64) -> f64 {
    let above = f(high) > 0.0;
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        if (f(middle) > 0.0) == above {
            high = middle;
        } else {
            low = middle;
        }
    }
    0.5 * (low + high)
}

/// Plate of half thickness 1, insulated in the middle: share left at the place 0 to 1, and on average.
pub(crate) fn plate(biot: f64, fourier: f64, place: f64) -> (f64, f64) {
    let (mut at, mut mean) = (0.0, 0.0);
    for n in 0..40 {
        let low = f64::from(n) * PI;
        let f = |z: f64| z * z.sin() - biot * z.cos();
        let z = root(f, low + 1e-12, low + 0.5 * PI);
        let c = 4.0 * z.sin() / (2.0 * z + (2.0 * z).sin()) * (-z * z * fourier).exp();
        at += c * (z * place).cos();
        mean += c * z.sin() / z;
    }
    (at, mean)
}

/// Bessel functions J0 and J1 by their integral; the trapezoid rule on a period is exact to the last digits.
fn bessel(x: f64) -> (f64, f64) {
    let n = 160;
    let (mut j0, mut j1) = (0.0, 0.0);
    for i in 0..n {
        let t = PI * (f64::from(i) + 0.5) / f64::from(n);
        j0 += (x * t.sin()).cos();
        j1 += (t - x * t.sin()).cos();
    }
    (j0 / f64::from(n), j1 / f64::from(n))
}

/// Long cylinder of radius 1: share left on the axis, and on average.
pub(crate) fn cylinder(biot: f64, fourier: f64) -> (f64, f64) {
    let zero_of_j0 = |n: f64| {
        root(
            |z| bessel(z).0,
            PI * (n + 0.75) - 0.6,
            PI * (n + 0.75) + 0.6,
        )
    };
    let zero_of_j1 = |n: f64| {
        root(
            |z| bessel(z).1,
            PI * (n + 0.25) - 0.6,
            PI * (n + 0.25) + 0.6,
        )
    };
    let (mut at, mut mean) = (0.0, 0.0);
    for n in 0..20 {
        // The roots lie between those of J1 and of J0.
        let n = f64::from(n);
        let low = if n == 0.0 { 1e-9 } else { zero_of_j1(n) };
        let f = |z: f64| {
            let (j0, j1) = bessel(z);
            z * j1 - biot * j0
        };
        let z = root(f, low, zero_of_j0(n));
        let (j0, j1) = bessel(z);
        let decay = (-z * z * fourier).exp();
        at += 2.0 * j1 / (z * (j0 * j0 + j1 * j1)) * decay;
        mean += 4.0 * biot * biot / (z * z * (z * z + biot * biot)) * decay;
    }
    (at, mean)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// One-term values of heat transfer textbooks at Biot 1, Fourier 1; full series at Fourier 0.5 worked out
    /// independently.
    #[test]
    fn series_agree_with_printed_tables() {
        let one_term = |zeta: f64, c: f64| c * (-zeta * zeta).exp();
        assert!((plate(1.0, 1.0, 0.0).0 - one_term(0.8603, 1.1191)).abs() < 1e-4);
        assert!((cylinder(1.0, 1.0).0 - one_term(1.2558, 1.2071)).abs() < 1e-4);
        assert!((plate(1.0, 0.5, 0.0).0 - 0.772_526).abs() < 1e-6);
        assert!((cylinder(1.0, 0.5).0 - 0.548_586).abs() < 1e-6);
    }
}
