//! What was measured and what it says: plans, statistics, learning from batches.
//!
//! Knows statistics: designs, estimates, intervals, comparisons, and the responses of this trade.
//! Must not know any file, clock, thread, database, screen or HTML; random only from a given seed.

pub mod analyse;
pub mod code;
pub mod learn;
pub mod measurement;
pub mod palatability;
pub mod plan;
pub mod power;
pub mod random;
pub mod rates;
pub mod response;
pub mod stats;

pub use code::Code;
