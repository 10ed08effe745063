//! Treatments side by side: the knock-on from formula to oven to line to label.
//!
//! Knows the job: what a study, a treatment and a control are, and what follows from a changed
//! number. Still pure: must not know any file, clock, screen or database; random only from a
//! given seed.
//!
//! | room | what it holds |
//! |---|---|
//! | [`model`] | a study, its treatments, their settings: every name looked up |
//! | [`chain`] | [`run()`]: one treatment worked through from materials to cost |
//! | [`views`] | what is told of a run: knock-on, after the oven, cross-section, whole piece, piece |
//! | [`mod@compare`] | treatments beside the control: figures, differences, uncertainty, sensitivity |
//! | [`written`] | the study file: reader, writer, schema, docs |
//! | [`edit`] | one change of a written study at a time |

pub mod chain;
pub mod code;
pub mod compare;
pub mod edit;
pub mod model;
pub mod svg_outline;
pub mod views;
pub mod written;

pub use baking::bake::Workspace;
pub use chain::{BakeOptions, Run, RunError, Sample, run};
pub use code::{Code, codes};
pub use compare::{Compared, Figure, MODEL_VERSION, compare, spread, water_curve};
pub use model::{Study, Treatment};
pub use views::{KnockOn, knock_on};
