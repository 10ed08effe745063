//! Temperatures: kelvin inside, degrees Celsius for people.

/// 0 °C in kelvin, exact by definition of the Celsius scale.
pub const ZERO_CELSIUS_K: f64 = 273.15;

/// Degrees Celsius to kelvin.
pub fn kelvin(celsius: f64) -> f64 {
    celsius + ZERO_CELSIUS_K
}

/// Kelvin to degrees Celsius.
pub fn celsius(kelvin: f64) -> f64 {
    kelvin - ZERO_CELSIUS_K
}

/// Degrees Fahrenheit to degrees Celsius.
///
/// ```
/// assert!((measure::temperature::fahrenheit_to_celsius(212.0) - 100.0).abs() < 1e-12);
/// ```
pub fn fahrenheit_to_celsius(fahrenheit: f64) -> f64 {
    (fahrenheit - 32.0) / 1.8
}

/// Degrees Celsius to degrees Fahrenheit.
pub fn celsius_to_fahrenheit(celsius: f64) -> f64 {
    celsius * 1.8 + 32.0
}
