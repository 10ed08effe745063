//! The line: mixer, former, oven, cooler, packer; what each can do, what limits, what it costs.

pub mod capacity;
pub mod cost;
pub mod energy;
pub mod evaluate;
pub mod findings;
pub mod former;
pub mod load;
pub mod losses;
pub mod presets;
pub mod rework;
pub mod setting;
pub mod station;

pub use cost::{Conversion, Cost};
pub use energy::Heat;
pub use evaluate::{LineResult, StationResult, evaluate};
pub use former::{Cavities, Former};
pub use load::LineLoad;
pub use losses::{Heating, OvenHeat};
pub use rework::Rework;
pub use setting::{LineError, LineSetting, Mixer, Packer};
pub use station::Station;

#[cfg(test)]
mod tests;
