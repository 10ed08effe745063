//! From text to tables as written: every problem found is told, reading goes on past it.

use super::field::{Field, Kind, Need, Table};
use super::problem::{Code, Problem, closest, did_you_mean};
use super::row::{Comment, Entry, Place, Row, Value};
use super::unit;
use std::ops::Range;
use toml_edit::{Array, Item, RawString, TableLike, Value as Toml};

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
                let text = text.value();
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
                Some(Value::Text(text.clone()))
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

    fn number_in_quotes(
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

    /// Tells of a key that the table doesn't have; gives the key that was probably meant.
    fn unknown_key(
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
        self.tell(
            Problem::new(
                Code::UnknownKey,
                place,
                path,
                format!("{} has no key {}", table.name, code_quote(key)),
            )
            .allowed(table.keys().collect::<Vec<_>>().join(", "))
            .suggest(did_you_mean(&near)),
        );
        let best = table.field(near.first()?)?;
        Some(best.key)
    }

    fn unknown_choice(&mut self, word: &str, words: &[&str], path: &str, place: Range<usize>) {
        let near = closest(word, words.iter().copied());
        self.tell(
            Problem::new(
                Code::UnknownChoice,
                place,
                path,
                format!("{} isn't one of the choices", quote(word)),
            )
            .allowed(super::field::one_of(words))
            .suggest(did_you_mean(&near)),
        );
    }

    fn wrong_type(&mut self, field: &'static Field, found: &str, path: &str, place: Range<usize>) {
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

    fn slice<'s>(&'s self, raw: &'s RawString) -> &'s str {
        match raw.as_str() {
            Some(text) => text,
            None => raw
                .span()
                .and_then(|s| self.text.get(s))
                .unwrap_or_default(),
        }
    }

    fn comment_lines(&self, raw: &RawString) -> Vec<String> {
        lines_of(self.slice(raw))
    }

    fn comment_beside(&self, raw: &RawString) -> Option<String> {
        first_comment(self.slice(raw).lines().next().unwrap_or_default())
    }

    /// A comment on the first line, and those on lines of their own.
    fn split_comment(&self, raw: &RawString) -> (Option<String>, Vec<String>) {
        let text = self.slice(raw);
        match text.split_once('\n') {
            Some((first, rest)) => (first_comment(first), lines_of(rest)),
            None => (first_comment(text), Vec::new()),
        }
    }

    fn table_comment(&self, item: &Item) -> Comment {
        let decor = match item {
            Item::Table(table) => table.decor(),
            Item::Value(value) => value.decor(),
            _ => return Comment::default(),
        };
        match item {
            Item::Table(_) => Comment {
                above: decor
                    .prefix()
                    .map_or_else(Vec::new, |raw| self.comment_lines(raw)),
                beside: decor.suffix().and_then(|raw| self.comment_beside(raw)),
            },
            // A one-line table is a value under a key, and the key keeps its comment.
            _ => Comment::default(),
        }
    }
}

/// An inline table whose form is looked for.
struct FormAt<'a> {
    table: &'a toml_edit::InlineTable,
    path: &'a str,
    place: Range<usize>,
}

/// The comment lines of a text, without `#` and blanks about it.
pub(super) fn lines_of(text: &str) -> Vec<String> {
    text.lines().filter_map(first_comment).collect()
}

fn first_comment(line: &str) -> Option<String> {
    line.trim().strip_prefix('#').map(|c| c.trim().to_owned())
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

/// A word as found, in quotes, cut where it is long.
pub(super) fn quote(text: &str) -> String {
    let mut cut: String = text
        .chars()
        .take(40)
        .flat_map(char::escape_default_kind)
        .collect();
    if text.chars().count() > 40 {
        cut.push('…');
    }
    format!("\"{cut}\"")
}

fn code_quote(text: &str) -> String {
    quote(text).replace('"', "`")
}

/// Escapes control characters only, so that a word is shown as it was typed.
trait Shown {
    fn escape_default_kind(self) -> Vec<char>;
}

impl Shown for char {
    fn escape_default_kind(self) -> Vec<char> {
        if self.is_control() {
            self.escape_default().collect()
        } else {
            vec![self]
        }
    }
}

fn a_type(name: &str) -> String {
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

fn in_unit(unit: &str) -> String {
    if unit.is_empty() {
        String::new()
    } else {
        format!(" in {unit}")
    }
}

fn with_unit(n: f64, unit: &str) -> String {
    if unit.is_empty() {
        format!("{n}")
    } else {
        format!("{n} {unit}")
    }
}

fn with_range_unit(range: measure::Range, unit: &str) -> String {
    if unit.is_empty() {
        range.to_string()
    } else {
        format!("{range} {unit}")
    }
}

/// How a field is written, for a person who has left it out or has mistaken its type.
fn example(field: &Field) -> String {
    match field.kind {
        Kind::Text(_) => format!("write {} = \"…\"", field.key),
        Kind::Id | Kind::Material | Kind::Treatment => {
            format!("write {} = \"some_name\"", field.key)
        }
        Kind::Number("", _) | Kind::Whole(_) => format!("write {} = a number", field.key),
        Kind::Number(unit, _) => format!("write {} = a number in {unit}", field.key),
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
