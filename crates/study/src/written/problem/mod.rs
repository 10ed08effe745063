//! What is wrong with a study, as data; [`Problem::words`] words it for the person who wrote it.

mod what;
mod words;

pub use baking::piece::PatternError;
pub use what::{Allowed, ClimateFault, Found, Kind, PointsFault, What};
pub(super) use words::STORE_C;
pub use words::{Words, did_you_mean};

use super::path::{At, Path};
use super::row::Place;
use measure::Units;
use std::ops::Range;

/// Most problems told at once; a file with more has one cause, and a list that long isn't read.
pub const MOST_PROBLEMS: usize = 100;

/// The kinds of things that can be wrong, each with a stable short name.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Code {
    /// The text isn't TOML.
    Syntax,
    /// The text is larger than a study can be.
    TooLarge,
    /// The file is of another version of the written form.
    Version,
    /// A key that the table doesn't have.
    UnknownKey,
    /// A key or a text whose unit isn't the one the key wants.
    WrongUnit,
    /// A value of the wrong type.
    WrongType,
    /// NaN or infinity.
    NotFinite,
    /// A number outside its allowed range.
    OutOfRange,
    /// A text that is empty or too long, or an identifier with odd letters.
    BadText,
    /// A key that has to be there and isn't.
    Missing,
    /// A word that isn't one of the choices.
    UnknownChoice,
    /// A material that neither the shelf nor the file has.
    UnknownMaterial,
    /// A treatment that the file doesn't have.
    UnknownTreatment,
    /// Two things with the same identifier.
    Duplicate,
    /// More of something than a study can hold.
    TooMany,
    /// Things that exclude each other, or of which exactly one is wanted.
    Contradiction,
    /// Percentages that don't sum.
    Sum,
    /// Treatments or materials that are each made from the other.
    Circular,
    /// Something the trade's arithmetic can't do, such as swapping a material that isn't there.
    CannotApply,
}

impl Code {
    /// Every kind of problem.
    pub const ALL: [Self; 19] = [
        Self::Syntax,
        Self::TooLarge,
        Self::Version,
        Self::UnknownKey,
        Self::WrongUnit,
        Self::WrongType,
        Self::NotFinite,
        Self::OutOfRange,
        Self::BadText,
        Self::Missing,
        Self::UnknownChoice,
        Self::UnknownMaterial,
        Self::UnknownTreatment,
        Self::Duplicate,
        Self::TooMany,
        Self::Contradiction,
        Self::Sum,
        Self::Circular,
        Self::CannotApply,
    ];

    /// The stable short name.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Syntax => "syntax",
            Self::TooLarge => "too-large",
            Self::Version => "version",
            Self::UnknownKey => "unknown-key",
            Self::WrongUnit => "wrong-unit",
            Self::WrongType => "wrong-type",
            Self::NotFinite => "not-finite",
            Self::OutOfRange => "out-of-range",
            Self::BadText => "bad-text",
            Self::Missing => "missing",
            Self::UnknownChoice => "unknown-choice",
            Self::UnknownMaterial => "unknown-material",
            Self::UnknownTreatment => "unknown-treatment",
            Self::Duplicate => "duplicate",
            Self::TooMany => "too-many",
            Self::Contradiction => "contradiction",
            Self::Sum => "sum",
            Self::Circular => "circular",
            Self::CannotApply => "cannot-apply",
        }
    }
}

/// One problem: where, and what is wrong.
#[derive(Clone, Debug, PartialEq)]
pub struct Problem {
    /// Bytes of the text that the study was read from, on character borders inside it; none for a study that was
    /// edited since.
    pub span: Option<Range<usize>>,
    /// The way to the value.
    pub path: Path,
    /// What is wrong: what was found, what is allowed, what to write instead.
    pub what: What,
}

impl Problem {
    /// What kind of problem.
    pub fn code(&self) -> Code {
        self.what.code()
    }

    /// The problem for a person who reads in these units.
    pub fn words(&self, units: Units) -> Words {
        self.what.words(units)
    }
}

impl std::fmt::Display for Problem {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        if !self.path.is_whole() {
            write!(f, "{}: ", self.path)?;
        }
        write!(f, "{}", self.words(Units::Metric))
    }
}

/// The problems so far.
#[derive(Debug, Default)]
pub(super) struct Problems(pub Vec<Problem>);

impl Problems {
    /// Keeps a problem.
    pub fn tell(&mut self, at: &At<'_>, place: &Place, what: What) {
        if self.0.len() < MOST_PROBLEMS {
            self.0.push(Problem {
                span: place.0.clone(),
                path: at.path(),
                what,
            });
        }
    }

    /// What was found when nothing is wrong, else the problems in the order of the text.
    pub fn or<T>(mut self, found: Option<T>) -> Result<T, Vec<Problem>> {
        self.0
            .sort_by_key(|p| p.span.as_ref().map_or((0, 0), |s| (s.start, s.end)));
        match found {
            Some(found) if self.0.is_empty() => Ok(found),
            _ => Err(self.0),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn codes_have_different_names() {
        let mut words: Vec<_> = Code::ALL.iter().map(|c| c.word()).collect();
        words.sort_unstable();
        words.dedup();
        assert_eq!(words.len(), Code::ALL.len());
    }
}
