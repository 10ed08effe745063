//! What batches tell of their oven: the table of readings from which a bake's factors are learned.
//!
//! ```text
//! bake,what,minutes,value,before_g,height_mm
//! bite-b01,mass_g,14.5,11.62,15.2,
//! bite-b01,end_moisture_pct,15,8.2,,
//! ```

use crate::beside::MOISTURES;
use crate::{Asked, BatchState, Made, On, Part, Value, What, readings, thinned};
use measure::{Constant, Grade, Range};
use serde::Serialize;
use std::collections::BTreeMap;
use trials::response::Response;

/// Trays of one batch whose times differ by no more count as one bake.
pub static TRAYS_MAY_DIFFER: Constant = Constant {
    name: "trays of a batch that count as baked alike",
    value: 0.5,
    unit: "min",
    range: Range::new(0.0, 10.0),
    source: "emptying and filling an oven by hand; working assumption",
    grade: Grade::Assumed,
};

/// Of a probe at most one reading of so many seconds goes into the table.
pub static PROBE_EACH: Constant = Constant {
    name: "time between the readings of a probe that are learned from",
    value: 30.0,
    unit: "s",
    range: Range::new(10.0, 600.0),
    source: "a piece changes little in less, and the error of the model keeps its sign for minutes; working assumption",
    grade: Grade::Assumed,
};

/// What a row of the table tells.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum OvenReading {
    /// Mass of a pulled piece, g.
    Mass,
    /// Moisture of cooled pieces, per cent of their mass.
    EndMoisture,
    /// A probe's temperature, °C.
    Temperature,
}

impl OvenReading {
    /// Every kind of reading.
    pub const ALL: [Self; 3] = [Self::Mass, Self::EndMoisture, Self::Temperature];

    /// The word in the column `what`.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Mass => "mass_g",
            Self::EndMoisture => "end_moisture_pct",
            Self::Temperature => "temperature_c",
        }
    }
}

/// A row of the table.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct OvenRow {
    /// The bake: the lasting name of the batch.
    pub bake: String,
    /// What it tells.
    pub what: OvenReading,
    /// Minutes since the piece entered the oven.
    pub minutes: f64,
    /// The value, in the unit of `what`.
    pub value: f64,
    /// Mass before the bake, g, of a mass.
    pub before_g: Option<f64>,
    /// Height over the band, mm, of a temperature.
    pub height_mm: Option<f64>,
}

/// Why something that was written tells nothing of the oven.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum LeftOutBecause {
    /// The batch was given up.
    GivenUp(String),
    /// It was set aside.
    SetAside(String),
    /// Nobody wrote how long it was in the oven.
    NoMinutes,
    /// The trays were in the oven for different times, and it doesn't say of which it is.
    TraysDiffer,
    /// A mass before the bake has none after it, or the other way round.
    NoOtherMass,
    /// Nobody wrote how high over the band it was read.
    NoHeight,
    /// More of the batches were measured in another way, and two ways aren't mixed.
    OtherMethod(String),
}

impl LeftOutBecause {
    /// In words, with the way out.
    pub fn told(&self) -> String {
        match self {
            Self::GivenUp(why) => format!("the batch was given up: {why}"),
            Self::SetAside(why) => format!("it is set aside: {why}"),
            Self::NoMinutes => {
                "nobody wrote how long it was in the oven; write the minutes, or when its tray went in and out"
                    .to_owned()
            }
            Self::TraysDiffer => {
                "the trays were in the oven for different times; write it on a tray, such as tray=1".to_owned()
            }
            Self::NoOtherMass => "it takes the mass before and after the bake".to_owned(),
            Self::NoHeight => "nobody wrote how high over the band it was read".to_owned(),
            Self::OtherMethod(taken) => {
                format!("more batches were measured by {taken}, and two ways aren’t mixed")
            }
        }
    }
}

/// Something that was written and tells nothing of the oven.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct LeftOut {
    /// Lasting name of the batch.
    pub bake: String,
    /// What was written, with the pull or piece it is of.
    pub what: String,
    /// Why it is left out.
    pub because: LeftOutBecause,
}

/// What batches tell of their oven, and what they don't.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct OvenReadings {
    /// Rows, batch by batch, each kind in the order of time.
    pub rows: Vec<OvenRow>,
    /// What was left out, and why.
    pub left_out: Vec<LeftOut>,
}

/// What batches tell of their oven: pulled pieces by their mass before and after, moistures at the end by the time in the
/// oven, and what probes read inside a piece at their height over the band. All batches should be of one treatment, for one bake is fitted to them.
///
/// ```
/// use bench::{Batch, Entry, Made, fold, oven_rows, oven_table};
/// let batch: Batch = bench::read_form(
///     "code = 'B01'\nstudy = 's'\nrevision = 1\nhash = ''\ntreatment = 'control'\nlabel = 'control'",
/// ).unwrap();
/// let row = |id, what: &str, value: &str| Entry {
///     id, key: format!("k{id}"), at: "2026-03-02T09:00:00Z".into(), arrived: "2026-03-02T09:00:00Z".into(),
///     who: "Ada".into(), what: what.into(), of: Some("1".into()), value: value.into(), ..Entry::default()
/// };
/// let rows = [row(1, "pulled-after", "8"), row(2, "pulled-pieces", "4"), row(3, "mass-before", "50"), row(4, "mass-after", "42")];
/// let state = fold(&batch, &rows);
/// let told = oven_rows(&[Made { id: "bite-b01".into(), batch, state }]);
/// assert_eq!(
///     oven_table(&told.rows),
///     "bake,what,minutes,value,before_g,height_mm\nbite-b01,mass_g,8,10.5,12.5,\n"
/// );
/// ```
pub fn oven_rows<'a>(made: impl IntoIterator<Item = &'a Made>) -> OvenReadings {
    let made: Vec<&Made> = made.into_iter().collect();
    let mut told = OvenReadings::default();
    let method = most_used(&made);
    for one in made {
        let mut of = Of {
            one,
            told: &mut told,
        };
        if let Some(why) = &one.state.abandoned {
            if one.state.of(What::MassAfter).next().is_some() || !one.state.curves.is_empty() {
                let because = LeftOutBecause::GivenUp(why.words.clone());
                of.leave_out("what was written".to_owned(), because);
            }
            continue;
        }
        of.pulls();
        of.end_moistures(method);
        of.probes();
    }
    told
}

/// The readings of a batch's moisture in one way.
fn moistures(state: &BatchState, response: Response) -> Vec<crate::Reading> {
    readings(state, &Asked::of(response, 1))
}

/// The way in which most of the batches were measured.
fn most_used(made: &[&Made]) -> Response {
    let used = |r: Response| {
        let measured = |m: &&&Made| !moistures(&m.state, r).is_empty();
        made.iter().filter(measured).count()
    };
    // Of those that are used alike the first one: `max_by_key` would take the last.
    let mut most = MOISTURES[0];
    for response in MOISTURES {
        if used(response) > used(most) {
            most = response;
        }
    }
    most
}

struct Of<'a> {
    one: &'a Made,
    told: &'a mut OvenReadings,
}

impl Of<'_> {
    fn leave_out(&mut self, what: String, because: LeftOutBecause) {
        let bake = self.one.id.clone();
        self.told.left_out.push(LeftOut {
            bake,
            what,
            because,
        });
    }

    fn probes(&mut self) {
        let state = &self.one.state;
        for curve in &state.curves {
            let what = format!("probe {}", curve.probe);
            if let Some(why) = &curve.set_aside {
                self.leave_out(what, LeftOutBecause::SetAside(why.clone()));
                continue;
            }
            let Some(height_mm) = state.probe_height_mm(&curve.probe) else {
                self.leave_out(what, LeftOutBecause::NoHeight);
                continue;
            };
            for (time_s, degrees_c) in thinned(&curve.readings, PROBE_EACH.value) {
                self.told.rows.push(OvenRow {
                    bake: self.one.id.clone(),
                    what: OvenReading::Temperature,
                    minutes: time_s / 60.0,
                    value: degrees_c,
                    before_g: None,
                    height_mm: Some(height_mm),
                });
            }
        }
    }

    fn tell(&mut self, what: OvenReading, minutes: f64, value: f64, before_g: Option<f64>) {
        self.told.rows.push(OvenRow {
            bake: self.one.id.clone(),
            what,
            minutes,
            value,
            before_g,
            height_mm: None,
        });
    }

    fn pulls(&mut self) {
        let state = &self.one.state;
        let named = |v: &Value| {
            let on = if v.on.is_batch() {
                String::new()
            } else {
                format!(", {}", v.on.told())
            };
            format!("pull {}{on}", v.of.as_deref().unwrap_or_default())
        };
        for value in state.of(What::PulledTemperature) {
            let what = format!("{}, {}", value.what.about().label, named(value));
            self.leave_out(what, LeftOutBecause::NoHeight);
        }
        let of_pull = [
            What::PulledAfter,
            What::PulledPieces,
            What::MassBefore,
            What::MassAfter,
        ];
        // Each pull by its name and place, with the last of each value.
        let mut pulls: BTreeMap<(Option<&str>, &On), Vec<&Value>> = BTreeMap::new();
        for value in state.values.iter().filter(|v| of_pull.contains(&v.what)) {
            let pull = pulls.entry((value.of.as_deref(), &value.on)).or_default();
            pull.retain(|v| v.what != value.what);
            pull.push(value);
        }
        let mut rows = Vec::new();
        for pull in pulls.values() {
            let of = |what: What| pull.iter().find(|v| v.what == what);
            let weighed = [of(What::MassBefore), of(What::MassAfter)];
            let Some(any) = weighed.iter().flatten().next() else {
                continue;
            };
            let what = named(any);
            if let Some(why) = pull.iter().find_map(|v| v.set_aside()) {
                self.leave_out(what, LeftOutBecause::SetAside(why.to_owned()));
                continue;
            }
            let [Some(before), Some(after)] = weighed else {
                self.leave_out(what, LeftOutBecause::NoOtherMass);
                continue;
            };
            let Some(minutes) = of(What::PulledAfter) else {
                self.leave_out(what, LeftOutBecause::NoMinutes);
                continue;
            };
            // Of one piece where it is known how many they are; what is learned from is the share that is left.
            let pieces = of(What::PulledPieces).map_or(1.0, |v| v.value);
            let pieces = if pieces > 0.0 { pieces } else { 1.0 };
            rows.push((minutes.value, after.value / pieces, before.value / pieces));
        }
        rows.sort_by(|a, b| a.0.total_cmp(&b.0));
        for (minutes, after, before) in rows {
            self.tell(OvenReading::Mass, minutes, after, Some(before));
        }
    }

    /// Minutes in the oven: of a tray where one is named, else of all trays where they were baked alike.
    fn minutes(&self, on: &On) -> Result<f64, LeftOutBecause> {
        let loads = &self.one.state.loads;
        let tray = on.get(Part::Tray);
        let baked: Vec<f64> = loads
            .iter()
            .filter(|l| tray.is_none_or(|t| l.tray == t))
            .filter_map(|l| l.minutes)
            .collect();
        let low = baked.iter().copied().fold(f64::INFINITY, f64::min);
        let high = baked.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        match baked.len() {
            0 => Err(LeftOutBecause::NoMinutes),
            _ if high - low > TRAYS_MAY_DIFFER.value => Err(LeftOutBecause::TraysDiffer),
            n => Ok(baked.iter().sum::<f64>() / n as f64),
        }
    }

    fn end_moistures(&mut self, method: Response) {
        let state = &self.one.state;
        let mut rows = Vec::new();
        for response in MOISTURES {
            for reading in moistures(state, response) {
                let mut what = response.about().name.to_owned();
                if !reading.on.is_batch() {
                    what.push_str(&format!(", {}", reading.on.told()));
                }
                if let Some(why) = reading.set_aside {
                    self.leave_out(what, LeftOutBecause::SetAside(why));
                } else if response != method {
                    let taken = method.about().method.to_owned();
                    self.leave_out(what, LeftOutBecause::OtherMethod(taken));
                } else {
                    match self.minutes(&reading.on) {
                        Ok(minutes) => rows.push((minutes, reading.value)),
                        Err(because) => self.leave_out(what, because),
                    }
                }
            }
        }
        rows.sort_by(|a, b| a.0.total_cmp(&b.0));
        for (minutes, value) in rows {
            self.tell(OvenReading::EndMoisture, minutes, value, None);
        }
    }
}

/// The rows as the table that `hardtack oven fit` reads.
pub fn oven_table(rows: &[OvenRow]) -> String {
    let mut text = "bake,what,minutes,value,before_g,height_mm\n".to_owned();
    let number = |x: Option<f64>| x.map_or_else(String::new, |x| x.to_string());
    for row in rows {
        text.push_str(&format!(
            "{},{},{},{},{},{}\n",
            in_a_cell(&row.bake),
            row.what.word(),
            row.minutes,
            row.value,
            number(row.before_g),
            number(row.height_mm)
        ));
    }
    text
}

/// A name as a cell: in quotes where it would part cells or begin a comment.
fn in_a_cell(name: &str) -> String {
    let name: String = name
        .chars()
        .map(|c| if c.is_control() { ' ' } else { c })
        .collect();
    if name.contains([',', '"', '#']) {
        format!("\"{}\"", name.replace('"', "\"\""))
    } else {
        name
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{Entry, fold};

    fn made(rows: &[(&str, Option<&str>, Option<&str>, &str)]) -> Made {
        let batch = crate::read_form(
            "code = 'B01'\nstudy = 's'\nrevision = 1\nhash = ''\ntreatment = 'c'\nlabel = 'c'",
        )
        .unwrap();
        let each = rows.iter().zip(1_u64..);
        let entries: Vec<Entry> = each
            .map(|((what, of, on, value), id)| Entry {
                id,
                key: format!("k{id}"),
                // One minute from row to row.
                at: format!("2026-03-02T09:{id:02}:00Z"),
                arrived: format!("2026-03-02T09:{id:02}:00Z"),
                who: "Ada".to_owned(),
                what: (*what).to_owned(),
                of: of.map(str::to_owned),
                on: on.map(str::to_owned),
                value: (*value).to_owned(),
                ..Entry::default()
            })
            .collect();
        let state = fold(&batch, &entries);
        Made {
            id: "t-b01".to_owned(),
            batch,
            state,
        }
    }

    const A: Option<&str> = Some("a");
    const DISH: Option<&str> = Some("moisture_130_percent");

    #[test]
    fn what_tells_nothing_of_the_oven_is_left_out_with_the_reason() {
        let because = |rows: &[(&str, Option<&str>, Option<&str>, &str)]| {
            let told = oven_rows(&[made(rows)]);
            assert_eq!(told.rows, [], "{rows:?}");
            let each = told.left_out.into_iter();
            each.map(|l| l.because).collect::<Vec<_>>()
        };
        use LeftOutBecause::{GivenUp, NoHeight, NoMinutes, NoOtherMass, SetAside, TraysDiffer};
        let (before, after) = (
            ("mass-before", A, None, "50"),
            ("mass-after", A, None, "40"),
        );
        let minutes = ("pulled-after", A, None, "8");
        assert_eq!(because(&[before, after]), [NoMinutes]);
        assert_eq!(because(&[minutes, before]), [NoOtherMass]);
        let hot = ("pulled-temperature", A, None, "99");
        assert_eq!(because(&[minutes, hot]), [NoHeight]);
        let aside = ("set-aside", Some("k3"), None, "spilt");
        let spilt = because(&[minutes, before, after, aside]);
        assert_eq!(spilt, [SetAside("spilt".to_owned())]);
        let burnt = ("abandoned", None, None, "burnt");
        let given_up = because(&[minutes, before, after, burnt]);
        assert_eq!(given_up, [GivenUp("burnt".to_owned())]);
        let moist = ("moisture", DISH, None, "8.2");
        assert_eq!(because(&[moist]), [NoMinutes]);
        let tray = |what, tray| (what, Some(tray), None, "30");
        let rows = [
            tray("oven-in", "1"),
            tray("oven-in", "2"),
            tray("oven-out", "1"),
            ("note", None, None, "two minutes longer"),
            tray("oven-out", "2"),
            moist,
        ];
        assert_eq!(because(&rows), [TraysDiffer]);
        // On its tray it has a time.
        let mut of_tray = rows;
        of_tray[5] = ("moisture", DISH, Some("tray=2"), "8.2");
        let told = oven_rows(&[made(&of_tray)]);
        assert_eq!((told.rows[0].minutes, told.rows[0].value), (3.0, 8.2));
    }

    #[test]
    fn rows_come_in_the_order_of_time_and_one_way_of_measuring_is_taken() {
        let pull = |what, pull, value| (what, Some(pull), None, value);
        let told = oven_rows(&[made(&[
            pull("pulled-after", "late", "12"),
            pull("mass-before", "late", "12.4"),
            pull("mass-after", "late", "9.9"),
            pull("pulled-after", "early", "4"),
            pull("mass-before", "early", "12.5"),
            pull("mass-after", "early", "11.8"),
            ("oven-in", Some("1"), None, "30"),
            ("oven-out", Some("1"), None, "30"),
            (
                "moisture",
                Some("moisture_halogen_percent"),
                Some("piece=1"),
                "8.9",
            ),
            ("moisture", DISH, Some("piece=2"), "8.2"),
        ])]);
        let times: Vec<f64> = told.rows.iter().map(|r| r.minutes).collect();
        assert_eq!(times, [4.0, 12.0, 1.0]);
        assert_eq!(told.rows[2].what, OvenReading::EndMoisture);
        assert_eq!(
            told.rows[2].value, 8.2,
            "of two that are used alike the first in the list"
        );
        assert!(matches!(
            told.left_out[0].because,
            LeftOutBecause::OtherMethod(_)
        ));
    }

    #[test]
    fn an_odd_name_stays_one_cell() {
        let row = OvenRow {
            bake: "#1, \"hot\"\n".to_owned(),
            what: OvenReading::Mass,
            minutes: 1.0,
            value: 2.0,
            before_g: Some(3.0),
            height_mm: None,
        };
        let text = oven_table(&[row]);
        assert!(
            text.ends_with("\n\"#1, \"\"hot\"\" \",mass_g,1,2,3,\n"),
            "{text}"
        );
    }
}
