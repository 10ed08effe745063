//! Treatments side by side: the knock-on from formula to oven to line to label.
//!
//! Knows the job: what a study, a treatment and a control are, and what follows from a changed
//! number. Still pure: must not know any file, clock, screen or database; random only from a
//! given seed.

pub mod after;
pub mod answer;
pub mod browning;
pub mod compare;
pub mod draw;
pub mod edit;
pub mod field;
pub mod figure;
pub mod knock_on;
mod later;
pub mod piece;
pub mod prepare;
pub mod sensitivity;
mod sold;
pub mod solid;
pub mod spread;
pub mod study;
pub mod sure;
pub mod svg_outline;
pub mod written;

pub use after::{AfterAnswer, AfterAsked, after};
pub use answer::KnockOn;
pub use baking::bake::Workspace;
pub use compare::{Compared, compare, water_curve};
pub use draw::Draw;
pub use figure::Figure;
pub use knock_on::{KnockOnError, knock_on};
pub use prepare::Asked;
pub use spread::spread;
pub use study::{Study, Treatment};
