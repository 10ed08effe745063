//! Trials of the book, and what their batches have come to.

use crate::batches_read::Mark;
use crate::planning::{batch_form, save, trial_form};
use crate::texts::shown;
use crate::{App, AppError, now};
use bench::{
    Batch, Beside, Done, Entry as Row, Made, More, Says, Trial, What, beside, done, done_of,
};
use book::{BenchEntry, Entered, Entry, Kind, NewBenchEntry, Order, Page};
use serde::Serialize;
use std::sync::Arc;

/// A trial with its batches.
#[derive(Clone, Debug, Serialize)]
pub struct TrialView {
    /// The newest revision.
    pub entry: Entry,
    /// The trial.
    pub trial: Trial,
    /// Its batches, each with what it has come to.
    pub made: Arc<[Made]>,
    /// What of the plan was done.
    pub done: Done,
    /// What it was read at.
    #[serde(skip)]
    pub(crate) marks: Vec<Mark>,
}

/// A line of the list of trials.
#[derive(Clone, Debug, Serialize)]
pub struct TrialLine {
    /// The newest revision.
    pub entry: Entry,
    /// The trial.
    pub trial: Trial,
}

/// A batch as it is looked at.
#[derive(Clone, Debug, Serialize)]
pub struct BatchView {
    /// The newest revision.
    pub entry: Entry,
    /// The batch with what it has come to.
    pub made: Made,
}

/// A row of the book as the bench reads it.
pub fn row_of(entry: BenchEntry) -> Row {
    as_row(entry.row, entry.id)
}

/// A row that is about to be written, as the bench would read it in that place.
pub fn as_row(new: NewBenchEntry, id: u64) -> Row {
    let NewBenchEntry {
        key,
        kind: _,
        thing: _,
        at,
        arrived,
        who,
        device,
        what,
        of,
        on,
        value,
        unit,
        strikes,
        why,
    } = new;
    Row {
        id,
        key,
        at,
        arrived,
        who,
        device,
        what,
        of,
        on,
        value,
        unit,
        strikes,
        why,
    }
}

/// A form that the book holds and nobody can read.
pub(crate) fn unread(thing: &str, error: &bench::FormError) -> AppError {
    AppError::Value {
        field: shown(thing),
        why: error.to_string(),
    }
}

impl App {
    /// The trials of a study, the newest first; of every study where none is named.
    ///
    /// # Errors
    /// What the book tells.
    pub async fn trials(&self, study: Option<&str>) -> Result<Vec<TrialLine>, AppError> {
        let mut page = Page::first(Page::LONGEST);
        let mut all = Vec::new();
        loop {
            let list = self
                .book()
                .list(Kind::Trial, None, Order::Recent, page)
                .await?;
            for entry in list.items {
                let Some(read) = self.trial_read(&entry).await? else {
                    continue;
                };
                if study.is_none_or(|s| s == read.trial.study) {
                    let trial = read.trial.clone();
                    all.push(TrialLine { entry, trial });
                }
            }
            page.start += page.count;
            if page.start >= list.total {
                return Ok(all);
            }
        }
    }

    /// What of the plans of a study’s trials was done, the newest trial first.
    ///
    /// # Errors
    /// What the book tells.
    pub async fn trials_done(&self, study: &str) -> Result<Vec<(TrialLine, Done)>, AppError> {
        let lines = self.trials(Some(study)).await?;
        let of_trial = |line: &TrialLine| -> Vec<String> {
            line.trial
                .batches()
                .into_iter()
                .map(str::to_owned)
                .collect()
        };
        let things: Vec<String> = lines.iter().flat_map(of_trial).collect();
        let ends = self.batch_ends().await?;
        let mut standings = self.standings(&things, &ends).await?.into_iter();
        let mut all = Vec::with_capacity(lines.len());
        for line in lines {
            let each = of_trial(&line).into_iter().zip(standings.by_ref());
            let code = |id: &str| crate::at_bench::code_in(&line.trial, id);
            let done = done_of(&line.trial, each.map(|(id, s)| (id.clone(), code(&id), s)));
            all.push((line, done));
        }
        Ok(all)
    }

    /// A trial with what its batches have come to.
    ///
    /// # Errors
    /// No such trial; what the book tells.
    pub async fn trial(&self, thing: &str) -> Result<TrialView, AppError> {
        let newest = self
            .book()
            .newest(Kind::Trial, thing)
            .await?
            .ok_or_else(|| AppError::NoTrial(shown(thing)))?;
        let trial = Trial::read(&newest.form).map_err(|e| unread(thing, &e))?;
        let (batches, made) = self.made_of(thing, &trial).await?;
        let mut marks = vec![(newest.entry.id, 0)];
        marks.extend(batches);
        let done = done(&trial, &made);
        Ok(TrialView {
            entry: newest.entry,
            trial,
            made,
            done,
            marks,
        })
    }

    /// A batch with what it has come to.
    ///
    /// # Errors
    /// No such batch; what the book tells.
    pub async fn batch(&self, thing: &str) -> Result<BatchView, AppError> {
        let things = [thing.to_owned()];
        let ends = self.batch_ends().await?;
        let mut read = self.folded_all(&things, &ends).await?;
        let read = read.pop().ok_or_else(|| AppError::NoBatch(shown(thing)))?;
        Ok(read.view.clone())
    }

    /// The batches of a trial, or all of the book, in the order of their titles.
    ///
    /// # Errors
    /// No such trial; what the book tells.
    pub async fn batches(&self, trial: Option<&str>) -> Result<Vec<Made>, AppError> {
        if let Some(trial) = trial {
            return Ok(self.trial(trial).await?.made.to_vec());
        }
        let ends = self.batch_ends().await?;
        let mut page = Page::first(Page::LONGEST);
        let mut all = Vec::new();
        loop {
            let list = self
                .book()
                .list(Kind::Batch, None, Order::Title, page)
                .await?;
            let things: Vec<String> = list.items.into_iter().map(|e| e.thing).collect();
            let read = self.folded_all(&things, &ends).await?;
            all.extend(read.iter().map(|f| f.view.made.clone()));
            page.start += page.count;
            if page.start >= list.total {
                return Ok(all);
            }
        }
    }

    /// What each batch of a study’s trials says of its figures, the newest trial first, and how many batches aren’t read
    /// yet: a large book is read in the background after the start.
    ///
    /// # Errors
    /// What the book tells.
    pub async fn said_of(&self, study: &str) -> Result<(Vec<Says>, usize), AppError> {
        let mut things = Vec::new();
        for line in self.trials(Some(study)).await? {
            things.extend(line.trial.batches().into_iter().map(str::to_owned));
        }
        if things.is_empty() {
            return Ok((Vec::new(), 0));
        }
        self.says_all(&things, &self.batch_ends().await?).await
    }

    /// What the batches of a study’s trials say of its figures, and how many batches aren’t read yet.
    ///
    /// # Errors
    /// What the book tells.
    pub async fn beside(&self, study: &str) -> Result<(Vec<Beside>, usize), AppError> {
        let (said, unread) = self.said_of(study).await?;
        Ok((beside(&said), unread))
    }

    /// Writes one row of a batch, as a person at this computer does.
    ///
    /// # Errors
    /// No such batch; a row that the book refuses, and why; what the book tells.
    pub async fn enter_one(&self, row: NewBenchEntry) -> Result<BenchEntry, AppError> {
        let mut entered = self.book().enter(vec![row]).await?;
        match entered.pop() {
            Some(Entered::Kept(entry) | Entered::KeptAlready(entry)) => Ok(entry),
            Some(Entered::Refused(refused)) => Err(AppError::Value {
                field: refused.field.to_owned(),
                why: refused.to_string(),
            }),
            None => Err(AppError::Busy),
        }
    }

    /// Gives a batch up, with the reason; what was written of it stays.
    ///
    /// # Errors
    /// No such batch; no reason; what the book tells.
    pub async fn abandon(&self, who: &str, batch: &str, why: &str) -> Result<(), AppError> {
        let why = reason(why)?;
        self.batch(batch).await?;
        let row = at_this_desk(who, batch, What::Abandoned, &why, &now());
        self.enter_one(row).await?;
        Ok(())
    }

    /// Puts a batch into a trial that its plan didn't have. Gives the lasting name of the batch.
    ///
    /// # Errors
    /// No such trial, unit or treatment; no reason; somebody changed the trial meanwhile; what the book tells.
    pub async fn more_batches(
        &self,
        who: &str,
        thing: &str,
        what: More<'_>,
        why: &str,
    ) -> Result<String, AppError> {
        let why = reason(why)?;
        let view = self.trial(thing).await?;
        let when = now();
        let (trial, id, mut batch) = view
            .trial
            .with_batch(thing, what, &when, who, &why)
            .ok_or_else(|| AppError::Value {
                field: "batch".to_owned(),
                why: "the trial has no such unit or treatment; choose one of its run sheet"
                    .to_owned(),
            })?;
        // It weighs and drinks what its treatment does in the plan.
        if let Some(like) = view.made.iter().find(|m| m.batch.label == batch.label) {
            batch = Batch {
                dough_kg: like.batch.dough_kg,
                dry_mix_kg: like.batch.dry_mix_kg,
                pieces: like.batch.pieces,
                titration_sd_kg: like.batch.titration_sd_kg,
                drinks: like.batch.drinks.clone(),
                treatment: like.batch.treatment.clone(),
                ..batch
            };
        }
        let title = format!("{} of {}: {}", batch.code, trial.name, batch.label);
        let mut changed = save(
            Kind::Trial,
            thing,
            who,
            &when,
            &trial.name,
            trial_form(&trial)?,
        );
        changed.base = Some(view.entry.number);
        changed.why = Some(why);
        let saves = vec![
            changed,
            save(Kind::Batch, &id, who, &when, &title, batch_form(&batch)?),
        ];
        self.book().save_all(saves).await?;
        Ok(id)
    }
}

pub(crate) fn reason(why: &str) -> Result<String, AppError> {
    crate::texts::said(Some(why.to_owned()))?.ok_or_else(|| AppError::Value {
        field: "reason".to_owned(),
        why: "write why, so that whoever reads the trial knows".to_owned(),
    })
}

/// A row that a person at this computer writes.
pub(crate) fn at_this_desk(
    who: &str,
    batch: &str,
    what: What,
    value: &str,
    when: &str,
) -> NewBenchEntry {
    NewBenchEntry {
        key: new_key(),
        kind: Kind::Batch,
        thing: batch.to_owned(),
        at: when.to_owned(),
        arrived: when.to_owned(),
        who: who.to_owned(),
        device: None,
        what: what.about().word.to_owned(),
        of: None,
        on: None,
        value: value.to_owned(),
        unit: None,
        strikes: None,
        why: None,
    }
}

/// A key that no other row has: the moment to the nanosecond and how many this program has made.
pub fn new_key() -> String {
    use std::sync::atomic::{AtomicU64, Ordering};
    static MADE: AtomicU64 = AtomicU64::new(0);
    let n = MADE.fetch_add(1, Ordering::Relaxed);
    let at = jiff::Timestamp::now().as_nanosecond();
    format!("d{at:x}-{:x}-{n:x}", std::process::id())
}
