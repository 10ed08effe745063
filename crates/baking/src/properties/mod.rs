//! From what the dry solid is made of to the numbers a bake runs on.

pub mod air;
pub mod component;
pub mod conductivity;
pub mod density;
pub mod heat_capacity;
pub mod setting;
pub mod solids;
pub mod sorption;
pub mod transport;
pub mod water;

pub use conductivity::PorousModel;
pub use density::DoughDensity;
pub use setting::Setting;
pub use solids::{DrySolids, SolidsError};
pub use sorption::{MeasuredPair, Sorption, SorptionError, SorptionSettings, SugarState};
pub use transport::{Transport, TransportSettings};

use crate::Code;
use crate::bake::{
    Closures, Conductivity, DryEnd, LatentHeat, LiquidDiffusivity, SaturationPressure,
    VapourTransport,
};
use measure::{Constant, Finding, Given, Grade, Range, Severity, Source, WetBasis};
use serde::{Deserialize, Serialize};
use transport::or_default;

/// What a person may set about the properties; a `None` keeps the named default, which is then
/// listed among the given.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct PropertySettings {
    /// Density of the formed dough; `None` takes the true density less the default gas.
    pub density: Option<DoughDensity>,
    /// Factor on the dry solid's heat capacity.
    pub heat_capacity_factor: Option<f64>,
    /// Factor on the conductivity, from calibration.
    pub conductivity_factor: Option<f64>,
    /// Porous model; `None` is Maxwell and Eucken.
    pub porous_model: Option<PorousModel>,
    /// Sorption.
    pub sorption: SorptionSettings,
    /// Water transport and emissivity.
    pub transport: TransportSettings,
}

/// Everything a bake needs to know about a dough.
#[derive(Clone, Debug, PartialEq)]
pub struct DoughProperties {
    /// Moisture of the dough.
    pub dough_moisture: WetBasis,
    /// Density of the dough and what is in it.
    pub density: density::Density,
    /// Mean heat capacity of the dry solid \[J/(kg K)\].
    pub solid_heat_capacity_j_per_kg_k: f64,
    /// Heat capacity of liquid water \[J/(kg K)\].
    pub water_heat_capacity_j_per_kg_k: f64,
    /// Conductivity, fitted to the bake's form.
    pub conductivity: conductivity::Fitted,
    /// Isotherm.
    pub sorption: Sorption,
    /// Transport and emissivity.
    pub transport: Transport,
    /// Every number it stands on that wasn't measured here.
    pub given: Vec<Given>,
    /// What a person should know.
    pub findings: Vec<Finding>,
}

/// Why properties can't be computed.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum PropertyError {
    /// The make-up of the dry solid.
    #[error(transparent)]
    Solids(#[from] SolidsError),
    /// Measured pairs.
    #[error(transparent)]
    Sorption(#[from] SorptionError),
    /// A number outside its range.
    #[error(
        "{field} is {}; it must lie within {}",
        measured(value, unit),
        measured(allowed, unit)
    )]
    Range {
        /// Which one.
        field: &'static str,
        /// What was given.
        value: f64,
        /// Its unit.
        unit: &'static str,
        /// What is allowed.
        allowed: Range,
    },
}

/// Dough moisture that can be a dough, wet basis.
pub const DOUGH_MOISTURE: Range = Range::new(0.05, 0.70);
/// Density of a formed dough \[kg/m³\].
pub const DOUGH_DENSITY: Range = Range::new(500.0, 1600.0);
/// Gas that a formed dough may hold.
pub const GAS: Range = Range::new(0.0, 0.6);
/// Heat capacity of liquid water, mean 25 to 100 °C \[J/(kg K)\].
const WATER_HEAT_CAPACITY: Constant = Constant {
    name: "heat capacity of liquid water, mean of 25 to 100 °C",
    value: 4186.0,
    unit: "J/(kg K)",
    range: Range::new(4180.0, 4220.0),
    source: "IAPWS, within 0.3 % (computed)",
    grade: Grade::Computed,
};
/// Conductivity of still air at room temperature \[W/(m K)\].
const STILL_AIR: Constant = Constant {
    name: "conductivity of still air at room temperature",
    value: 0.026,
    unit: "W/(m K)",
    range: Range::new(0.024, 0.032),
    source: "textbook, from memory, to be confirmed; 0.0316 at 100 °C (computed)",
    grade: Grade::Recalled,
};

fn within(
    field: &'static str,
    value: f64,
    unit: &'static str,
    allowed: Range,
) -> Result<(), PropertyError> {
    if allowed.contains(value) {
        Ok(())
    } else {
        Err(PropertyError::Range {
            field,
            value,
            unit,
            allowed,
        })
    }
}

/// A number or range with its unit, without a blank for none.
pub(crate) fn measured(value: impl std::fmt::Display, unit: &str) -> String {
    if unit.is_empty() {
        value.to_string()
    } else {
        format!("{value} {unit}")
    }
}

impl PropertySettings {
    /// Looks at every number.
    ///
    /// # Errors
    /// The first one outside its range, by name.
    pub fn check(&self) -> Result<(), PropertyError> {
        if let Some(DoughDensity::Measured(value)) = self.density {
            within("dough density", value, "kg/m³", DOUGH_DENSITY)?;
        }
        if let Some(PorousModel::Krischer { series_share }) = self.porous_model {
            within(
                "share in series of the Krischer model",
                series_share,
                "",
                Range::new(0.0, 1.0),
            )?;
        }
        for setting in Setting::ALL {
            if let Some(value) = setting.get(self) {
                let constant = setting.constant();
                within(constant.name, value, constant.unit, setting.allowed())?;
            }
        }
        Ok(())
    }
}

/// Properties of a dough from its dry solid and its moisture.
///
/// - Rule: each property by the law of its module from make-up and moisture, and what it stands on is told
/// - Units: moisture \[kg/kg, wet basis\]; properties as their names tell
/// - Valid: dough moistures and settings within the ranges that the errors name
/// - Source: beside each constant; a dough of 31 % with a tenth of gas has 750 to 900 kg dry solid per m³ by
///   volumes that add up
///
/// # Errors
/// A make-up that doesn't close, a moisture that can't be a dough's, a setting outside its range,
/// measured pairs out of order.
///
/// ```
/// use baking::properties::{dough_properties, DrySolids, PropertySettings};
/// use measure::WetBasis;
/// let solids = DrySolids {
///     protein: 0.13, fat: 0.08, carbohydrate: 0.71, fibre: 0.05, ash: 0.03,
///     sugars: Some(0.04), salt: Some(0.005), starch: None,
/// };
/// let dough = dough_properties(&solids, WetBasis(0.31), &PropertySettings::default())?;
/// assert!((750.0..900.0).contains(&dough.density.dry_solid_kg_per_m3));
/// assert!(dough.given.iter().any(|g| g.name == "gas in the formed dough"));
/// # Ok::<(), baking::properties::PropertyError>(())
/// ```
pub fn dough_properties(
    solids: &DrySolids,
    dough_moisture: WetBasis,
    settings: &PropertySettings,
) -> Result<DoughProperties, PropertyError> {
    settings.check()?;
    within(
        "dough moisture, wet basis",
        dough_moisture.0,
        "kg/kg",
        DOUGH_MOISTURE,
    )?;
    let solids = solids.closed()?;
    let mut given = Vec::new();
    let mut findings = Vec::new();

    let known = match settings.density {
        Some(DoughDensity::Measured(value)) => {
            given.push(Given {
                name: MEASURED_DENSITY.into(),
                value: Some(value),
                unit: "kg/m³".into(),
                source: Source::fixed(Grade::Measured, "your own setting"),
            });
            DoughDensity::Measured(value)
        }
        Some(DoughDensity::Gas(_)) | None => {
            let gas = Setting::Gas.get(settings);
            DoughDensity::Gas(or_default(&density::GAS_FRACTION, gas, &mut given))
        }
    };
    let density = density::density(&solids, dough_moisture, known);
    findings.extend(density_finding(&density));

    let factor = or_default(
        &heat_capacity::FACTOR,
        settings.heat_capacity_factor,
        &mut given,
    );
    let solid_heat_capacity = heat_capacity::solid_heat_capacity_j_per_kg_k(&solids, factor);
    given.push(computed(
        SOLID_HEAT_CAPACITY,
        solid_heat_capacity,
        "J/(kg K)",
        heat_capacity::SOURCE,
    ));

    let model = settings.porous_model.unwrap_or(PorousModel::MaxwellEucken);
    let dough = dough_moisture.to_dry();
    let mut conductivity = conductivity::fit(&solids, density.dry_solid_kg_per_m3, dough, model);
    let factor = or_default(
        &setting::CONDUCTIVITY_FACTOR,
        settings.conductivity_factor,
        &mut given,
    );
    for coefficient in conductivity.a.iter_mut().flatten() {
        *coefficient *= factor;
    }
    let how = match model {
        PorousModel::MaxwellEucken => {
            "Choi and Okos components side by side, pores by Maxwell and Eucken"
        }
        PorousModel::Krischer { .. } => "Choi and Okos components side by side, pores by Krischer",
    };
    given.push(computed(
        DOUGH_CONDUCTIVITY,
        conductivity.at(dough, 25.0),
        "W/(m K)",
        how,
    ));

    given.push(computed(
        CONDUCTIVITY_FIT,
        100.0 * conductivity.largest_relative_error,
        "%",
        "against the porous model, from bone dry to the dough's moisture and a little above, 20 to 150 °C",
    ));

    let sorption = sorption::sorption(&solids, &settings.sorption, &mut given, &mut findings)?;
    let transport = settings.transport.resolve(&mut given);
    Ok(DoughProperties {
        dough_moisture,
        density,
        solid_heat_capacity_j_per_kg_k: solid_heat_capacity,
        water_heat_capacity_j_per_kg_k: WATER_HEAT_CAPACITY.value,
        conductivity,
        sorption,
        transport,
        given,
        findings,
    })
}

impl DoughProperties {
    /// The material as the bake takes it: water by Hyland and Wexler and the IAPWS heat of
    /// evaporation, conductivity never below still air.
    pub fn closures(&self) -> Closures {
        let t = &self.transport;
        Closures {
            solid_heat_capacity_j_per_kg_k: self.solid_heat_capacity_j_per_kg_k,
            water_heat_capacity_j_per_kg_k: self.water_heat_capacity_j_per_kg_k,
            conductivity: Conductivity {
                a: self.conductivity.a,
                floor_w_per_m_k: STILL_AIR.value,
            },
            saturation: SaturationPressure::HYLAND_WEXLER,
            latent_heat: LatentHeat::IAPWS_FIT,
            isotherm: self.sorption.isotherm.clone(),
            liquid: LiquidDiffusivity {
                d0_m2_per_s: t.liquid_diffusivity_m2_per_s,
                activation_j_per_mol: t.activation_j_per_mol,
                reference_k: t.reference_k,
                moisture_exponent: t.moisture_exponent,
                dry_end: DryEnd::of(t.dry_moisture, t.dry_power),
            },
            vapour: VapourTransport {
                porosity_over_tortuosity: t.porosity_over_tortuosity,
                permeability_m2: t.permeability_m2,
                knudsen_m2_per_s: t.knudsen_m2_per_s,
                smoothing: t.smoothing,
            },
            emissivity: t.emissivity,
            plain_dough: false,
        }
    }
}

/// Name of a measured density among what an answer stands on.
pub const MEASURED_DENSITY: &str = "density of the formed dough";
/// Name of the computed heat capacity among what an answer stands on.
pub const SOLID_HEAT_CAPACITY: &str = "heat capacity of the dry solid, mean 25 to 120 °C";
/// Name of the computed conductivity among what an answer stands on.
pub const DOUGH_CONDUCTIVITY: &str = "conductivity of the dough at 25 °C";
/// Name of the misfit of the conductivity among what an answer stands on.
pub const CONDUCTIVITY_FIT: &str = "largest error of the conductivity's fitted form";

fn computed(name: &'static str, value: f64, unit: &'static str, source: &'static str) -> Given {
    Given {
        name: name.into(),
        value: Some(value),
        unit: unit.into(),
        source: Source::fixed(Grade::Computed, source),
    }
}

fn density_finding(density: &density::Density) -> Option<Finding> {
    let about = "properties.density";
    if density.porosity < -0.01 {
        return Some(
            Finding::new(
                Severity::Warn,
                Code::DoughDenserThanItsParts,
                about,
                format!(
                    "a dough of {:.0} kg/m³ would be denser than its parts without any gas ({:.0} kg/m³)",
                    density.dough_kg_per_m3, density.true_kg_per_m3
                ),
            )
            .help("weigh a cut block again and look at its moisture and composition"),
        );
    }
    (density.porosity > 0.25).then(|| {
        Finding::new(
            Severity::Note,
            Code::AiryDough,
            about,
            format!("{:.0} % of the dough's volume is gas; this program is made for dense doughs (5 to 12 %)", density.porosity * 100.0),
        )
        .help("the bake time of an airy dough is less sure")
        .source("common practice, no source")
    })
}

#[cfg(test)]
mod tests;
