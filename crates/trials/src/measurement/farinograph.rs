//! Farinograph water absorption, restated to flour at 14 % moisture, and titration to a
//! consistency.
//!
//! AACC 54-21, ICC 115/1, ISO 5530-1: millilitres of water per 100 g of flour at 14.0 % moisture
//! that bring the dough to a largest consistency of 500 FU.

use super::{MeasurementError, moisture_of, not_negative, positive};
use crate::stats::distribution::t_quantile;
use measure::WetBasis;
use serde::{Deserialize, Serialize};

/// Moisture to which absorption is referred, wet basis (ICC 115/1, seen in print).
pub const REFERENCE: WetBasis = WetBasis(0.14);

/// Flour to weigh in, g, equal to `bowl_g` of flour at 14 % moisture: bowl·86/(100 − M).
///
/// Check (computed): moisture 12.5 %, 300 g bowl: 294.857 g.
///
/// - Equation: m = bowl · 0.86/(1 − M)
/// - Units: bowl and m \[g\], M \[kg/kg, wet basis\]
/// - Valid: flours
/// - Source: AACC 54-21 and ICC 115/1 (form from memory, to be confirmed); the example by hand
///
/// ```
/// use trials::measurement::farinograph::flour_mass_g;
/// assert!((flour_mass_g(300.0, measure::WetBasis(0.125)).unwrap() - 294.857_143).abs() < 1e-6);
/// ```
///
/// # Errors
/// A bowl that is not above 0, a moisture outside 0 to 1.
pub fn flour_mass_g(bowl_g: f64, moisture: WetBasis) -> Result<f64, MeasurementError> {
    let w = moisture_of("flour moisture", moisture)?;
    Ok(positive("bowl size", bowl_g)? * (1.0 - REFERENCE.0) / (1.0 - w))
}

/// Water absorption, % of flour at 14 %: 100·(x + y − bowl)/bowl for x mL of water and y g of
/// flour. With a 300 g bowl this is (x + y − 300)/3, with 50 g (x + y − 50)·2.
///
/// Check (computed): 186.0 mL on 294.857 g in the 300 g bowl: 60.286 %.
///
/// - Equation: A = 100 (x + y − bowl)/bowl
/// - Units: water \[mL\], flour and bowl \[g\], A \[%\]
/// - Valid: peaks at the wanted consistency
/// - Source: AACC 54-21 (form from memory, to be confirmed); the example by hand
///
/// ```
/// use trials::measurement::farinograph::absorption_pct;
/// assert!((absorption_pct(300.0, 186.0, 294.857_143).unwrap() - 60.285_714).abs() < 1e-6);
/// ```
///
/// # Errors
/// Values that are not above 0 (water: not below 0).
pub fn absorption_pct(bowl_g: f64, water_ml: f64, flour_g: f64) -> Result<f64, MeasurementError> {
    let bowl = positive("bowl size", bowl_g)?;
    Ok(100.0 * (not_negative("water", water_ml)? + positive("flour", flour_g)? - bowl) / bowl)
}

/// An absorption measured on flour as it is, restated to flour at 14 % moisture; the same dough,
/// counted differently.
///
/// Check (computed): 62 % at 11 % moisture is 56.539 % at 14 %.
///
/// - Equation: A₁₄ = (100 + A) · 0.86/(1 − M) − 100
/// - Units: A \[%\], M \[kg/kg, wet basis\]
/// - Valid: flours
/// - Source: AACC 54-21 (form from memory, to be confirmed); the example by hand
///
/// ```
/// use trials::measurement::farinograph::to_14_pct;
/// assert!((to_14_pct(62.0, measure::WetBasis(0.11)).unwrap() - 56.539_326).abs() < 1e-6);
/// ```
///
/// # Errors
/// As [`restate`].
pub fn to_14_pct(absorption_pct: f64, moisture: WetBasis) -> Result<f64, MeasurementError> {
    Ok(100.0 * restate(absorption_pct / 100.0, moisture, REFERENCE)?)
}

/// An absorption in kg per kg restated from one flour moisture to another:
/// a(M) = (1 + a_r)(1 − M)/(1 − M_r) − 1. The drier flour takes more.
///
/// - Equation: a(M) = (1 + a_r)(1 − M)/(1 − M_r) − 1
/// - Units: a \[kg/kg\], M \[kg/kg, wet basis\]
/// - Valid: the same dough from drier or wetter flour
/// - Source: an identity of dry matter; 62 % at 11 % moisture is 56.539 % at 14 %, by hand
///
/// ```
/// use measure::WetBasis;
/// let a = trials::measurement::farinograph::restate(0.62, WetBasis(0.11), WetBasis(0.14)).unwrap();
/// assert!((a - 0.565_393).abs() < 1e-6);
/// ```
///
/// # Errors
/// A moisture outside 0 to 1 or an absorption of −1 or less.
pub fn restate(absorption: f64, from: WetBasis, to: WetBasis) -> Result<f64, MeasurementError> {
    positive("1 + absorption", 1.0 + absorption)?;
    let (r, m) = (
        moisture_of("measured moisture", from)?,
        moisture_of("wanted moisture", to)?,
    );
    Ok((1.0 + absorption) * (1.0 - m) / (1.0 - r) - 1.0)
}

/// One addition of water with the consistency it gave.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Addition {
    /// Water, % of flour.
    pub water_pct: f64,
    /// Largest consistency, FU (or any other unit used throughout).
    pub consistency: f64,
}

/// The water for a target consistency.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Titration {
    /// Water, % of flour.
    pub water_pct: f64,
    /// Its standard error by the delta method; none from two additions, which fit exactly.
    pub se_pct: Option<f64>,
    /// 95 % interval; none as above.
    pub interval95_pct: Option<(f64, f64)>,
    /// Fall of ln consistency per % of water.
    pub fall_per_pct: f64,
    /// Whether the answer lies beyond the additions tried.
    pub extrapolated: bool,
}

/// Fits ln C = a − k·W to two or more additions and solves for the target:
/// W = (a − ln C*)/k, var W = s²(1/n + (W − W̄)²/S_WW)/k².
///
/// - Equation: ln C = a − k W; W = (a − ln C*)/k
/// - Units: W \[%\], C \[FU\]
/// - Valid: consistencies that fall with water, target between those tried
/// - Source: straight line in the logarithm: common practice near 500 FU; se by the delta method (textbook)
///
/// ```
/// use trials::measurement::farinograph::{Addition, titrate};
/// let tried = [(56.0, 560.0), (60.0, 460.0)].map(|(water_pct, consistency)| Addition { water_pct, consistency });
/// let w = titrate(&tried, 500.0).unwrap();
/// assert!(w.water_pct > 56.0 && w.water_pct < 60.0 && w.se_pct.is_none());
/// ```
///
/// # Errors
/// Fewer than two different waters, a consistency not above 0, or one that does not fall with water.
pub fn titrate(tried: &[Addition], target: f64) -> Result<Titration, MeasurementError> {
    let aim = positive("target consistency", target)?.ln();
    for a in tried {
        positive("consistency", a.consistency)?;
        not_negative("water", a.water_pct)?;
    }
    let n = tried.len() as f64;
    if tried.len() < 2 {
        return Err(MeasurementError {
            name: "number of additions",
            value: n,
            allowed: "2 or more",
        });
    }
    let mean = |f: fn(&Addition) -> f64| tried.iter().map(f).sum::<f64>() / n;
    let (w_mean, y_mean) = (mean(|a| a.water_pct), mean(|a| a.consistency.ln()));
    let sxx: f64 = tried.iter().map(|a| (a.water_pct - w_mean).powi(2)).sum();
    positive("spread of the waters tried", sxx)?;
    let sxy: f64 = tried
        .iter()
        .map(|a| (a.water_pct - w_mean) * (a.consistency.ln() - y_mean))
        .sum();
    let k = positive("fall of consistency with water", -sxy / sxx)?;
    let water_pct = w_mean + (y_mean - aim) / k;
    let residual: f64 = tried
        .iter()
        .map(|a| (a.consistency.ln() - y_mean + k * (a.water_pct - w_mean)).powi(2))
        .sum();
    let df = n - 2.0;
    let se_pct = (df > 0.0)
        .then(|| (residual / df * (1.0 / n + (water_pct - w_mean).powi(2) / sxx)).sqrt() / k);
    let (low, high) = tried
        .iter()
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), a| {
            (l.min(a.water_pct), h.max(a.water_pct))
        });
    Ok(Titration {
        water_pct,
        se_pct,
        interval95_pct: se_pct.map(|se| {
            let half = t_quantile(0.975, df) * se;
            (water_pct - half, water_pct + half)
        }),
        fall_per_pct: k,
        extrapolated: water_pct < low || water_pct > high,
    })
}
