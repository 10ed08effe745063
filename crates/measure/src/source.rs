//! How we know a number: its grade, its source, and the five parts of a constant.

use crate::Range;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use std::borrow::Cow;

/// How sure a number is, from best to worst.
#[derive(
    Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema,
)]
#[serde(rename_all = "snake_case")]
pub enum Grade {
    /// Measured by the user on their own material or plant.
    Measured,
    /// Fitted to the user's own bakes and doughs: an effective value, for this product on this plant.
    Learned,
    /// Seen in print, the place is given.
    Published,
    /// Worked out from other numbers by a stated rule.
    Computed,
    /// From memory, to be confirmed.
    Recalled,
    /// A working assumption to be replaced.
    Assumed,
}

impl Grade {
    /// Every grade, from best to worst.
    pub const ALL: [Self; 6] = [
        Self::Measured,
        Self::Learned,
        Self::Published,
        Self::Computed,
        Self::Recalled,
        Self::Assumed,
    ];

    /// The word shown to people.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Measured => "measured",
            Self::Learned => "learned",
            Self::Published => "published",
            Self::Computed => "computed",
            Self::Recalled => "recalled",
            Self::Assumed => "assumed",
        }
    }

    /// The worse of two grades: a result is no surer than its weakest part.
    ///
    /// ```
    /// use measure::Grade;
    /// assert_eq!(Grade::Published.worse(Grade::Recalled), Grade::Recalled);
    /// ```
    #[must_use]
    pub fn worse(self, other: Self) -> Self {
        self.max(other)
    }
}

/// Where a number comes from, with its grade.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct Source {
    /// Reference in words: a table, a paper, a certificate, "common practice".
    pub text: Cow<'static, str>,
    /// How sure it is.
    pub grade: Grade,
}

impl Source {
    /// A source written in the program text.
    pub const fn fixed(grade: Grade, text: &'static str) -> Self {
        Self {
            text: Cow::Borrowed(text),
            grade,
        }
    }

    /// A source read from a file or typed by a person.
    pub fn new(grade: Grade, text: impl Into<String>) -> Self {
        Self {
            text: Cow::Owned(text.into()),
            grade,
        }
    }
}

/// A constant of the program: value, unit, valid range, source and grade.
#[derive(Clone, Debug, PartialEq)]
pub struct Constant {
    /// What it is, in the field's words.
    pub name: &'static str,
    /// The value, in `unit`.
    pub value: f64,
    /// The unit, as shown.
    pub unit: &'static str,
    /// Where the value may be used or set.
    pub range: Range,
    /// Where it comes from.
    pub source: &'static str,
    /// How sure it is.
    pub grade: Grade,
}

impl Constant {
    /// The constant as a default that was used in a result.
    pub fn used(&self) -> Given {
        Given {
            name: self.name.into(),
            value: Some(self.value),
            unit: self.unit.into(),
            source: Source::fixed(self.grade, self.source),
        }
    }
}

/// A number that a result stands on and that the user didn't necessarily give:
/// listed beside the result so that nothing is assumed in silence.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Given {
    /// What it is.
    pub name: Cow<'static, str>,
    /// Its value in `unit`; none for what is no number, such as the description of a machine.
    pub value: Option<f64>,
    /// Its unit, as shown.
    pub unit: Cow<'static, str>,
    /// Where it comes from and how sure it is.
    pub source: Source,
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn grades_are_ordered_and_named_apart() {
        let mut words: Vec<_> = Grade::ALL.iter().map(|g| g.word()).collect();
        assert!(Grade::ALL.windows(2).all(|w| w[0] < w[1]));
        words.dedup();
        assert_eq!(words.len(), Grade::ALL.len());
    }
}
