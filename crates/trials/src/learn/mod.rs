//! Learning from batches: how much water, whether the pieces leave the cutter whole, what to try next.

pub mod augment;
pub mod improvement;
pub mod next_dose;
pub mod release;
pub mod response;
pub mod water;

pub use augment::{Augmentation, augment};
pub use improvement::{expected_improvement, knowledge_gradient};
pub use next_dose::{Dose, NextDose, next_dose};
pub use release::{Cut, Release, ReleaseError, ReleasePrior, Whole, fit};
pub use response::{
    FEWEST_BATCHES, Point, ResponseError, ResponseModel, ResponseTold, Shape, learn_response,
};
pub use water::{Learned, Verdict, WaterError, WaterModel, WaterPrediction, WaterPrior};
