//! From text to tables as written: every problem found is told, reading goes on past it.

use super::field::{Field, Kind, Need, Table};
use super::problem::{Code, Problem, did_you_mean};
use super::row::{Comment, Entry, Place, Row, Value};
use super::told::{a_type, example, quote, with_range_unit, with_unit};
use measure::names::closest;
use std::ops::Range;
use toml_edit::{Array, Item, TableLike, Value as Toml};

/// Most problems told at once; a file with more has one cause, and a list that long isn't read.
pub const MOST_PROBLEMS: usize = 100;

/// What reads a document: the text, for places and comments, and the problems so far.
pub(super) struct Reader<'a> {
    pub text: &'a str,
    pub problems: Vec<Problem>,
}

impl Reader<'_> {
    /// Keeps a problem, with its place moved onto character borders inside the text.
    pub fn tell(&mut self, mut problem: Problem) {
        if self.problems.len() >= MOST_PROBLEMS {
            return;
        }
        let end = self
            .text
            .floor_char_boundary(problem.span.end.min(self.text.len()));
        let start = self.text.floor_char_boundary(problem.span.start.min(end));
        problem.span = start..end;
        self.problems.push(problem);
    }

    /// Reads a table against its field list.
    pub fn table(
        &mut self,
        toml: &dyn TableLike,
        table: &'static Table,
        path: &str,
        place: Range<usize>,
    ) -> Row {
        let mut row = Row::new(table);
        row.place = Place(place);
        for (key, item) in toml.iter() {
            let written = toml.key(key);
            let key_place = written
                .and_then(|k| k.span())
                .or_else(|| item.span())
                .unwrap_or_else(|| row.place.0.clone());
            let path = join(path, key);
            let Some(field) = table.field(key) else {
                // The key that was meant isn't told to be missing as well.
                row.failed
                    .extend(self.unknown_key(table, key, item, &path, key_place));
                continue;
            };
            let place = item.span().unwrap_or(key_place);
            let before = self.problems.len();
            let value = self.item(item, field, &path, place.clone());
            let rows_lost = matches!(
                field.kind,
                Kind::Lines(..) | Kind::Tables(..) | Kind::Forms(..) | Kind::Choices(_)
            );
            if value.is_none() || rows_lost && self.problems.len() > before {
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
                    place: Place(place),
                });
            }
        }
        for field in table.fields {
            if field.need == Need::Required
                && toml.get(field.key).is_none()
                && !row.failed(field.key)
            {
                self.tell(
                    Problem::new(
                        Code::Missing,
                        row.place.0.clone(),
                        join(path, field.key),
                        format!("`{}` is missing: {}", field.key, field.doc),
                    )
                    .allowed(field.kind.words())
                    .suggest(example(field)),
                );
            }
        }
        row
    }

    fn item(
        &mut self,
        item: &Item,
        field: &'static Field,
        path: &str,
        place: Range<usize>,
    ) -> Option<Value> {
        match (field.kind, item) {
            (Kind::Table(t) | Kind::Inline(t), item) if item.is_table_like() => {
                let like = item.as_table_like()?;
                let mut row = self.table(like, t, path, place);
                row.comment = self.table_comment(item);
                Some(Value::Row(row))
            }
            (Kind::Tables(t, most) | Kind::Lines(t, most), Item::ArrayOfTables(tables)) => {
                self.not_more_than(tables.len(), most, path, &place)?;
                let mut rows = Vec::with_capacity(tables.len());
                for (i, table) in tables.iter().enumerate() {
                    let place = table.span().unwrap_or_else(|| place.clone());
                    let mut row = self.table(table, t, &element(path, i, table), place);
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
                self.rows(array, most, path, &place, |_, _| Some(t))
            }
            (Kind::Forms(forms, most), Item::Value(Toml::Array(array))) => {
                self.rows(array, most, path, &place, |reader, at| {
                    reader.form(forms, at)
                })
            }
            (Kind::Forms(forms, most), Item::ArrayOfTables(tables)) => {
                let array = tables.clone().into_array();
                self.rows(&array, most, path, &place, |reader, at| {
                    reader.form(forms, at)
                })
            }
            (Kind::Choices(words), Item::Value(Toml::Array(array))) => {
                let words = words();
                let mut found = Vec::new();
                for value in array {
                    let place = value.span().unwrap_or_else(|| place.clone());
                    match value.as_str() {
                        Some(word) if words.contains(&word) => found.push(word.to_owned()),
                        Some(word) => self.unknown_choice(word, &words, path, place),
                        None => self.wrong_type(field, value.type_name(), path, place),
                    }
                }
                Some(Value::Words(found))
            }
            (_, Item::Value(value)) => self.value(value, field, path, place),
            (_, other) => {
                self.wrong_type(field, other.type_name(), path, place);
                None
            }
        }
    }

    fn value(
        &mut self,
        value: &Toml,
        field: &'static Field,
        path: &str,
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
                if text.chars().count() > longest {
                    self.tell(
                        Problem::new(
                            Code::BadText,
                            place,
                            path,
                            format!("this text has {} characters", text.chars().count()),
                        )
                        .allowed(format!("at most {longest} characters"))
                        .suggest("shorten it"),
                    );
                    return None;
                }
                if let Some(odd) = text
                    .chars()
                    .find(|c| c.is_control() && !matches!(c, '\n' | '\t'))
                {
                    self.tell(
                        Problem::new(
                            Code::BadText,
                            place,
                            path,
                            format!(
                                "this text holds the control character U+{:04X}",
                                u32::from(odd)
                            ),
                        )
                        .allowed("printable characters, tabs and line ends")
                        .suggest("take it out"),
                    );
                    return None;
                }
                Some(Value::Text(text))
            }
            (Kind::Id | Kind::Material | Kind::Treatment, Toml::String(text)) => {
                let text = text.value();
                if is_id(text) {
                    return Some(Value::Text(text.clone()));
                }
                let plain = as_id(text);
                let problem = Problem::new(
                    Code::BadText,
                    place,
                    path,
                    format!("{} isn't a short name", quote(text)),
                )
                .allowed("1 to 60 of a–z, 0–9, _ and -");
                self.tell(if plain.is_empty() {
                    problem
                } else {
                    problem.suggest(format!("write \"{plain}\""))
                });
                None
            }
            (Kind::Choice(words), Toml::String(text)) => {
                let words = words();
                if words.contains(&text.value().as_str()) {
                    return Some(Value::Text(text.value().clone()));
                }
                self.unknown_choice(text.value(), &words, path, place);
                None
            }
            (Kind::Number(_, range) | Kind::Whole(range), Toml::Integer(_) | Toml::Float(_)) => {
                self.number(number?, field, range, path, place)
            }
            (Kind::Number(unit, _), Toml::String(text)) => {
                self.number_in_quotes(text.value(), field, unit, path, place);
                None
            }
            (
                Kind::Text(_) | Kind::Id | Kind::Material | Kind::Treatment | Kind::Choice(_),
                other,
            ) => {
                let shown = other.to_string();
                self.tell(
                    Problem::new(
                        Code::WrongType,
                        place,
                        path,
                        format!("a text belongs here, found {}", a_type(other.type_name())),
                    )
                    .allowed(field.kind.words())
                    .suggest(
                        if shown.len() < 60 && !other.is_array() && !other.is_inline_table() {
                            format!("put it in quotes: {} = \"{}\"", field.key, shown.trim())
                        } else {
                            String::new()
                        },
                    ),
                );
                None
            }
            (_, other) => {
                self.wrong_type(field, other.type_name(), path, place);
                None
            }
        }
    }

    fn number(
        &mut self,
        n: f64,
        field: &'static Field,
        range: measure::Range,
        path: &str,
        place: Range<usize>,
    ) -> Option<Value> {
        let unit = match field.kind {
            Kind::Number(unit, _) => unit,
            _ => "",
        };
        if !n.is_finite() {
            self.tell(
                Problem::new(
                    Code::NotFinite,
                    place,
                    path,
                    format!("{n} isn't a number that can be reckoned with"),
                )
                .allowed(field.kind.words()),
            );
            return None;
        }
        if matches!(field.kind, Kind::Whole(_)) && n.fract() != 0.0 {
            self.tell(
                Problem::new(
                    Code::WrongType,
                    place,
                    path,
                    format!("{n} isn't a whole number"),
                )
                .allowed(field.kind.words())
                .suggest(format!("write {}", range.clamp(n.round()))),
            );
            return None;
        }
        if !range.contains(n) {
            self.tell(
                Problem::new(
                    Code::OutOfRange,
                    place,
                    path,
                    format!("{} is outside the allowed range", with_unit(n, unit)),
                )
                .allowed(with_range_unit(range, unit))
                .suggest(format!("the nearest allowed value is {}", range.clamp(n))),
            );
            return None;
        }
        // −0 would be written back as "-0".
        Some(Value::Number(n + 0.0))
    }

    fn rows(
        &mut self,
        array: &Array,
        most: usize,
        path: &str,
        place: &Range<usize>,
        table_of: impl Fn(&mut Self, FormAt<'_>) -> Option<&'static Table>,
    ) -> Option<Value> {
        self.not_more_than(array.len(), most, path, place)?;
        let mut rows: Vec<Row> = Vec::with_capacity(array.len());
        for (i, value) in array.iter().enumerate() {
            let place = value.span().unwrap_or_else(|| place.clone());
            let Some(inline) = value.as_inline_table() else {
                self.tell(
                    Problem::new(
                        Code::WrongType,
                        place,
                        element_number(path, i),
                        format!("{{ … }} belongs here, found {}", a_type(value.type_name())),
                    )
                    .allowed("an inline table, e.g. { material = \"salt\", amount = 0.4 }"),
                );
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
            let path = element(path, i, inline);
            let at = FormAt {
                table: inline,
                path: &path,
                place: place.clone(),
            };
            let Some(table) = table_of(self, at) else {
                continue;
            };
            let mut row = self.table(inline, table, &path, place);
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
    fn form(&mut self, forms: &'static [Table], at: FormAt<'_>) -> Option<&'static Table> {
        let marks = || forms.iter().map(|t| t.fields[0].key);
        let found: Vec<_> = forms
            .iter()
            .filter(|t| at.table.contains_key(t.fields[0].key))
            .collect();
        match found[..] {
            [one] => Some(one),
            // `remove` and its like can be a key of another form only by mistake.
            [] => {
                let keys: Vec<String> = at.table.iter().map(|(k, _)| k.to_owned()).collect();
                let near = keys
                    .iter()
                    .flat_map(|k| closest(k, marks()))
                    .collect::<Vec<_>>();
                self.tell(
                    Problem::new(
                        Code::Missing,
                        at.place,
                        at.path,
                        if keys.is_empty() {
                            "this line is empty".to_owned()
                        } else {
                            format!("can't tell what this line does from {}", keys.join(", "))
                        },
                    )
                    .allowed(format!("one of {}", marks().collect::<Vec<_>>().join(", ")))
                    .suggest(did_you_mean(&near[..near.len().min(3)])),
                );
                None
            }
            _ => {
                let both: Vec<_> = found.iter().map(|t| t.fields[0].key).collect();
                self.tell(
                    Problem::new(
                        Code::Contradiction,
                        at.place,
                        at.path,
                        format!("{} exclude each other", both.join(" and ")),
                    )
                    .allowed("one change a line")
                    .suggest("write them as separate lines"),
                );
                None
            }
        }
    }

    fn not_more_than(
        &mut self,
        found: usize,
        most: usize,
        path: &str,
        place: &Range<usize>,
    ) -> Option<()> {
        if found <= most {
            return Some(());
        }
        self.tell(
            Problem::new(
                Code::TooMany,
                place.clone(),
                path,
                format!("{found} are more than a study holds"),
            )
            .allowed(format!("at most {most}"))
            .suggest("split the study in two"),
        );
        None
    }
}

/// An inline table whose form is looked for.
struct FormAt<'a> {
    table: &'a toml_edit::InlineTable,
    path: &'a str,
    place: Range<usize>,
}

fn join(path: &str, key: &str) -> String {
    let key: String = key.chars().take(80).collect();
    if path.is_empty() {
        key
    } else {
        format!("{path}.{key}")
    }
}

/// The path of one of several tables: by its id where it has one, else by its number from 1.
fn element(path: &str, index: usize, table: &dyn TableLike) -> String {
    match table.get("id").and_then(Item::as_str) {
        Some(id) if is_id(id) => format!("{path}[{id}]"),
        _ => element_number(path, index),
    }
}

fn element_number(path: &str, index: usize) -> String {
    format!("{path}[{}]", index + 1)
}

/// Whether a text can be an identifier.
pub(super) fn is_id(text: &str) -> bool {
    (1..=60).contains(&text.len())
        && text
            .bytes()
            .all(|b| b.is_ascii_lowercase() || b.is_ascii_digit() || b == b'_' || b == b'-')
}

fn as_id(text: &str) -> String {
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
