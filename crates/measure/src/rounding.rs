//! Rounding for scales and for eyes; never inside a calculation.

/// Rounds to a multiple of a scale's division, halves away from zero.
///
/// ```
/// assert_eq!(measure::rounding::to_division(12.3456, 0.005), 12.345);
/// ```
pub fn to_division(value: f64, division: f64) -> f64 {
    if division <= 0.0 || !division.is_finite() {
        return value;
    }
    let steps = (value / division).round();
    // Dividing by the reciprocal keeps 0.1-type divisions free of a trailing 000001.
    let inverse = 1.0 / division;
    if (inverse - inverse.round()).abs() < 1e-9 {
        steps / inverse.round()
    } else {
        steps * division
    }
}

/// Writes a value with `digits` significant digits, without an exponent, with trailing zeros kept.
///
/// ```
/// use measure::rounding::significant;
/// assert_eq!(significant(0.012345, 3), "0.0123");
/// assert_eq!(significant(412.6, 3), "413");
/// assert_eq!(significant(4126.0, 3), "4130");
/// assert_eq!(significant(9.996, 3), "10.0");
/// ```
pub fn significant(value: f64, digits: u32) -> String {
    if !value.is_finite() {
        return "–".to_owned();
    }
    if value == 0.0 {
        return "0".to_owned();
    }
    let digits = digits.max(1) as i32;
    let places = |v: f64| digits - 1 - v.abs().log10().floor() as i32;
    let scale = 10f64.powi(places(value));
    let rounded = (value * scale).round() / scale;
    format!("{rounded:.*}", places(rounded).max(0) as usize)
}

/// Decimals for numbers about as large as `value`: the usual ones, or more where these would leave fewer than two
/// significant digits; at most four more.
///
/// ```
/// use measure::rounding::decimals_for;
/// assert_eq!(decimals_for(165.0, 0), 0);
/// assert_eq!(decimals_for(5.3, 0), 1);
/// assert_eq!(decimals_for(0.042, 0), 3);
/// assert_eq!(decimals_for(16.3, 2), 2);
/// assert_eq!(decimals_for(0.0, 0), 0);
/// ```
pub fn decimals_for(value: f64, usual: usize) -> usize {
    if value == 0.0 || !value.is_finite() {
        return usual;
    }
    let wanted = 1 - value.abs().log10().floor() as i32;
    usual.max(wanted.max(0) as usize).min(usual + 4)
}

/// Rounds to so many decimals, halves away from zero, as numbers are shown.
///
/// ```
/// assert_eq!(measure::rounding::to_decimals(0.446, 2), 0.45);
/// ```
pub fn to_decimals(value: f64, decimals: usize) -> f64 {
    let tens = 10f64.powi(decimals as i32);
    (value * tens).round() / tens
}

/// The difference of two numbers as they are shown, so that a table's numbers add up.
///
/// ```
/// // 0.42 and 0.45 are shown; 0.0204 more is told as 0.03.
/// assert!((measure::rounding::shown_gap(0.4454, 0.4249, 2) - 0.03).abs() < 1e-12);
/// ```
pub fn shown_gap(here: f64, there: f64, decimals: usize) -> f64 {
    to_decimals(
        to_decimals(here, decimals) - to_decimals(there, decimals),
        decimals,
    )
}

/// Writes a difference with its sign and a real minus, `decimals` places; nothing but a dash for none.
///
/// ```
/// use measure::rounding::signed;
/// assert_eq!(signed(1.24, 1), "+1.2");
/// assert_eq!(signed(-33.0, 0), "\u{2212}33");
/// assert_eq!(signed(0.01, 1), "0.0");
/// ```
pub fn signed(value: f64, decimals: usize) -> String {
    let text = format!("{:.*}", decimals, value.abs());
    if text.bytes().all(|b| b == b'0' || b == b'.') {
        text
    } else if value < 0.0 {
        format!("\u{2212}{text}")
    } else {
        format!("+{text}")
    }
}
