//! What a batch has come to: everything that a page of it shows.

use crate::{Counts, On, ProbeCurve, Station, What};
use measure::Finding;
use serde::Serialize;

/// Where a value or row comes from.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Told {
    /// The row's key.
    pub key: String,
    /// The row's place in the book.
    pub id: u64,
    /// The moment at the bench, as the device told it.
    pub at: String,
    /// Who wrote it.
    pub who: String,
    /// Whether it was written after the sheet was signed.
    pub after_signing: bool,
}

/// A mark on a value.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Mark {
    /// Beyond what is plausible.
    Beyond {
        /// Whether somebody said that it is so.
        confirmed: bool,
    },
    /// Set aside, with the reason; it stays visible.
    SetAside(String),
}

/// A value that stands.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Value {
    /// What it is.
    pub what: What,
    /// Of which material, response, tray or setting.
    pub of: Option<String>,
    /// On which unit within the batch.
    pub on: On,
    /// The number, in the unit that it is kept in.
    pub value: f64,
    /// That unit.
    pub unit: String,
    /// Its marks.
    pub marks: Vec<Mark>,
    /// Where it comes from.
    pub told: Told,
}

impl Value {
    /// Why it is set aside.
    pub fn set_aside(&self) -> Option<&str> {
        self.marks.iter().find_map(|m| match m {
            Mark::SetAside(why) => Some(why.as_str()),
            Mark::Beyond { .. } => None,
        })
    }
}

/// A dose of water.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Dose {
    /// Added, kg.
    pub kg: f64,
    /// All so far, kg.
    pub total_kg: f64,
    /// All so far, kg per 100 kg of dry mix.
    pub per_100kg: Option<f64>,
    /// All so far as a share of what was believed to be needed.
    pub of_need: Option<f64>,
    /// Whether the dough had been called right before it.
    pub after_right: bool,
    /// Where it comes from.
    pub told: Told,
}

/// How the dough felt.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Feel {
    /// Step on the scale, from crumbly to sticky.
    pub step: f64,
    /// Water in it then, kg.
    pub total_kg: f64,
    /// Where it comes from.
    pub told: Told,
}

/// The titration.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct Water {
    /// The doses, in the order of the book.
    pub doses: Vec<Dose>,
    /// How it felt.
    pub feels: Vec<Feel>,
    /// All water, kg.
    pub total_kg: f64,
    /// All water, kg per 100 kg of dry mix.
    pub per_100kg: Option<f64>,
    /// Where the dough was called right.
    pub right: Option<Told>,
}

/// A tray in the oven.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Load {
    /// The tray.
    pub tray: String,
    /// When it went in.
    pub entered: Option<Told>,
    /// When it came out.
    pub left: Option<Told>,
    /// Minutes within; none while it is in, or where the moments can't be.
    pub minutes: Option<f64>,
}

/// Words of a row.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Kept {
    /// What it is: lot, note, deviation, photograph.
    pub what: What,
    /// Of which material.
    pub of: Option<String>,
    /// The words, or the hash of a photograph.
    pub words: String,
    /// Where it comes from.
    pub told: Told,
}

/// A row that was struck through; it stays readable.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Struck {
    /// The word of what it said.
    pub what: String,
    /// Of which.
    pub of: Option<String>,
    /// On which unit.
    pub on: Option<String>,
    /// What it said.
    pub value: String,
    /// Its unit.
    pub unit: Option<String>,
    /// Where it came from.
    pub told: Told,
    /// The row that struck it through.
    pub by: Told,
    /// Why.
    pub why: String,
}

/// The closing of the sheet.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Signed {
    /// The hash that was signed.
    pub hash: String,
    /// By whom, and when.
    pub told: Told,
}

/// A batch with everything that was written of it.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct BatchState {
    /// The titration.
    pub water: Water,
    /// Pieces at the cutter.
    pub counts: Counts,
    /// When the dough began to stand; none once its stand was written down.
    pub stands: Option<Told>,
    /// Trays in the oven, in the order in which they went in.
    pub loads: Vec<Load>,
    /// Every value that stands.
    pub values: Vec<Value>,
    /// What probes read inside a piece.
    pub curves: Vec<ProbeCurve>,
    /// Lots, notes, deviations and photographs.
    pub words: Vec<Kept>,
    /// Rows that were struck through.
    pub struck: Vec<Struck>,
    /// The first signature.
    pub signed: Option<Signed>,
    /// Keys of rows that were written after it.
    pub after_signing: Vec<String>,
    /// Why it was given up.
    pub abandoned: Option<Kept>,
    /// What to know.
    pub findings: Vec<Finding>,
    /// Rows that it was worked out from.
    pub rows: usize,
    /// The highest place in the book among them.
    pub last_id: u64,
}

impl BatchState {
    /// The values of one thing that stand, set aside or not.
    pub fn of(&self, what: What) -> impl Iterator<Item = &Value> {
        self.values.iter().filter(move |v| v.what == what)
    }

    /// The last value of one thing.
    pub fn last(&self, what: What) -> Option<&Value> {
        self.of(what).last()
    }

    /// The station that it stands at: the furthest one where anything was written that stands.
    pub fn station(&self) -> Station {
        let of = |what: What| what.about().station;
        let values = self.values.iter().map(|v| of(v.what));
        let words = self.words.iter().map(|k| of(k.what));
        let moments = [
            self.curves.first().map(|_| Station::Oven),
            self.water.right.as_ref().map(|_| Station::Water),
            self.loads.first().map(|_| Station::Oven),
            self.signed.as_ref().map(|_| Station::Sheet),
        ];
        let all = values.chain(words).chain(moments.into_iter().flatten());
        all.max().unwrap_or(Station::Weigh)
    }

    /// How high over the band a probe lay, mm.
    pub fn probe_height_mm(&self, probe: &str) -> Option<f64> {
        let of = |v: &&Value| v.of.as_deref() == Some(probe) && v.set_aside().is_none();
        self.of(What::ProbeHeight)
            .filter(of)
            .last()
            .map(|v| v.value)
    }

    /// Values that were measured on what was baked: those of the stations after the oven, but what was packed.
    pub fn measured(&self) -> impl Iterator<Item = &Value> {
        self.values.iter().filter(|v| {
            matches!(v.what.about().station, Station::After | Station::Measure)
                && v.what != What::Packed
        })
    }

    /// Whether it is done with: signed or given up.
    pub fn is_closed(&self) -> bool {
        self.signed.is_some() || self.abandoned.is_some()
    }

    /// Whether anything at all was written.
    pub fn is_begun(&self) -> bool {
        self.rows > 0
    }
}
