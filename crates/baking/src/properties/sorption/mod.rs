//! How tightly the dry solid holds its water: water activity against moisture.
//!
//! The isotherm is put together from classes of ingredient at equal water activity, per mass of dry
//! solid: starch, protein and fibre by the GAB equation, sugars and salt by their own solutions, fat
//! and other ash nothing. Baked starch holds less than native one. Humectants, lactates and acids act through their
//! solution in all the water, and the water activities multiply (Ross); at equal water activity, each holding its own
//! water, they would act more: that is told as the lower bound. It is a first guess for a material nobody has measured: the published
//! sets for semolina pasta alone differ by a factor of two at low water activity. A few measured
//! pairs of moisture and water activity of one's own biscuit are worth more, and replace it.

mod classes;
mod solute;
mod solutes;

pub use classes::{Class, Gab};
pub use solute::{MOST_MOLAL, Solute, SolutionLaw, norrish, pitzer};
pub use solutes::{sodium_chloride_water_activity, sucrose_water_activity};

use super::solids::DrySolids;
use super::transport::or_default;
use crate::Code;
use crate::bake::surface::{GAS_CONSTANT, WATER_MOLAR_MASS};
use crate::bake::{Isotherm, error::InputError};
use measure::{
    Apart, Constant, DryBasis, Finding, Given, Grade, Range, Severity, Source, Units, WetBasis,
    error_apart,
};
use serde::{Deserialize, Serialize};

/// Specific gas constant of water vapour \[J/(kg K)\].
///
/// - Source: a ratio of constants beside their sources
const VAPOUR_GAS_CONSTANT: f64 = GAS_CONSTANT / WATER_MOLAR_MASS;

/// Temperature at which the class isotherms are told \[°C\].
///
/// - Source: a reference state, chosen here
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

/// In what state starch is.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum StarchState {
    /// Baked: holds less water than native starch.
    #[default]
    Baked,
    /// As in flour.
    Native,
}

/// Water held by baked starch over that held by native starch at the same water activity.
pub const BAKED_STARCH: Constant = Constant {
    name: "water held by baked starch, over native",
    value: 0.68,
    unit: "1",
    range: Range::new(0.4, 1.1),
    source: "biscuits at 2.81 to 4.53 % moisture read 0.12 to 0.24 and one at 4.60 % dry basis 0.201 in print, where native \
             starch would have 0.05 to 0.13: 0.65 to 0.72 by back-calculation",
    grade: Grade::Computed,
};

/// A solute that is told apart from the carbohydrate, as a share of the dry solid.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Dissolved {
    /// Which.
    pub solute: Solute,
    /// Share of the dry solid \[1\].
    pub share: f64,
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
    /// State of the starch.
    pub starch: StarchState,
    /// Factor on the water of baked starch; the named default if none.
    pub baked_starch: Option<f64>,
    /// Solutes of the formula beside sugars and salt; they are part of its carbohydrate and count no longer as starch.
    pub solutes: Vec<Dissolved>,
    /// Share of the dry solid made of solutes without a law: above [`MOST_UNKNOWN`] the water activity isn't known.
    pub unknown_solutes: f64,
}

/// Share of the dry solid that solutes without a law may make up before the water activity isn't known.
pub const MOST_UNKNOWN: Constant = Constant {
    name: "share of the dry solid that solutes without a law may make up",
    value: 0.01,
    unit: "1",
    range: Range::new(0.001, 0.05),
    source: "house rule, assumed",
    grade: Grade::Assumed,
};

/// Why measured pairs can't be used.
#[derive(Clone, Debug, PartialEq)]
pub enum SorptionError {
    /// A dry solid that holds no water at all, or a curve that doesn't rise.
    Curve(InputError),
    /// A pair outside what can be.
    Pair {
        /// Which one, from 1.
        number: usize,
        /// Its moisture, % wet basis.
        moisture_pct: f64,
        /// Its water activity.
        water_activity: f64,
    },
    /// A solute that can't be.
    Solute {
        /// Which.
        name: &'static str,
        /// Its share.
        share: f64,
    },
    /// More water with less activity.
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

impl From<InputError> for SorptionError {
    fn from(error: InputError) -> Self {
        Self::Curve(error)
    }
}

impl Apart for SorptionError {
    fn apart(&self, _: Units) -> (String, String) {
        match self {
            Self::Curve(error) => (error.to_string(), String::new()),
            Self::Pair {
                number,
                moisture_pct,
                water_activity,
            } => (
                format!(
                    "measured pair {number}: moisture {moisture_pct} % and water activity {water_activity}"
                ),
                "give a moisture above 0 and below 100 % and a water activity above 0 and below 1"
                    .to_owned(),
            ),
            Self::Solute { name, share } => (
                format!("{name} make up {share} of the dry solid"),
                "give a mass fraction from 0 to 0.7".to_owned(),
            ),
            Self::Order {
                low_pct,
                low_activity,
                high_pct,
                high_activity,
            } => (
                format!(
                    "measured pairs at {low_pct:.2} % and {high_pct:.2} % moisture: the wetter one has no higher water \
                     activity at the same temperature ({low_activity:.3} and {high_activity:.3})"
                ),
                "leave one out or measure again after evening out for a day in a closed jar"
                    .to_owned(),
            ),
        }
    }
}

error_apart!(SorptionError);

/// The isotherm of one dry solid, with where it comes from.
#[derive(Clone, Debug, PartialEq)]
pub struct Sorption {
    /// The curve, as the bake takes it.
    pub isotherm: Isotherm,
    /// Where it comes from.
    pub source: Source,
    /// Moisture within which own pairs stand, if there are any.
    pub measured: Option<Range>,
    /// With solutes beside sugars and salt: the curve in which each holds its own water, the lower bound of the water
    /// activity.
    pub lower: Option<Isotherm>,
    /// Why the water activity isn't known at any moisture; none when it is.
    pub unknown: Option<&'static str>,
    /// Solutes beside sugars and salt.
    pub solutes: Vec<Dissolved>,
}

fn log_odds(a: f64) -> f64 {
    (a / (1.0 - a)).ln()
}

fn from_log_odds(l: f64) -> f64 {
    1.0 / (1.0 + (-l).exp())
}

/// Moisture \[kg/kg dry solid\] that a dry solid takes up at a water activity, 25 °C, by classes, without a share of
/// other solutes in the carbohydrate, and with a factor on the starch.
fn held_by_classes(
    solids: &DrySolids,
    water_activity: f64,
    sugars: SugarState,
    solutes: f64,
    starch_factor: f64,
) -> DryBasis {
    let sugar = solids.sugars.unwrap_or(0.0);
    let salt = solids.salt.unwrap_or(0.0);
    // Carbohydrate that is neither sugar nor known starch (gums, dextrins) is counted as starch.
    let starch = (solids.carbohydrate - sugar - solutes).max(0.0);
    let a = water_activity;
    DryBasis(
        starch * starch_factor * Class::Starch.moisture(a)
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

/// By how much Ross was too low for a soft meat treat with sorbitol in print (0.787 read, 0.749 by Ross).
const ROSS_MISS: Constant = Constant {
    name: "what Ross's rule may be too low by",
    value: 0.04,
    unit: "1",
    range: Range::new(0.0, 0.1),
    source: "0.787 read and 0.749 by Ross for a soft meat treat with sorbitol in print (seen)",
    grade: Grade::Computed,
};

/// Log-odds at which the isotherm is tabulated: water activity 0.0025 to 0.9975.
const TABULATED: Range = Range::new(-6.0, 6.0);
/// Distance of the places of the table.
///
/// - Units: log-odds \[1\]
/// - Source: a numerical choice
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
    let starch_factor = match settings.starch {
        StarchState::Baked => or_default(&BAKED_STARCH, settings.baked_starch, given),
        StarchState::Native => 1.0,
    };
    check_solutes(settings)?;
    // The ash of a salt is counted as ash already.
    let dissolved: f64 = settings
        .solutes
        .iter()
        .map(|d| d.share * (1.0 - d.solute.ash_share()))
        .sum();
    let told_apart = dissolved + settings.unknown_solutes;
    let by_classes = |l: f64| {
        let a = from_log_odds(l);
        let held = held_by_classes(solids, a, settings.sugars, told_apart, starch_factor);
        (class_factor * held.0).max(1e-9).ln()
    };
    let levels = || (0..=count).map(|i| TABULATED.low + STEP * i as f64);
    let plain: Vec<(f64, f64)> = levels().map(|l| (by_classes(l), l)).collect();
    let class: Vec<(f64, f64)> = plain
        .iter()
        .map(|(ln_x, l)| (*ln_x, log_odds(with_solutes(&settings.solutes, *ln_x, *l))))
        .collect();
    let curve = Isotherm::through(&class, per_kelvin)?;
    // Moisture at a level of the whole; without other solutes that of the classes, exactly.
    let ln_class = |l: f64| {
        if settings.solutes.is_empty() {
            by_classes(l)
        } else {
            curve.moisture(from_log_odds(l), REFERENCE_CELSIUS).ln()
        }
    };
    let lower = (!settings.solutes.is_empty())
        .then(|| {
            let points: Vec<(f64, f64)> = levels()
                .map(|l| {
                    let own: f64 = settings
                        .solutes
                        .iter()
                        .map(|d| d.share * d.solute.water_held(from_log_odds(l)))
                        .sum();
                    ((by_classes(l).exp() + own).ln(), l)
                })
                .collect();
            Isotherm::through(&points, per_kelvin)
        })
        .transpose()?;
    let unknown = (settings.unknown_solutes > MOST_UNKNOWN.value && settings.measured.is_empty())
        .then_some("a solute without a published law is in the formula; measure water activity");
    for d in &settings.solutes {
        let (_, grade, source) = d.solute.law();
        given.push(Given {
            name: format!("{} in the dry solid", d.solute.word()).into(),
            value: Some(d.share),
            unit: "kg/kg".into(),
            source: Source::fixed(grade, source),
        });
    }
    let more = More {
        lower,
        unknown,
        solutes: settings.solutes.clone(),
    };
    if solids.sugars.is_none() {
        findings.push(note(Code::SugarsUnknown, "sugars of the dry solid are unknown and are counted as starch; a sweet dough holds more water at high water activity than this says"));
    }
    if solids.salt.is_none() {
        findings.push(note(
            Code::SaltUnknown,
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
        return Sorption::through(&class, per_kelvin, source, None, more);
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
        more,
    )
}

/// What a sorption says beside its curve.
struct More {
    lower: Option<Isotherm>,
    unknown: Option<&'static str>,
    solutes: Vec<Dissolved>,
}

/// Water activity of the classes at a level of log-odds, lowered by every solute in all the water (Ross).
fn with_solutes(solutes: &[Dissolved], ln_x: f64, level: f64) -> f64 {
    let lowered: f64 = solutes
        .iter()
        .filter(|d| d.share > 0.0)
        .map(|d| {
            d.solute
                .water_activity(ln_x.exp() / d.share, REFERENCE_CELSIUS)
        })
        .product();
    from_log_odds(level) * lowered
}

fn check_solutes(settings: &SorptionSettings) -> Result<(), SorptionError> {
    let shares = settings.solutes.iter().map(|d| (d.solute.word(), d.share));
    let unknown = [("solutes without a law", settings.unknown_solutes)];
    for (name, share) in shares.chain(unknown) {
        if !(0.0..=0.7).contains(&share) {
            return Err(SorptionError::Solute { name, share });
        }
    }
    Ok(())
}

fn note(code: Code, message: &str) -> Finding {
    Finding::new(Severity::Note, code, "properties.sorption", message)
        .help("give it with the materials' composition")
}

/// Whether own pairs can be used together.
///
/// ```
/// use baking::properties::sorption::{MeasuredPair, readings_fit};
/// use measure::{WetBasis, temperature::kelvin};
/// let read = |pct, water_activity| MeasuredPair {
///     moisture: WetBasis::from_percent(pct), water_activity, temperature_k: kelvin(25.0),
/// };
/// assert!(readings_fit(&[read(4.5, 0.24), read(8.0, 0.55)]).is_ok());
/// assert!(readings_fit(&[read(4.5, 0.60), read(8.0, 0.55)]).is_err());
/// ```
///
/// # Errors
/// Pairs outside what can be, or of which the wetter has no higher water activity.
pub fn readings_fit(pairs: &[MeasuredPair]) -> Result<(), SorptionError> {
    own_points(pairs, PER_KELVIN.value).map(|_| ())
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
        more: More,
    ) -> Result<Self, SorptionError> {
        Ok(Self {
            isotherm: Isotherm::through(points, per_kelvin)?,
            source,
            measured,
            lower: more.lower,
            unknown: more.unknown,
            solutes: more.solutes,
        })
    }

    /// Water activity at X and 25 °C with its lower and upper bounds from how solutes act together, or why it isn't
    /// known.
    ///
    /// The upper bound is 0.04 more than by Ross: as much as it missed for a soft meat treat with sorbitol in print.
    /// Between one's own measured pairs there are no bounds: they are the answer.
    ///
    /// - Rule: the isotherm's own value; below it that of the additive rule, above it 0.04 more
    /// - Units: X \[kg/kg dry solid\], a_w \[1\]
    /// - Valid: 25 °C, solutions that their laws hold for
    /// - Source: additive rule (Lang and Steinberg, from memory, to be confirmed); 0.04 is what Ross's rule missed
    ///   for a soft meat treat with sorbitol in print (seen)
    ///
    /// # Errors
    /// A solute without a law, one that is no longer dissolved, or a salt of an acid beyond the concentrations of its
    /// law.
    ///
    /// ```
    /// use baking::properties::{DrySolids, sorption::{SorptionSettings, sorption}};
    /// use measure::DryBasis;
    /// let solids = DrySolids {
    ///     protein: 0.13, fat: 0.08, carbohydrate: 0.71, fibre: 0.05, ash: 0.03,
    ///     sugars: None, salt: None, starch: None,
    /// };
    /// let found = sorption(&solids, &SorptionSettings::default(), &mut Vec::new(), &mut Vec::new())?;
    /// let (best, low, high) = found.bounded(DryBasis(0.10)).unwrap();
    /// assert!(0.0 < low && low <= best && best <= high && high <= 1.0);
    /// # Ok::<(), baking::properties::sorption::SorptionError>(())
    /// ```
    pub fn bounded(&self, moisture: DryBasis) -> Result<(f64, f64, f64), String> {
        if let Some(why) = self.unknown {
            return Err(why.to_owned());
        }
        if self.measured.is_some_and(|own| own.contains(moisture.0)) {
            let read = self.isotherm.water_activity(moisture.0, REFERENCE_CELSIUS);
            return Ok((read, read, read));
        }
        for d in self.solutes.iter().filter(|d| d.share > 0.0) {
            if !d.solute.holds(moisture.0 / d.share) {
                return Err(format!(
                    "{} is more concentrated in the water of the piece than its law holds for ({:.2} kg per kg of water)",
                    d.solute.word(),
                    d.solute.most_kg_per_kg_water()
                ));
            }
        }
        let best = self.isotherm.water_activity(moisture.0, REFERENCE_CELSIUS);
        let Some(lower) = &self.lower else {
            return Ok((best, best, best));
        };
        let low = lower.water_activity(moisture.0, REFERENCE_CELSIUS);
        Ok((best, low.min(best), (best + ROSS_MISS.value).min(1.0)))
    }

    /// Water activity at X and T \[K\].
    ///
    /// - Rule: the isotherm at X, its logit moved by temperature
    /// - Units: X \[kg/kg dry solid\], T \[K\], a_w \[1\]
    /// - Valid: solutions that their laws hold for, 10 to 150 °C
    /// - Source: additive rule and Ross's rule, sources beside the classes and solutes
    ///
    /// ```
    /// use baking::properties::{DrySolids, sorption::{MeasuredPair, SorptionSettings, sorption}};
    /// use measure::WetBasis;
    /// let solids = DrySolids {
    ///     protein: 0.13, fat: 0.08, carbohydrate: 0.71, fibre: 0.05, ash: 0.03,
    ///     sugars: None, salt: None, starch: None,
    /// };
    /// // One's own reading comes back: 0.45 at 8 % and 25 °C.
    /// let own = MeasuredPair { moisture: WetBasis(0.08), water_activity: 0.45, temperature_k: 298.15 };
    /// let settings = SorptionSettings { measured: vec![own], ..SorptionSettings::default() };
    /// let found = sorption(&solids, &settings, &mut Vec::new(), &mut Vec::new())?;
    /// assert!((found.water_activity(WetBasis(0.08).to_dry(), 298.15) - 0.45).abs() < 2e-3);
    /// # Ok::<(), baking::properties::sorption::SorptionError>(())
    /// ```
    pub fn water_activity(&self, moisture: DryBasis, temperature_k: f64) -> f64 {
        self.isotherm
            .water_activity(moisture.0, measure::temperature::celsius(temperature_k))
    }

    /// Moisture in equilibrium with a water activity at T \[K\].
    ///
    /// - Rule: X at which the isotherm has a water activity
    /// - Units: a_w \[1\], T \[K\], X \[kg/kg dry solid\]
    /// - Valid: a_w between 0 and 1
    /// - Source: an identity: the inverse of `water_activity`
    ///
    /// ```
    /// use baking::properties::{DrySolids, sorption::{SorptionSettings, sorption}};
    /// use measure::DryBasis;
    /// let solids = DrySolids {
    ///     protein: 0.13, fat: 0.08, carbohydrate: 0.71, fibre: 0.05, ash: 0.03,
    ///     sugars: None, salt: None, starch: None,
    /// };
    /// let found = sorption(&solids, &SorptionSettings::default(), &mut Vec::new(), &mut Vec::new())?;
    /// let there = found.water_activity(DryBasis(0.10), 298.15);
    /// assert!((found.moisture(there, 298.15).0 - 0.10).abs() < 1e-9);
    /// # Ok::<(), baking::properties::sorption::SorptionError>(())
    /// ```
    pub fn moisture(&self, water_activity: f64, temperature_k: f64) -> DryBasis {
        DryBasis(
            self.isotherm
                .moisture(water_activity, measure::temperature::celsius(temperature_k)),
        )
    }

    /// Slope da_w/dX at X and T \[K\].
    ///
    /// - Equation: ∂a_w/∂X of the isotherm
    /// - Units: X \[kg/kg dry solid\], T \[K\]
    /// - Valid: as the isotherm
    /// - Source: an identity: the derivative
    ///
    /// ```
    /// use baking::properties::{DrySolids, sorption::{SorptionSettings, sorption}};
    /// use measure::DryBasis;
    /// let solids = DrySolids {
    ///     protein: 0.13, fat: 0.08, carbohydrate: 0.71, fibre: 0.05, ash: 0.03,
    ///     sugars: None, salt: None, starch: None,
    /// };
    /// let found = sorption(&solids, &SorptionSettings::default(), &mut Vec::new(), &mut Vec::new())?;
    /// let at = |x| found.water_activity(DryBasis(x), 298.15);
    /// let difference = (at(0.1001) - at(0.0999)) / 0.0002;
    /// assert!((found.slope(DryBasis(0.10), 298.15) / difference - 1.0).abs() < 1e-3);
    /// # Ok::<(), baking::properties::sorption::SorptionError>(())
    /// ```
    pub fn slope(&self, moisture: DryBasis, temperature_k: f64) -> f64 {
        self.isotherm
            .slope(moisture.0, measure::temperature::celsius(temperature_k))
    }

    /// Net heat of sorption \[J/kg water\] at X and T \[K\]: R T² (1 − a_w) g.
    ///
    /// - Equation: q = R_v T² (1 − a_w) g
    /// - Units: X \[kg/kg dry solid\], T \[K\], q \[J/kg water\], g \[1/K\]
    /// - Valid: as the isotherm
    /// - Source: Clausius and Clapeyron for an isotherm whose logit moves by g with temperature, an identity
    ///
    /// ```
    /// use baking::properties::{DrySolids, sorption::{SorptionSettings, sorption}};
    /// use measure::DryBasis;
    /// let solids = DrySolids {
    ///     protein: 0.13, fat: 0.08, carbohydrate: 0.71, fibre: 0.05, ash: 0.03,
    ///     sugars: None, salt: None, starch: None,
    /// };
    /// let found = sorption(&solids, &SorptionSettings::default(), &mut Vec::new(), &mut Vec::new())?;
    /// // Clausius and Clapeyron between 24.5 and 25.5 °C: q = R_v T² ∂ln a_w/∂T, R_v 461.5 J/(kg K).
    /// let ln = |k| found.water_activity(DryBasis(0.10), k).ln();
    /// let wanted = 461.5 * 298.15 * 298.15 * (ln(298.65) - ln(297.65));
    /// assert!((found.net_heat_j_per_kg(DryBasis(0.10), 298.15) / wanted - 1.0).abs() < 1e-3);
    /// # Ok::<(), baking::properties::sorption::SorptionError>(())
    /// ```
    pub fn net_heat_j_per_kg(&self, moisture: DryBasis, temperature_k: f64) -> f64 {
        let bound = 1.0 - self.water_activity(moisture, temperature_k);
        VAPOUR_GAS_CONSTANT * temperature_k * temperature_k * bound * self.isotherm.per_kelvin
    }
}

#[cfg(test)]
mod tests;
