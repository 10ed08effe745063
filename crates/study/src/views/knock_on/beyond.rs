//! Where a treatment lies outside of what the bake was held against.

use crate::Code;
use crate::chain::Run;
use crate::chain::timed_bake::packed_moisture;
use measure::temperature::celsius;
use measure::{Finding, Range, Severity};
use schemars::JsonSchema;
use serde::Serialize;

/// What a bake may lie outside of. Ranges are a judgement on the rows of docs/validation.md: bakes of print between
/// them are met, beyond them there is none or they aren't.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Axis {
    /// Thickness of the piece as cut.
    Thickness,
    /// Moisture of the dough.
    DoughMoisture,
    /// Moisture in the pack.
    PackedMoisture,
    /// Air of the hottest zone.
    OvenAir,
    /// Fat in the dry solid.
    Fat,
    /// Time of the steps after the oven.
    Steps,
}

impl Axis {
    /// Every axis, in the order it is told.
    pub const ALL: [Self; 6] = [
        Self::Thickness,
        Self::DoughMoisture,
        Self::PackedMoisture,
        Self::OvenAir,
        Self::Fat,
        Self::Steps,
    ];

    /// What it is called, its unit, and what of it was held against print.
    pub const fn tested(self) -> (&'static str, &'static str, Range) {
        match self {
            Self::Thickness => ("thickness", "mm", Range::new(3.0, 12.0)),
            Self::DoughMoisture => ("moisture of the dough", "%", Range::new(18.0, 40.0)),
            Self::PackedMoisture => ("moisture in the pack", "%", Range::new(2.0, 10.0)),
            Self::OvenAir => ("air of the hottest zone", "°C", Range::new(150.0, 260.0)),
            Self::Fat => ("fat in the dry solid", "%", Range::new(0.0, 25.0)),
            Self::Steps => ("steps after the oven", "min", Range::new(0.0, 0.0)),
        }
    }

    fn of(self, run: &Run) -> f64 {
        let setting = &run.treatment.setting;
        match self {
            Self::Thickness => 1e3 * setting.piece.thickness_m,
            Self::DoughMoisture => run.made.dough_moisture.percent(),
            Self::PackedMoisture => packed_moisture(&run.baked, run.made.dough_moisture).percent(),
            Self::OvenAir => {
                let zones = setting.oven.zones.iter();
                celsius(zones.map(|z| z.air_k).fold(0.0, f64::max))
            }
            Self::Fat => 100.0 * run.made.solids.fat,
            Self::Steps => setting.oven.steps.iter().map(|s| s.time_s / 60.0).sum(),
        }
    }
}

/// An axis on which a treatment lies outside of what was tested.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Beyond {
    /// Which.
    pub axis: Axis,
    /// Where the treatment lies, in `unit`.
    pub value: f64,
    /// Unit of the numbers.
    pub unit: &'static str,
    /// Least that was tested.
    pub low: f64,
    /// Most that was tested.
    pub high: f64,
}

/// Where a run lies outside of what was tested.
pub(super) fn beyond(run: &Run) -> Vec<Beyond> {
    let outside = |axis: Axis| {
        let (_, unit, range) = axis.tested();
        let value = axis.of(run);
        // What is aimed at isn't met to the last digit.
        let (low, high) = (range.low - 0.05, range.high + 0.05);
        (!(low..=high).contains(&value)).then_some(Beyond {
            axis,
            value,
            unit,
            low: range.low,
            high: range.high,
        })
    };
    Axis::ALL.into_iter().filter_map(outside).collect()
}

impl Beyond {
    /// As a finding.
    pub(super) fn finding(&self) -> Finding {
        let (name, ..) = self.axis.tested();
        let (low, high, unit) = (self.low, self.high, self.unit);
        let found = match self.axis {
            Axis::Steps => format!(
                "{:.0} min of steps after the oven: no bake of print with such steps was held against the model",
                self.value
            ),
            _ => format!(
                "{name} {:.1} {unit} is outside the {low:.0} to {high:.0} {unit} in which the model was held against bakes of print",
                self.value
            ),
        };
        Finding::new(
            Severity::Warn,
            Code::BeyondWhatWasTested,
            "bake.time_min",
            format!("The {found}. What follows from the bake is marked, and may be wrong by more than its limits tell."),
        )
        .help("weigh pieces pulled at set times before anything is decided by it")
        .source("judgement on the rows of docs/validation.md (assumed)")
    }
}
