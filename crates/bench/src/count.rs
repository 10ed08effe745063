//! Pieces counted at the cutter.

use serde::Serialize;

/// Pieces cut, and what became of them.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize)]
pub struct Counts {
    /// Cut, where that was counted by itself.
    pub cut: Option<u32>,
    /// Left whole.
    pub whole: u32,
    /// Broken.
    pub broken: u32,
    /// Stuck.
    pub stuck: u32,
}

impl Counts {
    /// Pieces whose fate was counted.
    pub const fn told(&self) -> u32 {
        self.whole + self.broken + self.stuck
    }

    /// Pieces cut: as counted, else those whose fate was. Whoever counts only what went wrong has cut the rest whole.
    pub fn out_of(&self) -> u32 {
        self.cut.unwrap_or(0).max(self.told())
    }

    /// Pieces that left whole: as counted; where only cut and faults were, the rest.
    pub fn left_whole(&self) -> u32 {
        match self.cut {
            Some(cut) if self.whole == 0 => cut.saturating_sub(self.broken + self.stuck),
            _ => self.whole,
        }
    }
}
