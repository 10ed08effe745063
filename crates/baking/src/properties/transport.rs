//! How water moves and how the surface radiates: defaults, each to be replaced by calibration.

use measure::{Constant, Given, Grade, Range, Source};
use serde::{Deserialize, Serialize};

/// Where the six numbers of the water's way come from.
const FIT: &str = "fitted to 30 published pairs of dense and aerated cereal goods at once (docs/model/transport.md); none \
                   of them is a dog biscuit";
/// Liquid and bound-water diffusivity of the wet dough at the reference temperature.
pub const LIQUID_DIFFUSIVITY: Constant = Constant {
    name: "liquid diffusivity at 60 °C",
    value: 6e-10,
    unit: "m²/s",
    range: Range::new(1e-11, 5e-9),
    source: FIT,
    grade: Grade::Computed,
};
/// Activation energy of the liquid diffusivity.
///
/// The 51 to 55 kJ/mol printed for aerated goods (Tong and Lund 1990) hold the vapour in, which the balances have
/// on their own; dense pasta and feed pellets have 22 to 26.
pub const ACTIVATION: Constant = Constant {
    name: "activation energy of the liquid diffusivity",
    value: 31_000.0,
    unit: "J/mol",
    range: Range::new(12_000.0, 60_000.0),
    source: FIT,
    grade: Grade::Computed,
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
    source: "none: the fall at the dry end takes its place and fits the published pairs better",
    grade: Grade::Computed,
};
/// Moisture on dry solid below which liquid water stops moving; 0 is no such fall.
pub const DRY_MOISTURE: Constant = Constant {
    name: "moisture below which liquid water is held",
    value: 0.10,
    unit: "kg/kg",
    range: Range::new(0.0, 0.4),
    source: FIT,
    grade: Grade::Computed,
};
/// How sharply liquid water stops moving there.
pub const DRY_POWER: Constant = Constant {
    name: "sharpness of the fall of the liquid diffusivity",
    value: 2.8,
    unit: "1",
    range: Range::new(1.0, 6.0),
    source: FIT,
    grade: Grade::Computed,
};
/// Open porosity over tortuosity for vapour diffusion.
pub const POROSITY_OVER_TORTUOSITY: Constant = Constant {
    name: "porosity over tortuosity",
    value: 0.010,
    unit: "1",
    range: Range::new(0.0005, 0.3),
    source: FIT,
    grade: Grade::Computed,
};
/// Permeability of the crumb. Print only bounds it from below: under 2e-14 the centre would be hotter than is seen.
pub const PERMEABILITY: Constant = Constant {
    name: "permeability",
    value: 1e-13,
    unit: "m²",
    range: Range::new(1e-15, 1e-11),
    source: FIT,
    grade: Grade::Computed,
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
    /// Moisture below which liquid water is held \[kg/kg dry solid\].
    pub dry_moisture: Option<f64>,
    /// Sharpness of that fall.
    pub dry_power: Option<f64>,
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
    /// Moisture below which liquid water is held \[kg/kg dry solid\]; 0 is no fall.
    pub dry_moisture: f64,
    /// Sharpness of that fall.
    pub dry_power: f64,
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
            dry_moisture: or_default(&DRY_MOISTURE, self.dry_moisture, given),
            dry_power: or_default(&DRY_POWER, self.dry_power, given),
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
