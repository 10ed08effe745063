//! Tables written once: from one list of fields come the [`Table`](super::field::Table) that reader,
//! writer, schema and page go by, a struct of what a row says, and a typed key of every field.

use super::row::{Entry, Place, Row, Value};
use super::word::Word;
use std::marker::PhantomData;

/// What a row says of a field.
#[derive(Clone, Debug)]
pub struct Told<V> {
    /// The value; an `Option` where nothing is taken in place of one that isn't written.
    pub value: V,
    /// Whether it was written.
    pub written: bool,
    /// Whether it was written and couldn't be read, or not as a whole, which has been told.
    pub failed: bool,
    /// Where it stood; where the table stood when it wasn't written.
    pub place: Place,
}

impl<V> Told<V> {
    /// A field of a row; `otherwise` is what holds when it isn't written.
    pub(super) fn of<'a, K: Held>(
        row: &'a Row,
        key: Key<K>,
        wrap: impl FnOnce(K::Of<'a>) -> V,
        otherwise: impl FnOnce() -> V,
    ) -> Self {
        let entry = row.entry(key.name);
        Self {
            written: entry.is_some(),
            failed: row.failed(key.name),
            place: entry.map_or_else(|| row.place.clone(), |e| e.place.clone()),
            value: entry
                .and_then(|e| K::of(&e.value))
                .map_or_else(otherwise, wrap),
        }
    }
}

impl<T> Told<Option<T>> {
    /// The value by reference.
    pub fn get(&self) -> Option<&T> {
        self.value.as_ref()
    }
}

/// The key of a field, with the kind of value that it holds.
#[derive(Debug)]
pub struct Key<K> {
    /// As written in a file.
    pub name: &'static str,
    holds: PhantomData<fn() -> K>,
}

impl<K> Clone for Key<K> {
    fn clone(&self) -> Self {
        *self
    }
}

impl<K> Copy for Key<K> {}

impl<K> Key<K> {
    /// The key with a name; only the list of a table's fields makes one.
    pub(super) const fn new(name: &'static str) -> Self {
        Self {
            name,
            holds: PhantomData,
        }
    }
}

/// A kind of value that a field holds.
pub trait Held: 'static {
    /// The value as read.
    type Of<'a>;
    /// Reads a value as written; none when it is of another kind.
    fn of(value: &Value) -> Option<Self::Of<'_>>;
}

/// A kind of value that can be written.
pub trait Written: Held {
    /// The value as written.
    fn written(of: Self::Of<'_>) -> Value;
}

/// A text or a name.
#[derive(Debug)]
pub enum Text {}
/// A number in the field's unit.
#[derive(Debug)]
pub enum Number {}
/// A whole number.
#[derive(Debug)]
pub enum Whole {}
/// true or false.
#[derive(Debug)]
pub enum Flag {}
/// One of some words.
#[derive(Debug)]
pub struct OneOf<W>(PhantomData<W>);
/// Any of some words.
#[derive(Debug)]
pub struct AnyOf<W>(PhantomData<W>);
/// A table.
#[derive(Debug)]
pub struct One<R>(PhantomData<R>);
/// Several tables.
#[derive(Debug)]
pub struct Several<R>(PhantomData<R>);

impl Held for Text {
    type Of<'a> = &'a str;
    fn of(value: &Value) -> Option<&str> {
        match value {
            Value::Text(text) => Some(text),
            _ => None,
        }
    }
}

impl Written for Text {
    fn written(of: &str) -> Value {
        Value::Text(of.to_owned())
    }
}

impl Held for Number {
    type Of<'a> = f64;
    fn of(value: &Value) -> Option<f64> {
        match value {
            Value::Number(n) => Some(*n),
            _ => None,
        }
    }
}

impl Written for Number {
    fn written(of: f64) -> Value {
        Value::Number(of)
    }
}

impl Held for Whole {
    type Of<'a> = u32;
    fn of(value: &Value) -> Option<u32> {
        match value {
            // Ranges of whole numbers lie far within.
            Value::Number(n) => Some(*n as u32),
            _ => None,
        }
    }
}

impl Written for Whole {
    fn written(of: u32) -> Value {
        Value::Number(f64::from(of))
    }
}

impl Held for Flag {
    type Of<'a> = bool;
    fn of(value: &Value) -> Option<bool> {
        match value {
            Value::Flag(flag) => Some(*flag),
            _ => None,
        }
    }
}

impl Written for Flag {
    fn written(of: bool) -> Value {
        Value::Flag(of)
    }
}

impl<W: Word> Held for OneOf<W> {
    type Of<'a> = W;
    fn of(value: &Value) -> Option<W> {
        Text::of(value).and_then(W::of)
    }
}

impl<W: Word> Written for OneOf<W> {
    fn written(of: W) -> Value {
        Value::Text(of.written().to_owned())
    }
}

impl<W: Word> Held for AnyOf<W> {
    type Of<'a> = Vec<W>;
    fn of(value: &Value) -> Option<Vec<W>> {
        match value {
            Value::Words(words) => Some(words.iter().filter_map(|w| W::of(w)).collect()),
            _ => None,
        }
    }
}

/// The struct of a table's rows, whatever they are borrowed from.
pub trait FromRow: 'static {
    /// The struct.
    type Of<'a>;
    /// What a row says; none when it is a row of another table.
    fn from_row(row: &Row) -> Option<Self::Of<'_>>;
}

impl<R: FromRow> Held for One<R> {
    type Of<'a> = R::Of<'a>;
    fn of(value: &Value) -> Option<R::Of<'_>> {
        match value {
            Value::Row(row) => R::from_row(row),
            _ => None,
        }
    }
}

impl<R: FromRow> Held for Several<R> {
    type Of<'a> = Vec<R::Of<'a>>;
    fn of(value: &Value) -> Option<Vec<R::Of<'_>>> {
        match value {
            Value::Rows(rows) => Some(rows.iter().filter_map(R::from_row).collect()),
            _ => None,
        }
    }
}

/// A row by the typed keys of its table.
impl Row {
    /// What is written under a key of the table.
    pub fn get<K: Held>(&self, key: Key<K>) -> Option<K::Of<'_>> {
        K::of(&self.entry(key.name)?.value)
    }

    /// The tables under a key as rows; none when the key isn't there.
    pub fn rows<R>(&self, key: Key<Several<R>>) -> &[Self] {
        match self.entry(key.name).map(|e| &e.value) {
            Some(Value::Rows(rows)) => rows,
            _ => &[],
        }
    }

    /// The table under a key as a row.
    pub fn row<R>(&self, key: Key<One<R>>) -> Option<&Self> {
        self.below(key.name)
    }

    /// The rows under a key, made when there are none.
    pub fn rows_mut<R>(&mut self, key: Key<Several<R>>) -> &mut Vec<Self> {
        let there = |e: &Entry| e.key == key.name && matches!(e.value, Value::Rows(_));
        if !self.entries.iter().any(there) {
            self.remove(key.name);
            self.set(key.name, Value::Rows(Vec::new()));
        }
        match self
            .entries
            .iter_mut()
            .find(|e| there(e))
            .map(|e| &mut e.value)
        {
            Some(Value::Rows(rows)) => rows,
            _ => unreachable!("the rows were put there above"),
        }
    }

    /// Puts a value under a key of the table.
    pub fn put<K: Written>(&mut self, key: Key<K>, value: K::Of<'_>) {
        let known = self.set(key.name, K::written(value));
        debug_assert!(known, "{} has no field {}", self.table.name, key.name);
    }

    /// Takes away the value of a key of the table.
    pub fn take<K>(&mut self, key: Key<K>) {
        self.remove(key.name);
    }
}

/// A table and the struct of its rows, from one list of fields: `key: kind(…) need, "what it means";`
macro_rules! table {
    (
        $(#[doc = $what:literal])*
        $name:ident, $of:ident = $called:literal, $about:literal;
        $($key:ident: $kind:ident $with:tt $need:ident $(($otherwise:expr))?, $means:literal;)*
    ) => {
        $(#[doc = $what])*
        pub static $name: $crate::written::field::Table = $crate::written::field::Table {
            name: $called,
            doc: $about,
            fields: &[$($crate::written::field::Field {
                key: stringify!($key),
                kind: $crate::written::typed::kind!($kind $with),
                need: $crate::written::typed::need!($need $(($otherwise))?),
                doc: $means,
            }),*],
        };

        $(#[doc = $what])*
        #[derive(Clone, Debug)]
        #[allow(missing_docs)] // each field's meaning stands in the list
        pub struct $of<'a> {
            /// The row as written.
            pub row: &'a $crate::written::row::Row,
            $(pub $key: $crate::written::typed::Told<$crate::written::typed::value!($kind $with $need)>,)*
        }

        #[allow(non_upper_case_globals, missing_docs)] // a key has the name it has in a file
        impl $of<'_> {
            $(pub const $key: $crate::written::typed::Key<$crate::written::typed::held!($kind $with)> =
                $crate::written::typed::Key::new(stringify!($key));)*
        }

        impl $crate::written::typed::FromRow for $of<'static> {
            type Of<'a> = $of<'a>;
            fn from_row(row: &$crate::written::row::Row) -> Option<$of<'_>> {
                std::ptr::eq(row.table, &$name).then(|| $of {
                    row,
                    $($key: $crate::written::typed::told!(row, $of::$key, $kind $need $(($otherwise))?),)*
                })
            }
        }

        impl<'a> $of<'a> {
            /// What a row of the table says.
            pub fn read(row: &'a $crate::written::row::Row) -> Option<Self> {
                <$of<'static> as $crate::written::typed::FromRow>::from_row(row)
            }
        }
    };
}
pub(super) use table;

/// The kind of a field in the list of fields.
macro_rules! kind {
    (text($most:expr)) => {
        $crate::written::field::Kind::Text($most)
    };
    (id()) => {
        $crate::written::field::Kind::Id
    };
    (material()) => {
        $crate::written::field::Kind::Material
    };
    (treatment()) => {
        $crate::written::field::Kind::Treatment
    };
    (number($unit:expr, $low:expr, $high:expr)) => {
        $crate::written::field::Kind::Number($unit, measure::Range::new($low, $high))
    };
    (number($unit:expr, $range:expr)) => {
        $crate::written::field::Kind::Number($unit, $range)
    };
    (whole($low:expr, $high:expr)) => {
        $crate::written::field::Kind::Whole(measure::Range::new($low, $high))
    };
    (flag()) => {
        $crate::written::field::Kind::Flag
    };
    (choice($word:ty)) => {
        $crate::written::field::Kind::Choice($crate::written::word::words::<$word>)
    };
    (choices($word:ty)) => {
        $crate::written::field::Kind::Choices($crate::written::word::words::<$word>)
    };
    (table($table:ident, $of:ident)) => {
        $crate::written::field::Kind::Table(&$table)
    };
    (inline($table:ident, $of:ident)) => {
        $crate::written::field::Kind::Inline(&$table)
    };
    (tables($table:ident, $of:ident, $most:expr)) => {
        $crate::written::field::Kind::Tables(&$table, $most)
    };
    (lines($table:ident, $of:ident, $most:expr)) => {
        $crate::written::field::Kind::Lines(&$table, $most)
    };
    (forms($forms:ident, $of:ident, $most:expr)) => {
        $crate::written::field::Kind::Forms($forms, $most)
    };
}
pub(super) use kind;

/// Whether a field has to be there, in the list of fields.
macro_rules! need {
    (required) => {
        $crate::written::field::Need::Required
    };
    (optional) => {
        $crate::written::field::Need::Optional
    };
    (or($n:expr)) => {
        $crate::written::field::Need::Or($n)
    };
    (or_word($word:expr)) => {
        $crate::written::field::Need::OrWord($word)
    };
}
pub(super) use need;

/// The kind of value that a field holds.
macro_rules! held {
    (number $with:tt) => { $crate::written::typed::Number };
    (whole $with:tt) => { $crate::written::typed::Whole };
    (flag $with:tt) => { $crate::written::typed::Flag };
    (choice($word:ty)) => { $crate::written::typed::OneOf<$word> };
    (choices($word:ty)) => { $crate::written::typed::AnyOf<$word> };
    (table($table:ident, $of:ident)) => { $crate::written::typed::One<$of<'static>> };
    (inline($table:ident, $of:ident)) => { $crate::written::typed::One<$of<'static>> };
    (tables($table:ident, $of:ident, $most:expr)) => { $crate::written::typed::Several<$of<'static>> };
    (lines($table:ident, $of:ident, $most:expr)) => { $crate::written::typed::Several<$of<'static>> };
    (forms($table:ident, $of:ident, $most:expr)) => { $crate::written::typed::Several<$of<'static>> };
    ($text:ident $with:tt) => { $crate::written::typed::Text };
}
pub(super) use held;

/// The type of a field in the struct of a row.
macro_rules! value {
    (tables $with:tt $need:ident) => { <$crate::written::typed::held!(tables $with) as $crate::written::typed::Held>::Of<'a> };
    (lines $with:tt $need:ident) => { <$crate::written::typed::held!(lines $with) as $crate::written::typed::Held>::Of<'a> };
    (forms $with:tt $need:ident) => { <$crate::written::typed::held!(forms $with) as $crate::written::typed::Held>::Of<'a> };
    ($kind:ident $with:tt or) => { <$crate::written::typed::held!($kind $with) as $crate::written::typed::Held>::Of<'a> };
    ($kind:ident $with:tt $need:ident) => {
        Option<<$crate::written::typed::held!($kind $with) as $crate::written::typed::Held>::Of<'a>>
    };
}
pub(super) use value;

/// Reads a field of a row.
macro_rules! told {
    ($row:ident, $key:expr, tables $need:ident) => {
        $crate::written::typed::Told::of($row, $key, |v| v, Vec::new)
    };
    ($row:ident, $key:expr, lines $need:ident) => {
        $crate::written::typed::Told::of($row, $key, |v| v, Vec::new)
    };
    ($row:ident, $key:expr, forms $need:ident) => {
        $crate::written::typed::Told::of($row, $key, |v| v, Vec::new)
    };
    ($row:ident, $key:expr, $kind:ident or($n:expr)) => {
        $crate::written::typed::Told::of($row, $key, |v| v, || $n)
    };
    ($row:ident, $key:expr, choice or_word($word:expr)) => {
        $crate::written::typed::Told::of($row, $key, Some, || {
            $crate::written::word::Word::of($word)
        })
    };
    ($row:ident, $key:expr, $kind:ident or_word($word:expr)) => {
        $crate::written::typed::Told::of($row, $key, Some, || Some($word))
    };
    ($row:ident, $key:expr, $kind:ident $need:ident) => {
        $crate::written::typed::Told::of($row, $key, Some, || None)
    };
}
pub(super) use told;
