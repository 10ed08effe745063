//! Any field of a study by its path, materials by their names.

use super::{EditError, Put, bad, named};
use crate::written::field::{Field, Kind, Need, Table};
use crate::written::problem::{Allowed, Found, What};
use crate::written::reader::wrong_text;
use crate::written::tables::{
    DOCKER, DockerRow, MATERIAL, MOST_MATERIALS, MaterialRow, PIECE, PatternWord, PieceRow, ROOT,
    RootRow, TREATMENT, TreatmentRow, either, shapes,
};
use crate::written::typed::{Key, Text};
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

/// The value of a field, checked against what it allows: what is put can be read back.
pub(super) fn value(field: &'static Field, path: &str, put: &Put) -> Result<Value, EditError> {
    let wrong = |found| Err(bad(path, found, Allowed::Field(field)));
    let one_of = |word: &str, words| {
        let found = Found::Text(word.to_owned());
        Err(bad(path, found, Allowed::OneOf(words)))
    };
    let number = |value: f64| Found::Number {
        value,
        unit: field.kind.unit(),
    };
    match (&field.kind, put) {
        // −0 would be written as "-0".
        (Kind::Number(_, range), Put::Number(n)) if range.contains(*n) => {
            Ok(Value::Number(n + 0.0))
        }
        (Kind::Whole(range), Put::Number(n)) if range.contains(*n) && n.fract() == 0.0 => {
            Ok(Value::Number(n + 0.0))
        }
        (Kind::Flag, Put::Flag(flag)) => Ok(Value::Flag(*flag)),
        (Kind::Text(most), Put::Text(text)) => {
            // Line ends of other systems are line ends, as in a file.
            let text = text.replace("\r\n", "\n");
            let (found, allowed) = match wrong_text(&text, *most) {
                None if !text.is_empty() => return Ok(Value::Text(text)),
                Some(What::TooLong { length, most }) => {
                    (Found::Letters(length), Allowed::Letters { least: 0, most })
                }
                Some(What::ControlCharacter(c)) => (
                    Found::Control(c),
                    Allowed::Words("printable characters, tabs and line ends"),
                ),
                _ => {
                    let most = *most;
                    (Found::Empty, Allowed::Letters { least: 1, most })
                }
            };
            Err(bad(path, found, allowed))
        }
        (Kind::Choice(words), Put::Text(word)) => {
            let words = words();
            if words.contains(&word.as_str()) {
                return Ok(Value::Text(word.clone()));
            }
            one_of(word, words)
        }
        (Kind::Choices(words), Put::Words(given)) => {
            let words = words();
            match given.iter().find(|g| !words.contains(&g.as_str())) {
                None => Ok(Value::Words(given.clone())),
                Some(odd) => one_of(odd, words),
            }
        }
        (Kind::Id | Kind::Material | Kind::Treatment, Put::Text(id)) => {
            named::short_name("name", id)?;
            Ok(Value::Text(id.clone()))
        }
        (_, Put::Flag(v)) => wrong(Found::Flag(*v)),
        (_, Put::Number(v)) => wrong(number(*v)),
        (_, Put::Text(v)) => wrong(Found::Text(v.clone())),
        (_, Put::Words(v)) => wrong(Found::Text(v.join(", "))),
    }
}

/// A text as a treatment's field takes it.
pub(super) fn text(key: Key<Text>, text: &str) -> Result<String, EditError> {
    let field = TREATMENT.field(key.name);
    let field = field.ok_or_else(|| no_field(&TREATMENT, key.name, key.name))?;
    match value(field, key.name, &Put::Text(text.to_owned()))? {
        Value::Text(text) => Ok(text),
        _ => Err(no_field(&TREATMENT, key.name, key.name)),
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
            let whole = [
                TreatmentRow::id.name,
                TreatmentRow::from.name,
                TreatmentRow::lines.name,
                TreatmentRow::changes.name,
            ];
            if whole.contains(&path) {
                return Err(bad(
                    path,
                    Found::Other("not a plain field"),
                    Allowed::Words("name, note, percent_of, water, and what the sections have"),
                ));
            }
            named::get_mut(w, id)?
        }
    };
    // A fitted edge is that of one piece: another outline, thickness or pattern of holes has another.
    if let Some((section, key)) = path.split_once('.')
        && section == RootRow::piece.name
        && shapes(key)
        && let Some(piece) = row.below_mut(section)
    {
        piece.take(PieceRow::edge_path_share);
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
            None if field.need == Need::Required => {
                return Err(bad(whole, Found::Empty, Allowed::Field(field)));
            }
            None => row.remove(path),
        }
        leave_out_others(row, path);
        return Ok(());
    };
    let (need, below) = match row.table.field(key).map(|f| (f.need, f.kind)) {
        Some((need, Kind::Table(below) | Kind::Inline(below))) => (need, below),
        _ => return Err(no_field(row.table, key, whole)),
    };
    if row.below(key).is_none() {
        if put.is_none() {
            return field_of(below, rest)
                .map(|_| ())
                .ok_or_else(|| no_field(below, rest, whole));
        }
        row.set(key, Value::Row(Row::new(below)));
    }
    let Some(inside) = row.below_mut(key) else {
        return Ok(());
    };
    put_at(inside, rest, whole, put)?;
    if inside.entries.is_empty() && inside.comment == Default::default() && need != Need::Required {
        row.remove(key);
        return Ok(());
    }
    // A table without what it has to have couldn't be read again.
    let wants = |f: &&Field| f.need == Need::Required && !inside.has(f.key);
    if let Some(field) = below.fields.iter().find(wants) {
        let table = whole.strip_suffix(rest).unwrap_or(whole);
        let path = format!("{table}{}", field.key);
        return Err(bad(path, Found::Empty, Allowed::Field(field)));
    }
    Ok(())
}

pub(super) fn no_field(table: &Table, key: &str, whole: &str) -> EditError {
    let near = closest(key, table.keys());
    EditError::NoField {
        path: whole.chars().take(80).collect(),
        closest: near.iter().map(|k| (*k).to_owned()).collect(),
    }
}

/// Fields that say the same in another way give way to the one that was set.
pub(super) fn leave_out_others(row: &mut Row, key: &str) {
    if !row.has(key) {
        return;
    }
    for [a, b] in either::of(row.table) {
        if key == *a {
            row.remove(b);
        } else if key == *b {
            row.remove(a);
        }
    }
    others_of_the_kind(row, key);
}

/// Another outline has other measures, and another pattern of holes other places: those of the one before are taken
/// out.
fn others_of_the_kind(row: &mut Row, key: &str) {
    if std::ptr::eq(row.table, &PIECE)
        && key == PieceRow::outline.name
        && let Some(outline) = row.get(PieceRow::outline)
    {
        row.entries.retain(|e| !outline.idle(e.key));
    }
    if std::ptr::eq(row.table, &DOCKER) && key == DockerRow::pattern.name {
        let pattern = row.get(DockerRow::pattern);
        if pattern != Some(PatternWord::Ring) {
            row.take(DockerRow::ring_mm);
        }
        if pattern != Some(PatternWord::Points) {
            row.take(DockerRow::points_mm);
        }
    }
}

/// Puts values of one's own over a material's.
pub(super) fn override_material(
    w: &mut StudyWritten,
    material: &str,
    values: &[(String, Option<Put>)],
) -> Result<(), EditError> {
    named::short_name("material", material)?;
    let named = |m: &&Row| m.get(MaterialRow::id) == Some(material);
    let mut row = w
        .root
        .rows(RootRow::material)
        .iter()
        .find(named)
        .cloned()
        .unwrap_or_else(|| {
            let mut new = Row::new(&MATERIAL);
            new.put(MaterialRow::id, material);
            new
        });
    for (key, put) in values {
        let path = format!("material[{material}].{key}");
        if key == MaterialRow::id.name {
            let allowed = Allowed::Words("any other field of a material");
            return Err(bad(path, Found::Other("an id"), allowed));
        }
        if field_of(&MATERIAL, key).is_none() {
            return Err(no_field(&MATERIAL, key, &path));
        }
        put_at(&mut row, key, &path, put.as_ref())?;
    }
    let rows = w.root.rows_mut(RootRow::material);
    match rows.iter().position(|m| named(&m)) {
        Some(at) => rows[at] = row,
        None if rows.len() >= MOST_MATERIALS => {
            let found = Found::Count(MOST_MATERIALS + 1);
            return Err(bad("materials", found, Allowed::AtMost(MOST_MATERIALS)));
        }
        None => rows.push(row),
    }
    Ok(())
}
