//! What a figure follows from, and which constants it stands on.

use super::Figure;
use crate::chain::{browning, learned, run, shelf_life};
use crate::model::{PACK_AREA, PACK_CONTENT};
use baking::after::{checking, keeping};
use baking::bake::edge::{HOLE_WALL, PATH_SHARE};
use baking::piece::EDGE_EXPOSURE;
use baking::properties::{self, density, heat_capacity, setting, sorption, transport};
use formula::Nutrient;

/// What a figure stands on.
#[derive(Clone, Debug, PartialEq)]
pub enum StandsOn {
    /// The water uptakes of the materials.
    Uptakes,
    /// The prices of the materials.
    Prices,
    /// A constituent of the materials.
    Constituent(Nutrient),
    /// Constants and descriptions, by name: the names are those of [`measure::Given`].
    Constants(Vec<&'static str>),
}

/// Constants of the heat that goes into a piece.
const HEAT: &[&str] = &[
    heat_capacity::FACTOR.name,
    properties::SOLID_HEAT_CAPACITY,
    setting::CONDUCTIVITY_FACTOR.name,
    properties::DOUGH_CONDUCTIVITY,
    properties::CONDUCTIVITY_FIT,
    transport::EMISSIVITY.name,
];
/// Constants of the water that moves in a piece.
const WATER: &[&str] = &[
    transport::LIQUID_DIFFUSIVITY.name,
    transport::ACTIVATION.name,
    transport::REFERENCE.name,
    transport::MOISTURE_EXPONENT.name,
    transport::DRY_MOISTURE.name,
    transport::DRY_POWER.name,
    transport::POROSITY_OVER_TORTUOSITY.name,
    transport::PERMEABILITY.name,
    transport::KNUDSEN.name,
    transport::SMOOTHING.name,
];
/// Constants of the water that the solids hold.
const SORPTION: &[&str] = &[
    sorption::PER_KELVIN.name,
    sorption::BAKED_STARCH.name,
    sorption::MONOLAYERS[0],
    sorption::MONOLAYERS[1],
    sorption::MONOLAYERS[2],
];
/// Constants of the rim.
const EDGE: &[&str] = &[EDGE_EXPOSURE.name, PATH_SHARE.name, HOLE_WALL.name];
/// How dense the dough is.
const DENSITY: &[&str] = &[density::GAS_FRACTION.name, properties::MEASURED_DENSITY];
/// The oven.
const OVEN: &[&str] = &[run::OVEN_DESCRIPTION];
/// The line.
const LINE: &[&str] = &[run::LINE_DESCRIPTION];
/// Browning.
const BROWNING: &[&str] = &[
    browning::PER_SUGAR.name,
    formula::leavening::BROWNING_PER_PH.name,
    transport::EMISSIVITY.name,
];
/// The crumb as a solid.
const CRUMB: &[&str] = &[
    checking::MODULUS.name,
    checking::POISSON.name,
    checking::EXPANSION.name,
    checking::STRENGTH.name,
    checking::SETTING_CELSIUS.name,
    checking::SOFT_AT.name,
    checking::SOFT_OVER.name,
];
/// Pieces that leave the cutter whole.
const WHOLE: &[&str] = &[
    learned::WHOLE_LEVEL.name,
    learned::WHOLE_LEVEL_SD.name,
    learned::WHOLE_OFF_WATER.name,
    learned::WHOLE_OFF_WATER_SD.name,
];
/// The pack.
const PACK: &[&str] = &[
    shelf_life::FILM_TRANSMISSION,
    keeping::CRISP_WATER_ACTIVITY.name,
    PACK_AREA.name,
    PACK_CONTENT.name,
];

impl Figure {
    /// The figures that this one follows from.
    pub const fn follows_from(self) -> &'static [Self] {
        match self {
            Self::DoughMoisture => &[Self::WaterAdded],
            Self::WaterAdded => &[Self::WaterNeed],
            Self::WholePieces => &[Self::WaterAdded, Self::WaterNeed],
            Self::BakedMass => &[Self::GreenMass, Self::PackedMoisture],
            Self::BakeTime => &[Self::DoughMoisture],
            Self::WaterRemoved => &[Self::DoughMoisture, Self::PackedMoisture],
            Self::ExitMoisture | Self::CentrePeak | Self::TopPeak => {
                &[Self::DoughMoisture, Self::BakeTime]
            }
            Self::PackedMoisture | Self::CentreSurface => &[Self::ExitMoisture],
            Self::PackedActivity => &[Self::PackedMoisture],
            Self::Colour => &[Self::TopPeak, Self::BakeTime],
            Self::Checking => &[Self::CentreSurface],
            Self::CrispDays => &[Self::PackedActivity],
            Self::Kill => &[Self::CentrePeak, Self::BakeTime],
            Self::Output => &[Self::OvenOutput],
            Self::OvenOutput => &[Self::BakedMass, Self::BakeTime],
            Self::Evaporation => &[Self::WaterRemoved, Self::Output],
            Self::Heat => &[Self::WaterRemoved],
            Self::Energy => &[Self::Protein, Self::Fat, Self::Fibre, Self::Ash],
            Self::EnergyPerPiece => &[Self::Energy, Self::BakedMass],
            Self::CostPerKg => &[Self::Output],
            Self::CostPerPiece => &[Self::CostPerKg, Self::BakedMass],
            Self::Protein
            | Self::Fat
            | Self::Fibre
            | Self::Ash
            | Self::Calcium
            | Self::Phosphorus
            | Self::Sodium => &[Self::PackedMoisture],
            Self::WaterNeed | Self::GreenMass => &[],
        }
    }

    /// What the figure stands on.
    pub fn stands_on(self) -> StandsOn {
        let constants = |groups: &[&[&'static str]]| StandsOn::Constants(groups.concat());
        if let Some(nutrient) = self.nutrient() {
            return StandsOn::Constituent(nutrient);
        }
        match self {
            Self::WaterNeed | Self::WaterAdded => StandsOn::Uptakes,
            Self::CostPerKg | Self::CostPerPiece => StandsOn::Prices,
            Self::DoughMoisture => StandsOn::Constituent(Nutrient::Moisture),
            Self::GreenMass | Self::BakedMass | Self::WaterRemoved => constants(&[DENSITY]),
            Self::Colour => constants(&[BROWNING]),
            Self::WholePieces => constants(&[WHOLE]),
            Self::Checking => constants(&[CRUMB]),
            Self::CrispDays => constants(&[PACK, SORPTION]),
            Self::PackedActivity => constants(&[SORPTION]),
            Self::Heat => constants(&[&HEAT[..2]]),
            Self::Output | Self::Evaporation => constants(&[LINE, OVEN]),
            Self::Energy | Self::EnergyPerPiece => constants(&[]),
            _ => constants(&[EDGE, DENSITY, HEAT, SORPTION, WATER, OVEN, LINE]),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::chain::{BakeOptions, Sample, run};
    use baking::bake::Workspace;
    use std::collections::BTreeSet;

    /// What an answer lists is what some figure stands on, and the other way round where the demonstration has it.
    #[test]
    fn every_default_of_an_answer_belongs_to_a_figure() {
        let text = include_str!("../../../../examples/spent-grain.toml");
        let study = crate::written::read(text).unwrap();
        let options = BakeOptions::QUICK;
        let ran = run(
            study.control(),
            &options,
            Sample::Centre,
            &mut Workspace::new(),
        )
        .unwrap();
        let named: BTreeSet<&str> = Figure::ALL
            .into_iter()
            .filter_map(|f| match f.stands_on() {
                StandsOn::Constants(names) => Some(names),
                _ => None,
            })
            .flatten()
            .collect();
        for given in &ran.given {
            assert!(
                named.contains(&*given.name),
                "{} belongs to no figure",
                given.name
            );
        }
    }

    #[test]
    fn causes_come_before_effects_and_never_in_a_circle() {
        fn depth(f: Figure, under: usize) -> usize {
            assert!(under < Figure::ALL.len(), "{f:?} follows from itself");
            f.follows_from()
                .iter()
                .map(|c| 1 + depth(*c, under + 1))
                .max()
                .unwrap_or(0)
        }
        for f in Figure::ALL {
            depth(f, 0);
        }
    }
}
