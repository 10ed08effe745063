//! placeholder
pub mod study;
pub mod written;
