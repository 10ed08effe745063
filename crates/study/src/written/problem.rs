//! What is wrong with a study file, told to the person who wrote it.

use std::ops::Range;

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

/// One problem: where, what was found, what is allowed, what to write instead.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Problem {
    /// Bytes of the text the problem is about; always on character borders inside the text.
    pub span: Range<usize>,
    /// What kind of problem.
    pub code: Code,
    /// The way to the key, e.g. `treatment[barley].lines[3].amount`; empty for the whole file.
    pub key_path: String,
    /// What was found, one sentence without a full stop.
    pub message: String,
    /// What is allowed; may be empty.
    pub allowed: String,
    /// What to write instead; may be empty.
    pub suggestion: String,
}

impl Problem {
    /// A problem with neither allowed values nor a suggestion yet.
    pub fn new(
        code: Code,
        span: Range<usize>,
        key_path: impl Into<String>,
        message: impl Into<String>,
    ) -> Self {
        Self {
            span,
            code,
            key_path: key_path.into(),
            message: message.into(),
            allowed: String::new(),
            suggestion: String::new(),
        }
    }

    /// Adds what is allowed.
    #[must_use]
    pub fn allowed(mut self, allowed: impl Into<String>) -> Self {
        self.allowed = allowed.into();
        self
    }

    /// Adds what to write instead.
    #[must_use]
    pub fn suggest(mut self, suggestion: impl Into<String>) -> Self {
        self.suggestion = suggestion.into();
        self
    }
}

impl std::fmt::Display for Problem {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        if !self.key_path.is_empty() {
            write!(f, "{}: ", self.key_path)?;
        }
        write!(f, "{}", self.message)?;
        if !self.allowed.is_empty() {
            write!(f, "; allowed: {}", self.allowed)?;
        }
        if !self.suggestion.is_empty() {
            write!(f, "; {}", self.suggestion)?;
        }
        Ok(())
    }
}

/// "did you mean a, b or c?" or nothing.
pub fn did_you_mean(names: &[&str]) -> String {
    match names {
        [] => String::new(),
        [one] => format!("did you mean `{one}`?"),
        [rest @ .., last] => format!(
            "did you mean {} or `{last}`?",
            rest.iter()
                .map(|n| format!("`{n}`"))
                .collect::<Vec<_>>()
                .join(", ")
        ),
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
