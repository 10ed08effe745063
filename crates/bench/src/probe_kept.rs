//! From a log to the rows of batches: each probe with its batch, its height over the band, and the time in the oven alone.

use crate::observe::{New, key_of};
use crate::{LogProbe, Made, ProbeCurve, ProbeReading, What, write_curve};
use serde::Serialize;

/// A probe of a log, as somebody says what it was in.
#[derive(Clone, Debug, PartialEq)]
pub struct ProbeOf<'a> {
    /// The probe with its readings.
    pub probe: &'a LogProbe,
    /// The batch that the piece was of.
    pub made: &'a Made,
    /// Height over the band, mm.
    pub height_mm: Option<f64>,
}

/// What a probe comes to.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct ProbeRows {
    /// The probe.
    pub probe: String,
    /// Code of the batch.
    pub batch: String,
    /// Height over the band, mm.
    pub height_mm: Option<f64>,
    /// Readings while the piece was in the oven: seconds since it went in, and °C.
    pub readings: Vec<ProbeReading>,
    /// Of so many seconds one was kept.
    pub each_s: f64,
    /// Readings that are kept.
    pub kept: usize,
    /// Rows to be entered.
    pub new: Vec<New>,
    /// What keeps it from being entered.
    pub problem: Option<String>,
}

/// What a probe of a log comes to. Times count from the moment the piece went in, `entered_s` after the log began, and end
/// when it came out; `correct` tells why readings that are kept otherwise are struck through.
pub fn probe_rows(
    of: &ProbeOf<'_>,
    entered_s: f64,
    left_s: Option<f64>,
    correct: Option<&str>,
) -> ProbeRows {
    let ProbeOf {
        probe,
        made,
        height_mm,
    } = of;
    let within = |t: f64| t >= entered_s && left_s.is_none_or(|left| t <= left);
    let readings: Vec<ProbeReading> = probe
        .readings
        .iter()
        .filter(|(t, _)| within(*t))
        .map(|(t, c)| (t - entered_s, *c))
        .collect();
    let (text, each_s, kept) = write_curve(&readings);
    let mut rows = ProbeRows {
        probe: probe.name.clone(),
        batch: made.batch.code.clone(),
        height_mm: *height_mm,
        readings,
        each_s,
        kept,
        new: Vec::new(),
        problem: None,
    };
    if kept < 2 {
        rows.problem = Some(
            "it has fewer than two readings while the piece was in the oven; look at the moments when it went in and came out".to_owned(),
        );
        return rows;
    }
    if let Some(why) = &made.state.abandoned {
        rows.problem = Some(format!("{} was given up: {}", rows.batch, why.words));
        return rows;
    }
    let name = probe.name.as_str();
    let stands = made.state.curves.iter().find(|c| c.probe == name);
    let same = |c: &ProbeCurve| crate::read_curve(&text).is_some_and(|r| r == c.readings);
    let strikes = match stands {
        Some(c) if same(c) => None,
        Some(_) if correct.is_none() => {
            rows.problem = Some(format!(
                "the book has other readings of probe {name} in {}; give a reason to strike them through and put these in their place, or head the column otherwise",
                rows.batch
            ));
            return rows;
        }
        Some(c) => Some(c.told.key.clone()),
        None => None,
    };
    let again = |stem: &str| {
        let stem = format!("{stem}-");
        let struck = made.state.struck.iter();
        struck.filter(|s| s.told.key.starts_with(&stem)).count()
    };
    let mut push = |what: What, value: String, strikes: Option<String>| {
        let stem = key_of(&made.id, name, "", &value, what.about().word);
        rows.new.push(New {
            key: format!("{stem}-{}", again(&stem)),
            batch: made.id.clone(),
            what,
            of: name.to_owned(),
            on: None,
            value,
            unit: None,
            strikes,
        });
    };
    if !stands.is_some_and(same) {
        push(What::Probe, text.clone(), strikes);
    }
    if let Some(height) = height_mm
        && made.state.probe_height_mm(name) != Some(*height)
    {
        push(What::ProbeHeight, height.to_string(), None);
    }
    rows
}
