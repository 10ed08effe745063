//! What the amounts of a sheet are told per.

use formula::Formula;

/// What amounts are told per.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Per {
    /// The whole mix makes 100.
    #[default]
    Mix,
    /// The flour lines make 100.
    Flour,
    /// The dry matter of all lines makes 100.
    DryMatter,
}

impl Per {
    /// Every way.
    pub const ALL: [Self; 3] = [Self::Mix, Self::Flour, Self::DryMatter];

    /// The words shown to people.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Mix => "per cent of mix",
            Self::Flour => "per cent of flour",
            Self::DryMatter => "per cent of dry matter",
        }
    }

    /// Amounts line by line; none when no line counts as flour.
    pub fn amounts(self, formula: &Formula) -> Option<Vec<f64>> {
        match self {
            Self::Mix => Some(formula.percent_of_mix()),
            Self::Flour => formula.percent_of_flour(),
            Self::DryMatter => Some(formula.percent_of_dry_matter()),
        }
    }
}
