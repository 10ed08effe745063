//! Numbers that the laws of the bake are written in: plain ones, and ones that carry derivatives along.

#![allow(
    clippy::needless_range_loop,
    reason = "loops over lanes by index are what vectorises"
)]

use super::elementary;
use super::lanes::{LANES, Lanes};
use std::ops::{Add, Div, Mul, Neg, Sub};

/// What a law needs of a number.
pub(crate) trait Number:
    Copy
    + Add<Output = Self>
    + Sub<Output = Self>
    + Mul<Output = Self>
    + Div<Output = Self>
    + Neg<Output = Self>
    + Add<f64, Output = Self>
    + Sub<f64, Output = Self>
    + Mul<f64, Output = Self>
    + Div<f64, Output = Self>
{
    /// A number that nothing moves.
    fn of(value: f64) -> Self;
    /// The number itself.
    fn value(self) -> f64;
    /// self·by + more, rounded once.
    fn mul_add(self, by: Self, more: Self) -> Self;
    /// self·by + more, where nothing moves `by`.
    fn times_plus(self, by: f64, more: Self) -> Self;
    /// 1/self.
    fn over(self) -> Self;
    /// e to it.
    fn exp(self) -> Self;
    /// Its logarithm.
    fn ln(self) -> Self;
    /// Its root.
    fn sqrt(self) -> Self;
    /// It, or `least` where it is below.
    fn at_least(self, least: f64) -> Self;
}

impl Number for f64 {
    #[inline(always)]
    fn of(value: f64) -> Self {
        value
    }
    #[inline(always)]
    fn value(self) -> f64 {
        self
    }
    #[inline(always)]
    fn mul_add(self, by: Self, more: Self) -> Self {
        f64::mul_add(self, by, more)
    }
    #[inline(always)]
    fn times_plus(self, by: f64, more: Self) -> Self {
        f64::mul_add(by, self, more)
    }
    #[inline(always)]
    fn over(self) -> Self {
        1.0 / self
    }
    #[inline(always)]
    fn exp(self) -> Self {
        elementary::exp(self)
    }
    #[inline(always)]
    fn ln(self) -> Self {
        elementary::ln(self)
    }
    #[inline(always)]
    fn sqrt(self) -> Self {
        f64::sqrt(self)
    }
    #[inline(always)]
    fn at_least(self, least: f64) -> Self {
        self.max(least)
    }
}

/// A number with its derivatives along several directions side by side: arithmetic on it is that of sums v + d·ε with
/// ε² = 0, so derivatives are exact.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Dual {
    /// The number.
    pub v: f64, // no unit in the name: that of what is worked out
    /// Its derivatives.
    pub d: Lanes,
}

impl Dual {
    /// f(self) with its value and slope.
    #[inline(always)]
    fn chain(self, v: f64, slope: f64) -> Self {
        let mut d = self.d;
        for l in 0..LANES {
            d[l] *= slope;
        }
        Self { v, d }
    }

    #[inline(always)]
    fn both(self, other: Self, v: f64, mine: f64, theirs: f64) -> Self {
        let mut d = [0.0; LANES];
        for l in 0..LANES {
            d[l] = mine.mul_add(self.d[l], theirs * other.d[l]);
        }
        Self { v, d }
    }
}

impl Add for Dual {
    type Output = Self;
    #[inline(always)]
    fn add(self, o: Self) -> Self {
        let mut d = self.d;
        for l in 0..LANES {
            d[l] += o.d[l];
        }
        Self { v: self.v + o.v, d }
    }
}

impl Sub for Dual {
    type Output = Self;
    #[inline(always)]
    fn sub(self, o: Self) -> Self {
        let mut d = self.d;
        for l in 0..LANES {
            d[l] -= o.d[l];
        }
        Self { v: self.v - o.v, d }
    }
}

impl Mul for Dual {
    type Output = Self;
    #[inline(always)]
    fn mul(self, o: Self) -> Self {
        self.both(o, self.v * o.v, o.v, self.v)
    }
}

impl Div for Dual {
    type Output = Self;
    #[inline(always)]
    fn div(self, o: Self) -> Self {
        let over = 1.0 / o.v;
        let v = self.v * over;
        self.both(o, v, over, -v * over)
    }
}

impl Neg for Dual {
    type Output = Self;
    #[inline(always)]
    fn neg(self) -> Self {
        self.chain(-self.v, -1.0)
    }
}

impl Add<f64> for Dual {
    type Output = Self;
    #[inline(always)]
    fn add(self, o: f64) -> Self {
        Self {
            v: self.v + o,
            d: self.d,
        }
    }
}

impl Sub<f64> for Dual {
    type Output = Self;
    #[inline(always)]
    fn sub(self, o: f64) -> Self {
        Self {
            v: self.v - o,
            d: self.d,
        }
    }
}

impl Mul<f64> for Dual {
    type Output = Self;
    #[inline(always)]
    fn mul(self, o: f64) -> Self {
        self.chain(self.v * o, o)
    }
}

impl Div<f64> for Dual {
    type Output = Self;
    #[inline(always)]
    fn div(self, o: f64) -> Self {
        self.chain(self.v / o, 1.0 / o)
    }
}

impl Number for Dual {
    #[inline(always)]
    fn of(value: f64) -> Self {
        Self {
            v: value,
            d: [0.0; LANES],
        }
    }
    #[inline(always)]
    fn value(self) -> f64 {
        self.v
    }
    #[inline(always)]
    fn mul_add(self, by: Self, more: Self) -> Self {
        let mut d = more.d;
        for l in 0..LANES {
            d[l] = by.v.mul_add(self.d[l], self.v.mul_add(by.d[l], d[l]));
        }
        Self {
            v: self.v.mul_add(by.v, more.v),
            d,
        }
    }
    #[inline(always)]
    fn times_plus(self, by: f64, more: Self) -> Self {
        let mut d = more.d;
        for l in 0..LANES {
            d[l] = by.mul_add(self.d[l], d[l]);
        }
        Self {
            v: by.mul_add(self.v, more.v),
            d,
        }
    }
    #[inline(always)]
    fn over(self) -> Self {
        let v = 1.0 / self.v;
        self.chain(v, -v * v)
    }
    #[inline(always)]
    fn exp(self) -> Self {
        let v = elementary::exp(self.v);
        self.chain(v, v)
    }
    #[inline(always)]
    fn ln(self) -> Self {
        self.chain(elementary::ln(self.v), 1.0 / self.v)
    }
    #[inline(always)]
    fn sqrt(self) -> Self {
        let v = self.v.sqrt();
        self.chain(v, 0.5 / v)
    }
    #[inline(always)]
    fn at_least(self, least: f64) -> Self {
        if self.v < least {
            Self::of(least)
        } else {
            self
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A law with every operation in it.
    fn law<T: Number>(x: T, y: T) -> T {
        let a = (x * y + 1.5).ln() / (y - 0.25).sqrt();
        let b = (-x).times_plus(0.5, a.mul_add(y, x)).exp() - y.over();
        (b / 3.0 + x * 2.0 - y).at_least(-1e9) / (y + x)
    }

    #[test]
    fn a_derivative_by_hand() {
        let mut x = Dual::of(2.0);
        x.d[0] = 1.0;
        let y = (x * x).ln() * 3.0;
        assert!((y.v - 3.0 * 4.0_f64.ln()).abs() < 1e-14 && (y.d[0] - 3.0).abs() < 1e-14);
    }

    #[test]
    fn derivatives_are_those_of_differences() {
        for (x, y) in [(0.3, 1.2), (2.5, 0.7), (1.0, 3.0)] {
            let (mut a, mut b) = (Dual::of(x), Dual::of(y));
            (a.d[0], b.d[1], a.d[7], b.d[7]) = (1.0, 1.0, 2.0, -1.0);
            let exact = law(a, b);
            let h = 1e-5;
            let by_x = (law(x + h, y) - law(x - h, y)) / (2.0 * h);
            let by_y = (law(x, y + h) - law(x, y - h)) / (2.0 * h);
            assert!((exact.v - law(x, y)).abs() < 1e-14);
            for (found, wanted) in [
                (exact.d[0], by_x),
                (exact.d[1], by_y),
                (exact.d[7], 2.0 * by_x - by_y),
                (exact.d[3], 0.0),
            ] {
                assert!(
                    (found - wanted).abs() < 1e-8 * (1.0 + wanted.abs()),
                    "{found} {wanted}"
                );
            }
        }
        assert_eq!(Dual::of(-2.0).at_least(-1.0).v, -1.0);
    }
}
