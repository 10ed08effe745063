//! A table as it was written: values under keys, with their places and comments.

use super::field::{Kind, Table};
use std::ops::Range;

/// Where something stood in the text it was read from; none for what was put there since. Two
/// documents that say the same are equal wherever their words stood, so any two places compare equal.
#[derive(Clone, Debug, Default)]
pub struct Place(pub Option<Range<usize>>);

impl From<Range<usize>> for Place {
    fn from(range: Range<usize>) -> Self {
        Self(Some(range))
    }
}

impl PartialEq for Place {
    fn eq(&self, _: &Self) -> bool {
        true
    }
}

/// A comment: whole lines above a thing, and the words after it on its own line.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Comment {
    /// Lines above, without the `#`.
    pub above: Vec<String>,
    /// Words on the same line, without the `#`.
    pub beside: Option<String>,
}

/// A value as written.
#[derive(Clone, Debug, PartialEq)]
pub enum Value {
    /// A text, identifier, choice or name.
    Text(String),
    /// A number.
    Number(f64),
    /// true or false.
    Flag(bool),
    /// Several words.
    Words(Vec<String>),
    /// A table.
    Row(Row),
    /// Several tables.
    Rows(Vec<Row>),
}

/// A key with its value.
#[derive(Clone, Debug, PartialEq)]
pub struct Entry {
    /// The key.
    pub key: &'static str,
    /// Its value.
    pub value: Value,
    /// Comment of the key; tables carry their own.
    pub comment: Comment,
    /// Where the value stood.
    pub place: Place,
}

/// A table as written, its entries in the order of the field list.
#[derive(Clone, Debug)]
pub struct Row {
    /// Which table it is.
    pub table: &'static Table,
    /// What was written.
    pub entries: Vec<Entry>,
    /// Comment of the table.
    pub comment: Comment,
    /// Where the table (or its header) stood.
    pub place: Place,
    /// Keys that were written but couldn't be read, which has been told.
    pub(super) failed: Vec<&'static str>,
}

impl PartialEq for Row {
    fn eq(&self, other: &Self) -> bool {
        self.table.name == other.table.name
            && self.entries == other.entries
            && self.comment == other.comment
    }
}

impl Row {
    /// An empty table.
    pub fn new(table: &'static Table) -> Self {
        Self {
            table,
            entries: Vec::new(),
            comment: Comment::default(),
            place: Place::default(),
            failed: Vec::new(),
        }
    }

    /// Whether a key was written but couldn't be read, or couldn't be read as a whole.
    pub(super) fn failed(&self, key: &str) -> bool {
        self.failed.contains(&key)
    }

    /// What was written under a key.
    pub fn entry(&self, key: &str) -> Option<&Entry> {
        self.entries.iter().find(|e| e.key == key)
    }

    /// Whether a key was written.
    pub fn has(&self, key: &str) -> bool {
        self.entry(key).is_some()
    }

    /// The table under a key that is known only by its name.
    pub fn below(&self, key: &str) -> Option<&Self> {
        match self.entry(key).map(|e| &e.value) {
            Some(Value::Row(row)) => Some(row),
            _ => None,
        }
    }

    /// The table under a key that is known only by its name.
    pub fn below_mut(&mut self, key: &str) -> Option<&mut Self> {
        match self
            .entries
            .iter_mut()
            .find(|e| e.key == key)
            .map(|e| &mut e.value)
        {
            Some(Value::Row(row)) => Some(row),
            _ => None,
        }
    }

    /// Where the value of a key stood, else where the table stood.
    pub(super) fn place_of(&self, key: &str) -> Place {
        self.entry(key)
            .map_or_else(|| self.place.clone(), |e| e.place.clone())
    }

    /// Puts a value under a key, in the place the field list gives it; a key that the table
    /// doesn't have is left out and `false` comes back.
    pub fn set(&mut self, key: &str, value: Value) -> bool {
        let Some(index) = self.table.fields.iter().position(|f| f.key == key) else {
            return false;
        };
        if let Some(entry) = self.entries.iter_mut().find(|e| e.key == key) {
            entry.value = value;
            return true;
        }
        self.push(Entry {
            key: self.table.fields[index].key,
            value,
            comment: Comment::default(),
            place: Place::default(),
        });
        true
    }

    /// Takes a key away.
    pub fn remove(&mut self, key: &str) {
        self.entries.retain(|e| e.key != key);
    }

    /// Adds an entry where the field list wants it.
    pub(super) fn push(&mut self, entry: Entry) {
        let order = |key: &str| self.table.fields.iter().position(|f| f.key == key);
        let at = order(entry.key);
        let before = self
            .entries
            .iter()
            .take_while(|e| order(e.key) <= at)
            .count();
        self.entries.insert(before, entry);
    }

    /// Whether a field's kind is a table with a header of its own.
    pub(super) fn is_section(kind: &Kind) -> bool {
        matches!(kind, Kind::Table(_) | Kind::Tables(..))
    }
}
