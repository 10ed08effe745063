//! Any field of a study by its path, zones by their names, materials by theirs.

use super::{EditError, Put, bad, row_mut, rows_mut, treatment};
use crate::written::field::{Field, Kind, Table, one_of};
use crate::written::tables::{EDGE_PATH, MATERIAL, OUTLINES, OVEN, ROOT, TREATMENT, ZONE, shapes};
use crate::written::{Row, StudyWritten, Value};
use measure::names::closest;

/// The field at a path of a study, or of a treatment when `own` is set.
///
/// ```
/// use study::written::field::Kind;
/// let field = study::edit::field("piece.thickness_mm", false).unwrap();
/// assert!(matches!(field.kind, Kind::Number("mm", _)));
/// ```
pub fn field(path: &str, own: bool) -> Option<&'static Field> {
    field_of(if own { &TREATMENT } else { &ROOT }, path)
}

/// The field at a path below a table.
pub fn field_of(table: &'static Table, path: &str) -> Option<&'static Field> {
    match path.split_once('.') {
        None => table.field(path),
        Some((key, rest)) => match table.field(key)?.kind {
            Kind::Table(below) | Kind::Inline(below) => field_of(below, rest),
            _ => None,
        },
    }
}

/// The value of a field, checked against what it allows.
pub(super) fn value(field: &Field, path: &str, put: &Put) -> Result<Value, EditError> {
    let wrong = |found: &dyn std::fmt::Display| Err(bad(path, found, field.kind.words()));
    match (&field.kind, put) {
        (Kind::Number(_, range), Put::Number(n)) => {
            if range.contains(*n) {
                Ok(Value::Number(*n))
            } else {
                wrong(n)
            }
        }
        (Kind::Whole(range), Put::Number(n)) => {
            if range.contains(*n) && n.fract() == 0.0 {
                Ok(Value::Number(*n))
            } else {
                wrong(n)
            }
        }
        (Kind::Flag, Put::Flag(flag)) => Ok(Value::Flag(*flag)),
        (Kind::Text(most), Put::Text(text)) => {
            let length = text.chars().count();
            if (1..=*most).contains(&length) {
                Ok(Value::Text(text.clone()))
            } else if length == 0 {
                Err(bad(path, "empty", format!("a text of 1 to {most} letters")))
            } else {
                Err(bad(
                    path,
                    format!("{length} letters long"),
                    format!("at most {most} letters"),
                ))
            }
        }
        (Kind::Choice(words), Put::Text(word)) => {
            let words = words();
            if words.contains(&word.as_str()) {
                Ok(Value::Text(word.clone()))
            } else {
                Err(bad(path, short(word), one_of(&words)))
            }
        }
        (Kind::Choices(words), Put::Words(given)) => {
            let words = words();
            match given.iter().find(|g| !words.contains(&g.as_str())) {
                None => Ok(Value::Words(given.clone())),
                Some(odd) => Err(bad(path, short(odd), one_of(&words))),
            }
        }
        (Kind::Id | Kind::Material | Kind::Treatment, Put::Text(id)) => {
            treatment::short_name("name", id)?;
            Ok(Value::Text(id.clone()))
        }
        (_, Put::Flag(v)) => wrong(v),
        (_, Put::Number(v)) => wrong(v),
        (_, Put::Text(v)) => wrong(&short(v)),
        (_, Put::Words(v)) => wrong(&short(&v.join(", "))),
    }
}

/// A text as it may be shown in a message.
fn short(text: &str) -> String {
    let cut: String = text.chars().take(40).collect();
    if cut.len() < text.len() {
        format!("‘{cut}…’")
    } else {
        format!("‘{cut}’")
    }
}

/// Sets or takes away the field at a path.
pub(super) fn set(
    w: &mut StudyWritten,
    of: Option<&str>,
    path: &str,
    put: Option<&Put>,
) -> Result<(), EditError> {
    let row = match of {
        None => &mut w.root,
        Some(id) => {
            if matches!(path, "id" | "from" | "lines" | "changes") {
                return Err(bad(
                    path,
                    "not a plain field",
                    "name, note, percent_of, water, and what the sections have",
                ));
            }
            treatment::get_mut(w, id)?
        }
    };
    // A fitted edge is that of one piece: another outline, thickness or pattern of holes has another.
    if let Some(key) = path.strip_prefix("piece.")
        && shapes(key)
        && let Some(piece) = row_mut(row, "piece")
    {
        piece.remove(EDGE_PATH);
    }
    put_at(row, path, path, put)
}

fn put_at(row: &mut Row, path: &str, whole: &str, put: Option<&Put>) -> Result<(), EditError> {
    let Some((key, rest)) = path.split_once('.') else {
        let Some(field) = row.table.field(path) else {
            return Err(no_field(row.table, path, whole));
        };
        match put {
            Some(put) => {
                let value = value(field, whole, put)?;
                row.set(path, value);
            }
            None if field.need == crate::written::field::Need::Required => {
                return Err(bad(whole, "empty", field.kind.words()));
            }
            None => row.remove(path),
        }
        leave_out_others(row, path);
        return Ok(());
    };
    let below = match row.table.field(key).map(|f| f.kind) {
        Some(Kind::Table(below) | Kind::Inline(below)) => below,
        _ => return Err(no_field(row.table, key, whole)),
    };
    if row.row(key).is_none() {
        if put.is_none() {
            return field_of(below, rest)
                .map(|_| ())
                .ok_or_else(|| no_field(below, rest, whole));
        }
        row.set(key, Value::Row(Row::new(below)));
    }
    let Some(inside) = row_mut(row, key) else {
        return Ok(());
    };
    put_at(inside, rest, whole, put)?;
    if inside.entries.is_empty() && inside.comment == Default::default() {
        row.remove(key);
    }
    Ok(())
}

fn no_field(table: &Table, key: &str, whole: &str) -> EditError {
    let near = closest(key, table.keys());
    EditError::NoField {
        path: whole.chars().take(80).collect(),
        closest: near.iter().map(|k| (*k).to_owned()).collect(),
    }
}

/// Fields that say the same in another way give way to the one that was set.
fn leave_out_others(row: &mut Row, key: &str) {
    const EITHER: [[&str; 2]; 7] = [
        ["share", "length_m"],
        ["humidity_kg_per_kg", "dew_point_c"],
        ["heat_transfer_w_m2k", "air_speed_m_s"],
        ["price_per_kg", "price_low_per_kg"],
        ["price_per_kg", "price_high_per_kg"],
        ["preset", "kind"],
        ["film", "film_g_m2_day"],
    ];
    for [a, b] in EITHER {
        if !row.has(key) {
            continue;
        }
        if key == a && row.table.field(b).is_some() {
            row.remove(b);
        } else if key == b && row.table.field(a).is_some() {
            row.remove(a);
        }
    }
    others_of_the_kind(row, key);
}

/// Another outline has other measures, and another pattern of holes other places: those of the one before are taken
/// out.
fn others_of_the_kind(row: &mut Row, key: &str) {
    let idle: Vec<&str> = match (row.table.name, key) {
        ("piece", "outline") => {
            let word = row.text("outline");
            let takes = OUTLINES.iter().find(|o| Some(o.0) == word);
            let kept = |k: &&str| takes.is_some_and(|o| o.1.contains(k) || o.2.contains(k));
            let all = OUTLINES.iter().flat_map(|o| o.1.iter().chain(o.2));
            all.copied().filter(|k| !kept(k)).collect()
        }
        ("docker", "pattern") => match row.text("pattern") {
            Some("ring") => vec!["points_mm"],
            Some("points") => vec!["ring_mm"],
            _ => vec!["points_mm", "ring_mm"],
        },
        _ => return,
    };
    for measure in idle {
        row.remove(measure);
    }
}

/// Names of the zones of an oven as written, its preset's included.
fn zone_names(oven: &Row) -> Vec<String> {
    let named = |rows: &[Row]| -> Vec<String> {
        rows.iter()
            .enumerate()
            .map(|(i, z)| {
                z.text("name")
                    .map_or_else(|| (i + 1).to_string(), str::to_owned)
            })
            .collect()
    };
    let below: Vec<String> = oven
        .text("preset")
        .and_then(|name| {
            baking::oven::presets::all()
                .into_iter()
                .find(|o| o.name == name)
        })
        .map_or_else(Vec::new, |o| o.zones.into_iter().map(|z| z.name).collect());
    let own = named(oven.rows("zone"));
    if below.is_empty() || own.iter().any(|z| !below.contains(z)) && !own.is_empty() {
        own
    } else {
        below
    }
}

/// The oven that a treatment's own values stand over: the nearest forebear's that names its preset
/// or kind, else the study's.
fn described<'a>(w: &'a StudyWritten, of: Option<&str>) -> Option<&'a Row> {
    let mut at = of.and_then(|id| treatment::get(w, id).ok());
    for _ in 0..w.root.rows("treatment").len() {
        let Some(row) = at else { break };
        if let Some(oven) = row.row("oven").filter(|o| o.has("preset") || o.has("kind")) {
            return Some(oven);
        }
        at = row
            .text("from")
            .and_then(|from| treatment::get(w, from).ok());
    }
    w.root.row("oven")
}

/// Sets a value of a zone; only what is written changes, the rest stays as in the oven below.
pub(super) fn set_zone(
    w: &mut StudyWritten,
    of: Option<&str>,
    zone: &str,
    key: &str,
    number: f64,
) -> Result<(), EditError> {
    let path = format!("oven.zone[{zone}].{key}");
    let Some(field) = ZONE.field(key) else {
        return Err(no_field(&ZONE, key, &path));
    };
    let value = value(field, &path, &Put::Number(number))?;
    let zones = described(w, of).map_or_else(Vec::new, zone_names);
    if !zones.iter().any(|z| z == zone) {
        return Err(EditError::NoZone {
            zone: zone.chars().take(80).collect(),
            zones,
        });
    }
    let row = match of {
        None => &mut w.root,
        Some(id) => treatment::get_mut(w, id)?,
    };
    if row.row("oven").is_none() {
        row.set("oven", Value::Row(Row::new(&OVEN)));
    }
    let Some(oven) = row_mut(row, "oven") else {
        return Ok(());
    };
    let rows = rows_mut(oven, "zone");
    let at = rows
        .iter()
        .enumerate()
        .position(|(i, z)| match z.text("name") {
            Some(name) => name == zone,
            None => (i + 1).to_string() == zone,
        });
    let target = match at {
        Some(i) => &mut rows[i],
        None => {
            let mut new = Row::new(&ZONE);
            new.set("name", Value::Text(zone.to_owned()));
            rows.push(new);
            let last = rows.len() - 1;
            &mut rows[last]
        }
    };
    target.set(key, value);
    leave_out_others(target, key);
    Ok(())
}

/// Puts values of one's own over a material's.
pub(super) fn override_material(
    w: &mut StudyWritten,
    material: &str,
    values: &[(String, Option<Put>)],
) -> Result<(), EditError> {
    treatment::short_name("material", material)?;
    let mut row = w
        .root
        .rows("material")
        .iter()
        .find(|m| m.text("id") == Some(material))
        .cloned()
        .unwrap_or_else(|| {
            let mut new = Row::new(&MATERIAL);
            new.set("id", Value::Text(material.to_owned()));
            new
        });
    for (key, put) in values {
        let path = format!("material[{material}].{key}");
        if key == "id" {
            return Err(bad(path, "an id", "any other field of a material"));
        }
        match field_of(&MATERIAL, key) {
            None => return Err(no_field(&MATERIAL, key, &path)),
            Some(_) => put_at(&mut row, key, &path, put.as_ref())?,
        }
    }
    let rows = rows_mut(&mut w.root, "material");
    match rows.iter_mut().find(|m| m.text("id") == Some(material)) {
        Some(there) => *there = row,
        None => rows.push(row),
    }
    Ok(())
}
