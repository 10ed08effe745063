//! The experimental unit: what a treatment is given to on its own.

use super::PlanError;
use serde::{Deserialize, Serialize};

/// What receives a treatment independently of the others.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Unit {
    /// One mixing, shaped and baked on its own.
    Batch,
    /// One load of the oven with one setting.
    OvenLoad,
    /// One dog (or cat), all its days together.
    Dog,
    /// One baked piece: part of a batch, never a unit.
    Piece,
    /// One tray or sheet of pieces cut from one dough: part of a batch, never a unit.
    Tray,
}

impl Unit {
    /// Every unit.
    pub const ALL: [Self; 5] = [
        Self::Batch,
        Self::OvenLoad,
        Self::Dog,
        Self::Piece,
        Self::Tray,
    ];

    /// The word shown to people.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Batch => "batch",
            Self::OvenLoad => "oven load",
            Self::Dog => "dog",
            Self::Piece => "piece",
            Self::Tray => "tray",
        }
    }

    /// The word for several.
    pub const fn plural(self) -> &'static str {
        match self {
            Self::Batch => "batches",
            Self::OvenLoad => "oven loads",
            Self::Dog => "dogs",
            Self::Piece => "pieces",
            Self::Tray => "trays",
        }
    }

    /// What counts as one, and why.
    pub const fn describe(self) -> &'static str {
        match self {
            Self::Batch => "one mixing, weighed, mixed, shaped and baked on its own",
            Self::OvenLoad => "one loading of the oven at one setting, with every batch inside it",
            Self::Dog => "one dog with all its days together",
            Self::Piece => {
                "pieces of one batch share its weighing, water, mixing and bake, so they say how even the batch is and nothing about how it would come out next time"
            }
            Self::Tray => {
                "trays cut from one dough share its weighing, water and mixing, so they say how even the batch is and nothing about how it would come out next time"
            }
        }
    }

    /// The letter its numbers start with on a run sheet.
    pub const fn letter(self) -> char {
        match self {
            Self::Batch => 'B',
            Self::OvenLoad => 'L',
            Self::Dog => 'D',
            Self::Piece => 'P',
            Self::Tray => 'T',
        }
    }

    /// Whether it may stand as a replicate.
    pub const fn is_replicate(self) -> bool {
        matches!(self, Self::Batch | Self::OvenLoad | Self::Dog)
    }

    /// Refuses parts of a batch as replicates, with the reason.
    ///
    /// ```
    /// use trials::plan::Unit;
    /// assert!(Unit::Batch.check().is_ok());
    /// assert!(Unit::Piece.check().unwrap_err().to_string().contains("not a replicate"));
    /// ```
    ///
    /// # Errors
    /// [`PlanError::NotAReplicate`] for pieces and trays.
    pub fn check(self) -> Result<(), PlanError> {
        if self.is_replicate() {
            Ok(())
        } else {
            Err(PlanError::NotAReplicate { unit: self })
        }
    }
}
