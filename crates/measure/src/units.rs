//! Exact factors between SI and the units people read; SI is kept inside.

/// One avoirdupois pound in kg, exact (international yard and pound agreement, 1959).
pub const POUND_KG: f64 = 0.453_592_37;
/// One avoirdupois ounce in kg, exact.
pub const OUNCE_KG: f64 = POUND_KG / 16.0;
/// One inch in m, exact.
pub const INCH_M: f64 = 0.0254;
/// One foot in m, exact.
pub const FOOT_M: f64 = 12.0 * INCH_M;
/// One British thermal unit (International Table) in J, exact.
pub const BRITISH_THERMAL_UNIT_J: f64 = 1_055.055_852_62;
/// One thermochemical kilocalorie in J, exact.
pub const KILOCALORIE_J: f64 = 4184.0;
/// One kilowatt-hour in J, exact.
pub const KILOWATT_HOUR_J: f64 = 3.6e6;
/// One minute in s.
pub const MINUTE_S: f64 = 60.0;
/// One hour in s.
pub const HOUR_S: f64 = 3600.0;
/// One day in s.
pub const DAY_S: f64 = 86_400.0;
