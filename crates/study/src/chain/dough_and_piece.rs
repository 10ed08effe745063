//! From a treatment to what the bake and the line need: formula with its water, dough, piece.

use super::effective::Effective;
use super::{BakeOptions, Sample, Uncertain, learned};
use crate::model::{DoughDensity, Treatment, WaterChoice};
use baking::bake::{BakeInput, Closures, Stage, StageKind, edge};
use baking::oven::stages;
use baking::piece::EDGE_EXPOSURE;
use baking::properties::sorption::{Dissolved, Solute};
use baking::properties::{self, DoughProperties, PropertySettings, SorptionSettings, transport};
use formula::spread::{self, Quantity};
use formula::{Formula, Nutrient, WaterNeed, water};
use measure::{Constant, Given, Grade, Range, Source, WetBasis, temperature::kelvin};

/// Everything about a treatment up to the oven's mouth.
#[derive(Clone, Debug)]
pub struct DoughAndPiece {
    /// The formula with the water it is made with.
    pub formula: Formula,
    /// What it needs.
    pub need: WaterNeed,
    /// Moisture of the dough.
    pub dough_moisture: WetBasis,
    /// Make-up of the dry solid.
    pub solids: formula::DrySolids,
    /// Properties of the dough.
    pub dough: DoughProperties,
    /// Mass of a piece before the oven, kg.
    pub green_kg: f64,
    /// The bake, at a first time.
    pub bake: BakeInput,
    /// How far the bake's own error takes the moisture in a draw, kg/kg dry solid.
    pub model_off: f64,
    /// The numbers the preparation took.
    pub given: Vec<Given>,
}

/// What can't be prepared, and why.
#[derive(Debug, thiserror::Error)]
pub enum DoughAndPieceError {
    /// The formula.
    #[error(transparent)]
    Formula(#[from] formula::FormulaError),
    /// The dough's properties.
    #[error(transparent)]
    Properties(#[from] properties::PropertyError),
    /// The oven and what comes after.
    #[error(transparent)]
    Stages(#[from] baking::oven::StageError),
    /// The beliefs about the water.
    #[error(transparent)]
    Water(#[from] trials::learn::WaterError),
    /// The piece.
    #[error(transparent)]
    Piece(#[from] baking::piece::PieceError),
}

/// Works a treatment out up to the oven's mouth.
///
/// # Errors
/// What can't be, by name.
pub fn dough_and_piece(
    treatment: &Treatment,
    options: &BakeOptions,
    sample: Sample,
) -> Result<DoughAndPiece, DoughAndPieceError> {
    let setting = &treatment.setting;
    setting.piece.check()?;
    let written = if sample.varies() {
        drawn(&treatment.formula, sample)
    } else {
        treatment.formula.clone()
    };
    let need = drawn_need(needed(&written, treatment, sample)?, treatment, sample);
    let effective = Effective::of(treatment, sample);
    let formula = match (options.water_kg_per_100kg, treatment.water) {
        (Some(water), _) => written.with_water(water)?,
        (None, WaterChoice::FromNeed) => written.with_water(given_by_need(&need))?,
        (None, WaterChoice::Given) => written,
    };
    let dough_moisture = formula.dough_moisture();
    let solids = formula.dry_solids();
    let mut dough = properties::dough_properties(
        &for_properties(&solids),
        dough_moisture,
        &property_settings(treatment, &solids, &effective, sample),
    )?;
    let green_kg = setting.piece.green_mass_kg(dough.density.dough_kg_per_m3)
        * (1.0 + Uncertain::PieceMass.shift(sample));

    let mut given = vec![EDGE_EXPOSURE.used(), edge_path(treatment)];
    if setting.edge_path_share.is_none() && setting.piece.docker.is_some_and(|d| d.count > 0) {
        given.push(edge::HOLE_WALL.used());
    }
    given.extend(dough.given.iter().cloned());
    let mut rim = setting.piece.edge(EDGE_EXPOSURE.value);
    // A path that was fitted to a bake of the whole piece has no misfit left.
    if let Some(fitted) = setting.edge_path_share {
        rim.path_m *= fitted / edge::PATH_SHARE.value;
        // It was fitted with the holes of the whole piece in it.
        rim.holes = None;
    } else {
        rim.path_m *= effective.factor(Uncertain::EdgePath, None);
    }
    rim.exposure = (rim.exposure + effective.shift(Uncertain::EdgeExposure)).clamp(0.0, 1.0);
    let time_s = options
        .bake_time_s
        .or(setting.bake_time_s)
        .unwrap_or_else(|| first_guess_s(treatment, &dough));
    let mut bake = BakeInput {
        thickness_m: setting.piece.thickness_m,
        initial_moisture: dough_moisture.to_dry(),
        initial_temperature_k: kelvin(setting.dough.temperature_c),
        dry_solid_kg_per_m3: dough.density.dry_solid_kg_per_m3,
        closures: Closures {
            plain_dough: is_plain(&formula, &solids),
            ..dough.closures()
        },
        edge: Some(rim),
        stages: oven_stages(treatment, time_s)?,
        cells: options.cells,
        accuracy: options.accuracy,
    };
    vary(&mut bake.stages, &effective, sample);
    given.extend(effective.apply(&mut bake, &mut dough));
    Ok(DoughAndPiece {
        formula,
        need,
        dough_moisture,
        solids,
        dough,
        green_kg,
        bake,
        model_off: effective.model_off(),
        given,
    })
}

/// What a formula of a treatment needs, from the materials and what is believed of them.
fn needed(
    formula: &Formula,
    treatment: &Treatment,
    sample: Sample,
) -> Result<WaterNeed, DoughAndPieceError> {
    let process = &treatment.setting.process;
    let need = water::need(formula, process.forming);
    let taken_up = treatment.setting.learned.as_ref();
    let taught = taken_up.and_then(|l| l.water.as_ref());
    let (beliefs, amounts) = learned::water_model(&need, taught, sample)?;
    let learned = beliefs.predict(&amounts)?;
    Ok(need
        .of(learned.mean_kg, learned.sd_titration_kg)
        .at_consistency(process.consistency_fu))
}

/// Water that is put in by need, kg per 100 kg dry mix: none can be taken out.
const fn given_by_need(need: &WaterNeed) -> f64 {
    need.mean.max(0.0)
}

/// Water that a treatment gets where it follows the need, kg per 100 kg dry mix.
///
/// # Errors
/// What can't be believed of its materials.
pub fn water_by_need(treatment: &Treatment) -> Result<f64, DoughAndPieceError> {
    Ok(given_by_need(&needed(
        &treatment.formula,
        treatment,
        Sample::Centre,
    )?))
}

/// Water that a treatment is made with, kg per 100 kg dry mix: as given, or by its need.
///
/// # Errors
/// What can't be believed of its materials.
pub fn water_added(treatment: &Treatment) -> Result<f64, DoughAndPieceError> {
    match treatment.water {
        WaterChoice::Given => Ok(treatment.formula.water_kg_per_100kg_dry_mix()),
        WaterChoice::FromNeed => water_by_need(treatment),
    }
}

/// Heat transfer as drawn, and the place across the oven, which is hotter or cooler than its middle.
fn vary(stages: &mut [Stage], effective: &Effective<'_>, sample: Sample) {
    let across_k = Uncertain::AcrossOven.shift(sample);
    for (zone, stage) in stages.iter_mut().enumerate() {
        let in_oven = matches!(stage.kind, StageKind::Oven | StageKind::Drying);
        // What was learned of the oven says nothing of the cooling.
        let factor = |of: Uncertain| {
            if in_oven {
                effective.factor(of, Some(zone))
            } else {
                of.factor(sample)
            }
        };
        stage.top_w_per_m2_k *= factor(Uncertain::TopHeat);
        stage.bottom_w_per_m2_k *= factor(Uncertain::BottomHeat);
        if in_oven {
            stage.air_k += across_k;
            stage.radiating_k += across_k;
            stage.band_k += across_k;
        }
    }
}

/// The inner path of the edge that is used: the default, or one that was fitted.
fn edge_path(treatment: &Treatment) -> Given {
    let usual = edge::PATH_SHARE.used();
    match treatment.setting.edge_path_share {
        None => usual,
        Some(value) => Given {
            value: Some(value),
            source: Source::fixed(
                Grade::Computed,
                "written in the study: fitted to a bake of the whole piece, or to your own bakes, of this outline with \
                 these holes",
            ),
            ..usual
        },
    }
}

/// The need of a sample: the forming's offset and the stiffening as drawn (the uptakes already are). What was learned of the
/// water was drawn with the forming in it.
fn drawn_need(mut need: WaterNeed, treatment: &Treatment, sample: Sample) -> WaterNeed {
    if !sample.varies() {
        return need;
    }
    let process = &treatment.setting.process;
    let (forming, fu) = (process.forming, process.consistency_fu);
    let k = water::STIFFENING.value;
    let drawn_k = (k + Uncertain::Stiffening.shift(sample)).max(1.0);
    let taken_up = treatment.setting.learned.as_ref();
    let by_forming = match taken_up.and_then(|l| l.water.as_ref()) {
        Some(_) => 0.0,
        None => forming.offset_sd().value * Uncertain::Forming.shift(sample),
    };
    let at_reference = need.mean / water::consistency_factor(fu, k) + by_forming;
    need.mean = (at_reference * water::consistency_factor(fu, drawn_k)).max(0.0);
    need
}

/// The stages of a treatment at a time in the oven.
///
/// # Errors
/// An oven or time that can't be, by name.
pub fn oven_stages(
    treatment: &Treatment,
    time_s: f64,
) -> Result<Vec<Stage>, baking::oven::StageError> {
    let s = &treatment.setting;
    stages(
        &s.oven,
        time_s,
        s.piece.outline.extent_m().0,
        &s.cooling,
        &s.pack,
    )
}

/// A bake time to start the search from: the heat to take off the water over what the surfaces give.
fn first_guess_s(treatment: &Treatment, dough: &DoughProperties) -> f64 {
    let s = &treatment.setting;
    let zones = s.oven.zones.len().max(1) as f64;
    let flux: f64 = s
        .oven
        .zones
        .iter()
        .map(|z| {
            let top = z.top.w_per_m2_k(s.piece.outline.extent_m().0, z.air_k) + 15.0;
            top * (z.air_k - 385.0).max(5.0)
                + 0.5 * s.oven.bottom_w_per_m2_k(z) * (z.band_k - 385.0).max(0.0)
        })
        .sum::<f64>()
        / zones;
    let water =
        dough.density.dry_solid_kg_per_m3 * s.piece.thickness_m * dough.dough_moisture.to_dry().0;
    let rim = 1.0 + 0.003 * s.piece.perimeter_per_area_per_m();
    (water * 2.6e6 / (1.25 * rim * flux.max(200.0))).clamp(60.0, 7200.0)
}

fn property_settings(
    treatment: &Treatment,
    solids: &formula::DrySolids,
    effective: &Effective<'_>,
    sample: Sample,
) -> PropertySettings {
    let mut settings = PropertySettings {
        density: match treatment.setting.dough.density {
            DoughDensity::Measured(v) => Some(properties::DoughDensity::Measured(v)),
            DoughDensity::GasFraction(gas) => Some(properties::DoughDensity::Gas(gas)),
            DoughDensity::UsualGas => sample.varies().then(|| {
                let gas = properties::density::GAS_FRACTION.value + Uncertain::Gas.shift(sample);
                properties::DoughDensity::Gas(properties::GAS.clamp(gas))
            }),
        },
        sorption: sorption_settings(solids, &treatment.setting.dough.sorption),
        transport: treatment.setting.dough.water_moves,
        ..PropertySettings::default()
    };
    if sample.varies() {
        let about = |constant: &Constant, own: Option<f64>, factor: f64| {
            Some(constant.range.clamp(own.unwrap_or(constant.value) * factor))
        };
        let held = |constant: &Constant, factor: f64| about(constant, None, factor);
        settings.conductivity_factor = Some(
            effective
                .factor(Uncertain::Conductivity, None)
                .clamp(0.3, 3.0),
        );
        settings.heat_capacity_factor = held(
            &properties::heat_capacity::FACTOR,
            effective.factor(Uncertain::HeatCapacity, None),
        );
        settings.sorption.class_factor =
            Some(effective.factor(Uncertain::Sorption, None).clamp(0.5, 2.0));
        settings.sorption.per_kelvin = held(
            &properties::sorption::PER_KELVIN,
            effective.factor(Uncertain::SorptionHeat, None),
        );
        let t = &mut settings.transport;
        t.liquid_diffusivity_m2_per_s = about(
            &transport::LIQUID_DIFFUSIVITY,
            t.liquid_diffusivity_m2_per_s,
            effective.factor(Uncertain::LiquidDiffusivity, None),
        );
        let emissivity = transport::EMISSIVITY.value + effective.shift(Uncertain::Emissivity);
        t.emissivity = Some(transport::EMISSIVITY.range.clamp(emissivity));
        t.permeability_m2 = about(
            &transport::PERMEABILITY,
            t.permeability_m2,
            effective.factor(Uncertain::Permeability, None),
        );
        let activation = t
            .activation_j_per_mol
            .unwrap_or(transport::ACTIVATION.value)
            + effective.shift_with(
                Uncertain::LiquidActivation,
                Uncertain::LiquidDiffusivity,
                0.2,
            );
        t.activation_j_per_mol = Some(transport::ACTIVATION.range.clamp(activation));
        t.dry_moisture = about(
            &transport::DRY_MOISTURE,
            t.dry_moisture,
            effective.factor(Uncertain::DryMoisture, None),
        );
        t.dry_power = about(
            &transport::DRY_POWER,
            t.dry_power,
            effective
                .shift_with(Uncertain::DryPower, Uncertain::DryMoisture, -0.5)
                .exp(),
        );
        t.porosity_over_tortuosity = about(
            &transport::POROSITY_OVER_TORTUOSITY,
            t.porosity_over_tortuosity,
            effective.factor(Uncertain::PorosityOverTortuosity, None),
        );
    }
    settings
}

/// What is set about sorption, with the solutes beside the sugars: the sugars count already in the make-up of the dry
/// solid.
pub fn sorption_settings(solids: &formula::DrySolids, set: &SorptionSettings) -> SorptionSettings {
    let beside = solids.solutes.known.iter().filter(|(s, _)| !s.is_sugar());
    SorptionSettings {
        solutes: beside
            .map(|&(of, share)| Dissolved {
                solute: solute(of),
                share,
            })
            .collect(),
        unknown_solutes: solids.humectant,
        ..set.clone()
    }
}

/// What of the carbohydrate by difference dissolves beside the sugars: without the ash of a salt.
fn carbohydrate_apart(solids: &formula::DrySolids) -> f64 {
    let beside = solids.solutes.known.iter().filter(|(s, _)| !s.is_sugar());
    beside
        .map(|&(of, share)| share * (1.0 - solute(of).ash_share()))
        .sum()
}

const fn solute(of: formula::Solute) -> Solute {
    use formula::Solute as F;
    match of {
        F::Glycerol => Solute::Glycerol,
        F::PropyleneGlycol => Solute::PropyleneGlycol,
        F::Sorbitol => Solute::Sorbitol,
        F::Xylitol => Solute::Xylitol,
        F::Erythritol => Solute::Erythritol,
        F::Mannitol => Solute::Mannitol,
        F::Sucrose => Solute::Sucrose,
        F::Glucose => Solute::Glucose,
        F::Fructose => Solute::Fructose,
        F::Maltose => Solute::Maltose,
        F::Lactose => Solute::Lactose,
        F::SodiumLactate => Solute::SodiumLactate,
        F::PotassiumLactate => Solute::PotassiumLactate,
        F::CitricAcid => Solute::CitricAcid,
        F::TartaricAcid => Solute::TartaricAcid,
        F::MalicAcid => Solute::MalicAcid,
        F::LacticAcid => Solute::LacticAcid,
        F::AceticAcid => Solute::AceticAcid,
    }
}

/// Most sugars of a dough whose wet phase counts by the laws of plain doughs.
const PLAIN_SUGARS: Constant = Constant {
    name: "most sugars of a plain dough, in the dry solid",
    value: 0.03,
    unit: "kg/kg",
    range: Range::new(0.0, 0.10),
    source: "working value: what flour brings with it, and none added; the laws of plain doughs were measured in bread doughs",
    grade: Grade::Assumed,
};
/// Most salt of such a dough.
const PLAIN_SALT: Constant = Constant {
    name: "most salt of a plain dough, in the dry solid",
    value: 0.02,
    unit: "kg/kg",
    range: Range::new(0.0, 0.03),
    source: "working value: about what a bread dough has (common practice, no source)",
    grade: Grade::Assumed,
};

/// Whether a dough has neither sugars, other solutes nor much salt; what isn't known may be there.
fn is_plain(formula: &Formula, solids: &formula::DrySolids) -> bool {
    let few_sugars = solids
        .sugars
        .exact()
        .is_some_and(|s| s <= PLAIN_SUGARS.value);
    // The salt of the solids is at least that of the materials whose sodium is known.
    let little_salt =
        formula.mass_of(Nutrient::Sodium).exact().is_some() && solids.salt <= PLAIN_SALT.value;
    let solutes = &solids.solutes;
    few_sugars
        && little_salt
        && solids.humectant == 0.0
        && solutes.unknown.is_empty()
        && solutes.known.iter().all(|(_, kg)| *kg == 0.0)
}

/// The make-up of the dry solid as the properties take it. Sugars that aren't known count as starch.
pub fn for_properties(solids: &formula::DrySolids) -> properties::DrySolids {
    let carbohydrate = solids.digestible_carbohydrate;
    // What dissolves beside the sugars is carbohydrate by difference; sorption takes it out again.
    let apart = solids.humectant + carbohydrate_apart(solids);
    let sugars = solids
        .sugars
        .at_least
        .clamp(0.0, (carbohydrate - apart).max(0.0));
    properties::DrySolids {
        protein: solids.protein,
        fat: solids.fat,
        carbohydrate,
        fibre: solids.fibre,
        ash: solids.ash,
        sugars: Some(sugars),
        salt: Some(solids.salt.clamp(0.0, solids.ash)),
        starch: solids
            .starch
            .exact()
            .filter(|s| *s + sugars + apart <= carbohydrate + 1e-9),
    }
}

/// Names of the inputs of a formula that vary in a spread.
pub fn drawn_names(formula: &Formula) -> Vec<String> {
    let mut names = Vec::new();
    for line in formula.lines().iter().filter(|l| !l.material.is_water()) {
        let m = &line.material;
        names.extend(
            Quantity::all()
                .filter(|q| match q {
                    Quantity::Nutrient(n) => m
                        .composition
                        .get(*n)
                        .is_some_and(|v| v.sd_or_default(*n) > 0.0),
                    Quantity::WaterUptake => m.water_uptake.is_some(),
                    Quantity::Price => m.price.is_some(),
                })
                .map(|q| drawn_name(&m.name, q)),
        );
    }
    names
}

fn drawn_name(material: &str, quantity: Quantity) -> String {
    format!("{} of {material}", quantity.word())
}

/// The formula with its materials as drawn.
fn drawn(formula: &Formula, sample: Sample) -> Formula {
    spread::drawn(formula, |id, quantity| {
        let line = formula.lines().iter().find(|l| l.material.id == id);
        sample.z(&drawn_name(
            line.map_or(id, |l| l.material.name.as_str()),
            quantity,
        ))
    })
}
