//! What happens to the pieces after the oven.

pub mod cooling;

pub use cooling::Conveyor;
