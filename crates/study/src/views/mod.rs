//! What is told of a [`Run`](crate::chain::Run): the knock-on block, the time after the oven, the piece in
//! cross-section, the whole piece in three dimensions, and the piece as cut.

pub mod after_oven;
pub mod cross_section;
pub mod knock_on;
pub mod piece;
pub mod whole_piece;

pub use knock_on::{KnockOn, knock_on};
