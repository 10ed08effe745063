//! How the reader words what it found.

use super::field::{Field, Kind, Table, in_unit, one_of};
use super::problem::{Code, Problem, did_you_mean};
use super::reader::Reader;
use super::unit;
use measure::names::closest;
use std::ops::Range;
use toml_edit::Item;

impl Reader<'_> {
    pub(super) fn number_in_quotes(
        &mut self,
        text: &str,
        field: &'static Field,
        unit: &str,
        path: &str,
        place: Range<usize>,
    ) {
        let problem = match unit::from_text(text, field.key) {
            Some((Some(value), written))
                if written.is_empty() || unit::shown(field.key).is_some() =>
            {
                Problem::new(
                    Code::WrongUnit,
                    place,
                    path,
                    format!(
                        "{} is a text, and a number{} belongs here",
                        quote(text),
                        in_unit(unit)
                    ),
                )
                .suggest(format!("write {} = {value}", field.key))
            }
            Some((_, written)) if !written.is_empty() => Problem::new(
                Code::WrongUnit,
                place,
                path,
                format!(
                    "{} can't be turned into a number{}",
                    quote(text),
                    in_unit(unit)
                ),
            )
            .suggest(format!("write the number{} without quotes", in_unit(unit))),
            _ => Problem::new(
                Code::WrongType,
                place,
                path,
                format!(
                    "{} is a text, and a number{} belongs here",
                    quote(text),
                    in_unit(unit)
                ),
            ),
        };
        self.tell(problem.allowed(field.kind.words()));
    }

    /// Tells of a key that the table doesn't have; gives the key that was probably meant.
    pub(super) fn unknown_key(
        &mut self,
        table: &'static Table,
        key: &str,
        item: &Item,
        path: &str,
        place: Range<usize>,
    ) -> Option<&'static str> {
        let value = item
            .as_float()
            .or_else(|| item.as_integer().map(|n| n as f64))
            .or_else(|| item.as_str().and_then(|t| t.trim().parse().ok()));
        if let Some(meant) = unit::meant(table, key, value) {
            let wanted = meant.field.key;
            let unit = unit::shown(wanted).unwrap_or_default();
            let found = meant.found.map_or_else(
                || format!("`{key}` doesn't say its unit"),
                |found| format!("`{key}` is in {found}, and this table wants {unit}"),
            );
            let suggestion = match meant.converted {
                Some(v) => format!("write {wanted} = {v}"),
                None => format!("write {wanted} = … in {unit}"),
            };
            self.tell(
                Problem::new(Code::WrongUnit, place, path, found)
                    .allowed(format!("`{wanted}`, {}", meant.field.kind.words()))
                    .suggest(suggestion),
            );
            return Some(wanted);
        }
        let near = closest(key, table.keys());
        let under: Vec<String> = table
            .fields
            .iter()
            .filter(|f| matches!(f.kind, Kind::Table(t) if t.field(key).is_some()))
            .map(|f| format!("[{}]", f.key))
            .collect();
        self.tell(
            Problem::new(
                Code::UnknownKey,
                place,
                path,
                format!("{} has no key {}", table.name, code_quote(key)),
            )
            .allowed(table.keys().collect::<Vec<_>>().join(", "))
            .suggest(if under.is_empty() {
                did_you_mean(&near)
            } else {
                format!("write it under {}", under.join(" or "))
            }),
        );
        let best = table.field(near.first()?)?;
        Some(best.key)
    }

    pub(super) fn unknown_choice(
        &mut self,
        word: &str,
        words: &[&str],
        path: &str,
        place: Range<usize>,
    ) {
        let near = closest(word, words.iter().copied());
        self.tell(
            Problem::new(
                Code::UnknownChoice,
                place,
                path,
                format!("{} isn't one of the choices", quote(word)),
            )
            .allowed(one_of(words))
            .suggest(did_you_mean(&near)),
        );
    }

    pub(super) fn wrong_type(
        &mut self,
        field: &'static Field,
        found: &str,
        path: &str,
        place: Range<usize>,
    ) {
        self.tell(
            Problem::new(
                Code::WrongType,
                place,
                path,
                format!(
                    "found {}, and {} belongs here",
                    a_type(found),
                    short_kind(&field.kind)
                ),
            )
            .allowed(field.kind.words())
            .suggest(example(field)),
        );
    }
}

/// A word as found, in quotes, cut where it is long.
pub(super) fn quote(text: &str) -> String {
    let mut cut: String = text.chars().take(40).flat_map(shown).collect();
    if text.chars().count() > 40 {
        cut.push('…');
    }
    format!("\"{cut}\"")
}

/// Control characters as escapes, so that a word is shown as it was typed.
fn shown(c: char) -> Vec<char> {
    if c.is_control() {
        c.escape_default().collect()
    } else {
        vec![c]
    }
}

fn code_quote(text: &str) -> String {
    quote(text).replace('"', "`")
}

pub(super) fn a_type(name: &str) -> String {
    match name {
        "string" => "a text".into(),
        "integer" | "float" => "a number".into(),
        "boolean" => "true or false".into(),
        "datetime" => "a date".into(),
        "array" => "an array".into(),
        "array of tables" => "several tables".into(),
        _ => "a table".into(),
    }
}

fn short_kind(kind: &Kind) -> &'static str {
    match kind {
        Kind::Text(_) | Kind::Choice(_) => "a text",
        Kind::Id | Kind::Material | Kind::Treatment => "a short name in quotes",
        Kind::Number(..) => "a number",
        Kind::Whole(_) => "a whole number",
        Kind::Flag => "true or false",
        Kind::Choices(_) => "an array of words",
        Kind::Table(_) | Kind::Inline(_) => "a table",
        Kind::Tables(..) => "[[…]] tables",
        Kind::Lines(..) | Kind::Forms(..) => "an array of { … }",
    }
}

pub(super) fn with_unit(n: f64, unit: &str) -> String {
    if unit.is_empty() {
        format!("{n}")
    } else {
        format!("{n} {unit}")
    }
}

pub(super) fn with_range_unit(range: measure::Range, unit: &str) -> String {
    if unit.is_empty() {
        range.to_string()
    } else {
        format!("{range} {unit}")
    }
}

/// How a field is written, for a person who has left it out or has mistaken its type.
pub(super) fn example(field: &Field) -> String {
    match field.kind {
        Kind::Text(_) => format!("write {} = \"…\"", field.key),
        Kind::Id | Kind::Material | Kind::Treatment => {
            format!("write {} = \"some_name\"", field.key)
        }
        Kind::Number("", _) | Kind::Whole(_) => format!("write {} = a number", field.key),
        Kind::Number(unit, _) => format!("write {} = a number{}", field.key, in_unit(unit)),
        Kind::Flag => format!("write {} = true", field.key),
        Kind::Choice(words) => match words().first() {
            Some(word) => format!("write {} = \"{word}\"", field.key),
            None => String::new(),
        },
        Kind::Choices(words) => match words().first() {
            Some(word) => format!("write {} = [\"{word}\"]", field.key),
            None => String::new(),
        },
        Kind::Table(_) => format!("add a section [{}]", field.key),
        Kind::Inline(_) => format!("write {} = {{ … }}", field.key),
        Kind::Tables(..) => format!("add a section [[{}]]", field.key),
        Kind::Lines(..) | Kind::Forms(..) => format!("write {} = [ {{ … }}, … ]", field.key),
    }
}
