//! What was learned of the oven and the dough, in place of what is believed of them beforehand.

use super::{Sample, Uncertain};
use crate::model::{LearnedBake, Treatment};
use baking::bake::BakeInput;
use baking::properties::DoughProperties;
use learning::bakes::MODEL_MOISTURE;
use learning::{Chosen, Parameter};
use measure::{Given, Grade, Source};

/// The numbers of the bake that a treatment has taken up, if any hold.
#[derive(Clone, Copy, Debug)]
pub struct Effective<'a> {
    learned: Option<&'a LearnedBake>,
    zones: usize,
    sample: Sample,
}

impl<'a> Effective<'a> {
    /// Of a treatment, in a draw or at the centre.
    pub fn of(treatment: &'a Treatment, sample: Sample) -> Self {
        let learned = treatment.setting.learned.as_ref();
        Self {
            learned: learned.and_then(|l| l.bake.as_ref()).filter(|b| b.holds()),
            zones: treatment.setting.oven.zones.len(),
            sample,
        }
    }

    /// Factor of an uncertain number in a zone: 1 where it was learned.
    pub fn factor(&self, of: Uncertain, zone: Option<usize>) -> f64 {
        if self.knows(of, zone) {
            1.0
        } else {
            of.factor(self.sample)
        }
    }

    /// Its shift: 0 where it was learned.
    pub fn shift(&self, of: Uncertain) -> f64 {
        if self.knows(of, None) {
            0.0
        } else {
            of.shift(self.sample)
        }
    }

    /// Its shift, where it goes with another by a correlation: 0 where it was learned.
    pub fn shift_with(&self, of: Uncertain, other: Uncertain, correlation: f64) -> f64 {
        if self.knows(of, None) {
            0.0
        } else {
            of.shift_with(other, correlation, self.sample)
        }
    }

    /// Whether a number was learned, for the whole oven or in this zone, or is part of what was: a fit makes up for what its
    /// other numbers are off by, so that these hold only at the values it was made with.
    pub fn knows(&self, of: Uncertain, zone: Option<usize>) -> bool {
        if self.learned.is_some() && GOES_WITH_A_FIT.contains(&of) {
            return true;
        }
        let Some(parameter) = learned_as(of) else {
            return false;
        };
        self.chosen()
            .any(|c| c.parameter == parameter && (c.zone.is_none() || c.zone == zone))
    }

    fn chosen(&self) -> impl Iterator<Item = Chosen> {
        self.learned
            .into_iter()
            .flat_map(|l| l.factors.of.iter().copied())
    }

    /// The place of each learned number, as drawn.
    pub fn places(&self) -> Vec<(Chosen, f64)> {
        let Some(learned) = self.learned else {
            return Vec::new();
        };
        let deviate = |c: &Chosen| self.sample.z(&c.name());
        let z: Vec<f64> = learned.factors.of.iter().map(deviate).collect();
        let places = learned.factors.at(&z);
        learned.factors.of.iter().copied().zip(places).collect()
    }

    /// Puts what was learned on a bake, and on what is told of the dough beside it; returns what was used. A zone that the
    /// oven hasn't has nothing to put it on.
    pub fn apply(&self, bake: &mut BakeInput, dough: &mut DoughProperties) -> Vec<Given> {
        let Some(learned) = self.learned else {
            return Vec::new();
        };
        let mut given = Vec::new();
        for (chosen, place) in self.places() {
            if chosen.zone.is_some_and(|z| z >= self.zones) {
                continue;
            }
            let (factor, _) = chosen.factor(bake, place);
            if chosen.parameter == Parameter::Sorption {
                let sorption = &mut dough.sorption;
                sorption.isotherm = sorption.isotherm.holding(factor);
                sorption.lower = sorption.lower.as_ref().map(|l| l.holding(factor));
            }
            chosen.apply(bake, place);
            given.push(Given {
                name: format!("factor on {}", chosen.name()).into(),
                value: Some(factor),
                unit: "1".into(),
                source: Source::new(
                    Grade::Learned,
                    format!("{}, {}, {}", learned.fit, learned.from, learned.made),
                ),
            });
        }
        given
    }

    /// How far the bake's own error takes the moisture in this draw, kg/kg dry solid: it is in every interval that is told
    /// from learned numbers, for narrower ones would leave it out.
    pub fn model_off(&self) -> f64 {
        match self.learned {
            Some(_) => MODEL_MOISTURE.value * self.sample.z(MODEL_MOISTURE.name),
            None => 0.0,
        }
    }
}

/// A treatment without what was learned of its bake: what bakes are fitted against.
#[must_use]
pub fn unlearned(treatment: &Treatment) -> Treatment {
    let mut plain = treatment.clone();
    if let Some(learned) = &mut plain.setting.learned {
        learned.bake = None;
    }
    plain
}

/// Numbers of the bake that a fit takes at their best values: what they are off by, the learned ones make up for.
const GOES_WITH_A_FIT: [Uncertain; 9] = [
    Uncertain::HeatCapacity,
    Uncertain::LiquidActivation,
    Uncertain::DryMoisture,
    Uncertain::DryPower,
    Uncertain::Permeability,
    Uncertain::EdgePath,
    Uncertain::EdgeExposure,
    Uncertain::Emissivity,
    Uncertain::SorptionHeat,
];

/// The uncertain number that a learned one stands in place of.
fn learned_as(of: Uncertain) -> Option<Parameter> {
    Some(match of {
        Uncertain::TopHeat => Parameter::TopHeat,
        Uncertain::BottomHeat => Parameter::BandHeat,
        Uncertain::Emissivity => Parameter::Radiation,
        Uncertain::LiquidDiffusivity => Parameter::LiquidDiffusivity,
        Uncertain::LiquidActivation => Parameter::LiquidActivation,
        Uncertain::PorosityOverTortuosity => Parameter::VapourPath,
        Uncertain::Permeability => Parameter::Permeability,
        Uncertain::Conductivity => Parameter::Conductivity,
        Uncertain::Sorption => Parameter::Sorption,
        Uncertain::EdgePath => Parameter::EdgePath,
        Uncertain::EdgeExposure => Parameter::EdgeExposure,
        _ => return None,
    })
}
