//! What kinds of thing a book keeps, and what can be done to one.

use serde::{Deserialize, Serialize};

/// A kind of thing that has revisions.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Kind {
    /// A question with its control and treatments.
    Study,
    /// A raw material.
    Material,
    /// What came in of a material, with its certificate and dates.
    Lot,
    /// An oven with its zones.
    Oven,
    /// A line of stations.
    Line,
    /// A piece: outline, thickness, docker holes.
    Piece,
    /// A bake of a whole piece: its answer with what went in.
    Solid,
    /// What bakes of an oven taught.
    Fit,
    /// The figures that a study was saved with, as they were told then.
    Figures,
    /// A question put to batches: treatments, responses, run order.
    Trial,
    /// One mixing of one treatment on one day.
    Batch,
    /// A setting of the book itself: units, currency, dates.
    Setting,
}

impl Kind {
    /// All kinds.
    pub const ALL: [Kind; 12] = [
        Kind::Study,
        Kind::Material,
        Kind::Lot,
        Kind::Oven,
        Kind::Line,
        Kind::Piece,
        Kind::Solid,
        Kind::Fit,
        Kind::Figures,
        Kind::Trial,
        Kind::Batch,
        Kind::Setting,
    ];

    /// The word that stands for the kind in the book and in addresses.
    pub fn word(self) -> &'static str {
        match self {
            Kind::Study => "study",
            Kind::Material => "material",
            Kind::Lot => "lot",
            Kind::Oven => "oven",
            Kind::Line => "line",
            Kind::Piece => "piece",
            Kind::Solid => "solid",
            Kind::Fit => "fit",
            Kind::Figures => "figures",
            Kind::Trial => "trial",
            Kind::Batch => "batch",
            Kind::Setting => "setting",
        }
    }

    /// The kind a word stands for.
    ///
    /// ```
    /// assert_eq!(book::Kind::from_word("oven"), Some(book::Kind::Oven));
    /// assert_eq!(book::Kind::from_word("kettle"), None);
    /// ```
    pub fn from_word(word: &str) -> Option<Kind> {
        Kind::ALL.into_iter().find(|kind| kind.word() == word)
    }
}

impl std::fmt::Display for Kind {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(self.word())
    }
}

/// What a revision did.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Action {
    /// A form was written.
    Save,
    /// The thing was taken out of use; its earlier revisions stay.
    Remove,
    /// The form of an earlier revision was taken up again.
    Restore,
}

impl Action {
    /// All actions.
    pub const ALL: [Action; 3] = [Action::Save, Action::Remove, Action::Restore];

    /// The word that stands for the action in the book.
    pub fn word(self) -> &'static str {
        match self {
            Action::Save => "save",
            Action::Remove => "remove",
            Action::Restore => "restore",
        }
    }

    /// The action a word stands for.
    pub fn from_word(word: &str) -> Option<Action> {
        Action::ALL.into_iter().find(|action| action.word() == word)
    }
}

impl std::fmt::Display for Action {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(self.word())
    }
}
