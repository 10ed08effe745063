//! From what the instruments show to the numbers that are compared, one file per method.

pub mod bend;
pub mod colour;
pub mod farinograph;
pub mod moisture;
pub mod net_content;
pub mod sampling_plan;
pub mod solvent_retention;
pub mod spread;
pub mod water_holding;

/// A value that cannot be measured or used.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[error("{name} is {value}; it must be {allowed}")]
pub struct MeasurementError {
    /// What it is.
    pub name: &'static str,
    /// Its value.
    pub value: f64,
    /// What is allowed.
    pub allowed: &'static str,
}

/// Checks that a value is above zero.
fn positive(name: &'static str, value: f64) -> Result<f64, MeasurementError> {
    if value > 0.0 && value.is_finite() {
        Ok(value)
    } else {
        Err(MeasurementError {
            name,
            value,
            allowed: "above 0",
        })
    }
}

/// Checks that a value is zero or more.
fn not_negative(name: &'static str, value: f64) -> Result<f64, MeasurementError> {
    if value >= 0.0 && value.is_finite() {
        Ok(value)
    } else {
        Err(MeasurementError {
            name,
            value,
            allowed: "0 or more",
        })
    }
}

/// Checks a moisture on wet basis.
fn moisture_of(name: &'static str, w: measure::WetBasis) -> Result<f64, MeasurementError> {
    if (0.0..1.0).contains(&w.0) {
        Ok(w.0)
    } else {
        Err(MeasurementError {
            name,
            value: w.0,
            allowed: "a fraction from 0 to below 1",
        })
    }
}
