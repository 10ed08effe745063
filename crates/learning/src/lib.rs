//! What an oven's own bakes teach: which numbers of the bake can be learned, from which readings, how surely, and what stays
//! open.
//!
//! Knows the bake through the thickness and the statistics of a fit. Must not know studies, files, clocks or screens; random
//! only from a given seed.

pub mod bakes;
pub mod checks;
pub mod code;
pub mod fit;
pub mod next;
pub mod parameter;
pub mod reading;
pub mod time;
pub mod written;

pub use bakes::{Bakes, OwnBake};
pub use code::Code;
pub use fit::{Asked, Fit, FitError, Learned, Tangle, fit};
pub use parameter::{Chosen, Parameter};
pub use reading::{Kind, Row, TableError, read};
