//! How tightly the dry solid holds its water: water activity against moisture.
//!
//! The isotherm is put together from classes of ingredient at equal water activity, per mass of dry
//! solid: starch, protein and fibre by the GAB equation, sugars and salt by their own solutions, fat
//! and other ash nothing. It is a first guess for a material nobody has measured: the published
//! sets for semolina pasta alone differ by a factor of two at low water activity. A few measured
//! pairs of moisture and water activity of one's own biscuit are worth more, and replace it.

mod classes;
mod solutes;

pub use classes::{Class, Gab};
pub use solutes::{sodium_chloride_water_activity, sucrose_water_activity};

use super::solids::DrySolids;
use super::transport::or_default;
use crate::bake::surface::{GAS_CONSTANT, WATER_MOLAR_MASS};
use crate::bake::{Isotherm, error::InputError};
use measure::{Constant, DryBasis, Finding, Given, Grade, Range, Severity, Source, WetBasis};
use serde::{Deserialize, Serialize};

/// Specific gas constant of water vapour \[J/(kg K)\].
const VAPOUR_GAS_CONSTANT: f64 = GAS_CONSTANT / WATER_MOLAR_MASS;

/// Temperature at which the class isotherms are told \[°C\].
pub const REFERENCE_CELSIUS: f64 = 25.0;

/// Names of the monolayer moistures among what an answer stands on, in the order of [`Class::ALL`].
pub const MONOLAYERS: [&str; 3] = [
    "monolayer moisture of starch",
    "monolayer moisture of protein",
    "monolayer moisture of fibre",
];

/// By how much the log-odds of water activity rise per kelvin at the same moisture.
///
/// In an Oswin isotherm whose pre-factor falls as exp(−0.0056 θ) with exponent 0.38 this is
/// 0.0056/0.38. The net heat of sorption that goes with it is R T² (1 − a_w) g: 338 kJ/kg at 9.8 %
/// and 57 kJ/kg at 32.2 % dry basis are published for sorghum flour; the isotherm here is held
/// against both in the tests.
pub const PER_KELVIN: Constant = Constant {
    name: "shift of the log-odds of water activity per kelvin",
    value: 0.0056 / 0.38,
    unit: "1/K",
    range: Range::new(0.006, 0.022),
    source: "temperature term of an Oswin isotherm for dough, from memory; of the size that the isosteric heat of sorghum flour asks for (Celia et al. 2024, Eng. Agric. 44 e20230063, seen)",
    grade: Grade::Recalled,
};

/// In what state sugars are after baking.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum SugarState {
    /// Dissolved in the dough and left as syrup or glass: hold water at every water activity.
    #[default]
    Dissolved,
    /// Mostly crystals, as in a short dough rich in sugar: hold water only near saturation.
    Crystalline,
}

/// Moisture and water activity measured together on one's own piece.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct MeasuredPair {
    /// Moisture, wet basis.
    pub moisture: WetBasis,
    /// Water activity, 0 to 1.
    pub water_activity: f64,
    /// Temperature of the reading \[K\].
    pub temperature_k: f64,
}

/// What a person may set about sorption.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct SorptionSettings {
    /// Own measured pairs; empty keeps the class isotherm.
    pub measured: Vec<MeasuredPair>,
    /// State of the sugars.
    pub sugars: SugarState,
    /// Own temperature shift \[1/K\].
    pub per_kelvin: Option<f64>,
    /// Factor on the moisture that the classes hold; 1 if none. Own pairs overrule it.
    pub class_factor: Option<f64>,
}

/// Why measured pairs can't be used.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum SorptionError {
    /// A dry solid that holds no water at all, or a curve that doesn't rise.
    #[error(transparent)]
    Curve(#[from] InputError),
    /// A pair outside what can be.
    #[error(
        "measured pair {number}: moisture {moisture_pct} % and water activity {water_activity}; give a moisture above 0 and below 100 % and a water activity above 0 and below 1"
    )]
    Pair {
        /// Which one, from 1.
        number: usize,
        /// Its moisture, % wet basis.
        moisture_pct: f64,
        /// Its water activity.
        water_activity: f64,
    },
    /// More water with less activity.
    #[error(
        "measured pairs at {low_pct:.2} % and {high_pct:.2} % moisture: the wetter one has no higher water activity at the same temperature ({low_activity:.3} and {high_activity:.3}); leave one out or measure again after evening out for a day in a closed jar"
    )]
    Order {
        /// Drier moisture, % wet basis.
        low_pct: f64,
        /// Its water activity at 25 °C.
        low_activity: f64,
        /// Wetter moisture, % wet basis.
        high_pct: f64,
        /// Its water activity at 25 °C.
        high_activity: f64,
    },
}

/// The isotherm of one dry solid, with where it comes from.
#[derive(Clone, Debug, PartialEq)]
pub struct Sorption {
    /// The curve, as the bake takes it.
    pub isotherm: Isotherm,
    /// Where it comes from.
    pub source: Source,
    /// Moisture within which own pairs stand, if there are any.
    pub measured: Option<Range>,
}

fn log_odds(a: f64) -> f64 {
    (a / (1.0 - a)).ln()
}

fn from_log_odds(l: f64) -> f64 {
    1.0 / (1.0 + (-l).exp())
}

/// Moisture \[kg/kg dry solid\] that a dry solid takes up at a water activity, 25 °C, by classes.
///
/// ```
/// use baking::properties::{solids::DrySolids, sorption::{class_moisture, SugarState}};
/// // Wheat flour at water activity 0.5: 10.5 to 12 % dry basis (from memory, to be confirmed).
/// let flour = DrySolids {
///     protein: 0.12, fat: 0.012, carbohydrate: 0.835, fibre: 0.027, ash: 0.006,
///     sugars: Some(0.015), salt: Some(0.0), starch: None,
/// };
/// let x = class_moisture(&flour, 0.5, SugarState::Dissolved).0;
/// assert!((0.105..0.120).contains(&x));
/// ```
pub fn class_moisture(solids: &DrySolids, water_activity: f64, sugars: SugarState) -> DryBasis {
    let sugar = solids.sugars.unwrap_or(0.0);
    let salt = solids.salt.unwrap_or(0.0);
    // Carbohydrate that is neither sugar nor known starch (gums, dextrins) is counted as starch.
    let starch = (solids.carbohydrate - sugar).max(0.0);
    let a = water_activity;
    DryBasis(
        starch * Class::Starch.moisture(a)
            + solids.protein * Class::Protein.moisture(a)
            + solids.fibre * Class::Fibre.moisture(a)
            + if sugar > 0.0 {
                sugar * solutes::sugar_moisture(a, sugars)
            } else {
                0.0
            }
            + if salt > 0.0 {
                salt * solutes::salt_moisture(a)
            } else {
                0.0
            },
    )
}

/// Log-odds at which the isotherm is tabulated: water activity 0.0025 to 0.9975.
const TABULATED: Range = Range::new(-6.0, 6.0);
const STEP: f64 = 0.5;

/// Builds the isotherm of a dry solid: own pairs where they stand, the class isotherm scaled to meet
/// them outside; the class isotherm alone without any.
///
/// # Errors
/// Pairs outside what can be, or out of order.
pub fn sorption(
    solids: &DrySolids,
    settings: &SorptionSettings,
    given: &mut Vec<Given>,
    findings: &mut Vec<Finding>,
) -> Result<Sorption, SorptionError> {
    let per_kelvin = or_default(&PER_KELVIN, settings.per_kelvin, given);
    let count = ((TABULATED.high - TABULATED.low) / STEP) as usize;
    let class_factor = settings.class_factor.unwrap_or(1.0);
    let ln_class = |l: f64| {
        let held = class_moisture(solids, from_log_odds(l), settings.sugars);
        (class_factor * held.0).max(1e-9).ln()
    };
    let class: Vec<(f64, f64)> = (0..=count)
        .map(|i| TABULATED.low + STEP * i as f64)
        .map(|l| (ln_class(l), l))
        .collect();
    if solids.sugars.is_none() {
        findings.push(note("sugars-unknown", "sugars of the dry solid are unknown and are counted as starch; a sweet dough holds more water at high water activity than this says"));
    }
    if solids.salt.is_none() {
        findings.push(note(
            "salt-unknown",
            "salt of the dry solid is unknown and is left out of the water activity",
        ));
    }
    let own = own_points(&settings.measured, per_kelvin)?;
    let Some((&(first_x, first_l), &(last_x, last_l))) = own.first().zip(own.last()) else {
        for (class, name) in Class::ALL.into_iter().zip(MONOLAYERS) {
            given.push(Given {
                name: name.into(),
                value: Some(class.gab().monolayer),
                unit: "kg/kg".into(),
                source: Source::fixed(classes::GRADE, classes::SOURCE),
            });
        }
        let source = Source::fixed(
            classes::GRADE,
            "class isotherms mixed at equal water activity; measure pairs of moisture and water activity to replace them",
        );
        return Sorption::through(&class, per_kelvin, source, None);
    };
    let (below, above) = (first_x - ln_class(first_l), last_x - ln_class(last_l));
    let gap = 0.25;
    let mut points: Vec<_> = class
        .iter()
        .filter(|p| p.1 < first_l - gap)
        .map(|p| (p.0 + below, p.1))
        .collect();
    points.extend(&own);
    points.extend(
        class
            .iter()
            .filter(|p| p.1 > last_l + gap)
            .map(|p| (p.0 + above, p.1)),
    );
    let source = Source::new(
        Grade::Measured,
        format!(
            "{} own pairs of moisture and water activity; outside them the class isotherm scaled to meet them",
            own.len()
        ),
    );
    Sorption::through(
        &points,
        per_kelvin,
        source,
        Some(Range::new(first_x.exp(), last_x.exp())),
    )
}

fn note(code: &str, message: &str) -> Finding {
    Finding::new(Severity::Note, code, "properties.sorption", message)
        .help("give it with the materials' composition")
}

/// Own pairs as points at 25 °C, in order.
fn own_points(pairs: &[MeasuredPair], per_kelvin: f64) -> Result<Vec<(f64, f64)>, SorptionError> {
    let mut points = Vec::with_capacity(pairs.len());
    for (i, pair) in pairs.iter().enumerate() {
        let (w, a) = (pair.moisture.0, pair.water_activity);
        if !(w > 0.0 && w < 1.0 && a > 0.0 && a < 1.0 && pair.temperature_k.is_finite()) {
            return Err(SorptionError::Pair {
                number: i + 1,
                moisture_pct: w * 100.0,
                water_activity: a,
            });
        }
        let celsius = measure::temperature::celsius(pair.temperature_k);
        points.push((
            pair.moisture.to_dry().0.ln(),
            log_odds(a) - per_kelvin * (celsius - REFERENCE_CELSIUS),
        ));
    }
    points.sort_by(|a, b| a.0.total_cmp(&b.0));
    for two in points.windows(2) {
        if !(two[1].0 > two[0].0 && two[1].1 > two[0].1) {
            let pct = |p: (f64, f64)| DryBasis(p.0.exp()).to_wet().percent();
            return Err(SorptionError::Order {
                low_pct: pct(two[0]),
                low_activity: from_log_odds(two[0].1),
                high_pct: pct(two[1]),
                high_activity: from_log_odds(two[1].1),
            });
        }
    }
    Ok(points)
}

impl Sorption {
    /// Smooths the points into a curve.
    fn through(
        points: &[(f64, f64)],
        per_kelvin: f64,
        source: Source,
        measured: Option<Range>,
    ) -> Result<Self, SorptionError> {
        Ok(Self {
            isotherm: Isotherm::through(points, per_kelvin)?,
            source,
            measured,
        })
    }

    /// Water activity at X and T \[K\].
    pub fn water_activity(&self, moisture: DryBasis, temperature_k: f64) -> f64 {
        self.isotherm
            .water_activity(moisture.0, measure::temperature::celsius(temperature_k))
    }

    /// Moisture in equilibrium with a water activity at T \[K\].
    pub fn moisture(&self, water_activity: f64, temperature_k: f64) -> DryBasis {
        DryBasis(
            self.isotherm
                .moisture(water_activity, measure::temperature::celsius(temperature_k)),
        )
    }

    /// Slope da_w/dX at X and T \[K\].
    pub fn slope(&self, moisture: DryBasis, temperature_k: f64) -> f64 {
        self.isotherm
            .slope(moisture.0, measure::temperature::celsius(temperature_k))
    }

    /// Net heat of sorption \[J/kg water\] at X and T \[K\]: R T² (1 − a_w) g.
    pub fn net_heat_j_per_kg(&self, moisture: DryBasis, temperature_k: f64) -> f64 {
        let bound = 1.0 - self.water_activity(moisture, temperature_k);
        VAPOUR_GAS_CONSTANT * temperature_k * temperature_k * bound * self.isotherm.per_kelvin
    }
}

#[cfg(test)]
mod tests;
