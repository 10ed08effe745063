//! What can go wrong with a solid bake.

use crate::bake::BakeError;

/// A solid bake that could not be computed.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum SolidError {
    /// An input, or a bake that could not be followed.
    #[error(transparent)]
    Bake(#[from] BakeError),
    /// The holes.
    #[error(transparent)]
    Holes(#[from] crate::piece::PatternError),
    /// The piece.
    #[error(transparent)]
    Piece(#[from] crate::piece::PieceError),
    /// More nodes than memory is meant for.
    #[error(
        "a grid of {plan_mm} mm and {cells} cells has {nodes} nodes, more than the {most} that are followed; \
         choose {advised_mm} mm or more, or fewer cells"
    )]
    TooFine {
        /// Nodes asked for.
        nodes: usize,
        /// Nodes allowed.
        most: usize,
        /// Distance between columns asked for \[mm\].
        plan_mm: f64,
        /// Cells asked for.
        cells: usize,
        /// Distance between columns that fits \[mm\].
        advised_mm: f64,
    },
    /// It was told to stop.
    #[error("stopped before the end; nothing was kept")]
    Cancelled,
}
