//! The zones of an oven: a value of one, one more, one fewer.

use super::field::{leave_out_others, no_field, value};
use super::{EditError, Put, bad, named};
use crate::written::problem::{Allowed, Found};
use crate::written::tables::{
    MOST_ZONES, OVEN, OvenKind, OvenRow, RootRow, TreatmentRow, ZONE, ZoneRow,
};
use crate::written::typed::{Key, Number};
use crate::written::{Row, StudyWritten, Value, oven_holding};

/// Lengths are written to a millionth, so that halves of thirds stay readable.
const DIGITS: f64 = 1e6;

/// The name of a zone: its own, else its number from 1.
fn name_of(zone: &Row, index: usize) -> String {
    zone.get(ZoneRow::name)
        .map_or_else(|| (index + 1).to_string(), str::to_owned)
}

fn names(zones: &[Row]) -> Vec<String> {
    let all = zones.iter().enumerate();
    all.map(|(i, z)| name_of(z, i)).collect()
}

/// The zones that hold for a treatment or for the study, each with its name written.
fn held(w: &StudyWritten, of: Option<&str>) -> Vec<Row> {
    let oven = oven_holding(w, of);
    let zones = oven.as_ref().map_or(&[][..], |o| o.rows(OvenRow::zone));
    let named = zones.iter().enumerate().map(|(i, zone)| {
        let mut zone = zone.clone();
        zone.put(ZoneRow::name, &name_of(&zone, i));
        zone
    });
    named.collect()
}

/// Where a zone stands among those that hold.
fn place(zones: &[Row], zone: &str) -> Result<usize, EditError> {
    let zones = names(zones);
    zones
        .iter()
        .position(|z| z == zone)
        .ok_or_else(|| EditError::NoZone {
            zone: zone.chars().take(80).collect(),
            zones,
        })
}

/// The oven's row of a treatment or of the study, made when there is none.
fn own_oven<'a>(w: &'a mut StudyWritten, of: Option<&str>) -> Result<&'a mut Row, EditError> {
    let row = match of {
        None => &mut w.root,
        Some(id) => named::get_mut(w, id)?,
    };
    let section = TreatmentRow::oven.name;
    if row.below(section).is_none() {
        row.set(section, Value::Row(Row::new(&OVEN)));
    }
    row.below_mut(section)
        .ok_or_else(|| bad(section, Found::Empty, Allowed::Words("an oven")))
}

/// Sets a value of a zone; only what is written changes, the rest stays as in the oven below.
pub(super) fn set(
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
    place(&held(w, of), zone)?;
    let rows = own_oven(w, of)?.rows_mut(OvenRow::zone);
    let at = names(rows).iter().position(|z| z == zone);
    let target = match at {
        Some(i) => &mut rows[i],
        None => {
            most(rows.len())?;
            let mut new = Row::new(&ZONE);
            new.put(ZoneRow::name, zone);
            rows.push(new);
            let last = rows.len() - 1;
            &mut rows[last]
        }
    };
    target.set(key, value);
    leave_out_others(target, key);
    Ok(())
}

/// Whether one more can stand beside so many.
fn most(count: usize) -> Result<(), EditError> {
    if count < MOST_ZONES {
        return Ok(());
    }
    let found = Found::Count(MOST_ZONES + 1);
    Err(bad("oven.zone", found, Allowed::AtMost(MOST_ZONES)))
}

/// How a zone's length is told, and how much it is.
fn length(zone: &Row) -> (Key<Number>, f64) {
    match zone.get(ZoneRow::length_m) {
        Some(m) => (ZoneRow::length_m, m),
        None => (ZoneRow::share, zone.get(ZoneRow::share).unwrap_or(1.0)),
    }
}

fn put_length(zone: &mut Row, of: f64) -> Result<(), EditError> {
    let (key, _) = length(zone);
    let of = (of * DIGITS).round() / DIGITS;
    if let Some(field) = ZONE.field(key.name) {
        value(field, &format!("oven.zone.{}", key.name), &Put::Number(of))?;
    }
    zone.put(key, of);
    Ok(())
}

/// A name that none of these has: the stem with the next free number.
fn free(stem: &str, taken: &[String]) -> String {
    let stem: String = stem.chars().take(150).collect();
    let mut name = format!("{stem} 2");
    let mut n = 3;
    while taken.contains(&name) {
        name = format!("{stem} {n}");
        n += 1;
    }
    name
}

/// Makes two zones of one, each set as it was; `share` of its length stays with the first.
pub(super) fn split(
    w: &mut StudyWritten,
    of: Option<&str>,
    zone: &str,
    share: f64,
) -> Result<(), EditError> {
    let mut zones = held(w, of);
    let at = place(&zones, zone)?;
    let oven = oven_holding(w, of);
    if oven.and_then(|o| o.get(OvenRow::kind)) == Some(OvenKind::Batch) {
        let one = "one zone in a batch oven; what follows the bake is a step";
        return Err(bad("oven.zone", Found::Count(2), Allowed::Words(one)));
    }
    most(zones.len())?;
    if !(share > 0.0 && share < 1.0) {
        let found = Found::Number {
            value: share,
            unit: "",
        };
        let allowed = Allowed::Words("a share between 0 and 1 of the zone’s length");
        return Err(bad("share", found, allowed));
    }
    let new = free(zone, &names(&zones));
    let parts = |row: &Row| -> Result<[Row; 2], EditError> {
        let (mut first, mut second) = (row.clone(), row.clone());
        second.put(ZoneRow::name, &new);
        if row.has(ZoneRow::share.name) || row.has(ZoneRow::length_m.name) {
            let (_, whole) = length(row);
            put_length(&mut first, share * whole)?;
            put_length(&mut second, (1.0 - share) * whole)?;
        }
        Ok([first, second])
    };
    let halves = parts(&zones[at])?;
    zones.splice(at..=at, halves);
    follow(w, of, |_, zone_row, name| {
        if name == zone {
            return parts(zone_row).map(Vec::from);
        }
        Ok(vec![zone_row.clone()])
    })?;
    *own_oven(w, of)?.rows_mut(OvenRow::zone) = zones;
    Ok(())
}

/// Takes a zone away; the one before it, or the one after the first, takes its length.
pub(super) fn remove(w: &mut StudyWritten, of: Option<&str>, zone: &str) -> Result<(), EditError> {
    let mut zones = held(w, of);
    let gone = place(&zones, zone)?;
    if zones.len() == 1 {
        let allowed = Allowed::Words("at least one zone");
        return Err(bad("oven.zone", Found::Count(0), allowed));
    }
    let stays = if gone == 0 { 1 } else { gone - 1 };
    let both = |zones: &[Row]| length(&zones[gone]).1 + length(&zones[stays]).1;
    let kept = name_of(&zones[stays], stays);
    let all = both(&zones);
    put_length(&mut zones[stays], all)?;
    zones.remove(gone);
    let stays_now = stays.min(gone);
    // A list all of whose names stand below would stand over that list, and what was taken away would come back.
    let under = below(w, of);
    let now = names(&zones);
    let new = if now.len() < under.len() && now.iter().all(|n| under.contains(n)) {
        let (first, second) = if gone < stays {
            (zone, kept.as_str())
        } else {
            (kept.as_str(), zone)
        };
        let joined = format!("{first} and {second}");
        if joined.chars().count() <= 150 && !now.contains(&joined) && !under.contains(&joined) {
            joined
        } else {
            free(&kept, &[now, under].concat())
        }
    } else {
        kept.clone()
    };
    zones[stays_now].put(ZoneRow::name, &new);
    follow(w, of, |before, row, name| {
        if name == zone {
            return Ok(Vec::new());
        }
        let mut row = row.clone();
        if name == kept {
            row.put(ZoneRow::name, &new);
        }
        let has_length = row.has(ZoneRow::share.name) || row.has(ZoneRow::length_m.name);
        if name == kept && has_length {
            put_length(&mut row, both(before))?;
        }
        Ok(vec![row])
    })?;
    *own_oven(w, of)?.rows_mut(OvenRow::zone) = zones;
    Ok(())
}

/// Names of the zones that an oven's own list stands over.
fn below(w: &StudyWritten, of: Option<&str>) -> Vec<String> {
    let own = match of {
        None => w.root.row(RootRow::oven),
        Some(id) => w.treatment(id).and_then(|t| t.row(TreatmentRow::oven)),
    };
    if let Some(preset) = own.and_then(|o| o.get(OvenRow::preset)) {
        return names(preset.row.rows(OvenRow::zone));
    }
    if own.is_some_and(|o| o.has(OvenRow::kind.name)) {
        return Vec::new();
    }
    let from = of.map(|id| w.treatment(id).and_then(|t| t.get(TreatmentRow::from)));
    from.map_or_else(Vec::new, |from| names(&held(w, from)))
}

/// Carries a change of the zones over to the treatments that have values of their own over them: `change` is told the
/// zones that held there, a row of its own and its name.
fn follow(
    w: &mut StudyWritten,
    of: Option<&str>,
    change: impl Fn(&[Row], &Row, &str) -> Result<Vec<Row>, EditError>,
) -> Result<(), EditError> {
    let ids: Vec<String> = w
        .treatments()
        .iter()
        .filter_map(|t| t.get(TreatmentRow::id))
        .filter(|id| Some(*id) != of && stands_over(w, id, of))
        .map(str::to_owned)
        .collect();
    let names_before = names(&held(w, of));
    let mut changed: Vec<(String, Vec<Row>)> = Vec::new();
    for id in ids {
        let own = w.treatment(&id).and_then(|t| t.row(TreatmentRow::oven));
        let own = own.map_or(&[][..], |o| o.rows(OvenRow::zone));
        let own_names = names(own);
        if own.is_empty() || own_names.iter().any(|n| !names_before.contains(n)) {
            continue;
        }
        let before = held(w, Some(&id));
        let mut rows = Vec::new();
        for (row, name) in own.iter().zip(&own_names) {
            rows.extend(change(&before, row, name)?);
        }
        changed.push((id, rows));
    }
    for (id, rows) in changed {
        let oven = own_oven(w, Some(&id))?;
        if rows.is_empty() {
            oven.take(OvenRow::zone);
        } else {
            *oven.rows_mut(OvenRow::zone) = rows;
        }
        if oven.entries.is_empty() {
            named::get_mut(w, &id)?.take(TreatmentRow::oven);
        }
    }
    Ok(())
}

/// Whether what a treatment says of its oven stands over that of another, or of the study.
fn stands_over(w: &StudyWritten, id: &str, of: Option<&str>) -> bool {
    let mut at = w.treatment(id);
    for _ in 0..w.treatments().len() {
        let Some(row) = at else { break };
        let whole = |o: &Row| o.has(OvenRow::preset.name) || o.has(OvenRow::kind.name);
        if row.row(TreatmentRow::oven).is_some_and(whole) {
            return false;
        }
        let from = row.get(TreatmentRow::from);
        if from.is_some() && from == of {
            return true;
        }
        at = from.and_then(|from| w.treatment(from));
    }
    of.is_none()
}
