//! Units as people choose to read them. What is kept and computed stays as it was; only what is shown changes.

use crate::units::{
    BRITISH_THERMAL_UNIT_J, FOOT_M, HOUR_S, INCH_M, KILOWATT_HOUR_J, OUNCE_KG, POUND_KG,
};
use serde::{Deserialize, Serialize};

/// The units shown to a person.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Units {
    /// Kilograms, millimetres, °C.
    #[default]
    Metric,
    /// Pounds, inches, °F.
    Us,
}

/// How one metric unit is told in pounds, inches and °F.
struct Told {
    metric: &'static str,
    us: &'static str,
    /// US units in one metric unit.
    factor: f64,
    /// Added after the factor to a place on the scale, not to a difference.
    offset: f64,
    /// Decimals more (or fewer) for the same sharpness.
    decimals: i32,
}

const fn told(
    metric: &'static str,
    us: &'static str,
    factor: f64,
    offset: f64,
    decimals: i32,
) -> Told {
    Told {
        metric,
        us,
        factor,
        offset,
        decimals,
    }
}

const KWH_PER_KG: f64 = KILOWATT_HOUR_J / BRITISH_THERMAL_UNIT_J * POUND_KG;
const HEAT_TRANSFER: f64 = HOUR_S * FOOT_M * FOOT_M / (1.8 * BRITISH_THERMAL_UNIT_J);

/// Every unit that is told otherwise. Energy of a food stays in kcal/kg, as its labels have it.
#[rustfmt::skip] // a table reads best as a table
const TOLD: [Told; 16] = [
    told("°C", "°F", 1.8, 32.0, 0),
    told("K", "°F of difference", 1.8, 0.0, 0),
    told("g", "oz", 1e-3 / OUNCE_KG, 0.0, 1),
    told("kg", "lb", 1.0 / POUND_KG, 0.0, 0),
    told("kg/h", "lb/h", 1.0 / POUND_KG, 0.0, 0),
    told("kg dough/h", "lb dough/h", 1.0 / POUND_KG, 0.0, 0),
    told("kg per kg packed", "lb per lb packed", 1.0, 0.0, 0),
    told("kg per 100 kg dry mix", "lb per 100 lb dry mix", 1.0, 0.0, 0),
    told("kg/kg", "lb/lb", 1.0, 0.0, 0),
    told("mm", "in", 1e-3 / INCH_M, 0.0, 2),
    told("cm²", "in²", 1e-4 / (INCH_M * INCH_M), 0.0, 1),
    told("m", "ft", 1.0 / FOOT_M, 0.0, 0),
    told("m/s", "ft/min", 60.0 / FOOT_M, 0.0, -2),
    told("W/(m² K)", "Btu/(h ft² °F)", HEAT_TRANSFER, 0.0, 1),
    told("kWh/kg", "Btu/lb", KWH_PER_KG, 0.0, -3),
    told("kWh/kg baked", "Btu/lb baked", KWH_PER_KG, 0.0, -3),
];

impl Units {
    /// Every choice.
    pub const ALL: [Self; 2] = [Self::Metric, Self::Us];

    /// The word shown to people and in forms.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Metric => "metric",
            Self::Us => "us",
        }
    }

    fn row(self, metric: &str) -> Option<&'static Told> {
        match self {
            Self::Metric => None,
            Self::Us => TOLD.iter().find(|t| t.metric == metric),
        }
    }

    /// A price or another amount per kilogram: the unit before "/kg".
    fn per_kg(self, metric: &str) -> Option<&str> {
        let before = metric
            .strip_suffix("/kg")
            .or_else(|| metric.strip_suffix(" per kg"))?;
        let money =
            before == "¤" || (before.len() == 3 && before.bytes().all(|b| b.is_ascii_uppercase()));
        (self == Self::Us && money).then_some(before)
    }

    /// The unit in which a metric unit is shown.
    ///
    /// ```
    /// use measure::shown::Units;
    /// assert_eq!(Units::Us.unit("kg/h"), "lb/h");
    /// assert_eq!(Units::Us.unit("EUR/kg"), "EUR/lb");
    /// assert_eq!(Units::Us.unit("min"), "min");
    /// assert_eq!(Units::Metric.unit("kg/h"), "kg/h");
    /// ```
    pub fn unit(self, metric: &str) -> String {
        if let Some(before) = self.per_kg(metric) {
            return format!("{before}/lb");
        }
        self.row(metric).map_or(metric, |t| t.us).to_owned()
    }

    /// A value given in a metric unit, in the unit shown.
    ///
    /// ```
    /// use measure::shown::Units;
    /// assert_eq!(Units::Us.value(100.0, "°C"), 212.0);
    /// assert!((Units::Us.value(25.4, "mm") - 1.0).abs() < 1e-15);
    /// assert!((Units::Us.value(1.0, "EUR/kg") - 0.45359237).abs() < 1e-15);
    /// ```
    pub fn value(self, value: f64, metric: &str) -> f64 {
        self.gap(value, metric) + self.row(metric).map_or(0.0, |t| t.offset)
    }

    /// A difference given in a metric unit, in the unit shown: 10 °C more is 18 °F more.
    ///
    /// ```
    /// assert_eq!(measure::shown::Units::Us.gap(10.0, "°C"), 18.0);
    /// ```
    pub fn gap(self, value: f64, metric: &str) -> f64 {
        if self.per_kg(metric).is_some() {
            return value * POUND_KG;
        }
        self.row(metric).map_or(value, |t| value * t.factor)
    }

    /// One or two values told in a metric unit, told again in the unit read, in brackets after a blank; nothing where
    /// that is the same.
    ///
    /// ```
    /// use measure::Units;
    /// assert_eq!(Units::Us.also(&[25.4], "mm"), " (1.00 in)");
    /// assert_eq!(Units::Us.also(&[0.0, 100.0], "°C"), " (32.0 to 212 °F)");
    /// assert_eq!(Units::Metric.also(&[25.4], "mm"), "");
    /// ```
    pub fn also(self, values: &[f64], metric: &str) -> String {
        let unit = self.unit(metric);
        if unit == metric {
            return String::new();
        }
        let told = |v: &f64| {
            crate::rounding::significant(self.value(*v, metric), 3).replace('-', "\u{2212}")
        };
        let told: Vec<String> = values.iter().map(told).collect();
        format!(" ({} {unit})", told.join(" to "))
    }

    /// A value as shown, back in the metric unit.
    ///
    /// ```
    /// use measure::shown::Units;
    /// assert_eq!(Units::Us.back(212.0, "°C"), 100.0);
    /// assert_eq!(Units::Us.back(3.5, "%"), 3.5);
    /// ```
    pub fn back(self, shown: f64, metric: &str) -> f64 {
        if self.per_kg(metric).is_some() {
            return shown / POUND_KG;
        }
        self.row(metric)
            .map_or(shown, |t| (shown - t.offset) / t.factor)
    }

    /// Decimals that tell as much as `decimals` do in the metric unit.
    pub fn decimals(self, metric: &str, decimals: usize) -> usize {
        let more = self.row(metric).map_or(0, |t| t.decimals);
        usize::try_from(decimals as i32 + more).unwrap_or(0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Factors of NIST Special Publication 811, appendix B.8 (from memory, to be confirmed), to the digits there.
    #[test]
    fn factors_of_the_printed_table() {
        let checks = [
            ("kg", 2.204_623, 1e-6),
            ("g", 0.035_273_96, 1e-8),
            ("mm", 0.039_370_08, 1e-8),
            ("m/s", 196.850_4, 1e-4),
            ("W/(m² K)", 1.0 / 5.678_263, 1e-7),
            ("kWh/kg", 3600.0 / 2.326, 1e-3),
        ];
        for (unit, factor, off) in checks {
            let ours = Units::Us.gap(1.0, unit);
            assert!((ours - factor).abs() <= off, "{unit}: {ours}");
        }
    }

    #[test]
    fn what_is_shown_reads_back() {
        for t in &TOLD {
            let v = 12.345;
            assert!((Units::Us.back(Units::Us.value(v, t.metric), t.metric) - v).abs() < 1e-12);
            assert_eq!(Units::Metric.value(v, t.metric), v);
        }
    }
}
