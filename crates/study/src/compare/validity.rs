//! Limits of validity, each with the figures that it limits.

use super::Figure;
use crate::views::knock_on::{Axis, KnockOn};

/// Something that the answers are not.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Limit {
    /// The bake is a model.
    Model,
    /// Transport in the crumb is assumed.
    Transport,
    /// The need is a first guess.
    Need,
    /// The kill is a hint.
    Kill,
    /// Sorption is recalled.
    Sorption,
    /// The days in the pack are about crispness.
    Keeping,
    /// The checking index is not calibrated.
    Checking,
    /// The label is a draft.
    Label,
    /// The list of dangers is not complete.
    Dangers,
}

impl Limit {
    /// Every limit, in the order it is told.
    pub const ALL: [Self; 9] = [
        Self::Model,
        Self::Transport,
        Self::Need,
        Self::Kill,
        Self::Sorption,
        Self::Keeping,
        Self::Checking,
        Self::Label,
        Self::Dangers,
    ];

    /// The limit in a sentence, and what follows from it.
    pub const fn words(self) -> (&'static str, &'static str) {
        match self {
            Self::Model => (
                "The bake is a model, not your oven.",
                "Its arithmetic is checked against closed solutions and balances; it has not been validated against measured time courses of this dough in this oven. Read differences between treatments with more trust than the minutes themselves, and weigh pieces pulled at set times before a setting is changed on its word.",
            ),
            Self::Transport => (
                "Heat and moisture transport in the crumb are assumed.",
                "The defaults graded assumed or recalled stand in until the oven has been fitted to your own bakes.",
            ),
            Self::Need => (
                "The water need is a first guess.",
                "It adds up what the materials take and what the forming likes; a titration at the mixer settles it, and mixing, flour lot and stand time move it.",
            ),
            Self::Kill => (
                "The kill is a hint, never a validation.",
                "It uses a heat resistance that depends on water activity, at the least treated place, and says where it goes beyond the range that tests support. A kill step has to be validated by a process authority for the product and the plant; raw dough and what touched it count as raw.",
            ),
            Self::Sorption => (
                "Water activity rests on recalled sorption data.",
                "Measure it in the packed piece before anything is said about shelf life.",
            ),
            Self::Keeping => (
                "The days in the pack are told for crispness alone.",
                "They follow vapour through the film as it is written; rancidity, broken seals and changing weather aren’t in them, and neither is mould: where a piece is packed or has a place moist enough to grow something, the crisp days say nothing about it.",
            ),
            Self::Checking => (
                "The checking index is no share of cracked pieces.",
                "It sets the tension in the crumb against its strength with constants that are recalled and assumed. It orders treatments; how many pieces crack, only counting 48 to 72 hours after the bake tells.",
            ),
            Self::Label => (
                "The label is a draft.",
                "Names, order, guarantees, claims and the calorie statement have to be checked against the rules in force where the treat is sold, and the guarantees against analyses of the product.",
            ),
            Self::Dangers => (
                "The list of dangerous ingredients is not complete.",
                "What is not on it is not thereby safe; ask a veterinarian about anything that is new in a bowl.",
            ),
        }
    }

    /// The figures that it limits; none for what is no figure.
    pub const fn figures(self) -> &'static [Figure] {
        use Figure as F;
        match self {
            Self::Model | Self::Transport => &[
                F::BakeTime,
                F::ExitMoisture,
                F::PackedMoisture,
                F::CentrePeak,
                F::TopPeak,
                F::Colour,
                F::CentreSurface,
                F::Output,
                F::OvenOutput,
            ],
            Self::Need => &[F::WaterNeed],
            Self::Kill => &[F::Kill],
            Self::Sorption => &[F::PackedActivity, F::CrispDays],
            Self::Keeping => &[F::CrispDays],
            Self::Checking => &[F::Checking, F::CentreSurface],
            Self::Label => &[
                F::Protein,
                F::Fat,
                F::Fibre,
                F::Ash,
                F::Energy,
                F::EnergyPerPiece,
            ],
            Self::Dangers => &[],
        }
    }
}

impl Axis {
    /// The figures that are marked where a treatment lies outside of what was tested.
    pub const fn figures(self) -> &'static [Figure] {
        use Figure as F;
        match self {
            Self::Thickness | Self::DoughMoisture | Self::OvenAir | Self::Steps => &[
                F::BakeTime,
                F::ExitMoisture,
                F::PackedMoisture,
                F::CentrePeak,
                F::TopPeak,
                F::Colour,
                F::CentreSurface,
                F::Kill,
                F::Checking,
                F::Output,
                F::OvenOutput,
            ],
            Self::PackedMoisture => &[
                F::BakeTime,
                F::PackedActivity,
                F::CentreSurface,
                F::Checking,
                F::CrispDays,
                F::Output,
                F::OvenOutput,
            ],
            Self::Fat => &[F::BakeTime, F::PackedActivity, F::Checking, F::CrispDays],
        }
    }
}

impl Figure {
    /// Whether this figure of an answer lies outside of what its model was held against.
    pub fn is_beyond(self, answer: &KnockOn) -> bool {
        let mut outside = answer.beyond.iter();
        outside.any(|b| b.axis.figures().contains(&self))
    }

    /// Whether this figure of an answer stands on what one's own bakes and doughs taught.
    pub fn is_learned(self, answer: &KnockOn) -> bool {
        let learned = answer.learned;
        (learned.bake && Limit::Transport.figures().contains(&self))
            || (learned.water && Limit::Need.figures().contains(&self))
            || (learned.whole && self == Self::WholePieces)
    }

    /// What limits this figure.
    pub fn limits(self) -> impl Iterator<Item = Limit> {
        Limit::ALL
            .into_iter()
            .filter(move |l| l.figures().contains(&self))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// What is told as a figure can't be said not to be predicted.
    #[test]
    fn no_limit_denies_a_figure_that_is_told() {
        for limit in Limit::ALL {
            let (head, rest) = limit.words();
            let words = format!("{head} {rest}");
            assert!(!words.contains("not predicted"), "{words}");
            assert!(head.ends_with('.') && rest.ends_with('.'));
        }
        assert!(Figure::Checking.limits().any(|l| l == Limit::Checking));
        assert!(Figure::CrispDays.limits().any(|l| l == Limit::Keeping));
        assert_eq!(Figure::GreenMass.limits().count(), 0);
    }
}
