//! Leavening: the gas it can give, whether the dough ends alkaline, and what is known of the rise.

mod acids;

pub use acids::{ACID_SALTS, soda_taken_up};
pub(crate) use acids::{AsAcid, as_acid};

use crate::Code;
use crate::formula::Formula;
pub use crate::leavener::Leavener;
use crate::material::{Category, Material};
use measure::{Constant, Grade, Range};
use serde::Serialize;

impl Leavener {
    /// Gas, water apart, in mol per kg, alone in a dough.
    fn mol_gas_per_kg(self) -> f64 {
        match self {
            // 2 NaHCO3 → Na2CO3 + H2O + CO2: half a mol of CO2 per mol of 84.007 g.
            Self::Soda => 0.5 / 0.084_007,
            // NH4HCO3 → NH3 + CO2 + H2O: two mol of gas per mol of 79.056 g, water apart.
            Self::AmmoniumBicarbonate => 2.0 / 0.079_056,
            Self::BakingPowder => BAKING_POWDER_GAS.value / 0.044_010,
        }
    }
}

/// Gas constant, J/(mol K).
///
/// - Units: \[J/(mol K)\]
/// - Source: exact in the SI, rounded
const GAS: f64 = 8.314_462;
/// Temperature and pressure that gas is told at: 100 °C, one atmosphere.
///
/// - Units: \[K\]
/// - Source: a reference state, chosen here
const TOLD_AT_K: f64 = 373.15;
/// Standard atmosphere.
///
/// - Units: \[Pa\]
/// - Source: by definition
const ATMOSPHERE_PA: f64 = 101_325.0;

/// Carbon dioxide that a baking powder gives.
pub static BAKING_POWDER_GAS: Constant = Constant {
    name: "carbon dioxide of baking powder",
    value: 0.12,
    unit: "kg per kg",
    range: Range::new(0.08, 0.17),
    source: "from memory, to be confirmed",
    grade: Grade::Recalled,
};
/// Share of the gas that a dense dough keeps until it sets.
pub static KEPT: Constant = Constant {
    name: "share of the leavening gas that a dense dough keeps",
    value: 0.05,
    unit: "1",
    range: Range::new(0.02, 0.10),
    source: "2 to 10 % in dense doughs, from memory, to be confirmed; measure the thickness before and after to replace it",
    grade: Grade::Recalled,
};

/// What is known of the rise of a piece without leavening, share of its thickness.
pub static UNLEAVENED_RISE: Constant = Constant {
    name: "rise of a dense piece without leavening",
    value: 0.05,
    unit: "1",
    range: Range::new(0.0, 0.15),
    source: "0 to 15 %, low confidence, from memory, to be confirmed",
    grade: Grade::Recalled,
};

/// Spread of a piece across, share of its length: wheat doughs shrink.
pub static SPREAD_WITH_GLUTEN: Constant = Constant {
    name: "spread of a piece with gluten",
    value: -0.025,
    unit: "1",
    range: Range::new(-0.08, 0.03),
    source: "low confidence, from memory, to be confirmed",
    grade: Grade::Recalled,
};
/// The same without gluten: such doughs run.
pub static SPREAD_WITHOUT_GLUTEN: Constant = Constant {
    name: "spread of a piece without gluten",
    value: 0.075,
    unit: "1",
    range: Range::new(0.0, 0.15),
    source: "a wheat biscuit of 55 mm became one of 61 mm of rice, seen; limits from memory",
    grade: Grade::Recalled,
};

/// A share with its limits.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Limits {
    /// Lower limit.
    pub low: f64,
    /// Best guess, a share, factor or ratio.
    pub mid: f64,
    /// Upper limit.
    pub high: f64,
}

/// What leavening there is and what follows of it.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Leavening {
    /// Gas at 100 °C per dough, m³/kg.
    pub gas_m3_per_kg_dough: f64,
    /// What may come on top of it where acids of unknown strength take up all of the free soda, m³/kg.
    pub more_gas_m3_per_kg_dough: f64,
    /// Soda that no acid takes up, kg per kg of dry solid: it ends as carbonate and browns.
    pub free_soda: f64,
    /// Ammonium bicarbonate, kg per kg of dry solid: it leaves wholly only from thin, dry pieces.
    pub ammonium: f64,
    /// Leavening materials of which nobody said what they are: gas and alkali aren't known.
    pub unknown: Vec<String>,
    /// Acids of which it isn't known how much soda they take up: the free soda is that at most.
    pub unknown_acids: Vec<String>,
    /// Whether gluten holds the dough.
    pub gluten: bool,
}

/// Whether a leavening leaves alkali behind when no acid is beside it.
pub(crate) fn gives_alkali(material: &Material) -> bool {
    matches!(
        material.leavener,
        Some(Leavener::Soda | Leavener::AmmoniumBicarbonate)
    )
}

impl Formula {
    /// The leavening of the dough.
    ///
    /// ```
    /// use formula::{Formula, Line, shelf};
    /// let line = |id, parts| Line::new(shelf::find(id).unwrap(), parts);
    /// let f = Formula::new(vec![line("wheat_flour_soft", 149.5), line("baking_soda", 0.5)]).unwrap();
    /// // 0.5 g soda in 150 g dough gives 91 mL at 100 °C, on 120 mL dough (worked out apart).
    /// assert!((f.leavening().gas_m3_per_kg_dough * 0.150 * 1e6 - 91.1).abs() < 0.2);
    /// ```
    pub fn leavening(&self) -> Leavening {
        let present = || self.lines().iter().filter(|l| l.parts > 0.0);
        let kg = |kind: Leavener| -> f64 {
            present()
                .filter(|l| l.material.leavener == Some(kind))
                .map(|l| l.parts)
                .sum()
        };
        let mol: f64 = Leavener::ALL
            .into_iter()
            .map(|kind| kg(kind) * kind.mol_gas_per_kg())
            .sum();
        let solids = self.solids();
        let acid: f64 = present()
            .map(|l| match as_acid(&l.material) {
                AsAcid::TakesUp(soda) => l.parts * soda,
                AsAcid::None | AsAcid::Unknown => 0.0,
            })
            .sum::<f64>()
            / solids;
        let soda = kg(Leavener::Soda) / solids;
        // What acid takes up gives all of its gas, not half.
        let taken_up = acid.min(soda);
        let more_mol = taken_up * solids * Leavener::Soda.mol_gas_per_kg();
        let free_soda = soda - taken_up;
        let unknown_acids: Vec<String> = present()
            .filter(|l| as_acid(&l.material) == AsAcid::Unknown)
            .map(|l| l.material.name.clone())
            .collect();
        let unsure_mol = if unknown_acids.is_empty() {
            0.0
        } else {
            free_soda * solids * Leavener::Soda.mol_gas_per_kg()
        };
        let m3_per_kg = |mol: f64| mol / self.total() * GAS * TOLD_AT_K / ATMOSPHERE_PA;
        Leavening {
            gas_m3_per_kg_dough: m3_per_kg(mol + more_mol),
            more_gas_m3_per_kg_dough: m3_per_kg(unsure_mol),
            free_soda,
            ammonium: kg(Leavener::AmmoniumBicarbonate) / solids,
            unknown: present()
                .filter(|l| {
                    l.material.category == Category::Leavening
                        && l.material.leavener.is_none()
                        && as_acid(&l.material) == AsAcid::None
                })
                .map(|l| l.material.name.clone())
                .collect(),
            unknown_acids,
            gluten: present().any(|l| l.material.gluten == crate::Gluten::Contains),
        }
    }
}

impl Leavening {
    /// Rise of the thickness in the oven, share of the thickness before it, for a dough of a density
    /// \[kg/m³\]: the rise without leavening, and what the dough keeps of the gas. An estimate with wide
    /// limits; none where a leavening isn't known.
    ///
    /// - Equation: rise = rise₀ + kept · gas · ρ
    /// - Units: gas \[m³/kg dough\], ρ \[kg/m³\], rise \[share of the thickness\]
    /// - Valid: dense doughs, gas known
    /// - Source: gas by stoichiometry; what is kept, 2 to 10 %, is a judgement, no source
    ///
    /// ```
    /// use formula::{Formula, Line, shelf};
    /// let line = |id, parts| Line::new(shelf::find(id).unwrap(), parts);
    /// let plain = Formula::new(vec![line("wheat_flour_soft", 1.0)]).unwrap();
    /// let rise = plain.leavening().rise(1250.0).unwrap();
    /// assert_eq!((rise.low, rise.mid, rise.high), (0.0, 0.05, 0.15));
    /// let soda = Formula::new(vec![line("wheat_flour_soft", 149.5), line("baking_soda", 0.5)]).unwrap();
    /// // 0.76 m³ gas per m³ dough, of which 2, 5 and 10 % are kept.
    /// let rise = soda.leavening().rise(1250.0).unwrap();
    /// assert!((rise.mid - 0.05 - 0.05 * 0.759).abs() < 1e-3);
    /// assert!(rise.low < rise.mid && rise.mid < rise.high);
    /// ```
    pub fn rise(&self, dough_kg_per_m3: f64) -> Option<Limits> {
        if !self.unknown.is_empty() {
            return None;
        }
        let gas = self.gas_m3_per_kg_dough * dough_kg_per_m3;
        let more = self.more_gas_m3_per_kg_dough * dough_kg_per_m3;
        Some(Limits {
            low: UNLEAVENED_RISE.range.low + KEPT.range.low * gas,
            mid: UNLEAVENED_RISE.value + KEPT.value * (gas + 0.5 * more),
            high: UNLEAVENED_RISE.range.high + KEPT.range.high * (gas + more),
        })
    }

    /// Spread of the length in the oven, share of the length before it: limits by gluten, no more is
    /// known.
    pub fn spread(&self) -> Limits {
        let spread = if self.gluten {
            &SPREAD_WITH_GLUTEN
        } else {
            &SPREAD_WITHOUT_GLUTEN
        };
        Limits {
            low: spread.range.low,
            mid: spread.value,
            high: spread.range.high,
        }
    }

    /// Length over thickness after the oven, for a piece of a length and a thickness before it \[m\]; none
    /// where the rise isn't known.
    ///
    /// - Equation: L (1 + spread)/(h (1 + rise))
    /// - Units: L and h \[m\], ρ \[kg/m³\], ratio \[1\]
    /// - Valid: dense doughs, gas known
    /// - Source: an identity with the rise and the spread, each with its grade
    ///
    /// ```
    /// use formula::{Formula, Line, shelf};
    /// let plain = Formula::new(vec![Line::new(shelf::find("wheat_flour_soft").unwrap(), 1.0)]).unwrap();
    /// let leavening = plain.leavening();
    /// let (rise, ratio) = (leavening.rise(1250.0).unwrap(), leavening.spread_ratio(0.05, 0.008, 1250.0).unwrap());
    /// // 50 over 8 mm, thicker by the rise; the spread of a plain dough is small.
    /// assert!((ratio.mid * (1.0 + rise.mid) / 6.25 - 1.0).abs() < 0.10);
    /// assert!(ratio.low < ratio.mid && ratio.mid < ratio.high);
    /// ```
    pub fn spread_ratio(
        &self,
        length_m: f64,
        thickness_m: f64,
        dough_kg_per_m3: f64,
    ) -> Option<Limits> {
        let rise = self.rise(dough_kg_per_m3)?;
        let spread = self.spread();
        let ratio =
            |spread: f64, rise: f64| length_m * (1.0 + spread) / (thickness_m * (1.0 + rise));
        Some(Limits {
            low: ratio(spread.low, rise.high),
            mid: ratio(spread.mid, rise.mid),
            high: ratio(spread.high, rise.low),
        })
    }

    /// How many times as fast free soda lets the crust brown: 10^(0.20 (pH − 6.5)), the pH by the free
    /// soda; 0.15 and 0.25 are its limits. Ammonium bicarbonate leaves nothing behind and stays pale. None
    /// where a leavening isn't known, or soda stands beside an acid of unknown strength.
    ///
    /// ```
    /// use formula::{Formula, Line, shelf};
    /// let line = |id, parts| Line::new(shelf::find(id).unwrap(), parts);
    /// let with = |soda| {
    ///     let f = Formula::new(vec![line("wheat_flour_soft", 100.0), line("baking_soda", soda)]).unwrap();
    ///     f.leavening().browning().unwrap().mid
    /// };
    /// assert_eq!(with(0.0), 1.0);
    /// assert!(with(0.3) > 1.0 && with(1.0) > with(0.3));
    /// ```
    pub fn browning(&self) -> Option<Limits> {
        let acid_unsure = self.free_soda > 0.0 && !self.unknown_acids.is_empty();
        if acid_unsure || !self.unknown.is_empty() {
            return None;
        }
        let ph = self.soda_ph();
        let times = |slope: f64| 10f64.powf(slope * (ph - BROWNS_FROM_PH.value).max(0.0));
        Some(Limits {
            low: times(BROWNING_PER_PH.range.low),
            mid: times(BROWNING_PER_PH.value),
            high: times(BROWNING_PER_PH.range.high),
        })
    }

    /// pH that free soda alone makes of a flour dough: 6.0 without it, 8.5 from 1 % of solids on, evenly
    /// between (from memory, low confidence).
    fn soda_ph(&self) -> f64 {
        let soda = (self.free_soda / ALL_OF_SODA.value).min(1.0);
        FLOUR_PH.value + (SODA_PH.value - FLOUR_PH.value) * soda
    }

    /// What a person should know.
    pub fn findings(&self) -> Vec<measure::Finding> {
        use measure::{Finding, Severity};
        let mut found = Vec::new();
        if self.free_soda > 0.0 && !self.unknown_acids.is_empty() {
            found.push(
                Finding::new(
                    Severity::Note,
                    Code::SodaAcidUnknown,
                    "bake.colour",
                    format!(
                        "How much soda {} takes up isn't known: between none and {:.2} % of the solids stays free, and how much faster the crust browns isn't told.",
                        self.unknown_acids.join(", "),
                        100.0 * self.free_soda
                    ),
                )
                .help("Say what it dissolves (solute and solute_pct of the material), or name the acid."),
            );
        }
        if let Some(b) = self.browning().filter(|_| self.free_soda > 0.002) {
            found.push(
                Finding::new(
                    Severity::Note,
                    Code::SodaBrowns,
                    "bake.colour",
                    format!(
                        "{:.2} % of the solids is soda that no acid takes up: the crust browns about {:.1} times as fast ({:.1} to {:.1}), and thiamine is lost.",
                        100.0 * self.free_soda,
                        b.mid,
                        b.low,
                        b.high
                    ),
                )
                .help("Less soda, an acid beside it, or ammonium bicarbonate in thin dry pieces, which stays pale.")
                .source("10^(0.15 to 0.25 per pH), low confidence, from memory; direction seen in print"),
            );
        }
        if self.ammonium > 0.0 {
            found.push(
                Finding::new(
                    Severity::Note,
                    Code::AmmoniaStays,
                    "dough.leavening",
                    "Ammonium bicarbonate leaves wholly only from pieces below about 5 % moisture; above, ammonia stays to be smelt.",
                )
                .help("Use it in thin, dry pieces; else soda with an acid.")
                .source("trade literature, seen secondary"),
            );
        }
        if !self.unknown.is_empty() {
            found.push(
                Finding::new(
                    Severity::Note,
                    Code::LeaveningUnknown,
                    "dough.leavening",
                    format!(
                        "What {} gives isn't known: gas, rise, alkali and what it does to browning aren't told.",
                        self.unknown.join(", ")
                    ),
                )
                .help("Say what it is: soda, ammonium bicarbonate or baking powder."),
            );
        }
        found
    }
}

const fn recalled(
    name: &'static str,
    value: f64,
    unit: &'static str,
    low: f64,
    high: f64,
) -> Constant {
    Constant {
        name,
        value,
        unit,
        range: Range::new(low, high),
        source: "low confidence, from memory, to be confirmed",
        grade: Grade::Recalled,
    }
}

/// pH from which on soda speeds browning.
pub static BROWNS_FROM_PH: Constant = recalled("pH from which soda browns", 6.5, "pH", 6.0, 7.0);
/// pH of a dough of flour without leavening.
pub static FLOUR_PH: Constant = recalled("pH of a dough of flour", 6.0, "pH", 5.5, 6.5);
/// pH of a dough with as much free soda as makes a difference.
pub static SODA_PH: Constant = recalled("pH of a dough full of soda", 8.5, "pH", 8.0, 9.5);
/// Free soda from which on more makes no difference to the pH.
pub static ALL_OF_SODA: Constant = recalled(
    "free soda that brings the pH to its top",
    0.01,
    "kg per kg dry solid",
    0.005,
    0.02,
);
/// Power of ten of the browning rate per unit of pH.
pub static BROWNING_PER_PH: Constant = Constant {
    name: "browning per unit of pH",
    value: 0.20,
    unit: "powers of ten",
    range: Range::new(0.15, 0.25),
    source: "low confidence, from memory, to be confirmed; that soda darkens and ammonium bicarbonate stays pale was seen in print",
    grade: Grade::Recalled,
};

#[cfg(test)]
mod tests {
    use super::*;
    use crate::formula::Line;
    use crate::shelf;

    fn of(lines: &[(&str, f64)]) -> Leavening {
        let lines = lines
            .iter()
            .map(|(id, parts)| Line::new(shelf::find(id).unwrap(), *parts))
            .collect();
        Formula::new(lines).unwrap().leavening()
    }

    #[test]
    fn acid_takes_up_soda_and_sets_all_of_its_gas_free() {
        let alone = of(&[("wheat_flour_soft", 99.0), ("baking_soda", 1.0)]);
        // 0.763 kg citric acid takes up 1 kg of soda.
        let half = of(&[
            ("wheat_flour_soft", 98.6),
            ("baking_soda", 1.0),
            ("citric_acid", 0.3827),
        ]);
        assert!((half.free_soda / alone.free_soda - 0.5).abs() < 0.01);
        assert!((half.gas_m3_per_kg_dough / alone.gas_m3_per_kg_dough - 1.5).abs() < 0.01);
        assert!(half.browning().unwrap().mid < alone.browning().unwrap().mid);
    }

    #[test]
    fn soda_browns_and_ammonium_bicarbonate_stays_pale() {
        let soda = of(&[("wheat_flour_soft", 99.0), ("baking_soda", 1.0)]);
        let ammonium = of(&[("wheat_flour_soft", 99.0), ("ammonium_bicarbonate", 1.0)]);
        let browns = soda.browning().unwrap();
        assert!(browns.low > 1.5 && browns.high < 3.5);
        assert_eq!(ammonium.browning().unwrap().mid, 1.0);
        assert!(soda.findings().iter().any(|f| f.code == Code::SodaBrowns));
        assert!(
            ammonium
                .findings()
                .iter()
                .any(|f| f.code == Code::AmmoniaStays)
        );
        // 1162 mL gas per g at 100 °C with its water (printed 3 mol of gas); two thirds without.
        let ml_per_g = 1e6 * ammonium.gas_m3_per_kg_dough / 10.0;
        assert!((ml_per_g - 1162.0 * 2.0 / 3.0).abs() < 3.0, "{ml_per_g}");
    }

    #[test]
    fn a_biscuit_without_gluten_spreads_more() {
        let wheat = of(&[("wheat_flour_soft", 1.0)]);
        let rice = of(&[("rice_flour_white", 1.0)]);
        let ratio = |l: &Leavening| l.spread_ratio(0.055, 0.010, 1250.0).unwrap();
        assert!(ratio(&rice).mid > ratio(&wheat).mid);
        for l in [&wheat, &rice] {
            let r = ratio(l);
            assert!(r.low < r.mid && r.mid < r.high);
        }
    }

    #[test]
    fn what_a_leavening_of_ones_own_gives_is_not_known() {
        let mut odd = (*shelf::find("baking_soda").unwrap()).clone();
        odd.leavener = None;
        let formula = Formula::new(vec![
            Line::new(shelf::find("wheat_flour_soft").unwrap(), 99.0),
            Line::new(odd.into(), 1.0),
        ])
        .unwrap();
        let leavening = formula.leavening();
        assert_eq!(leavening.rise(1250.0), None);
        assert_eq!(leavening.browning(), None);
        assert_eq!(leavening.findings()[0].code, Code::LeaveningUnknown);
    }

    /// Soda with a material of one's own beside it.
    fn beside(name: &str, category: Category, parts: f64) -> Leavening {
        use crate::{Gluten, MaterialPatch, Nutrient};
        let mut patch = MaterialPatch::new(measure::Source::fixed(Grade::Assumed, "test"))
            .value(Nutrient::Moisture, 0.0);
        patch.name = Some(name.to_owned());
        patch.category = Some(category);
        patch.gluten = Some(Gluten::FreeByNature);
        let line = |id, parts| Line::new(shelf::find(id).unwrap(), parts);
        Formula::new(vec![
            line("wheat_flour_soft", 99.0),
            line("baking_soda", 1.0),
            Line::new(patch.define("own").unwrap().into(), parts),
        ])
        .unwrap()
        .leavening()
    }

    /// Parts of acid per part of soda: molar masses, and the data book's for the salts (seen). Four
    /// fifths of it leave a fifth of the soda.
    #[test]
    fn every_acid_takes_up_its_soda() {
        use Category::{Acidulant, Leavening, Mineral};
        for (name, category, parts) in [
            ("Lactic acid", Acidulant, 90.08 / 84.007),
            ("Malic acid", Acidulant, 134.09 / 84.007 / 2.0),
            ("Weinsäure", Acidulant, 150.09 / 84.007 / 2.0),
            ("Citric acid", Acidulant, 192.12 / 84.007 / 3.0),
            ("Cream of tartar", Leavening, 2.24),
            ("E 336", Acidulant, 2.24),
            ("Sodium acid pyrophosphate (SAPP)", Leavening, 1.39),
            ("Monocalcium phosphate", Mineral, 1.25),
            ("Glucono-delta-lactone", Acidulant, 2.12),
        ] {
            let found = beside(name, category, 0.8 * parts);
            let solids = 99.0 * (1.0 - 0.1185) + 1.0 * 0.998 + 0.8 * parts;
            assert!((found.free_soda * solids - 0.2).abs() < 0.005, "{name}");
            assert!(found.unknown.is_empty() && found.unknown_acids.is_empty());
            let all = beside(name, category, 1.01 * parts);
            assert_eq!(all.free_soda, 0.0, "{name}");
            assert_eq!(all.browning().unwrap().mid, 1.0, "{name}");
        }
    }

    #[test]
    fn an_acid_of_unknown_strength_leaves_the_browning_unknown() {
        let odd = beside("Fruit acid blend", Category::Acidulant, 0.5);
        assert_eq!(odd.browning(), None);
        let found = odd.findings();
        assert!(found.iter().any(|f| f.code == Code::SodaAcidUnknown));
        assert!(found.iter().all(|f| f.code != Code::SodaBrowns));
        // Its gas lies between half and all of the soda's.
        let none = beside("Filler", Category::Other, 0.5).rise(1250.0).unwrap();
        let all = beside("Lactic acid", Category::Acidulant, 2.0);
        let rise = odd.rise(1250.0).unwrap();
        assert!((rise.low - none.low).abs() < 1e-9 && rise.mid > none.mid);
        assert!(
            (odd.gas_m3_per_kg_dough * 2.0
                - odd.gas_m3_per_kg_dough
                - odd.more_gas_m3_per_kg_dough)
                .abs()
                < 1e-12
        );
        assert!((rise.high - all.rise(1250.0).unwrap().high).abs() < 0.02);
        // Beside no soda it leaves nothing to brown.
        let line = |id, parts| Line::new(shelf::find(id).unwrap(), parts);
        let mut acid = (*shelf::find("citric_acid").unwrap()).clone();
        acid.name = String::from("Fruit acid blend");
        acid.id = String::from("blend");
        acid.label_name = String::from("Acid");
        acid.dissolves.clear();
        let plain = Formula::new(vec![
            line("wheat_flour_soft", 99.0),
            Line::new(acid.into(), 1.0),
        ]);
        assert_eq!(plain.unwrap().leavening().browning().unwrap().mid, 1.0);
        // A calcium phosphate that is no acid takes up nothing.
        let dical = beside("Dicalcium phosphate", Category::Mineral, 1.0);
        assert!(dical.browning().unwrap().mid > 1.5);
    }
}
