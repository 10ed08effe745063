//! What a logger wrote while pieces baked: a column of time and one or several of temperature, to the curve of each probe.

use crate::observe::{Cell, Told, head_of};
use crate::probe_curve::ProbeReading;
use crate::unit::in_unit;
use measure::{Constant, Grade, Range};
use serde::Serialize;

/// What a probe in an oven can read.
pub static PLAUSIBLE_C: Constant = Constant {
    name: "temperature that a probe in a piece can read",
    value: 100.0,
    unit: "°C",
    range: Range::new(-30.0, 400.0),
    source: "from a frozen dough to a burnt crust; working assumption",
    grade: Grade::Assumed,
};
/// A probe in a piece may move this fast …
pub static FAST: Constant = Constant {
    name: "fastest that a probe in a piece moves",
    value: 6.0,
    unit: "K/s",
    range: Range::new(0.5, 50.0),
    source: "faster is an open circuit or a probe that slipped out; judgement, as in learning from such readings",
    grade: Grade::Assumed,
};
/// … once it has moved this far from the reading before.
pub static FAR: Constant = Constant {
    name: "step of a probe that is looked at",
    value: 25.0,
    unit: "K",
    range: Range::new(1.0, 200.0),
    source: "as the fastest that a probe moves",
    grade: Grade::Assumed,
};

/// What was written for the units, where the heads don't tell.
#[derive(Clone, Copy, Debug, Default)]
pub struct LogUnits<'a> {
    /// Of the time: `s`, `min`, `h`, `mm:ss`, `hh:mm`.
    pub time: Option<&'a str>,
    /// Of temperatures: `°C`, `°F`, `K`.
    pub degrees: Option<&'a str>,
}

/// A probe of a log.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct LogProbe {
    /// The head of its column, without the unit.
    pub name: String,
    /// Seconds since the log began, and °C.
    pub readings: Vec<ProbeReading>,
}

/// A log.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct ProbeLog {
    /// Head of the column of time.
    pub time: String,
    /// The first moment as it is written.
    pub begins: String,
    /// Its probes, in the order of the columns.
    pub probes: Vec<LogProbe>,
    /// Heads of columns that are no temperature, or without a unit.
    pub left_out: Vec<String>,
    /// Rows of readings.
    pub rows: usize,
    /// The clock that its moments are read by.
    #[serde(skip)]
    clock: Clock,
}

/// How moments of a log are read.
#[derive(Clone, Debug, Default, PartialEq)]
struct Clock {
    /// The unit of plain numbers and of times of two parts.
    unit: Option<String>,
    /// The first moment, s; all count from it.
    first_s: f64,
    /// The date of the first moment as it is written.
    date: Option<String>,
}

impl ProbeLog {
    /// Seconds from the beginning of the log to a moment written in the log's own way: in its unit, as h:mm:ss, or by the
    /// clock. Where a log bears dates, a moment without one is the first after its beginning.
    ///
    /// # Errors
    /// A text that isn't such a moment.
    pub fn moment_s(
        &self,
        text: &str,
        number: &dyn Fn(&str) -> Result<f64, String>,
    ) -> Result<f64, String> {
        let mut clock = self.clock.clone();
        let dated = date_of(text).is_some();
        let mut at = clock.seconds(&Cell::Text(text.to_owned()), number)?;
        if clock.date.is_some() && !dated {
            // The clock went past midnight while it wrote.
            if at < clock.first_s {
                at += DAY_S;
            }
        }
        Ok(at - clock.first_s)
    }
}

const DAY_S: f64 = 86_400.0;
const TIME_UNITS: [&str; 3] = ["s", "min", "h"];
const CLOCKS: [&str; 2] = ["mm:ss", "hh:mm"];

/// A date at the beginning of a moment, and the rest.
fn date_of(text: &str) -> Option<(&str, &str)> {
    let text = text.trim();
    let (date, rest) = text.split_once([' ', 'T']).unwrap_or((text, ""));
    let parts: Vec<&str> = date.split(['-', '.', '/']).collect();
    let plain = |p: &&str| !p.is_empty() && p.bytes().all(|b| b.is_ascii_digit());
    (parts.len() == 3 && parts.iter().all(plain)).then_some((date, rest.trim()))
}

/// Days since the beginning of the calendar, of a date whose order is plain.
fn day_of(date: &str) -> Option<f64> {
    let number = |text: &str| text.parse::<i16>().ok();
    let parts: Vec<&str> = date.split(['-', '.']).collect();
    let [a, b, c] = parts.as_slice() else {
        return None;
    };
    let (year, month, day) = if date.contains('-') && a.len() == 4 {
        (a, b, c)
    } else if date.contains('.') && c.len() == 4 {
        (c, b, a)
    } else {
        return None;
    };
    let (month, day) = (i8::try_from(number(month)?), i8::try_from(number(day)?));
    let date = jiff::civil::Date::new(number(year)?, month.ok()?, day.ok()?).ok()?;
    let since = date.since(jiff::civil::Date::ZERO).ok()?;
    Some(f64::from(since.get_days()))
}

impl Clock {
    /// The seconds of a moment, from midnight of the first date or from nought.
    fn seconds(
        &mut self,
        cell: &Cell,
        number: &dyn Fn(&str) -> Result<f64, String>,
    ) -> Result<f64, String> {
        let whole = cell.text();
        let mut text = whole.as_str();
        let mut days = 0.0;
        if let Some((date, rest)) = date_of(text) {
            let first = self.date.get_or_insert_with(|| date.to_owned()).clone();
            if first != date {
                let between = day_of(date).zip(day_of(&first)).map(|(a, b)| a - b);
                days = between.ok_or(
                    "this date may have the day or the month first; write dates like 2026-03-02",
                )?;
            }
            text = rest;
        }
        let of_day = self.within(cell, text, number)?;
        Ok(DAY_S * days + of_day)
    }

    fn within(
        &self,
        cell: &Cell,
        text: &str,
        number: &dyn Fn(&str) -> Result<f64, String>,
    ) -> Result<f64, String> {
        let text = text.trim().trim_end_matches('Z');
        let lower = text.to_lowercase();
        let (text, later) = match (lower.strip_suffix("am"), lower.strip_suffix("pm")) {
            (Some(t), _) => (t.trim(), Some(0.0)),
            (_, Some(t)) => (t.trim(), Some(12.0)),
            _ => (text, None),
        };
        if text.contains(':') {
            let parts: Vec<f64> = text
                .split(':')
                .map(|p| p.trim().replace(',', ".").parse::<f64>().ok())
                .collect::<Option<Vec<f64>>>()
                .filter(|p| p.iter().all(|x| x.is_finite() && *x >= 0.0))
                .filter(|p| p.iter().skip(1).all(|x| *x < 60.0))
                .ok_or("this isn’t a time; write it like 0:02:30")?;
            return match (parts.as_slice(), self.unit.as_deref(), later) {
                ([h, m, s], _, None) => Ok(3600.0 * h + 60.0 * m + s),
                ([h, m, rest @ ..], _, Some(later)) if *h <= 12.0 => {
                    let hour = if *h == 12.0 { later } else { h + later };
                    Ok(3600.0 * hour + 60.0 * m + rest.iter().sum::<f64>())
                }
                ([m, s], Some("mm:ss"), None) => Ok(60.0 * m + s),
                ([h, m], Some("hh:mm"), None) => Ok(3600.0 * h + 60.0 * m),
                ([h, m], _, None) if self.date.is_some() => Ok(3600.0 * h + 60.0 * m),
                ([_, _], _, None) => Err(
                    "this may be minutes and seconds or hours and minutes; write h:mm:ss, or head the column ‘time (mm:ss)’ or ‘time (hh:mm)’"
                        .to_owned(),
                ),
                _ => Err("this isn’t a time; write it like 0:02:30".to_owned()),
            };
        }
        if text.is_empty() {
            return match self.date {
                Some(_) => Ok(0.0),
                None => Err("there is no time here; write it like 0:02:30".to_owned()),
            };
        }
        let value = match cell {
            Cell::Number(x) if x.is_finite() => *x,
            _ => number(text)?,
        };
        match self.unit.as_deref() {
            Some(unit) if TIME_UNITS.contains(&unit) => {
                in_unit(value, unit, "s").map_err(|e| e.to_string())
            }
            _ => Err(
                "the time has no unit; head the column ‘time (s)’ or ‘time (min)’, or say the unit"
                    .to_owned(),
            ),
        }
    }
}

/// Reads a log: a column of time and at least one of temperature. A cell that can't be so is told with its row and column,
/// and everything else is read all the same.
///
/// ```
/// use bench::{LogUnits, observe::Cell, probe_log};
/// let row = |cells: [&str; 3]| cells.map(|c| Cell::Text(c.into())).to_vec();
/// let rows = [
///     row(["time (min)", "core (°F)", "crust (°C)"]), row(["0", "77", "25"]), row(["0.5", "86", "61.5"]),
///     row(["0.4", "87", "62"]),
/// ];
/// let (log, wrong) = probe_log(&rows, LogUnits::default(), &|t| t.parse().map_err(|_| "no number".into()));
/// assert_eq!(log.probes[1].readings, [(0.0, 25.0), (30.0, 61.5)]);
/// assert!((log.probes[0].readings[1].1 - 30.0).abs() < 1e-9);
/// assert_eq!((wrong.len(), wrong[0].row, wrong[0].column.as_str()), (1, 4, "time"));
/// ```
pub fn probe_log(
    rows: &[Vec<Cell>],
    units: LogUnits<'_>,
    number: &dyn Fn(&str) -> Result<f64, String>,
) -> (ProbeLog, Vec<Told>) {
    let mut wrong = Wrong(Vec::new());
    let mut filled = rows
        .iter()
        .enumerate()
        .filter(|(_, r)| !r.iter().all(Cell::is_empty));
    let Some((at, head)) = filled.next() else {
        wrong.tell(
            1,
            "",
            "",
            "there is nothing in the table; the first row names the columns",
        );
        return (ProbeLog::default(), wrong.0);
    };
    let Some(columns) = columns(at + 1, head, units, &mut wrong) else {
        return (ProbeLog::default(), wrong.0);
    };
    let mut log = ProbeLog {
        time: columns.time_head.clone(),
        left_out: columns.left_out,
        clock: Clock {
            unit: columns.time_unit,
            ..Clock::default()
        },
        probes: columns
            .probes
            .iter()
            .map(|p| LogProbe {
                name: p.name.clone(),
                readings: Vec::new(),
            })
            .collect(),
        ..ProbeLog::default()
    };
    let mut last: Option<(usize, f64)> = None;
    // The row of each probe's last reading.
    let mut before = vec![0; log.probes.len()];
    for (at, row) in filled {
        let line = at + 1;
        let cell = |column: usize| row.get(column).unwrap_or(&Cell::Empty);
        let moment = match columns.date {
            Some(date) => Cell::Text(format!(
                "{} {}",
                cell(date).text(),
                cell(columns.time).text()
            )),
            None => cell(columns.time).clone(),
        };
        let time_s = match log.clock.seconds(&moment, number) {
            Ok(time_s) => time_s,
            Err(why) => {
                wrong.tell(line, &log.time, &moment.text(), why);
                continue;
            }
        };
        if let Some((earlier, last_s)) = last
            && time_s < last_s
        {
            let why = format!(
                "it is {} s before row {earlier}; put the rows in the order of time, or take this one out",
                measure::rounding::significant(last_s - time_s, 3)
            );
            wrong.tell(line, &log.time, &moment.text(), why);
            continue;
        }
        if last.is_none() {
            log.begins = moment.text();
            log.clock.first_s = time_s;
        }
        last = Some((line, time_s));
        log.rows += 1;
        let since_s = time_s - log.clock.first_s;
        for ((probe, column), before) in log.probes.iter_mut().zip(&columns.probes).zip(&mut before)
        {
            let cell = cell(column.at);
            if cell.is_empty() {
                continue;
            }
            match degrees(cell, &column.unit, number) {
                Err(why) => wrong.tell(line, &column.head, &cell.text(), why),
                Ok(degrees_c) => {
                    if let Some((then_s, then_c)) = probe.readings.last() {
                        let moved = (degrees_c - then_c).abs();
                        let took = since_s - then_s;
                        if moved > FAR.value && moved > FAST.value * took {
                            let why = format!(
                                "the probe jumps: {moved:.0} K from row {before} within {} s; an open circuit, or a probe that slipped out",
                                measure::rounding::significant(took, 3)
                            );
                            wrong.tell(line, &column.head, &cell.text(), why);
                            continue;
                        }
                    }
                    probe.readings.push((since_s, degrees_c));
                    *before = line;
                }
            }
        }
    }
    if log.rows == 0 && wrong.0.is_empty() {
        let why = "there are no rows under the head; write one for each reading";
        wrong.tell(at + 2, "", "", why);
    }
    (log, wrong.0)
}

/// What is wrong, no more of it than is told one by one.
struct Wrong(Vec<Told>);

impl Wrong {
    fn tell(&mut self, row: usize, column: &str, found: &str, why: impl Into<String>) {
        if self.0.len() < crate::observe::MOST_TOLD {
            self.0.push(Told {
                row,
                column: column.to_owned(),
                found: found.chars().take(60).collect(),
                why: why.into(),
            });
        }
    }
}

fn degrees(
    cell: &Cell,
    unit: &str,
    number: &dyn Fn(&str) -> Result<f64, String>,
) -> Result<f64, String> {
    let value = match cell {
        Cell::Number(x) if x.is_finite() => *x,
        cell => number(&cell.text())?,
    };
    let degrees_c = in_unit(value, unit, "°C").map_err(|e| e.to_string())?;
    let Range { low, high } = PLAUSIBLE_C.range;
    if (low..=high).contains(&degrees_c) {
        Ok(degrees_c)
    } else {
        Err(format!(
            "a probe in a piece reads {low} to {high} °C, and this is {} °C; an open circuit, or another unit",
            measure::rounding::significant(degrees_c, 4)
        ))
    }
}

struct ProbeColumn {
    at: usize,
    head: String,
    name: String,
    unit: String,
}

struct Columns {
    time: usize,
    date: Option<usize>,
    time_head: String,
    time_unit: Option<String>,
    probes: Vec<ProbeColumn>,
    left_out: Vec<String>,
}

/// Words for a time, and for columns that only count the rows.
const TIMES: [&str; 4] = ["time", "elapsed", "clock", "moment"];
const COUNTS: [&str; 8] = ["no", "no.", "nr", "nr.", "#", "row", "record", "index"];

fn columns(at: usize, head: &[Cell], units: LogUnits<'_>, wrong: &mut Wrong) -> Option<Columns> {
    let heads: Vec<(String, Option<String>)> = head.iter().map(|c| head_of(&c.text())).collect();
    let lower = |i: usize| heads[i].0.to_lowercase();
    let all = 0..heads.len();
    let is_time = |i: &usize| TIMES.iter().any(|w| lower(*i).contains(w));
    let plain_unit = |i: &usize| {
        let name = lower(*i);
        [
            ("seconds", "s"),
            ("minutes", "min"),
            ("hours", "h"),
            ("s", "s"),
            ("min", "min"),
        ]
        .iter()
        .find(|(word, _)| *word == name)
        .map(|(_, unit)| *unit)
    };
    let date = all.clone().find(|i| lower(*i).contains("date"));
    let time = all
        .clone()
        .find(|i| is_time(i) && Some(*i) != date)
        .or_else(|| all.clone().find(|i| plain_unit(i).is_some()))
        .or(date);
    let Some(time) = time else {
        let why = "one column has to be the time: head it ‘time (s)’, ‘time (min)’, or ‘time’ over h:mm:ss or a date and time";
        wrong.tell(at, "", "", why);
        return None;
    };
    let date = date.filter(|d| *d != time);
    let given = heads[time]
        .1
        .clone()
        .filter(|unit| !unit.to_lowercase().ends_with("mm:ss") || unit.len() == 5)
        .or_else(|| plain_unit(&time).map(str::to_owned))
        .or_else(|| units.time.map(str::to_owned));
    if let Some(unit) = units.degrees
        && let Err(error) = in_unit(1.0, unit, "°C")
    {
        wrong.tell(at, "", unit, error.to_string());
        return None;
    }
    let time_unit = match given.as_deref().map(str::to_lowercase).as_deref() {
        None => None,
        Some("sec" | "seconds") => Some("s".to_owned()),
        Some("minutes") => Some("min".to_owned()),
        Some("hours") => Some("h".to_owned()),
        Some(unit) if TIME_UNITS.contains(&unit) || CLOCKS.contains(&unit) => Some(unit.to_owned()),
        Some(unit) => {
            let why = "this isn’t a unit of time; allowed are s, min, h, mm:ss and hh:mm";
            wrong.tell(at, &heads[time].0, unit, why);
            return None;
        }
    };
    let (mut probes, mut left_out, mut unitless) = (Vec::new(), Vec::new(), Vec::new());
    for (i, (name, unit)) in heads.iter().enumerate() {
        let counts = COUNTS.contains(&name.to_lowercase().as_str());
        if i == time || Some(i) == date || name.is_empty() || counts {
            continue;
        }
        let of = |unit: &str| ProbeColumn {
            at: i,
            head: head[i].text(),
            name: name.clone(),
            unit: unit.to_owned(),
        };
        match (unit, units.degrees) {
            (Some(unit), _) if in_unit(1.0, unit, "°C").is_ok() => probes.push(of(unit)),
            (Some(_), _) => left_out.push(head[i].text()),
            (None, Some(unit)) if in_unit(1.0, unit, "°C").is_ok() => probes.push(of(unit)),
            (None, _) => unitless.push(head[i].text()),
        }
    }
    if probes.is_empty() {
        for name in &unitless {
            let why =
                "it has no unit; head the column like ‘core (°C)’ or ‘core (°F)’, or say the unit";
            wrong.tell(at, name, name, why);
        }
        if unitless.is_empty() {
            let why = "no column is a temperature; head it with its unit, such as ‘core (°C)’";
            wrong.tell(at, "", "", why);
        }
        return None;
    }
    left_out.append(&mut unitless);
    // Names tell the probes apart in the book.
    let mut seen: Vec<String> = Vec::new();
    for probe in &mut probes {
        let mut name = probe.name.clone();
        let mut n = 2;
        while seen.contains(&name) {
            name = format!("{} {n}", probe.name);
            n += 1;
        }
        seen.push(name.clone());
        probe.name = name;
    }
    Some(Columns {
        time,
        date,
        time_head: heads[time].0.clone(),
        time_unit,
        probes,
        left_out,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(text: &str, units: LogUnits<'_>) -> (ProbeLog, Vec<Told>) {
        let cell = |c: &str| Cell::Text(c.to_owned());
        let rows: Vec<Vec<Cell>> = text
            .lines()
            .map(|l| l.split('|').map(|c| cell(c.trim())).collect())
            .collect();
        let number = |t: &str| t.parse().map_err(|_| "isn’t a number".to_owned());
        probe_log(&rows, units, &number)
    }

    fn times(text: &str) -> Vec<f64> {
        let (log, wrong) = read(text, LogUnits::default());
        assert_eq!(wrong, [], "{text}");
        log.probes[0].readings.iter().map(|r| r.0).collect()
    }

    fn why(text: &str) -> (usize, String, String) {
        let (_, wrong) = read(text, LogUnits::default());
        assert_eq!(wrong.len(), 1, "{text}: {wrong:?}");
        let told = &wrong[0];
        (told.row, told.column.clone(), told.why.clone())
    }

    #[test]
    fn times_are_read_however_a_logger_writes_them() {
        for text in [
            "time (s)|core (°C)\n0|25\n90|30",
            "minutes|core (°C)\n0|25\n1.5|30",
            "Elapsed time [min]|core (degC)\n0|25\n1.5|30",
            "time|core (°C)\n0:00:00|25\n0:01:30|30",
            "time (mm:ss)|core (°C)\n59:00|25\n60:30|30",
            "time|core (°C)\n2026-03-02 23:59:30|25\n2026-03-03 00:01:00|30",
            "time|core (°C)\n2026-03-02T09:00:00Z|25\n2026-03-02T09:01:30.000Z|30",
            "date|time|core (°C)\n02.03.2026|23:59:30|25\n03.03.2026|0:01:00|30",
            "date|time|core (°C)\n3/2/2026|11:59:30 AM|25\n3/2/2026|12:01:00 PM|30",
            "No.|Date|core (°C)\n1|28.02.2026 23:59:00|25\n2|01.03.2026 00:00:30|30",
        ] {
            assert_eq!(times(text), [0.0, 90.0], "{text}");
        }
    }

    #[test]
    fn what_cannot_be_so_is_told_by_row_and_column() {
        for (text, row, column, part) in [
            ("", 1, "", "nothing in the table"),
            ("core (°C)|crust (°C)\n1|2", 1, "", "has to be the time"),
            ("time (kg)|core (°C)\n1|2", 1, "time", "unit of time"),
            ("time|core (°C)\n5|25", 2, "time", "no unit"),
            (
                "time|core (°C)\n5:10|25",
                2,
                "time",
                "minutes and seconds or hours",
            ),
            ("time (s)|core\n5|25", 1, "core", "no unit"),
            (
                "time (s)|damp (%)\n5|25",
                1,
                "",
                "no column is a temperature",
            ),
            ("time (s)|core (°C)", 2, "", "no rows"),
            ("time (s)|core (°C)\n5|25\n4|26", 3, "time", "before row 2"),
            (
                "time (s)|core (°C)\n5|25\n6|OL",
                3,
                "core (°C)",
                "isn’t a number",
            ),
            (
                "time (s)|core (°C)\n5|25\n6|1372",
                3,
                "core (°C)",
                "-30 to 400",
            ),
            (
                "time (s)|core (°C)\n5|25\n6|90\n7|26",
                3,
                "core (°C)",
                "jumps: 65 K from row 2",
            ),
            (
                "date|core (°C)\n3/2/2026 9:00:00|25\n3/3/2026 9:00:00|30",
                3,
                "date",
                "day or the month",
            ),
            ("time|core (°C)\n0:61:00|25", 2, "time", "isn’t a time"),
        ] {
            let (at, of, told) = why(text);
            assert_eq!((at, of.as_str()), (row, column), "{text}: {told}");
            assert!(told.contains(part), "{text}: {told}");
        }
    }

    #[test]
    fn units_that_the_heads_lack_can_be_said_and_other_columns_are_left_out() {
        let units = LogUnits {
            time: Some("min"),
            degrees: Some("°F"),
        };
        let text = "no|time|core|core|damp (%)\n1|0|212|32|40\n2|1|212|32|41";
        let (log, wrong) = read(text, units);
        assert_eq!(wrong, []);
        let names: Vec<&str> = log.probes.iter().map(|p| p.name.as_str()).collect();
        assert_eq!(names, ["core", "core 2"]);
        assert_eq!(log.left_out, ["damp (%)"]);
        assert!((log.probes[0].readings[1].1 - 100.0).abs() < 1e-9);
        assert_eq!(log.probes[1].readings[1].0, 60.0);
        // A unit that isn't one is told, whoever says it.
        for (time, degrees, found) in [
            (Some("days"), None, "days"),
            (Some("s"), Some("bar"), "bar"),
        ] {
            let (_, wrong) = read("time|core\n0|25", LogUnits { time, degrees });
            assert_eq!(
                (wrong.len(), wrong[0].found.as_str()),
                (1, found),
                "{wrong:?}"
            );
        }
        // A head that tells how a time is written tells no unit.
        let (log, wrong) = read(
            "time (h:mm:ss)|core (°C)\n0:01:00|25\n0:02:30|30",
            LogUnits::default(),
        );
        assert_eq!((wrong.len(), log.probes[0].readings[1].0), (0, 90.0));
        // A column that has a unit shows that the others aren't meant.
        let (log, wrong) = read("time (s)|core (°C)|battery\n0|25|3.1", LogUnits::default());
        assert_eq!(
            (log.left_out.as_slice(), wrong.len()),
            (["battery".to_owned()].as_slice(), 0)
        );
    }

    #[test]
    fn the_moment_a_piece_went_in_is_read_as_the_log_writes_it() {
        let number = |t: &str| t.parse().map_err(|_| "isn’t a number".to_owned());
        let at =
            |text: &str, moment: &str| read(text, LogUnits::default()).0.moment_s(moment, &number);
        let plain = "time (min)|core (°C)\n2|25\n3|30";
        assert_eq!(at(plain, "2.5"), Ok(30.0));
        assert_eq!(at(plain, "0:02:30"), Ok(30.0));
        let dated = "time|core (°C)\n2026-03-02 23:59:30|25\n2026-03-03 00:01:00|30";
        assert_eq!(at(dated, "2026-03-03 00:00:30"), Ok(60.0));
        assert_eq!(at(dated, "23:59:40"), Ok(10.0));
        assert_eq!(at(dated, "0:00:30"), Ok(60.0), "after midnight");
        assert!(at(plain, "soon").is_err());
    }
}
