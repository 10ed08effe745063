//! Units that a value may be typed in, and the one it is kept in.

use measure::units::{HOUR_S, INCH_M, MINUTE_S, OUNCE_KG, POUND_KG};

/// What a unit measures; only units of the same kind convert.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Of {
    Mass,
    Temperature,
    Length,
    Time,
    Share,
    Force,
    Stress,
}

/// A unit: how it is written, its kind, and `SI = factor · value + offset`.
struct Unit {
    written: &'static str,
    of: Of,
    factor: f64,
    offset: f64,
}

const fn unit(written: &'static str, of: Of, factor: f64) -> Unit {
    Unit {
        written,
        of,
        factor,
        offset: 0.0,
    }
}

const ZERO_C_K: f64 = 273.15;

/// Every unit. Factors are exact by definition of the units.
#[rustfmt::skip] // a table reads best as a table
const UNITS: [Unit; 22] = [
    unit("kg", Of::Mass, 1.0), unit("g", Of::Mass, 1e-3), unit("mg", Of::Mass, 1e-6),
    unit("lb", Of::Mass, POUND_KG), unit("oz", Of::Mass, OUNCE_KG),
    Unit { written: "°C", of: Of::Temperature, factor: 1.0, offset: ZERO_C_K },
    Unit { written: "°F", of: Of::Temperature, factor: 1.0 / 1.8, offset: ZERO_C_K - 32.0 / 1.8 },
    unit("K", Of::Temperature, 1.0),
    unit("mm", Of::Length, 1e-3), unit("cm", Of::Length, 1e-2), unit("m", Of::Length, 1.0),
    unit("in", Of::Length, INCH_M),
    unit("s", Of::Time, 1.0), unit("min", Of::Time, MINUTE_S), unit("h", Of::Time, HOUR_S),
    unit("%", Of::Share, 0.01), unit("fraction", Of::Share, 1.0),
    unit("N", Of::Force, 1.0), unit("kN", Of::Force, 1e3),
    unit("MPa", Of::Stress, 1e6), unit("kPa", Of::Stress, 1e3), unit("Pa", Of::Stress, 1.0),
];

/// Other ways to write some of them.
const ALSO: [(&str, &str); 8] = [
    ("C", "°C"),
    ("F", "°F"),
    ("degC", "°C"),
    ("degF", "°F"),
    ("percent", "%"),
    ("pct", "%"),
    ("inch", "in"),
    ("sec", "s"),
];

/// A unit that can't be read as the one that is kept.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("the unit ‘{given}’ can’t be read as {kept}; {}", way_out(kept))]
pub struct UnitError {
    /// As it was typed.
    pub given: String,
    /// The unit that the value is kept in.
    pub kept: String,
}

fn way_out(kept: &str) -> String {
    match units_of(kept).as_slice() {
        [] | [_] if kept.is_empty() => "this is a number without a unit".to_owned(),
        [] | [_] => format!("type it in {kept}"),
        all => format!("allowed are {}", all.join(", ")),
    }
}

fn find(text: &str) -> Option<&'static Unit> {
    let text = text.trim();
    let text = ALSO
        .iter()
        .find(|(also, _)| also.eq_ignore_ascii_case(text))
        .map_or(text, |(_, written)| written);
    UNITS
        .iter()
        .find(|u| u.written == text)
        .or_else(|| UNITS.iter().find(|u| u.written.eq_ignore_ascii_case(text)))
}

/// The units that a value kept in `kept` may be typed in, the kept one first.
pub fn units_of(kept: &str) -> Vec<&'static str> {
    let Some(own) = find(kept) else {
        return Vec::new();
    };
    let others = UNITS
        .iter()
        .filter(|u| u.of == own.of && u.written != own.written);
    std::iter::once(own.written)
        .chain(others.map(|u| u.written))
        .collect()
}

/// A value typed in `given`, in the unit that it is kept in.
///
/// ```
/// use bench::in_unit;
/// assert_eq!(in_unit(250.0, "g", "kg"), Ok(0.25));
/// assert_eq!(in_unit(212.0, "°F", "°C").map(|c| c.round()), Ok(100.0));
/// assert!(in_unit(1.0, "mm", "kg").unwrap_err().to_string().contains("lb"));
/// ```
///
/// # Errors
/// A unit that isn't known, or of another kind.
pub fn in_unit(value: f64, given: &str, kept: &str) -> Result<f64, UnitError> {
    let wrong = || UnitError {
        given: given.to_owned(),
        kept: kept.to_owned(),
    };
    if given.trim() == kept {
        return Ok(value);
    }
    let (from, to) = find(given).zip(find(kept)).ok_or_else(wrong)?;
    if from.of != to.of {
        return Err(wrong());
    }
    if from.offset == to.offset {
        // One division of round numbers stays round: 250 g is 0.25 kg.
        let times = to.factor / from.factor;
        return Ok(if times >= 1.0 {
            value / times.round_if_whole()
        } else {
            value * (from.factor / to.factor).round_if_whole()
        });
    }
    Ok((from.factor * value + from.offset - to.offset) / to.factor)
}

trait RoundIfWhole {
    fn round_if_whole(self) -> Self;
}

impl RoundIfWhole for f64 {
    /// 1000.0000000000001 is 1000.
    fn round_if_whole(self) -> Self {
        let whole = self.round();
        if (self - whole).abs() < 1e-9 * whole.abs() {
            whole
        } else {
            self
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// One pound is 453.59237 g and 16 oz; one inch is 25.4 mm (exact by the agreement of 1959).
    #[test]
    fn units_convert_by_their_definitions() {
        let near = |a: f64, b: f64| assert!((a - b).abs() < 1e-12 * b.abs(), "{a} {b}");
        near(in_unit(1.0, "lb", "kg").unwrap(), 0.453_592_37);
        near(in_unit(16.0, "oz", "lb").unwrap(), 1.0);
        near(in_unit(1.0, "in", "mm").unwrap(), 25.4);
        near(in_unit(1.5, "min", "s").unwrap(), 90.0);
        near(in_unit(32.0, "F", "K").unwrap(), 273.15);
        near(in_unit(0.08, "fraction", "%").unwrap(), 8.0);
        assert_eq!(in_unit(20.0, "g", "kg"), Ok(0.02));
        assert_eq!(in_unit(1804.0, "g", "kg"), Ok(1.804));
        for odd in ["", "cups", "kgs", "°"] {
            assert!(in_unit(1.0, odd, "kg").is_err(), "{odd}");
        }
        assert!(in_unit(1.0, "kg", "").is_err());
    }

    #[test]
    fn every_unit_reads_back() {
        for unit in &UNITS {
            for other in units_of(unit.written) {
                let there = in_unit(12.3, unit.written, other).unwrap();
                let back = in_unit(there, other, unit.written).unwrap();
                assert!((back - 12.3).abs() < 1e-9, "{} {other}", unit.written);
            }
        }
    }
}
