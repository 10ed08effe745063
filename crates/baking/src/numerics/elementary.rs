//! Exponential and logarithm without branches or tables, so that a loop over nodes vectorises.
//!
//! Both are exact to a few units in the last place over the range the bake uses; outside it they
//! saturate instead of overflowing.

use std::f64::consts::LN_2;

/// 1.5·2⁵²: adding it rounds a small number to the nearest whole one, in the low bits.
const ROUNDER: f64 = 6_755_399_441_055_744.0;
/// High and low part of ln 2 (the split of W. J. Cody and W. Waite, so that k·high is exact).
const LN_2_HIGH: f64 = 6.931_471_803_691_238e-1;
const LN_2_LOW: f64 = 1.908_214_929_270_587_7e-10;

/// eˣ for −700 ≤ x ≤ 700 (saturating outside), relative error below 4e-16.
///
/// Taylor's series of degree 13 on |r| ≤ ½ ln 2, times a power of two.
///
/// ```
/// use baking::numerics::elementary::exp;
/// assert!((exp(1.0) / std::f64::consts::E - 1.0).abs() < 4e-16);
/// ```
#[inline(always)]
pub fn exp(x: f64) -> f64 {
    let x = x.clamp(-700.0, 700.0);
    let shifted = x.mul_add(1.0 / LN_2, ROUNDER);
    let k = shifted - ROUNDER;
    let r = k.mul_add(-LN_2_LOW, k.mul_add(-LN_2_HIGH, x));
    let r2 = r * r;
    let r4 = r2 * r2;
    // 1/n!, paired so that the additions don't wait for each other.
    let p01 = 1.0 + r;
    let p23 = r.mul_add(1.0 / 6.0, 0.5);
    let p45 = r.mul_add(1.0 / 120.0, 1.0 / 24.0);
    let p67 = r.mul_add(1.0 / 5_040.0, 1.0 / 720.0);
    let p89 = r.mul_add(1.0 / 362_880.0, 1.0 / 40_320.0);
    let p1011 = r.mul_add(1.0 / 39_916_800.0, 1.0 / 3_628_800.0);
    let p1213 = r.mul_add(1.0 / 6_227_020_800.0, 1.0 / 479_001_600.0);
    let low = r2.mul_add(p23, p01);
    let middle = r2.mul_add(p67, p45);
    let high = r2.mul_add(p1011, p89);
    let series = r4.mul_add(r4.mul_add(r4.mul_add(p1213, high), middle), low);
    let power = f64::from_bits((shifted.to_bits() << 52).wrapping_add(1023 << 52));
    series * power
}

/// ln x for normal x > 0, relative error below 4e-16 away from 1, absolute below 2e-16 near it.
///
/// x = m·2ᵏ with m in [√½, √2); ln m = 2 artanh((m−1)/(m+1)) by its series.
///
/// ```
/// use baking::numerics::elementary::ln;
/// assert!((ln(10.0) / std::f64::consts::LN_10 - 1.0).abs() < 4e-16);
/// ```
#[inline(always)]
pub fn ln(x: f64) -> f64 {
    const HALF_ROOT: u64 = 0x3fe6_a09e_667f_3bcd; // √½
    const TWO_52: u64 = 0x4330_0000_0000_0000; // 2⁵²
    // Bits counted from those of √½, on which a whole exponent step is one power of two.
    let offset = x.to_bits().wrapping_sub(HALF_ROOT);
    // The exponent is biased by 2048 so that the shift stays unsigned.
    let biased = offset.wrapping_add(2048 << 52) >> 52;
    let k = f64::from_bits(biased | TWO_52) - (4_503_599_627_370_496.0 + 2048.0);
    let m = f64::from_bits((offset & 0x000f_ffff_ffff_ffff).wrapping_add(HALF_ROOT));
    let z = (m - 1.0) / (m + 1.0);
    let w = z * z;
    let w2 = w * w;
    let w4 = w2 * w2;
    let q0 = w.mul_add(1.0 / 5.0, 1.0 / 3.0);
    let q1 = w.mul_add(1.0 / 9.0, 1.0 / 7.0);
    let q2 = w.mul_add(1.0 / 13.0, 1.0 / 11.0);
    let q3 = w.mul_add(1.0 / 17.0, 1.0 / 15.0);
    let q4 = w.mul_add(1.0 / 21.0, 1.0 / 19.0);
    let series = w4.mul_add(w4.mul_add(q4, w2.mul_add(q3, q2)), w2.mul_add(q1, q0));
    let twice = 2.0 * z;
    let m_part = twice.mul_add(w * series, twice);
    k.mul_add(LN_2_HIGH, k.mul_add(LN_2_LOW, m_part))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn exponential_matches_the_standard_library() {
        for i in -69_900..69_900 {
            let x = f64::from(i) * 0.01 + 0.001_23;
            assert!((exp(x) / x.exp() - 1.0).abs() < 6e-16, "{x}");
        }
        assert_eq!(exp(0.0), 1.0);
        assert!(exp(1e9).is_finite() && exp(-1e9) >= 0.0);
    }

    #[test]
    fn logarithm_matches_the_standard_library() {
        for i in -60_000..60_000 {
            let x = (f64::from(i) * 0.01 + 0.000_7).exp();
            assert!(
                (ln(x) - x.ln()).abs() <= 5e-16 * x.ln().abs().max(0.5),
                "{x}"
            );
        }
        assert_eq!(ln(1.0), 0.0);
    }
}
