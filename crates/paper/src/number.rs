//! Numbers as people read them: a real minus, thin spaces in long numbers, a dash for none.

use measure::rounding;

/// A value with a fixed count of decimals; a dash when there is none.
///
/// ```
/// assert_eq!(paper::number::fixed(-2.26, 1), "\u{2212}2.3");
/// assert_eq!(paper::number::fixed(12400.0, 0), "12\u{202f}400");
/// assert_eq!(paper::number::fixed(f64::NAN, 1), "–");
/// ```
pub fn fixed(value: f64, places: usize) -> String {
    if !value.is_finite() {
        return "–".to_owned();
    }
    let rounded = rounding::to_division(value, 0.1f64.powi(places.min(12) as i32));
    typeset(&format!("{rounded:.places$}"))
}

/// Two limits; none where they look the same.
///
/// ```
/// assert_eq!(paper::number::limits(11.8, 17.2, 1).as_deref(), Some("11.8 to 17.2"));
/// assert_eq!(paper::number::limits(8.01, 8.02, 1), None);
/// ```
pub fn limits(low: f64, high: f64, places: usize) -> Option<String> {
    let (low, high) = (fixed(low, places), fixed(high, places));
    (low != high).then(|| format!("{low} to {high}"))
}

/// Two limits of a difference; none where they look the same.
///
/// ```
/// assert_eq!(paper::number::signed_limits(-4.6, 3.1, 1).as_deref(), Some("\u{2212}4.6 to +3.1"));
/// ```
pub fn signed_limits(low: f64, high: f64, places: usize) -> Option<String> {
    let (low, high) = (
        rounding::signed(low, places),
        rounding::signed(high, places),
    );
    (low != high).then(|| format!("{low} to {high}"))
}

/// A value with three significant digits, the rule when the trade has none of its own.
///
/// ```
/// assert_eq!(paper::number::three(17.43), "17.4");
/// ```
pub fn three(value: f64) -> String {
    typeset(&rounding::significant(value, 3))
}

/// An interval as `24 (21 to 27)`, with the decimals its width can bear: one digit of the
/// half width, two when that begins with 1 or 2 (common practice, no source).
///
/// ```
/// assert_eq!(paper::number::interval(24.1, 21.0, 27.2), "24 (21 to 27)");
/// assert_eq!(paper::number::interval(8.04, 7.82, 8.26), "8.04 (7.82 to 8.26)");
/// ```
pub fn interval(mean: f64, low: f64, high: f64) -> String {
    let half = (high - low).abs() / 2.0;
    if !half.is_finite() || half == 0.0 {
        return three(mean);
    }
    interval_to(mean, low, high, places_for(low, high))
}

/// An interval with a fixed count of decimals, for those that stand under each other.
pub fn interval_to(mean: f64, low: f64, high: f64, places: usize) -> String {
    format!(
        "{} ({} to {})",
        fixed(mean, places),
        fixed(low, places),
        fixed(high, places)
    )
}

/// The difference of two intervals' means as both are shown, with the decimals that the wider of them can bear.
/// Each is mean, low, high.
///
/// ```
/// // 26 (22 to 30) less 24 (21 to 27).
/// assert_eq!(paper::number::gap_of_intervals([26.4, 22.0, 30.0], [24.1, 21.0, 27.2]), (2.0, 0));
/// ```
pub fn gap_of_intervals(here: [f64; 3], there: [f64; 3]) -> (f64, usize) {
    let [a, b] = [here, there].map(|[_, low, high]| places_for(low, high));
    let places = a.min(b);
    (rounding::shown_gap(here[0], there[0], places), places)
}

/// Decimals that an interval of this width can bear.
pub fn places_for(low: f64, high: f64) -> usize {
    let half = (high - low).abs() / 2.0;
    if !half.is_finite() || half == 0.0 {
        return 0;
    }
    let order = half.log10().floor();
    let lead = half / 10f64.powf(order);
    let digits = if lead < 3.0 { 1.0 } else { 0.0 };
    (digits - order).clamp(0.0, 9.0) as usize
}

/// At most three significant digits, as a power of ten when it is very small or very large.
///
/// ```
/// assert_eq!(paper::number::plain(5e-12), "5 × 10⁻¹²");
/// assert_eq!(paper::number::plain(353.15), "353");
/// assert_eq!(paper::number::plain(29_300.0), "29\u{202f}300");
/// assert_eq!(paper::number::plain(0.0), "0");
/// ```
pub fn plain(value: f64) -> String {
    let trimmed = |text: String| match text.contains('.') {
        true => text.trim_end_matches('0').trim_end_matches('.').to_owned(),
        false => text,
    };
    let order = value.abs().log10().floor();
    if value == 0.0 || (-3.0..6.0).contains(&order) {
        return trimmed(three(value));
    }
    let power: String = format!("{order:.0}").chars().map(raised).collect();
    format!("{} × 10{power}", trimmed(three(value / 10f64.powf(order))))
}

const fn raised(c: char) -> char {
    match c {
        '-' => '⁻',
        '0' => '⁰',
        '1' => '¹',
        '2' => '²',
        '3' => '³',
        '4' => '⁴',
        '5' => '⁵',
        '6' => '⁶',
        '7' => '⁷',
        '8' => '⁸',
        _ => '⁹',
    }
}

/// A plain number text with a real minus and groups of three from five digits up.
fn typeset(text: &str) -> String {
    let (sign, digits) = match text.strip_prefix('-') {
        Some(rest) => ("\u{2212}", rest),
        None => ("", text),
    };
    let sign = if digits.bytes().all(|b| matches!(b, b'0' | b'.')) {
        ""
    } else {
        sign
    };
    let (whole, rest) = match digits.find('.') {
        Some(at) => digits.split_at(at),
        None => (digits, ""),
    };
    if whole.len() < 5 || !whole.is_ascii() {
        return format!("{sign}{whole}{rest}");
    }
    let mut grouped = String::with_capacity(text.len() + 8);
    for (i, digit) in whole.chars().enumerate() {
        if i > 0 && (whole.len() - i).is_multiple_of(3) {
            grouped.push('\u{202f}');
        }
        grouped.push(digit);
    }
    format!("{sign}{grouped}{rest}")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_minus_before_nothing() {
        assert_eq!(fixed(-0.04, 1), "0.0");
        assert_eq!(three(0.0), "0");
    }

    #[test]
    fn an_exact_number_has_no_interval() {
        assert_eq!(interval(31.24, 31.24, 31.24), "31.2");
    }

    #[test]
    fn wide_intervals_lose_their_decimals() {
        assert_eq!(interval(412.3, 371.0, 453.0), "412 (371 to 453)");
        assert_eq!(interval(17.38, 16.1, 18.7), "17.4 (16.1 to 18.7)");
    }
}
