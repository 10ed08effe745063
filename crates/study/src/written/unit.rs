//! Unit endings of keys, and numbers written with a unit, so that a reader can say
//! "this key wants mm" and give the converted number.

use super::field::{Field, Kind, Table};

/// What a unit measures; only units of the same kind convert.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Of {
    Length,
    Temperature,
    Mass,
    Time,
    Share,
    Speed,
    Power,
    Density,
    HeatTransfer,
    Humidity,
    PricePerMass,
    PricePerEnergy,
    Frequency,
    Area,
}

/// A unit: the ending of a key, its kind, and `SI = factor · value + offset`.
struct Unit {
    ending: &'static str,
    shown: &'static str,
    of: Of,
    factor: f64,
    offset: f64,
}

const fn unit(ending: &'static str, shown: &'static str, of: Of, factor: f64) -> Unit {
    Unit {
        ending,
        shown,
        of,
        factor,
        offset: 0.0,
    }
}

/// Every unit that a key may end in. Factors are exact by definition of the units.
const UNITS: &[Unit] = &[
    unit("um", "µm", Of::Length, 1e-6),
    unit("mm", "mm", Of::Length, 1e-3),
    unit("cm", "cm", Of::Length, 1e-2),
    unit("m", "m", Of::Length, 1.0),
    unit("in", "in", Of::Length, measure::units::INCH_M),
    unit("inch", "inch", Of::Length, measure::units::INCH_M),
    unit("ft", "ft", Of::Length, 12.0 * measure::units::INCH_M),
    Unit {
        ending: "c",
        shown: "°C",
        of: Of::Temperature,
        factor: 1.0,
        offset: 273.15,
    },
    Unit {
        ending: "f",
        shown: "°F",
        of: Of::Temperature,
        factor: 1.0 / 1.8,
        offset: 273.15 - 32.0 / 1.8,
    },
    Unit {
        ending: "k",
        shown: "K",
        of: Of::Temperature,
        factor: 1.0,
        offset: 0.0,
    },
    unit("mg", "mg", Of::Mass, 1e-6),
    unit("g", "g", Of::Mass, 1e-3),
    unit("kg", "kg", Of::Mass, 1.0),
    unit("t", "t", Of::Mass, 1e3),
    unit("oz", "oz", Of::Mass, measure::units::OUNCE_KG),
    unit("lb", "lb", Of::Mass, measure::units::POUND_KG),
    unit("s", "s", Of::Time, 1.0),
    unit("min", "min", Of::Time, 60.0),
    unit("h", "h", Of::Time, 3600.0),
    unit("days", "days", Of::Time, 86_400.0),
    unit("pct", "%", Of::Share, 0.01),
    unit("percent", "%", Of::Share, 0.01),
    unit("fraction", "as a fraction", Of::Share, 1.0),
    unit("g_per_kg", "g/kg", Of::Humidity, 1e-3),
    unit("kg_per_kg", "kg/kg", Of::Humidity, 1.0),
    unit("m_per_s", "m/s", Of::Speed, 1.0),
    unit("m_per_min", "m/min", Of::Speed, 1.0 / 60.0),
    unit("ft_per_min", "ft/min", Of::Speed, 0.3048 / 60.0),
    unit("w", "W", Of::Power, 1.0),
    unit("kw", "kW", Of::Power, 1e3),
    unit("kg_per_m3", "kg/m³", Of::Density, 1.0),
    unit("g_per_cm3", "g/cm³", Of::Density, 1e3),
    unit("g_per_l", "g/l", Of::Density, 1.0),
    unit("kg_per_l", "kg/l", Of::Density, 1e3),
    unit("w_per_m2k", "W/(m² K)", Of::HeatTransfer, 1.0),
    unit("w_m2k", "W/(m² K)", Of::HeatTransfer, 1.0),
    unit("m_min", "m/min", Of::Speed, 1.0 / 60.0),
    unit("m_s", "m/s", Of::Speed, 1.0),
    unit("m2", "m²", Of::Area, 1.0),
    unit("cm2", "cm²", Of::Area, 1e-4),
    unit("per_kg", "per kg", Of::PricePerMass, 1.0),
    unit("per_g", "per g", Of::PricePerMass, 1e3),
    unit("per_t", "per t", Of::PricePerMass, 1e-3),
    unit(
        "per_lb",
        "per lb",
        Of::PricePerMass,
        1.0 / measure::units::POUND_KG,
    ),
    unit("per_kwh", "per kWh", Of::PricePerEnergy, 1.0 / 3.6e6),
    unit("per_mj", "per MJ", Of::PricePerEnergy, 1e-6),
    unit("rpm", "turns per minute", Of::Frequency, 1.0 / 60.0),
    unit("per_min", "per min", Of::Frequency, 1.0 / 60.0),
    unit("per_h", "per h", Of::Frequency, 1.0 / 3600.0),
];

/// The stem of a key and its unit: `thickness_mm` is `thickness` in mm. The longest ending counts.
fn split(key: &str) -> (&str, Option<&'static Unit>) {
    UNITS
        .iter()
        .filter_map(|u| {
            let stem = key.strip_suffix(u.ending)?.strip_suffix('_')?;
            (!stem.is_empty()).then_some((stem, Some(u)))
        })
        .min_by_key(|(stem, _)| stem.len())
        .unwrap_or((key, None))
}

/// A key that the table has, meant by a key it doesn't have: the same stem with another unit, or none.
pub(super) struct Meant {
    /// The field meant.
    pub field: &'static Field,
    /// The unit that was written, in words.
    pub found: Option<&'static str>,
    /// The number in the field's unit, when it can be converted.
    pub converted: Option<f64>,
}

/// Looks for the field that an unknown key means but for its unit.
pub(super) fn meant(table: &Table, key: &str, value: Option<f64>) -> Option<Meant> {
    let (stem, found) = split(key);
    let field = table.fields.iter().find(|f| {
        matches!(f.kind, Kind::Number(unit, _) if !unit.is_empty()) && split(f.key).0 == stem
    })?;
    let wanted = split(field.key).1?;
    let converted = match (found, value) {
        (Some(found), Some(v)) => convert(v, found, wanted),
        _ => None,
    };
    Some(Meant {
        field,
        found: found.map(|u| u.shown),
        converted,
    })
}

fn convert(value: f64, from: &Unit, to: &Unit) -> Option<f64> {
    (from.of == to.of).then(|| tidy((value * from.factor + from.offset - to.offset) / to.factor))
}

/// Rounds away the last digits of a conversion, for a number that a person will copy.
fn tidy(value: f64) -> f64 {
    format!("{value:.9e}").parse().unwrap_or(value)
}

/// A number written as a text, perhaps with a unit: `"8 mm"`, `"8"`, `"200°F"`, `"5 %"`.
/// Gives the number in the unit of `key` when the unit fits, and how the unit was written.
pub(super) fn from_text(text: &str, key: &str) -> Option<(Option<f64>, String)> {
    let text = text.trim();
    let end = text
        .find(|c: char| !(c.is_ascii_digit() || matches!(c, '.' | ',' | '-' | '+')))
        .unwrap_or(text.len());
    let (digits, written) = text.split_at(end);
    let value: f64 = digits.replace(',', ".").parse().ok()?;
    let written = written.trim();
    if written.is_empty() {
        return Some((Some(value), String::new()));
    }
    let plain = written
        .to_lowercase()
        .replace('°', "")
        .replace('%', "pct")
        .replace("kg/m³", "kg_per_m3")
        .replace("w/m²k", "w_per_m2k")
        .replace('/', "_per_");
    let from = UNITS
        .iter()
        .find(|u| u.ending == plain || u.shown == written);
    let to = split(key).1;
    let converted = match (from, to) {
        (Some(from), Some(to)) => convert(value, from, to),
        _ => None,
    };
    Some((converted, written.to_owned()))
}

/// The unit that a key ends in, as shown.
pub(super) fn shown(key: &str) -> Option<&'static str> {
    split(key).1.map(|u| u.shown)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn units_convert_where_they_measure_the_same() {
        // Exact by definition of inch and of the Fahrenheit scale.
        assert_eq!(from_text("0.8 cm", "thickness_mm").unwrap().0, Some(8.0));
        assert_eq!(from_text("1 in", "thickness_mm").unwrap().0, Some(25.4));
        assert_eq!(from_text("392°F", "air_c").unwrap().0, Some(200.0));
        assert_eq!(from_text("8", "thickness_mm").unwrap().0, Some(8.0));
        assert_eq!(from_text("8 kg", "thickness_mm").unwrap().0, None);
        assert_eq!(from_text("2,5 mm", "thickness_mm").unwrap().0, Some(2.5));
        assert!(from_text("thick", "thickness_mm").is_none());
    }

    #[test]
    fn the_longest_ending_is_the_unit() {
        assert_eq!(split("humidity_kg_per_kg").0, "humidity");
        assert_eq!(split("price_per_kg").0, "price");
        assert_eq!(split("thickness_mm").0, "thickness");
        assert_eq!(split("name").1.map(|u| u.shown), None);
    }
}
