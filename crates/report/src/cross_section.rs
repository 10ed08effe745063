//! The piece in cross-section: what is shown of it, and the whole bake in one picture.

use crate::bake::SHOWN_PAST_THE_OVEN;
use maud::Markup;
use measure::Units;
use paper::Ramp;
use paper::chart::{HeatStrip, heat_strip};
use paper::number;
use study::views::cross_section::CrossSection;

/// What a heat picture of the piece shows.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Shown {
    /// Temperature.
    Temperature,
    /// Moisture on wet basis.
    Moisture,
    /// Water activity at the local temperature.
    WaterActivity,
}

impl Shown {
    /// Everything that can be shown.
    pub const ALL: [Self; 3] = [Self::Temperature, Self::Moisture, Self::WaterActivity];

    /// The word for people.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Temperature => "temperature",
            Self::Moisture => "moisture",
            Self::WaterActivity => "water activity",
        }
    }

    /// The unit for people; empty for none.
    pub const fn unit(self) -> &'static str {
        match self {
            Self::Temperature => "°C",
            Self::Moisture => "% wet basis",
            Self::WaterActivity => "",
        }
    }

    /// The key in JSON, as in [`CrossSection`].
    pub const fn key(self) -> &'static str {
        match self {
            Self::Temperature => "temperature_c",
            Self::Moisture => "moisture_pct",
            Self::WaterActivity => "water_activity",
        }
    }

    /// Decimals shown.
    pub const fn places(self) -> usize {
        match self {
            Self::Temperature => 0,
            Self::Moisture => 1,
            Self::WaterActivity => 2,
        }
    }

    /// The ramp it is drawn in.
    pub const fn ramp(self) -> Ramp {
        match self {
            Self::Temperature => Ramp::Temperature,
            Self::Moisture | Self::WaterActivity => Ramp::Moisture,
        }
    }

    /// Its values, a row per frame, from the bottom of the piece to its top.
    pub fn of(self, field: &CrossSection) -> &[Vec<f64>] {
        match self {
            Self::Temperature => &field.temperature_c,
            Self::Moisture => &field.moisture_pct,
            Self::WaterActivity => &field.water_activity,
        }
    }

    /// The ends of the ramp over several pieces: round numbers that hold all values.
    pub fn range(self, fields: &[&CrossSection]) -> (f64, f64) {
        let values = || fields.iter().flat_map(|f| self.of(f)).flatten().copied();
        let most = values().fold(f64::NEG_INFINITY, f64::max);
        let least = values().fold(f64::INFINITY, f64::min);
        match self {
            Self::WaterActivity => (0.0, 1.0),
            Self::Moisture => (0.0, (most / 5.0).ceil().max(1.0) * 5.0),
            Self::Temperature => ((least / 20.0).floor() * 20.0, (most / 20.0).ceil() * 20.0),
        }
    }
}

/// Nodes of the field to one row of the drawing.
const NODES_A_ROW: usize = 2;
/// Height of the drawing over its width.
const ASPECT: f64 = 0.2;

/// The whole bake of a piece in one picture: time runs across, the piece stands upright in it.
///
/// `bake_min` is the time in the oven; the drawing goes on into the cooling for as long as the
/// curves do.
pub fn through_time(
    field: &CrossSection,
    shown: Shown,
    title: &str,
    bake_min: f64,
    range: (f64, f64),
    units: Units,
) -> Markup {
    let unit = shown.unit();
    let told = |v: f64| units.value(v, unit);
    let end = SHOWN_PAST_THE_OVEN * bake_min;
    let frames: Vec<&Vec<f64>> = field
        .time_min
        .iter()
        .zip(shown.of(field))
        .filter(|(t, _)| **t <= end)
        .map(|(_, row)| row)
        .collect();
    let top = field.height_mm.len().saturating_sub(1);
    let rows = (0..=top)
        .rev()
        .step_by(NODES_A_ROW)
        .map(|node| frames.iter().map(|f| told(f[node])).collect())
        .collect();
    let last = field
        .time_min
        .iter()
        .copied()
        .filter(|t| *t <= end)
        .fold(0.0, f64::max);
    heat_strip(&HeatStrip {
        title: title.to_owned(),
        note: "time runs across, the piece stands upright from its bottom to its top".to_owned(),
        rows,
        ramp: shown.ramp(),
        quantity: shown.word().to_owned(),
        unit: units.unit(unit),
        range: Some((told(range.0), told(range.1))),
        aspect: ASPECT,
        edges: [
            "top".to_owned(),
            "bottom".to_owned(),
            format!(
                "0 to {} min; the oven ends at {} min",
                number::fixed(last, 1),
                number::fixed(bake_min, 1)
            ),
        ],
    })
}

/// Where the piece is wettest as it leaves the oven, in words.
pub fn passes_last(field: &CrossSection, mean_pct: f64, units: Units) -> String {
    let (Some(wettest_mm), Some(wettest_pct), Some(thickness_mm)) = (
        field.wettest_at_exit_mm,
        field.wettest_at_exit_pct,
        field.height_mm.last(),
    ) else {
        return String::new();
    };
    let share = wettest_mm / thickness_mm;
    let place = match share {
        s if s < 0.05 => "at the bottom",
        s if s < 0.4 => "in the lower half",
        s if s < 0.6 => "in the middle",
        s if s < 0.95 => "in the upper half",
        _ => "at the top",
    };
    format!(
        "As it leaves the oven the piece is wettest {place}, {} {} over the band: {} % there, {} % on average.",
        number::fixed(units.value(wettest_mm, "mm"), units.decimals("mm", 1)),
        units.unit("mm"),
        number::fixed(wettest_pct, 1),
        number::fixed(mean_pct, 1),
    )
}
