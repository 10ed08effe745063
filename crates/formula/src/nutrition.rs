//! What the finished piece feeds: proximate composition, minerals, energy, per piece and per day.
//!
//! Everything is reckoned on the solids of the dough less what decomposes, then put back at the
//! final moisture. Nothing is said to be complete or balanced.

use crate::Code;
use crate::composition::Nutrient;
use crate::formula::{Formula, FormulaError};
use measure::{Constant, Finding, Grade, Range, Severity, Tally, WetBasis};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// The animal fed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Species {
    /// Dog.
    Dog,
    /// Cat.
    Cat,
}

impl Species {
    /// Every species.
    pub const ALL: [Self; 2] = [Self::Dog, Self::Cat];

    /// The word shown to people.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Dog => "dog",
            Self::Cat => "cat",
        }
    }
}

/// A proximate analysis, fractions of the whole as fed.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Proximate {
    /// Moisture, kg/kg.
    pub moisture: f64,
    /// Crude protein, kg/kg.
    pub crude_protein: f64,
    /// Crude fat, kg/kg.
    pub crude_fat: f64,
    /// Crude fibre, kg/kg.
    pub crude_fibre: f64,
    /// Ash, kg/kg.
    pub ash: f64,
}

impl Proximate {
    /// From percentages in the order moisture, protein, fat, fibre, ash.
    ///
    /// - Equation: share = percent/100
    /// - Units: \[% as fed\] in, \[kg/kg\] out
    /// - Valid: 0 to 100
    /// - Source: definition
    ///
    /// ```
    /// let p = formula::nutrition::Proximate::from_percent([10.0, 27.0, 14.0, 2.0, 6.0]);
    /// assert!((p.crude_protein - 0.27).abs() < 1e-15 && (p.ash - 0.06).abs() < 1e-15);
    /// ```
    pub fn from_percent([moisture, crude_protein, crude_fat, crude_fibre, ash]: [f64; 5]) -> Self {
        Self {
            moisture: moisture / 100.0,
            crude_protein: crude_protein / 100.0,
            crude_fat: crude_fat / 100.0,
            crude_fibre: crude_fibre / 100.0,
            ash: ash / 100.0,
        }
    }

    /// Nitrogen-free extract by difference, not clipped, kg/kg.
    pub(crate) fn nfe_by_difference(&self) -> f64 {
        1.0 - self.moisture - self.crude_protein - self.crude_fat - self.crude_fibre - self.ash
    }

    /// Nitrogen-free extract, clipped at 0, kg/kg.
    ///
    /// - Equation: max(1 − (moisture + protein + fat + fibre + ash), 0)
    /// - Units: \[kg/kg as fed\]
    /// - Valid: 0 to 1
    /// - Source: definition in feed analysis; 41 % of a worked example in print (seen)
    ///
    /// ```
    /// let p = formula::nutrition::Proximate::from_percent([10.0, 27.0, 14.0, 2.0, 6.0]);
    /// assert!((p.nfe() - 0.41).abs() < 1e-12);
    /// ```
    pub fn nfe(&self) -> f64 {
        self.nfe_by_difference().max(0.0)
    }

    /// Metabolisable energy by modified Atwater factors, kcal per kg as fed:
    /// 10 (3.5 CP + 8.5 fat + 3.5 NFE), all in %.
    ///
    /// Check: CP 27, fat 14, fibre 2, moisture 10, ash 6 give 3570 kcal/kg (worked example in
    /// print).
    ///
    /// - Equation: 10 (3.5 CP + 8.5 fat + 3.5 NFE)
    /// - Units: shares \[kg/kg as fed\], energy \[kcal/kg as fed\]
    /// - Valid: dry and wet pet food
    /// - Source: modified Atwater factors of the US model regulation PF9; a worked example in print (seen)
    ///
    /// ```
    /// use formula::nutrition::Proximate;
    /// let p = Proximate::from_percent([10.0, 27.0, 14.0, 2.0, 6.0]);
    /// assert!((p.atwater_kcal_per_kg() - 3570.0).abs() < 1e-9);
    /// ```
    pub fn atwater_kcal_per_kg(&self) -> f64 {
        1000.0 * (3.5 * self.crude_protein + 8.5 * self.crude_fat + 3.5 * self.nfe())
    }

    /// Metabolisable energy by the four-step equation (NRC 2006, FEDIAF guidelines), kcal per kg
    /// as fed.
    ///
    /// GE = 5.7 CP + 9.4 fat + 4.1 (NFE + fibre); digestibility = 91.2 − 1.43 × fibre in dry
    /// matter (dog), 87.9 − 0.88 × (cat); DE = GE × digestibility; ME = DE − 1.04 CP (dog),
    /// − 0.77 CP (cat). Under-estimates above 8 % crude fibre in dry matter.
    ///
    /// Check: the product above gives 3784.07 (dog) and 3761.01 (cat), computed from the printed
    /// equation.
    ///
    /// - Equation: ME = GE · digestibility − 1.04 CP (dog), − 0.77 CP (cat)
    /// - Units: shares \[kg/kg as fed\], energy \[kcal/kg as fed\]
    /// - Valid: up to 8 % crude fibre in dry matter
    /// - Source: NRC 2006 as in FEDIAF guidelines (equation seen); the examples computed apart
    ///
    /// ```
    /// use formula::nutrition::{Proximate, Species};
    /// let p = Proximate::from_percent([10.0, 27.0, 14.0, 2.0, 6.0]);
    /// assert!((p.nrc_kcal_per_kg(Species::Dog) - 3784.07).abs() < 0.01);
    /// assert!((p.nrc_kcal_per_kg(Species::Cat) - 3761.01).abs() < 0.01);
    /// ```
    pub fn nrc_kcal_per_kg(&self, species: Species) -> f64 {
        let ge =
            5.7 * self.crude_protein + 9.4 * self.crude_fat + 4.1 * (self.nfe() + self.crude_fibre);
        let fibre_dm_pct = 100.0 * self.crude_fibre / (1.0 - self.moisture);
        let (digestible_pct, urine) = match species {
            Species::Dog => (91.2 - 1.43 * fibre_dm_pct, 1.04),
            Species::Cat => (87.9 - 0.88 * fibre_dm_pct, 0.77),
        };
        1000.0 * (ge * digestible_pct.max(0.0) / 100.0 - urine * self.crude_protein)
    }
}

/// The nutrients of the finished piece.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Nutrition {
    /// Final moisture.
    pub moisture: WetBasis,
    /// kg per kg as baked for every constituent but moisture, in the order of [`Nutrient::ALL`]:
    /// at least, with the materials whose value is unknown.
    pub as_baked: Vec<(Nutrient, Tally)>,
    /// Standard deviation of those between lots, kg per kg as baked, in the same order; materials
    /// vary independently of each other.
    pub sd: Vec<(Nutrient, f64)>,
    /// Proximate analysis as baked; unknown counts as nothing, see [`Nutrition::unsure`].
    pub proximate: Proximate,
    /// Metabolisable energy by modified Atwater factors, kcal/kg as baked.
    pub atwater_kcal_per_kg: f64,
    /// Metabolisable energy by the four-step equation for the species, kcal/kg as baked.
    pub nrc_kcal_per_kg: f64,
    /// Species of the four-step equation.
    pub species: Species,
    /// Calcium over phosphorus by mass; none when phosphorus is nothing or one of the two isn't wholly known \[1\].
    pub calcium_to_phosphorus: Option<f64>,
    /// What a person should know beside the numbers.
    pub findings: Vec<Finding>,
}

impl Nutrition {
    /// A constituent as baked, kg per kg; moisture is exact.
    ///
    /// - Rule: the amount as baked, with the names of what isn't known
    /// - Units: \[kg/kg as baked\]
    /// - Valid: every nutrient
    /// - Source: a look-up, nothing is reckoned; moisture is what was asked for
    ///
    /// ```
    /// use formula::{Formula, Line, Nutrient, Species, nutrition::nutrition, shelf};
    /// use measure::WetBasis;
    /// let dough = Formula::new(vec![Line::new(shelf::find("wheat_flour_soft").unwrap(), 1.0)]).unwrap();
    /// let n = nutrition(&dough, WetBasis(0.08), Species::Dog).unwrap();
    /// assert_eq!(n.get(Nutrient::Moisture).exact(), Some(0.08));
    /// ```
    pub fn get(&self, nutrient: Nutrient) -> Tally {
        self.as_baked
            .iter()
            .find(|(n, _)| *n == nutrient)
            .map_or_else(
                || Tally {
                    at_least: self.moisture.0,
                    unknown: Vec::new(),
                },
                |(_, t)| t.clone(),
            )
    }

    /// A constituent on dry matter, kg per kg dry.
    ///
    /// - Equation: as baked/(1 − M)
    /// - Units: \[kg/kg dry\]
    /// - Valid: moistures under 1
    /// - Source: definition; 9.748 % of flour at 11.85 % moisture is 11.058 % of its dry matter, by hand
    ///
    /// ```
    /// use formula::{Formula, Line, Nutrient, Species, nutrition::nutrition, shelf};
    /// use measure::WetBasis;
    /// let dough = Formula::new(vec![Line::new(shelf::find("wheat_flour_soft").unwrap(), 1.0)]).unwrap();
    /// let n = nutrition(&dough, WetBasis(0.08), Species::Dog).unwrap();
    /// assert!((n.dry(Nutrient::CrudeProtein).exact().unwrap() - 0.09748 / 0.8815).abs() < 1e-9);
    /// ```
    pub fn dry(&self, nutrient: Nutrient) -> Tally {
        self.get(nutrient).scaled(1.0 / (1.0 - self.moisture.0))
    }

    /// A constituent as baked in percent; at least, where something is unknown.
    ///
    /// - Equation: 100 × as baked
    /// - Units: \[% as baked\]
    /// - Valid: every nutrient; at least, where something is unknown
    /// - Source: definition
    ///
    /// ```
    /// use formula::{Formula, Line, Nutrient, Species, nutrition::nutrition, shelf};
    /// use measure::WetBasis;
    /// let dough = Formula::new(vec![Line::new(shelf::find("wheat_flour_soft").unwrap(), 1.0)]).unwrap();
    /// let n = nutrition(&dough, WetBasis(0.08), Species::Dog).unwrap();
    /// assert!((n.percent(Nutrient::CrudeProtein) - 9.748 * 0.92 / 0.8815).abs() < 1e-9);
    /// ```
    pub fn percent(&self, nutrient: Nutrient) -> f64 {
        100.0 * self.get(nutrient).at_least
    }

    /// Energy of a piece, kcal, by modified Atwater factors.
    ///
    /// - Equation: e m
    /// - Units: e \[kcal/kg\], m \[kg\], result \[kcal\]
    /// - Valid: mass from 0
    /// - Source: an identity
    ///
    /// ```
    /// use formula::{Formula, Line, Species, nutrition::nutrition, shelf};
    /// use measure::WetBasis;
    /// let dough = Formula::new(vec![Line::new(shelf::find("wheat_flour_soft").unwrap(), 1.0)]).unwrap();
    /// let n = nutrition(&dough, WetBasis(0.08), Species::Dog).unwrap();
    /// assert!((n.kcal_per_piece(1.0) - n.atwater_kcal_per_kg).abs() < 1e-9);
    /// assert!((n.kcal_per_piece(0.005) * 200.0 - n.atwater_kcal_per_kg).abs() < 1e-9);
    /// ```
    pub fn kcal_per_piece(&self, piece_kg: f64) -> f64 {
        self.atwater_kcal_per_kg * piece_kg
    }

    /// Materials that make the proximate analysis and the energy unsure.
    pub fn unsure(&self) -> Vec<String> {
        let mut names: Vec<String> = Nutrient::PROXIMATE
            .into_iter()
            .flat_map(|n| self.get(n).unknown)
            .collect();
        names.sort();
        names.dedup();
        names
    }
}

/// The nutrients of a formula baked to a final moisture.
///
/// Each constituent is its mass in the dough over the baked mass; what goes off as gas takes none along.
///
/// Errors when the final moisture is above that of the dough.
///
/// - Equation: as baked = mass in the dough/baked mass
/// - Units: M \[kg/kg, wet basis\], results \[kg/kg as baked\]
/// - Valid: M from 0 to the dough's; no loss but water and gas
/// - Source: an identity of dry matter; the example by hand
///
/// ```
/// use formula::{Formula, Line, Nutrient, Species, nutrition::nutrition, shelf};
/// use measure::WetBasis;
/// let dough = Formula::new(vec![Line::new(shelf::find("wheat_flour_soft").unwrap(), 1.0)]).unwrap();
/// // 9.748 % crude protein at 11.85 % moisture is 10.17 % at 8 %.
/// let n = nutrition(&dough, WetBasis(0.08), Species::Dog).unwrap();
/// assert!((n.percent(Nutrient::CrudeProtein) - 9.748 * 0.92 / 0.8815).abs() < 1e-9);
/// assert!(nutrition(&dough, WetBasis(0.20), Species::Dog).is_err());
/// ```
pub fn nutrition(
    formula: &Formula,
    moisture: WetBasis,
    species: Species,
) -> Result<Nutrition, FormulaError> {
    let baked_kg = formula.bake_balance(moisture)?.baked_kg;
    let as_baked: Vec<(Nutrient, Tally)> = Nutrient::ALL
        .into_iter()
        .filter(|n| *n != Nutrient::Moisture)
        .map(|n| (n, formula.mass_of(n).scaled(1.0 / baked_kg)))
        .collect();
    let sd_of = |n: Nutrient| {
        let variance: f64 = formula
            .lines()
            .iter()
            .filter_map(|l| Some(l.parts * l.material.composition.get(n)?.sd_or_default(n)))
            .map(|sd| sd * sd)
            .sum();
        variance.sqrt() / baked_kg
    };
    let sd = as_baked.iter().map(|(n, _)| (*n, sd_of(*n))).collect();
    let at_least = |wanted: Nutrient| {
        as_baked
            .iter()
            .find(|(n, _)| *n == wanted)
            .map_or(0.0, |(_, t)| t.at_least)
    };
    let proximate = Proximate {
        moisture: moisture.0,
        crude_protein: at_least(Nutrient::CrudeProtein),
        crude_fat: at_least(Nutrient::CrudeFat),
        crude_fibre: at_least(Nutrient::CrudeFibre),
        ash: at_least(Nutrient::Ash),
    };
    let wholly = |wanted: Nutrient| as_baked.iter().find(|(n, _)| *n == wanted)?.1.exact();
    let (ca, p) = (wholly(Nutrient::Calcium), wholly(Nutrient::Phosphorus));
    let mut result = Nutrition {
        moisture,
        atwater_kcal_per_kg: proximate.atwater_kcal_per_kg(),
        nrc_kcal_per_kg: proximate.nrc_kcal_per_kg(species),
        species,
        calcium_to_phosphorus: ca.zip(p).filter(|(_, p)| *p > 0.0).map(|(ca, p)| ca / p),
        proximate,
        as_baked,
        sd,
        findings: Vec::new(),
    };
    result.findings = findings(&result);
    Ok(result)
}

/// Materials with the constituents of a label that aren't known of them: `crickets (ash, calcium)`.
fn missing(n: &Nutrition) -> Vec<String> {
    let mut by_material: BTreeMap<&str, Vec<&str>> = BTreeMap::new();
    for (nutrient, tally) in &n.as_baked {
        if nutrient.beside_label() {
            for id in &tally.unknown {
                by_material.entry(id).or_default().push(nutrient.word());
            }
        }
    }
    by_material
        .into_iter()
        .map(|(id, words)| format!("{id} ({})", words.join(", ")))
        .collect()
}

fn findings(n: &Nutrition) -> Vec<Finding> {
    let mut list = Vec::new();
    let mut warn = |code: Code, message: String, help: &str, source: &str| {
        list.push(
            Finding::new(Severity::Warn, code, "nutrition", message)
                .help(help)
                .source(source),
        );
    };
    let nfe = n.proximate.nfe_by_difference();
    if nfe < -0.01 {
        warn(
            Code::NfeBelowZero,
            format!(
                "Protein, fat, fibre, ash and moisture add to {:.1} %, so nothing is left for carbohydrate.",
                100.0 * (1.0 - nfe)
            ),
            "Usual with gelatin, whose nitrogen × 6.25 reads too high; the energy is then unsure.",
            "",
        );
    }
    let missing = missing(n);
    if !missing.is_empty() {
        let energy = if n.unsure().is_empty() {
            ""
        } else {
            "; what is missing of protein, fat, fibre and ash counts as carbohydrate, so that energy, bake and keeping may go either way"
        };
        warn(
            Code::ValuesMissing,
            format!(
                "Values are missing: {}. The sums are told as at least{energy}.",
                missing.join("; ")
            ),
            "Give the missing values from a certificate of analysis.",
            "",
        );
    }
    let fibre_dm = n.dry(Nutrient::CrudeFibre).at_least;
    if fibre_dm > 0.08 {
        warn(
            Code::FibreHighForEnergy,
            format!(
                "Crude fibre is {:.1} % of dry matter; above 8 % the four-step equation reads energy too low, and Atwater factors count soluble fibre as if it were digested.",
                100.0 * fibre_dm
            ),
            "Have the energy measured, or tell both numbers.",
            "FEDIAF guidelines, seen in print",
        );
    }
    let ca_dm = n.dry(Nutrient::Calcium).at_least;
    if ca_dm > 0.02 {
        warn(
            Code::CalciumHigh,
            format!(
                "Calcium is {:.2} % of dry matter, above 2 %.",
                100.0 * ca_dm
            ),
            "Lower the mineral or keep the treat to a small share of the day; ask a veterinary nutritionist, above all for puppies.",
            "house rule, assumed",
        );
    }
    list
}

/// Resting energy of an animal, kcal per day: 70 W^0.75, W in kg.
///
/// Check: 25 kg gives 782 (in print).
///
/// - Equation: 70 W^0.75
/// - Units: W \[kg\], energy \[kcal/d\]
/// - Valid: dogs and cats of 1 to 100 kg
/// - Source: Kleiber, as used in feeding guidelines; 782 kcal for 25 kg in print (seen)
///
/// ```
/// assert!((formula::nutrition::resting_kcal_per_day(25.0) - 782.6).abs() < 0.1);
/// ```
pub fn resting_kcal_per_day(body_mass_kg: f64) -> f64 {
    70.0 * body_mass_kg.powf(0.75)
}

/// Energy need from a factor per metabolic body mass, kcal per day: factor × W^0.75 for dogs,
/// factor × W^0.67 for cats. Individual need can differ by half or more either way.
///
/// Checks (FEDIAF table, in print): dog 15 kg at 110: 838, at 95: 724; cat 4 kg at 100: 253, at
/// 75: 189 (189.86 truncated).
///
/// - Equation: factor · W^0.75 (dog), factor · W^0.67 (cat)
/// - Units: W \[kg\], factor \[kcal/(kg^p d)\], energy \[kcal/d\]
/// - Valid: healthy adults; single animals differ by half or more
/// - Source: FEDIAF guidelines, table of needs (seen)
///
/// ```
/// use formula::nutrition::{Species, need_kcal_per_day};
/// assert_eq!(need_kcal_per_day(Species::Dog, 110.0, 15.0).floor(), 838.0);
/// assert_eq!(need_kcal_per_day(Species::Dog, 95.0, 15.0).floor(), 724.0);
/// assert_eq!(need_kcal_per_day(Species::Cat, 100.0, 4.0).floor(), 253.0);
/// assert_eq!(need_kcal_per_day(Species::Cat, 75.0, 4.0).floor(), 189.0);
/// ```
pub fn need_kcal_per_day(species: Species, factor: f64, body_mass_kg: f64) -> f64 {
    let power = match species {
        Species::Dog => 0.75,
        Species::Cat => 0.67,
    };
    factor * body_mass_kg.powf(power)
}

/// Share of the daily energy that treats should not pass.
pub static TREAT_SHARE_OF_DAY: Constant = Constant {
    name: "share of the daily energy for treats",
    value: 0.10,
    unit: "1",
    range: Range::new(0.0, 0.2),
    source: "common practice among veterinarians, no source",
    grade: Grade::Recalled,
};

/// Whole pieces per day within the treat share of a daily need.
///
/// - Equation: ⌊0.10 need/piece⌋
/// - Units: need \[kcal/d\], piece \[kcal\]
/// - Valid: a piece above 0
/// - Source: a tenth for treats: common practice among veterinarians, no one source; the example computed apart
///
/// ```
/// // 629.8 kcal a day, 18.3 kcal a piece: 3 pieces (computed).
/// assert_eq!(formula::nutrition::pieces_per_day(629.8, 18.3), 3.0);
/// ```
pub fn pieces_per_day(need_kcal_per_day: f64, kcal_per_piece: f64) -> f64 {
    (TREAT_SHARE_OF_DAY.value * need_kcal_per_day / kcal_per_piece).floor()
}

/// A percentage as fed told per 1000 kcal, g: as fed % × 10 000/(kcal per kg).
///
/// Check: 5.5 % of dry matter at 4000 kcal/kg dry is 13.75 g (printed as 13.8).
///
/// - Equation: 10 000 %/e
/// - Units: nutrient \[%\], e \[kcal/kg\], result \[g/1000 kcal\]
/// - Valid: e above 0, both on one basis
/// - Source: definition; 13.8 in print (seen)
///
/// ```
/// assert!((formula::nutrition::g_per_1000_kcal(5.5, 4000.0) - 13.75).abs() < 1e-12);
/// ```
pub fn g_per_1000_kcal(percent: f64, kcal_per_kg: f64) -> f64 {
    percent * 10_000.0 / kcal_per_kg
}

/// A percentage of dry matter brought to the energy that nutrient profiles presume:
/// DM % × 4000/(kcal per kg dry).
///
/// Check: 36 % protein at 4480 kcal/kg dry is 32.1 % (worked example in print).
///
/// - Equation: % · 4000/e
/// - Units: nutrient \[% of dry matter\], e \[kcal/kg dry\]
/// - Valid: e above 0
/// - Source: AAFCO nutrient profiles, correction above 4000 kcal/kg; a worked example in print (seen)
///
/// ```
/// assert!((formula::nutrition::energy_adjusted_pct(36.0, 4480.0) - 32.14).abs() < 0.01);
/// ```
pub fn energy_adjusted_pct(dry_pct: f64, kcal_per_kg_dry: f64) -> f64 {
    dry_pct * 4000.0 / kcal_per_kg_dry
}
