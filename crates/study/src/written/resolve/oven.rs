//! The oven, from a preset or written out, and what comes after it.

use super::super::path::At;
use super::super::problem::{Problems, What};
use super::super::row::Row;
use super::super::tables::{
    CoolingRow, OVEN, OvenKind, OvenRow, PackRow, STEP, StepRow, SurfaceWord, ZONE, ZoneRow, either,
};
use super::super::word::Word;
use super::over::with_preset;
use super::{metres, missing};
use baking::oven::cooling::USUAL_S;
use baking::oven::{
    Cooling, CoolingTime, Humidity, Kind, Oven, Pack, Step, Surface, TopHeat, Zone, ZoneLength,
};
use baking::properties::air::humidity_kg_per_kg;
use baking::properties::water::STANDARD_PRESSURE_PA;
use measure::temperature::{celsius, kelvin};
use measure::units::{DAY_S, MINUTE_S};
use measure::{Grade, Source};

/// An oven as a row, so that it takes values of one's own like any other.
pub(in super::super) fn oven_row(oven: &Oven) -> Row {
    let mut row = Row::new(&OVEN);
    row.put(OvenRow::name, oven.name.as_str());
    match oven.kind {
        Kind::Band {
            surface,
            length_m,
            width_m,
            edge_clear_m,
        } => {
            row.put(OvenRow::kind, OvenKind::Band);
            match surface {
                Surface::Steel => row.put(OvenRow::surface, SurfaceWord::Steel),
                Surface::Mesh { open_fraction } => {
                    row.put(OvenRow::surface, SurfaceWord::Mesh);
                    row.put(OvenRow::open_pct, tidy(100.0 * open_fraction));
                }
            }
            row.put(OvenRow::length_m, length_m);
            row.put(OvenRow::width_m, width_m);
            row.put(OvenRow::edge_clear_mm, tidy(1000.0 * edge_clear_m));
        }
        Kind::Batch {
            trays,
            tray_area_m2,
            pieces_per_tray,
            paper,
            loading_s,
        } => {
            row.put(OvenRow::kind, OvenKind::Batch);
            row.put(OvenRow::trays, trays);
            row.put(OvenRow::tray_area_m2, tidy(tray_area_m2));
            if let Some(pieces) = pieces_per_tray {
                row.put(OvenRow::pieces_per_tray, pieces);
            }
            row.put(OvenRow::paper, paper);
            row.put(OvenRow::loading_min, loading_s / MINUTE_S);
        }
    }
    row.put(OvenRow::source, &*oven.source.text);
    row.put(OvenRow::grade, oven.source.grade);
    *row.rows_mut(OvenRow::zone) = oven.zones.iter().map(zone_row).collect();
    if !oven.steps.is_empty() {
        *row.rows_mut(OvenRow::step) = oven.steps.iter().map(step_row).collect();
    }
    row
}

fn step_row(step: &Step) -> Row {
    let mut row = Row::new(&STEP);
    row.put(StepRow::name, step.name.as_str());
    row.put(StepRow::time_min, tidy(step.time_s / MINUTE_S));
    row.put(StepRow::air_c, tidy(celsius(step.air_k)));
    if let Some(k) = step.below_k {
        row.put(StepRow::below_c, tidy(celsius(k)));
    }
    let vapour_pa = step.humidity.vapour_pressure_pa();
    row.put(
        StepRow::humidity_kg_per_kg,
        tidy(humidity_kg_per_kg(vapour_pa, STANDARD_PRESSURE_PA)),
    );
    row.put(StepRow::heat_transfer_w_m2k, tidy(step.top_w_per_m2_k));
    row.put(StepRow::bottom_w_m2k, tidy(step.bottom_w_per_m2_k));
    row.put(StepRow::open_pct, tidy(100.0 * step.open_fraction));
    row
}

fn step(row: &StepRow<'_>, index: usize) -> Option<Step> {
    Some(Step {
        name: row
            .name
            .value
            .map_or_else(|| format!("step {}", index + 1), str::to_owned),
        time_s: row.time_min.value? * MINUTE_S,
        air_k: kelvin(row.air_c.value?),
        below_k: row.below_c.value.map(kelvin),
        humidity: Humidity::KgPerKg(row.humidity_kg_per_kg.value),
        top_w_per_m2_k: row.heat_transfer_w_m2k.value,
        bottom_w_per_m2_k: row.bottom_w_m2k.value,
        open_fraction: row.open_pct.value / 100.0,
    })
}

fn zone_row(zone: &Zone) -> Row {
    let mut row = Row::new(&ZONE);
    row.put(ZoneRow::name, zone.name.as_str());
    match zone.length {
        ZoneLength::Share(share) => row.put(ZoneRow::share, tidy(share)),
        ZoneLength::Metres(m) => row.put(ZoneRow::length_m, tidy(m)),
    }
    row.put(ZoneRow::air_c, tidy(celsius(zone.air_k)));
    if let Some(k) = zone.radiating_k {
        row.put(ZoneRow::radiating_c, tidy(celsius(k)));
    }
    row.put(ZoneRow::band_c, tidy(celsius(zone.band_k)));
    match zone.humidity {
        Humidity::KgPerKg(w) => row.put(ZoneRow::humidity_kg_per_kg, tidy(w)),
        Humidity::DewPoint(k) => row.put(ZoneRow::dew_point_c, tidy(celsius(k))),
    }
    match zone.top {
        TopHeat::Coefficient(h) => row.put(ZoneRow::heat_transfer_w_m2k, tidy(h)),
        TopHeat::AirSpeed(v) => row.put(ZoneRow::air_speed_m_s, tidy(v)),
    }
    row.put(ZoneRow::bottom_w_m2k, tidy(zone.bottom_w_per_m2_k));
    row
}

/// Takes away the last digits that a change of unit leaves.
fn tidy(n: f64) -> f64 {
    (n * 1e9).round() / 1e9
}

/// Tells of keys that exclude each other in the oven and its zones as written.
pub(super) fn contradictions(oven: &OvenRow<'_>, at: &At<'_>, problems: &mut Problems) {
    if oven.preset.written && oven.kind.written {
        let at = at.key(OvenRow::kind.name);
        problems.tell(&at, &oven.kind.place, What::PresetHasKind);
    }
    for (i, zone) in oven.zone.value.iter().enumerate() {
        let at = at.key(OvenRow::zone.name).nth(i);
        for [one, other] in either::ZONE {
            if zone.row.has(one) && zone.row.has(other) {
                let what = What::Either { one, other };
                problems.tell(&at.key(other), &zone.row.place_of(other), what);
            }
        }
    }
}

/// The oven of a merged section.
pub(super) fn oven(own: &OvenRow<'_>, at: &At<'_>, problems: &mut Problems) -> Option<Oven> {
    if own.preset.failed {
        return None;
    }
    let merged = with_preset(own.row);
    let row = OvenRow::read(&merged)?;
    let kind = kind(&row, at, problems);
    if row.zone.value.is_empty() && !row.zone.failed {
        let key = OvenRow::zone.name;
        missing(&merged, key, at, "an oven has at least one zone", problems);
        return None;
    }
    let zones: Vec<_> = row
        .zone
        .value
        .iter()
        .enumerate()
        .map(|(i, z)| zone(z, i, &at.key(OvenRow::zone.name).nth(i), problems))
        .collect();
    let steps: Vec<_> = row
        .step
        .value
        .iter()
        .enumerate()
        .map(|(i, s)| step(s, i))
        .collect();
    if row.zone.failed || row.step.failed {
        return None;
    }
    let oven = Oven {
        name: row.name.value.unwrap_or("oven of the study").to_owned(),
        kind: kind?,
        zones: zones.into_iter().collect::<Option<_>>()?,
        steps: steps.into_iter().collect::<Option<_>>()?,
        source: Source::new(
            row.grade.value.unwrap_or(Grade::Assumed),
            row.source.value.unwrap_or("given in the study file"),
        ),
    };
    if let Err(error) = oven.check() {
        problems.tell(at, &merged.place, What::Oven(error));
        return None;
    }
    Some(oven)
}

fn kind(row: &OvenRow<'_>, at: &At<'_>, problems: &mut Problems) -> Option<Kind> {
    let Some(kind) = row.kind.value else {
        let why = "take a preset, or say what the oven is";
        missing(row.row, OvenRow::kind.name, at, why, problems);
        return None;
    };
    let wanted: &[&str] = match kind {
        OvenKind::Band => &[
            OvenRow::surface.name,
            OvenRow::length_m.name,
            OvenRow::width_m.name,
        ],
        OvenKind::Batch => &[OvenRow::trays.name, OvenRow::tray_area_m2.name],
    };
    for key in wanted.iter().filter(|k| !row.row.has(k)) {
        let why = format!("a {} oven has it", kind.written());
        missing(row.row, key, at, why, problems);
    }
    Some(match kind {
        OvenKind::Band => Kind::Band {
            surface: match row.surface.value? {
                SurfaceWord::Mesh => Surface::Mesh {
                    open_fraction: row.open_pct.value.unwrap_or(50.0) / 100.0,
                },
                SurfaceWord::Steel => Surface::Steel,
            },
            length_m: row.length_m.value?,
            width_m: row.width_m.value?,
            edge_clear_m: metres(&row.edge_clear_mm).unwrap_or(0.02),
        },
        OvenKind::Batch => Kind::Batch {
            trays: row.trays.value?,
            tray_area_m2: row.tray_area_m2.value?,
            pieces_per_tray: row.pieces_per_tray.value,
            paper: row.paper.value == Some(true),
            loading_s: row.loading_min.value.unwrap_or(3.0) * MINUTE_S,
        },
    })
}

fn zone(row: &ZoneRow<'_>, index: usize, at: &At<'_>, problems: &mut Problems) -> Option<Zone> {
    for told in [
        ZoneRow::air_c.name,
        ZoneRow::band_c.name,
        ZoneRow::bottom_w_m2k.name,
    ] {
        if !row.row.has(told) {
            let why = row.row.table.field(told).map_or("", |f| f.doc);
            missing(row.row, told, at, why, problems);
        }
    }
    for [a, b] in either::ZONE {
        if !row.row.has(a) && !row.row.has(b) && !row.row.failed(b) {
            missing(row.row, a, at, format!("write it, or {b}"), problems);
        }
    }
    Some(Zone {
        name: row
            .name
            .value
            .map_or_else(|| format!("{}", index + 1), str::to_owned),
        length: match row.length_m.value {
            Some(m) => ZoneLength::Metres(m),
            None => ZoneLength::Share(row.share.value?),
        },
        air_k: kelvin(row.air_c.value?),
        radiating_k: row.radiating_c.value.map(kelvin),
        band_k: kelvin(row.band_c.value?),
        humidity: match row.dew_point_c.value {
            Some(c) => Humidity::DewPoint(kelvin(c)),
            None => Humidity::KgPerKg(row.humidity_kg_per_kg.value?),
        },
        top: match row.air_speed_m_s.value {
            Some(speed) => TopHeat::AirSpeed(speed),
            None => TopHeat::Coefficient(row.heat_transfer_w_m2k.value?),
        },
        bottom_w_per_m2_k: row.bottom_w_m2k.value?,
    })
}

/// Cooling of a merged section.
pub(super) fn cooling(row: &CoolingRow<'_>) -> Cooling {
    Cooling {
        room_k: kelvin(row.room_c.value),
        relative_humidity: row.relative_humidity_pct.value / 100.0,
        time: match row.time_min.value {
            Some(min) => CoolingTime::Seconds(min * MINUTE_S),
            None => match row.of_bake_time.value {
                Some(multiple) => CoolingTime::OfBakeTime(multiple),
                None => CoolingTime::Seconds(USUAL_S.value),
            },
        },
        top_w_per_m2_k: row.heat_transfer_w_m2k.value,
        bottom_w_per_m2_k: row.bottom_w_m2k.value,
        open_fraction: row.open_pct.value / 100.0,
    }
}

/// Pack of a merged section.
pub(super) fn pack(row: &PackRow<'_>) -> Pack {
    Pack {
        store_k: kelvin(row.store_c.value),
        time_s: row.time_days.value * DAY_S,
        w_per_m2_k: row.heat_transfer_w_m2k.value,
    }
}

#[cfg(test)]
mod tests {
    use super::super::super::tables::OvenPreset;
    use super::*;

    #[test]
    fn presets_come_through_the_written_form_unchanged() {
        for preset in OvenPreset::all() {
            let mut problems = Problems::default();
            let own = OvenRow::read(preset.row).unwrap();
            let again = oven(&own, &At::WHOLE, &mut problems).unwrap();
            let there = preset.oven;
            assert_eq!(again.kind, there.kind);
            assert_eq!(again.source, there.source);
            for (a, b) in again.zones.iter().zip(&there.zones) {
                assert_eq!(
                    (&a.name, a.length, a.humidity, a.top),
                    (&b.name, b.length, b.humidity, b.top)
                );
                assert!((a.air_k - b.air_k).abs() < 1e-9 && (a.band_k - b.band_k).abs() < 1e-9);
            }
        }
    }
}
