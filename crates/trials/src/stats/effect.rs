//! Effect sizes with intervals from the noncentral F.

use super::distribution::{noncentral_f_below, root_above};
use super::one_way::FTest;

/// How large an effect is, freed of the unit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Effect {
    /// Share of the variation explained, in the sample.
    pub eta2: f64,
    /// The same, corrected for chance (Hays).
    pub omega2: f64,
    /// The same, corrected for chance (Kelley).
    pub epsilon2: f64,
    /// Noncentrality, 90 % interval: matches a one-sided 5 % F test.
    pub noncentrality90: (f64, f64),
    /// η² 90 % interval.
    pub eta2_90: (f64, f64),
}

/// The partial effect sizes of an F test, `η² = df1 F / (df1 F + df2)`, the interval's
/// `η² = λ/(λ + df1 + df2 + 1)`.
///
/// ```
/// use trials::stats::{effect::effect, one_way::FTest};
/// let e = effect(&FTest::new(4.84608786238014, 2.0, 27.0));
/// let e = e.unwrap();
/// assert!((e.omega2 - 0.204078845989971).abs() < 1e-12); // R 4.2.2, PlantGrowth
/// assert!((e.noncentrality90.1 - 22.5209155492197).abs() < 1e-4);
/// ```
///
/// None where the ratio isn't a finite number.
pub fn effect(test: &FTest) -> Option<Effect> {
    let FTest {
        f,
        df,
        denominator_df: df2,
        ..
    } = *test;
    let explained = df * f;
    let total = df + df2 + 1.0;
    let noncentrality = |p: f64| {
        if noncentral_f_below(f, df, df2, 0.0) <= p {
            0.0
        } else {
            root_above(|l| p - noncentral_f_below(f, df, df2, l), 0.0, 10.0)
        }
    };
    if !(f.is_finite() && df.is_finite() && df2.is_finite()) {
        return None;
    }
    let noncentrality90 = (noncentrality(0.95), noncentrality(0.05));
    let share = |l: f64| l / (l + total);
    Some(Effect {
        eta2: explained / (explained + df2),
        omega2: (explained - df) / (explained + df2 + 1.0),
        epsilon2: (explained - df) / (explained + df2),
        noncentrality90,
        eta2_90: (share(noncentrality90.0), share(noncentrality90.1)),
    })
}
