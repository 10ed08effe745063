//! Exponential and logarithm without branches or tables, so that a loop over nodes vectorises.
//!
//! Both are exact to a few units in the last place over the range the bake uses; outside it they
//! saturate instead of overflowing.

use std::f64::consts::LN_2;

/// 1.5·2⁵²: adding it rounds a small number to the nearest whole one, in the low bits.
///
/// - Units: \[1\]
/// - Source: arithmetic of binary numbers
const ROUNDER: f64 = 6_755_399_441_055_744.0;
/// High and low part of ln 2 (the split of W. J. Cody and W. Waite, so that k·high is exact).
///
/// - Units: \[1\]
/// - Source: the split of a mathematical constant
const LN_2_HIGH: f64 = 6.931_471_803_691_238e-1;
/// The low part.
///
/// - Units: \[1\]
/// - Source: the split of a mathematical constant
const LN_2_LOW: f64 = 1.908_214_929_270_587_7e-10;

/// (eʳ − 1 − r)/r² on |r| ≤ ½ ln 2, evenly good to 1.0e-16 (fitted by E. Ya. Remez's exchange in 60 digits).
///
/// - Units: \[1\]
/// - Source: fitted here
const EXP: [f64; 10] = [
    0.500_000_000_000_000_1,
    0.166_666_666_666_665_85,
    0.041_666_666_666_625_62,
    0.008_333_333_333_423_277,
    0.001_388_888_891_659_057_6,
    0.000_198_412_695_826_098_48,
    2.480_152_212_720_935e-5,
    2.755_758_059_528_936e-6,
    2.761_974_208_475_975e-7,
    2.498_466_539_051_149e-8,
];
/// (artanh z/z − 1)/z² as a polynomial in z² where |z| ≤ (√2 − 1)/(√2 + 1), evenly good to 1.5e-16 (as above).
///
/// - Units: \[1\]
/// - Source: fitted here
const ARTANH: [f64; 7] = [
    0.333_333_333_333_333_5,
    0.199_999_999_999_492_22,
    0.142_857_143_131_996_27,
    0.111_111_055_364_184_46,
    0.090_914_466_095_316_64,
    0.076_657_984_743_897_6,
    0.073_089_364_089_632_7,
];

/// eˣ for −700 ≤ x ≤ 700 (saturating outside), relative error below 4e-16.
///
/// A polynomial of degree 11 on |r| ≤ ½ ln 2, times a power of two.
#[inline(always)]
pub(crate) fn exp(x: f64) -> f64 {
    let x = x.clamp(-700.0, 700.0);
    let shifted = x.mul_add(1.0 / LN_2, ROUNDER);
    let k = shifted - ROUNDER;
    let r = k.mul_add(-LN_2_LOW, k.mul_add(-LN_2_HIGH, x));
    let r2 = r * r;
    let r4 = r2 * r2;
    // Paired so that the additions don't wait for each other.
    let [a2, a3, a4, a5, a6, a7, a8, a9, a10, a11] = EXP;
    let p01 = 1.0 + r;
    let p23 = r.mul_add(a3, a2);
    let p45 = r.mul_add(a5, a4);
    let p67 = r.mul_add(a7, a6);
    let p89 = r.mul_add(a9, a8);
    let p1011 = r.mul_add(a11, a10);
    let low = r2.mul_add(p23, p01);
    let middle = r2.mul_add(p67, p45);
    let high = r2.mul_add(p1011, p89);
    let series = r4.mul_add(r4.mul_add(high, middle), low);
    let power = f64::from_bits((shifted.to_bits() << 52).wrapping_add(1023 << 52));
    series * power
}

/// ln x for normal x > 0, relative error below 4e-16 away from 1, absolute below 2e-16 near it.
///
/// x = m·2ᵏ with m in [√½, √2); ln m = 2 artanh(z), z = (m−1)/(m+1), as 2z + 2z³·(a polynomial of degree 6 in z²).
#[inline(always)]
pub(crate) fn ln(x: f64) -> f64 {
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
    let [b0, b1, b2, b3, b4, b5, b6] = ARTANH;
    let low = w2.mul_add(w.mul_add(b3, b2), w.mul_add(b1, b0));
    let high = w2.mul_add(b6, w.mul_add(b5, b4));
    let series = w4.mul_add(high, low);
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
        assert!((exp(1.0) / std::f64::consts::E - 1.0).abs() < 4e-16);
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
        assert!((ln(10.0) / std::f64::consts::LN_10 - 1.0).abs() < 4e-16);
        assert_eq!(ln(1.0), 0.0);
    }
}
