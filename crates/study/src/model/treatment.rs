//! A treatment: one formula with its process, piece, oven, pack and line.

use super::{Setting, Target};
use formula::{Change, Formula, Species};
use serde::Serialize;

/// What the amounts of a treatment were told on.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
pub enum Basis {
    /// All lines make 100.
    Mix,
    /// The flour lines make 100.
    Flour,
    /// All but added water makes 100.
    DryMix,
    /// Any scale.
    Parts,
}

impl Basis {
    /// Every basis.
    pub const ALL: [Self; 4] = [Self::Mix, Self::Flour, Self::DryMix, Self::Parts];

    /// The word in files and for people.
    pub const fn written(self) -> &'static str {
        match self {
            Self::Mix => "mix",
            Self::Flour => "flour",
            Self::DryMix => "dry mix",
            Self::Parts => "parts",
        }
    }
}

/// Where the added water of a treatment comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
pub enum WaterChoice {
    /// From the formula; it is compared with the need.
    Given,
    /// From the predicted need, whose interval runs on into the results.
    FromNeed,
}

impl WaterChoice {
    /// Every choice.
    pub const ALL: [Self; 2] = [Self::Given, Self::FromNeed];

    /// The word in files.
    pub const fn written(self) -> &'static str {
        match self {
            Self::Given => "given",
            Self::FromNeed => "need",
        }
    }
}

/// One treatment, resolved: its formula and setting stand in full.
#[derive(Clone, Debug, PartialEq)]
pub struct Treatment {
    /// Short name, unique in the study.
    pub id: String,
    /// Name as shown.
    pub name: String,
    /// Why it is tried; empty when nothing was written.
    pub note: String,
    /// Index of the treatment that it starts from; none when its formula was written in full.
    pub from: Option<usize>,
    /// The animal that its study's treats are for.
    pub species: Species,
    /// Currency of every price, three letters, as its study's.
    pub currency: String,
    /// The moisture that its study's bakes aim at.
    pub target: Target,
    /// What its amounts were told on.
    pub basis: Basis,
    /// Where its added water comes from.
    pub water: WaterChoice,
    /// Its formula. With [`WaterChoice::FromNeed`] the added water in it, if any, is to be replaced.
    pub formula: Formula,
    /// Its own changes of the formula it starts from, in order.
    pub changes: Vec<Change>,
    /// Its setting: the study's with its own values in place.
    pub setting: Setting,
    /// The sections it has values of its own in, e.g. `piece`, its forebears' included.
    pub own: Vec<&'static str>,
}
