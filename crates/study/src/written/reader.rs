//! From text to tables as written: every problem found is told, reading goes on past it.

use super::field::{Field, Kind, Need, Table};
use super::path::At;
use super::problem::{self, Problems, What};
use super::row::{Comment, Entry, Place, Row, Value};
use super::unit;
use measure::names::closest;
use std::ops::Range;
use toml_edit::{Array, Item, TableLike, Value as Toml};

/// What reads a document: the text, for places and comments, and the problems so far.
pub(super) struct Reader<'a> {
    pub text: &'a str,
    pub problems: Problems,
}

impl<'a> Reader<'a> {
    /// For a text.
    pub fn of(text: &'a str) -> Self {
        Self {
            text,
            problems: Problems::default(),
        }
    }
}

impl Reader<'_> {
    /// Keeps a problem, with its place moved onto character borders inside the text.
    pub fn tell(&mut self, at: &At<'_>, place: Range<usize>, what: What) {
        let end = self
            .text
            .floor_char_boundary(place.end.min(self.text.len()));
        let start = self.text.floor_char_boundary(place.start.min(end));
        self.problems.tell(at, &Place::from(start..end), what);
    }

    /// Reads a table against its field list.
    pub fn table(
        &mut self,
        toml: &dyn TableLike,
        table: &'static Table,
        at: &At<'_>,
        place: Range<usize>,
    ) -> Row {
        let mut row = Row::new(table);
        row.place = Place::from(place.clone());
        for (key, item) in toml.iter() {
            let written = toml.key(key);
            let key_place = written
                .and_then(|k| k.span())
                .or_else(|| item.span())
                .unwrap_or_else(|| place.clone());
            let at = at.key(key);
            let Some(field) = table.field(key) else {
                // The key that was meant isn't told to be missing as well.
                row.failed
                    .extend(self.unknown_key(table, key, item, &at, key_place));
                continue;
            };
            let place = item.span().unwrap_or(key_place);
            let before = self.problems.0.len();
            let value = self.item(item, field, &at, place.clone());
            let rows_lost = matches!(
                field.kind,
                Kind::Lines(..) | Kind::Tables(..) | Kind::Forms(..) | Kind::Choices(_)
            );
            if value.is_none() || rows_lost && self.problems.0.len() > before {
                row.failed.push(field.key);
            }
            if let Some(value) = value {
                let comment = match item {
                    Item::Value(value) => Comment {
                        above: written
                            .and_then(|k| k.leaf_decor().prefix())
                            .map_or_else(Vec::new, |raw| self.comment_lines(raw)),
                        beside: value
                            .decor()
                            .suffix()
                            .and_then(|raw| self.comment_beside(raw)),
                    },
                    _ => Comment::default(),
                };
                row.push(Entry {
                    key: field.key,
                    value,
                    comment,
                    place: Place::from(place),
                });
            }
        }
        for field in table.fields {
            if field.need == Need::Required
                && toml.get(field.key).is_none()
                && !row.failed(field.key)
            {
                self.tell(&at.key(field.key), place.clone(), What::Missing(field));
            }
        }
        row
    }

    fn item(
        &mut self,
        item: &Item,
        field: &'static Field,
        at: &At<'_>,
        place: Range<usize>,
    ) -> Option<Value> {
        match (field.kind, item) {
            (Kind::Table(t) | Kind::Inline(t), item) if item.is_table_like() => {
                let like = item.as_table_like()?;
                let mut row = self.table(like, t, at, place);
                row.comment = self.table_comment(item);
                Some(Value::Row(row))
            }
            (Kind::Tables(t, most) | Kind::Lines(t, most), Item::ArrayOfTables(tables)) => {
                self.not_more_than(tables.len(), most, at, &place)?;
                let mut rows = Vec::with_capacity(tables.len());
                for (i, table) in tables.iter().enumerate() {
                    let place = table.span().unwrap_or_else(|| place.clone());
                    let mut row = self.table(table, t, &element(at, i, table), place);
                    row.comment = Comment {
                        above: table
                            .decor()
                            .prefix()
                            .map_or_else(Vec::new, |r| self.comment_lines(r)),
                        beside: table.decor().suffix().and_then(|r| self.comment_beside(r)),
                    };
                    rows.push(row);
                }
                Some(Value::Rows(rows))
            }
            (Kind::Tables(t, most) | Kind::Lines(t, most), Item::Value(Toml::Array(array))) => {
                self.rows(array, most, at, &place, |_, _| Some(t))
            }
            (Kind::Forms(forms, most), Item::Value(Toml::Array(array))) => {
                self.rows(array, most, at, &place, |reader, form| {
                    reader.form(forms, form)
                })
            }
            (Kind::Forms(forms, most), Item::ArrayOfTables(tables)) => {
                let array = tables.clone().into_array();
                self.rows(&array, most, at, &place, |reader, form| {
                    reader.form(forms, form)
                })
            }
            (Kind::Choices(words), Item::Value(Toml::Array(array))) => {
                let words = words();
                let mut found = Vec::new();
                for value in array {
                    let place = value.span().unwrap_or_else(|| place.clone());
                    match value.as_str() {
                        Some(word) if words.contains(&word) => found.push(word.to_owned()),
                        Some(word) => {
                            let (word, words) = (word.to_owned(), words.clone());
                            self.tell(at, place, What::UnknownChoice { word, words });
                        }
                        None => self.wrong_type(field, value.type_name(), at, place),
                    }
                }
                Some(Value::Words(found))
            }
            (_, Item::Value(value)) => self.value(value, field, at, place),
            (_, other) => {
                self.wrong_type(field, other.type_name(), at, place);
                None
            }
        }
    }

    fn value(
        &mut self,
        value: &Toml,
        field: &'static Field,
        at: &At<'_>,
        place: Range<usize>,
    ) -> Option<Value> {
        let number = match value {
            Toml::Integer(n) => Some(*n.value() as f64),
            Toml::Float(n) => Some(*n.value()),
            _ => None,
        };
        match (field.kind, value) {
            (Kind::Flag, Toml::Boolean(flag)) => Some(Value::Flag(*flag.value())),
            (Kind::Text(longest), Toml::String(text)) => {
                // Line ends of other systems are line ends.
                let text = text.value().replace("\r\n", "\n");
                if let Some(what) = wrong_text(&text, longest) {
                    self.tell(at, place, what);
                    return None;
                }
                Some(Value::Text(text))
            }
            (Kind::Id | Kind::Material | Kind::Treatment, Toml::String(text)) => {
                let text = text.value().clone();
                if is_id(&text) {
                    return Some(Value::Text(text));
                }
                self.tell(at, place, What::NotAName { text });
                None
            }
            (Kind::Choice(words), Toml::String(text)) => {
                let (word, words) = (text.value().clone(), words());
                if words.contains(&word.as_str()) {
                    return Some(Value::Text(word));
                }
                self.tell(at, place, What::UnknownChoice { word, words });
                None
            }
            (Kind::Number(_, range) | Kind::Whole(range), Toml::Integer(_) | Toml::Float(_)) => {
                self.number(number?, field, range, at, place)
            }
            (Kind::Number(..), Toml::String(text)) => {
                self.number_in_quotes(text.value(), field, at, place);
                None
            }
            (
                Kind::Text(_) | Kind::Id | Kind::Material | Kind::Treatment | Kind::Choice(_),
                other,
            ) => {
                let shown = other.to_string();
                let short = shown.len() < 60 && !other.is_array() && !other.is_inline_table();
                let what = What::NotText {
                    found: problem::Kind::of(other.type_name()),
                    field,
                    shown: short.then(|| shown.trim().to_owned()),
                };
                self.tell(at, place, what);
                None
            }
            (_, other) => {
                self.wrong_type(field, other.type_name(), at, place);
                None
            }
        }
    }

    fn number(
        &mut self,
        n: f64,
        field: &'static Field,
        range: measure::Range,
        at: &At<'_>,
        place: Range<usize>,
    ) -> Option<Value> {
        if let Some(what) = wrong_number(n, field, range) {
            self.tell(at, place, what);
            return None;
        }
        // −0 would be written back as "-0".
        Some(Value::Number(n + 0.0))
    }

    fn rows(
        &mut self,
        array: &Array,
        most: usize,
        at: &At<'_>,
        place: &Range<usize>,
        table_of: impl Fn(&mut Self, FormAt<'_>) -> Option<&'static Table>,
    ) -> Option<Value> {
        self.not_more_than(array.len(), most, at, place)?;
        let mut rows: Vec<Row> = Vec::with_capacity(array.len());
        for (i, value) in array.iter().enumerate() {
            let place = value.span().unwrap_or_else(|| place.clone());
            let Some(inline) = value.as_inline_table() else {
                let found = problem::Kind::of(value.type_name());
                self.tell(&at.nth(i), place, What::NotInline { found });
                continue;
            };
            // A comment after the comma of one line is, to the parser, before the next line.
            let (beside_last, above) = value
                .decor()
                .prefix()
                .map_or_else(|| (None, Vec::new()), |raw| self.split_comment(raw));
            if let Some(last) = rows.last_mut().filter(|r| r.comment.beside.is_none()) {
                last.comment.beside = beside_last;
            }
            let at = element(at, i, inline);
            let form = FormAt {
                table: inline,
                at: &at,
                place: place.clone(),
            };
            let Some(table) = table_of(self, form) else {
                continue;
            };
            let mut row = self.table(inline, table, &at, place);
            row.comment.above = above;
            row.comment.beside = value
                .decor()
                .suffix()
                .and_then(|raw| self.comment_beside(raw));
            rows.push(row);
        }
        let (beside_last, _) = self.split_comment(array.trailing());
        if let Some(last) = rows.last_mut().filter(|r| r.comment.beside.is_none()) {
            last.comment.beside = beside_last;
        }
        Some(Value::Rows(rows))
    }

    /// Which form an inline table has, by the key that tells forms apart.
    fn form(
        &mut self,
        forms: &'static [&'static Table],
        form: FormAt<'_>,
    ) -> Option<&'static Table> {
        let mark = |t: &&'static Table| t.fields[0].key;
        let found: Vec<&'static Table> = forms
            .iter()
            .filter(|t| form.table.contains_key(mark(t)))
            .copied()
            .collect();
        let what = match found[..] {
            [one] => return Some(one),
            // `remove` and its like can be a key of another form only by mistake.
            [] => What::NoForm {
                keys: form.table.iter().map(|(k, _)| k.to_owned()).collect(),
                marks: forms.iter().map(mark).collect(),
            },
            _ => What::ManyForms {
                marks: found.iter().map(mark).collect(),
            },
        };
        self.tell(form.at, form.place, what);
        None
    }

    fn not_more_than(
        &mut self,
        found: usize,
        most: usize,
        at: &At<'_>,
        place: &Range<usize>,
    ) -> Option<()> {
        if found <= most {
            return Some(());
        }
        self.tell(at, place.clone(), What::TooMany { found, most });
        None
    }

    fn wrong_type(&mut self, field: &'static Field, found: &str, at: &At<'_>, place: Range<usize>) {
        let found = problem::Kind::of(found);
        self.tell(at, place, What::WrongType { found, field });
    }

    fn number_in_quotes(
        &mut self,
        text: &str,
        field: &'static Field,
        at: &At<'_>,
        place: Range<usize>,
    ) {
        let (converted, unit) = match unit::from_text(text, field.key) {
            Some((Some(value), unit)) if unit.is_empty() || unit::shown(field.key).is_some() => {
                (Some(value), Some(unit))
            }
            Some((_, unit)) if !unit.is_empty() => (None, Some(unit)),
            _ => (None, None),
        };
        let what = What::NumberInQuotes {
            text: text.to_owned(),
            field,
            unit,
            converted,
        };
        self.tell(at, place, what);
    }

    /// Tells of a key that the table doesn't have; gives the key that was probably meant.
    fn unknown_key(
        &mut self,
        table: &'static Table,
        key: &str,
        item: &Item,
        at: &At<'_>,
        place: Range<usize>,
    ) -> Option<&'static str> {
        let value = item
            .as_float()
            .or_else(|| item.as_integer().map(|n| n as f64))
            .or_else(|| item.as_str().and_then(|t| t.trim().parse().ok()));
        if let Some(meant) = unit::meant(table, key, value) {
            let what = What::KeyInAnotherUnit {
                key: key.to_owned(),
                unit: meant.found,
                meant: meant.field,
                converted: meant.converted,
            };
            self.tell(at, place, what);
            return Some(meant.field.key);
        }
        let has_it = |f: &&Field| matches!(f.kind, Kind::Table(t) if t.field(key).is_some());
        let near = closest(key, table.keys());
        let best = near.first().and_then(|key| table.field(key));
        let what = What::UnknownKey {
            table: table.name,
            key: key.to_owned(),
            keys: table.keys().collect(),
            near: near
                .iter()
                .filter_map(|k| Some(table.field(k)?.key))
                .collect(),
            under: table.fields.iter().filter(has_it).map(|f| f.key).collect(),
        };
        self.tell(at, place, what);
        Some(best?.key)
    }
}

/// What is wrong with a text of at most so many characters, if anything. What a file may hold is what an edit may put
/// there, so that what is written can be read back.
pub(crate) fn wrong_text(text: &str, most: usize) -> Option<What> {
    let length = text.chars().count();
    if length > most {
        return Some(What::TooLong { length, most });
    }
    text.chars()
        .find(|c| c.is_control() && !matches!(c, '\n' | '\t'))
        .map(What::ControlCharacter)
}

/// What is wrong with a number in a field, if anything.
fn wrong_number(found: f64, field: &'static Field, allowed: measure::Range) -> Option<What> {
    if !found.is_finite() {
        return Some(What::NotFinite { found, field });
    }
    if matches!(field.kind, Kind::Whole(_)) && found.fract() != 0.0 {
        let nearest = allowed.clamp(found.round());
        return Some(What::NotWhole {
            found,
            field,
            nearest,
        });
    }
    let unit = field.kind.unit();
    (!allowed.contains(found)).then_some(What::OutOfRange {
        found,
        unit,
        allowed,
    })
}

/// An inline table whose form is looked for.
struct FormAt<'a> {
    table: &'a toml_edit::InlineTable,
    at: &'a At<'a>,
    place: Range<usize>,
}

/// One of several tables: by its id where it has one, else by its number from 1.
fn element<'a>(at: &At<'a>, index: usize, table: &'a dyn TableLike) -> At<'a> {
    match table.get("id").and_then(Item::as_str) {
        Some(id) if is_id(id) => at.with_id(id),
        _ => at.nth(index),
    }
}

/// Whether a text can be an identifier.
pub(crate) fn is_id(text: &str) -> bool {
    (1..=60).contains(&text.len())
        && text
            .bytes()
            .all(|b| b.is_ascii_lowercase() || b.is_ascii_digit() || b == b'_' || b == b'-')
}

pub(super) fn as_id(text: &str) -> String {
    let plain: String = text
        .trim()
        .to_lowercase()
        .chars()
        .map(|c| {
            if c.is_ascii_alphanumeric() || c == '-' {
                c
            } else {
                '_'
            }
        })
        .take(60)
        .collect();
    plain.trim_matches('_').to_owned()
}
