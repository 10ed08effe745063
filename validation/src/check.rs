//! A row: what is required, where it comes from, how it is measured and what is allowed.

/// What a row says about the product.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Kind {
    /// Are the equations solved and the arithmetic done as they should be?
    Verification,
    /// Does it agree with other programs' figures and with what the trade expects?
    Comparison,
    /// How closely does it follow the measurements that its numbers were taken from?
    Fit,
    /// Does it agree with measurements?
    Validation,
}

impl Kind {
    /// Every kind, in the order of the document.
    pub const ALL: [Self; 4] = [
        Self::Verification,
        Self::Comparison,
        Self::Fit,
        Self::Validation,
    ];

    /// The heading.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Verification => "Verification",
            Self::Comparison => "Comparison",
            Self::Fit => "Fit",
            Self::Validation => "Validation",
        }
    }

    /// What it means.
    pub const fn meaning(self) -> &'static str {
        match self {
            Self::Verification => {
                "the equations are solved, and the arithmetic is done, as they should be: held against closed \
                 solutions, independent solvers, reference tables and worked examples. Says nothing about whether the \
                 equations describe a real biscuit. Every row has to be met."
            }
            Self::Comparison => {
                "the answers agree with an earlier independent program of the same equations, or go the way that the \
                 trade expects. Every row has to be met, but a row met proves little by itself."
            }
            Self::Fit => {
                "how closely the answers follow the measurements that the model's own numbers were taken from. A row met \
                 shows that the fit is close, not that it holds for anything else; a row outside is kept, with the \
                 reason."
            }
            Self::Validation => {
                "the answers agree with measurements on real materials and real bakes. Make-up, thickness or oven of \
                 the experiment is often not told; what we assumed stands in the row. A row outside is kept, with the \
                 reason."
            }
        }
    }
}

/// The part of the product a row is about.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
#[allow(missing_docs)] // the heading says it
pub enum Part {
    Solver,
    Water,
    Thermal,
    Sorption,
    Transport,
    Colour,
    Kill,
    Bake,
    Whole,
    After,
    Formula,
    Nutrition,
    Line,
}

impl Part {
    /// Every part, in the order of the document.
    pub const ALL: [Self; 13] = [
        Self::Solver,
        Self::Water,
        Self::Thermal,
        Self::Sorption,
        Self::Transport,
        Self::Colour,
        Self::Kill,
        Self::Bake,
        Self::Whole,
        Self::After,
        Self::Formula,
        Self::Nutrition,
        Self::Line,
    ];

    /// The heading.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Solver => "Solver of the bake",
            Self::Water => "Water and moist air",
            Self::Thermal => "Thermal properties",
            Self::Sorption => "Sorption",
            Self::Transport => "Movement of water",
            Self::Colour => "Colour",
            Self::Kill => "Kill step",
            Self::Bake => "Bake as a whole",
            Self::Whole => "Bake of the whole piece",
            Self::After => "Layout, pack and checking",
            Self::Formula => "Formula and dough water",
            Self::Nutrition => "Nutrition and label",
            Self::Line => "Line, energy and cost",
        }
    }
}

/// How sure the reference of a row is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Grounds {
    /// Seen in print.
    Published,
    /// Worked out independently of this program.
    Computed,
    /// What the trade expects; no source.
    CommonPractice,
    /// Recalled, to be confirmed.
    FromMemory,
}

impl Grounds {
    /// Every one.
    pub const ALL: [Self; 4] = [
        Self::Published,
        Self::Computed,
        Self::CommonPractice,
        Self::FromMemory,
    ];

    /// The words shown.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Published => "published",
            Self::Computed => "computed",
            Self::CommonPractice => "common practice, no source",
            Self::FromMemory => "from memory, to be confirmed",
        }
    }
}

/// What is allowed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Limit {
    /// A deviation, at most this.
    AtMost(f64),
    /// A value, between these.
    Between(f64, f64),
}

impl Limit {
    /// Whether a value is allowed; what isn't a number never is.
    pub fn allows(self, value: f64) -> bool {
        match self {
            Self::AtMost(most) => value.is_finite() && value.abs() <= most,
            Self::Between(low, high) => value >= low && value <= high,
        }
    }
}

/// One row.
pub struct Check {
    /// Short name, unique.
    pub id: &'static str,
    /// What it is about.
    pub part: Part,
    /// What it says.
    pub kind: Kind,
    /// What has to hold.
    pub requirement: &'static str,
    /// Where the reference comes from.
    pub source: &'static str,
    /// How sure the reference is.
    pub grounds: Grounds,
    /// What is measured, with its unit.
    pub metric: &'static str,
    /// What is allowed.
    pub limit: Limit,
    /// Why a row is known to miss its limit; none when it has to be met.
    pub outside: Option<&'static str>,
    /// Measures.
    pub run: fn() -> f64,
}

/// How a row came out.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Outcome {
    /// Within the limit.
    Met,
    /// Outside, as known and explained.
    Outside,
    /// Outside, and nobody said why.
    Failed,
    /// Within the limit although a reason for missing it is given.
    Surprise,
}

impl Check {
    /// The outcome of a value.
    pub fn outcome(&self, value: f64) -> Outcome {
        match (self.limit.allows(value), self.outside) {
            (true, None) => Outcome::Met,
            (false, Some(_)) => Outcome::Outside,
            (false, None) => Outcome::Failed,
            (true, Some(_)) => Outcome::Surprise,
        }
    }
}

/// Start of a row; the rest is set by the functions below.
pub(crate) fn row(
    id: &'static str,
    part: Part,
    kind: Kind,
    requirement: &'static str,
    (grounds, source): (Grounds, &'static str),
    (metric, limit): (&'static str, Limit),
    run: fn() -> f64,
) -> Check {
    Check {
        id,
        part,
        kind,
        requirement,
        source,
        grounds,
        metric,
        limit,
        outside: None,
        run,
    }
}

impl Check {
    /// The same row, known to miss.
    pub(crate) fn outside(mut self, reason: &'static str) -> Self {
        self.outside = Some(reason);
        self
    }
}

/// Largest absolute difference over pairs of found and wanted; anything that isn't a number is infinite.
pub(crate) fn worst(pairs: impl IntoIterator<Item = (f64, f64)>) -> f64 {
    largest(pairs.into_iter().map(|(a, b)| a - b))
}

/// Largest relative difference over pairs of found and wanted.
pub(crate) fn worst_relative(pairs: impl IntoIterator<Item = (f64, f64)>) -> f64 {
    largest(pairs.into_iter().map(|(a, b)| a / b - 1.0))
}

/// Largest magnitude; infinite when something isn't a number.
pub(crate) fn largest(values: impl IntoIterator<Item = f64>) -> f64 {
    values.into_iter().fold(0.0, |most, v| {
        if v.is_finite() {
            v.abs().max(most)
        } else {
            f64::INFINITY
        }
    })
}
