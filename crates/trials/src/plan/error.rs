//! What can be wrong with a wished plan, said so that it can be put right.

use super::{Design, Unit};

/// Why a plan cannot be drawn.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum PlanError {
    /// The unit is only a part of what was mixed and baked.
    #[error(
        "a {unit} is not a replicate: {reason}. Count what was mixed and baked on its own; the {plural} of one batch are measured together and averaged, however many there are",
        unit = unit.word(), plural = unit.plural(), reason = unit.describe()
    )]
    NotAReplicate {
        /// The unit that was offered.
        unit: Unit,
    },
    /// The design is not drawn for this unit.
    #[error("a {design} plan is drawn for {usual}, not for {plural}", design = design.word(), usual = design.units()[0].plural(), plural = unit.plural())]
    WrongUnit {
        /// The design.
        design: Design,
        /// The unit that was offered.
        unit: Unit,
    },
    /// Fewer than the design needs.
    #[error("{what}: {given} given, this design needs at least {least}{why}")]
    TooFew {
        /// What there is too little of.
        what: &'static str,
        /// How many were given.
        given: usize,
        /// How many are needed.
        least: usize,
        /// The reason, starting with a separator, or nothing.
        why: &'static str,
    },
    /// More than the design can hold.
    #[error(
        "{what}: {given} given, at most {most} are allowed; split the question into several trials"
    )]
    TooMany {
        /// What there is too much of.
        what: &'static str,
        /// How many were given.
        given: usize,
        /// How many are allowed.
        most: usize,
    },
    /// Two lists that must have one length.
    #[error("{what}: {given} given, but {wanted} are needed ({why})")]
    WrongCount {
        /// What was counted.
        what: &'static str,
        /// How many were given.
        given: usize,
        /// How many are needed.
        wanted: usize,
        /// Why.
        why: &'static str,
    },
    /// A name that stands twice or is empty.
    #[error("{what} '{name}' is empty or stands twice; give each a name of its own")]
    Name {
        /// What is named.
        what: &'static str,
        /// The name.
        name: String,
    },
    /// A range that is empty or not a number.
    #[error(
        "'{name}': {low} to {high} is not a range; the low end must be below the high end{allowed}"
    )]
    Range {
        /// The factor or component.
        name: String,
        /// Lower end.
        low: f64,
        /// Upper end.
        high: f64,
        /// What is allowed, starting with a separator, or nothing.
        allowed: &'static str,
    },
    /// Component bounds that no mixture meets.
    #[error("no mixture meets the bounds: {reason}")]
    NoMixture {
        /// Which sum fails and by how much.
        reason: String,
    },
    /// A generator of a fraction that makes no sense.
    #[error(
        "generator '{generator}': {reason}; write it as D=ABC, letters for the factors in their order"
    )]
    Generator {
        /// The text given.
        generator: String,
        /// What is wrong with it.
        reason: String,
    },
    /// The candidates cannot tell the terms of the model apart.
    #[error(
        "{runs} runs from {candidates} possible settings cannot tell the {terms} terms of the model apart: {reason}"
    )]
    NotEstimable {
        /// Runs asked for, those already done included.
        runs: usize,
        /// Settings to choose from.
        candidates: usize,
        /// Terms of the model.
        terms: usize,
        /// What to change.
        reason: &'static str,
    },
}

/// Checks that names are given and differ.
pub(crate) fn distinct<'a>(
    what: &'static str,
    names: impl IntoIterator<Item = &'a String>,
) -> Result<(), PlanError> {
    let mut seen = std::collections::BTreeSet::new();
    for name in names {
        if name.trim().is_empty() || !seen.insert(name.trim()) {
            return Err(PlanError::Name {
                what,
                name: name.clone(),
            });
        }
    }
    Ok(())
}

/// Checks a count against its limits.
pub(crate) fn within(
    what: &'static str,
    given: usize,
    least: usize,
    most: usize,
    why: &'static str,
) -> Result<(), PlanError> {
    if given < least {
        Err(PlanError::TooFew {
            what,
            given,
            least,
            why,
        })
    } else if given > most {
        Err(PlanError::TooMany { what, given, most })
    } else {
        Ok(())
    }
}
