//! The oven and the piece of a treatment as a person sets them, in the units and under the names
//! that the study's edits take.

use baking::oven::{Humidity, Kind, TopHeat, Zone, ZoneLength};
use measure::temperature::celsius;
use serde::Serialize;
use study::Treatment;
use study::edit::field_of;
use study::written::tables::ZONE;

/// A value of a zone.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ZoneValue {
    /// Its field, as `set_zone` takes it, e.g. `air_c`.
    pub field: &'static str,
    /// What it is, in words.
    pub what: &'static str,
    /// Its unit.
    pub unit: &'static str,
    /// The value.
    pub value: f64,
    /// What may be written, in words.
    pub allowed: String,
}

/// A zone.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ZoneShown {
    /// Its name.
    pub name: String,
    /// Its share of the time in the oven, %.
    pub share_pct: f64,
    /// Its length or its share of it, as it is written.
    pub length: ZoneValue,
    /// What is set in it.
    pub values: Vec<ZoneValue>,
}

/// The oven and the piece of a treatment.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct OvenShown {
    /// Name of the oven.
    pub name: String,
    /// Where its description comes from.
    pub source: String,
    /// How sure that is, in a word.
    pub grade: &'static str,
    /// Whether the treatment has values of its own for the oven.
    pub own: bool,
    /// Time in the oven as it is set, min; none = the time that meets the target.
    pub time_min: Option<f64>,
    /// Share of the bottom through which vapour leaves, %.
    pub open_below_pct: f64,
    /// Whether a band runs through it; else trays stand in it.
    pub runs: bool,
    /// The zones in the order the pieces pass them.
    pub zones: Vec<ZoneShown>,
    /// Shape of the piece seen from above, in a word.
    pub outline: &'static str,
    /// Length of the piece, mm.
    pub length_mm: f64,
    /// Thickness of the piece, mm.
    pub thickness_mm: f64,
}

/// The oven and the piece of a treatment as a person sets them.
pub fn oven_shown(treatment: &Treatment) -> OvenShown {
    let s = &treatment.setting;
    let shares = s.oven.shares();
    OvenShown {
        name: s.oven.name.clone(),
        source: s.oven.source.text.to_string(),
        grade: s.oven.source.grade.word(),
        own: treatment.own.contains(&"oven"),
        time_min: s.bake_time_s.map(|t| t / 60.0),
        open_below_pct: 100.0 * s.oven.open(),
        runs: matches!(s.oven.kind, Kind::Band { .. }),
        zones: s
            .oven
            .zones
            .iter()
            .zip(shares)
            .map(|(z, share)| ZoneShown {
                name: z.name.clone(),
                share_pct: 100.0 * share,
                length: length(z),
                values: values(z),
            })
            .collect(),
        outline: s.piece.outline.word(),
        length_mm: 1e3 * s.piece.outline.extent_m().0,
        thickness_mm: 1e3 * s.piece.thickness_m,
    }
}

fn values(zone: &Zone) -> Vec<ZoneValue> {
    let humidity = match zone.humidity {
        Humidity::KgPerKg(w) => ("humidity_kg_per_kg", "humidity", "kg/kg", w),
        Humidity::DewPoint(k) => ("dew_point_c", "dew point", "°C", celsius(k)),
    };
    let top = match zone.top {
        TopHeat::Coefficient(h) => ("heat_transfer_w_m2k", "heat transfer, top", "W/(m² K)", h),
        TopHeat::AirSpeed(v) => ("air_speed_m_s", "air speed", "m/s", v),
    };
    let walls_c = celsius(zone.radiating_k.unwrap_or(zone.air_k));
    [
        ("air_c", "air", "°C", celsius(zone.air_k)),
        ("radiating_c", "walls", "°C", walls_c),
        ("band_c", "band", "°C", celsius(zone.band_k)),
        humidity,
        top,
        (
            "bottom_w_m2k",
            "heat transfer, band",
            "W/(m² K)",
            zone.bottom_w_per_m2_k,
        ),
    ]
    .into_iter()
    .map(zone_value)
    .collect()
}

fn length(zone: &Zone) -> ZoneValue {
    zone_value(match zone.length {
        ZoneLength::Metres(m) => ("length_m", "length", "m", m),
        ZoneLength::Share(share) => ("share", "share of the length", "", share),
    })
}

fn zone_value(
    (field, what, unit, value): (&'static str, &'static str, &'static str, f64),
) -> ZoneValue {
    ZoneValue {
        field,
        what,
        unit,
        value,
        allowed: field_of(&ZONE, field).map_or_else(String::new, |f| f.kind.words()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_value_shown_can_be_set() {
        let written = study::written::read_written(crate::DEMONSTRATION).unwrap();
        let study = study::written::resolve(&written).unwrap();
        let oven = oven_shown(study.control());
        assert_eq!(oven.zones.len(), 3);
        for zone in &oven.zones {
            for v in zone.values.iter().chain([&zone.length]) {
                let edit = study::edit::Edit::SetZone {
                    treatment: None,
                    zone: zone.name.clone(),
                    field: v.field.to_owned(),
                    value: v.value + 1.0,
                };
                let after = study::edit::apply(&written, &edit).unwrap();
                let after = study::written::resolve(&after).unwrap();
                let changed = oven_shown(after.control());
                let here = changed.zones.iter().find(|z| z.name == zone.name).unwrap();
                let mut all = here.values.iter().chain([&here.length]);
                let now = all.find(|w| w.field == v.field).unwrap();
                assert!((now.value - v.value - 1.0).abs() < 1e-9, "{now:?}");
                assert!(!v.allowed.is_empty());
            }
        }
    }
}
