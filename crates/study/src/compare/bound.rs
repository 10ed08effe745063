//! How a number stands to what it tells, where something it stands on isn't known.

use schemars::JsonSchema;
use serde::Serialize;

/// How a number stands to what it tells.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Bound {
    /// It is the value.
    Exactly,
    /// The value is this or more.
    AtLeast,
    /// The value is this or less.
    AtMost,
    /// The value may lie on either side.
    About,
}

impl Bound {
    /// What the marks mean, for under a table.
    pub const LEGEND: &'static str =
        "≥ at least, ≤ at most, ≈ more or less: something it stands on isn’t known.";

    /// What stands before the number.
    pub const fn mark(self) -> &'static str {
        match self {
            Self::Exactly => "",
            Self::AtLeast => "≥ ",
            Self::AtMost => "≤ ",
            Self::About => "≈ ",
        }
    }

    /// What is known of `a − b`.
    ///
    /// ```
    /// use study::compare::Bound::{About, AtLeast, AtMost, Exactly};
    /// assert_eq!(AtLeast.less(Exactly), AtLeast);
    /// assert_eq!(Exactly.less(AtLeast), AtMost);
    /// assert_eq!(AtLeast.less(AtLeast), About);
    /// ```
    #[must_use]
    pub const fn less(self, other: Self) -> Self {
        match (self, other) {
            (Self::Exactly, Self::Exactly) => Self::Exactly,
            (Self::AtLeast, Self::Exactly | Self::AtMost) | (Self::Exactly, Self::AtMost) => {
                Self::AtLeast
            }
            (Self::AtMost, Self::Exactly | Self::AtLeast) | (Self::Exactly, Self::AtLeast) => {
                Self::AtMost
            }
            _ => Self::About,
        }
    }

    /// Whether a difference has the sign of its number for certain.
    ///
    /// ```
    /// use study::compare::Bound::{About, AtLeast};
    /// assert!(AtLeast.tells_sign(0.3) && !AtLeast.tells_sign(-0.3) && !About.tells_sign(0.3));
    /// ```
    pub fn tells_sign(self, gap: f64) -> bool {
        match self {
            Self::Exactly => true,
            Self::AtLeast => gap > 0.0,
            Self::AtMost => gap < 0.0,
            Self::About => false,
        }
    }
}
