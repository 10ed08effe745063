//! Is it as good as the control? Two one-sided tests (Schuirmann 1987).

use super::distribution::{t_below, t_quantile};

/// The answer.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Equivalence {
    /// Lower end of the 90 % interval of the difference.
    pub low90: f64,
    /// Upper end of the 90 % interval.
    pub high90: f64,
    /// The larger of the two one-sided p-values.
    pub p: f64,
    /// Whether the whole 90 % interval lies inside the margin: as good as, with 5 % risk.
    pub equivalent: bool,
}

/// Tests whether a difference lies between -margin and +margin (margin above zero).
///
/// - Rule: as good where the 90 % interval lies within ±margin; p the larger of two one-sided
/// - Units: difference, se and margin \[as the values\], ν \[degrees of freedom\], p \[1\]
/// - Valid: margin and se above 0
/// - Source: Schuirmann 1987 (from memory, to be confirmed): 0.2 + 1.7247 · 0.5 is below 1.5
///
/// ```
/// let e = trials::stats::equivalence::tost(0.2, 0.5, 20.0, 1.5);
/// assert!(e.equivalent && e.high90 < 1.5);
/// ```
pub fn tost(difference: f64, se: f64, df: f64, margin: f64) -> Equivalence {
    let t = t_quantile(0.95, df);
    let below = t_below((difference - margin) / se, df);
    let above = t_below(-(difference + margin) / se, df);
    let (low90, high90) = (difference - t * se, difference + t * se);
    Equivalence {
        low90,
        high90,
        p: below.max(above),
        equivalent: low90 > -margin && high90 < margin,
    }
}

/// The answer of a one-sided question: is it no worse than the control by more than the margin?
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct NonInferiority {
    /// The one-sided 95 % bound of the gain: it is at least this.
    pub bound95: f64,
    /// p-value.
    pub p: f64,
    /// Whether a loss of the margin or more is ruled out, with 5 % risk.
    pub not_worse: bool,
}

/// Tests whether a gain (the difference with *better* counted up) lies above -margin.
///
/// - Equation: bound = gain − t(0.95, ν) se; not worse where bound > −margin
/// - Units: gain, se and margin \[as the values\], ν \[degrees of freedom\], p \[1\]
/// - Valid: margin and se above 0
/// - Source: textbook; t(0.95, 8) is 1.8595, so the bound is 20.04 − 1.368
///
/// ```
/// let e = trials::stats::equivalence::non_inferiority(20.04, 0.7359, 8.0, 5.0);
/// assert!(e.not_worse && e.bound95 > 18.6); // better by 20 is no worse
/// ```
pub fn non_inferiority(gain: f64, se: f64, df: f64, margin: f64) -> NonInferiority {
    let bound95 = gain - t_quantile(0.95, df) * se;
    NonInferiority {
        bound95,
        p: t_below(-(gain + margin) / se, df),
        not_worse: bound95 > -margin,
    }
}
