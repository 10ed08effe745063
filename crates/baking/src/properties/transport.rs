//! How water moves and how the surface radiates: defaults, each to be replaced by calibration.

use measure::{Constant, Given, Grade, Range, Source};
use serde::{Deserialize, Serialize};

/// Liquid and bound-water diffusivity at the reference temperature.
pub const LIQUID_DIFFUSIVITY: Constant = Constant {
    name: "liquid diffusivity at 60 °C",
    value: 3e-10,
    unit: "m²/s",
    range: Range::new(1e-11, 5e-9),
    source: "working value for dense dough, order of magnitude of published values for bread, cracker and sponge cake; second order for bake time",
    grade: Grade::Assumed,
};
/// Activation energy of the liquid diffusivity.
pub const ACTIVATION: Constant = Constant {
    name: "activation energy of the liquid diffusivity",
    value: 25_000.0,
    unit: "J/mol",
    range: Range::new(15_000.0, 60_000.0),
    source: "working value; effective diffusivities that include vapour have 51 to 55 kJ/mol (Tong and Lund 1990, abstract seen), liquid alone less",
    grade: Grade::Assumed,
};
/// Reference temperature of the liquid diffusivity.
pub const REFERENCE: Constant = Constant {
    name: "reference temperature of the liquid diffusivity",
    value: 333.15,
    unit: "K",
    range: Range::new(273.15, 423.15),
    source: "choice of this program; only where the value is told",
    grade: Grade::Assumed,
};
/// Exponent by which moisture eases liquid diffusion.
pub const MOISTURE_EXPONENT: Constant = Constant {
    name: "moisture exponent of the liquid diffusivity",
    value: 0.0,
    unit: "1",
    range: Range::new(0.0, 10.0),
    source: "none assumed until calibrated; a sharp fall below 6 % moisture is reported for crackers (Kim and Okos 1999, abstract seen)",
    grade: Grade::Assumed,
};
/// Open porosity over tortuosity for vapour diffusion.
pub const POROSITY_OVER_TORTUOSITY: Constant = Constant {
    name: "porosity over tortuosity",
    value: 0.10,
    unit: "1",
    range: Range::new(0.01, 0.3),
    source: "working value for dense biscuit; second order for bake time",
    grade: Grade::Assumed,
};
/// Permeability of the crumb.
pub const PERMEABILITY: Constant = Constant {
    name: "permeability",
    value: 5e-14,
    unit: "m²",
    range: Range::new(1e-15, 1e-12),
    source: "working value for dense biscuit; matters only below about 1e-14",
    grade: Grade::Assumed,
};
/// Knudsen diffusivity of the crumb's pores.
pub const KNUDSEN: Constant = Constant {
    name: "Knudsen diffusivity",
    value: 0.0,
    unit: "m²/s",
    range: Range::new(0.0, 1e-4),
    source: "left out: pores are far wider than the mean free path",
    grade: Grade::Assumed,
};
/// Width of the smooth passage through boiling.
pub const SMOOTHING: Constant = Constant {
    name: "smoothing at boiling",
    value: 0.01,
    unit: "1",
    range: Range::new(0.002, 0.05),
    source: "numerical choice: from 0.05 to 0.002 the bake time moves by 0.3 %",
    grade: Grade::Computed,
};
/// Emissivity of the piece between grey oven walls.
pub const EMISSIVITY: Constant = Constant {
    name: "emissivity",
    value: 0.9,
    unit: "1",
    range: Range::new(0.7, 0.98),
    source: "usual value for baked goods in bread-baking models, from memory",
    grade: Grade::Recalled,
};

/// A user's values in place of the defaults; `None` keeps the default.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct TransportSettings {
    /// Liquid diffusivity at the reference temperature \[m²/s\].
    pub liquid_diffusivity_m2_per_s: Option<f64>,
    /// Activation energy \[J/mol\].
    pub activation_j_per_mol: Option<f64>,
    /// Moisture exponent.
    pub moisture_exponent: Option<f64>,
    /// Porosity over tortuosity.
    pub porosity_over_tortuosity: Option<f64>,
    /// Permeability \[m²\].
    pub permeability_m2: Option<f64>,
    /// Knudsen diffusivity \[m²/s\].
    pub knudsen_m2_per_s: Option<f64>,
    /// Emissivity.
    pub emissivity: Option<f64>,
}

/// The values a bake runs on.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Transport {
    /// Liquid diffusivity at the reference temperature \[m²/s\].
    pub liquid_diffusivity_m2_per_s: f64,
    /// Activation energy \[J/mol\].
    pub activation_j_per_mol: f64,
    /// Reference temperature \[K\].
    pub reference_k: f64,
    /// Moisture exponent.
    pub moisture_exponent: f64,
    /// Porosity over tortuosity.
    pub porosity_over_tortuosity: f64,
    /// Permeability \[m²\].
    pub permeability_m2: f64,
    /// Knudsen diffusivity \[m²/s\].
    pub knudsen_m2_per_s: f64,
    /// Width of the smooth passage through boiling.
    pub smoothing: f64,
    /// Emissivity.
    pub emissivity: f64,
}

/// A default, or the user's value in its place, noted with what it is.
pub(super) fn or_default(constant: &Constant, own: Option<f64>, given: &mut Vec<Given>) -> f64 {
    let mut used = constant.used();
    if let Some(value) = own {
        used.value = Some(value);
        used.source = Source::fixed(Grade::Measured, "your own setting");
    }
    given.push(used);
    own.unwrap_or(constant.value)
}

impl TransportSettings {
    /// Values to run on, each noted in `given`.
    pub fn resolve(&self, given: &mut Vec<Given>) -> Transport {
        Transport {
            liquid_diffusivity_m2_per_s: or_default(
                &LIQUID_DIFFUSIVITY,
                self.liquid_diffusivity_m2_per_s,
                given,
            ),
            activation_j_per_mol: or_default(&ACTIVATION, self.activation_j_per_mol, given),
            reference_k: or_default(&REFERENCE, None, given),
            moisture_exponent: or_default(&MOISTURE_EXPONENT, self.moisture_exponent, given),
            porosity_over_tortuosity: or_default(
                &POROSITY_OVER_TORTUOSITY,
                self.porosity_over_tortuosity,
                given,
            ),
            permeability_m2: or_default(&PERMEABILITY, self.permeability_m2, given),
            knudsen_m2_per_s: or_default(&KNUDSEN, self.knudsen_m2_per_s, given),
            smoothing: or_default(&SMOOTHING, None, given),
            emissivity: or_default(&EMISSIVITY, self.emissivity, given),
        }
    }
}
