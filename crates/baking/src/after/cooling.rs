//! The cooling conveyor, and how long a piece takes to cool.

use serde::{Deserialize, Serialize};

/// Where pieces cool: a conveyor or racks.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Conveyor {
    /// Area that pieces cool on \[m²\].
    pub area_m2: f64,
    /// Pieces per area, over the pieces per area in the oven; above 1 where they are pushed together
    /// or stacked.
    pub crowding: f64,
}

impl Conveyor {
    /// Pieces per hour that can stay the cooling time, from the oven's pieces per area.
    ///
    /// - Equation: n = A · crowding · ρ/t
    /// - Units: A \[m²\], crowding \[1\], ρ \[1/m²\], t \[s\], n \[1/h\]
    /// - Valid: a time above 0
    /// - Source: an identity: what stands on the conveyor over the time it stands there
    ///
    /// ```
    /// use baking::after::Conveyor;
    /// let conveyor = Conveyor { area_m2: 90.0, crowding: 1.0 };
    /// // 400 pieces/m² for 18 min: 90·400·60/18
    /// assert!((conveyor.pieces_per_h(400.0, 1080.0) - 120_000.0).abs() < 1e-6);
    /// ```
    pub fn pieces_per_h(&self, pieces_per_m2: f64, cooling_time_s: f64) -> f64 {
        self.area_m2 * self.crowding * pieces_per_m2 * measure::units::HOUR_S / cooling_time_s
    }
}

/// Time \[s\] to cool from one temperature to another in a room, by Newton's law: t = τ ln((T0 − Ta)/(T − Ta)).
///
/// None when the room is too warm to ever get there.
///
/// - Equation: t = τ ln((T₀ − T_a)/(T − T_a))
/// - Units: τ \[s\], temperatures \[K\], t \[s\]
/// - Valid: a piece at one temperature throughout (Biot number below about 0.1) in a room that stays as it is
/// - Source: Newton's law of cooling, closed form
///
/// ```
/// use baking::after::cooling::cooling_time_s;
/// // τ 9 min, 95 to 32 °C in a room of 22 °C: 17.891 min.
/// let t = cooling_time_s(540.0, 368.15, 305.15, 295.15).expect("the room is cold enough");
/// assert!((t / 60.0 - 17.891).abs() < 5e-4);
/// assert_eq!(cooling_time_s(540.0, 368.15, 294.0, 295.15), None);
/// ```
pub fn cooling_time_s(time_constant_s: f64, from_k: f64, to_k: f64, room_k: f64) -> Option<f64> {
    if from_k <= to_k {
        return Some(0.0);
    }
    (to_k > room_k).then(|| time_constant_s * ((from_k - room_k) / (to_k - room_k)).ln())
}
