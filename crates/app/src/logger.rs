//! What a logger wrote of the temperature inside pieces, matched to batches.

use crate::observations::cell;
use crate::trial_tables::trial_rows;
use crate::{App, AppError, TrialView};
use bench::observe::{Cell, Told};
use bench::{LogUnits, ProbeLog, ProbeOf, ProbeRows, probe_log, probe_rows};
use book::exchange::{Decimal, read_number};

/// A file of a logger.
#[derive(Clone, Copy, Debug)]
pub struct LoggerFile<'a> {
    /// Its bytes: CSV, or a workbook.
    pub bytes: &'a [u8],
    /// Which sheet of a workbook.
    pub sheet: Option<&'a str>,
    /// How decimals are marked.
    pub decimal: Decimal,
    /// Units that its heads lack.
    pub units: LogUnits<'a>,
}

/// What somebody says of a log: which probe was in which batch, and when the pieces were in the oven.
#[derive(Clone, Debug, Default)]
pub struct LoggerSays {
    /// Probe, code of its batch, and its height over the band in mm.
    pub probes: Vec<(String, String, Option<f64>)>,
    /// When the pieces went in, as the log writes a moment; none for its beginning.
    pub entered: Option<String>,
    /// When they came out; none for its end.
    pub left: Option<String>,
    /// Why readings that are kept otherwise are struck through.
    pub correct: Option<String>,
}

impl App {
    /// The probes of a logger’s file, and what of it can’t be read.
    ///
    /// # Errors
    /// A file that is no table, or too large.
    pub fn probe_log(&self, file: &LoggerFile<'_>) -> Result<(ProbeLog, Vec<Told>), AppError> {
        let rows = trial_rows(file.bytes, file.sheet, file.decimal)?.rows;
        let rows: Vec<Vec<Cell>> = rows
            .into_iter()
            .map(|row| row.into_iter().map(cell).collect())
            .collect();
        let number = |text: &str| read_number(text, file.decimal);
        Ok(probe_log(&rows, file.units, &number))
    }

    /// What the probes of a log come to for the batches of a trial, nothing entered.
    ///
    /// # Errors
    /// A probe that the log doesn’t have, a batch that the trial doesn’t, a moment that can’t be read.
    pub fn probe_rows(
        &self,
        view: &TrialView,
        log: &ProbeLog,
        says: &LoggerSays,
        decimal: Decimal,
    ) -> Result<Vec<ProbeRows>, AppError> {
        let wrong = |field: &str, why: String| AppError::Value {
            field: field.to_owned(),
            why,
        };
        let moment = |field: &str, text: &Option<String>| match text {
            None => Ok(None),
            Some(text) => log
                .moment_s(text, &|t| read_number(t, decimal))
                .map(Some)
                .map_err(|why| wrong(field, format!("‘{}’: {why}", crate::texts::shown(text)))),
        };
        let entered_s = moment("went in", &says.entered)?.unwrap_or(0.0);
        let left_s = moment("came out", &says.left)?;
        if left_s.is_some_and(|left| left <= entered_s) {
            let why = "it isn’t after the moment when the pieces went in";
            return Err(wrong("came out", why.to_owned()));
        }
        let mut all = Vec::with_capacity(says.probes.len());
        for (name, batch, height_mm) in &says.probes {
            let probe = log.probes.iter().find(|p| p.name == *name);
            let probe = probe.ok_or_else(|| {
                let names: Vec<&str> = log.probes.iter().map(|p| p.name.as_str()).collect();
                let why = format!(
                    "the log has no probe ‘{}’; it has {}",
                    crate::texts::shown(name),
                    names.join(", ")
                );
                wrong("probe", why)
            })?;
            let code = batch.trim();
            let made = view
                .made
                .iter()
                .find(|m| m.batch.code.eq_ignore_ascii_case(code) || m.id == code);
            let made = made.ok_or_else(|| AppError::NoBatch(crate::texts::shown(code)))?;
            if height_mm.is_some_and(|mm| !(0.0..=100.0).contains(&mm)) {
                let why = "heights count from the band, 0 to 100 mm";
                return Err(wrong(&format!("height of {name}"), why.to_owned()));
            }
            let of = ProbeOf {
                probe,
                made,
                height_mm: *height_mm,
            };
            all.push(probe_rows(&of, entered_s, left_s, says.correct.as_deref()));
        }
        Ok(all)
    }
}
