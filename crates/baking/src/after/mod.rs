//! What happens to the pieces after the oven: cooling, evening-out in the pack, checking, keeping.

pub mod change;
pub mod checking;
pub mod climate;
pub mod cooling;
pub mod evening;
pub mod film;
pub mod growth;
pub mod keeping;

pub use change::{Change, Changed, changes};
pub use checking::{Bending, Checking, Crumb, checking};
pub use climate::{Climate, Spell};
pub use cooling::Conveyor;
pub use evening::{Course, course, course_times_s};
pub use film::{Film, FilmError};
pub use growth::{GROWTH_LIMITS, Growth, GrowthLimit};
pub use keeping::{Keeping, KeepingError, KeepingInput, keeping};
