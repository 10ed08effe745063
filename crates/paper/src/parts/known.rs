//! How a number is known, as a small mark and in words.

use maud::{Markup, html};
use measure::Grade;

/// How a shown number is known.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Known {
    /// Worked out by the model, or read in print: no mark.
    Calculated,
    /// Learned from the book's own batches: an open circle.
    Learned,
    /// Measured: a filled circle.
    Measured,
    /// Assumed or from memory: a dotted underline.
    Assumed,
    /// Outside of what its model was held against: a wavy underline.
    Beyond,
}

impl Known {
    /// Every way.
    pub const ALL: [Self; 5] = [
        Self::Calculated,
        Self::Learned,
        Self::Measured,
        Self::Assumed,
        Self::Beyond,
    ];

    /// The word shown to people.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Calculated => "calculated",
            Self::Learned => "learned",
            Self::Measured => "measured",
            Self::Assumed => "assumed or recalled",
            Self::Beyond => "beyond what was tested",
        }
    }

    /// The class in the style sheet.
    pub(crate) const fn class(self) -> &'static str {
        match self {
            Self::Calculated => "calculated",
            Self::Learned => "learned",
            Self::Measured => "measured",
            Self::Assumed => "assumed",
            Self::Beyond => "beyond",
        }
    }
}

impl From<Grade> for Known {
    fn from(grade: Grade) -> Self {
        match grade {
            Grade::Measured => Self::Measured,
            Grade::Learned => Self::Learned,
            Grade::Published | Grade::Computed => Self::Calculated,
            Grade::Recalled | Grade::Assumed => Self::Assumed,
        }
    }
}

/// A number's text with its mark; the word is there for those who hear the page.
pub fn known(text: &str, how: Known) -> Markup {
    html! {
        span .known .(how.class()) title=(how.word()) {
            (text)
            @if how != Known::Calculated { span .unseen { " (" (how.word()) ")" } }
        }
    }
}
