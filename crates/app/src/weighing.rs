//! What to weigh for a batch of a treatment.

use crate::AppError;
use crate::sheet::StudyView;
use formula::batch::{Batch, BatchError, Scales, Size, scale};

/// How large a batch shall be, and on which scale it is weighed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Weighing {
    /// Pieces wanted.
    pub pieces: f64,
    /// Share of dough and pieces lost on the way, %.
    pub loss_pct: f64,
    /// Division of the scale, g.
    pub scale_g: f64,
}

/// What to weigh for so many pieces of a treatment, in the order of addition, rounded to the scale.
///
/// # Errors
/// No such treatment, or one without an answer; a number that can't be.
pub fn weighed(view: &StudyView, treatment: &str, asked: &Weighing) -> Result<Batch, AppError> {
    let made = &view.worked(treatment)?.run.made;
    let size = Size::Pieces {
        count: asked.pieces,
        green_mass_kg: made.green_kg,
        loss_fraction: asked.loss_pct / 100.0,
    };
    let told = |e: BatchError| AppError::Value {
        field: "batch".to_owned(),
        why: e.to_string(),
    };
    scale(&made.formula, size, Scales::one(asked.scale_g / 1000.0)).map_err(told)
}
