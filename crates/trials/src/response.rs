//! The one list of what is measured on a trial.

use measure::Range;
use serde::{Deserialize, Serialize};

/// What kind of number a response is, which decides how it is analysed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Kind {
    /// A measured amount.
    Continuous,
    /// So many of n.
    CountOf,
    /// So many in what was looked at, with no total.
    Count,
    /// A score on a scale whose steps have an order but no size.
    Ordinal,
    /// Yes or no.
    Binary,
}

impl Kind {
    /// Every kind.
    pub const ALL: [Self; 5] = [
        Self::Continuous,
        Self::CountOf,
        Self::Count,
        Self::Ordinal,
        Self::Binary,
    ];

    /// The word in files and commands.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Continuous => "continuous",
            Self::CountOf => "count-of",
            Self::Count => "count",
            Self::Ordinal => "ordinal",
            Self::Binary => "binary",
        }
    }

    /// The kind of a word.
    pub fn from_word(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|k| k.word() == word)
    }
}

/// Which way is better.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Better {
    /// More is better.
    Higher,
    /// Less is better.
    Lower,
    /// A target between too little and too much.
    Target,
}

impl Better {
    /// Every way.
    pub const ALL: [Self; 3] = [Self::Higher, Self::Lower, Self::Target];

    /// The word in files and commands.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Higher => "higher",
            Self::Lower => "lower",
            Self::Target => "target",
        }
    }

    /// The way of a word.
    pub fn from_word(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|b| b.word() == word)
    }
}

/// A response of the trade.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
#[expect(missing_docs, reason = "each is described once, in `about`")]
pub enum Response {
    PieceMass,
    Length,
    Width,
    Thickness,
    Spread,
    BakeLoss,
    MoistureAirOven130,
    MoistureAirOven135,
    MoistureVacuum,
    MoistureHalogen,
    WaterActivity,
    Lightness,
    Redness,
    Yellowness,
    ColourDifference,
    BreakingForce,
    BreakingStress,
    WholeAtCutting,
    BrokenAfter48Hours,
    DoughTemperature,
    WaterDose,
    FeelScore,
    Intake,
    FirstChoice,
}

/// What there is to know of a response.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct About {
    /// Column name in data files.
    pub id: &'static str,
    /// Name shown.
    pub name: &'static str,
    /// Unit shown; empty for a pure number.
    pub unit: &'static str,
    /// How it is measured. Two methods are not mixed in one comparison.
    pub method: &'static str,
    /// Which way is better.
    pub better: Better,
    /// Values outside are probably slips; a working assumption, in the unit.
    pub plausible: Range,
    /// What kind of number it is.
    pub kind: Kind,
}

impl Response {
    /// Every response.
    pub const ALL: [Self; 24] = [
        Self::PieceMass,
        Self::Length,
        Self::Width,
        Self::Thickness,
        Self::Spread,
        Self::BakeLoss,
        Self::MoistureAirOven130,
        Self::MoistureAirOven135,
        Self::MoistureVacuum,
        Self::MoistureHalogen,
        Self::WaterActivity,
        Self::Lightness,
        Self::Redness,
        Self::Yellowness,
        Self::ColourDifference,
        Self::BreakingForce,
        Self::BreakingStress,
        Self::WholeAtCutting,
        Self::BrokenAfter48Hours,
        Self::DoughTemperature,
        Self::WaterDose,
        Self::FeelScore,
        Self::Intake,
        Self::FirstChoice,
    ];

    /// What there is to know of it.
    pub const fn about(self) -> About {
        use Better::{Higher, Lower, Target};
        use Kind::{Binary, Continuous, CountOf, Ordinal};
        let (id, name, unit, method, better, low, high, kind) = match self {
            Self::PieceMass => (
                "piece_mass_g",
                "piece mass",
                "g",
                "balance, one piece",
                Target,
                0.2,
                200.0,
                Continuous,
            ),
            Self::Length => (
                "length_mm",
                "length",
                "mm",
                "calliper, one piece",
                Target,
                4.0,
                250.0,
                Continuous,
            ),
            Self::Width => (
                "width_mm",
                "width",
                "mm",
                "calliper, one piece",
                Target,
                4.0,
                150.0,
                Continuous,
            ),
            Self::Thickness => (
                "thickness_mm",
                "thickness",
                "mm",
                "calliper at the middle, one piece",
                Target,
                2.0,
                40.0,
                Continuous,
            ),
            Self::Spread => (
                "spread",
                "spread",
                "",
                "baked width over baked thickness",
                Target,
                0.3,
                30.0,
                Continuous,
            ),
            Self::BakeLoss => (
                "bake_loss_percent",
                "bake loss",
                "%",
                "tray of pieces weighed before and after baking",
                Target,
                1.0,
                50.0,
                Continuous,
            ),
            Self::MoistureAirOven130 => (
                "moisture_130_percent",
                "moisture, air oven 130 °C",
                "%",
                "air oven at 130 °C, 1 h",
                Target,
                0.5,
                40.0,
                Continuous,
            ),
            Self::MoistureAirOven135 => (
                "moisture_135_percent",
                "moisture, air oven 135 °C",
                "%",
                "air oven at 135 °C, 2 h",
                Target,
                0.5,
                40.0,
                Continuous,
            ),
            Self::MoistureVacuum => (
                "moisture_vacuum_percent",
                "moisture, vacuum oven",
                "%",
                "vacuum oven at 95 to 100 °C, 5 h",
                Target,
                0.5,
                40.0,
                Continuous,
            ),
            Self::MoistureHalogen => (
                "moisture_halogen_percent",
                "moisture, halogen balance",
                "%",
                "halogen balance, own programme",
                Target,
                0.5,
                40.0,
                Continuous,
            ),
            Self::WaterActivity => (
                "water_activity",
                "water activity",
                "",
                "meter at 25 °C between two salts, after resting sealed",
                Lower,
                0.02,
                1.0,
                Continuous,
            ),
            Self::Lightness => (
                "colour_l",
                "lightness L*",
                "",
                "colour meter, light and observer stated",
                Target,
                0.0,
                100.0,
                Continuous,
            ),
            Self::Redness => (
                "colour_a",
                "redness a*",
                "",
                "colour meter, light and observer stated",
                Target,
                -60.0,
                80.0,
                Continuous,
            ),
            Self::Yellowness => (
                "colour_b",
                "yellowness b*",
                "",
                "colour meter, light and observer stated",
                Target,
                -60.0,
                90.0,
                Continuous,
            ),
            Self::ColourDifference => (
                "delta_e00",
                "colour difference ΔE00",
                "",
                "CIEDE2000 against the control's mean colour",
                Lower,
                0.0,
                100.0,
                Continuous,
            ),
            Self::BreakingForce => (
                "breaking_force_n",
                "breaking force",
                "N",
                "three-point bend, span stated",
                Target,
                1.0,
                1500.0,
                Continuous,
            ),
            Self::BreakingStress => (
                "breaking_stress_mpa",
                "breaking stress",
                "MPa",
                "three-point bend with width and thickness of each piece",
                Target,
                0.01,
                30.0,
                Continuous,
            ),
            Self::WholeAtCutting => (
                "whole_at_cutting",
                "whole pieces at cutting",
                "of n",
                "counted on the band after the cutter",
                Higher,
                0.0,
                1e6,
                CountOf,
            ),
            Self::BrokenAfter48Hours => (
                "broken_after_48h",
                "broken after 48 h",
                "of n",
                "counted 48 h after baking, handled the same way",
                Lower,
                0.0,
                1e6,
                CountOf,
            ),
            Self::DoughTemperature => (
                "dough_temperature_c",
                "dough temperature",
                "°C",
                "probe in the dough at the end of mixing",
                Target,
                5.0,
                60.0,
                Continuous,
            ),
            Self::WaterDose => (
                "water_dose_percent",
                "water dose",
                "% of dry blend",
                "water added until the dough feels right",
                Target,
                0.0,
                150.0,
                Continuous,
            ),
            Self::FeelScore => (
                "feel_score",
                "feel score",
                "points",
                "hand feel on a fixed scale with words",
                Higher,
                0.0,
                10.0,
                Ordinal,
            ),
            Self::Intake => (
                "intake_g",
                "intake",
                "g",
                "weighed before and after, set time",
                Higher,
                0.0,
                2000.0,
                Continuous,
            ),
            Self::FirstChoice => (
                "first_choice",
                "first choice",
                "",
                "which bowl was eaten from first",
                Higher,
                0.0,
                1.0,
                Binary,
            ),
        };
        About {
            id,
            name,
            unit,
            method,
            better,
            plausible: Range::new(low, high),
            kind,
        }
    }

    /// The response of a column name: its id or its name, whatever the case.
    ///
    /// ```
    /// use trials::response::Response;
    /// assert_eq!(Response::find("Breaking force"), Some(Response::BreakingForce));
    /// assert_eq!(Response::find("tin of beans"), None);
    /// ```
    pub fn find(name: &str) -> Option<Self> {
        let plain = |s: &str| s.trim().to_lowercase().replace([' ', '-'], "_");
        let wanted = plain(name);
        Self::ALL.into_iter().find(|r| {
            let about = r.about();
            about.id == wanted || plain(about.name) == wanted
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ids_and_names_are_distinct_and_found() {
        for (i, response) in Response::ALL.into_iter().enumerate() {
            let about = response.about();
            assert!(about.plausible.low < about.plausible.high);
            assert!(!about.method.is_empty());
            assert_eq!(Response::find(about.id), Some(response));
            assert_eq!(Response::find(about.name), Some(response));
            for other in &Response::ALL[..i] {
                assert_ne!(other.about().id, about.id);
                assert_ne!(other.about().name, about.name);
            }
        }
    }
}
