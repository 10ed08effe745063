//! Measurements of a file into the rows of a trial's batches, and out again.

use crate::trial_tables::{csv_of, trial_rows, xlsx_of};
use crate::trials_kept::{at_this_desk, reason};
use crate::{App, AppError, TableFormat, TrialView, now};
use bench::observe::{Cell, How, New, Observed, Told, observe};
use bench::{BendCurve, Sheet, Typed, What, bend_curves, measured, observe_typed, tidy};
use book::exchange::{Cell as Given, Decimal, read_number};
use book::{Entered, Kind, NewBenchEntry};

/// A file of measurements.
#[derive(Clone, Copy, Debug)]
pub struct MeasurementsFile<'a> {
    /// Its bytes: CSV, or a workbook.
    pub bytes: &'a [u8],
    /// Which sheet of a workbook.
    pub sheet: Option<&'a str>,
    /// How decimals are marked.
    pub decimal: Decimal,
    /// Columns that a person has named themselves: head, and what it is.
    pub named: &'a [(String, String)],
    /// Why values that are kept otherwise are struck through.
    pub correct: Option<&'a str>,
}

/// What was entered of a file.
#[derive(Clone, Debug, serde::Serialize)]
pub struct EnteredFile {
    /// Rows that were written into the book.
    pub entered: usize,
    /// Rows that were there already.
    pub already: usize,
    /// Rows that the book refused, each with why.
    pub refused: Vec<String>,
}

impl App {
    /// What a file of measurements comes to for a trial, nothing entered.
    ///
    /// # Errors
    /// A file that is no table, or too large.
    pub fn measurements(
        &self,
        view: &TrialView,
        file: &MeasurementsFile<'_>,
    ) -> Result<Observed, AppError> {
        let rows = trial_rows(file.bytes, file.sheet, file.decimal)?;
        let cells: Vec<Vec<Cell>> = rows
            .rows
            .into_iter()
            .map(|row| row.into_iter().map(cell).collect())
            .collect();
        let decimal = file.decimal;
        let how = How {
            named: file.named,
            number: &|text| read_number(text, decimal),
            correct: file.correct,
        };
        Ok(observe(&view.trial, &view.made, &cells, &how))
    }

    /// The curves of a file that an instrument wrote while it bent pieces, and what of it can’t be read.
    ///
    /// # Errors
    /// A file that is no table, or too large.
    pub fn bend_curves(
        &self,
        bytes: &[u8],
        sheet: Option<&str>,
        decimal: Decimal,
    ) -> Result<(Vec<BendCurve>, Vec<Told>), AppError> {
        let rows = trial_rows(bytes, sheet, decimal)?.rows;
        let rows: Vec<Vec<Cell>> = rows
            .into_iter()
            .map(|row| row.into_iter().map(cell).collect())
            .collect();
        Ok(bend_curves(&rows, &|text| read_number(text, decimal)))
    }

    /// What was typed into a grid comes to, nothing entered.
    pub fn typed_measurements(
        &self,
        view: &TrialView,
        typed: &[Typed],
        decimal: Decimal,
        correct: Option<&str>,
    ) -> Observed {
        let how = How {
            named: &[],
            number: &|text| read_number(text, decimal),
            correct,
        };
        observe_typed(&view.trial, &view.made, typed, &how)
    }

    /// Sets a value of a batch aside, with the reason; it stays visible.
    ///
    /// # Errors
    /// No reason; no such value that stands; what the book tells.
    pub async fn set_aside(
        &self,
        who: &str,
        batch: &str,
        key: &str,
        why: &str,
    ) -> Result<(), AppError> {
        let why = reason(why)?;
        let made = self.batch(batch).await?.made;
        let value = made.state.values.iter().find(|v| v.told.key == key);
        let wrong = match value {
            None => "no such value stands; choose one of the list",
            Some(value) if value.set_aside().is_some() => "it is set aside already",
            Some(_) => {
                let mut row = at_this_desk(who, batch, What::SetAside, &why, &now());
                row.of = Some(key.to_owned());
                self.enter_one(row).await?;
                return Ok(());
            }
        };
        Err(AppError::Value {
            field: "value".to_owned(),
            why: wrong.to_owned(),
        })
    }

    /// Takes a value that was set aside back among the others, with the reason: the row that set it aside is struck through.
    ///
    /// # Errors
    /// No reason; no such value; what the book tells.
    pub async fn take_back(
        &self,
        who: &str,
        batch: &str,
        key: &str,
        why: &str,
    ) -> Result<(), AppError> {
        let why = reason(why)?;
        let made = self.batch(batch).await?.made;
        let struck = |k: &str| made.state.struck.iter().any(|s| s.told.key == k);
        let rows = self.book().entries_of(Kind::Batch, batch, 0).await?;
        let word = What::SetAside.about().word;
        let by = rows.iter().filter(|r| r.row.what == word);
        let by = by.filter(|r| r.row.of.as_deref() == Some(key));
        let standing: Vec<&str> = by
            .map(|r| r.row.key.as_str())
            .filter(|k| !struck(k))
            .collect();
        if standing.is_empty() {
            return Err(AppError::Value {
                field: "value".to_owned(),
                why: "it isn’t set aside; choose one that is".to_owned(),
            });
        }
        for aside in standing {
            let mut row = at_this_desk(who, batch, What::SetAside, "", &now());
            row.of = Some(key.to_owned());
            row.strikes = Some(aside.to_owned());
            row.why = Some(why.clone());
            self.enter_one(row).await?;
        }
        Ok(())
    }

    /// Writes the rows that a file came to into the book, all in one transaction.
    ///
    /// # Errors
    /// What the book tells.
    pub async fn enter_measurements(
        &self,
        who: &str,
        rows: Vec<New>,
        correct: Option<&str>,
    ) -> Result<EnteredFile, AppError> {
        self.enter_measurements_telling(who, rows, correct, |_| ())
            .await
    }

    /// The same, telling how many rows are written so far.
    ///
    /// # Errors
    /// As [`App::enter_measurements`].
    pub async fn enter_measurements_telling(
        &self,
        who: &str,
        rows: Vec<New>,
        correct: Option<&str>,
        done: impl FnMut(usize),
    ) -> Result<EnteredFile, AppError> {
        let when = now();
        let rows = rows
            .into_iter()
            .map(|new| NewBenchEntry {
                key: new.key,
                kind: Kind::Batch,
                thing: new.batch,
                at: when.clone(),
                arrived: when.clone(),
                who: who.to_owned(),
                device: None,
                what: new.what.about().word.to_owned(),
                of: Some(new.of),
                on: new.on,
                value: new.value,
                unit: new.unit,
                why: new
                    .strikes
                    .is_some()
                    .then(|| correct.unwrap_or_default().to_owned()),
                strikes: new.strikes,
            })
            .collect();
        let mut told = EnteredFile {
            entered: 0,
            already: 0,
            refused: Vec::new(),
        };
        for entered in self.book().enter_telling(rows, done).await? {
            match entered {
                Entered::Kept(_) => told.entered += 1,
                Entered::KeptAlready(_) => told.already += 1,
                Entered::Refused(refused) => told.refused.push(refused.to_string()),
            }
        }
        Ok(told)
    }

    /// The measurements of a trial as a table: of one response as the analysis takes them, or all, one value a row.
    ///
    /// # Errors
    /// A response that the trial doesn't ask for.
    pub fn measurements_out(
        &self,
        view: &TrialView,
        response: Option<&str>,
    ) -> Result<Sheet, AppError> {
        match response {
            None => Ok(tidy(&view.trial, &view.made)),
            Some(name) => {
                let asked = view.trial.response(name).ok_or_else(|| {
                    let ids = view.trial.responses.iter().map(|r| r.id.as_str());
                    AppError::Value {
                        field: "response".to_owned(),
                        why: format!(
                            "the trial doesn’t ask for ‘{}’; it asks for {}",
                            crate::texts::shown(name),
                            ids.collect::<Vec<_>>().join(", ")
                        ),
                    }
                })?;
                Ok(measured(&view.trial, &view.made, asked))
            }
        }
    }

    /// Such a table as a file.
    ///
    /// # Errors
    /// As [`App::measurements_out`].
    pub fn measurements_file(
        &self,
        view: &TrialView,
        response: Option<&str>,
        format: TableFormat,
    ) -> Result<Vec<u8>, AppError> {
        let sheet = self.measurements_out(view, response)?;
        match format {
            TableFormat::Csv => csv_of(&sheet),
            TableFormat::Xlsx => xlsx_of(&view.trial.name, &sheet),
        }
    }
}

pub(crate) fn cell(given: Given) -> Cell {
    match given {
        Given::Empty => Cell::Empty,
        Given::Text(text) => Cell::Text(text),
        Given::Number(x) => Cell::Number(x),
    }
}
