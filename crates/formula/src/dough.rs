//! The dough as a mass: what its solids are made of, and what is left of it when it is baked.

use crate::composition::{Nutrient, SALT_PER_SODIUM};
use crate::formula::{Formula, FormulaError};
use crate::material::Category;
use crate::solute::Solute;
use crate::solutes::Solutes;
use measure::{Tally, WetBasis};
use serde::Serialize;

/// Composition of the dry solids of a dough, kg per kg dry solid, for physical properties.
///
/// `protein + fat + digestible_carbohydrate + fibre + ash = 1`; sugars, starch, salt and humectant
/// are parts of those. Protein is mass by the material's own nitrogen factor, fibre is dietary
/// fibre where known.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct DrySolids {
    /// Protein \[1\].
    pub protein: f64,
    /// Fat \[1\].
    pub fat: f64,
    /// Starch, sugars, humectants and the like, by difference \[1\].
    pub digestible_carbohydrate: f64,
    /// Dietary fibre, else crude fibre \[1\].
    pub fibre: f64,
    /// Ash \[1\].
    pub ash: f64,
    /// Sugars, part of the carbohydrate: at least, with the materials whose value is unknown.
    pub sugars: Tally,
    /// Starch, part of the carbohydrate: at least, with the materials whose value is unknown.
    pub starch: Tally,
    /// Sodium told as sodium chloride, part of the ash; that of sodium lactate, which stands among the
    /// solutes, isn't counted \[1\].
    pub salt: f64,
    /// Substances that dissolve, sugars of the composition apart; but for the salts of acids, part of
    /// the carbohydrate by difference.
    pub solutes: Solutes,
    /// Humectants of which nobody said what dissolves, part of the carbohydrate \[1\].
    pub humectant: f64,
    /// Materials of which a macronutrient was unknown and counted as carbohydrate.
    pub unknown: Vec<String>,
}

/// Dough to baked piece, by mass alone; on the scale of the formula.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct BakeBalance {
    /// Dough.
    pub dough_kg: f64,
    /// Dry solids of the dough.
    pub solids_kg: f64,
    /// Mass that leaves by decomposition (leavening gas).
    pub decomposed_kg: f64,
    /// Water that leaves.
    pub water_off_kg: f64,
    /// Baked mass.
    pub baked_kg: f64,
}

impl BakeBalance {
    /// Baked mass per dough mass.
    ///
    /// - Equation: y = baked/dough
    /// - Units: masses \[kg\], y \[1\]
    /// - Valid: dough above 0
    /// - Source: definition; 28 to 7 % moisture is 72/93, worked out apart
    ///
    /// ```
    /// let balance = formula::BakeBalance {
    ///     dough_kg: 100.0, solids_kg: 72.0, decomposed_kg: 0.0, water_off_kg: 100.0 - 72.0 / 0.93, baked_kg: 72.0 / 0.93,
    /// };
    /// assert!((balance.yield_fraction() - 0.774_194).abs() < 1e-6);
    /// ```
    pub fn yield_fraction(&self) -> f64 {
        self.baked_kg / self.dough_kg
    }

    /// Loss from dough to baked, kg per kg dough.
    ///
    /// - Equation: 1 − baked/dough
    /// - Units: share \[1\]
    /// - Valid: dough above 0
    /// - Source: definition; 28 to 7 % moisture loses 22.5806 %, worked out apart
    ///
    /// ```
    /// let balance = formula::BakeBalance {
    ///     dough_kg: 100.0, solids_kg: 72.0, decomposed_kg: 0.0, water_off_kg: 100.0 - 72.0 / 0.93, baked_kg: 72.0 / 0.93,
    /// };
    /// assert!((balance.loss_fraction() - 0.225_806).abs() < 1e-6);
    /// ```
    pub fn loss_fraction(&self) -> f64 {
        1.0 - self.yield_fraction()
    }

    /// Water to take off per kg baked.
    ///
    /// - Equation: water off/baked
    /// - Units: masses \[kg\], result \[kg/kg baked\]
    /// - Valid: something baked
    /// - Source: definition; 28 to 7 % moisture takes 0.291667, worked out apart
    ///
    /// ```
    /// let balance = formula::BakeBalance {
    ///     dough_kg: 100.0, solids_kg: 72.0, decomposed_kg: 0.0, water_off_kg: 100.0 - 72.0 / 0.93, baked_kg: 72.0 / 0.93,
    /// };
    /// assert!((balance.water_off_kg_per_kg_baked() - 0.291_667).abs() < 1e-6);
    /// ```
    pub fn water_off_kg_per_kg_baked(&self) -> f64 {
        self.water_off_kg / self.baked_kg
    }
}

/// kg sodium per kg sodium lactate (standard atomic weights).
///
/// - Units: \[kg/kg\]
/// - Source: standard atomic weights, a conversion
const SODIUM_PER_LACTATE: f64 = 22.990 / Solute::SodiumLactate.g_per_mol();

impl Formula {
    /// Dough to baked at a final moisture.
    ///
    /// baked = (dough solids − decomposed)/(1 − target moisture); water off is what is left over.
    ///
    /// Errors when the target is wetter than the dough.
    ///
    /// - Equation: baked = (solids − decomposed)/(1 − M)
    /// - Units: M \[kg/kg, wet basis\], masses \[kg\]
    /// - Valid: M from 0 to the dough's
    /// - Source: an identity of dry solids
    ///
    /// ```
    /// use formula::{Formula, Line, shelf};
    /// use measure::WetBasis;
    /// let line = |id, parts| Line::new(shelf::find(id).unwrap(), parts);
    /// let dough = Formula::new(vec![line("wheat_flour_soft", 100.0), line("water", 30.0)]).unwrap();
    /// // 100 kg flour of 11.85 % moisture and water with 0.1 % of salts: 88.18 kg solids, at 8 %
    /// // moisture 95.85 kg of 130.
    /// let baked = dough.bake_balance(WetBasis(0.08)).unwrap();
    /// assert!((baked.baked_kg - 88.18 / 0.92).abs() < 1e-9);
    /// assert!((baked.yield_fraction() - 0.7373).abs() < 1e-4);
    /// assert!(dough.bake_balance(WetBasis(0.40)).is_err());
    /// ```
    pub fn bake_balance(&self, target: WetBasis) -> Result<BakeBalance, FormulaError> {
        let dough = self.dough_moisture();
        if target.0 > dough.0 || target.0 < 0.0 || !target.0.is_finite() {
            return Err(FormulaError::WetterThanDough { target, dough });
        }
        let dough_kg = self.total();
        let solids_kg = self.solids();
        let decomposed_kg = self.decomposed();
        let baked_kg = (solids_kg - decomposed_kg) / (1.0 - target.0);
        Ok(BakeBalance {
            dough_kg,
            solids_kg,
            decomposed_kg,
            water_off_kg: dough_kg - decomposed_kg - baked_kg,
            baked_kg,
        })
    }

    /// Sodium that isn't that of sodium lactate, on the formula's scale; at least, where a material's
    /// isn't known.
    fn sodium_of_salt(&self) -> f64 {
        self.lines()
            .iter()
            .map(|line| {
                let sodium = line.fraction(Nutrient::Sodium).unwrap_or(0.0);
                let lactate: f64 = line
                    .material
                    .dissolves
                    .iter()
                    .filter(|d| d.solute == Solute::SodiumLactate)
                    .map(|d| d.fraction)
                    .sum();
                line.parts * (sodium - lactate * SODIUM_PER_LACTATE).max(0.0)
            })
            .sum()
    }

    /// What the dry solids are made of.
    pub fn dry_solids(&self) -> DrySolids {
        let solids = self.solids();
        let mut unknown = Vec::new();
        let mut macros = [0.0; 4];
        for line in self.lines() {
            let m = &line.material;
            let fibre = line
                .fraction(Nutrient::DietaryFibre)
                .or_else(|| line.fraction(Nutrient::CrudeFibre));
            let parts = [
                m.protein_mass(),
                line.fraction(Nutrient::CrudeFat),
                fibre,
                line.fraction(Nutrient::Ash),
            ];
            if line.parts > 0.0 && parts.iter().any(Option::is_none) {
                unknown.push(m.id.clone());
            }
            // The parts are analysed apart; where they pass the dry matter they are squeezed into it.
            let known: f64 = parts.iter().flatten().sum();
            let room = 1.0 - line.moisture();
            let squeeze = if known > room { room / known } else { 1.0 };
            for (sum, part) in macros.iter_mut().zip(parts) {
                *sum += line.parts * part.unwrap_or(0.0) * squeeze / solids;
            }
        }
        let [protein, fat, fibre, ash] = macros;
        DrySolids {
            protein,
            fat,
            digestible_carbohydrate: (1.0 - protein - fat - fibre - ash).max(0.0),
            fibre,
            ash,
            sugars: self.mass_of(Nutrient::Sugars).scaled(1.0 / solids),
            starch: self.mass_of(Nutrient::Starch).scaled(1.0 / solids),
            salt: self.sodium_of_salt() * SALT_PER_SODIUM / solids,
            solutes: self.solutes(),
            humectant: self
                .lines()
                .iter()
                .filter(|l| {
                    l.material.category == Category::Humectant && l.material.dissolves.is_empty()
                })
                .fold(0.0, |sum, l| sum + l.parts * (1.0 - l.moisture()))
                / solids,
            unknown,
        }
    }
}
