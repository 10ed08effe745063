//! Moisture from dish weights, and the method that belongs to it.

use super::{MeasurementError, not_negative, positive};
use measure::WetBasis;
use serde::{Deserialize, Serialize};

/// How the water was driven off or measured. Figures of different methods are not compared.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Method {
    /// Air oven 130 °C (AACC 44-15).
    Oven130,
    /// Air oven 135 °C, 2 h (AOAC 930.15).
    Oven135,
    /// Air oven 103 °C, used for maize and soya.
    Oven103,
    /// Vacuum oven 95 to 100 °C (AOAC 934.01).
    Vacuum,
    /// Karl Fischer titration.
    KarlFischer,
    /// Halogen or infrared balance.
    Balance,
    /// Near infrared, by a calibration.
    NearInfrared,
}

impl Method {
    /// Every method.
    pub const ALL: [Self; 7] = [
        Self::Oven130,
        Self::Oven135,
        Self::Oven103,
        Self::Vacuum,
        Self::KarlFischer,
        Self::Balance,
        Self::NearInfrared,
    ];

    /// The words shown to people.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Oven130 => "air oven 130 °C",
            Self::Oven135 => "air oven 135 °C, 2 h",
            Self::Oven103 => "air oven 103 °C",
            Self::Vacuum => "vacuum oven",
            Self::KarlFischer => "Karl Fischer",
            Self::Balance => "halogen balance",
            Self::NearInfrared => "near infrared",
        }
    }

    /// What to know of it (conditions partly from memory, to be confirmed in the method itself).
    pub const fn caution(self) -> &'static str {
        match self {
            Self::Oven130 | Self::Oven135 => {
                "reads too high with sugars, glycerol and ammonium salts, which leave with the water"
            }
            Self::Oven103 => "leaves some bound water behind; keep to one drying time",
            Self::Vacuum => "the milder oven; for sugary or glycerol-rich pieces",
            Self::KarlFischer => "measures water itself; grind and extract fully",
            Self::Balance => "check against an oven for each kind of piece",
            Self::NearInfrared => "good only inside its calibration",
        }
    }
}

/// One dish: weights in g.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Dish {
    /// Empty dish with lid.
    pub empty_g: f64,
    /// Dish and sample before drying.
    pub before_g: f64,
    /// Dish and sample after drying.
    pub after_g: f64,
}

/// Moisture of a dish: (before − after)/(before − empty).
///
/// - Equation: M = (before − after)/(before − empty)
/// - Units: masses \[g\], M \[kg/kg, wet basis\]
/// - Valid: what leaves is water, as in oven methods
/// - Source: definition of loss on drying; the example by hand
///
/// ```
/// use trials::measurement::moisture::{Dish, of_dish};
/// let d = Dish { empty_g: 20.000, before_g: 25.000, after_g: 24.600 };
/// assert!((of_dish(d).unwrap().percent() - 8.0).abs() < 1e-9);
/// ```
///
/// # Errors
/// No sample in the dish, a gain in weight, or less than the empty dish after drying.
pub fn of_dish(dish: Dish) -> Result<WetBasis, MeasurementError> {
    not_negative("empty dish", dish.empty_g)?;
    let sample = positive("sample", dish.before_g - dish.empty_g)?;
    let lost = not_negative("loss on drying", dish.before_g - dish.after_g)?;
    positive("dry matter", dish.after_g - dish.empty_g)?;
    Ok(WetBasis(lost / sample))
}

/// Several dishes of one sample.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Dishes {
    /// Mean moisture: one figure for the sample, however many dishes.
    pub mean: WetBasis,
    /// Largest less smallest.
    pub spread: f64,
    /// Number of dishes.
    pub dishes: usize,
}

/// Mean and spread over dishes of one sample.
///
/// # Errors
/// As [`of_dish`], and no dish at all.
pub fn of_dishes(dishes: &[Dish]) -> Result<Dishes, MeasurementError> {
    positive("number of dishes", dishes.len() as f64)?;
    let w = dishes
        .iter()
        .map(|d| of_dish(*d).map(|w| w.0))
        .collect::<Result<Vec<f64>, _>>()?;
    let (low, high) = w
        .iter()
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), x| {
            (l.min(*x), h.max(*x))
        });
    Ok(Dishes {
        mean: WetBasis(w.iter().sum::<f64>() / w.len() as f64),
        spread: high - low,
        dishes: w.len(),
    })
}
