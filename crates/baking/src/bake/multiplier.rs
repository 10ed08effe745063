//! What a bake can be multiplied by: the numbers that are learned from bakes, each as a factor on its best value.

use super::error::InputError;
use super::input::{BakeInput, StageKind};
use serde::Serialize;

/// A factor on one thing a bake stands on.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Multiplier {
    /// Heat transfer at the top, and with it by their analogy the transfer of vapour.
    TopHeat,
    /// Heat transfer from the band.
    BandHeat,
    /// Transfer of vapour at the surfaces alone.
    MassTransfer,
    /// Emissivity: heat by radiation.
    Radiation,
    /// Diffusivity of liquid water.
    LiquidDiffusivity,
    /// Activation energy of that diffusivity.
    LiquidActivation,
    /// Pores open to vapour (φ/τ).
    VapourPath,
    /// Permeability of the crumb.
    Permeability,
    /// Conductivity of dough and crust.
    Conductivity,
    /// Water held at a water activity.
    Sorption,
    /// Inner path of the edge and of the walls of holes.
    EdgePath,
    /// Share of the surface transfer that reaches edge and walls.
    EdgeExposure,
    /// Moisture of the dough.
    InitialMoisture,
    /// Time in every zone of the oven.
    OvenTime,
}

impl Multiplier {
    /// Every one.
    pub const ALL: [Self; 14] = [
        Self::TopHeat,
        Self::BandHeat,
        Self::MassTransfer,
        Self::Radiation,
        Self::LiquidDiffusivity,
        Self::LiquidActivation,
        Self::VapourPath,
        Self::Permeability,
        Self::Conductivity,
        Self::Sorption,
        Self::EdgePath,
        Self::EdgeExposure,
        Self::InitialMoisture,
        Self::OvenTime,
    ];

    /// Whether it may be another one in each zone.
    pub const fn goes_by_zone(self) -> bool {
        matches!(self, Self::TopHeat | Self::BandHeat | Self::MassTransfer)
    }

    /// The bake with the factor on what is multiplied; in one zone alone where a `stage` is named. Cooling and pack keep their
    /// surface transfer: they aren't the oven.
    ///
    /// - Rule: what is named is multiplied, in all oven zones or one, and nothing else moves
    /// - Units: factor \[1\], zone counted from 0
    /// - Valid: a factor above 0
    /// - Source: house rule, no source
    ///
    /// ```
    /// use baking::bake::{Multiplier, case::Benchmark};
    /// let mut input = Benchmark::SteelBand.case().input;
    /// let before = input.stages[0].top_w_per_m2_k;
    /// Multiplier::TopHeat.apply(&mut input, 1.25, None);
    /// assert!((input.stages[0].top_w_per_m2_k / before - 1.25).abs() < 1e-12);
    /// ```
    pub fn apply(self, input: &mut BakeInput, factor: f64, stage: Option<usize>) {
        let c = &mut input.closures;
        let zones = || move |(i, _): &(usize, &mut super::Stage)| stage.is_none_or(|s| s == *i);
        match self {
            Self::TopHeat | Self::BandHeat | Self::MassTransfer => {
                for (_, zone) in input.stages.iter_mut().enumerate().filter(zones()) {
                    if !is_oven(zone.kind) {
                        continue;
                    }
                    match self {
                        Self::TopHeat => zone.top_w_per_m2_k *= factor,
                        Self::BandHeat => zone.bottom_w_per_m2_k *= factor,
                        _ => zone.vapour_exchange *= factor,
                    }
                }
            }
            Self::Radiation => c.emissivity *= factor,
            Self::LiquidDiffusivity => c.liquid.d0_m2_per_s *= factor,
            Self::LiquidActivation => c.liquid.activation_j_per_mol *= factor,
            Self::VapourPath => c.vapour.porosity_over_tortuosity *= factor,
            Self::Permeability => c.vapour.permeability_m2 *= factor,
            Self::Conductivity => {
                c.conductivity.a = c.conductivity.a.map(|r| r.map(|a| a * factor))
            }
            Self::Sorption => c.isotherm = c.isotherm.holding(factor),
            Self::EdgePath | Self::EdgeExposure => {
                if let Some(edge) = &mut input.edge {
                    let holes = edge.holes.as_mut();
                    let holes = holes.map(|h| (&mut h.path_m, &mut h.exposure));
                    let rims = [Some((&mut edge.path_m, &mut edge.exposure)), holes];
                    for (path, exposure) in rims.into_iter().flatten() {
                        *(if self == Self::EdgePath {
                            path
                        } else {
                            exposure
                        }) *= factor;
                    }
                }
            }
            Self::InitialMoisture => input.initial_moisture.0 *= factor,
            Self::OvenTime => {
                for stage in input
                    .stages
                    .iter_mut()
                    .filter(|s| s.kind == StageKind::Oven)
                {
                    stage.duration_s *= factor;
                }
            }
        }
    }
}

/// Whether a stage's surface transfer is the oven's.
pub(super) fn is_oven(kind: StageKind) -> bool {
    matches!(kind, StageKind::Oven | StageKind::Drying)
}

/// A direction that derivatives are told along: the logarithm of a multiplier, in one zone or in all.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
pub struct Direction {
    /// What is multiplied.
    pub what: Multiplier,
    /// The place of the only stage it holds for; none for every zone of the oven.
    pub stage: Option<usize>,
}

impl Direction {
    /// Along a multiplier that holds for every zone.
    pub const fn of(what: Multiplier) -> Self {
        Self { what, stage: None }
    }

    pub(super) fn check(&self, input: &BakeInput) -> Result<(), InputError> {
        let Some(stage) = self.stage else {
            return Ok(());
        };
        if self.what.goes_by_zone() && stage < input.stages.len() {
            return Ok(());
        }
        let text = "a zone of the oven, for a multiplier that goes by zone";
        Err(InputError::new("stage of a multiplier", stage as f64, text))
    }
}
