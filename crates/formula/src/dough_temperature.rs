//! The temperature of the dough: how warm the water has to be, and how much ice when it can't be
//! cold enough.

use crate::composition::Nutrient;
use crate::formula::Formula;
use crate::material::Material;
use measure::temperature::{ZERO_CELSIUS_K, celsius};
use measure::{Constant, Grade, Range};
use serde::{Deserialize, Serialize};

/// Specific heat of water.
pub static WATER_J_PER_KG_K: Constant = Constant {
    name: "specific heat of water",
    value: 4186.0,
    unit: "J/(kg K)",
    range: Range::new(4170.0, 4220.0),
    source: "the rounded value of trade calculations",
    grade: Grade::Published,
};

/// Heat that melting ice takes up.
pub static FUSION_J_PER_KG: Constant = Constant {
    name: "heat of fusion of ice",
    value: 334_600.0,
    unit: "J/kg",
    range: Range::new(333_000.0, 335_000.0),
    source: "the rounded value of trade calculations",
    grade: Grade::Published,
};

const fn component(name: &'static str, value: f64) -> Constant {
    Constant {
        name,
        value,
        unit: "J/(kg K)",
        range: Range::new(900.0, 2300.0),
        source: "Choi and Okos (1986), component polynomials at 20 °C",
        grade: Grade::Published,
    }
}

static PROTEIN: Constant = component("specific heat of protein", 2031.85);
static FAT: Constant = component("specific heat of fat", 2011.75);
static CARBOHYDRATE: Constant = component("specific heat of carbohydrate", 1585.67);
static FIBRE: Constant = component("specific heat of fibre", 1880.65);
static ASH: Constant = component("specific heat of ash", 1128.92);

/// Specific heat of a material from its composition at 20 °C, J/(kg K); what is unknown counts as
/// carbohydrate.
///
/// c = Σ x_i c_i over water, protein, fat, crude fibre, ash and the rest. Over-predicts dry cereal
/// by about 10 %, which moves the water temperature by less than a degree.
///
/// - Equation: c = Σ xᵢ cᵢ, what is unknown as carbohydrate
/// - Units: shares \[kg/kg\], c \[J/(kg K)\]
/// - Valid: 20 °C; about a tenth high for dry cereal
/// - Source: Choi and Okos 1986 at 20 °C (coefficients seen); fat 2011.75 J/(kg K) by hand
///
/// ```
/// use formula::{dough_temperature::specific_heat_j_per_kg_k as c, shelf::find};
/// assert_eq!(c(&find("sunflower_oil").unwrap()), 2011.75);
/// // Soft flour: a tenth of water in protein and starch of 1.6 to 2.0 kJ/(kg K).
/// let flour = c(&find("wheat_flour_soft").unwrap());
/// assert!((1800.0..2000.0).contains(&flour), "{flour}");
/// ```
pub fn specific_heat_j_per_kg_k(material: &Material) -> f64 {
    let x = |n| material.composition.fraction(n).unwrap_or(0.0);
    let parts = [
        (x(Nutrient::Moisture), &WATER_J_PER_KG_K),
        (material.protein_mass().unwrap_or(0.0), &PROTEIN),
        (x(Nutrient::CrudeFat), &FAT),
        (x(Nutrient::CrudeFibre), &FIBRE),
        (x(Nutrient::Ash), &ASH),
    ];
    let known: f64 = parts.iter().map(|(x, _)| x).sum();
    let sum: f64 = parts.iter().map(|(x, c)| x * c.value).sum();
    sum + (1.0 - known).max(0.0) * CARBOHYDRATE.value
}

/// What goes into the heat balance of a dough.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct DoughHeat {
    /// Wanted dough temperature, K.
    pub wanted_k: f64,
    /// Temperature of everything but the added water, K.
    pub materials_k: f64,
    /// Coldest water there is, K.
    pub tap_k: f64,
    /// Mixing work per kg dough, J/kg (10 to 40 kJ/kg is usual; assumed until measured).
    pub mixing_work_j_per_kg: f64,
    /// Share of the mixing work that stays in the dough as heat, 0 to 1.
    pub work_to_heat_fraction: f64,
}

/// The answer.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct WaterTemperature {
    /// Temperature that the added water would need, K; may lie below freezing or above boiling.
    pub needed_k: f64,
    /// Temperature of the water to use: the tap's when ice makes up the rest, K.
    pub water_k: f64,
    /// Part of the added water to give as ice, kg per kg added water.
    pub ice_fraction: f64,
    /// Dough temperature that this reaches, K: the wanted one unless no ice and no hot water can.
    pub reached_k: f64,
}

/// What is wrong with the heat balance.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum DoughHeatError {
    /// No water to temper with.
    #[error(
        "the formula has no added water, so the dough can't be tempered with it; temper the materials"
    )]
    NoWater,
    /// A number outside what can be.
    #[error("{field} is {value}; allowed is {allowed}")]
    OutOfRange {
        /// The field in words, with unit.
        field: &'static str,
        /// The value given.
        value: f64,
        /// What is allowed.
        allowed: Range,
    },
}

/// Hottest water worth giving, K: above 60 °C gluten and enzymes suffer and hands scald.
pub const HOTTEST_WATER_K: Constant = Constant {
    name: "hottest water worth giving",
    value: ZERO_CELSIUS_K + 60.0,
    unit: "K",
    range: Range::new(293.15, 353.15),
    source: "from memory, to be confirmed: above 60 °C gluten and enzymes suffer and hands scald",
    grade: Grade::Recalled,
};

/// Water temperature and ice by energy balance.
///
/// Σ m_i c_i (T − T_i) + m_w c_w (T − T_w) = η W; for ice, Σ over warm parts m c (T_i − T) + η W =
/// m_ice (L + c_w (T − 0 °C)).
///
/// Materials from −20 to 60 °C, dough from 2 to 60 °C, tap from 0 to 60 °C, work up to 300 kJ/kg.
///
/// ```
/// use formula::{Formula, Line, shelf};
/// use formula::dough_temperature::{DoughHeat, WATER_J_PER_KG_K, water_temperature};
/// use measure::temperature::{celsius, kelvin};
/// let line = |id, parts| Line::new(shelf::find(id).unwrap(), parts);
/// let mix = Formula::new(vec![line("sunflower_oil", 100.0), line("water", 100.0)]).unwrap();
/// let heat = DoughHeat {
///     wanted_k: kelvin(30.0),
///     materials_k: kelvin(20.0),
///     tap_k: kelvin(12.0),
///     mixing_work_j_per_kg: 0.0,
///     work_to_heat_fraction: 0.9,
/// };
/// // As much oil 10 K warmer takes water 10 × 2011.75/c_w = 4.8 K above the wanted.
/// let water = water_temperature(&mix, &heat).unwrap();
/// let above = celsius(water.needed_k) - 30.0;
/// assert!((above - 10.0 * 2011.75 / WATER_J_PER_KG_K.value).abs() < 1e-9);
/// assert!((water.reached_k - kelvin(30.0)).abs() < 1e-9);
/// ```
pub fn water_temperature(
    formula: &Formula,
    heat: &DoughHeat,
) -> Result<WaterTemperature, DoughHeatError> {
    let check = |field, value, low, high| {
        let allowed = Range::new(low, high);
        if allowed.contains(value) {
            Ok(())
        } else {
            Err(DoughHeatError::OutOfRange {
                field,
                value,
                allowed,
            })
        }
    };
    check("dough temperature, °C", celsius(heat.wanted_k), 2.0, 60.0)?;
    check(
        "temperature of the materials, °C",
        celsius(heat.materials_k),
        -20.0,
        60.0,
    )?;
    check("temperature of the tap, °C", celsius(heat.tap_k), 0.0, 60.0)?;
    check(
        "mixing work, J/kg",
        heat.mixing_work_j_per_kg,
        0.0,
        300_000.0,
    )?;
    check(
        "share of work that heats",
        heat.work_to_heat_fraction,
        0.0,
        1.0,
    )?;
    let water = formula.water();
    if water <= 0.0 {
        return Err(DoughHeatError::NoWater);
    }
    let capacity_j_per_k: f64 = formula
        .lines()
        .iter()
        .filter(|l| !l.material.is_water())
        .map(|l| l.parts * specific_heat_j_per_kg_k(&l.material))
        .sum();
    let work_j = formula.total() * heat.mixing_work_j_per_kg * heat.work_to_heat_fraction;
    let c_w = WATER_J_PER_KG_K.value;
    // Heat that the water has to bring (negative: take away) to meet the wanted temperature.
    let wanted_j = capacity_j_per_k * (heat.wanted_k - heat.materials_k) - work_j;
    let needed_k = heat.wanted_k + wanted_j / (water * c_w);
    let dough_at = |water_j: f64| {
        // All parts at the temperature T: heat of the parts against 0 °C is conserved.
        let total_capacity = capacity_j_per_k + water * c_w;
        ZERO_CELSIUS_K
            + (capacity_j_per_k * (heat.materials_k - ZERO_CELSIUS_K) + work_j + water_j)
                / total_capacity
    };
    let water_j = |k: f64, ice: f64| {
        water * ((1.0 - ice) * c_w * (k - ZERO_CELSIUS_K) - ice * FUSION_J_PER_KG.value)
    };
    let (water_k, ice_fraction) = if needed_k < heat.tap_k {
        let ice = ice_kg(water, heat.tap_k, needed_k) / water;
        (heat.tap_k, ice.clamp(0.0, 1.0))
    } else {
        (needed_k.min(HOTTEST_WATER_K.value.max(heat.tap_k)), 0.0)
    };
    Ok(WaterTemperature {
        needed_k,
        water_k,
        ice_fraction,
        reached_k: dough_at(water_j(water_k, ice_fraction)),
    })
}

/// Ice that brings `water_kg` (ice included) from the tap's temperature to a wanted one.
///
/// ice = W (T_tap − T_w)/(T_tap + L/c_w), temperatures in °C.
///
/// Check: 40 kg from 20 to 10 °C need 4.003 kg (computed from the balance; a public example that
/// claims 4.4 kg is in error).
///
/// - Equation: ice = W (T_tap − T_w)/(T_tap + L/c_w), °C
/// - Units: W and ice \[kg\], temperatures \[K\], L \[J/kg\], c_w \[J/(kg K)\]
/// - Valid: ice at 0 °C, wanted water above it
/// - Source: heat balance; the example computed apart
///
/// ```
/// use formula::dough_temperature::ice_kg;
/// use measure::temperature::kelvin;
/// assert!((ice_kg(40.0, kelvin(20.0), kelvin(10.0)) - 4.002677376).abs() < 1e-3);
/// ```
pub fn ice_kg(water_kg: f64, tap_k: f64, wanted_k: f64) -> f64 {
    water_kg * (tap_k - wanted_k)
        / (celsius(tap_k) + FUSION_J_PER_KG.value / WATER_J_PER_KG_K.value)
}

/// The baker's rule, only a first guess beside the balance: T_w = n × wanted − (the other n − 1
/// temperatures + friction), where friction is a difference.
///
/// Check: wanted 80 °F, flour 65 °F, room 75 °F, friction 35 °F: water at 65 °F (worked example in
/// print).
///
/// - Equation: T_w = n T − Σ others − friction
/// - Units: temperatures \[K\], friction \[K\]
/// - Valid: a first guess, for doughs of flour and water
/// - Source: bakers' rule, a worked example of a trade page (seen)
///
/// ```
/// use formula::dough_temperature::rule_of_thumb_k;
/// use measure::temperature::{celsius, celsius_to_fahrenheit, fahrenheit_to_celsius, kelvin};
/// let k = |f| kelvin(fahrenheit_to_celsius(f));
/// let water = rule_of_thumb_k(k(80.0), &[k(65.0), k(75.0)], 35.0 / 1.8);
/// assert!((celsius_to_fahrenheit(celsius(water)) - 65.0).abs() < 1e-9);
/// ```
pub fn rule_of_thumb_k(wanted_k: f64, others_k: &[f64], friction_k: f64) -> f64 {
    let n = others_k.len() as f64 + 1.0;
    n * wanted_k - others_k.iter().sum::<f64>() - friction_k
}

/// Friction from a finished dough: n × actual − (the other temperatures, water included) \[K\].
///
/// - Equation: friction = n T − Σ temperatures
/// - Units: temperatures \[K\], friction \[K\]
/// - Valid: the same mixer, batch and mixing time
/// - Source: bakers' rule (seen on trade pages); the example by hand
///
/// ```
/// use formula::dough_temperature::friction_k;
/// // Flour, room and water at 18, 24 and 17 °C made a dough of 26 °C: 3 × 26 − 59 = 19.
/// let k = |celsius| celsius + 273.15;
/// assert!((friction_k(k(26.0), &[k(18.0), k(24.0), k(17.0)]) - 19.0).abs() < 1e-9);
/// ```
pub fn friction_k(actual_k: f64, temperatures_k: &[f64]) -> f64 {
    temperatures_k.len() as f64 * actual_k - temperatures_k.iter().sum::<f64>()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::formula::Line;
    use crate::shelf;
    use measure::temperature::kelvin;

    fn dough() -> Formula {
        Formula::new(vec![
            Line::new(shelf::find("wheat_flour_soft").unwrap(), 100.0),
            Line::new(shelf::water(), 30.0),
        ])
        .unwrap()
    }

    fn heat(wanted_c: f64, work: f64) -> DoughHeat {
        DoughHeat {
            wanted_k: kelvin(wanted_c),
            materials_k: kelvin(20.0),
            tap_k: kelvin(12.0),
            mixing_work_j_per_kg: work,
            work_to_heat_fraction: 0.9,
        }
    }

    #[test]
    fn friction_undoes_the_rule() {
        // The rule with n = 3: flour, room, friction.
        let water = rule_of_thumb_k(299.0, &[291.0, 297.0], 19.0);
        assert!((friction_k(299.0, &[291.0, 297.0, water]) - 19.0).abs() < 1e-9);
    }

    #[test]
    fn the_balance_closes_with_warm_water_and_with_ice() {
        for (wanted, work) in [(28.0, 5_000.0), (22.0, 15_000.0), (20.0, 20_000.0)] {
            let t = water_temperature(&dough(), &heat(wanted, work)).unwrap();
            assert!((celsius(t.reached_k) - wanted).abs() < 0.3, "{t:?}");
        }
    }

    #[test]
    fn ice_melts_into_exactly_the_wanted_water() {
        let (w, tap, wanted) = (40.0, kelvin(20.0), kelvin(10.0));
        let ice = ice_kg(w, tap, wanted);
        let c = WATER_J_PER_KG_K.value;
        let given = (w - ice) * c * (tap - wanted);
        let taken = ice * (FUSION_J_PER_KG.value + c * celsius(wanted));
        assert!((given - taken).abs() / taken < 1e-12);
    }

    #[test]
    fn what_cannot_be_reached_is_told() {
        let t = water_temperature(&dough(), &heat(4.0, 200_000.0)).unwrap();
        assert_eq!(t.ice_fraction, 1.0);
        assert!(t.reached_k > kelvin(4.0));
        let dry = Formula::new(vec![Line::new(shelf::find("salt").unwrap(), 1.0)]).unwrap();
        assert_eq!(
            water_temperature(&dry, &heat(25.0, 0.0)),
            Err(DoughHeatError::NoWater)
        );
    }
}
