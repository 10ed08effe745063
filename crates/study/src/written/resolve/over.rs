//! Own values over those they start from, table by table.

use std::borrow::Cow;

use super::super::row::{Row, Value};
use super::super::tables::{
    DOCKER, DockerRow, FORMER, FormerRow, OVEN, OvenRow, PIECE, PieceRow, ZoneRow, either, shapes,
};

/// `own` over `base`, key by key; tables in tables alike, arrays as a whole.
pub(super) fn over(base: &Row, own: &Row) -> Row {
    let mut merged = base.clone();
    merged.place = own.place.clone();
    merged.failed.extend(&own.failed);
    // A fitted edge is that of one piece.
    if std::ptr::eq(own.table, &PIECE) && own.entries.iter().any(|e| shapes(e.key)) {
        merged.take(PieceRow::edge_path_share);
    }
    // One of two ways of telling the film gives way to the other.
    for [film, other] in either::PACK {
        for (key, gone) in [(film, other), (other, film)] {
            if own.has(key) {
                merged.remove(gone);
            }
        }
    }
    for entry in &own.entries {
        let Some(there) = merged.entries.iter_mut().find(|e| e.key == entry.key) else {
            merged.push(entry.clone());
            continue;
        };
        there.place = entry.place.clone();
        there.value = match (&there.value, &entry.value) {
            (Value::Row(below), Value::Row(own)) => Value::Row(table_over(below, own)),
            (_, value) => value.clone(),
        };
    }
    merged
}

/// A table over the one of its kind that it starts from.
pub(super) fn table_over(below: &Row, own: &Row) -> Row {
    let table = own.table;
    if std::ptr::eq(table, &OVEN) {
        return oven_over(below, own);
    }
    if std::ptr::eq(table, &FORMER) {
        // Another kind of former has other measures.
        let kind = own.get(FormerRow::kind);
        if kind.is_some() && kind != below.get(FormerRow::kind) {
            return own.clone();
        }
    }
    if std::ptr::eq(table, &DOCKER) {
        // Another pattern has other places.
        let pattern = own.get(DockerRow::pattern);
        if pattern.is_some() && pattern != below.get(DockerRow::pattern) {
            let mut rest = below.clone();
            rest.take(DockerRow::ring_mm);
            rest.take(DockerRow::points_mm);
            return over(&rest, own);
        }
    }
    over(below, own)
}

/// An oven's row with the preset it names put under it.
pub(super) fn with_preset(row: &Row) -> Cow<'_, Row> {
    match row.get(OvenRow::preset) {
        None => Cow::Borrowed(row),
        Some(preset) => {
            let mut own = row.clone();
            own.take(OvenRow::preset);
            Cow::Owned(oven_over(preset.row, &own))
        }
    }
}

/// Own values over those of the oven they start from; zones by their names. An oven that names its
/// preset or kind starts from nothing else.
fn oven_over(base: &Row, own: &Row) -> Row {
    if own.has(OvenRow::preset.name) || own.has(OvenRow::kind.name) {
        return with_preset(own).into_owned();
    }
    let base = with_preset(base);
    let mut merged = over(&base, own);
    let (below, above) = (base.rows(OvenRow::zone), own.rows(OvenRow::zone));
    let at = |zone: &Row| {
        let name = zone.get(ZoneRow::name)?;
        below
            .iter()
            .position(|z| z.get(ZoneRow::name) == Some(name))
    };
    if !above.is_empty() && above.iter().all(|z| at(z).is_some()) {
        let mut zones = below.to_vec();
        for zone in above {
            if let Some(i) = at(zone) {
                zones[i] = zone_over(&zones[i], zone);
            }
        }
        merged.set(OvenRow::zone.name, Value::Rows(zones));
    }
    // The description is the old source's no longer once a value was put in its place.
    let kept = [
        OvenRow::time_min.name,
        OvenRow::source.name,
        OvenRow::grade.name,
    ];
    let changed = own.entries.iter().any(|e| !kept.contains(&e.key));
    if let Some(source) = base
        .get(OvenRow::source)
        .filter(|_| changed && !own.has(OvenRow::source.name))
        && !source.starts_with(OVER)
    {
        merged.put(OvenRow::source, format!("{OVER}{source}").as_str());
    }
    merged
}

/// Begins the source of an oven some of whose values were put in by the study.
const OVER: &str = "values of the study file over: ";

fn zone_over(base: &Row, own: &Row) -> Row {
    let mut base = base.clone();
    for [a, b] in either::ZONE {
        if own.has(a) || own.has(b) {
            base.remove(a);
            base.remove(b);
        }
    }
    over(&base, own)
}
