//! What the models are held against, as one list of rows: requirement, source, metric, limit and the run
//! that measures it. `docs/validation.md` is made from the list.
//!
//! Knows references, worked examples and measurements from outside; must not know any screen, file or
//! database, and computes nothing that the product doesn't.

mod after;
mod analytic;
mod bake;
mod check;
mod document;
mod experiment;
mod figures;
mod products;
mod properties;
mod whole;

pub use check::{Check, Grounds, Kind, Limit, Outcome, Part};
pub use document::markdown;

/// Every row, in the order of the document.
pub fn all() -> Vec<Check> {
    [
        bake::rows(),
        analytic::rows(),
        whole::rows(),
        after::rows(),
        properties::rows(),
        figures::rows(),
        experiment::rows(),
    ]
    .into_iter()
    .flatten()
    .collect()
}
