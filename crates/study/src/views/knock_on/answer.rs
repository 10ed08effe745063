//! What a treatment does: the answer of the knock-on, ready to be shown or written as JSON.
//!
//! Every number carries its unit in its name. Where a number can be unknown it is an `Option`:
//! unknown is told, never shown as zero.

use super::Beyond;
use formula::Nutrient;
use measure::{Finding, Given};
use schemars::JsonSchema;
use serde::Serialize;
use std::collections::BTreeMap;

/// An uncertain number with its 95 % limits.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Interval {
    /// Mean.
    pub mean: f64,
    /// Lower 95 % limit.
    pub low95: f64,
    /// Upper 95 % limit.
    pub high95: f64,
}

impl From<measure::Estimate> for Interval {
    fn from(e: measure::Estimate) -> Self {
        Self {
            mean: e.mean,
            low95: e.low95(),
            high95: e.high95(),
        }
    }
}

/// The dough.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Dough {
    /// Moisture of the whole dough, % wet basis.
    pub moisture_pct: f64,
    /// Water added, kg per 100 kg of everything else.
    pub water_added_kg_per_100kg_dry_mix: f64,
    /// Water the mix and the forming ask for, kg per 100 kg dry mix.
    pub water_need: Interval,
    /// Share of the pieces that leave the cutter whole, 0 to 1: a belief before any count. None where no water is needed.
    pub whole_pieces: Option<Interval>,
    /// Suggested first dose of a titration, kg per 100 kg dry mix.
    pub first_dose_kg_per_100kg_dry_mix: f64,
    /// Suggested step of a titration, kg per 100 kg dry mix.
    pub dose_step_kg_per_100kg_dry_mix: f64,
    /// Whether the water follows the need or is given: `need` or `given`.
    pub water_from: &'static str,
    /// Density of the dough, kg/m³.
    pub density_kg_per_m3: f64,
    /// Materials whose water uptake isn't known.
    pub unknown_uptake: Vec<String>,
    /// Temperature the water should have for the wished dough temperature, °C, when it is asked for.
    pub water_temperature_c: Option<f64>,
    /// Share of the water to give as ice, kg/kg, when it is asked for.
    pub ice_fraction: Option<f64>,
}

/// One piece.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Piece {
    /// Mass of dough in one piece, g.
    pub green_mass_g: f64,
    /// Mass of one piece as packed, g.
    pub baked_mass_g: f64,
    /// Thickness of the dough piece, mm.
    pub thickness_mm: f64,
    /// Mass lost between green and packed, % of green mass.
    pub loss_pct: f64,
    /// What a piece weighs on its way, from dough to pack.
    pub mass: Vec<MassStage>,
}

/// The mass of a piece at one place of its way.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct MassStage {
    /// Place: `dough`, `oven exit`, `packed`.
    pub place: &'static str,
    /// Dry solids, g.
    pub dry_g: f64,
    /// Water, g.
    pub water_g: f64,
}

/// What the oven does to it.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Bake {
    /// Time from oven mouth to oven exit, min.
    pub time_min: f64,
    /// Mean moisture at the oven's exit, % wet basis.
    pub exit_moisture_pct: f64,
    /// Mean moisture when cooled, % wet basis.
    pub cooled_moisture_pct: f64,
    /// Mean moisture in the pack, % wet basis.
    pub packed_moisture_pct: f64,
    /// Water activity at 25 °C of the mean moisture at the oven's exit; none when what dissolves isn't known.
    pub exit_water_activity: Option<f64>,
    /// Water activity at 25 °C of the mean moisture when cooled; none when what dissolves isn't known.
    pub cooled_water_activity: Option<f64>,
    /// Highest temperature of the centre, °C.
    pub centre_peak_c: f64,
    /// Highest temperature of the top surface, °C.
    pub top_peak_c: f64,
    /// Log reduction of *Salmonella* at the least treated place as credited: nothing above the tested 90 °C and water
    /// activity counts for more; never above 7.
    pub kill_log10: f64,
    /// The same with the equation carried on above 90 °C: to compare with trials, never to rely on; never above 7.
    pub kill_carried_on_log10: f64,
    /// The same with the wet phase by published D values of other doughs: needs validation; never above 7.
    pub kill_wet_phase_log10: f64,
    /// The credited figure as it may be printed, with what stands beside it.
    pub kill_shown: String,
    /// Colour difference ΔE from the dough at the top surface.
    pub colour_delta_e: f64,
    /// Water removed per kg of baked (packed) product, kg/kg.
    pub water_removed_kg_per_kg_baked: f64,
    /// Moisture at the centre less that at the surface when cooled, percentage points wet basis.
    pub centre_surface_moisture_points: f64,
    /// Greatest tension over strength of the crumb after the oven; an index, not calibrated. Null when it wasn't asked for.
    pub checking_index: Option<f64>,
    /// Days in the pack until the crispness limit; null when it wasn't asked for or isn't known.
    pub crisp_days: Option<f64>,
    /// Days followed, when it stays crisp for longer than that.
    pub crisp_days_at_least: Option<f64>,
    /// Why the days aren't known; empty when they are.
    pub crisp_unknown: String,
    /// Whether the target is reached within the allowed band time.
    pub reached: bool,
    /// What limits the bake when the target isn't reached, in words.
    pub limit: Option<String>,
    /// How much faster the edges make the bake than an endless slab of the same thickness, %.
    pub edge_correction_pct: Option<f64>,
    /// Spatial error of the mean moisture at the oven's exit, percentage points (20 against 40 cells).
    pub grid_error_points: Option<f64>,
    /// The bake through time, thinned for drawing.
    pub curve: BakeCurve,
}

/// The bake through time, for drawing: arrays of equal length, and the zones behind them.
#[derive(Clone, Debug, Default, PartialEq, Serialize, JsonSchema)]
pub struct BakeCurve {
    /// Time from the oven's mouth, min.
    pub time_min: Vec<f64>,
    /// Mean moisture, % wet basis.
    pub moisture_pct: Vec<f64>,
    /// Temperature of the top surface, °C.
    pub top_c: Vec<f64>,
    /// Temperature of the centre, °C.
    pub centre_c: Vec<f64>,
    /// Temperature of the bottom surface, °C.
    pub bottom_c: Vec<f64>,
    /// Colour difference ΔE from the dough at the top surface.
    pub colour_delta_e: Vec<f64>,
    /// Name and end (min) of every zone and of the cooling.
    pub zones: Vec<(String, f64)>,
}

/// A station of the line.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Station {
    /// What it is called on the floor.
    pub name: String,
    /// What it could give alone, kg of packed product per hour.
    pub capacity_kg_per_h: f64,
    /// Share of that capacity in use.
    pub use_fraction: f64,
    /// How the capacity comes about, in words.
    pub how: String,
}

/// The line.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Line {
    /// Name of the station that limits the line.
    pub bottleneck: String,
    /// Saleable product, kg per hour.
    pub output_kg_per_h: f64,
    /// Whole pieces per hour.
    pub output_pieces_per_h: f64,
    /// What the oven alone could give, kg per hour.
    pub oven_kg_per_h: Option<f64>,
    /// Water the oven has to take off, kg per hour.
    pub evaporation_kg_per_h: f64,
    /// Heat the product takes up, kWh per kg baked.
    pub heat_kwh_per_kg: f64,
    /// Heat the oven has to be given, kWh per kg baked.
    pub fuel_kwh_per_kg: f64,
    /// Rework back into the mixer, % of the dough at the former.
    pub rework_pct: f64,
    /// Trim above what may go back, kg dough per hour.
    pub trim_left_over_kg_per_h: f64,
    /// Product broken between oven and pack, kg per hour.
    pub broken_kg_per_h: f64,
    /// Product given away above the weight on the label, kg per hour.
    pub giveaway_kg_per_h: f64,
    /// Dough mixed, kg per hour, rework in it.
    pub dough_kg_per_h: f64,
    /// All stations in order.
    pub stations: Vec<Station>,
}

/// What the packed product contains, as fed unless said.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Nutrition {
    /// Moisture of the packed product the figures are told at, %.
    pub moisture_pct: f64,
    /// Crude protein (N × 6.25), %.
    pub crude_protein_pct: f64,
    /// Crude fat, %.
    pub crude_fat_pct: f64,
    /// Crude fibre, %.
    pub crude_fibre_pct: f64,
    /// Ash, %.
    pub ash_pct: f64,
    /// Nitrogen-free extract by difference, %.
    pub nfe_pct: f64,
    /// Metabolisable energy by modified Atwater, kcal/kg.
    pub me_kcal_per_kg: f64,
    /// Metabolisable energy by the four-step NRC/FEDIAF equation for the species, kcal/kg.
    pub me_nrc_kcal_per_kg: f64,
    /// Energy per piece by modified Atwater, kcal.
    pub kcal_per_piece: f64,
    /// Calcium, %.
    pub calcium_pct: f64,
    /// Phosphorus, %.
    pub phosphorus_pct: f64,
    /// Sodium, %.
    pub sodium_pct: f64,
    /// Potassium, %.
    pub potassium_pct: f64,
    /// Each figure that is "at least", with the materials whose value is unknown.
    pub at_least: BTreeMap<String, Vec<String>>,
    /// Materials with an unknown value that the energy depends on: it may be more or less.
    pub energy_unsure: Vec<String>,
    /// The same figures per dry matter, %.
    pub dry_matter: BTreeMap<String, f64>,
}

impl Nutrition {
    /// A constituent as packed, % of the whole; at least, where a material's value is unknown. None for moisture, which
    /// is no part of dry matter.
    pub fn as_packed_pct(&self, nutrient: Nutrient) -> Option<f64> {
        let dry_pct = self.dry_matter.get(nutrient.word())?;
        Some(dry_pct * (1.0 - self.moisture_pct / 100.0))
    }
}

/// The label draft.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Label {
    /// Ingredients in descending order as added.
    pub ingredient_statement: String,
    /// Guaranteed analysis, %.
    pub guaranteed: Guaranteed,
    /// Calorie content statement.
    pub calorie_statement: String,
    /// Names of materials with gluten or with a risk of it.
    pub gluten: Vec<String>,
    /// Allergens by name.
    pub allergens: Vec<String>,
}

/// Guaranteed analysis with the simple margin.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Guaranteed {
    /// Crude protein, at least, %.
    pub crude_protein_min_pct: Option<f64>,
    /// Crude fat, at least, %.
    pub crude_fat_min_pct: Option<f64>,
    /// Crude fibre, at most, %; none when the fibre of a material is unknown, for then there is no most.
    pub crude_fibre_max_pct: Option<f64>,
    /// Moisture, at most, %.
    pub moisture_max_pct: Option<f64>,
}

/// What it costs.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Cost {
    /// Cost of one kg saleable product; unknown when a price is unknown.
    pub per_kg: Option<f64>,
    /// Cost of one piece.
    pub per_piece: Option<f64>,
    /// Ingredients in one kg saleable product.
    pub ingredients_per_kg: Option<f64>,
    /// Everything but ingredients in one kg saleable product; the three below make it up.
    pub conversion_per_kg: f64,
    /// Pack and other costs told per kg.
    pub pack_per_kg: Option<f64>,
    /// People and plant, told per hour of the line.
    pub people_and_plant_per_kg: Option<f64>,
    /// Heat of the oven.
    pub heat_per_kg: Option<f64>,
    /// Currency as the study names it.
    pub currency: String,
    /// Materials without a price.
    pub unknown_prices: Vec<String>,
}

impl Cost {
    /// Costs beside the ingredients that nobody has written; what is told is at least the rest.
    pub fn not_written(&self) -> Vec<&'static str> {
        [
            ("pack", self.pack_per_kg),
            ("people and plant", self.people_and_plant_per_kg),
            ("heat", self.heat_per_kg),
        ]
        .into_iter()
        .filter_map(|(name, cost)| cost.is_none().then_some(name))
        .collect()
    }
}

/// The whole answer for one treatment.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct KnockOn {
    /// Short name of the treatment.
    pub id: String,
    /// Name of the treatment.
    pub name: String,
    /// The dough.
    pub dough: Dough,
    /// One piece.
    pub piece: Piece,
    /// The bake.
    pub bake: Bake,
    /// The line.
    pub line: Line,
    /// Nutrition as packed.
    pub nutrition: Nutrition,
    /// Label draft.
    pub label: Label,
    /// Cost.
    pub cost: Cost,
    /// What a person should know.
    pub findings: Vec<Finding>,
    /// Where it lies outside of what the bake was held against.
    pub beyond: Vec<Beyond>,
    /// Every default the answer stands on, with source and grade.
    pub given: Vec<Given>,
    /// What of it stands on one's own bakes and doughs.
    pub learned: OwnLearned,
}

/// What of an answer stands on one's own bakes and doughs.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, JsonSchema)]
pub struct OwnLearned {
    /// The bake.
    pub bake: bool,
    /// The water need.
    pub water: bool,
    /// The share of whole pieces.
    pub whole: bool,
}
