//! Every number a person may set about the properties, as one list: checks, forms and sampling over
//! what isn't known all walk it.

use super::{DoughDensity, PropertySettings, density, heat_capacity, sorption, transport};
use measure::{Constant, Grade, Range};

/// Factor on the conductivity.
pub const CONDUCTIVITY_FACTOR: Constant = Constant {
    name: "factor on the conductivity",
    value: 1.0,
    unit: "1",
    range: Range::new(0.5, 2.0),
    source: "1 leaves component data and porous model alone; calibration on one's own bakes replaces it",
    grade: Grade::Assumed,
};

/// A number a person may set.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Setting {
    /// Gas in the formed dough.
    Gas,
    /// Factor on the dry solid's heat capacity.
    HeatCapacityFactor,
    /// Factor on the conductivity.
    ConductivityFactor,
    /// Shift of the isotherm with temperature.
    PerKelvin,
    /// Liquid diffusivity.
    LiquidDiffusivity,
    /// Its activation energy.
    Activation,
    /// Its moisture exponent.
    MoistureExponent,
    /// Moisture below which it falls.
    DryMoisture,
    /// How sharply it falls there.
    DryPower,
    /// Porosity over tortuosity.
    PorosityOverTortuosity,
    /// Permeability.
    Permeability,
    /// Knudsen diffusivity.
    Knudsen,
    /// Emissivity.
    Emissivity,
}

impl Setting {
    /// Every setting.
    pub const ALL: [Self; 13] = [
        Self::Gas,
        Self::HeatCapacityFactor,
        Self::ConductivityFactor,
        Self::PerKelvin,
        Self::LiquidDiffusivity,
        Self::Activation,
        Self::MoistureExponent,
        Self::DryMoisture,
        Self::DryPower,
        Self::PorosityOverTortuosity,
        Self::Permeability,
        Self::Knudsen,
        Self::Emissivity,
    ];

    /// Name, default, unit, range, source and grade.
    pub const fn constant(self) -> &'static Constant {
        match self {
            Self::Gas => &density::GAS_FRACTION,
            Self::HeatCapacityFactor => &heat_capacity::FACTOR,
            Self::ConductivityFactor => &CONDUCTIVITY_FACTOR,
            Self::PerKelvin => &sorption::PER_KELVIN,
            Self::LiquidDiffusivity => &transport::LIQUID_DIFFUSIVITY,
            Self::Activation => &transport::ACTIVATION,
            Self::MoistureExponent => &transport::MOISTURE_EXPONENT,
            Self::DryMoisture => &transport::DRY_MOISTURE,
            Self::DryPower => &transport::DRY_POWER,
            Self::PorosityOverTortuosity => &transport::POROSITY_OVER_TORTUOSITY,
            Self::Permeability => &transport::PERMEABILITY,
            Self::Knudsen => &transport::KNUDSEN,
            Self::Emissivity => &transport::EMISSIVITY,
        }
    }

    /// What is allowed: the constant's range, wider for gas, which a person may have measured.
    pub const fn allowed(self) -> Range {
        match self {
            Self::Gas => super::GAS,
            _ => self.constant().range,
        }
    }

    /// The user's value, if there is one. A measured dough density says the gas as well, so there is
    /// none to set.
    ///
    /// - Rule: the person's own value; none where it wasn't set
    /// - Units: as the setting
    /// - Valid: any settings
    /// - Source: a list of fields, nothing is reckoned
    ///
    /// ```
    /// use baking::properties::{PropertySettings, Setting};
    /// let settings = PropertySettings { conductivity_factor: Some(1.2), ..PropertySettings::default() };
    /// assert_eq!(Setting::ConductivityFactor.get(&settings), Some(1.2));
    /// assert_eq!(Setting::HeatCapacityFactor.get(&settings), None);
    /// ```
    pub fn get(self, settings: &PropertySettings) -> Option<f64> {
        match self {
            Self::Gas => match settings.density {
                Some(DoughDensity::Gas(gas)) => Some(gas),
                Some(DoughDensity::Measured(_)) | None => None,
            },
            Self::HeatCapacityFactor => settings.heat_capacity_factor,
            Self::ConductivityFactor => settings.conductivity_factor,
            Self::PerKelvin => settings.sorption.per_kelvin,
            Self::LiquidDiffusivity => settings.transport.liquid_diffusivity_m2_per_s,
            Self::Activation => settings.transport.activation_j_per_mol,
            Self::MoistureExponent => settings.transport.moisture_exponent,
            Self::DryMoisture => settings.transport.dry_moisture,
            Self::DryPower => settings.transport.dry_power,
            Self::PorosityOverTortuosity => settings.transport.porosity_over_tortuosity,
            Self::Permeability => settings.transport.permeability_m2,
            Self::Knudsen => settings.transport.knudsen_m2_per_s,
            Self::Emissivity => settings.transport.emissivity,
        }
    }

    /// Sets a value; gas replaces a measured density.
    ///
    /// - Rule: the value takes the place of what was there; gas that of a measured density
    /// - Units: as the setting
    /// - Valid: any value; a check comes later
    /// - Source: a list of fields, nothing is reckoned
    ///
    /// ```
    /// use baking::properties::{PropertySettings, Setting};
    /// for setting in Setting::ALL {
    ///     let mut settings = PropertySettings::default();
    ///     setting.set(&mut settings, 0.5);
    ///     assert_eq!(setting.get(&settings), Some(0.5));
    /// }
    /// ```
    pub fn set(self, settings: &mut PropertySettings, value: f64) {
        let place = match self {
            Self::Gas => {
                settings.density = Some(DoughDensity::Gas(value));
                return;
            }
            Self::HeatCapacityFactor => &mut settings.heat_capacity_factor,
            Self::ConductivityFactor => &mut settings.conductivity_factor,
            Self::PerKelvin => &mut settings.sorption.per_kelvin,
            Self::LiquidDiffusivity => &mut settings.transport.liquid_diffusivity_m2_per_s,
            Self::Activation => &mut settings.transport.activation_j_per_mol,
            Self::MoistureExponent => &mut settings.transport.moisture_exponent,
            Self::DryMoisture => &mut settings.transport.dry_moisture,
            Self::DryPower => &mut settings.transport.dry_power,
            Self::PorosityOverTortuosity => &mut settings.transport.porosity_over_tortuosity,
            Self::Permeability => &mut settings.transport.permeability_m2,
            Self::Knudsen => &mut settings.transport.knudsen_m2_per_s,
            Self::Emissivity => &mut settings.transport.emissivity,
        };
        *place = Some(value);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::properties::{DrySolids, dough_properties};
    use measure::WetBasis;

    /// Every setting reaches the result, each in another place, and is refused beyond its range.
    #[test]
    fn every_setting_counts() {
        let solids = DrySolids {
            protein: 0.13,
            fat: 0.08,
            carbohydrate: 0.71,
            fibre: 0.05,
            ash: 0.03,
            sugars: Some(0.04),
            salt: Some(0.005),
            starch: None,
        };
        let at = |settings: &PropertySettings| dough_properties(&solids, WetBasis(0.3), settings);
        let base = at(&PropertySettings::default()).unwrap();
        let mut names: Vec<&str> = Setting::ALL.iter().map(|s| s.constant().name).collect();
        names.sort_unstable();
        names.dedup();
        assert_eq!(names.len(), Setting::ALL.len());
        for setting in Setting::ALL {
            let constant = setting.constant();
            assert!(constant.range.contains(constant.value), "{}", constant.name);
            let mut settings = PropertySettings::default();
            assert_eq!(setting.get(&settings), None);
            let other = if constant.value == constant.range.high {
                constant.range.low
            } else {
                constant.range.high
            };
            setting.set(&mut settings, other);
            assert_eq!(setting.get(&settings), Some(other));
            let changed = at(&settings).unwrap();
            let same = changed.closures() == base.closures() && changed.density == base.density;
            assert!(!same, "{} changes nothing", constant.name);
            setting.set(&mut settings, setting.allowed().high * 1.5 + 1.0);
            assert!(
                at(&settings)
                    .unwrap_err()
                    .to_string()
                    .contains(constant.name)
            );
            setting.set(&mut settings, f64::NAN);
            assert!(at(&settings).is_err());
        }
    }
}
