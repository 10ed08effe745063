//! Where in a batch a value was taken: a piece, a position, a bag on a day, a dog in a period.

use serde::{Deserialize, Serialize};

/// A part of a batch, or of the time after it, that values are told apart by.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
#[expect(missing_docs, reason = "the words say it")]
pub enum Part {
    Tray,
    Position,
    Piece,
    Bag,
    Dog,
    Period,
    Day,
    Reading,
}

impl Part {
    /// Every part, in the order in which they are told.
    pub const ALL: [Self; 8] = [
        Self::Tray,
        Self::Position,
        Self::Piece,
        Self::Bag,
        Self::Dog,
        Self::Period,
        Self::Day,
        Self::Reading,
    ];

    /// The word in rows, heads of tables, and for people.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Tray => "tray",
            Self::Position => "position",
            Self::Piece => "piece",
            Self::Bag => "bag",
            Self::Dog => "dog",
            Self::Period => "period",
            Self::Day => "day",
            Self::Reading => "reading",
        }
    }

    /// The part of a word.
    pub fn from_word(word: &str) -> Option<Self> {
        let wanted = word.trim();
        Self::ALL
            .into_iter()
            .find(|p| p.word().eq_ignore_ascii_case(wanted))
    }
}

/// A unit within a batch: each part with its name, at most once, in the order of [`Part::ALL`].
#[derive(Clone, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(transparent)]
pub struct On(Vec<(Part, String)>);

/// A place that can't be read.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error(
    "‘{text}’ isn’t a place in a batch: {why}; write it like piece=3, or position=left;piece=2. The parts are {}",
    Part::ALL.map(Part::word).join(", ")
)]
pub struct OnError {
    /// What was written.
    pub text: String,
    /// What is wrong with it.
    pub why: String,
}

impl On {
    /// The whole batch.
    pub const fn batch() -> Self {
        Self(Vec::new())
    }

    /// One part.
    pub fn one(part: Part, name: impl Into<String>) -> Self {
        Self(vec![(part, name.into())])
    }

    /// With a part more, or with another name for it.
    #[must_use]
    pub fn and(mut self, part: Part, name: impl Into<String>) -> Self {
        self.0.retain(|(p, _)| *p != part);
        self.0.push((part, name.into()));
        self.0.sort_by_key(|(p, _)| *p);
        self
    }

    /// Reads `piece=3` or `position=left;piece=2`; nothing is the whole batch.
    ///
    /// ```
    /// use bench::{On, Part};
    /// let on = On::read("piece=2; position=left").unwrap();
    /// assert_eq!(on.get(Part::Piece), Some("2"));
    /// assert_eq!(on.to_string(), "position=left;piece=2");
    /// assert!(On::read("shelf=3").is_err());
    /// ```
    ///
    /// # Errors
    /// A part that isn't one, a part twice, a part without a name.
    pub fn read(text: &str) -> Result<Self, OnError> {
        let wrong = |why: String| OnError {
            text: text.to_owned(),
            why,
        };
        let mut on = Self::batch();
        for pair in text.split(';').map(str::trim).filter(|p| !p.is_empty()) {
            let (word, name) = pair
                .split_once('=')
                .ok_or_else(|| wrong(format!("‘{pair}’ has no name after an equals sign")))?;
            let part = Part::from_word(word)
                .ok_or_else(|| wrong(format!("there is no part ‘{}’", word.trim())))?;
            let name = name.trim();
            if name.is_empty() {
                return Err(wrong(format!("the {} has no name", part.word())));
            }
            if on.get(part).is_some() {
                return Err(wrong(format!("the {} is told twice", part.word())));
            }
            on = on.and(part, name);
        }
        Ok(on)
    }

    /// The name of a part.
    pub fn get(&self, part: Part) -> Option<&str> {
        let found = self.0.iter().find(|(p, _)| *p == part)?;
        Some(&found.1)
    }

    /// Whether it is the whole batch.
    pub fn is_batch(&self) -> bool {
        self.0.is_empty()
    }

    /// Every part with its name.
    pub fn parts(&self) -> impl Iterator<Item = (Part, &str)> {
        self.0.iter().map(|(p, n)| (*p, n.as_str()))
    }

    /// For people: `left, piece 2`.
    pub fn told(&self) -> String {
        let told = self.0.iter().map(|(p, n)| match p {
            Part::Position => n.clone(),
            p => format!("{} {n}", p.word()),
        });
        told.collect::<Vec<_>>().join(", ")
    }
}

impl std::fmt::Display for On {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        for (i, (part, name)) in self.0.iter().enumerate() {
            let gap = if i == 0 { "" } else { ";" };
            write!(f, "{gap}{}={name}", part.word())?;
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn places_read_back_and_odd_ones_say_what_is_wrong() {
        for text in ["", "piece=3", "bag=2;day=14", "dog=Rex;day=1"] {
            assert_eq!(On::read(text).unwrap().to_string(), text);
        }
        for (text, word) in [
            ("piece", "equals"),
            ("piece=", "no name"),
            ("piece=1;Piece=2", "twice"),
            ("shelf=2", "shelf"),
        ] {
            let told = On::read(text).unwrap_err().to_string();
            assert!(told.contains(word) && told.contains("piece=3"), "{told}");
        }
    }
}
