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

/// Up to three of `names` that look most like `word`, best first; empty when none is near.
pub fn closest<'a>(word: &str, names: impl IntoIterator<Item = &'a str>) -> Vec<&'a str> {
    closest_called(word, names.into_iter().map(|name| (name, name)))
}

/// The same for things that have a name shown to people beside their own: either may be meant.
pub fn closest_called<'a>(
    word: &str,
    names: impl IntoIterator<Item = (&'a str, &'a str)>,
) -> Vec<&'a str> {
    // A long word can't be a misspelt name, and comparing it with every name would take long.
    if word.len() > 80 {
        return Vec::new();
    }
    let word = word.to_lowercase();
    let mut near: Vec<(f64, &str)> = names
        .into_iter()
        .map(|(name, shown)| {
            let shown = shown.to_lowercase().replace(' ', "_");
            let likeness = |name: &str| {
                let spelt = strsim::normalized_damerau_levenshtein(&word, name);
                spelt.max(shared_parts(&word, name))
            };
            (likeness(name).max(likeness(&shown)), name)
        })
        .filter(|(likeness, _)| *likeness > 0.5)
        .collect();
    near.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(b.1)));
    // A material of the file's own may carry a name of the shelf.
    near.dedup_by_key(|(_, name)| *name);
    near.into_iter().take(3).map(|(_, name)| name).collect()
}

/// Share of underscore-separated parts that two names have in common, so that
/// `flour_barley` finds `barley_flour`; a little under 1 so that spelling wins ties.
fn shared_parts(a: &str, b: &str) -> f64 {
    let parts = |s: &str| -> Vec<String> {
        s.split(|c: char| !c.is_alphanumeric())
            .filter(|p| p.len() > 2)
            .map(str::to_owned)
            .collect()
    };
    let (a, b) = (parts(a), parts(b));
    let longest = a.len().max(b.len());
    if longest == 0 {
        return 0.0;
    }
    let shared = a.iter().filter(|p| b.contains(p)).count();
    0.95 * shared as f64 / longest as f64
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
    fn a_name_is_told_once() {
        assert_eq!(closest("slat", ["salt", "water", "salt"]), ["salt"]);
    }

    #[test]
    fn what_people_call_a_thing_finds_it() {
        let shelf = [
            ("poultry_fat", "Chicken fat"),
            ("chicken_meal", "Chicken meal"),
        ];
        assert_eq!(closest_called("chicken_fat", shelf)[0], "poultry_fat");
    }

    #[test]
    fn names_are_found_by_spelling_and_by_parts() {
        let shelf = [
            "barley_flour",
            "barley_malt_flour",
            "rice_flour_white",
            "salt",
        ];
        assert_eq!(closest("barly_flour", shelf)[0], "barley_flour");
        assert_eq!(closest("flour_barley", shelf)[0], "barley_flour");
        assert!(closest("zzz", shelf).is_empty());
        assert!(closest(&"x".repeat(1_000_000), shelf).is_empty());
    }

    #[test]
    fn codes_have_different_names() {
        let mut words: Vec<_> = Code::ALL.iter().map(|c| c.word()).collect();
        words.sort_unstable();
        words.dedup();
        assert_eq!(words.len(), Code::ALL.len());
    }
}
