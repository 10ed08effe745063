//! The chain of causes: what a treatment does from dough and piece to bake, shelf life, line, label and cost.
//!
//! [`run()`] works it through once; every view and every comparison is told from the [`Run`] it gives.

pub mod browning;
pub mod dough_and_piece;
pub mod effective;
pub mod key;
pub mod label_and_cost;
pub mod learned;
pub mod line_load;
pub mod options;
pub mod run;
pub mod sample;
pub mod shelf_life;
pub mod timed_bake;

pub use key::{Key, key};
pub use options::BakeOptions;
pub use run::{Run, RunError, Why, run};
pub use sample::{Sample, Uncertain};
