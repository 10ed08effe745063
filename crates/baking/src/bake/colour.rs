//! Browning of the top surface: colour difference from the dough.
//!
//! d(ΔE)/dt = k(T)·(ΔE∞ − ΔE), k = k₀ exp(−E/(R T)); Zanoni, Peri and Bruno (1995), LWT 28:604–609,
//! on dried bread crumb at 140 to 250 °C. For another dough it ranks bakes; it is not its colour.

use super::surface::GAS_CONSTANT;
use measure::{Constant, Grade, Range};

const SOURCE: &str = "Zanoni, Peri and Bruno (1995), LWT 28:604-609, dried bread crumb";

/// Frequency factor of browning.
pub const RATE: Constant = Constant {
    name: "browning frequency factor",
    value: 42_000.0,
    unit: "1/s",
    range: Range::new(1.0, 1e9),
    source: SOURCE,
    grade: Grade::Published,
};

/// Activation energy of browning.
pub const ACTIVATION: Constant = Constant {
    name: "browning activation energy",
    value: 64_151.0,
    unit: "J/mol",
    range: Range::new(1e4, 2e5),
    source: SOURCE,
    grade: Grade::Published,
};

/// Colour difference of the fully browned crumb.
pub const END: Constant = Constant {
    name: "colour difference when fully browned",
    value: 52.0,
    unit: "ΔE",
    range: Range::new(10.0, 100.0),
    source: SOURCE,
    grade: Grade::Published,
};

/// Rate of browning k \[1/s\] at T \[K\]; tested from 140 to 250 °C.
///
/// Check: 3.474e-3 1/s at 200 °C (computed from the printed constants with R rounded to
/// 8.314, which is 0.1 % of k).
///
/// ```
/// let k = baking::bake::colour::rate(473.15);
/// assert!((k / 3.474e-3 - 1.0).abs() < 1.5e-3);
/// ```
pub fn rate(kelvin: f64) -> f64 {
    RATE.value * (-ACTIVATION.value / (GAS_CONSTANT * kelvin)).exp()
}

/// Colour difference ΔE after browning with ∫k dt.
///
/// Check: 33.66 after 300 s at 200 °C, 7.32 at 150 °C, 51.63 at 250 °C (computed).
///
/// ```
/// use baking::bake::colour::{delta_e, rate};
/// for (celsius, wanted) in [(150.0, 7.32), (185.0, 23.78), (200.0, 33.66), (250.0, 51.63)] {
///     assert!((delta_e(300.0 * rate(celsius + 273.15)) - wanted).abs() < 0.03);
/// }
/// ```
pub fn delta_e(browning: f64) -> f64 {
    -END.value * (-browning).exp_m1()
}
