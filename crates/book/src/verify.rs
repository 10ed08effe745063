//! Walking the chain from the first row to the last, then the pictures.

use std::collections::HashMap;
use std::path::Path;

use serde::{Deserialize, Serialize};

use crate::chain::{BEFORE_THE_FIRST, hash_of, hash_of_bench, hash_of_picture};
use crate::files::file_told;
use crate::form;
use crate::revision::form_packed_alone;
use crate::store::{For, Lengths, Session, Stored, sqlite};
use crate::{Action, BenchEntry, Book, BookError, Kind, Tip};

/// What walking the chain found.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct VerifyReport {
    /// How many revisions are sound, from the first on.
    pub revisions: u64,
    /// How many rows of the bench are sound, up to the same place.
    pub entries: u64,
    /// How many pictures are sound.
    pub pictures: u64,
    /// The end of the sound part of the chain.
    pub tip: Tip,
    /// The first thing that is wrong; none if all is well.
    pub broken: Option<Broken>,
    /// Rows that bear an earlier time than the one before them, the first few: the clock was set back.
    pub clock_went_back: Vec<u64>,
}

/// Rows that are named where the clock went back.
const MOST_NAMED: usize = 20;

/// The first thing that is wrong in a book.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Broken {
    /// The row's place in the book; none if the file itself is damaged.
    pub id: Option<u64>,
    /// What it is about, such as `study ‘spent-grain’, revision 4` or `batch ‘b7’, entry 12`.
    pub about: String,
    /// What is wrong with it.
    pub what: String,
}

impl VerifyReport {
    /// Whether all is well.
    pub fn is_sound(&self) -> bool {
        self.broken.is_none()
    }
}

impl std::fmt::Display for VerifyReport {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match &self.broken {
            None => {
                write!(f, "{} revisions", self.revisions)?;
                if self.entries + self.pictures > 0 {
                    write!(
                        f,
                        ", {} rows of the bench and {} pictures",
                        self.entries, self.pictures
                    )?;
                }
                write!(f, ", all sound; the chain ends in {}", self.tip.hash)?;
                if self.clock_went_back.is_empty() {
                    return Ok(());
                }
                let ids: Vec<String> = self.clock_went_back.iter().map(u64::to_string).collect();
                write!(
                    f,
                    "\nThe clock was set back before row {}: their order is sure, their times are not.",
                    ids.join(", ")
                )
            }
            Some(Broken {
                id: Some(id),
                about,
                what,
            }) => write!(
                f,
                "row {id} of the book ({about}) is broken: {what}. The {} before it are sound. \
                 Keep the file, and restore the newest backup under another name.",
                self.tip.id
            ),
            Some(Broken {
                id: None,
                about,
                what,
            }) => write!(
                f,
                "{about} is damaged: {what}. Keep the file, and restore the newest backup under another name."
            ),
        }
    }
}

impl Book {
    /// Walks the whole chain and says the first thing that is wrong. `progress` is told how many
    /// rows are done, and of how many. Others may go on reading and writing meanwhile; what
    /// they add is not looked at.
    ///
    /// # Errors
    /// What [`BookError`] tells of the storage. A broken chain is no error but the answer.
    pub async fn verify(
        &self,
        progress: impl FnMut(u64, u64) + Send,
    ) -> Result<VerifyReport, BookError> {
        let mut session = self.begin(For::Looking).await?;
        let report = walk(&mut *session, None, progress).await?;
        session.leave().await?;
        Ok(report)
    }
}

/// Walks the whole chain of a book that isn't open, without changing anything: neither the file nor what stands beside
/// it, be it in a folder that can't be written. With `expect`, a hash that was noted earlier has to be in the chain.
///
/// # Errors
/// What isn't a book, or can't be read. A broken book is no error but the answer.
pub async fn verify_file(
    path: &Path,
    expect: Option<&str>,
    mut progress: impl FnMut(u64, u64) + Send,
) -> Result<VerifyReport, BookError> {
    let path = std::path::absolute(path).map_err(|error| file_told(path, &error))?;
    for _ in 1..LOOKS {
        let (report, disturbed) = looked_over(&path, expect, &mut progress).await;
        if !disturbed || report.as_ref().is_ok_and(VerifyReport::is_sound) {
            return report;
        }
    }
    match looked_over(&path, expect, &mut progress).await {
        (_, true) => Err(BookError::Locked { path }),
        (report, false) => report,
    }
}

/// How often a file is looked at that somebody opens, writes and closes meanwhile.
const LOOKS: usize = 5;

/// What one look over a file finds, and whether somebody wrote to it meanwhile.
async fn looked_over(
    path: &Path,
    expect: Option<&str>,
    progress: impl FnMut(u64, u64) + Send,
) -> (Result<VerifyReport, BookError>, bool) {
    let before = sqlite::Stamp::of(path);
    let (report, disturbed) = match sqlite::look(path).await {
        Ok((mut session, looked)) => {
            let report = walk(&mut *session, expect, progress).await;
            // What was only looked at may be left in any way.
            let _closed = session.leave().await;
            (report, looked.was_disturbed())
        }
        Err(error) => (Err(error), before.is_ok_and(|b| b.has_changed())),
    };
    match report {
        Err(BookError::Damaged { what, .. }) => (Ok(of_the_file(what)), disturbed),
        other => (other, disturbed),
    }
}

fn of_the_file(what: String) -> VerifyReport {
    VerifyReport {
        revisions: 0,
        entries: 0,
        pictures: 0,
        tip: Tip {
            id: 0,
            hash: BEFORE_THE_FIRST.to_owned(),
        },
        broken: Some(Broken {
            id: None,
            about: "the file".to_owned(),
            what,
        }),
        clock_went_back: Vec::new(),
    }
}

/// How many rows are read at a time.
const STRIDE: u64 = 500;

/// What the walk has to remember of what it passed.
struct Walked {
    tip: Tip,
    counted: Lengths,
    /// For each thing, the number of its last row of the bench.
    benches: HashMap<(Kind, String), u64>,
    /// For each thing, its last number and whether that was a removal.
    things: HashMap<(Kind, String), (u64, Action)>,
    /// For each thing, its last form that was packed alone.
    alone: HashMap<(Kind, String), (u64, String)>,
    /// When the last one was made.
    when: String,
    clock_went_back: Vec<u64>,
}

/// Walks the chain as it is at one moment, then asks the store whether all else is as it should be.
pub(crate) async fn walk(
    session: &mut dyn Session,
    expect: Option<&str>,
    mut progress: impl FnMut(u64, u64) + Send,
) -> Result<VerifyReport, BookError> {
    let start = Tip {
        id: 0,
        hash: BEFORE_THE_FIRST.to_owned(),
    };
    let mut met = expect.is_none_or(|hash| hash == start.hash);
    let mut walked = Walked {
        tip: start,
        counted: Lengths::default(),
        benches: HashMap::new(),
        things: HashMap::new(),
        alone: HashMap::new(),
        when: String::new(),
        clock_went_back: Vec::new(),
    };
    let total = match session.tip().await {
        Ok(tip) => tip.id,
        Err(BookError::Damaged { what, .. }) => return Ok(of_the_file(what)),
        Err(other) => return Err(other),
    };
    progress(0, total);
    loop {
        let rows = match stride(session, walked.tip.id).await {
            Ok(rows) => rows,
            Err(BookError::Damaged { what, .. }) => {
                return Ok(walked.broken(None, "the file", what));
            }
            Err(other) => return Err(other),
        };
        if rows.is_empty() && walked.tip.id < total {
            let id = walked.tip.id + 1;
            return Ok(walked.broken(Some(id), "missing", "it is not there".to_owned()));
        }
        if rows.is_empty() {
            break;
        }
        for (id, row) in rows {
            let about = row.about();
            let checked = match row {
                Row::Revision(stored) => check(session, &mut walked, *stored).await,
                Row::Bench(entry) => check_bench(&mut walked, *entry),
                Row::Unreadable(what) => Err(what),
            };
            if let Err(what) = checked {
                return Ok(walked.broken(Some(id), &about, what));
            }
            met = met || expect == Some(walked.tip.hash.as_str());
        }
        progress(walked.tip.id, total);
    }
    if let Some(what) = pictures(session, &mut walked.counted).await? {
        return Ok(walked.broken(None, "a picture", what));
    }
    if let Some(what) = session.examine(true).await? {
        return Ok(walked.broken(None, "the file", what));
    }
    let noted = session.lengths().await?;
    if noted != walked.counted {
        let Lengths {
            revisions,
            entries,
            pictures,
        } = noted;
        let what = format!(
            "its own note tells of {revisions} revisions, {entries} rows of the bench and {pictures} pictures, which are not what is there"
        );
        return Ok(walked.broken(None, "the file", what));
    }
    if let (false, Some(hash)) = (met, expect) {
        let shown: String = hash.chars().take(64).collect();
        let what = format!(
            "no row has the hash {shown} that was noted: it was altered, or what came up to there was cut off"
        );
        return Ok(walked.broken(None, "the chain", what));
    }
    Ok(walked.told(None))
}

impl Walked {
    fn broken(self, id: Option<u64>, about: &str, what: String) -> VerifyReport {
        let about = about.to_owned();
        self.told(Some(Broken { id, about, what }))
    }

    fn told(self, broken: Option<Broken>) -> VerifyReport {
        VerifyReport {
            revisions: self.counted.revisions,
            entries: self.counted.entries,
            pictures: self.counted.pictures,
            tip: self.tip,
            broken,
            clock_went_back: self.clock_went_back,
        }
    }

    /// A row that is sound takes its place at the end of the chain.
    fn passed(&mut self, id: u64, hash: String, when: String) {
        if when < self.when && self.clock_went_back.len() < MOST_NAMED {
            self.clock_went_back.push(id);
        }
        self.when = when;
        self.tip = Tip { id, hash };
    }

    /// Whether a row follows the one before it.
    fn follows(&self, id: u64, previous: &str) -> Result<(), String> {
        if id != self.tip.id + 1 {
            return Err(format!("row {} is missing before it", self.tip.id + 1));
        }
        if previous != self.tip.hash {
            return Err("it does not follow the row before it".to_owned());
        }
        Ok(())
    }
}

/// A row of the chain.
enum Row {
    Revision(Box<Stored>),
    Bench(Box<BenchEntry>),
    Unreadable(String),
}

impl Row {
    fn about(&self) -> String {
        match self {
            Self::Revision(stored) => {
                let entry = &stored.entry;
                format!(
                    "{} ‘{}’, revision {}",
                    entry.kind, entry.thing, entry.number
                )
            }
            Self::Bench(entry) => {
                format!(
                    "{} ‘{}’, entry {}",
                    entry.row.kind, entry.row.thing, entry.number
                )
            }
            Self::Unreadable(_) => "unreadable".to_owned(),
        }
    }
}

/// The next rows of both tables, by their places.
async fn stride(session: &mut dyn Session, after: u64) -> Result<Vec<(u64, Row)>, BookError> {
    let up_to = after + STRIDE;
    let read = |row: Result<Row, String>| row.unwrap_or_else(Row::Unreadable);
    let revisions = session.after(after, up_to).await?;
    let entries = session.bench_after(after, up_to).await?;
    let revisions = revisions
        .into_iter()
        .map(|(id, row)| (id, read(row.map(|stored| Row::Revision(Box::new(stored))))));
    let entries = entries
        .into_iter()
        .map(|(id, row)| (id, read(row.map(|entry| Row::Bench(Box::new(entry))))));
    let mut rows: Vec<_> = revisions.chain(entries).collect();
    rows.sort_by_key(|(id, _)| *id);
    Ok(rows)
}

/// Checks one row of the bench against all before it, and remembers it.
fn check_bench(walked: &mut Walked, entry: BenchEntry) -> Result<(), String> {
    walked.follows(entry.id, &entry.previous)?;
    let key = (entry.row.kind, entry.row.thing.clone());
    if !walked.things.contains_key(&key) {
        return Err("it belongs to nothing that was there before it".to_owned());
    }
    let last = walked.benches.entry(key).or_default();
    if entry.number != *last + 1 {
        return Err("its number does not follow the thing's last one".to_owned());
    }
    *last = entry.number;
    if hash_of_bench(&entry) != entry.hash {
        return Err("it is not what was written: its hash does not fit".to_owned());
    }
    walked.counted.entries += 1;
    walked.passed(entry.id, entry.hash, entry.row.arrived);
    Ok(())
}

/// Counts the pictures and says the first that isn't what was kept.
async fn pictures(
    session: &mut dyn Session,
    counted: &mut Lengths,
) -> Result<Option<String>, BookError> {
    let mut last = String::new();
    loop {
        let some = match session.pictures_after(&last).await {
            Ok(some) => some,
            Err(BookError::Damaged { what, .. }) => return Ok(Some(what)),
            Err(other) => return Err(other),
        };
        if some.is_empty() {
            return Ok(None);
        }
        for (hash, bytes) in some {
            if hash_of_picture(&bytes) != hash || hash <= last {
                return Ok(Some(format!("the picture {hash} is not what was kept")));
            }
            counted.pictures += 1;
            last = hash;
        }
    }
}

/// Checks one revision against all before it, and remembers it.
async fn check(
    session: &mut dyn Session,
    walked: &mut Walked,
    stored: Stored,
) -> Result<(), String> {
    let Stored {
        entry,
        packed,
        form_base,
        form_length,
    } = stored;
    let key = (entry.kind, entry.thing.clone());

    walked.follows(entry.id, &entry.previous)?;
    let last = walked.things.get(&key).copied();
    let parent = last.map(|(number, _)| number);
    if entry.number != parent.unwrap_or(0) + 1 || entry.parent != parent {
        return Err("its number does not follow the thing's last one".to_owned());
    }
    if entry.action == Action::Remove && !matches!(last, Some((_, Action::Save | Action::Restore)))
    {
        return Err("it removes what was not there".to_owned());
    }

    let base = match form_base {
        Some(id) => match walked.alone.get(&key) {
            Some((known, form)) if *known == id => Some(form.clone()),
            _ => Some(
                form_packed_alone(session, id)
                    .await
                    .map_err(|error| error.to_string())?,
            ),
        },
        None => None,
    };
    let form = form::unpack(&packed, form_length, base.as_deref())
        .map_err(|what| format!("its form cannot be read: {what}"))?;
    if hash_of(&entry, &form) != entry.hash {
        return Err("it is not what was written: its hash does not fit".to_owned());
    }

    walked.counted.revisions += 1;
    walked.passed(entry.id, entry.hash, entry.when);
    walked
        .things
        .insert(key.clone(), (entry.number, entry.action));
    if form_base.is_none() {
        walked.alone.insert(key, (walked.tip.id, form));
    }
    Ok(())
}
