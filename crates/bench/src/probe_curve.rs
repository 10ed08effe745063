//! The temperature that a probe inside a piece read over the time in the oven, as it is kept in one row: thinned, for a
//! logger's thousands tell no more.
//!
//! ```text
//! 0 24.1;10 24.3;20 26.8
//! ```
//!
//! Each reading is the seconds since the piece entered the oven and degrees Celsius.

use crate::Told;
use serde::Serialize;

/// At most one reading is kept of so many seconds.
pub const THINNED_TO_S: f64 = 10.0;
/// Longest text of a curve, bytes: what a row of the book holds.
pub const LONGEST_BYTES: usize = 4_000;
/// Steps that a long curve is thinned to until it fits into a row, s.
const STEPS_S: [f64; 9] = [
    THINNED_TO_S,
    15.0,
    20.0,
    30.0,
    60.0,
    120.0,
    300.0,
    600.0,
    1200.0,
];

/// A reading: seconds since the piece entered the oven, and °C.
pub type ProbeReading = (f64, f64);

/// What a probe read, as it stands in the book.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ProbeCurve {
    /// The probe.
    pub probe: String,
    /// Its readings, in the order of time.
    pub readings: Vec<ProbeReading>,
    /// Why it is set aside.
    pub set_aside: Option<String>,
    /// Where it comes from.
    pub told: Told,
}

/// Reads the text of a row; none where it isn't one.
///
/// ```
/// use bench::read_curve;
/// assert_eq!(read_curve("0 24.1;10 24.3"), Some(vec![(0.0, 24.1), (10.0, 24.3)]));
/// assert_eq!(read_curve("10 24.1;0 24.3"), None, "time runs one way");
/// assert_eq!(read_curve("hot"), None);
/// ```
pub fn read_curve(text: &str) -> Option<Vec<ProbeReading>> {
    let number = |text: &str| text.trim().parse::<f64>().ok().filter(|x| x.is_finite());
    let mut readings: Vec<ProbeReading> = Vec::new();
    for pair in text.split(';') {
        let (time, degrees) = pair.trim().split_once(' ')?;
        let reading = (number(time)?, number(degrees)?);
        if reading.0 < 0.0 || readings.last().is_some_and(|last| last.0 >= reading.0) {
            return None;
        }
        readings.push(reading);
    }
    Some(readings)
}

/// The text of readings that come in the order of time: of each step of seconds the first one, to a tenth of a second and
/// of a degree. Beside it the step, and how many readings were kept.
///
/// ```
/// let read: Vec<(f64, f64)> = (0..600).map(|s| (f64::from(s), 20.0 + 0.1 * f64::from(s))).collect();
/// let (text, step_s, kept) = bench::write_curve(&read);
/// assert!(text.starts_with("0 20;10 21;20 22;"));
/// assert_eq!((step_s, kept), (10.0, 60));
/// ```
pub fn write_curve(readings: &[ProbeReading]) -> (String, f64, usize) {
    let mut last = (String::new(), THINNED_TO_S, 0);
    for step_s in STEPS_S {
        let kept = thinned(readings, step_s);
        let tenth = |x: f64| (10.0 * x).round() / 10.0;
        let each = kept
            .iter()
            .map(|(time, degrees)| format!("{} {}", tenth(*time), tenth(*degrees)));
        let text = each.collect::<Vec<_>>().join(";");
        last = (text, step_s, kept.len());
        if last.0.len() <= LONGEST_BYTES {
            break;
        }
    }
    last
}

/// Of each step of seconds the first reading.
pub fn thinned(readings: &[ProbeReading], step_s: f64) -> Vec<ProbeReading> {
    let mut kept: Vec<ProbeReading> = Vec::new();
    let step = |time: f64| (time / step_s + 1e-9).floor();
    for reading in readings {
        if kept.last().is_none_or(|l| step(l.0) < step(reading.0)) {
            kept.push(*reading);
        }
    }
    kept
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn a_day_of_readings_fits_into_a_row() {
        // A logger that ran on over night, five readings a second.
        let read: Vec<ProbeReading> = (0..300_000).map(|n| (f64::from(n) / 5.0, -18.25)).collect();
        let (text, step_s, kept) = write_curve(&read);
        assert!(text.len() <= LONGEST_BYTES && step_s > THINNED_TO_S);
        assert_eq!(read_curve(&text).unwrap().len(), kept);
    }

    proptest! {
        /// What is kept is among what was read, to a tenth, never two in one step.
        #[test]
        fn a_curve_reads_back(gaps in prop::collection::vec(0.2..30.0_f64, 1..200), start in 0.0..100.0_f64) {
            let mut time = start;
            let read: Vec<ProbeReading> = gaps.iter().map(|gap| {
                time += gap;
                (time, 20.0 + time / 10.0)
            }).collect();
            let (text, step_s, kept) = write_curve(&read);
            let back = read_curve(&text).unwrap();
            prop_assert_eq!(back.len(), kept);
            for pair in back.windows(2) {
                prop_assert!((pair[0].0 / step_s).floor() <= (pair[1].0 / step_s).floor());
            }
            for (time, degrees) in back {
                prop_assert!(read.iter().any(|r| (r.0 - time).abs() < 0.0501 && (r.1 - degrees).abs() < 0.0501));
            }
        }
    }
}
