//! What happens to it: the piece, its properties, the oven, the bake through the thickness, the line.
//!
//! Knows transport physics. Must not know files, screens, clocks, databases or any study.

pub mod after;
pub mod bake;
pub mod code;
pub mod line;
mod numerics;
pub mod oven;
pub mod piece;
pub mod properties;

pub use code::Code;
