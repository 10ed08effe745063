//! Batches that were read lie here until they are pushed off: what was made of a batch's rows is found again as long as
//! nothing was written of it. Lists of batches need little of each, and that little is kept of very many.

use crate::results::ResponseResult;
use crate::trials_kept::{BatchView, row_of};
use crate::{App, AppError};
use bench::{Batch, Made, Says, Standing, Trial, closed, fold, says};
use book::{BenchEntry, Entry, Kind, ThingEnd};
use quick_cache::Weighter;
use quick_cache::sync::Cache;
use std::collections::HashMap;
use std::sync::Arc;
use std::time::{Duration, Instant};

/// Bytes that all batches with everything written of them may take, about.
const MOST_BYTES: u64 = 48 << 20;
/// Bytes that the batches of the trials that are looked at may take, about: one with 100,000 measurements has its place.
const MOST_TRIAL_BYTES: u64 = 128 << 20;
/// Trials and responses that are expected at once. The cache parts its bytes where it expects many, and what is larger
/// than a part isn’t kept.
const FEW: usize = 16;
/// Bytes of a row that was read, with what was made of it, about.
const ROW_BYTES: u64 = 700;
/// Bytes of a batch without its rows, about.
const BATCH_BYTES: u64 = 6 << 10;
/// Batches whose short account is kept.
const MOST_BRIEFS: usize = 20_000;
/// Trials that are kept as read.
const MOST_TRIALS: usize = 2_000;
/// Bytes that all analysed responses with their tables may take, about.
const MOST_RESULT_BYTES: u64 = 64 << 20;
/// Bytes of a cell of a table, about.
const CELL_BYTES: u64 = 40;
/// Last rows that are looked at to see whether a batch is closed.
const LAST_ROWS: u64 = 4;

/// Places in the book of the newest revision and the last row: nothing was written while both stay.
pub(crate) type Mark = (u64, u64);

/// A batch as it was read.
#[derive(Debug)]
pub(crate) struct Folded {
    /// What it was read at.
    pub mark: Mark,
    /// The batch.
    pub view: BatchView,
}

/// What lists need of a batch.
#[derive(Debug)]
struct Brief {
    mark: Mark,
    standing: Standing,
    says: Says,
}

/// A trial as it was read.
#[derive(Debug)]
pub(crate) struct TrialRead {
    /// The newest revision.
    pub entry: Entry,
    /// The trial.
    pub trial: Trial,
}

/// An analysed response, and the marks of trial and batches that it was analysed at.
type Analysed = (Vec<Mark>, Arc<ResponseResult>);

/// The batches of a trial, and the marks that they were read at.
type MadeOf = (Vec<Mark>, Arc<[Made]>);

#[derive(Clone, Debug)]
struct Bytes;

impl Weighter<String, MadeOf> for Bytes {
    fn weight(&self, _: &String, (_, made): &MadeOf) -> u64 {
        let rows = made.iter().map(|m| m.state.rows as u64);
        rows.map(|rows| BATCH_BYTES + ROW_BYTES * rows).sum()
    }
}

impl Weighter<String, Arc<Folded>> for Bytes {
    fn weight(&self, _: &String, folded: &Arc<Folded>) -> u64 {
        BATCH_BYTES + ROW_BYTES * folded.view.made.state.rows as u64
    }
}

impl Weighter<(String, String), Analysed> for Bytes {
    fn weight(&self, _: &(String, String), (marks, result): &Analysed) -> u64 {
        let table = &result.table;
        let cells = (table.head.len() * (1 + table.rows.len())) as u64;
        // What was analysed of a row weighs about as much as the row.
        BATCH_BYTES + 2 * CELL_BYTES * cells + 16 * marks.len() as u64
    }
}

/// Everything that was read and not yet pushed off.
#[derive(Debug)]
pub(crate) struct BatchesRead {
    folded: Cache<String, Arc<Folded>, Bytes>,
    /// Of trials, all their batches.
    made: Cache<String, MadeOf, Bytes>,
    briefs: Cache<String, Arc<Brief>>,
    /// Batches that are known by their last rows to be closed.
    closed: Cache<String, (Mark, Standing)>,
    trials: Cache<String, Arc<TrialRead>>,
    results: Cache<(String, String), Analysed, Bytes>,
}

impl Default for BatchesRead {
    fn default() -> Self {
        Self {
            folded: Cache::with_weighter(1024, MOST_BYTES, Bytes),
            made: Cache::with_weighter(FEW, MOST_TRIAL_BYTES, Bytes),
            briefs: Cache::new(MOST_BRIEFS),
            closed: Cache::new(MOST_BRIEFS),
            trials: Cache::new(MOST_TRIALS),
            results: Cache::with_weighter(FEW, MOST_RESULT_BYTES, Bytes),
        }
    }
}

/// How far things of a kind have come, by name.
pub(crate) type Ends = HashMap<String, ThingEnd>;

fn mark_of(ends: &Ends, thing: &str) -> Mark {
    ends.get(thing).map_or((0, 0), |e| (e.revision, e.last))
}

impl App {
    /// How far every batch has come.
    pub(crate) async fn batch_ends(&self) -> Result<Ends, AppError> {
        let ends = self.book().bench_ends(Kind::Batch).await?;
        Ok(ends.into_iter().map(|e| (e.thing.clone(), e)).collect())
    }

    /// A trial, read once for each of its revisions; none where its form can't be read.
    pub(crate) async fn trial_read(
        &self,
        entry: &Entry,
    ) -> Result<Option<Arc<TrialRead>>, AppError> {
        let kept = self.batches_read.trials.get(&entry.thing);
        if let Some(read) = kept.filter(|t| t.entry.id == entry.id) {
            return Ok(Some(read));
        }
        let Some(newest) = self.book().newest(Kind::Trial, &entry.thing).await? else {
            return Ok(None);
        };
        let Ok(trial) = Trial::read(&newest.form) else {
            return Ok(None);
        };
        let entry = newest.entry;
        let read = Arc::new(TrialRead { entry, trial });
        let thing = read.entry.thing.clone();
        self.batches_read.trials.insert(thing, Arc::clone(&read));
        Ok(Some(read))
    }

    /// Batches with what they have come to: those that nothing was written of since from where they lie, the others read.
    pub(crate) async fn folded_all(
        &self,
        things: &[String],
        ends: &Ends,
    ) -> Result<Vec<Arc<Folded>>, AppError> {
        let found = |thing: &String| {
            let kept = self.batches_read.folded.get(thing)?;
            (kept.mark == mark_of(ends, thing)).then_some(kept)
        };
        let mut all: Vec<Option<Arc<Folded>>> = things.iter().map(found).collect();
        let missing: Vec<usize> = (0..things.len()).filter(|i| all[*i].is_none()).collect();
        let wanted: Vec<String> = missing.iter().map(|i| things[*i].clone()).collect();
        let rows = self.book().entries_of_all(Kind::Batch, &wanted).await?;
        for ((i, thing), rows) in missing.into_iter().zip(wanted).zip(rows) {
            all[i] = Some(self.fold_and_keep(thing, rows).await?);
        }
        Ok(all.into_iter().flatten().collect())
    }

    /// The batches of a trial with what they have come to, and the marks that they were read at.
    pub(crate) async fn made_of(&self, thing: &str, trial: &Trial) -> Result<MadeOf, AppError> {
        let things: Vec<String> = trial.batches().into_iter().map(str::to_owned).collect();
        let ends = self.batch_ends().await?;
        let marks: Vec<Mark> = things.iter().map(|t| mark_of(&ends, t)).collect();
        if let Some(kept) = self.batches_read.made.get(thing).filter(|m| m.0 == marks) {
            return Ok(kept);
        }
        let read = self.folded_all(&things, &ends).await?;
        let marks = read.iter().map(|f| f.mark).collect();
        let made: Arc<[Made]> = read.iter().map(|f| f.view.made.clone()).collect();
        let kept = (marks, made);
        let key = thing.to_owned();
        self.batches_read.made.insert(key, kept.clone());
        Ok(kept)
    }

    async fn fold_and_keep(
        &self,
        thing: String,
        rows: Vec<BenchEntry>,
    ) -> Result<Arc<Folded>, AppError> {
        let newest = self
            .book()
            .newest(Kind::Batch, &thing)
            .await?
            .ok_or_else(|| AppError::NoBatch(crate::texts::shown(&thing)))?;
        let batch =
            Batch::read(&newest.form).map_err(|e| crate::trials_kept::unread(&thing, &e))?;
        let rows: Vec<_> = rows.into_iter().map(row_of).collect();
        let state = fold(&batch, &rows);
        let folded = Arc::new(Folded {
            mark: (newest.entry.id, state.last_id),
            view: BatchView {
                entry: newest.entry,
                made: Made {
                    id: thing.clone(),
                    batch,
                    state,
                },
            },
        });
        let made = &folded.view.made;
        let brief = Arc::new(Brief {
            mark: folded.mark,
            standing: made.state.standing(),
            says: says(made),
        });
        self.batches_read.briefs.insert(thing.clone(), brief);
        self.batches_read.folded.insert(thing, Arc::clone(&folded));
        Ok(folded)
    }

    /// What batches say of the figures of their study, and how many of them weren’t read: those that would have to be are
    /// read for as long as somebody waits, the rest by [`App::read_batches`].
    pub(crate) async fn says_all(
        &self,
        things: &[String],
        ends: &Ends,
    ) -> Result<(Vec<Says>, usize), AppError> {
        let brief = |thing: &String| self.brief_of(thing, ends);
        let mut found: Vec<Option<Says>> = things
            .iter()
            .map(|thing| brief(thing).map(|b| b.says.clone()))
            .collect();
        self.within_patience(things, ends, &mut found, |f| says(&f.view.made))
            .await?;
        let unread = found.iter().filter(|f| f.is_none()).count();
        Ok((found.into_iter().flatten().collect(), unread))
    }

    /// Where batches stand. Of one that is closed, its last rows are read alone; of one that nobody could wait for, how
    /// much is written is told.
    pub(crate) async fn standings(
        &self,
        things: &[String],
        ends: &Ends,
    ) -> Result<Vec<Standing>, AppError> {
        let kept = |thing: &String| match ends.get(thing) {
            Some(end) if end.rows > 0 => match self.batches_read.closed.get(thing) {
                Some((mark, standing)) if mark == mark_of(ends, thing) => Some(standing),
                _ => self.brief_of(thing, ends).map(|b| b.standing.clone()),
            },
            _ => Some(NOTHING),
        };
        let mut found: Vec<Option<Standing>> = things.iter().map(kept).collect();
        let at: Vec<usize> = (0..found.len()).filter(|i| found[*i].is_none()).collect();
        let wanted: Vec<String> = at.iter().map(|i| things[*i].clone()).collect();
        let book = self.book();
        let last = book.last_entries_of_all(Kind::Batch, &wanted, LAST_ROWS);
        for (i, last) in at.into_iter().zip(last.await?) {
            let (rows, id) = last.last().map_or((0, 0), |e| (e.number, e.id));
            let last: Vec<_> = last.into_iter().map(row_of).collect();
            found[i] = closed(&last, rows);
            if let Some(standing) = &found[i] {
                let mark = (mark_of(ends, &things[i]).0, id);
                let kept = (mark, standing.clone());
                self.batches_read.closed.insert(things[i].clone(), kept);
            }
        }
        self.within_patience(things, ends, &mut found, |f| f.view.made.state.standing())
            .await?;
        let unread = |thing: &String| Standing {
            rows: ends.get(thing).map_or(0, |e| e.rows),
            station: None,
            ..NOTHING
        };
        let each = things.iter().zip(found);
        Ok(each
            .map(|(thing, f)| f.unwrap_or_else(|| unread(thing)))
            .collect())
    }

    fn brief_of(&self, thing: &String, ends: &Ends) -> Option<Arc<Brief>> {
        let brief = self.batches_read.briefs.get(thing)?;
        (brief.mark == mark_of(ends, thing)).then_some(brief)
    }

    /// Fills what wasn’t found by reading batches, a few at a time, until it has taken as long as somebody waits.
    async fn within_patience<T>(
        &self,
        things: &[String],
        ends: &Ends,
        found: &mut [Option<T>],
        of: impl Fn(&Folded) -> T,
    ) -> Result<(), AppError> {
        let (began, mut rows) = (Instant::now(), 0);
        for (thing, found) in things.iter().zip(found).filter(|(_, f)| f.is_none()) {
            if rows > FEW_ROWS && began.elapsed() > PATIENCE {
                break;
            }
            rows += ends.get(thing).map_or(0, |e| e.rows);
            *found = self.folded_if_sound(thing, ends).await?.map(|f| of(&f));
        }
        Ok(())
    }

    /// A batch with what it has come to; none where its form can’t be read, which is told where it is looked at itself.
    pub(crate) async fn folded_if_sound(
        &self,
        thing: &String,
        ends: &Ends,
    ) -> Result<Option<Arc<Folded>>, AppError> {
        match self.folded_all(std::slice::from_ref(thing), ends).await {
            Ok(mut all) => Ok(all.pop()),
            Err(AppError::Value { .. } | AppError::NoBatch(_)) => Ok(None),
            Err(error) => Err(error),
        }
    }

    /// Reads every batch that wasn’t read yet, one after another, so that nobody has to wait for it later.
    ///
    /// # Errors
    /// What the book tells.
    pub async fn read_batches(&self) -> Result<(), AppError> {
        let ends = self.batch_ends().await?;
        for thing in ends.keys() {
            if self.brief_of(thing, &ends).is_none() {
                self.folded_if_sound(thing, &ends).await?;
            }
        }
        Ok(())
    }

    /// A response analysed before, if nothing was written of its trial since.
    pub(crate) fn analysed(
        &self,
        trial: &str,
        response: &str,
        marks: &[Mark],
    ) -> Option<Arc<ResponseResult>> {
        let key = (trial.to_owned(), response.to_owned());
        let (at, result) = self.batches_read.results.get(&key)?;
        (at == marks).then_some(result)
    }

    /// Lays an analysed response here.
    pub(crate) fn keep_analysed(
        &self,
        trial: &str,
        marks: Vec<Mark>,
        result: &Arc<ResponseResult>,
    ) {
        let key = (trial.to_owned(), result.asked.id.clone());
        let kept = (marks, Arc::clone(result));
        self.batches_read.results.insert(key, kept);
    }
}

/// Rows that are read however long it takes: a book of a few days is always told whole.
const FEW_ROWS: u64 = 4_000;
/// How long a list waits for batches that have to be read.
const PATIENCE: Duration = Duration::from_millis(100);

/// A batch that nothing was written of.
const NOTHING: Standing = Standing {
    rows: 0,
    station: Some(bench::Station::Weigh),
    signed: None,
    abandoned: None,
};
