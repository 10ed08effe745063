//! One draw from everything that is uncertain: which inputs vary, how far, and where they bite.
//!
//! A draw is addressed by name: `z(key)` depends on seed, number of the draw and the key alone, so
//! a treatment and its control share the draws of what they share (paired), and neither the order
//! of the work nor the number of threads changes a result.

use measure::{Constant, Grade, Range};
use rand::{RngExt, SeedableRng};
use rand_pcg::Pcg64;

/// A draw, or the centre where every input has its best value.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Draw {
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

impl Draw {
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
    Conductivity,
    HeatCapacity,
    LiquidDiffusivity,
    Permeability,
    PorosityOverTortuosity,
    EdgePath,
    Gas,
    Forming,
    Stiffening,
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

static TOP_HEAT: Constant = judged(
    "heat transfer at the top",
    0.20,
    "relative sd",
    "spread of combined coefficients in tunnel ovens is larger (20 to 48 W/m²K seen); one oven at one setting is known better",
);
static BOTTOM_HEAT: Constant = judged(
    "heat transfer from the band",
    0.25,
    "relative sd",
    "contact of dough and band, judgement",
);
static CONDUCTIVITY: Constant = judged(
    "conductivity of dough and crust",
    0.15,
    "relative sd",
    "spread between porous models at 10 to 30 % pores (computed)",
);
static HEAT_CAPACITY: Constant = judged(
    "heat capacity of the dry solid",
    0.07,
    "relative sd",
    "Choi–Okos over-predicts dry cereal by 8 to 14 % against measured values seen in print",
);
static LIQUID: Constant = judged(
    "movement of liquid water",
    0.60,
    "sd of the logarithm",
    "published moisture diffusivities spread over half a decade",
);
static PERMEABILITY: Constant = judged(
    "permeability of the crumb",
    1.0,
    "sd of the logarithm",
    "no measurement at hand, judgement",
);
static POROSITY: Constant = judged(
    "pores open to vapour",
    0.40,
    "sd of the logarithm",
    "no measurement at hand, judgement",
);
static EDGE: Constant = judged(
    "inner path of the edge correction",
    0.35,
    "sd of the logarithm",
    "misfit of the correction against solid runs, judgement",
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

impl Uncertain {
    /// Every one.
    pub const ALL: [Self; 11] = [
        Self::TopHeat,
        Self::BottomHeat,
        Self::Conductivity,
        Self::HeatCapacity,
        Self::LiquidDiffusivity,
        Self::Permeability,
        Self::PorosityOverTortuosity,
        Self::EdgePath,
        Self::Gas,
        Self::Forming,
        Self::Stiffening,
    ];

    /// Name, spread, unit, source and grade.
    pub fn about(self) -> &'static Constant {
        match self {
            Self::TopHeat => &TOP_HEAT,
            Self::BottomHeat => &BOTTOM_HEAT,
            Self::Conductivity => &CONDUCTIVITY,
            Self::HeatCapacity => &HEAT_CAPACITY,
            Self::LiquidDiffusivity => &LIQUID,
            Self::Permeability => &PERMEABILITY,
            Self::PorosityOverTortuosity => &POROSITY,
            Self::EdgePath => &EDGE,
            Self::Gas => &GAS,
            Self::Forming => &FORMING,
            Self::Stiffening => &formula::water::STIFFENING_SD,
        }
    }

    /// Deviate of this draw times the spread.
    pub fn shift(self, draw: Draw) -> f64 {
        self.about().value * draw.z(self.about().name)
    }

    /// Factor e^(shift), 1 at the centre.
    pub fn factor(self, draw: Draw) -> f64 {
        self.shift(draw).exp()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn draws_are_standard_normal_and_reproducible() {
        let n = 4000;
        let draw = |number| Draw::Number { seed: 7, number };
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
        assert_eq!(Draw::Centre.z("a"), 0.0);
    }

    #[test]
    fn names_are_apart() {
        let mut names: Vec<_> = Uncertain::ALL.iter().map(|u| u.about().name).collect();
        names.sort_unstable();
        names.dedup();
        assert_eq!(names.len(), Uncertain::ALL.len());
    }
}
