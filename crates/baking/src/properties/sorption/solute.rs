//! Solutes that hold water by their solution: humectants, sugars alone, salts of acids, acids.

use measure::{Constant, Grade, Range};
use serde::{Deserialize, Serialize};

/// Molar mass of water.
///
/// - Units: \[kg/mol\]
/// - Source: standard atomic weights
const WATER_KG_PER_MOL: f64 = 0.018_015;

/// A substance that dissolves in the water of the piece.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
#[allow(missing_docs)] // the word says it
pub enum Solute {
    Glycerol,
    PropyleneGlycol,
    Sorbitol,
    Xylitol,
    Erythritol,
    Mannitol,
    Sucrose,
    Glucose,
    Fructose,
    Maltose,
    Lactose,
    SodiumLactate,
    PotassiumLactate,
    CitricAcid,
    TartaricAcid,
    MalicAcid,
    LacticAcid,
    AceticAcid,
}

/// How its solution's water activity is had.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum SolutionLaw {
    /// a = x_w exp(−K x_s²) over mole fractions, after Norrish.
    Norrish {
        /// K.
        k: f64,
    },
    /// Glycerol's own law: Wilson form after Zhang, Grace and Sun 2022, 0 to 100 °C.
    Wilson,
    /// A 1:1 salt after Pitzer, up to 3.5 mol per kg water.
    Pitzer {
        /// β⁰.
        b0: f64,
        /// β¹.
        b1: f64,
        /// C^φ.
        c: f64,
    },
}

/// Most of a salt of an acid that the law is taken for \[mol/kg water\].
pub const MOST_MOLAL: Constant = Constant {
    name: "most of a salt of an acid that the law is taken for",
    value: 3.5,
    unit: "mol/kg water",
    range: Range::new(1.0, 6.0),
    source: "range of the acetate parameters that stand in for lactate, from memory, to be confirmed",
    grade: Grade::Recalled,
};

impl Solute {
    /// Every solute.
    pub const ALL: [Self; 18] = [
        Self::Glycerol,
        Self::PropyleneGlycol,
        Self::Sorbitol,
        Self::Xylitol,
        Self::Erythritol,
        Self::Mannitol,
        Self::Sucrose,
        Self::Glucose,
        Self::Fructose,
        Self::Maltose,
        Self::Lactose,
        Self::SodiumLactate,
        Self::PotassiumLactate,
        Self::CitricAcid,
        Self::TartaricAcid,
        Self::MalicAcid,
        Self::LacticAcid,
        Self::AceticAcid,
    ];

    /// The word shown to people.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Glycerol => "glycerol",
            Self::PropyleneGlycol => "propylene glycol",
            Self::Sorbitol => "sorbitol",
            Self::Xylitol => "xylitol",
            Self::Erythritol => "erythritol",
            Self::Mannitol => "mannitol",
            Self::Sucrose => "sucrose",
            Self::Glucose => "glucose",
            Self::Fructose => "fructose",
            Self::Maltose => "maltose",
            Self::Lactose => "lactose",
            Self::SodiumLactate => "sodium lactate",
            Self::PotassiumLactate => "potassium lactate",
            Self::CitricAcid => "citric acid",
            Self::TartaricAcid => "tartaric acid",
            Self::MalicAcid => "malic acid",
            Self::LacticAcid => "lactic acid",
            Self::AceticAcid => "acetic acid",
        }
    }

    /// Molar mass \[kg/mol\].
    ///
    /// - Rule: the sum of its atoms
    /// - Units: molar mass \[kg/mol\]
    /// - Valid: every solute of the list
    /// - Source: standard atomic masses; glycerol C₃H₈O₃ in the example
    ///
    /// ```
    /// use baking::properties::sorption::Solute;
    /// let glycerol = 3.0 * 12.011 + 8.0 * 1.008 + 3.0 * 15.999;
    /// assert!((Solute::Glycerol.kg_per_mol() * 1e3 - glycerol).abs() < 0.01);
    /// ```
    pub const fn kg_per_mol(self) -> f64 {
        match self {
            Self::Glycerol => 0.092_094,
            Self::PropyleneGlycol => 0.076_095,
            Self::Sorbitol | Self::Mannitol => 0.182_17,
            Self::Xylitol => 0.152_15,
            Self::Erythritol => 0.122_12,
            Self::Sucrose | Self::Maltose | Self::Lactose => 0.342_30,
            Self::Glucose | Self::Fructose => 0.180_156,
            Self::SodiumLactate => 0.112_06,
            Self::PotassiumLactate => 0.128_17,
            Self::CitricAcid => 0.192_12,
            Self::TartaricAcid => 0.150_09,
            Self::MalicAcid => 0.134_09,
            Self::LacticAcid => 0.090_08,
            Self::AceticAcid => 0.060_05,
        }
    }

    /// The law, how sure it is, and where it comes from.
    pub fn law(self) -> (SolutionLaw, Grade, &'static str) {
        const TABLE: &str = "Norrish's K as reprinted in Int. J. Dent. 2010/981072, table 3 (seen)";
        const CHIRIFE: &str =
            "Norrish's K after Chirife, Ferro Fontan and Benmergui 1980, from memory";
        const ACETATE: &str = "Pitzer's equation with the acetate's parameters, from memory: the lactate's own weren't found (±0.01)";
        const RAOULT: &str = "ideal solution: the K of acids differ between reprints; right within 0.01 up to 10 % acid in the water";
        let norrish = |k| SolutionLaw::Norrish { k };
        match self {
            Self::Glycerol => (
                SolutionLaw::Wilson,
                Grade::Published,
                "Zhang, Grace and Sun 2022, Drying Technol. 40:2404 (coefficients seen as coded)",
            ),
            Self::PropyleneGlycol => (norrish(1.0), Grade::Recalled, CHIRIFE),
            Self::Sorbitol => (norrish(1.65), Grade::Recalled, CHIRIFE),
            Self::Xylitol => (norrish(1.66), Grade::Published, TABLE),
            Self::Erythritol => (norrish(1.34), Grade::Published, TABLE),
            Self::Mannitol => (norrish(0.906), Grade::Published, TABLE),
            Self::Sucrose => (norrish(6.47), Grade::Recalled, CHIRIFE),
            Self::Glucose | Self::Fructose => (norrish(2.25), Grade::Recalled, CHIRIFE),
            Self::Maltose => (norrish(4.54), Grade::Recalled, CHIRIFE),
            Self::Lactose => (norrish(10.2), Grade::Recalled, CHIRIFE),
            Self::SodiumLactate => (
                SolutionLaw::Pitzer {
                    b0: 0.1426,
                    b1: 0.3237,
                    c: -0.006_29,
                },
                Grade::Recalled,
                ACETATE,
            ),
            Self::PotassiumLactate => (
                SolutionLaw::Pitzer {
                    b0: 0.1587,
                    b1: 0.3251,
                    c: -0.0066,
                },
                Grade::Recalled,
                ACETATE,
            ),
            Self::CitricAcid
            | Self::TartaricAcid
            | Self::MalicAcid
            | Self::LacticAcid
            | Self::AceticAcid => (norrish(0.0), Grade::Assumed, RAOULT),
        }
    }

    /// Water activity of its solution with a mass of water per mass of solute \[kg/kg\] at θ \[°C\].
    ///
    /// - Rule: Norrish, Wilson or Pitzer, as the solute's law
    /// - Units: water per solute \[kg/kg\], θ \[°C\], a_w \[1\]
    /// - Valid: as each law; beyond its concentrations the last coefficient stays
    /// - Source: constants seen or from memory as their grades tell; the examples computed apart from them
    ///
    /// ```
    /// use baking::properties::sorption::Solute;
    /// let at = |s: Solute, share: f64| s.water_activity((1.0 - share) / share, 25.0);
    /// assert!((at(Solute::Glycerol, 0.60) - 0.7383).abs() < 2e-4);
    /// assert!((at(Solute::Sorbitol, 0.40) - 0.9322).abs() < 2e-4);
    /// assert!((at(Solute::Xylitol, 0.60) - 0.8177).abs() < 2e-4);
    /// ```
    pub fn water_activity(self, water_kg_per_kg: f64, celsius: f64) -> f64 {
        if water_kg_per_kg <= 0.0 {
            return 0.0;
        }
        let solute = 1.0 / self.kg_per_mol();
        let x = solute / (solute + water_kg_per_kg / WATER_KG_PER_MOL);
        match self.law().0 {
            SolutionLaw::Norrish { k } => norrish(x, k),
            SolutionLaw::Wilson => glycerol(x, celsius),
            // Beyond its concentrations the osmotic coefficient stays, so that the curve rises all the way.
            SolutionLaw::Pitzer { b0, b1, c } => {
                let molal = solute / water_kg_per_kg;
                let within = molal.min(MOST_MOLAL.value);
                pitzer(within, b0, b1, c).powf(molal / within)
            }
        }
    }

    /// Most solute per water \[kg/kg\] for which the law holds: what dissolves at 25 °C where that is little (from memory,
    /// to be confirmed), or the concentrations that the law was taken for. Sugars and polyols that stay a syrup or a
    /// glass have none.
    pub(crate) const fn most_kg_per_kg_water(self) -> f64 {
        match self {
            Self::SodiumLactate | Self::PotassiumLactate => MOST_MOLAL.value * self.kg_per_mol(),
            Self::Lactose => 0.22,
            Self::Mannitol => 0.22,
            Self::Erythritol => 0.61,
            _ => f64::INFINITY,
        }
    }

    /// Whether the law holds with that much water.
    ///
    /// - Rule: concentration at most that of the law
    /// - Units: water per solute \[kg/kg\]
    /// - Valid: any
    /// - Source: limits beside the laws; the solubility of mannitol, about a fifth of the water, from memory, to be
    ///   confirmed
    ///
    /// ```
    /// use baking::properties::sorption::Solute;
    /// // A part of mannitol needs about five of water.
    /// assert!(Solute::Mannitol.holds(6.0) && !Solute::Mannitol.holds(1.0));
    /// assert!(Solute::Glycerol.holds(0.05));
    /// ```
    pub fn holds(self, water_kg_per_kg: f64) -> bool {
        1.0 / water_kg_per_kg <= self.most_kg_per_kg_water()
    }

    /// Share of its mass that is left as ash, as carbonate: ½ M₂CO₃ over the salt's mass; 0 without a metal.
    ///
    /// - Equation: ½ M(M₂CO₃)/M(salt)
    /// - Units: share \[kg/kg\]
    /// - Valid: salts of sodium and potassium
    /// - Source: stoichiometry, molar masses
    ///
    /// ```
    /// use baking::properties::sorption::Solute;
    /// assert!((Solute::SodiumLactate.ash_share() - 0.5 * 105.99 / 112.06).abs() < 1e-3);
    /// assert!((Solute::PotassiumLactate.ash_share() - 0.5 * 138.21 / 128.17).abs() < 1e-3);
    /// ```
    pub const fn ash_share(self) -> f64 {
        match self {
            Self::SodiumLactate => 0.473,
            Self::PotassiumLactate => 0.539,
            _ => 0.0,
        }
    }

    /// Water per mass of solute \[kg/kg\] at which its solution has a water activity at 25 °C.
    ///
    /// - Rule: water per solute with the wanted activity, by bisection
    /// - Units: a_w \[1\], result \[kg/kg\]
    /// - Valid: a_w between 0 and 1, 25 °C
    /// - Source: inverse of the law; 64.2 % glycerol at 0.70 computed apart from printed coefficients
    ///
    /// ```
    /// use baking::properties::sorption::Solute;
    /// // 64.2 % glycerol in its solution at 0.70.
    /// let share = 1.0 / (1.0 + Solute::Glycerol.water_held(0.70));
    /// assert!((share - 0.642).abs() < 1e-3);
    /// ```
    pub fn water_held(self, water_activity: f64) -> f64 {
        let (mut low, mut high) = (-12.0_f64, 12.0_f64);
        for _ in 0..60 {
            let middle = 0.5 * (low + high);
            if self.water_activity(middle.exp(), super::REFERENCE_CELSIUS) < water_activity {
                low = middle;
            } else {
                high = middle;
            }
        }
        (0.5 * (low + high)).exp()
    }
}

/// Norrish: a = (1 − x) exp(−K x²) at the mole fraction of the solute.
///
/// - Equation: a = (1 − x) exp(−K x²)
/// - Units: mole fraction x \[1\], K \[1\]
/// - Valid: solutions up to saturation
/// - Source: Norrish 1966 (form seen); without interaction it is Raoult's law
///
/// ```
/// use baking::properties::sorption::norrish;
/// assert_eq!(norrish(0.1, 0.0), 0.9);
/// // Sucrose, K 6.47, 40 % by mass: 0.9589 (computed apart).
/// let (sugar, water) = (0.40 / 342.30, 0.60 / 18.015);
/// assert!((norrish(sugar / (sugar + water), 6.47) - 0.9589).abs() < 1e-4);
/// ```
pub fn norrish(x: f64, k: f64) -> f64 {
    (1.0 - x) * (-k * x * x).exp()
}

/// Glycerol and water at the mole fraction of glycerol and θ \[°C\].
fn glycerol(x: f64, celsius: f64) -> f64 {
    /// Wilson's coefficients of glycerol in water.
    ///
    /// - Units: \[1\]
    /// - Source: Zhang, Grace and Sun 2022, Drying Technol. 40:2404, as coded in a public program (seen)
    const A12: f64 = 0.899_240_67;
    /// The same.
    ///
    /// - Units: \[1\]
    /// - Source: as A12
    const A21: f64 = -1.917_301_3;
    /// The same over temperature.
    ///
    /// - Units: \[K\]
    /// - Source: as A12
    const B12: f64 = 127.075_11;
    /// The same.
    ///
    /// - Units: \[K\]
    /// - Source: as A12
    const B21: f64 = 91.465_969;
    /// Ratio of the molar volumes v₂/v₁.
    ///
    /// - Units: \[1\]
    /// - Source: as A12
    const V: f64 = 0.086_85 / 0.018_831_1;
    let t = measure::temperature::kelvin(celsius);
    let r = x / (1.0 - x);
    let (e12, e21) = ((-(A12 + B12 / t)).exp(), (-(A21 + B21 / t)).exp());
    let ln_a = -(V * r * e12).ln_1p() + r / (1.0 / (V * e12) + r) - r * V * e12 / (r + e21 / V);
    ln_a.exp()
}

/// A 1:1 salt of a molality \[mol/kg\]: ln a = −2 m M_w φ.
///
/// - Equation: ln a = −2 m M_w φ, φ = 1 − A√m/(1 + 1.2√m) + m(b₀ + b₁e^(−2√m)) + m² c
/// - Units: m \[mol/kg water\], a \[1\]
/// - Valid: 0 to 6 mol/kg, 25 °C, 1:1 salts
/// - Source: Pitzer (form and A 0.3915 from memory, to be confirmed)
///
/// ```
/// use baking::properties::sorption::pitzer;
/// assert_eq!(pitzer(0.0, 0.0765, 0.2664, 0.001_27), 1.0);
/// // Sodium chloride, 1 and 5 mol/kg: 0.9668 and 0.8068 (computed apart).
/// assert!((pitzer(1.0, 0.0765, 0.2664, 0.001_27) - 0.9668).abs() < 1e-4);
/// assert!((pitzer(5.0, 0.0765, 0.2664, 0.001_27) - 0.8068).abs() < 1e-4);
/// ```
pub fn pitzer(molality: f64, b0: f64, b1: f64, c: f64) -> f64 {
    let (m, root) = (molality, molality.sqrt());
    let osmotic =
        1.0 - 0.3915 * root / (1.0 + 1.2 * root) + m * (b0 + b1 * (-2.0 * root).exp()) + m * m * c;
    (-2.0 * m * WATER_KG_PER_MOL * osmotic).exp()
}
