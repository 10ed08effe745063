//! The one list of what is written at the bench.

use measure::Range;
use serde::{Deserialize, Serialize};
use trials::response::Response;

/// Where at the bench it is written, in the order of work.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
#[expect(missing_docs, reason = "each is described once, in `task`")]
pub enum Station {
    Weigh,
    Water,
    Dough,
    Cut,
    Oven,
    After,
    Measure,
    Sheet,
}

impl Station {
    /// Every station, in the order of work.
    pub const ALL: [Self; 8] = [
        Self::Weigh,
        Self::Water,
        Self::Dough,
        Self::Cut,
        Self::Oven,
        Self::After,
        Self::Measure,
        Self::Sheet,
    ];

    /// The word in addresses and for people.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Weigh => "weigh",
            Self::Water => "water",
            Self::Dough => "dough",
            Self::Cut => "cut",
            Self::Oven => "oven",
            Self::After => "after",
            Self::Measure => "measure",
            Self::Sheet => "sheet",
        }
    }

    /// What is done there.
    pub const fn task(self) -> &'static str {
        match self {
            Self::Weigh => "Weigh the materials in the order of addition.",
            Self::Water => "Dose water until the dough is right.",
            Self::Dough => "Let it stand, read temperature and gauge, weigh the scrap.",
            Self::Cut => "Count the pieces that leave the cutter.",
            Self::Oven => "Time each tray, pull pieces, read the oven.",
            Self::After => "Weigh and measure what has cooled.",
            Self::Measure => "Write down what the instruments show.",
            Self::Sheet => "Note what was different, and sign.",
        }
    }
}

/// What kind of thing is written.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Nature {
    /// A measured amount.
    Amount,
    /// Pieces counted: a row adds so many, or takes so many back.
    Count,
    /// A step on a scale whose steps have an order.
    Step,
    /// Words.
    Words,
    /// That something happened, at the row's moment.
    Moment,
    /// The hash of a photograph.
    Picture,
    /// Readings over time, as [`crate::read_curve`] reads them.
    Curve,
}

/// What is written at the bench.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
#[expect(missing_docs, reason = "each is described once, in `about`")]
pub enum What {
    Weighed,
    Lot,
    WaterTemperature,
    Ice,
    Dose,
    Feel,
    DoughRight,
    StandBegun,
    Stand,
    DoughTemperature,
    Gauge,
    Scrap,
    Cut,
    CutWhole,
    CutBroken,
    CutStuck,
    OvenSet,
    OvenRead,
    Damper,
    OvenIn,
    OvenOut,
    PulledAfter,
    PulledPieces,
    MassBefore,
    MassAfter,
    PulledTemperature,
    Probe,
    ProbeHeight,
    CooledMass,
    CooledTemperature,
    Moisture,
    WaterActivity,
    LineMass,
    LineMoisture,
    Length,
    Width,
    Thickness,
    BendForce,
    BendSpan,
    Packed,
    Observed,
    ObservedOf,
    Photograph,
    Note,
    Deviation,
    SetAside,
    Abandoned,
    Signed,
}

/// What there is to know of it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct About {
    /// The word in rows.
    pub word: &'static str,
    /// The name shown.
    pub label: &'static str,
    /// The unit it is kept in; empty where it has none.
    pub unit: &'static str,
    /// Where it is written.
    pub station: Station,
    /// What kind of thing it is.
    pub nature: Nature,
    /// Values outside are asked for once more; working assumptions, in the unit.
    pub plausible: Option<Range>,
    /// What `of` names; none where nothing has to be named.
    pub of: Option<&'static str>,
    /// Whether several stand beside each other in a batch; else the last one holds.
    pub repeated: bool,
}

impl What {
    /// Everything that is written, in the order of work.
    pub const ALL: [Self; 48] = [
        Self::Weighed,
        Self::Lot,
        Self::WaterTemperature,
        Self::Ice,
        Self::Dose,
        Self::Feel,
        Self::DoughRight,
        Self::StandBegun,
        Self::Stand,
        Self::DoughTemperature,
        Self::Gauge,
        Self::Scrap,
        Self::Cut,
        Self::CutWhole,
        Self::CutBroken,
        Self::CutStuck,
        Self::OvenSet,
        Self::OvenRead,
        Self::Damper,
        Self::OvenIn,
        Self::OvenOut,
        Self::PulledAfter,
        Self::PulledPieces,
        Self::MassBefore,
        Self::MassAfter,
        Self::PulledTemperature,
        Self::Probe,
        Self::ProbeHeight,
        Self::CooledMass,
        Self::CooledTemperature,
        Self::Moisture,
        Self::WaterActivity,
        Self::LineMass,
        Self::LineMoisture,
        Self::Length,
        Self::Width,
        Self::Thickness,
        Self::BendForce,
        Self::BendSpan,
        Self::Packed,
        Self::Observed,
        Self::ObservedOf,
        Self::Photograph,
        Self::Note,
        Self::Deviation,
        Self::SetAside,
        Self::Abandoned,
        Self::Signed,
    ];

    /// What there is to know of it. The plausible limits are working assumptions of the trade's bench.
    #[rustfmt::skip] // a table reads best as a table
    pub const fn about(self) -> About {
        use Nature::{Amount, Count, Curve, Moment, Picture, Step, Words};
        use Station::{After, Cut, Dough, Measure, Oven, Sheet, Water, Weigh};
        const NONE: Option<&str> = None;
        const fn at(low: f64, high: f64) -> Option<Range> { Some(Range::new(low, high)) }
        let (word, label, unit, station, nature, plausible, of, repeated) = match self {
            Self::Weighed => ("weighed", "weighed", "kg", Weigh, Amount, at(0.0, 1000.0), Some("material"), false),
            Self::Lot => ("lot", "lot", "", Weigh, Words, None, Some("material"), true),
            Self::WaterTemperature => ("water-temperature", "water temperature", "°C", Weigh, Amount, at(0.0, 60.0), NONE, false),
            Self::Ice => ("ice", "ice", "kg", Weigh, Amount, at(0.0, 200.0), NONE, false),
            Self::Dose => ("dose", "water", "kg", Water, Amount, at(0.0, 200.0), NONE, true),
            Self::Feel => ("feel", "feel", "", Water, Step, at(1.0, 5.0), NONE, true),
            Self::DoughRight => ("dough-right", "this dough is right", "", Water, Moment, None, NONE, false),
            Self::StandBegun => ("stand-begun", "stand begins", "", Dough, Moment, None, NONE, true),
            Self::Stand => ("stand", "stand", "min", Dough, Amount, at(0.0, 240.0), NONE, true),
            Self::DoughTemperature => ("dough-temperature", "dough temperature", "°C", Dough, Amount, at(5.0, 60.0), NONE, false),
            Self::Gauge => ("gauge", "gauge", "mm", Dough, Amount, at(1.0, 60.0), NONE, true),
            Self::Scrap => ("scrap", "scrap", "kg", Dough, Amount, at(0.0, 500.0), NONE, true),
            Self::Cut => ("cut", "cut", "", Cut, Count, at(-1000.0, 100_000.0), NONE, true),
            Self::CutWhole => ("cut-whole", "whole", "", Cut, Count, at(-1000.0, 100_000.0), NONE, true),
            Self::CutBroken => ("cut-broken", "broken", "", Cut, Count, at(-1000.0, 100_000.0), NONE, true),
            Self::CutStuck => ("cut-stuck", "stuck", "", Cut, Count, at(-1000.0, 100_000.0), NONE, true),
            Self::OvenSet => ("oven-set", "set", "°C", Oven, Amount, at(20.0, 350.0), Some("zone"), true),
            Self::OvenRead => ("oven-read", "read", "°C", Oven, Amount, at(10.0, 400.0), Some("zone"), true),
            Self::Damper => ("damper", "damper", "%", Oven, Amount, at(0.0, 100.0), NONE, true),
            Self::OvenIn => ("oven-in", "in", "", Oven, Moment, None, Some("tray"), true),
            Self::OvenOut => ("oven-out", "out", "", Oven, Moment, None, Some("tray"), true),
            Self::PulledAfter => ("pulled-after", "pulled after", "min", Oven, Amount, at(0.5, 240.0), Some("pull"), true),
            Self::PulledPieces => ("pulled-pieces", "pieces pulled", "", Oven, Amount, at(1.0, 1000.0), Some("pull"), true),
            Self::MassBefore => ("mass-before", "mass before", "g", Oven, Amount, at(0.2, 100_000.0), Some("pull"), true),
            Self::MassAfter => ("mass-after", "mass after", "g", Oven, Amount, at(0.2, 100_000.0), Some("pull"), true),
            Self::PulledTemperature => ("pulled-temperature", "temperature as pulled", "°C", Oven, Amount, at(20.0, 200.0), Some("pull"), true),
            Self::Probe => ("probe", "temperature inside", "°C", Oven, Curve, None, Some("probe"), false),
            Self::ProbeHeight => ("probe-height", "height over the band", "mm", Oven, Amount, at(0.0, 40.0), Some("probe"), false),
            Self::CooledMass => ("cooled-mass", "mass, cooled", "g", After, Amount, at(0.2, 200.0), NONE, true),
            Self::CooledTemperature => ("cooled-temperature", "temperature, cooled", "°C", After, Amount, at(0.0, 80.0), NONE, true),
            Self::Moisture => ("moisture", "moisture at the end", "%", After, Amount, at(0.5, 40.0), Some("method"), true),
            Self::WaterActivity => ("water-activity", "water activity", "", After, Amount, at(0.02, 1.0), NONE, true),
            Self::LineMass => ("line-mass", "mass on the line", "g", After, Amount, at(0.2, 200.0), NONE, true),
            Self::LineMoisture => ("line-moisture", "moisture at the exit", "%", After, Amount, at(0.5, 40.0), NONE, true),
            Self::Length => ("length", "length", "mm", After, Amount, at(4.0, 250.0), NONE, true),
            Self::Width => ("width", "width", "mm", After, Amount, at(4.0, 150.0), NONE, true),
            Self::Thickness => ("thickness", "thickness", "mm", After, Amount, at(2.0, 40.0), NONE, true),
            Self::BendForce => ("bend-force", "force at break", "N", Measure, Amount, at(1.0, 1500.0), NONE, true),
            Self::BendSpan => ("bend-span", "span", "mm", Measure, Amount, at(5.0, 200.0), NONE, false),
            Self::Packed => ("packed", "packs", "", After, Amount, at(0.0, 10_000.0), NONE, true),
            Self::Observed => ("observed", "observed", "", Measure, Amount, None, Some("response"), true),
            Self::ObservedOf => ("observed-of", "out of", "", Measure, Amount, at(0.0, 1e6), Some("response"), true),
            Self::Photograph => ("photograph", "photograph", "", Sheet, Picture, None, NONE, true),
            Self::Note => ("note", "note", "", Sheet, Words, None, NONE, true),
            Self::Deviation => ("deviation", "different from the plan", "", Sheet, Words, None, NONE, true),
            Self::SetAside => ("set-aside", "set aside", "", Sheet, Words, None, Some("row"), true),
            Self::Abandoned => ("abandoned", "given up", "", Sheet, Words, None, NONE, false),
            Self::Signed => ("signed", "signed", "", Sheet, Words, None, NONE, false),
        };
        About { word, label, unit, station, nature, plausible, of, repeated }
    }

    /// What a word stands for.
    ///
    /// ```
    /// use bench::What;
    /// assert_eq!(What::from_word("cut-whole"), Some(What::CutWhole));
    /// assert_eq!(What::from_word("kettle"), None);
    /// ```
    pub fn from_word(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|w| w.about().word == word)
    }

    /// The response of the statistics that such a value is by itself. `of` tells the method of a moisture.
    pub fn response(self, of: Option<&str>) -> Option<Response> {
        match self {
            Self::DoughTemperature => Some(Response::DoughTemperature),
            Self::CooledMass => Some(Response::PieceMass),
            Self::Moisture => of.and_then(Response::find),
            Self::WaterActivity => Some(Response::WaterActivity),
            Self::Length => Some(Response::Length),
            Self::Width => Some(Response::Width),
            Self::Thickness => Some(Response::Thickness),
            Self::BendForce => Some(Response::BreakingForce),
            _ => None,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::BTreeSet;

    #[test]
    fn words_are_distinct_and_stations_come_in_their_order() {
        let words: BTreeSet<&str> = What::ALL.iter().map(|w| w.about().word).collect();
        assert_eq!(words.len(), What::ALL.len());
        for what in What::ALL {
            let about = what.about();
            assert_eq!(What::from_word(about.word), Some(what));
            assert_eq!(serde_json::to_value(what).unwrap(), about.word, "{about:?}");
            if !about.unit.is_empty() {
                assert!(!crate::units_of(about.unit).is_empty(), "{}", about.unit);
            }
            if let Some(plausible) = about.plausible {
                assert!(plausible.low < plausible.high);
            }
        }
        for station in Station::ALL {
            assert!(What::ALL.iter().any(|w| w.about().station == station));
        }
    }

    /// What is kept at the bench has the unit that the statistics read.
    #[test]
    fn units_are_those_of_the_responses() {
        for what in What::ALL {
            for of in [None, Some("moisture_130_percent")] {
                let Some(response) = what.response(of) else {
                    continue;
                };
                let unit = response.about().unit;
                assert_eq!(unit, what.about().unit, "{what:?}");
            }
        }
    }
}
