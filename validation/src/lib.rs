//! What the models are held against, as one list of rows: requirement, source, metric, limit and the run
//! that measures it. `docs/validation.md` is made from the list.
//!
//! Knows references, worked examples and measurements from outside; must not know any screen, file or
//! database, and computes nothing that the product doesn't.

mod after;
mod analytic;
mod bake;
mod check;
pub mod checks;
mod document;
mod experiment;
mod figures;
mod learning;
mod products;
mod properties;
mod transport;
mod whole;

pub use check::{Check, Grounds, Kind, Limit, Outcome, Part};
pub use document::markdown;
pub use transport::page as transport_page;

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
        learning::rows(),
        transport::rows(),
    ]
    .into_iter()
    .flatten()
    .collect()
}
