//! Solvent retention capacity (AACC 56-11): what a flour holds of four solvents.

use super::{MeasurementError, moisture_of, positive};
use measure::{Range, WetBasis};
use serde::{Deserialize, Serialize};

/// The four solvents.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Solvent {
    /// Water: everything that swells.
    Water,
    /// 50 % sucrose: pentosans and gliadin.
    Sucrose,
    /// 5 % sodium carbonate: damaged starch.
    Carbonate,
    /// 5 % lactic acid: glutenin.
    LacticAcid,
}

impl Solvent {
    /// Every solvent.
    pub const ALL: [Self; 4] = [
        Self::Water,
        Self::Sucrose,
        Self::Carbonate,
        Self::LacticAcid,
    ];

    /// The words shown to people.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Water => "water",
            Self::Sucrose => "50 % sucrose",
            Self::Carbonate => "5 % sodium carbonate",
            Self::LacticAcid => "5 % lactic acid",
        }
    }

    /// What it tells of.
    pub const fn tells(self) -> &'static str {
        match self {
            Self::Water => "everything that swells",
            Self::Sucrose => "pentosans and gliadin",
            Self::Carbonate => "damaged starch",
            Self::LacticAcid => "glutenin",
        }
    }

    /// The usual band of a cookie flour, % at 14 % moisture (published, U.S. wheat quality
    /// guidance of 2018, seen as an excerpt).
    pub const fn cookie_flour_pct(self) -> Range {
        match self {
            Self::Water => Range::new(50.0, 70.0),
            Self::Sucrose => Range::new(80.0, 110.0),
            Self::Carbonate => Range::new(60.0, 85.0),
            Self::LacticAcid => Range::new(85.0, 100.0),
        }
    }
}

/// Solvent retention, % of flour at 14 % moisture, with the correction of 2009 (Haynes, Bettge and
/// Slade): 100·[(gel/flour)·86/(100 − M) − 1]. `gel_g` is the drained pellet with its flour.
///
/// Check (computed): 5.00 g, gel 8.00 g, moisture 12 %: 56.364.
///
/// - Equation: 100 (gel/flour · 0.86/(1 − M) − 1)
/// - Units: masses \[g\], M \[kg/kg, wet basis\], result \[%\]
/// - Valid: drained pellets of flour
/// - Source: AACC 56-11 with the correction of 2009 (seen; algebra from memory, to be confirmed); the example by
///   hand
///
/// ```
/// use trials::measurement::solvent_retention::retention_pct;
/// assert!((retention_pct(8.0, 5.0, measure::WetBasis(0.12)).unwrap() - 56.363_636).abs() < 1e-6);
/// ```
///
/// # Errors
/// Weights that are not above 0, a moisture outside 0 to 1.
pub fn retention_pct(
    gel_g: f64,
    flour_g: f64,
    moisture: WetBasis,
) -> Result<f64, MeasurementError> {
    let w = moisture_of("flour moisture", moisture)?;
    let ratio = positive("gel", gel_g)? / positive("flour", flour_g)?;
    Ok(100.0 * (ratio * 0.86 / (1.0 - w) - 1.0))
}

/// The form in use before 2009, 100·(gel/flour − 1)·86/(100 − M), for reading old figures; it errs
/// the more, the further the flour is from 14 %.
///
/// - Equation: 100 (gel/flour − 1) · 0.86/(1 − M)
/// - Units: masses \[g\], M \[kg/kg, wet basis\], result \[%\]
/// - Valid: old figures
/// - Source: AACC 56-11 before 2009 (from memory, to be confirmed); the example by hand
///
/// ```
/// use trials::measurement::solvent_retention::retention_before_2009_pct;
/// assert!((retention_before_2009_pct(8.0, 5.0, measure::WetBasis(0.12)).unwrap() - 58.636_364).abs() < 1e-6);
/// ```
///
/// # Errors
/// As [`retention_pct`].
pub fn retention_before_2009_pct(
    gel_g: f64,
    flour_g: f64,
    moisture: WetBasis,
) -> Result<f64, MeasurementError> {
    let w = moisture_of("flour moisture", moisture)?;
    let ratio = positive("gel", gel_g)? / positive("flour", flour_g)?;
    Ok(100.0 * (ratio - 1.0) * 0.86 / (1.0 - w))
}
