//! Solutes: sugars by Norrish's equation, salt by Pitzer's, crystals below saturation.

use super::SugarState;
use super::solute::{norrish, pitzer};
use measure::{Constant, Grade, Range};

/// Molar mass of water.
///
/// - Units: \[kg/mol\]
/// - Source: standard atomic weights
const WATER_KG_PER_MOL: f64 = 0.018_015;
/// Molar mass of sucrose.
///
/// - Units: \[kg/mol\]
/// - Source: standard atomic weights
const SUCROSE_KG_PER_MOL: f64 = 0.342_30;
/// Norrish's constant of sucrose (Chirife, Ferro Fontan and Benmergui 1980; from memory).
const NORRISH_SUCROSE: Constant = Constant {
    name: "Norrish's constant of sucrose",
    value: 6.47,
    unit: "1",
    range: Range::new(5.5, 7.5),
    source: "Chirife, Ferro Fontan and Benmergui 1980, from memory, to be confirmed",
    grade: Grade::Recalled,
};
/// Water activity of saturated sucrose, 25 °C (from memory; 67.5 % gives 0.8466 by Norrish).
const SUCROSE_SATURATED: Constant = Constant {
    name: "water activity of saturated sucrose at 25 °C",
    value: 0.845,
    unit: "1",
    range: Range::new(0.83, 0.86),
    source: "from memory, to be confirmed; 67.5 % gives 0.8466 by Norrish",
    grade: Grade::Recalled,
};
/// Molar mass of sodium chloride.
///
/// - Units: \[kg/mol\]
/// - Source: standard atomic weights
const SALT_KG_PER_MOL: f64 = 0.058_443;
/// Water activity of saturated salt, 25 °C (Greenspan 1977; from memory).
const SALT_SATURATED: Constant = Constant {
    name: "water activity of saturated salt at 25 °C",
    value: 0.7529,
    unit: "1",
    range: Range::new(0.75, 0.756),
    source: "Greenspan 1977, from memory, to be confirmed",
    grade: Grade::Recalled,
};
/// Crystals lose their last water over this width of water activity instead of at once, so that
/// moisture has one water activity.
const CRYSTAL_WIDTH: Constant = Constant {
    name: "width of water activity over which crystals lose their last water",
    value: 0.03,
    unit: "1",
    range: Range::new(0.005, 0.1),
    source: "chosen here, so that a moisture has one water activity",
    grade: Grade::Assumed,
};

/// Water activity of a sucrose solution with a mass fraction of sucrose, Norrish:
/// a = x_w exp(−K x_s²), mole fractions.
///
/// - Equation: a = x_w exp(−6.47 x_s²)
/// - Units: mass share of sucrose \[kg/kg\], a \[1\]
/// - Valid: 0 to saturation, 67.5 % at 25 °C
/// - Source: Norrish with a constant from memory, to be confirmed; saturated 0.844 measured (from memory, to be
///   confirmed); the examples computed apart
///
/// ```
/// use baking::properties::sorption::sucrose_water_activity;
/// assert!((sucrose_water_activity(0.40) - 0.9589).abs() < 1e-4);
/// assert!((sucrose_water_activity(0.675) - 0.8466).abs() < 1e-4);
/// ```
pub fn sucrose_water_activity(mass_fraction: f64) -> f64 {
    let sugar = mass_fraction / SUCROSE_KG_PER_MOL;
    let water = (1.0 - mass_fraction) / WATER_KG_PER_MOL;
    norrish(sugar / (sugar + water), NORRISH_SUCROSE.value)
}

/// Water activity of a sodium chloride solution \[mol/kg water\], Pitzer (parameters from memory):
/// ln a = −2 m M_w φ.
///
/// - Equation: ln a = −2 m M_w φ
/// - Units: m \[mol/kg water\], a \[1\]
/// - Valid: 0 to 6.14 mol/kg, 25 °C
/// - Source: Pitzer (parameters from memory, to be confirmed); saturated 0.7529 by Greenspan 1977 (from memory, to
///   be confirmed)
///
/// ```
/// use baking::properties::sorption::sodium_chloride_water_activity;
/// assert!((sodium_chloride_water_activity(3.0) - 0.8931).abs() < 1e-4);
/// assert!((sodium_chloride_water_activity(6.14) - 0.7526).abs() < 2e-4);
/// ```
pub fn sodium_chloride_water_activity(molality: f64) -> f64 {
    pitzer(molality, 0.0765, 0.2664, 0.001_27)
}

/// The argument at which a falling function meets a value, by halving.
fn where_falls_to(value: f64, mut low: f64, mut high: f64, f: impl Fn(f64) -> f64) -> f64 {
    for _ in 0..52 {
        let middle = 0.5 * (low + high);
        if f(middle) > value {
            low = middle
        } else {
            high = middle
        }
    }
    0.5 * (low + high)
}

/// Water held per kg of sugar \[kg/kg\].
pub(super) fn sugar_moisture(water_activity: f64, state: SugarState) -> f64 {
    let dissolved = |a: f64| {
        let x = where_falls_to(a, 0.0, 1.0, |x| norrish(x, NORRISH_SUCROSE.value));
        (1.0 - x) * WATER_KG_PER_MOL / (x * SUCROSE_KG_PER_MOL)
    };
    match state {
        SugarState::Crystalline if water_activity < SUCROSE_SATURATED.value => {
            dissolved(SUCROSE_SATURATED.value)
                * ((water_activity - SUCROSE_SATURATED.value) / CRYSTAL_WIDTH.value).exp()
        }
        SugarState::Dissolved | SugarState::Crystalline => dissolved(water_activity),
    }
}

/// Water held per kg of salt \[kg/kg\].
pub(super) fn salt_moisture(water_activity: f64) -> f64 {
    let dissolved = |a: f64| {
        1.0 / (SALT_KG_PER_MOL * where_falls_to(a, 0.0, 7.0, sodium_chloride_water_activity))
    };
    if water_activity < SALT_SATURATED.value {
        dissolved(SALT_SATURATED.value)
            * ((water_activity - SALT_SATURATED.value) / CRYSTAL_WIDTH.value).exp()
    } else {
        dissolved(water_activity)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Worked out independently from the same equations.
    #[test]
    fn solution_values() {
        for (w, a) in [(0.2, 0.9859), (0.4, 0.9589), (0.6, 0.8953), (0.675, 0.8466)] {
            assert!((sucrose_water_activity(w) - a).abs() < 1e-4);
        }
        for (m, a) in [
            (1.0, 0.9668),
            (2.0, 0.9315),
            (3.0, 0.8931),
            (4.0, 0.8515),
            (5.0, 0.8068),
            (6.0, 0.7594),
        ] {
            assert!((sodium_chloride_water_activity(m) - a).abs() < 1e-4);
        }
    }

    #[test]
    fn moisture_is_the_inverse_and_crystals_hold_little() {
        let x = sugar_moisture(0.9, SugarState::Dissolved);
        assert!((sucrose_water_activity(1.0 / (1.0 + x)) - 0.9).abs() < 1e-9);
        let x = salt_moisture(0.9);
        assert!((sodium_chloride_water_activity(1.0 / (x * SALT_KG_PER_MOL)) - 0.9).abs() < 1e-9);
        assert!(sugar_moisture(0.5, SugarState::Crystalline) < 0.001);
        assert!(salt_moisture(0.5) < 0.005);
        for i in 1..990 {
            let a = f64::from(i) / 1000.0;
            for state in [SugarState::Dissolved, SugarState::Crystalline] {
                assert!(sugar_moisture(a + 0.001, state) > sugar_moisture(a, state));
            }
            assert!(salt_moisture(a + 0.001) > salt_moisture(a));
        }
    }
}
