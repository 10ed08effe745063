//! One draw from everything that is uncertain: which inputs vary, how far, and where they bite.
//!
//! A draw is addressed by name: `z(key)` depends on seed, number of the draw and the key alone, so
//! a treatment and its control share the draws of what they share (paired), and neither the order
//! of the work nor the number of threads changes a result.

use learning::Parameter;
use measure::{Constant, Grade, Range};
use rand::{RngExt, SeedableRng};
use rand_pcg::Pcg64;

/// A draw, or the centre where every input has its best value.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Sample {
    /// Best values.
    Centre,
    /// The `number`-th draw of a seed.
    Number {
        /// Seed.
        seed: u64,
        /// Which draw.
        number: u64,
    },
}

impl Sample {
    /// Standard normal deviate of an input.
    pub fn z(self, key: &str) -> f64 {
        let Self::Number { seed, number } = self else {
            return 0.0;
        };
        let mixed = mix(mix(mix(seed) ^ number) ^ name_number(key));
        let mut rng = Pcg64::seed_from_u64(mixed);
        let (u, v): (f64, f64) = (rng.random(), rng.random());
        // Box and Muller; 1 − u keeps the logarithm finite.
        (-2.0 * (1.0 - u).ln()).sqrt() * (2.0 * std::f64::consts::PI * v).cos()
    }

    /// Whether this is a real draw.
    pub fn varies(self) -> bool {
        self != Self::Centre
    }
}

/// SplitMix64's finaliser: neighbouring numbers come out unlike each other.
fn mix(number: u64) -> u64 {
    let mut z = number.wrapping_add(0x9e37_79b9_7f4a_7c15);
    z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    z ^ (z >> 31)
}

/// A number for a name (FNV-1a, 64 bit): the same for ever.
fn name_number(name: &str) -> u64 {
    name.bytes().fold(0xcbf2_9ce4_8422_2325, |hash, byte| {
        (hash ^ u64::from(byte)).wrapping_mul(0x0000_0100_0000_01b3)
    })
}

/// A graded default that varies in a spread.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[allow(missing_docs)] // each is described by `Uncertain::about`
pub enum Uncertain {
    TopHeat,
    BottomHeat,
    AcrossOven,
    Conductivity,
    HeatCapacity,
    LiquidDiffusivity,
    LiquidActivation,
    DryMoisture,
    DryPower,
    Permeability,
    PorosityOverTortuosity,
    EdgePath,
    EdgeExposure,
    Emissivity,
    Gas,
    Forming,
    Stiffening,
    Sorption,
    SorptionHeat,
    Browning,
    SugarBrowning,
    CrumbModulus,
    CrumbExpansion,
    CrumbStrength,
    Setting,
    Film,
    Crispness,
    PieceMass,
    EnergyFormula,
}

const fn judged(
    name: &'static str,
    value: f64,
    unit: &'static str,
    source: &'static str,
) -> Constant {
    Constant {
        name,
        value,
        unit,
        range: Range::new(0.0, 2.0),
        source,
        grade: Grade::Assumed,
    }
}

static ACROSS_OVEN: Constant = Constant {
    range: Range::new(0.0, 20.0),
    ..judged(
        "place across the oven",
        4.0,
        "K, sd",
        "air, walls and band or tray from side to side: 8 K either way taken as 95 %, judgement; no published spread was at hand, and a thermometer across your own oven tells more",
    )
};
static HEAT_CAPACITY: Constant = judged(
    "heat capacity of the dry solid",
    0.07,
    "relative sd",
    "Choi–Okos over-predicts dry cereal by 8 to 14 % against measured values seen in print",
);
static LIQUID_ACTIVATION: Constant = Constant {
    range: Range::new(0.0, 20_000.0),
    ..judged(
        "activation energy of the movement of liquid water",
        8500.0,
        "J/mol, sd",
        "fit of thirty published pairs (docs/model/transport.md); correlation +0.2 with the diffusivity",
    )
};
static DRY_MOISTURE: Constant = judged(
    "moisture below which liquid water is held",
    0.20,
    "sd of the logarithm",
    FIT,
);
static DRY_POWER: Constant = judged(
    "sharpness of the fall of the liquid diffusivity",
    0.25,
    "sd of the logarithm",
    "fit of thirty published pairs (docs/model/transport.md); correlation −0.5 with the moisture below which it falls",
);
static EDGE_EXPOSURE: Constant = judged(
    "share of the surface transfer that reaches the rim",
    0.12,
    "1, sd",
    "pieces a finger apart; 0.26 to 0.74 taken as 95 %, judgement",
);
static EMISSIVITY: Constant = judged(
    "emissivity of dough and crust",
    0.04,
    "1, sd",
    "usual values for baked goods, from memory",
);
static GAS: Constant = judged(
    "gas in the dough",
    0.02,
    "m³/m³, sd",
    "5 to 12 % gas in dense doughs, recalled",
);
static FORMING: Constant = judged(
    "water offset of the forming",
    1.0,
    "times its sd",
    "the sd of the process offset stands with the water need",
);

static SORPTION_HEAT: Constant = judged(
    "shift of the log-odds of water activity per kelvin",
    0.20,
    "sd of the logarithm",
    "from one dough, from memory; its range is 0.006 to 0.022, judgement",
);
static BROWNING: Constant = judged(
    "rate of browning",
    0.25,
    "sd of the logarithm",
    "a law seen for bread, carried over to biscuits, judgement",
);
static SUGAR_BROWNING: Constant = judged(
    "faster browning by sugars",
    0.50,
    "sd of the logarithm",
    "working value, judgement",
);
static CRUMB_MODULUS: Constant = judged(
    "modulus of the baked crumb",
    0.70,
    "sd of the logarithm",
    "an order of magnitude from memory",
);
static CRUMB_EXPANSION: Constant = judged(
    "expansion of the crumb per point of moisture",
    0.27,
    "sd of the logarithm",
    "0.002 to 0.006 taken as 95 %",
);
static CRUMB_STRENGTH: Constant = judged(
    "strength of the crumb in tension",
    0.47,
    "sd of the logarithm",
    "0.3 to 2 MPa taken as 95 %",
);
static SETTING: Constant = Constant {
    range: Range::new(0.0, 20.0),
    ..judged(
        "temperature under which the crumb is rigid",
        7.0,
        "K, sd",
        "a rule from memory, judgement",
    )
};
static FILM: Constant = judged(
    "film of the pack",
    1.0,
    "quarters of the logarithm of its range",
    "least and most of the table taken as 95 %",
);
static CRISPNESS: Constant = judged(
    "water activity at which crispness goes",
    0.03,
    "1, sd",
    "common practice, from memory; mouths differ, judgement",
);

static PIECE_MASS: Constant = judged(
    "mass of a piece as it is formed",
    0.02,
    "relative sd",
    "2 % between pieces of rotary moulded or sheeted dough, recalled; the mean of a shift is surer",
);
static ENERGY_FORMULA: Constant = judged(
    "energy formula of the feed",
    0.03,
    "relative sd",
    "the two formulas in use differ by several per cent on the same analysis, judgement",
);

/// Where the spread of the water's way comes from.
const FIT: &str = "fit of thirty published pairs at once (docs/model/transport.md)";

impl Uncertain {
    /// Every one.
    pub const ALL: [Self; 29] = [
        Self::TopHeat,
        Self::BottomHeat,
        Self::AcrossOven,
        Self::Conductivity,
        Self::HeatCapacity,
        Self::LiquidDiffusivity,
        Self::LiquidActivation,
        Self::DryMoisture,
        Self::DryPower,
        Self::Permeability,
        Self::PorosityOverTortuosity,
        Self::EdgePath,
        Self::EdgeExposure,
        Self::Emissivity,
        Self::Gas,
        Self::Forming,
        Self::Stiffening,
        Self::Sorption,
        Self::SorptionHeat,
        Self::Browning,
        Self::SugarBrowning,
        Self::CrumbModulus,
        Self::CrumbExpansion,
        Self::CrumbStrength,
        Self::Setting,
        Self::Film,
        Self::Crispness,
        Self::PieceMass,
        Self::EnergyFormula,
    ];

    /// Name, spread, unit, source and grade.
    pub fn about(self) -> &'static Constant {
        match self {
            Self::TopHeat => Parameter::TopHeat.about(),
            Self::BottomHeat => Parameter::BandHeat.about(),
            Self::AcrossOven => &ACROSS_OVEN,
            Self::Conductivity => Parameter::Conductivity.about(),
            Self::HeatCapacity => &HEAT_CAPACITY,
            Self::LiquidDiffusivity => Parameter::LiquidDiffusivity.about(),
            Self::LiquidActivation => &LIQUID_ACTIVATION,
            Self::DryMoisture => &DRY_MOISTURE,
            Self::DryPower => &DRY_POWER,
            Self::Permeability => Parameter::Permeability.about(),
            Self::PorosityOverTortuosity => Parameter::VapourPath.about(),
            Self::EdgePath => Parameter::EdgePath.about(),
            Self::EdgeExposure => &EDGE_EXPOSURE,
            Self::Emissivity => &EMISSIVITY,
            Self::Gas => &GAS,
            Self::Forming => &FORMING,
            Self::Stiffening => &formula::water::STIFFENING_SD,
            Self::Sorption => Parameter::Sorption.about(),
            Self::SorptionHeat => &SORPTION_HEAT,
            Self::Browning => &BROWNING,
            Self::SugarBrowning => &SUGAR_BROWNING,
            Self::CrumbModulus => &CRUMB_MODULUS,
            Self::CrumbExpansion => &CRUMB_EXPANSION,
            Self::CrumbStrength => &CRUMB_STRENGTH,
            Self::Setting => &SETTING,
            Self::Film => &FILM,
            Self::Crispness => &CRISPNESS,
            Self::PieceMass => &PIECE_MASS,
            Self::EnergyFormula => &ENERGY_FORMULA,
        }
    }

    /// Deviate of this draw times the spread.
    pub fn shift(self, sample: Sample) -> f64 {
        self.about().value * sample.z(self.about().name)
    }

    /// Deviate of this draw times the spread, where it goes with another by a correlation.
    pub fn shift_with(self, other: Self, correlation: f64, sample: Sample) -> f64 {
        let z = |u: Self| sample.z(u.about().name);
        let own = (1.0 - correlation * correlation).sqrt();
        self.about().value * (correlation * z(other) + own * z(self))
    }

    /// Factor e^(shift), 1 at the centre.
    pub fn factor(self, sample: Sample) -> f64 {
        self.shift(sample).exp()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn draws_are_standard_normal_and_reproducible() {
        let n = 4000;
        let draw = |number| Sample::Number { seed: 7, number };
        let z: Vec<f64> = (0..n)
            .map(|i| draw(i).z("water uptake of barley flour"))
            .collect();
        let mean = z.iter().sum::<f64>() / n as f64;
        let sd = (z.iter().map(|v| (v - mean).powi(2)).sum::<f64>() / n as f64).sqrt();
        assert!(mean.abs() < 0.05, "{mean}");
        assert!((sd - 1.0).abs() < 0.04, "{sd}");
        // Neighbouring draws and other keys are independent.
        let lag = z.windows(2).map(|w| w[0] * w[1]).sum::<f64>() / n as f64;
        assert!(lag.abs() < 0.05, "{lag}");
        let other = (0..n)
            .map(|i| draw(i).z("gas in the dough") * z[i as usize])
            .sum::<f64>()
            / n as f64;
        assert!(other.abs() < 0.05, "{other}");
        assert_eq!(draw(3).z("a"), draw(3).z("a"));
        assert_eq!(Sample::Centre.z("a"), 0.0);
    }

    #[test]
    fn names_are_apart() {
        let mut names: Vec<_> = Uncertain::ALL.iter().map(|u| u.about().name).collect();
        names.sort_unstable();
        names.dedup();
        assert_eq!(names.len(), Uncertain::ALL.len());
    }
}
