//! Everything that can be wrong with a study, with what was found.

use super::Code;
use crate::written::field::Field;
use baking::line::LineError;
use baking::oven::OvenError;
use baking::piece::{PathError, PatternError, PieceError};
use baking::properties::sorption::SorptionError;
use formula::{ChangeError, FormulaError, MaterialError};
use measure::Range;

/// What is wrong. Names stand as they were written.
#[derive(Clone, Debug, PartialEq)]
pub enum What {
    /// The text isn't TOML.
    Syntax {
        /// The parser's words.
        told: String,
    },
    /// The text is too long.
    TooLarge {
        /// Its length.
        bytes: usize,
    },
    /// Another version of the written form.
    Version {
        /// The version found.
        found: i64,
    },
    /// A key that the table doesn't have.
    UnknownKey {
        /// The table's name.
        table: &'static str,
        /// The key.
        key: String,
        /// Keys that the table has.
        keys: Vec<&'static str>,
        /// Those that look alike.
        near: Vec<&'static str>,
        /// Tables below that have it.
        under: Vec<&'static str>,
    },
    /// A key but for its unit.
    KeyInAnotherUnit {
        /// The key.
        key: String,
        /// Its unit; none when it doesn't say.
        unit: Option<&'static str>,
        /// The field meant.
        meant: &'static Field,
        /// The number in the field's unit, when it can be converted.
        converted: Option<f64>,
    },
    /// A text where a number belongs.
    NumberInQuotes {
        /// The text.
        text: String,
        /// The field.
        field: &'static Field,
        /// The unit that stands in the text; none when it holds no number.
        unit: Option<String>,
        /// The number in the field's unit, when it can be told.
        converted: Option<f64>,
    },
    /// Something of another type.
    WrongType {
        /// What was found.
        found: Kind,
        /// The field.
        field: &'static Field,
    },
    /// Something that isn't a text where a text belongs.
    NotText {
        /// What was found.
        found: Kind,
        /// The field.
        field: &'static Field,
        /// The value as written, where it is short.
        shown: Option<String>,
    },
    /// Something that isn't a table in an array of tables.
    NotInline {
        /// What was found.
        found: Kind,
    },
    /// NaN or infinity.
    NotFinite {
        /// What was found.
        found: f64,
        /// The field.
        field: &'static Field,
    },
    /// Not a whole number.
    NotWhole {
        /// What was found.
        found: f64,
        /// The field.
        field: &'static Field,
        /// The nearest that may be.
        nearest: f64,
    },
    /// Outside the allowed range.
    OutOfRange {
        /// What was found.
        found: f64,
        /// Its unit.
        unit: &'static str,
        /// What is allowed.
        allowed: Range,
    },
    /// A text that is too long.
    TooLong {
        /// Its length in characters.
        length: usize,
        /// The most.
        most: usize,
    },
    /// A control character in a text.
    ControlCharacter(char),
    /// Not a short name.
    NotAName {
        /// As written.
        text: String,
    },
    /// Not a currency.
    NotACurrency {
        /// As written.
        text: String,
    },
    /// A word that isn't one of the choices.
    UnknownChoice {
        /// As written.
        word: String,
        /// Those that are.
        words: Vec<&'static str>,
    },
    /// A field that has to be there.
    Missing(&'static Field),
    /// A field that has to be there once all values are merged, and why.
    Wanted {
        /// The field.
        field: &'static Field,
        /// Why.
        why: String,
    },
    /// A change that doesn't say what it does.
    NoForm {
        /// The keys it has.
        keys: Vec<String>,
        /// The keys that tell the forms apart.
        marks: Vec<&'static str>,
    },
    /// A change that does several things.
    ManyForms {
        /// The keys of the forms.
        marks: Vec<&'static str>,
    },
    /// More than a study holds.
    TooMany {
        /// How many.
        found: usize,
        /// How many may be.
        most: usize,
    },
    /// No treatment.
    NoTreatments,
    /// A treatment that the study doesn't have.
    UnknownTreatment {
        /// As written.
        wanted: String,
        /// Those it has.
        there: Vec<String>,
    },
    /// A material that neither shelf nor study has.
    UnknownMaterial {
        /// As written.
        id: String,
        /// Those that are called alike.
        near: Vec<String>,
    },
    /// Two treatments with one id.
    TwoTreatments {
        /// The id.
        id: String,
    },
    /// Two materials with one id.
    TwoMaterials {
        /// The id.
        id: String,
    },
    /// Treatments that start from each other.
    TreatmentsInARound {
        /// Their ids.
        ids: Vec<String>,
    },
    /// Materials that are made from each other.
    MaterialsInARound {
        /// Their ids.
        ids: Vec<String>,
    },
    /// Changes without a treatment to start from.
    ChangesAlone,
    /// Lines and a treatment to start from.
    FromAndLines,
    /// Neither lines nor changes.
    NoFormula {
        /// The treatment.
        id: String,
    },
    /// The balance line has an amount.
    BalanceHasAmount,
    /// A line without an amount.
    NoAmount,
    /// Two balance lines.
    TwoBalances,
    /// A balance line of parts.
    BalanceOfParts,
    /// Two keys that say the same in two ways.
    Either {
        /// One.
        one: &'static str,
        /// The other.
        other: &'static str,
    },
    /// A preset with a kind.
    PresetHasKind,
    /// A measure that its shape, former or pattern doesn't have.
    Idle {
        /// What it is, e.g. `round`.
        of: &'static str,
        /// The key.
        key: &'static str,
        /// The keys that it has.
        has: Vec<&'static str>,
        /// What else to write.
        or: &'static str,
    },
    /// A place of holes that the pattern doesn't have.
    IdlePlaces {
        /// The pattern.
        pattern: &'static str,
        /// The key.
        key: &'static str,
        /// The pattern that has it.
        owner: &'static str,
    },
    /// A former that doesn't form as the process says.
    OtherFormer {
        /// The former.
        former: &'static str,
        /// The way of forming.
        forming: &'static str,
        /// The former that does.
        fits: &'static str,
    },
    /// The spread of a value that isn't given.
    SpreadAlone {
        /// The key of the value.
        key: &'static str,
    },
    /// One of two keys that need each other.
    Alone {
        /// The key that is given.
        there: &'static str,
        /// The key that isn't.
        missing: &'static str,
    },
    /// The spread of a water uptake that isn't given.
    UptakeSpreadAlone,
    /// A price and a range of prices.
    PriceTwice,
    /// Half of a range of prices.
    HalfAPrice {
        /// The end that isn't there.
        missing: &'static str,
    },
    /// A climate that can't be read.
    Climate(ClimateFault),
    /// Points that can't be read.
    Points {
        /// The key.
        key: &'static str,
        /// What is wrong.
        fault: PointsFault,
    },
    /// The piece.
    Piece(PieceError),
    /// Its drawn outline.
    Path(PathError),
    /// Its docker holes.
    Holes(PatternError),
    /// Its readings of moisture and water activity.
    Readings(SorptionError),
    /// A limit whose least lies above its most.
    LimitsCross {
        /// At least.
        least: f64,
        /// At most.
        most: f64,
    },
    /// A number that is learned twice.
    LearnedTwice(String),
    /// Correlations that can't all hold.
    NotTogether,
    /// The oven.
    Oven(OvenError),
    /// The line.
    Line(LineError),
    /// The formula.
    Formula(FormulaError),
    /// A change of a formula.
    Change(ChangeError),
    /// A material of one's own, and a material of the shelf that is called alike.
    Material(MaterialError, Option<String>),
}

/// What stands where something else belongs.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// A text.
    Text,
    /// A number.
    Number,
    /// true or false.
    Flag,
    /// A date.
    Date,
    /// An array.
    Array,
    /// Several tables.
    Tables,
    /// A table.
    Table,
}

/// What is wrong with a climate.
#[derive(Clone, Debug, PartialEq)]
pub enum ClimateFault {
    /// Too many spells share a year.
    Spells {
        /// How many.
        found: usize,
        /// How many may be.
        most: usize,
    },
    /// A spell that can't be read.
    Spell(String),
}

/// What is wrong with points.
#[derive(Clone, Debug, PartialEq)]
pub enum PointsFault {
    /// A word that isn't a number.
    Word(String),
    /// Half a pair.
    Odd(usize),
    /// None.
    None,
}

/// A value that was found.
#[derive(Clone, Debug, PartialEq)]
pub enum Found {
    /// A number in a unit.
    Number {
        /// The number.
        value: f64,
        /// Its unit; empty for none.
        unit: &'static str,
    },
    /// A text or word.
    Text(String),
    /// true or false.
    Flag(bool),
    /// A text of so many letters.
    Letters(usize),
    /// A control character.
    Control(char),
    /// So many of something.
    Count(usize),
    /// Nothing.
    Empty,
    /// Something else.
    Other(&'static str),
}

/// What is allowed in place of what was found.
#[derive(Clone, Debug, PartialEq)]
pub enum Allowed {
    /// A number in a range.
    Range {
        /// The range.
        range: Range,
        /// Its unit; empty for none.
        unit: &'static str,
    },
    /// What a field takes.
    Field(&'static Field),
    /// One of some words.
    OneOf(Vec<&'static str>),
    /// Text of so many letters.
    Letters {
        /// The fewest.
        least: usize,
        /// The most.
        most: usize,
    },
    /// At most so many.
    AtMost(usize),
    /// A number and what it stands for.
    AtLeast {
        /// The number.
        value: f64,
        /// Why.
        why: &'static str,
    },
    /// Something told in words.
    Words(&'static str),
}

impl What {
    /// What kind of problem it is.
    pub fn code(&self) -> Code {
        match self {
            Self::Syntax { .. } => Code::Syntax,
            Self::TooLarge { .. } => Code::TooLarge,
            Self::Version { .. } => Code::Version,
            Self::UnknownKey { .. } => Code::UnknownKey,
            Self::KeyInAnotherUnit { .. } => Code::WrongUnit,
            Self::NumberInQuotes { unit: Some(_), .. } => Code::WrongUnit,
            Self::NumberInQuotes { unit: None, .. }
            | Self::WrongType { .. }
            | Self::NotText { .. }
            | Self::NotInline { .. }
            | Self::NotWhole { .. } => Code::WrongType,
            Self::NotFinite { .. } => Code::NotFinite,
            Self::OutOfRange { .. }
            | Self::Piece(_)
            | Self::Holes(_)
            | Self::Readings(_)
            | Self::LimitsCross { .. }
            | Self::LearnedTwice(_)
            | Self::NotTogether => Code::OutOfRange,
            Self::TooLong { .. }
            | Self::ControlCharacter(_)
            | Self::NotAName { .. }
            | Self::NotACurrency { .. }
            | Self::Climate(_)
            | Self::Points { .. }
            | Self::Path(_) => Code::BadText,
            Self::UnknownChoice { .. } => Code::UnknownChoice,
            Self::Missing(_)
            | Self::Wanted { .. }
            | Self::NoForm { .. }
            | Self::NoTreatments
            | Self::NoFormula { .. }
            | Self::NoAmount
            | Self::SpreadAlone { .. }
            | Self::Alone { .. }
            | Self::UptakeSpreadAlone
            | Self::HalfAPrice { .. } => Code::Missing,
            Self::TooMany { .. } => Code::TooMany,
            Self::UnknownTreatment { .. } => Code::UnknownTreatment,
            Self::UnknownMaterial { .. } => Code::UnknownMaterial,
            Self::TwoTreatments { .. } | Self::TwoMaterials { .. } => Code::Duplicate,
            Self::TreatmentsInARound { .. } | Self::MaterialsInARound { .. } => Code::Circular,
            Self::ManyForms { .. }
            | Self::ChangesAlone
            | Self::FromAndLines
            | Self::BalanceHasAmount
            | Self::TwoBalances
            | Self::BalanceOfParts
            | Self::Either { .. }
            | Self::PresetHasKind
            | Self::Idle { .. }
            | Self::IdlePlaces { .. }
            | Self::OtherFormer { .. }
            | Self::PriceTwice => Code::Contradiction,
            Self::Formula(error) => match error {
                FormulaError::NotHundred { .. } | FormulaError::NoRoomForBalance { .. } => {
                    Code::Sum
                }
                FormulaError::Twice { .. } => Code::Duplicate,
                _ => Code::CannotApply,
            },
            Self::Change(error) => match error {
                ChangeError::UnknownLine { .. } => Code::UnknownMaterial,
                ChangeError::OutOfRange { .. } => Code::OutOfRange,
                ChangeError::Formula(FormulaError::NoRoomForBalance { .. }) => Code::Sum,
                _ => Code::CannotApply,
            },
            Self::Oven(_) | Self::Line(_) | Self::Material(..) => Code::CannotApply,
        }
    }

    /// The value that was found, where it is one.
    pub fn found(&self) -> Option<Found> {
        let number = |value: f64, unit| Some(Found::Number { value, unit });
        let text = |text: &str| Some(Found::Text(text.to_owned()));
        match self {
            Self::OutOfRange { found, unit, .. } => number(*found, unit),
            Self::NotFinite { found, field } | Self::NotWhole { found, field, .. } => {
                number(*found, field.kind.unit())
            }
            Self::Piece(PieceError::Thickness { value_mm, .. }) => number(*value_mm, "mm"),
            Self::Piece(PieceError::Outline(error)) => number(error.value_mm, "mm"),
            Self::Oven(OvenError::Range { value, unit, .. })
            | Self::Line(LineError::Range { value, unit, .. }) => number(*value, unit),
            Self::Formula(FormulaError::NotHundred { sum, .. }) => number(*sum, "%"),
            Self::Change(ChangeError::OutOfRange { value, .. }) => number(*value, ""),
            Self::NumberInQuotes { text: found, .. }
            | Self::NotAName { text: found }
            | Self::NotACurrency { text: found }
            | Self::UnknownChoice { word: found, .. }
            | Self::UnknownKey { key: found, .. }
            | Self::KeyInAnotherUnit { key: found, .. }
            | Self::UnknownTreatment { wanted: found, .. }
            | Self::UnknownMaterial { id: found, .. } => text(found),
            Self::TooLong { length, .. } => Some(Found::Letters(*length)),
            Self::ControlCharacter(c) => Some(Found::Control(*c)),
            Self::TooMany { found, .. } => Some(Found::Count(*found)),
            Self::Missing(_) | Self::Wanted { .. } | Self::NoAmount | Self::NoFormula { .. } => {
                Some(Found::Empty)
            }
            _ => None,
        }
    }

    /// What is allowed, where that is a range, a field's kind or some words.
    pub fn allowed(&self) -> Option<Allowed> {
        let range = |range: Range, unit| Some(Allowed::Range { range, unit });
        match self {
            Self::OutOfRange { allowed, unit, .. } => range(*allowed, unit),
            Self::Piece(PieceError::Thickness { allowed, .. }) => range(*allowed, "mm"),
            Self::Piece(PieceError::Outline(error)) => {
                range(Range::new(error.low_mm, error.high_mm), "mm")
            }
            Self::Oven(OvenError::Range { allowed, unit, .. })
            | Self::Line(LineError::Range { allowed, unit, .. }) => range(*allowed, unit),
            Self::NumberInQuotes { field, .. }
            | Self::WrongType { field, .. }
            | Self::NotText { field, .. }
            | Self::NotFinite { field, .. }
            | Self::NotWhole { field, .. }
            | Self::Missing(field)
            | Self::Wanted { field, .. } => Some(Allowed::Field(field)),
            Self::UnknownChoice { words, .. } => Some(Allowed::OneOf(words.clone())),
            Self::TooLong { most, .. } => Some(Allowed::Letters {
                least: 0,
                most: *most,
            }),
            Self::TooMany { most, .. } => Some(Allowed::AtMost(*most)),
            _ => None,
        }
    }
}
