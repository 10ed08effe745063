//! The oven, from a preset or written out, and what comes after it.

use super::super::problem::{Code, Problem};
use super::super::reader::Reader;
use super::super::row::{Row, Value};
use super::super::tables::{EITHER, OVEN, PRESETS, STEP, ZONE};
use super::chosen;
use super::setting::missing;
use baking::oven::cooling::USUAL_S;
use baking::oven::{
    Cooling, CoolingTime, Humidity, Kind, Oven, Pack, Step, Surface, TopHeat, Zone, ZoneLength,
};
use baking::properties::air::humidity_kg_per_kg;
use baking::properties::water::STANDARD_PRESSURE_PA;
use measure::temperature::{celsius, kelvin};
use measure::units::{DAY_S, MINUTE_S};
use measure::{Grade, Source};

/// An oven as a table, so that a preset takes values of one's own like any other table.
pub(super) fn written(oven: &Oven) -> Row {
    let mut row = Row::new(&OVEN);
    let mut put = |key: &str, value: Value| {
        let known = row.set(key, value);
        debug_assert!(known, "{key}");
    };
    let number = Value::Number;
    let text = |t: &str| Value::Text(t.to_owned());
    put("name", text(&oven.name));
    match oven.kind {
        Kind::Band {
            surface,
            length_m,
            width_m,
            edge_clear_m,
        } => {
            put("kind", text("band"));
            match surface {
                Surface::Steel => put("surface", text("steel")),
                Surface::Mesh { open_fraction } => {
                    put("surface", text("mesh"));
                    put("open_pct", number(tidy(100.0 * open_fraction)));
                }
            }
            put("length_m", number(length_m));
            put("width_m", number(width_m));
            put("edge_clear_mm", number(tidy(1000.0 * edge_clear_m)));
        }
        Kind::Batch {
            trays,
            tray_area_m2,
            pieces_per_tray,
            paper,
            loading_s,
        } => {
            put("kind", text("batch"));
            put("trays", number(f64::from(trays)));
            put("tray_area_m2", number(tidy(tray_area_m2)));
            if let Some(pieces) = pieces_per_tray {
                put("pieces_per_tray", number(f64::from(pieces)));
            }
            put("paper", Value::Flag(paper));
            put("loading_min", number(loading_s / MINUTE_S));
        }
    }
    put("source", text(&oven.source.text));
    put("grade", text(oven.source.grade.word()));
    put(
        "zone",
        Value::Rows(oven.zones.iter().map(written_zone).collect()),
    );
    if !oven.steps.is_empty() {
        put(
            "step",
            Value::Rows(oven.steps.iter().map(written_step).collect()),
        );
    }
    row
}

fn written_step(step: &Step) -> Row {
    let mut row = Row::new(&STEP);
    let mut put = |key: &str, n: f64| {
        let known = row.set(key, Value::Number(tidy(n)));
        debug_assert!(known, "{key}");
    };
    put("time_min", step.time_s / MINUTE_S);
    put("air_c", celsius(step.air_k));
    if let Some(k) = step.below_k {
        put("below_c", celsius(k));
    }
    let vapour_pa = step.humidity.vapour_pressure_pa();
    put(
        "humidity_kg_per_kg",
        humidity_kg_per_kg(vapour_pa, STANDARD_PRESSURE_PA),
    );
    put("heat_transfer_w_m2k", step.top_w_per_m2_k);
    put("bottom_w_m2k", step.bottom_w_per_m2_k);
    put("open_pct", 100.0 * step.open_fraction);
    row.set("name", Value::Text(step.name.clone()));
    row
}

fn step(row: &Row, index: usize, path: &str, reader: &mut Reader<'_>) -> Option<Step> {
    for key in ["time_min", "air_c"] {
        if !row.has(key) {
            let why = row.table.field(key).map_or("", |f| f.doc);
            missing(row, key, path, why, reader);
        }
    }
    Some(Step {
        name: row
            .text("name")
            .map_or_else(|| format!("step {}", index + 1), str::to_owned),
        time_s: row.number("time_min")? * MINUTE_S,
        air_k: kelvin(row.number("air_c")?),
        below_k: row.number("below_c").map(kelvin),
        humidity: Humidity::KgPerKg(row.number("humidity_kg_per_kg")?),
        top_w_per_m2_k: row.number("heat_transfer_w_m2k")?,
        bottom_w_per_m2_k: row.number("bottom_w_m2k")?,
        open_fraction: row.number("open_pct")? / 100.0,
    })
}

fn written_zone(zone: &Zone) -> Row {
    let mut row = Row::new(&ZONE);
    let mut put = |key: &str, n: f64| {
        let known = row.set(key, Value::Number(tidy(n)));
        debug_assert!(known, "{key}");
    };
    match zone.length {
        ZoneLength::Share(share) => put("share", share),
        ZoneLength::Metres(m) => put("length_m", m),
    }
    put("air_c", celsius(zone.air_k));
    if let Some(k) = zone.radiating_k {
        put("radiating_c", celsius(k));
    }
    put("band_c", celsius(zone.band_k));
    match zone.humidity {
        Humidity::KgPerKg(w) => put("humidity_kg_per_kg", w),
        Humidity::DewPoint(k) => put("dew_point_c", celsius(k)),
    }
    match zone.top {
        TopHeat::Coefficient(h) => put("heat_transfer_w_m2k", h),
        TopHeat::AirSpeed(v) => put("air_speed_m_s", v),
    }
    put("bottom_w_m2k", zone.bottom_w_per_m2_k);
    row.set("name", Value::Text(zone.name.clone()));
    row
}

/// Takes away the last digits that a change of unit leaves.
fn tidy(n: f64) -> f64 {
    (n * 1e9).round() / 1e9
}

/// An oven's table with the preset it names put under it.
pub(super) fn with_preset(row: &Row) -> Row {
    let preset = row
        .text("preset")
        .and_then(|name| PRESETS.iter().find(|o| o.name == name));
    match preset {
        None => row.clone(),
        Some(oven) => {
            let mut own = row.clone();
            own.remove("preset");
            over(&written(oven), &own)
        }
    }
}

/// Own values over those of the oven they start from; zones by their names. An oven that names its
/// preset or kind starts from nothing else.
pub(super) fn over(base: &Row, own: &Row) -> Row {
    if own.has("preset") || own.has("kind") {
        return with_preset(own);
    }
    let base = with_preset(base);
    let mut merged = super::setting::over(&base, own);
    let (below, above) = (base.rows("zone"), own.rows("zone"));
    let at = |zone: &Row| {
        below
            .iter()
            .position(|z| z.text("name").is_some() && z.text("name") == zone.text("name"))
    };
    if !above.is_empty() && above.iter().all(|z| at(z).is_some()) {
        let mut zones = below.to_vec();
        for zone in above {
            if let Some(i) = at(zone) {
                zones[i] = zone_over(&zones[i], zone);
            }
        }
        merged.set("zone", Value::Rows(zones));
    }
    // The description is the old source's no longer once a value was put in its place.
    let changed = own
        .entries
        .iter()
        .any(|e| !["time_min", "source", "grade"].contains(&e.key));
    if let Some(source) = base
        .text("source")
        .filter(|_| changed && !own.has("source"))
        && !source.starts_with(OVER)
    {
        merged.set("source", Value::Text(format!("{OVER}{source}")));
    }
    merged
}

/// Begins the source of an oven some of whose values were put in by the study.
const OVER: &str = "values of the study file over: ";

fn zone_over(base: &Row, own: &Row) -> Row {
    let mut base = base.clone();
    for [a, b] in EITHER {
        if own.has(a) || own.has(b) {
            base.remove(a);
            base.remove(b);
        }
    }
    super::setting::over(&base, own)
}

/// Tells of keys that exclude each other in the zones as written.
pub(super) fn contradictions(oven: &Row, path: &str, reader: &mut Reader<'_>) {
    if oven.has("preset") && oven.has("kind") {
        reader.tell(
            Problem::new(
                Code::Contradiction,
                oven.place("kind"),
                format!("{path}.kind"),
                "a preset has its kind",
            )
            .suggest("take preset out and write the oven in full, or take kind out"),
        );
    }
    for (i, zone) in oven.rows("zone").iter().enumerate() {
        for [a, b] in EITHER {
            if zone.has(a) && zone.has(b) {
                reader.tell(
                    Problem::new(
                        Code::Contradiction,
                        zone.place(b),
                        format!("{path}.zone[{}].{b}", i + 1),
                        format!("{a} and {b} exclude each other"),
                    )
                    .suggest("take one of them out"),
                );
            }
        }
    }
}

/// The oven of a merged table.
pub(super) fn oven(row: &Row, path: &str, reader: &mut Reader<'_>) -> Option<Oven> {
    if row.failed("preset") {
        return None;
    }
    let row = &with_preset(row);
    let kind = kind(row, path, reader);
    if row.rows("zone").is_empty() && !row.failed("zone") {
        missing(row, "zone", path, "an oven has at least one zone", reader);
        return None;
    }
    let zones: Vec<_> = row
        .rows("zone")
        .iter()
        .enumerate()
        .map(|(i, z)| zone(z, i, &format!("{path}.zone[{}]", i + 1), reader))
        .collect();
    let steps: Vec<_> = row
        .rows("step")
        .iter()
        .enumerate()
        .map(|(i, s)| step(s, i, &format!("{path}.step[{}]", i + 1), reader))
        .collect();
    if row.failed("zone") || row.failed("step") {
        return None;
    }
    let grade = row
        .text("grade")
        .and_then(|w| chosen(Grade::ALL, Grade::word, w));
    let oven = Oven {
        name: row.text("name").unwrap_or("oven of the study").to_owned(),
        kind: kind?,
        zones: zones.into_iter().collect::<Option<_>>()?,
        steps: steps.into_iter().collect::<Option<_>>()?,
        source: Source::new(
            grade.unwrap_or(Grade::Assumed),
            row.text("source").unwrap_or("given in the study file"),
        ),
    };
    if let Err(error) = oven.check() {
        reader.tell(super::from_error(
            Code::CannotApply,
            row.place.0.clone(),
            path,
            &error.to_string(),
        ));
        return None;
    }
    Some(oven)
}

fn kind(row: &Row, path: &str, reader: &mut Reader<'_>) -> Option<Kind> {
    let Some(kind) = row.text("kind") else {
        missing(
            row,
            "kind",
            path,
            "take a preset, or say what the oven is",
            reader,
        );
        return None;
    };
    let wanted: &[&str] = match kind {
        "band" => &["surface", "length_m", "width_m"],
        _ => &["trays", "tray_area_m2"],
    };
    for key in wanted.iter().filter(|k| !row.has(k)) {
        missing(row, key, path, &format!("a {kind} oven has it"), reader);
    }
    Some(if kind == "band" {
        Kind::Band {
            surface: match row.text("surface")? {
                "mesh" => Surface::Mesh {
                    open_fraction: row.number("open_pct").unwrap_or(50.0) / 100.0,
                },
                _ => Surface::Steel,
            },
            length_m: row.number("length_m")?,
            width_m: row.number("width_m")?,
            edge_clear_m: row.number("edge_clear_mm").unwrap_or(20.0) / 1000.0,
        }
    } else {
        Kind::Batch {
            trays: row.number("trays")? as u32,
            tray_area_m2: row.number("tray_area_m2")?,
            pieces_per_tray: row.number("pieces_per_tray").map(|n| n as u32),
            paper: row.flag("paper"),
            loading_s: row.number("loading_min").unwrap_or(3.0) * MINUTE_S,
        }
    })
}

fn zone(row: &Row, index: usize, path: &str, reader: &mut Reader<'_>) -> Option<Zone> {
    for key in ["air_c", "band_c", "bottom_w_m2k"] {
        if !row.has(key) {
            let why = row.table.field(key).map_or("", |f| f.doc);
            missing(row, key, path, why, reader);
        }
    }
    for [a, b] in EITHER {
        if !row.has(a) && !row.has(b) && !row.failed(b) {
            missing(row, a, path, &format!("write it, or {b}"), reader);
        }
    }
    let temperature = |key: &str| row.number(key).map(kelvin);
    Some(Zone {
        name: row
            .text("name")
            .map_or_else(|| format!("{}", index + 1), str::to_owned),
        length: match row.number("length_m") {
            Some(m) => ZoneLength::Metres(m),
            None => ZoneLength::Share(row.number("share")?),
        },
        air_k: temperature("air_c")?,
        radiating_k: temperature("radiating_c"),
        band_k: temperature("band_c")?,
        humidity: match temperature("dew_point_c") {
            Some(k) => Humidity::DewPoint(k),
            None => Humidity::KgPerKg(row.number("humidity_kg_per_kg")?),
        },
        top: match row.number("air_speed_m_s") {
            Some(speed) => TopHeat::AirSpeed(speed),
            None => TopHeat::Coefficient(row.number("heat_transfer_w_m2k")?),
        },
        bottom_w_per_m2_k: row.number("bottom_w_m2k")?,
    })
}

/// Cooling of a merged table.
pub(super) fn cooling(row: &Row) -> Option<Cooling> {
    Some(Cooling {
        room_k: kelvin(row.number("room_c")?),
        relative_humidity: row.number("relative_humidity_pct")? / 100.0,
        time: match row.number("time_min") {
            Some(min) => CoolingTime::Seconds(min * MINUTE_S),
            None => match row.number("of_bake_time") {
                Some(multiple) => CoolingTime::OfBakeTime(multiple),
                None => CoolingTime::Seconds(USUAL_S.value),
            },
        },
        top_w_per_m2_k: row.number("heat_transfer_w_m2k")?,
        bottom_w_per_m2_k: row.number("bottom_w_m2k")?,
        open_fraction: row.number("open_pct")? / 100.0,
    })
}

/// Pack of a merged table.
pub(super) fn pack(row: &Row) -> Option<Pack> {
    Some(Pack {
        store_k: kelvin(row.number("store_c")?),
        time_s: row.number("time_days")? * DAY_S,
        w_per_m2_k: row.number("heat_transfer_w_m2k")?,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn presets_come_through_the_written_form_unchanged() {
        for oven in PRESETS.iter() {
            let mut reader = Reader {
                text: "",
                problems: Vec::new(),
            };
            let again = super::oven(&written(oven), "oven", &mut reader).unwrap();
            assert_eq!(again.kind, oven.kind);
            assert_eq!(again.source, oven.source);
            for (a, b) in again.zones.iter().zip(&oven.zones) {
                assert_eq!(
                    (&a.name, a.length, a.humidity, a.top),
                    (&b.name, b.length, b.humidity, b.top)
                );
                assert!((a.air_k - b.air_k).abs() < 1e-9 && (a.band_k - b.band_k).abs() < 1e-9);
            }
        }
    }
}
