//! What can be learned of a bake: each a factor on its best value, with what is believed of it beforehand.

use baking::bake::{BakeInput, Direction, Multiplier};
use measure::{Constant, Grade, Range};
use serde::{Deserialize, Serialize};

/// A number of the bake that bakes can teach.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Parameter {
    /// Heat transfer at the top.
    TopHeat,
    /// Heat transfer from the band.
    BandHeat,
    /// Transfer of vapour at the surfaces beside that of heat.
    MassTransfer,
    /// Emissivity of dough and crust: the share of radiation.
    Radiation,
    /// Movement of liquid water.
    LiquidDiffusivity,
    /// Its activation energy.
    LiquidActivation,
    /// Pores open to vapour.
    VapourPath,
    /// Permeability of the crumb.
    Permeability,
    /// Conductivity of dough and crust.
    Conductivity,
    /// Water held by the dry solid.
    Sorption,
    /// Inner path of the edge.
    EdgePath,
    /// Share of the surface transfer that reaches the rim.
    EdgeExposure,
}

/// On which scale a parameter is about normally distributed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Scale {
    /// The logarithm of the factor.
    Log,
    /// The log-odds of a share between 0 and 1.
    Logit,
}

const fn belief(
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

const LN: &str = "sd of the logarithm";
const PAIRS: &str = "fit of thirty published pairs at once (docs/model/transport.md)";

static TOP_HEAT: Constant = belief(
    "heat transfer at the top",
    0.20,
    LN,
    "spread of combined coefficients in tunnel ovens is larger (20 to 48 W/m²K seen)",
);
static BAND_HEAT: Constant = belief(
    "heat transfer from the band",
    0.25,
    LN,
    "contact of dough and band, judgement",
);
static MASS_TRANSFER: Constant = belief(
    "transfer of vapour beside that of heat",
    0.30,
    LN,
    "the analogy with heat holds to some tenths in print; blowing vapour and a leathery crust make it worse, judgement",
);
static RADIATION: Constant = belief(
    "emissivity of dough and crust",
    0.045,
    LN,
    "0.04 about 0.9, usual values for baked goods, from memory",
);
static LIQUID: Constant = belief("movement of liquid water", 0.95, LN, PAIRS);
static ACTIVATION: Constant = belief(
    "activation energy of the movement of liquid water",
    0.27,
    LN,
    "8500 J/mol about 31 kJ/mol, fit of thirty published pairs (docs/model/transport.md)",
);
static VAPOUR: Constant = belief("pores open to vapour", 0.65, LN, PAIRS);
static PERMEABILITY: Constant = belief("permeability of the crumb", 1.4, LN, PAIRS);
static CONDUCTIVITY: Constant = belief(
    "conductivity of dough and crust",
    0.15,
    LN,
    "spread between porous models at 10 to 30 % pores (computed)",
);
static SORPTION: Constant = belief(
    "water held by the dry solid",
    0.30,
    LN,
    "level of the isotherm: biscuits and pasta in print lie a third apart",
);
static EDGE_PATH: Constant = belief(
    "inner path of the edge correction",
    0.35,
    LN,
    "misfit of the correction against solid runs, judgement",
);
static EDGE_EXPOSURE: Constant = belief(
    "share of the surface transfer that reaches the rim",
    0.24,
    LN,
    "0.12 about one half: pieces a finger apart, judgement",
);

impl Parameter {
    /// Every one.
    pub const ALL: [Self; 12] = [
        Self::TopHeat,
        Self::BandHeat,
        Self::MassTransfer,
        Self::Radiation,
        Self::LiquidDiffusivity,
        Self::LiquidActivation,
        Self::VapourPath,
        Self::Permeability,
        Self::Conductivity,
        Self::Sorption,
        Self::EdgePath,
        Self::EdgeExposure,
    ];

    /// Those that are learned unless others are asked for: what moves the time of a dense biscuit most.
    pub const USUAL: [Self; 7] = [
        Self::TopHeat,
        Self::BandHeat,
        Self::MassTransfer,
        Self::LiquidDiffusivity,
        Self::VapourPath,
        Self::Conductivity,
        Self::Sorption,
    ];

    /// The word it is asked for and written by.
    pub const fn word(self) -> &'static str {
        match self {
            Self::TopHeat => "top_heat",
            Self::BandHeat => "band_heat",
            Self::MassTransfer => "mass_transfer",
            Self::Radiation => "radiation",
            Self::LiquidDiffusivity => "liquid_diffusivity",
            Self::LiquidActivation => "liquid_activation",
            Self::VapourPath => "vapour_path",
            Self::Permeability => "permeability",
            Self::Conductivity => "conductivity",
            Self::Sorption => "sorption",
            Self::EdgePath => "edge_path",
            Self::EdgeExposure => "edge_exposure",
        }
    }

    /// The parameter of a word.
    pub fn of(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|p| p.word() == word)
    }

    /// Name, standard deviation of the logarithm of its factor as believed beforehand, source and grade.
    pub fn about(self) -> &'static Constant {
        match self {
            Self::TopHeat => &TOP_HEAT,
            Self::BandHeat => &BAND_HEAT,
            Self::MassTransfer => &MASS_TRANSFER,
            Self::Radiation => &RADIATION,
            Self::LiquidDiffusivity => &LIQUID,
            Self::LiquidActivation => &ACTIVATION,
            Self::VapourPath => &VAPOUR,
            Self::Permeability => &PERMEABILITY,
            Self::Conductivity => &CONDUCTIVITY,
            Self::Sorption => &SORPTION,
            Self::EdgePath => &EDGE_PATH,
            Self::EdgeExposure => &EDGE_EXPOSURE,
        }
    }

    /// What of the bake it multiplies.
    pub const fn multiplier(self) -> Multiplier {
        match self {
            Self::TopHeat => Multiplier::TopHeat,
            Self::BandHeat => Multiplier::BandHeat,
            Self::MassTransfer => Multiplier::MassTransfer,
            Self::Radiation => Multiplier::Radiation,
            Self::LiquidDiffusivity => Multiplier::LiquidDiffusivity,
            Self::LiquidActivation => Multiplier::LiquidActivation,
            Self::VapourPath => Multiplier::VapourPath,
            Self::Permeability => Multiplier::Permeability,
            Self::Conductivity => Multiplier::Conductivity,
            Self::Sorption => Multiplier::Sorption,
            Self::EdgePath => Multiplier::EdgePath,
            Self::EdgeExposure => Multiplier::EdgeExposure,
        }
    }

    /// Whether it belongs to the dough and the piece; else to the oven.
    pub const fn is_of_the_dough(self) -> bool {
        !matches!(
            self,
            Self::TopHeat | Self::BandHeat | Self::MassTransfer | Self::EdgeExposure
        )
    }

    /// The scale it is about normal on. A share stays between 0 and 1.
    pub const fn scale(self) -> Scale {
        match self {
            Self::Radiation | Self::VapourPath | Self::EdgeExposure => Scale::Logit,
            _ => Scale::Log,
        }
    }

    /// Its best value in a bake, of those that are shares.
    fn share(self, input: &BakeInput) -> f64 {
        let share = match self {
            Self::Radiation => input.closures.emissivity,
            Self::VapourPath => input.closures.vapour.porosity_over_tortuosity,
            Self::EdgeExposure => input.edge.map_or(0.5, |e| e.exposure),
            _ => 0.5,
        };
        share.clamp(1e-9, 1.0 - 1e-6)
    }
}

/// A parameter that is learned: for the whole oven, or in one zone.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize)]
pub struct Chosen {
    /// Which.
    pub parameter: Parameter,
    /// The place of its zone among the stages; none for all of them.
    pub zone: Option<usize>,
}

impl Chosen {
    /// For the whole oven.
    pub const fn whole(parameter: Parameter) -> Self {
        Self {
            parameter,
            zone: None,
        }
    }

    /// Its name, with its zone.
    pub fn name(self) -> String {
        let name = self.parameter.about().name;
        match self.zone {
            Some(zone) => format!("{name}, zone {}", zone + 1),
            None => name.to_owned(),
        }
    }

    /// The direction its derivatives are told along.
    pub fn direction(self) -> Direction {
        Direction {
            what: self.parameter.multiplier(),
            stage: self.zone,
        }
    }

    /// Standard deviation believed beforehand, on its own scale, about 0.
    pub fn sd(self, input: &BakeInput) -> f64 {
        let sd = self.parameter.about().value;
        match self.parameter.scale() {
            Scale::Log => sd,
            Scale::Logit => sd / (1.0 - self.parameter.share(input)),
        }
    }

    /// The factor at a place on its own scale, and d ln(factor)/d(place).
    ///
    /// ```
    /// use baking::bake::case::Benchmark;
    /// use learning::{Chosen, Parameter};
    /// let input = Benchmark::SteelBand.case().input;
    /// let (factor, slope) = Chosen::whole(Parameter::TopHeat).factor(&input, 0.3);
    /// assert!((factor - 0.3_f64.exp()).abs() < 1e-12 && slope == 1.0);
    /// // An emissivity never passes 1.
    /// let (factor, _) = Chosen::whole(Parameter::Radiation).factor(&input, 9.0);
    /// assert!(factor * input.closures.emissivity <= 1.0);
    /// ```
    pub fn factor(self, input: &BakeInput, place: f64) -> (f64, f64) {
        match self.parameter.scale() {
            Scale::Log => (place.exp(), 1.0),
            Scale::Logit => {
                let best = self.parameter.share(input);
                let odds = best / (1.0 - best) * place.exp();
                let share = odds / (1.0 + odds);
                (share / best, 1.0 - share)
            }
        }
    }

    /// Puts the factor at a place on a bake.
    pub fn apply(self, input: &mut BakeInput, place: f64) {
        let (factor, _) = self.factor(input, place);
        self.parameter.multiplier().apply(input, factor, self.zone);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use baking::bake::case::Benchmark;

    #[test]
    fn every_parameter_has_a_word_a_name_and_a_multiplier_of_its_own() {
        let mut words: Vec<_> = Parameter::ALL.map(|p| p.word()).to_vec();
        let mut names: Vec<_> = Parameter::ALL.map(|p| p.about().name).to_vec();
        let mut multipliers: Vec<_> = Parameter::ALL
            .map(|p| format!("{:?}", p.multiplier()))
            .to_vec();
        for list in [&mut words, &mut names] {
            list.sort_unstable();
            list.dedup();
            assert_eq!(list.len(), Parameter::ALL.len());
        }
        multipliers.sort_unstable();
        multipliers.dedup();
        assert_eq!(multipliers.len(), Parameter::ALL.len());
        for p in Parameter::ALL {
            assert_eq!(Parameter::of(p.word()), Some(p));
        }
        assert_eq!(Parameter::of("heat"), None);
    }

    #[test]
    fn the_slope_of_a_factor_is_its_derivative() {
        let input = Benchmark::Mesh.case().input;
        for p in Parameter::ALL {
            let chosen = Chosen::whole(p);
            assert!((chosen.factor(&input, 0.0).0 - 1.0).abs() < 1e-12);
            for place in [-1.0, 0.4] {
                let (_, slope) = chosen.factor(&input, place);
                let ln = |x: f64| chosen.factor(&input, x).0.ln();
                let seen = (ln(place + 1e-5) - ln(place - 1e-5)) / 2e-5;
                assert!((slope - seen).abs() < 1e-8, "{p:?} {slope} {seen}");
            }
        }
    }
}
