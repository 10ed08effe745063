//! The parts a page is put together from: marks, findings, reasons, tables.

mod finding;
mod known;
mod reason;
mod sign;
mod table;

pub use finding::findings;
pub use known::{Known, known};
pub use reason::{givens, reason};
pub use sign::{Line, lines_to_fill};
pub use table::{Cell, Change, Group, Row, SideBySide, Value, side_by_side};
