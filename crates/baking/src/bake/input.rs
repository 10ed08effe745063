//! What a bake is asked with.

use super::closures::Closures;
use super::edge::Edge;
use super::error::InputError;
use measure::{DryBasis, Range};
use serde::Serialize;

/// One bake: the piece, its material, and the stages it goes through.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct BakeInput {
    /// Thickness L \[m\].
    pub thickness_m: f64,
    /// Moisture at the start.
    pub initial_moisture: DryBasis,
    /// Temperature at the start \[K\].
    pub initial_temperature_k: f64,
    /// Dry solid per volume ρ_s \[kg/m³\].
    pub dry_solid_kg_per_m3: f64,
    /// The material.
    pub closures: Closures,
    /// The rim; none for an endless slab.
    pub edge: Option<Edge>,
    /// Oven zones, cooling, pack, in order.
    pub stages: Vec<Stage>,
    /// Cells over the thickness, an even number; 40 is usual.
    pub cells: usize,
    /// How closely time is followed.
    pub accuracy: Accuracy,
}

/// How closely time is followed (the error of the cells over the thickness comes on top).
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub enum Accuracy {
    /// For verification: every history within 1e-6 of the exact one on the same cells.
    Tight,
    /// For the knock-on. In 99 of 100 random doughs and ovens the mean moisture is within 0.03 % of that at the start at
    /// every time, a surface's at the end of a zone within 0.3 %, temperatures within 1.2 K; usually within a tenth of that.
    Quick,
    /// A relative tolerance of one's own, 1e-9 to 0.1.
    Tolerance(f64),
}

/// What kind of stage: decides which moistures it ends with and whether the rim takes part.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
pub enum StageKind {
    /// A zone of the oven.
    Oven,
    /// A step after the oven with a time of its own: a dryer, a cooler second bake, a dwell.
    Drying,
    /// Cooling in room air.
    Cooling,
    /// The closed pack: no vapour exchange, no rim.
    Pack,
}

impl StageKind {
    /// Every kind, in the order they happen.
    pub const ALL: [Self; 4] = [Self::Oven, Self::Drying, Self::Cooling, Self::Pack];

    /// The word shown to people.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Oven => "oven",
            Self::Drying => "drying",
            Self::Cooling => "cooling",
            Self::Pack => "pack",
        }
    }
}

/// One stage with constant surroundings.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Stage {
    /// Name shown to people.
    pub name: String,
    /// What kind.
    pub kind: StageKind,
    /// How long \[s\].
    pub duration_s: f64,
    /// Air temperature \[K\].
    pub air_k: f64,
    /// Temperature of what radiates onto the top \[K\].
    pub radiating_k: f64,
    /// Band temperature \[K\].
    pub band_k: f64,
    /// Partial pressure of water vapour in the air \[Pa\].
    pub air_vapour_pa: f64,
    /// Convective heat transfer at the top h_c \[W/(m² K)\].
    pub top_w_per_m2_k: f64,
    /// Heat transfer from the band h_b \[W/(m² K)\].
    pub bottom_w_per_m2_k: f64,
    /// Share of the bottom through which vapour passes, 0 for a steel band.
    pub band_open: f64,
    /// Vapour exchange as a share of what the analogy with heat gives: 1 unless learned from bakes, 0 in the closed pack.
    pub vapour_exchange: f64,
}

fn within(field: &str, value: f64, low: f64, high: f64, unit: &str) -> Result<(), InputError> {
    let range = Range::new(low, high);
    if range.contains(value) {
        return Ok(());
    }
    let allowed = if unit.is_empty() {
        range.to_string()
    } else {
        format!("{range} {unit}")
    };
    Err(InputError::new(field.to_owned(), value, allowed))
}

/// Fewest and most cells.
pub const CELLS: Range = Range::new(4.0, 2000.0);

impl BakeInput {
    /// Checks every number.
    ///
    /// # Errors
    /// The first field that is outside what is allowed, with its value and the allowed range.
    pub fn check(&self) -> Result<(), InputError> {
        within("thickness_m", self.thickness_m, 2e-4, 0.2, "m")?;
        within(
            "initial_moisture",
            self.initial_moisture.0,
            0.0,
            5.0,
            "kg/kg dry solid",
        )?;
        within(
            "initial_temperature_k",
            self.initial_temperature_k,
            250.0,
            420.0,
            "K",
        )?;
        within(
            "dry_solid_kg_per_m3",
            self.dry_solid_kg_per_m3,
            20.0,
            3000.0,
            "kg/m3",
        )?;
        let c = &self.closures;
        within(
            "solid_heat_capacity_j_per_kg_k",
            c.solid_heat_capacity_j_per_kg_k,
            200.0,
            10_000.0,
            "J/(kg K)",
        )?;
        within(
            "water_heat_capacity_j_per_kg_k",
            c.water_heat_capacity_j_per_kg_k,
            1000.0,
            10_000.0,
            "J/(kg K)",
        )?;
        for row in c.conductivity.a {
            for a in row {
                within("conductivity.a", a, -100.0, 100.0, "")?;
            }
        }
        within(
            "conductivity.floor_w_per_m_k",
            c.conductivity.floor_w_per_m_k,
            1e-4,
            10.0,
            "W/(m K)",
        )?;
        for p in [373.15, 473.15] {
            within(
                "saturation pressure at 100 and 200 °C",
                c.saturation.pascal(p),
                1.0,
                1e8,
                "Pa",
            )?;
        }
        for t in [0.0, 200.0] {
            within(
                "latent heat at 0 and 200 °C",
                c.latent_heat.j_per_kg(t),
                -1.0,
                1e7,
                "J/kg",
            )?;
        }
        within(
            "isotherm.per_kelvin",
            c.isotherm.per_kelvin,
            -0.5,
            0.5,
            "1/K",
        )?;
        within(
            "isotherm: a_w at X 0.1 and 25 °C",
            c.isotherm.water_activity(0.1, 25.0),
            0.0,
            1.0,
            "",
        )?;
        within(
            "liquid.d0_m2_per_s",
            c.liquid.d0_m2_per_s,
            0.0,
            1e-4,
            "m2/s",
        )?;
        within(
            "liquid.activation_j_per_mol",
            c.liquid.activation_j_per_mol,
            -1e6,
            1e6,
            "J/mol",
        )?;
        within(
            "liquid.reference_k",
            c.liquid.reference_k,
            250.0,
            500.0,
            "K",
        )?;
        within(
            "liquid.moisture_exponent",
            c.liquid.moisture_exponent,
            -100.0,
            100.0,
            "",
        )?;
        if let Some(dry) = c.liquid.dry_end {
            within(
                "liquid.dry_end.moisture",
                dry.moisture,
                1e-4,
                5.0,
                "kg/kg dry solid",
            )?;
            within("liquid.dry_end.power", dry.power, 1.0, 20.0, "")?;
        }
        within(
            "vapour.porosity_over_tortuosity",
            c.vapour.porosity_over_tortuosity,
            0.0,
            1.0,
            "",
        )?;
        within(
            "vapour.permeability_m2",
            c.vapour.permeability_m2,
            0.0,
            1e-8,
            "m2",
        )?;
        within(
            "vapour.knudsen_m2_per_s",
            c.vapour.knudsen_m2_per_s,
            0.0,
            1e-2,
            "m2/s",
        )?;
        within("vapour.smoothing", c.vapour.smoothing, 1e-5, 0.5, "")?;
        within("emissivity", c.emissivity, 0.0, 1.0, "")?;
        if let Some(edge) = &self.edge {
            edge.check()?;
        }
        within("cells", self.cells as f64, CELLS.low, CELLS.high, "")?;
        if !self.cells.is_multiple_of(2) {
            return Err(InputError::new(
                "cells",
                self.cells as f64,
                "an even number (the middle is a node)",
            ));
        }
        if let Accuracy::Tolerance(t) = self.accuracy {
            within("accuracy", t, 1e-9, 0.1, "")?;
        }
        if self.stages.is_empty() {
            return Err(InputError::new("stages", 0.0, "at least one stage"));
        }
        for (i, stage) in self.stages.iter().enumerate() {
            stage.check().map_err(|mut e| {
                e.field = format!("stage {} ({}): {}", i + 1, stage.name, e.field).into();
                e
            })?;
        }
        Ok(())
    }

    /// Total time of the oven stages \[s\].
    ///
    /// - Equation: t = Σ durations of the stages that are oven
    /// - Units: t \[s\]
    /// - Valid: any bake
    /// - Source: an identity
    ///
    /// ```
    /// use baking::bake::{StageKind, case::Benchmark};
    /// let mut input = Benchmark::SteelBand.case().input;
    /// input.stages.retain(|s| s.kind == StageKind::Oven);
    /// input.stages.truncate(2);
    /// (input.stages[0].duration_s, input.stages[1].duration_s) = (300.0, 200.0);
    /// assert_eq!(input.oven_time_s(), 500.0);
    /// ```
    pub fn oven_time_s(&self) -> f64 {
        let oven = self.stages.iter().filter(|s| s.kind == StageKind::Oven);
        oven.map(|s| s.duration_s).sum()
    }
}

impl Stage {
    /// Checks every number.
    ///
    /// # Errors
    /// The first field that is outside what is allowed.
    pub fn check(&self) -> Result<(), InputError> {
        within("duration_s", self.duration_s, 1e-3, 1e9, "s")?;
        within("air_k", self.air_k, 233.15, 873.15, "K")?;
        within("radiating_k", self.radiating_k, 0.0, 1273.15, "K")?;
        within("band_k", self.band_k, 233.15, 873.15, "K")?;
        within(
            "air_vapour_pa",
            self.air_vapour_pa,
            0.0,
            super::surface::PRESSURE_PA,
            "Pa",
        )?;
        within("top_w_per_m2_k", self.top_w_per_m2_k, 0.0, 1e7, "W/(m2 K)")?;
        within(
            "bottom_w_per_m2_k",
            self.bottom_w_per_m2_k,
            0.0,
            1e7,
            "W/(m2 K)",
        )?;
        within("band_open", self.band_open, 0.0, 1.0, "")?;
        within("vapour_exchange", self.vapour_exchange, 0.0, 20.0, "")
    }
}
