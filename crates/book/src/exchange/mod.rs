//! Plain tables in and out: CSV and XLSX.
//!
//! A table here is rows of cells and nothing more. What a column means, and whether it holds
//! numbers, is for the reader of the table to say: a lot called `0012E5` must not turn into a
//! number because it looks like one.

pub mod csv;
mod error;
mod limits;
mod number;
mod table;
pub mod xlsx;

pub use error::TableError;
pub use limits::{Limits, bytes_of};
pub use number::{Decimal, read_number, write_number};
pub use table::{Cell, Table, column_letters};
