//! Numbers as people write them in tables.

use serde::{Deserialize, Serialize};

/// What stands before the decimals.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Decimal {
    /// 12.5
    Point,
    /// 12,5
    Comma,
}

impl Decimal {
    /// All marks.
    pub const ALL: [Decimal; 2] = [Decimal::Point, Decimal::Comma];

    /// The mark.
    pub fn mark(self) -> char {
        match self {
            Decimal::Point => '.',
            Decimal::Comma => ',',
        }
    }
}

/// Reads a number. Marks between thousands, units and percent signs are refused and not guessed at:
/// `1.234` means two things in two countries.
///
/// # Errors
/// What is wrong and what is allowed, in words.
///
/// ```
/// use book::exchange::{Decimal, read_number};
/// assert_eq!(read_number(" 12.5 ", Decimal::Point), Ok(12.5));
/// assert_eq!(read_number("-12,5e-1", Decimal::Comma), Ok(-1.25));
/// assert!(read_number("1.234", Decimal::Comma).is_err());
/// assert!(read_number("NaN", Decimal::Point).is_err());
/// ```
pub fn read_number(text: &str, decimal: Decimal) -> Result<f64, String> {
    let mark = decimal.mark();
    let shown: String = text.chars().take(40).collect();
    let written_so = format!("write it like 1234{mark}5");

    let bare = text.trim().replace('\u{2212}', "-");
    let other = if decimal == Decimal::Point { ',' } else { '.' };
    if bare.contains(other) && bare.chars().any(|c| c.is_ascii_digit()) {
        return Err(format!(
            "‘{shown}’ holds a ‘{other}’, while the decimal mark here is ‘{mark}’ and thousands stand together; {written_so}"
        ));
    }
    let plain = bare.replace(mark, ".");
    let looks_right = plain.bytes().any(|byte| byte.is_ascii_digit())
        && plain
            .bytes()
            .all(|byte| byte.is_ascii_digit() || b"+-.eE".contains(&byte));
    let value = if looks_right {
        plain.parse::<f64>().ok()
    } else {
        None
    };
    match value {
        Some(value) if value.is_finite() => Ok(value),
        Some(_) => Err(format!(
            "‘{shown}’ is larger than any number that can be reckoned with"
        )),
        None => Err(format!(
            "‘{shown}’ is not a number; {written_so}, without unit or percent sign"
        )),
    }
}

/// Writes a number so that it reads back as the very same; none for what is not finite.
///
/// ```
/// use book::exchange::{Decimal, write_number};
/// assert_eq!(write_number(0.1, Decimal::Comma).as_deref(), Some("0,1"));
/// assert_eq!(write_number(60.0, Decimal::Point).as_deref(), Some("60"));
/// assert_eq!(write_number(f64::NAN, Decimal::Point), None);
/// ```
pub fn write_number(value: f64, decimal: Decimal) -> Option<String> {
    if !value.is_finite() {
        return None;
    }
    // The shortest digits that read back the same, with an exponent for the very large and small.
    let text = format!("{value:?}");
    let text = text.strip_suffix(".0").unwrap_or(&text);
    Some(text.replace('.', &decimal.mark().to_string()))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn what_is_no_plain_number_is_refused() {
        for text in [
            "",
            " ",
            "-",
            ".",
            "e5",
            "1e",
            "NaN",
            "inf",
            "-Infinity",
            "1e309",
            "12 %",
            "3 g",
            "0x1F",
            "1 234",
            "1'234",
            "1,5",
            "1,234.5",
            "--1",
            "1.2.3",
            "１２",
            "1_000",
            "=1+1",
        ] {
            assert!(read_number(text, Decimal::Point).is_err(), "{text:?}");
        }
        let words = read_number("1.234,5", Decimal::Comma).unwrap_err();
        assert!(words.contains("write it like 1234,5"), "{words}");
        assert_eq!(read_number("1e308", Decimal::Point), Ok(1e308));
        assert_eq!(read_number("\u{2212}4", Decimal::Point), Ok(-4.0));
        assert_eq!(read_number(".5", Decimal::Point), Ok(0.5));
    }

    proptest! {
        #[test]
        fn a_written_number_reads_back_the_same(value in proptest::num::f64::NORMAL | proptest::num::f64::SUBNORMAL | proptest::num::f64::ZERO) {
            for decimal in Decimal::ALL {
                let text = write_number(value, decimal).unwrap();
                prop_assert_eq!(read_number(&text, decimal).unwrap().to_bits(), value.to_bits());
            }
        }

        #[test]
        fn any_text_is_read_or_refused(text in ".{0,30}") {
            for decimal in Decimal::ALL {
                prop_assert!(read_number(&text, decimal).is_ok_and(f64::is_finite) || read_number(&text, decimal).is_err());
            }
        }
    }
}
