//! The kinds of tables and fields a study file is made of.
//!
//! The reader, the writer, the JSON Schema and the page of fields are all derived from lists of
//! these; nothing else in the program says which keys a study file has.

use measure::Range;

/// A table of the file: its name, what it is for, and its fields in the order they are written.
#[derive(Debug)]
pub struct Table {
    /// Name used in the JSON Schema and on the page of fields.
    pub name: &'static str,
    /// What the table is for.
    pub doc: &'static str,
    /// Its fields; plain values before tables, as TOML wants.
    pub fields: &'static [Field],
}

/// A field of a table.
#[derive(Debug)]
pub struct Field {
    /// The key; where there is a unit, the key ends in it.
    pub key: &'static str,
    /// What kind of value.
    pub kind: Kind,
    /// Whether it has to be there.
    pub need: Need,
    /// What it means.
    pub doc: &'static str,
}

/// What kind of value a field takes.
#[derive(Clone, Copy, Debug)]
pub enum Kind {
    /// A text of at most so many characters.
    Text(usize),
    /// An identifier: lower-case letters, digits, `_` and `-`, at most 60.
    Id,
    /// A number with its unit (as shown; empty for none) and allowed range.
    Number(&'static str, Range),
    /// A whole number in a range.
    Whole(Range),
    /// true or false.
    Flag,
    /// One of some words.
    Choice(fn() -> Vec<&'static str>),
    /// Any number of some words.
    Choices(fn() -> Vec<&'static str>),
    /// The identifier of a material, of the shelf or of this file.
    Material,
    /// The identifier of a treatment of this file.
    Treatment,
    /// A table under its own header.
    Table(&'static Table),
    /// A table written on one line.
    Inline(&'static Table),
    /// Tables under `[[…]]` headers, at most so many.
    Tables(&'static Table, usize),
    /// Tables written one a line in an array, at most so many.
    Lines(&'static Table, usize),
    /// One-line tables of several forms, told apart by the key that only that form has:
    /// the first field of each. At most so many.
    Forms(&'static [Table], usize),
}

/// Whether a field has to be there.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Need {
    /// It has to be there.
    Required,
    /// It may be left out; what happens then is said in the field's text.
    Optional,
    /// It may be left out; this is then taken. A working assumption, shown as such.
    Or(f64),
    /// It may be left out; this word is then taken.
    OrWord(&'static str),
}

impl Table {
    /// The field with a key.
    pub fn field(&self, key: &str) -> Option<&'static Field> {
        self.fields.iter().find(|f| f.key == key)
    }

    /// Every key, in order.
    pub fn keys(&self) -> impl Iterator<Item = &'static str> {
        self.fields.iter().map(|f| f.key)
    }
}

impl Kind {
    /// The kind in words, as in "wants a number in mm".
    pub fn words(&self) -> String {
        match self {
            Self::Text(_) => "a text in quotes".into(),
            Self::Id => "a short name in quotes, of a–z, 0–9, _ and -".into(),
            Self::Number("", range) => format!("a number, {range}"),
            Self::Number(unit, range) => format!("a number{}, {range}", in_unit(unit)),
            Self::Whole(range) => format!("a whole number, {range}"),
            Self::Flag => "true or false, without quotes".into(),
            Self::Choice(words) => one_of(&words()),
            Self::Choices(words) => format!("an array of any of {}", quoted(&words())),
            Self::Material => "the name of a material in quotes".into(),
            Self::Treatment => "the id of a treatment in quotes".into(),
            Self::Table(t) | Self::Inline(t) => format!("a table of {}", t.name),
            Self::Tables(t, most) => format!("tables of {}, at most {most}", t.name),
            Self::Lines(t, most) => {
                format!("an array of {{ … }}, one a {}, at most {most}", t.name)
            }
            Self::Forms(forms, most) => format!(
                "an array of {{ … }}, each with one of {}, at most {most}",
                forms
                    .iter()
                    .map(|t| t.fields[0].key)
                    .collect::<Vec<_>>()
                    .join(", ")
            ),
        }
    }
}

/// " in mm", " per kg", or nothing for a number without a unit.
pub fn in_unit(unit: &str) -> String {
    match unit {
        "" => String::new(),
        per if per.starts_with("per ") => format!(" {per}"),
        unit => format!(" in {unit}"),
    }
}

/// `"a", "b" or "c"`.
pub fn one_of(words: &[&str]) -> String {
    match words {
        [] => String::new(),
        [one] => format!("\"{one}\""),
        [rest @ .., last] => format!("{} or \"{last}\"", quoted(rest)),
    }
}

fn quoted(words: &[&str]) -> String {
    words
        .iter()
        .map(|w| format!("\"{w}\""))
        .collect::<Vec<_>>()
        .join(", ")
}

/// A field that has to be there.
pub const fn required(key: &'static str, kind: Kind, doc: &'static str) -> Field {
    Field {
        key,
        kind,
        need: Need::Required,
        doc,
    }
}

/// A field that may be left out.
pub const fn optional(key: &'static str, kind: Kind, doc: &'static str) -> Field {
    Field {
        key,
        kind,
        need: Need::Optional,
        doc,
    }
}

/// A number that may be left out, with what is then taken.
pub const fn number_or(
    key: &'static str,
    unit: &'static str,
    low: f64,
    high: f64,
    otherwise: f64,
    doc: &'static str,
) -> Field {
    Field {
        key,
        kind: Kind::Number(unit, Range::new(low, high)),
        need: Need::Or(otherwise),
        doc,
    }
}

/// A number kind.
pub const fn number(unit: &'static str, low: f64, high: f64) -> Kind {
    Kind::Number(unit, Range::new(low, high))
}
