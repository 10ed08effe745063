//! Three-point bend: stress at break and stiffness of a piece on two supports.
//!
//! Thickness enters squared: 5 % on the thickness is 10 % on the stress, so it is measured on
//! every piece. Bone shapes are no beams; report their force.

use super::{MeasurementError, not_negative, positive};
use crate::Code;
use measure::{Constant, Finding, Grade, Range, Severity};

/// Stress at break of a flat bar, Pa: 3FL/(2bd²) (textbook beam theory).
///
/// Check (computed): 60 N, 30 mm span, 25 × 8 mm: 1.6875 MPa.
///
/// - Equation: σ = 3 F L/(2 b d²)
/// - Units: F \[N\], L, b, d \[m\], σ \[Pa\]
/// - Valid: slender bars, small deflections
/// - Source: beam theory, textbook; the example by hand
///
/// ```
/// use trials::measurement::bend::flat_stress_pa;
/// assert!((flat_stress_pa(60.0, 0.030, 0.025, 0.008).unwrap() - 1.6875e6).abs() < 1e-6);
/// ```
///
/// # Errors
/// A force below 0, or lengths that are not above 0.
pub fn flat_stress_pa(
    force_n: f64,
    span_m: f64,
    width_m: f64,
    thickness_m: f64,
) -> Result<f64, MeasurementError> {
    Ok(
        3.0 * not_negative("force", force_n)? * positive("span", span_m)?
            / (2.0 * positive("width", width_m)? * positive("thickness", thickness_m)?.powi(2)),
    )
}

/// Stress at break of a round stick, Pa: 8FL/(πD³) (textbook beam theory).
///
/// - Equation: σ = 8 F L/(π D³)
/// - Units: F \[N\], L and D \[m\], σ \[Pa\]
/// - Valid: slender sticks, small deflections
/// - Source: beam theory, textbook; the example by hand
///
/// ```
/// use trials::measurement::bend::round_stress_pa;
/// let s = round_stress_pa(60.0, 0.030, 0.010).unwrap();
/// assert!((s - 8.0 * 60.0 * 0.030 / (std::f64::consts::PI * 1e-6)).abs() < 1e-3);
/// ```
///
/// # Errors
/// As [`flat_stress_pa`].
pub fn round_stress_pa(
    force_n: f64,
    span_m: f64,
    diameter_m: f64,
) -> Result<f64, MeasurementError> {
    Ok(
        8.0 * not_negative("force", force_n)? * positive("span", span_m)?
            / (std::f64::consts::PI * positive("diameter", diameter_m)?.powi(3)),
    )
}

/// Modulus of a flat bar, Pa, from the deflection δ at force F: FL³/(4bd³δ) (textbook beam theory).
///
/// - Equation: E = F L³/(4 b d³ δ)
/// - Units: F \[N\], L, b, d, δ \[m\], E \[Pa\]
/// - Valid: slender bars, small deflections
/// - Source: beam theory, textbook; the example by hand
///
/// ```
/// use trials::measurement::bend::flat_modulus_pa;
/// let e = flat_modulus_pa(60.0, 0.030, 0.025, 0.008, 0.0005).unwrap();
/// assert!((e - 6.328_125e7).abs() < 1.0);
/// ```
///
/// # Errors
/// Values that are not above 0.
pub fn flat_modulus_pa(
    force_n: f64,
    span_m: f64,
    width_m: f64,
    thickness_m: f64,
    deflection_m: f64,
) -> Result<f64, MeasurementError> {
    Ok(
        positive("force", force_n)? * positive("span", span_m)?.powi(3)
            / (4.0
                * positive("width", width_m)?
                * positive("thickness", thickness_m)?.powi(3)
                * positive("deflection", deflection_m)?),
    )
}

/// Strain of the outer face of a flat bar at deflection δ: 6δd/L².
///
/// - Equation: ε = 6 δ d/L²
/// - Units: δ, d, L \[m\], ε \[1\]
/// - Valid: slender bars, small deflections
/// - Source: beam theory, textbook; 6 · 0.3 · 8/40² is 0.009
///
/// ```
/// let strain = trials::measurement::bend::flat_strain(0.040, 0.008, 0.000_3).unwrap();
/// assert!((strain - 0.009).abs() < 1e-12);
/// ```
///
/// # Errors
/// A span that is not above 0, other lengths below 0.
pub fn flat_strain(
    span_m: f64,
    thickness_m: f64,
    deflection_m: f64,
) -> Result<f64, MeasurementError> {
    Ok(
        6.0 * not_negative("deflection", deflection_m)? * positive("thickness", thickness_m)?
            / positive("span", span_m)?.powi(2),
    )
}

/// The shortest span for which the beam formulas are used, in thicknesses.
pub const LEAST_SPAN: Constant = Constant {
    name: "shortest span of a bend test",
    value: 4.0,
    unit: "thicknesses",
    range: Range::new(2.0, 16.0),
    source: "common practice, no source",
    grade: Grade::Assumed,
};

/// A finding when the span is so short that shear and crushing at the supports count.
///
/// - Rule: a warning where span/thickness is below the least
/// - Units: lengths \[m\]
/// - Valid: thickness above 0
/// - Source: the limit is a constant with its grade
///
/// ```
/// use trials::measurement::bend::short_span;
/// assert!(short_span(0.020, 0.010).is_some());
/// assert!(short_span(0.060, 0.010).is_none());
/// ```
pub fn short_span(span_m: f64, thickness_m: f64) -> Option<Finding> {
    let thicknesses = span_m / thickness_m;
    (thicknesses < LEAST_SPAN.value).then(|| {
        Finding::new(
            Severity::Warn,
            Code::ShortSpan,
            "bend test",
            format!("The span is {thicknesses:.1} thicknesses; below {} the stress is no longer that of a beam.", LEAST_SPAN.value),
        )
        .help("Compare forces at one span and thickness, or set the supports further apart.")
        .source(LEAST_SPAN.source)
    })
}
