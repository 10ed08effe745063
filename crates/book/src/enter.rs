//! Entering rows of the bench: each exactly once, in order, in the one chain with the revisions.

use std::collections::HashMap;

use crate::bench_entry::{BenchEntry, Entered, EntryReason, EntryRefused, NewBenchEntry, ThingEnd};
use crate::check::check_when;
use crate::store::{For, Session};
use crate::{Book, BookError, Kind, NAME_LIMIT_BYTES, Tip};

/// The longest value of a row of the bench, in bytes.
pub const VALUE_LIMIT_BYTES: usize = 4_000;
/// The longest other text of a row of the bench, in bytes.
pub const SHORT_LIMIT_BYTES: usize = 400;
/// The longest key and the longest word for what was done, in bytes.
pub const KEY_LIMIT_BYTES: usize = 64;

/// How many rows are looked up and written at a time.
const STRIDE: usize = 250;

impl Book {
    /// Enters rows of the bench in their order, in one transaction. Each is kept once by its key, or was kept already,
    /// or is refused without keeping the others from being kept. When this returns, they are on the disk.
    ///
    /// A batch or trial that was removed meanwhile still takes rows: what was done was done.
    ///
    /// # Errors
    /// What [`BookError`] tells of the storage. Nothing is kept then.
    pub async fn enter(&self, entries: Vec<NewBenchEntry>) -> Result<Vec<Entered>, BookError> {
        self.enter_telling(entries, |_| ()).await
    }

    /// The same, telling how many rows were dealt with so far.
    ///
    /// # Errors
    /// As [`Book::enter`].
    pub async fn enter_telling(
        &self,
        entries: Vec<NewBenchEntry>,
        mut told: impl FnMut(usize),
    ) -> Result<Vec<Entered>, BookError> {
        let mut session = self.begin(For::Writing).await?;
        let before = session.tip().await?;
        let mut entering = Entering {
            tip: before.clone(),
            last: HashMap::new(),
        };
        let mut entered = Vec::with_capacity(entries.len());
        let mut rest = entries.into_iter();
        loop {
            let some: Vec<_> = rest.by_ref().take(STRIDE).collect();
            if some.is_empty() {
                break;
            }
            entered.extend(entering.some(&mut *session, some).await?);
            told(entered.len());
        }
        if entering.tip == before {
            session.leave().await?;
        } else {
            session.commit().await?;
            self.settle().await;
        }
        Ok(entered)
    }

    /// The rows of a batch or trial after a place of the book (0 for all), in order.
    ///
    /// # Errors
    /// What [`BookError`] tells of the storage; [`BookError::Damaged`] where one is missing.
    pub async fn entries_of(
        &self,
        kind: Kind,
        thing: &str,
        after: u64,
    ) -> Result<Vec<BenchEntry>, BookError> {
        self.entries_after(kind, thing, after, u64::MAX).await
    }

    /// Up to `most` of the rows of a batch or trial after a place of the book, in order.
    ///
    /// # Errors
    /// As [`Book::entries_of`].
    pub async fn entries_after(
        &self,
        kind: Kind,
        thing: &str,
        after: u64,
        most: u64,
    ) -> Result<Vec<BenchEntry>, BookError> {
        let mut session = self.read().await?;
        self.rows_after(&mut *session, kind, thing, after, most)
            .await
    }

    /// All rows of batches or trials that say one thing, such as `lot`, in order.
    ///
    /// # Errors
    /// What [`BookError`] tells of the storage.
    pub async fn entries_saying(
        &self,
        kind: Kind,
        what: &str,
    ) -> Result<Vec<BenchEntry>, BookError> {
        self.read().await?.bench_saying(kind, what).await
    }

    /// The rows of several batches or trials: one list for each, in the order asked.
    ///
    /// # Errors
    /// As [`Book::entries_of`].
    pub async fn entries_of_all(
        &self,
        kind: Kind,
        things: &[String],
    ) -> Result<Vec<Vec<BenchEntry>>, BookError> {
        let mut session = self.read().await?;
        let mut all = Vec::with_capacity(things.len());
        for thing in things {
            let rows = self.rows_after(&mut *session, kind, thing, 0, u64::MAX);
            all.push(rows.await?);
        }
        Ok(all)
    }

    /// How far each batch, or each trial, has come, removed ones among them, in no order.
    ///
    /// # Errors
    /// What [`BookError`] tells of the storage.
    pub async fn bench_ends(&self, kind: Kind) -> Result<Vec<ThingEnd>, BookError> {
        self.read().await?.bench_ends(kind).await
    }

    /// Up to `most` of the last rows of several batches or trials, each asked for once: one list for each, in the order asked.
    ///
    /// # Errors
    /// What [`BookError`] tells of the storage; [`BookError::Damaged`] where one among them is missing.
    pub async fn last_entries_of_all(
        &self,
        kind: Kind,
        things: &[String],
        most: u64,
    ) -> Result<Vec<Vec<BenchEntry>>, BookError> {
        let mut session = self.read().await?;
        let mut by_thing: HashMap<String, Vec<BenchEntry>> = HashMap::new();
        for some in things.chunks(STRIDE) {
            for row in session.bench_last(kind, some, most).await? {
                let of = by_thing.entry(row.row.thing.clone()).or_default();
                of.push(row);
            }
        }
        let mut all = Vec::with_capacity(things.len());
        for thing in things {
            let rows = by_thing.remove(thing).unwrap_or_default();
            let highest = rows.last().map_or(0, |row| row.number);
            let in_a_row = rows.windows(2).all(|w| w[0].number + 1 == w[1].number);
            if !in_a_row || rows.len() as u64 != most.min(highest) {
                return Err(self.rows_missing(kind, thing));
            }
            all.push(rows);
        }
        Ok(all)
    }

    fn rows_missing(&self, kind: Kind, thing: &str) -> BookError {
        BookError::Damaged {
            path: self.path().to_owned(),
            what: format!("rows of {kind} ‘{thing}’ are missing"),
        }
    }

    /// Reads rows and refuses fewer than there have to be, as another way to them tells: a broken index must not make a
    /// batch look smaller.
    async fn rows_after(
        &self,
        session: &mut dyn Session,
        kind: Kind,
        thing: &str,
        after: u64,
        most: u64,
    ) -> Result<Vec<BenchEntry>, BookError> {
        // Looked up before the rows, as somebody may be adding some.
        let (last, last_id) = session
            .bench_numbered(kind, thing, None)
            .await?
            .unwrap_or_default();
        let entries = session.bench_of(kind, thing, after, most).await?;
        let first = entries.first().map_or(last + 1, |entry| entry.number);
        let before = match first {
            0 | 1 => 0,
            _ if entries.is_empty() => last_id,
            first => {
                let before = session.bench_numbered(kind, thing, Some(first - 1)).await?;
                before.map_or(u64::MAX, |(_, id)| id)
            }
        };
        let in_a_row = (first..).zip(&entries).all(|(n, entry)| entry.number == n);
        let to_the_end =
            entries.len() as u64 >= most || entries.last().is_none_or(|entry| entry.number >= last);
        if before <= after && in_a_row && to_the_end {
            return Ok(entries);
        }
        Err(self.rows_missing(kind, thing))
    }
}

/// Where the chain and each thing have come to.
struct Entering {
    tip: Tip,
    /// For each thing that was met the number of its last row; none if the book never had the thing.
    last: HashMap<(Kind, String), Option<u64>>,
}

impl Entering {
    /// Enters a few rows.
    async fn some(
        &mut self,
        session: &mut dyn Session,
        entries: Vec<NewBenchEntry>,
    ) -> Result<Vec<Entered>, BookError> {
        let asked = entries
            .iter()
            .flat_map(|entry| [Some(entry.key.as_str()), entry.strikes.as_deref()])
            .flatten()
            .filter(|key| fault_of_key(key).is_none())
            .collect();
        let mut known: HashMap<String, BenchEntry> = session
            .bench_by_key(asked)
            .await?
            .into_iter()
            .map(|entry| (entry.row.key.clone(), entry))
            .collect();
        let mut entered = Vec::with_capacity(entries.len());
        let mut kept = Vec::new();
        for entry in entries {
            entered.push(match self.judged(session, &known, &entry).await? {
                Judged::Already(there) => Entered::KeptAlready(*there),
                Judged::Wrong(refused) => Entered::Refused(refused),
                Judged::Next(number) => {
                    let thing = (entry.kind, entry.thing.clone());
                    let placed =
                        BenchEntry::placed(entry, self.tip.id + 1, number, self.tip.hash.clone());
                    self.tip = Tip {
                        id: placed.id,
                        hash: placed.hash.clone(),
                    };
                    self.last.insert(thing, Some(number));
                    known.insert(placed.row.key.clone(), placed.clone());
                    kept.push(placed.clone());
                    Entered::Kept(placed)
                }
            });
        }
        if !kept.is_empty() {
            session.add_bench(&kept).await?;
        }
        Ok(entered)
    }

    async fn judged(
        &mut self,
        session: &mut dyn Session,
        known: &HashMap<String, BenchEntry>,
        entry: &NewBenchEntry,
    ) -> Result<Judged, BookError> {
        let wrong = |field, found: &str, reason| {
            Ok(Judged::Wrong(EntryRefused {
                key: entry.key.clone(),
                field,
                found: found.chars().take(40).collect(),
                reason,
            }))
        };
        if let Some((field, found, reason)) = fault(entry) {
            return wrong(field, found, reason);
        }
        match known.get(&entry.key) {
            Some(there) if there.says_the_same(entry) => {
                return Ok(Judged::Already(Box::new(there.clone())));
            }
            Some(_) => return wrong("key", &entry.key, EntryReason::OtherContent),
            None => {}
        }
        let thing = (entry.kind, entry.thing.clone());
        let last = match self.last.get(&thing) {
            Some(last) => *last,
            None => {
                let last = last_of(session, entry.kind, &entry.thing).await?;
                self.last.insert(thing, last);
                last
            }
        };
        let Some(last) = last else {
            return wrong("thing", &entry.thing, EntryReason::NoSuchThing);
        };
        if let Some(key) = &entry.strikes {
            let of_the_same = |there: &BenchEntry| {
                (there.row.kind, &there.row.thing) == (entry.kind, &entry.thing)
            };
            if !known.get(key).is_some_and(of_the_same) {
                return wrong("strikes", key, EntryReason::NothingToStrike);
            }
        }
        Ok(Judged::Next(last + 1))
    }
}

/// What is to be done with a row.
enum Judged {
    Already(Box<BenchEntry>),
    Wrong(EntryRefused),
    /// It is the row of this number of its thing.
    Next(u64),
}

/// The number of a thing's last row; none if the book never had the thing.
async fn last_of(
    session: &mut dyn Session,
    kind: Kind,
    thing: &str,
) -> Result<Option<u64>, BookError> {
    match session.bench_numbered(kind, thing, None).await? {
        None => Ok(session.of(kind, thing, None).await?.map(|_| 0)),
        Some((last, _)) => Ok(Some(last)),
    }
}

fn fault_of_key(text: &str) -> Option<EntryReason> {
    let plain = |byte: u8| byte.is_ascii_alphanumeric() || byte == b'_' || byte == b'-';
    match text {
        "" => Some(EntryReason::Empty),
        _ if text.len() > KEY_LIMIT_BYTES => Some(EntryReason::TooLong(KEY_LIMIT_BYTES)),
        _ if !text.bytes().all(plain) => Some(EntryReason::Character),
        _ => None,
    }
}

type Fault<'a> = (&'static str, &'a str, EntryReason);

/// What is wrong with a row, whatever the book has.
fn fault(entry: &NewBenchEntry) -> Option<Fault<'_>> {
    let NewBenchEntry {
        key,
        kind,
        thing,
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
    } = entry;
    if !matches!(kind, Kind::Batch | Kind::Trial) {
        return Some(("kind", kind.word(), EntryReason::NoBenchKind));
    }
    let words = [
        ("key", Some(key)),
        ("what", Some(what)),
        ("strikes", strikes.as_ref()),
    ];
    for (field, text) in words {
        if let Some(text) = text
            && let Some(reason) = fault_of_key(text)
        {
            return Some((field, text, reason));
        }
    }
    for (field, moment) in [("at", at), ("arrived", arrived)] {
        if check_when(moment).is_err() {
            return Some((field, moment, EntryReason::NoMoment));
        }
    }
    let texts = [
        ("thing", Some(thing), NAME_LIMIT_BYTES, true),
        ("who", Some(who), SHORT_LIMIT_BYTES, true),
        ("device", device.as_ref(), SHORT_LIMIT_BYTES, false),
        ("of", of.as_ref(), SHORT_LIMIT_BYTES, false),
        ("on", on.as_ref(), SHORT_LIMIT_BYTES, false),
        ("value", Some(value), VALUE_LIMIT_BYTES, false),
        ("unit", unit.as_ref(), SHORT_LIMIT_BYTES, false),
        ("why", why.as_ref(), VALUE_LIMIT_BYTES, false),
    ];
    for (field, text, most, needed) in texts {
        let Some(text) = text else { continue };
        let reason = if needed && text.trim().is_empty() {
            EntryReason::Empty
        } else if text.len() > most {
            EntryReason::TooLong(most)
        } else if text.contains('\0') {
            EntryReason::Character
        } else {
            continue;
        };
        return Some((field, text, reason));
    }
    let no_reason = why.as_ref().is_none_or(|why| why.trim().is_empty());
    (strikes.is_some() && no_reason).then_some(("why", "", EntryReason::Empty))
}
