//! A zone: what surrounds the pieces in one part of the oven.

use super::Humidity;
use super::{COEFFICIENT, OVEN_CELSIUS, SPEED};
use crate::properties::air::flat_plate_w_per_m2_k;
use measure::{Range, temperature::kelvin};
use serde::{Deserialize, Serialize};

/// How long a zone is.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum ZoneLength {
    /// In metres.
    Metres(f64),
    /// As a share of the whole; shares are scaled to sum to one.
    Share(f64),
}

impl ZoneLength {
    pub(super) const fn number(self) -> f64 {
        match self {
            Self::Metres(v) | Self::Share(v) => v,
        }
    }
}

/// How heat comes from the air onto the top.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum TopHeat {
    /// A coefficient \[W/(m² K)\].
    Coefficient(f64),
    /// Air speed along the pieces \[m/s\]: a laminar flat plate as long as the piece, a lower bound
    /// for jets.
    AirSpeed(f64),
}

impl TopHeat {
    /// Coefficient \[W/(m² K)\] for a piece of a length \[m\] in air at T \[K\].
    ///
    /// - Rule: the coefficient told, or that of a laminar flat plate at the speed told
    /// - Units: length \[m\], air \[K\], coefficient \[W/(m² K)\]
    /// - Valid: as `flat_plate_w_per_m2_k`
    /// - Source: the example with reference properties of air (computed apart)
    ///
    /// ```
    /// use baking::oven::TopHeat;
    /// let h = TopHeat::AirSpeed(2.0).w_per_m2_k(0.050, 473.15);
    /// assert!((h - 24.1).abs() < 0.3);
    /// ```
    pub fn w_per_m2_k(self, piece_length_m: f64, air_k: f64) -> f64 {
        match self {
            Self::Coefficient(h) => h,
            Self::AirSpeed(speed) => flat_plate_w_per_m2_k(piece_length_m, speed, air_k),
        }
    }
}

/// One zone.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Zone {
    /// Name shown to people.
    pub name: String,
    /// How long.
    pub length: ZoneLength,
    /// Air temperature \[K\].
    pub air_k: f64,
    /// Temperature of what radiates onto the top \[K\]; `None` takes the air's.
    pub radiating_k: Option<f64>,
    /// Band or tray temperature \[K\].
    pub band_k: f64,
    /// Humidity of the air.
    pub humidity: Humidity,
    /// Heat from the air onto the top.
    pub top: TopHeat,
    /// Heat transfer from band or tray \[W/(m² K)\].
    pub bottom_w_per_m2_k: f64,
}

impl Zone {
    /// Every number with its name, unit and allowed range.
    pub(super) fn numbers(&self) -> Vec<(&'static str, f64, &'static str, Range)> {
        let Self {
            name: _,
            length,
            air_k,
            radiating_k,
            band_k,
            humidity,
            top,
            bottom_w_per_m2_k,
        } = self;
        let temperature = Range::new(kelvin(OVEN_CELSIUS.low), kelvin(OVEN_CELSIUS.high));
        let length = match *length {
            ZoneLength::Metres(v) => ("length", v, "m", Range::new(0.01, 150.0)),
            ZoneLength::Share(v) => ("share of the length", v, "", Range::new(1e-3, 100.0)),
        };
        let top = match *top {
            TopHeat::Coefficient(v) => ("heat transfer at the top", v, "W/(m² K)", COEFFICIENT),
            TopHeat::AirSpeed(v) => ("air speed", v, "m/s", SPEED),
        };
        vec![
            length,
            ("air temperature", *air_k, "K", temperature),
            (
                "radiating temperature",
                radiating_k.unwrap_or(*air_k),
                "K",
                Range::new(temperature.low, kelvin(900.0)),
            ),
            ("band temperature", *band_k, "K", temperature),
            humidity.number(),
            top,
            (
                "heat transfer from the band",
                *bottom_w_per_m2_k,
                "W/(m² K)",
                COEFFICIENT,
            ),
        ]
    }
}
