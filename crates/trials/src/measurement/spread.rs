//! Spread: how wide a piece bakes for its height.

use super::{MeasurementError, positive};

/// Width over thickness of pieces laid or stacked together (after AACC 10-50 and 10-52).
///
/// - Equation: W/T
/// - Units: lengths \[m\], ratio \[1\]
/// - Valid: lengths above 0
/// - Source: AACC 10-50, spread ratio (from memory, to be confirmed); the example by hand
///
/// ```
/// use trials::measurement::spread::ratio;
/// assert!((ratio(0.3144, 0.0480).unwrap() - 6.55).abs() < 1e-12);
/// ```
///
/// # Errors
/// Lengths that are not above 0.
pub fn ratio(width_m: f64, thickness_m: f64) -> Result<f64, MeasurementError> {
    Ok(positive("width", width_m)? / positive("thickness", thickness_m)?)
}

/// Spread factor, % of the control's ratio on the same day, which evens out flour, oven and weather.
///
/// - Equation: 100 · ratio/ratio of the control
/// - Units: ratios \[1\], factor \[%\]
/// - Valid: ratios above 0
/// - Source: AACC 10-50 (from memory, to be confirmed); 6.6 beside 6.0 is 110
///
/// ```
/// assert!((trials::measurement::spread::factor_pct(6.6, 6.0).unwrap() - 110.0).abs() < 1e-12);
/// ```
///
/// # Errors
/// Ratios that are not above 0.
pub fn factor_pct(ratio: f64, control_ratio: f64) -> Result<f64, MeasurementError> {
    Ok(100.0 * positive("ratio", ratio)? / positive("ratio of the control", control_ratio)?)
}
