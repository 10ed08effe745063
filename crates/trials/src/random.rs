//! Random order from a seed that means the same for ever.

/// Name and version of the generator and the shuffle, printed on every plan.
pub const ALGORITHM: &str = "SplitMix64, descending Durstenfeld shuffle with rejection, version 1";

/// The SplitMix64 generator (Steele, Lea and Flood 2014): 64 bits of state, one output per step.
///
/// It is written out here so that no later release of a library can change a printed plan.
///
/// Check: computed outputs that agree with the published program as remembered.
///
/// ```
/// let mut generator = trials::random::SplitMix64::new(1_234_567);
/// assert_eq!(generator.next_u64(), 6_457_827_717_110_365_317);
/// ```
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SplitMix64 {
    state: u64,
}

impl SplitMix64 {
    /// A generator from a seed.
    pub const fn new(seed: u64) -> Self {
        Self { state: seed }
    }

    /// A second, third … stream of the same seed, for parts of a plan that are drawn separately.
    /// Stream 0 is the generator of the seed itself.
    #[must_use]
    pub fn stream(seed: u64, stream: u64) -> Self {
        if stream == 0 {
            return Self::new(seed);
        }
        let mut mixer = Self::new(seed ^ stream.wrapping_mul(0xD1B5_4A32_D192_ED03));
        Self::new(mixer.next_u64())
    }

    /// The next 64 random bits.
    pub fn next_u64(&mut self) -> u64 {
        self.state = self.state.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.state;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        z ^ (z >> 31)
    }

    /// A whole number from 0 to `bound` − 1, every one equally likely (draws that would favour
    /// some are thrown away). `bound` 0 gives 0.
    pub fn below(&mut self, bound: u64) -> u64 {
        if bound <= 1 {
            return 0;
        }
        // Largest multiple of bound that fits into 2^64: floor(2^64 / bound) · bound.
        let excess = (u64::MAX % bound + 1) % bound;
        loop {
            let v = self.next_u64();
            if excess == 0 || v < excess.wrapping_neg() {
                return v % bound;
            }
        }
    }

    /// A number from 0 (included) to 1 (left out), 53 random bits.
    ///
    /// - Equation: ⌊next/2¹¹⌋ · 2⁻⁵³
    /// - Units: \[share\]
    /// - Valid: any state
    /// - Source: common practice for 53 bits, no source; the bits of a known state are in the tests
    ///
    /// ```
    /// let mut generator = trials::random::SplitMix64::stream(1, 0);
    /// let mean = (0..10_000).map(|_| generator.unit()).sum::<f64>() / 10_000.0;
    /// // An even spread has its mean at ½, ± 0.0029 with so many.
    /// assert!((mean - 0.5).abs() < 0.015);
    /// ```
    pub fn unit(&mut self) -> f64 {
        (self.next_u64() >> 11) as f64 * (1.0 / (1u64 << 53) as f64)
    }
}

/// Puts a list into random order: from the last place down, swap with a place drawn from those
/// up to and including it (Durstenfeld 1964).
///
/// Check: seed 42 and twelve items, computed independently.
///
/// ```
/// use trials::random::{SplitMix64, shuffle};
/// let mut order: Vec<usize> = (0..12).collect();
/// shuffle(&mut order, &mut SplitMix64::new(42));
/// assert_eq!(order, [9, 6, 7, 10, 3, 11, 4, 2, 0, 8, 5, 1]);
/// ```
pub fn shuffle<T>(items: &mut [T], generator: &mut SplitMix64) {
    for i in (1..items.len()).rev() {
        let j = generator.below(i as u64 + 1) as usize;
        items.swap(i, j);
    }
}

/// The numbers 0 to n − 1 in random order.
pub fn permutation(n: usize, generator: &mut SplitMix64) -> Vec<usize> {
    let mut order: Vec<usize> = (0..n).collect();
    shuffle(&mut order, generator);
    order
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn outputs_equal_the_reference_values() {
        // Computed independently; the constants of the algorithm are from memory.
        let cases: [(u64, &[u64]); 3] = [
            (
                1_234_567,
                &[
                    6_457_827_717_110_365_317,
                    3_203_168_211_198_807_973,
                    9_817_491_932_198_370_423,
                    4_593_380_528_125_082_431,
                    16_408_922_859_458_223_821,
                ],
            ),
            (42, &[13_679_457_532_755_275_413, 2_949_826_092_126_892_291]),
            (0, &[16_294_208_416_658_607_535, 7_960_286_522_194_355_700]),
        ];
        for (seed, expected) in cases {
            let mut generator = SplitMix64::new(seed);
            for &e in expected {
                assert_eq!(generator.next_u64(), e, "seed {seed}");
            }
        }
        assert_eq!(permutation(5, &mut SplitMix64::new(1)), [2, 1, 4, 3, 0]);
    }

    #[test]
    fn bounds_and_streams_hold() {
        let mut g = SplitMix64::new(3);
        for bound in [1, 2, 3, 7, 64, u64::MAX / 2 + 2, u64::MAX] {
            for _ in 0..50 {
                assert!(g.below(bound) < bound);
            }
        }
        assert_eq!(SplitMix64::stream(9, 0), SplitMix64::new(9));
        assert_ne!(SplitMix64::stream(9, 1), SplitMix64::stream(9, 2));
    }

    #[test]
    fn all_orders_of_four_are_equally_likely() {
        // Chi-square over 24 cells; 49.73 is the 0.999 quantile with 23 degrees of freedom
        // (standard table, from memory). Fixed seeds, so the test cannot flicker.
        let mut counts = std::collections::BTreeMap::new();
        let mut g = SplitMix64::new(2_024);
        let n = 48_000;
        for _ in 0..n {
            *counts.entry(permutation(4, &mut g)).or_insert(0u32) += 1;
        }
        let expected = f64::from(n) / 24.0;
        let chi2: f64 = counts
            .values()
            .map(|&c| (f64::from(c) - expected).powi(2) / expected)
            .sum();
        assert_eq!(counts.len(), 24);
        assert!(chi2 < 49.73, "chi-square {chi2}");
    }
}
