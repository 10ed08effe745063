//! Water holding capacity by centrifuge (after AACC 56-30): what a material holds in excess water.
//!
//! It ranks materials but overstates what a dough takes up, most of all for gums, where materials
//! compete for too little water.

use super::{MeasurementError, moisture_of, positive};
use measure::WetBasis;

/// Water held, g per g of material as it is: (sediment − sample)/sample.
///
/// - Equation: (sediment − sample)/sample
/// - Units: masses \[g\], result \[g/g\]
/// - Valid: materials that don't dissolve
/// - Source: definition, as in AACC 56-30 (from memory, to be confirmed); the example by hand
///
/// ```
/// use trials::measurement::water_holding::held;
/// assert!((held(5.0, 11.0).unwrap() - 1.2).abs() < 1e-12);
/// ```
///
/// # Errors
/// A sample that is not above 0 g, or a sediment lighter than the sample (part of it dissolved:
/// the method does not suit it).
pub fn held(sample_g: f64, sediment_g: f64) -> Result<f64, MeasurementError> {
    let sample = positive("sample", sample_g)?;
    if sediment_g.is_nan() || sediment_g < sample {
        return Err(MeasurementError {
            name: "sediment, g",
            value: sediment_g,
            allowed: "at least the sample; a lighter one means that part of it dissolved",
        });
    }
    Ok((sediment_g - sample) / sample)
}

/// All water in the wet material, g per g of its dry matter: (held + w)/(1 − w).
///
/// - Equation: (held + M)/(1 − M)
/// - Units: held \[g/g\], M \[kg/kg, wet basis\], result \[g/g dry\]
/// - Valid: moistures under 1
/// - Source: an identity; the example by hand
///
/// ```
/// use trials::measurement::water_holding::{held, on_dry_matter};
/// let h = held(5.0, 11.0).unwrap();
/// assert!((on_dry_matter(h, measure::WetBasis(0.10)).unwrap() - 1.444_444).abs() < 1e-6);
/// ```
///
/// # Errors
/// A moisture outside 0 to 1.
pub fn on_dry_matter(held: f64, moisture: WetBasis) -> Result<f64, MeasurementError> {
    let w = moisture_of("moisture", moisture)?;
    Ok((held + w) / (1.0 - w))
}
