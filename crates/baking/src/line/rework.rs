//! Trim that goes back into the mixer.

use serde::{Deserialize, Serialize};

/// The rework loop in steady state, as shares of all dough that passes the former.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Rework {
    /// Trim that comes off \[1\].
    pub trim: f64,
    /// Trim that goes back: all of it, up to the cap \[1\].
    pub returned: f64,
    /// Trim above the cap, lost or sold as something else \[1\].
    pub excess: f64,
}

impl Rework {
    /// Steady state: when all trim returns, rework in the dough equals the trim, r = s; above the cap
    /// the rest is excess.
    ///
    /// - Equation: r = min(s, cap), excess = s − r
    /// - Units: shares of dough \[1\]
    /// - Valid: trim from 0 to under 1
    /// - Source: an identity of the loop in steady running
    ///
    /// ```
    /// use baking::line::Rework;
    /// let loop_ = Rework::steady(0.30, 0.10);
    /// assert!((loop_.returned - 0.10).abs() < 1e-12 && (loop_.excess - 0.20).abs() < 1e-12);
    /// let all = Rework::steady(0.30, 1.0);
    /// assert!((all.returned - 0.30).abs() < 1e-12 && all.excess == 0.0);
    /// ```
    pub fn steady(trim: f64, cap: f64) -> Self {
        let returned = trim.min(cap);
        Self {
            trim,
            returned,
            excess: trim - returned,
        }
    }

    /// Dough in pieces per fresh dough: (1 − s)/(1 − r); one when all trim returns.
    pub(crate) fn pieces_per_fresh(&self) -> f64 {
        (1.0 - self.trim) / (1.0 - self.returned)
    }
}
