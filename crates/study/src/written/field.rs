//! The kinds of tables and fields a study file is made of.
//!
//! The reader, the writer, the JSON Schema and the page of fields are all derived from lists of
//! these; nothing else in the program says which keys a study file has.

use measure::{Range, Units};

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
    Forms(&'static [&'static Table], usize),
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

/// Two fields are the same when they stand in the same place of the same table.
impl PartialEq for Field {
    fn eq(&self, other: &Self) -> bool {
        std::ptr::eq(self, other)
    }
}

impl Field {
    /// Whether a number lies in the range that the field allows.
    pub fn takes(&self, number: f64) -> bool {
        match self.kind {
            Kind::Number(_, range) => range.contains(number),
            Kind::Whole(range) => range.contains(number) && number.fract() == 0.0,
            _ => false,
        }
    }
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
    /// The unit of a number as shown; empty for none and for what isn't a number.
    pub const fn unit(&self) -> &'static str {
        match self {
            Self::Number(unit, _) => unit,
            _ => "",
        }
    }

    /// The kind in words, as in "wants a number in mm", for a person who reads in these units.
    pub fn words_in(&self, units: Units) -> String {
        match self {
            Self::Number(unit, range) if !unit.is_empty() => {
                let also = units.also(&[range.low, range.high], unit);
                format!("a number{}, {range}{also}", in_unit(unit))
            }
            _ => self.words(),
        }
    }

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
