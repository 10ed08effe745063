//! Learning from batches: how much water, whether the pieces leave the cutter whole, what to try next.

pub mod augment;
pub mod next_dose;
pub mod release;
pub mod water;

pub use augment::{Augmentation, augment};
pub use next_dose::{Dose, NextDose, next_dose};
pub use release::{Cut, Release, ReleaseError, ReleasePrior, Whole, fit};
pub use water::{Learned, Verdict, WaterError, WaterModel, WaterPrediction, WaterPrior};
