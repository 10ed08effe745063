//! What can be wrong with a bake's input, and what can go wrong on the way.

use crate::numerics::step_control::StepControl;
use std::borrow::Cow;

/// An input that isn't allowed: the field, the value given and what is allowed.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[error("{field} is {value}, but must be {allowed}")]
pub struct InputError {
    /// The field, as the caller knows it.
    pub field: Cow<'static, str>,
    /// The value given.
    pub value: f64,
    /// What is allowed, in words.
    pub allowed: Cow<'static, str>,
}

impl InputError {
    /// An error about one field.
    pub fn new(
        field: impl Into<Cow<'static, str>>,
        value: f64,
        allowed: impl Into<Cow<'static, str>>,
    ) -> Self {
        Self {
            field: field.into(),
            value,
            allowed: allowed.into(),
        }
    }
}

/// A bake that could not be computed.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum BakeError {
    /// An input outside what is allowed.
    #[error(transparent)]
    Input(#[from] InputError),
    /// The step control gave up.
    #[error(
        "the bake could not be followed beyond {time_s:.3} s in stage {stage} (\"{name}\") after {steps} steps: \
         look for a heat transfer coefficient, temperature, permeability or diffusivity far from any oven or dough, \
         or ask for quick accuracy"
    )]
    Lost {
        /// Which stage, counted from 1.
        stage: usize,
        /// Its name.
        name: String,
        /// Time since the start of the bake \[s\].
        time_s: f64,
        /// Steps tried in this stage.
        steps: usize,
    },
}

impl BakeError {
    /// The steps of a stage, counted from 0, have lost their way.
    pub(crate) fn lost(index: usize, name: &str, begin_s: f64, control: &StepControl) -> Self {
        Self::Lost {
            stage: index + 1,
            name: name.to_owned(),
            time_s: begin_s + control.time_s(),
            steps: control.tried(),
        }
    }
}
