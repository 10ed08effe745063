//! How much water a white wheat flour takes up, from its protein and damaged starch.

use measure::{Constant, Grade, Range};

/// Water that a white wheat flour asks for more per percent protein (14 % moisture), kg per 100 kg.
///
/// A laboratory sheet gives closer to 2 (seen); 44 flours of 10.55 to 14.75 % protein took 55.7 to 63.2
/// (seen): 1.8.
pub static PER_PROTEIN: Constant = Constant {
    name: "water per percent protein of wheat flour",
    value: 1.4,
    unit: "points per %",
    range: Range::new(0.5, 3.0),
    source: "regression of Farrand's kind, coefficients from memory, to be confirmed",
    grade: Grade::Recalled,
};
/// Standard deviation of [`PER_PROTEIN`].
pub static PER_PROTEIN_SD: Constant = Constant {
    name: "spread of water per percent protein",
    value: 0.4,
    unit: "points per %",
    range: Range::new(0.0, 2.0),
    source: "between the regression and a laboratory sheet",
    grade: Grade::Assumed,
};
/// Water that a white wheat flour asks for more per Farrand unit of damaged starch, kg per 100 kg.
pub static PER_DAMAGED_STARCH: Constant = Constant {
    name: "water per Farrand unit of damaged starch",
    value: 0.38,
    unit: "points per unit",
    range: Range::new(0.1, 0.8),
    source: "regression of Farrand's kind, coefficients from memory, to be confirmed",
    grade: Grade::Recalled,
};
/// Water of a white wheat flour without protein, damaged starch or moisture, %: where the regression
/// begins, no flour.
pub static ABSORPTION_START: Constant = Constant {
    name: "start of the absorption of wheat flour",
    value: 57.3,
    unit: "%",
    range: Range::new(50.0, 65.0),
    source: "regression of Farrand's kind, coefficients from memory, to be confirmed",
    grade: Grade::Recalled,
};
/// Water that a white wheat flour asks for less per percent moisture of its own.
pub static PER_MOISTURE: Constant = Constant {
    name: "less water per percent moisture of wheat flour",
    value: 1.6,
    unit: "points per %",
    range: Range::new(1.2, 2.0),
    source: "regression of Farrand's kind, coefficients from memory, to be confirmed",
    grade: Grade::Recalled,
};
/// Damaged starch that a flour can have, Farrand units.
pub const DAMAGED_STARCH: Range = Range::new(0.0, 80.0);

/// Absorption of white wheat flour, %, from protein \[%, own factor, at 14 % moisture\], damaged
/// starch \[Farrand units\] and moisture \[%\]: 57.3 + 1.4 P + 0.38 D − 1.6 M, to be trusted within
/// 3 points (coefficients from memory, to be confirmed).
///
/// - Equation: A = 57.3 + 1.4 P + 0.38 D − 1.6 M
/// - Units: A, P and M \[%\], D \[Farrand units\]
/// - Valid: white wheat flour, P 8 to 15, D 8 to 40, M 12 to 15; within 3 points
/// - Source: after equations of Farrand and of Cauvain, coefficients from memory, to be confirmed; the examples
///   computed apart
///
/// ```
/// use formula::water::flour_absorption_pct as a;
/// // Soft, all-purpose, bread and strong flour at 14 % moisture: 51.4, 59.8, 63.0, 67.3 (computed).
/// for (protein, damaged, absorption) in [(8.5, 12.0, 51.4), (11.0, 25.0, 59.8), (12.5, 28.0, 63.0), (15.0, 30.0, 67.3)] {
///     assert!((a(protein, damaged, 14.0) - absorption).abs() < 0.1);
/// }
/// // One point drier, 1.6 points more.
/// assert!((a(11.0, 25.0, 13.0) - a(11.0, 25.0, 14.0) - 1.6).abs() < 1e-9);
/// ```
pub fn flour_absorption_pct(protein_pct: f64, damaged_starch: f64, moisture_pct: f64) -> f64 {
    ABSORPTION_START.value
        + PER_PROTEIN.value * protein_pct
        + PER_DAMAGED_STARCH.value * damaged_starch
        - PER_MOISTURE.value * moisture_pct
}

/// Damaged starch that a flour of a protein usually has, Farrand units: soft wheat mills to 8 to 15,
/// hard to 20 to 35 (from memory, to be confirmed). Straight lines through 12 at 8.5 %, 25 at 11 %, 30 at
/// 15 %, level beyond.
///
/// - Rule: straight lines through (8.5, 12), (11, 25) and (15, 30), level beyond
/// - Units: protein \[% at 14 % moisture\], damaged starch \[Farrand units\]
/// - Valid: white wheat flour
/// - Source: from memory, to be confirmed
///
/// ```
/// use formula::water::usual_damaged_starch as d;
/// assert_eq!([d(7.0), d(8.5), d(11.0), d(13.0), d(16.0)], [12.0, 12.0, 25.0, 27.5, 30.0]);
/// ```
pub fn usual_damaged_starch(protein_pct: f64) -> f64 {
    let between = |(p0, d0): (f64, f64), (p1, d1): (f64, f64)| {
        d0 + (d1 - d0) * ((protein_pct - p0) / (p1 - p0)).clamp(0.0, 1.0)
    };
    if protein_pct < 11.0 {
        between((8.5, 12.0), (11.0, 25.0))
    } else {
        between((11.0, 25.0), (15.0, 30.0))
    }
}
