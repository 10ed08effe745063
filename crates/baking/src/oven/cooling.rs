//! After the oven: cooling in room air, and the closed pack.

use measure::{Constant, Grade, Range};
use serde::{Deserialize, Serialize};

/// How long pieces cool.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum CoolingTime {
    /// A fixed time \[s\].
    Seconds(f64),
    /// A multiple of the bake time, as on a conveyor coupled to the band.
    OfBakeTime(f64),
}

/// Cooling in the room.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Cooling {
    /// Room temperature \[K\].
    pub room_k: f64,
    /// Relative humidity of the room, 0 to 1 \[1\].
    pub relative_humidity: f64,
    /// How long.
    pub time: CoolingTime,
    /// Heat transfer at the top \[W/(m² K)\].
    pub top_w_per_m2_k: f64,
    /// Heat transfer at the bottom \[W/(m² K)\]; an open conveyor cools nearly alike from below.
    pub bottom_w_per_m2_k: f64,
    /// Share of the bottom open to vapour, 0 to 1.
    pub open_fraction: f64,
}

/// Cooling time as a multiple of bake time.
pub const OF_BAKE_TIME: Constant = Constant {
    name: "cooling time over bake time",
    value: 1.5,
    unit: "1",
    range: Range::new(0.5, 2.0),
    source: "rule of the biscuit trade: 1.5 times the bake, open range 0.5 to 2 (trade pages, seen)",
    grade: Grade::Published,
};

/// Cooling time when none is written.
pub const USUAL_S: Constant = Constant {
    name: "cooling time",
    value: 1200.0,
    unit: "s",
    range: Range::new(60.0, 172_800.0),
    source: "a piece of 8 mm in still room air is down from 95 to 32 °C after about 18 min (Newton's law with a time \
             constant of 9 min, computed)",
    grade: Grade::Computed,
};

/// Heat transfer in still room air.
pub const STILL_AIR: Constant = Constant {
    name: "heat transfer while cooling",
    value: 10.0,
    unit: "W/(m² K)",
    range: Range::new(5.0, 30.0),
    source: "working value for room air without fans, radiation apart",
    grade: Grade::Assumed,
};

impl Default for Cooling {
    /// A named starting point, to be replaced by one's own room: 22 °C and 50 % relative humidity,
    /// twenty minutes on an open conveyor without fans.
    fn default() -> Self {
        Self {
            room_k: 295.15,
            relative_humidity: 0.5,
            time: CoolingTime::Seconds(USUAL_S.value),
            top_w_per_m2_k: STILL_AIR.value,
            bottom_w_per_m2_k: STILL_AIR.value,
            open_fraction: 1.0,
        }
    }
}

impl Cooling {
    /// Cooling time \[s\] after a bake of a time \[s\].
    ///
    /// - Rule: the time told, or the multiple told of the bake time
    /// - Units: times \[s\]
    /// - Valid: a time above 0
    /// - Source: house rule, no source
    ///
    /// ```
    /// use baking::oven::{Cooling, CoolingTime};
    /// let cooling = Cooling { time: CoolingTime::OfBakeTime(1.5), ..Cooling::default() };
    /// assert_eq!(cooling.seconds(600.0), 900.0);
    /// ```
    pub fn seconds(&self, bake_time_s: f64) -> f64 {
        match self.time {
            CoolingTime::Seconds(s) => s,
            CoolingTime::OfBakeTime(multiple) => multiple * bake_time_s,
        }
    }
}

/// The closed pack in which moisture evens out.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Pack {
    /// Store temperature \[K\].
    pub store_k: f64,
    /// How long it is looked at \[s\].
    pub time_s: f64,
    /// Heat transfer through the pack \[W/(m² K)\].
    pub w_per_m2_k: f64,
}

impl Default for Pack {
    /// A named starting point: 7 days at 22 °C, 5 W/(m² K).
    fn default() -> Self {
        Self {
            store_k: 295.15,
            time_s: 7.0 * measure::units::DAY_S,
            w_per_m2_k: 5.0,
        }
    }
}
