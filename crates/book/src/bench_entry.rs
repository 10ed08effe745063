//! Rows written at the bench: what was dosed, weighed, counted and observed, and by whom.
//!
//! What a row means is for others to say. Here it belongs to a batch or a trial, stands in the one chain with the
//! revisions, and may strike an earlier row through, which stays readable.

use serde::{Deserialize, Serialize};

use crate::Kind;

/// A row as a device made it, with the moment it arrived.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct NewBenchEntry {
    /// Made by the device, 1 to 64 of `A–Z a–z 0–9 _ -`, no two alike in a book: a row sent twice is kept once.
    pub key: String,
    /// Of what it belongs to: [`Kind::Batch`] or [`Kind::Trial`].
    pub kind: Kind,
    /// The lasting name of what it belongs to.
    pub thing: String,
    /// The moment at the bench as the device told it, in UTC.
    pub at: String,
    /// The moment it arrived by the clock of the book's own computer, in UTC.
    pub arrived: String,
    /// Who did it.
    pub who: String,
    /// The device it was typed on, if it has a name.
    pub device: Option<String>,
    /// A word for what was done or measured: `dose`, `weighed`, `observed`.
    pub what: String,
    /// Which: a material, a response, a pull or a tray.
    pub of: Option<String>,
    /// On which unit within the batch: `piece=3`, `position=left;piece=2`.
    pub on: Option<String>,
    /// As it was typed: a number with a point, a text, the hash of a photograph; may be empty where it only strikes.
    pub value: String,
    /// Unit of the value.
    pub unit: Option<String>,
    /// The key of an earlier row of the same thing that this one strikes through.
    pub strikes: Option<String>,
    /// Why; has to be given where it strikes.
    pub why: Option<String>,
}

/// A row written at the bench, in its place in the book.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct BenchEntry {
    /// Place in the whole book, revisions and rows of the bench together: 1, 2, 3 … without a gap.
    pub id: u64,
    /// Place among the rows of its thing: 1, 2, 3 …
    pub number: u64,
    /// What it says.
    #[serde(flatten)]
    pub row: NewBenchEntry,
    /// Hash of the row before this one in the book, be it a revision.
    pub previous: String,
    /// Hash of this row, over all of the above.
    pub hash: String,
}

impl BenchEntry {
    pub(crate) fn placed(row: NewBenchEntry, id: u64, number: u64, previous: String) -> Self {
        let mut entry = Self {
            id,
            number,
            row,
            previous,
            hash: String::new(),
        };
        entry.hash = crate::chain::hash_of_bench(&entry);
        entry
    }

    /// Whether it says what the other says. When it arrived, and over which device, may differ: a row may be sent again
    /// over another.
    pub(crate) fn says_the_same(&self, new: &NewBenchEntry) -> bool {
        let arrived_as_this = NewBenchEntry {
            arrived: self.row.arrived.clone(),
            device: self.row.device.clone(),
            ..new.clone()
        };
        self.row == arrived_as_this
    }
}

/// How far a batch or trial has come: two ends that are the same say that nothing was written meanwhile.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ThingEnd {
    /// Its lasting name.
    pub thing: String,
    /// Place in the book of its newest revision.
    pub revision: u64,
    /// Rows of the bench that it has.
    pub rows: u64,
    /// Place in the book of the last of them; 0 where there is none.
    pub last: u64,
}

/// What became of a row that was to be entered.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Entered {
    /// It is in the book, on the disk.
    Kept(BenchEntry),
    /// It was in the book already.
    KeptAlready(BenchEntry),
    /// It was not kept; the others were.
    Refused(EntryRefused),
}

/// Why a row of the bench was not kept.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct EntryRefused {
    /// Its key, as it was given.
    pub key: String,
    /// The field that is wrong, by its name in [`NewBenchEntry`].
    pub field: &'static str,
    /// What was found there, its first characters.
    pub found: String,
    /// What is wrong with it.
    pub reason: EntryReason,
}

/// What can be wrong with a row of the bench.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum EntryReason {
    /// The field is empty.
    Empty,
    /// The field is longer than this many bytes.
    TooLong(usize),
    /// It has a character that can't be kept there.
    Character,
    /// It is no moment in UTC.
    NoMoment,
    /// Rows belong to a batch or a trial only.
    NoBenchKind,
    /// The book never had that batch or trial.
    NoSuchThing,
    /// The key stands for a row that says something else.
    OtherContent,
    /// There is no row of this thing with the key that is to be struck through.
    NothingToStrike,
}

impl EntryReason {
    /// The word that stands for the reason in answers.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Empty => "empty",
            Self::TooLong(_) => "too-long",
            Self::Character => "character",
            Self::NoMoment => "no-moment",
            Self::NoBenchKind => "no-bench-kind",
            Self::NoSuchThing => "no-such-thing",
            Self::OtherContent => "other-content",
            Self::NothingToStrike => "nothing-to-strike",
        }
    }
}

impl std::fmt::Display for EntryRefused {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let Self { field, found, .. } = self;
        match self.reason {
            EntryReason::Empty => write!(f, "‘{field}’ is empty; fill it in"),
            EntryReason::TooLong(most) => write!(
                f,
                "‘{field}’ begins with ‘{found}’ and is longer than {most} bytes; shorten it"
            ),
            EntryReason::Character => write!(
                f,
                "‘{field}’ is ‘{found}’, which has a character that can’t be kept there; take it out"
            ),
            EntryReason::NoMoment => write!(
                f,
                "‘{field}’ is ‘{found}’, which is no moment in UTC written like 2026-11-25T09:00:44Z; set the clock of the device"
            ),
            EntryReason::NoBenchKind => write!(
                f,
                "‘{field}’ is ‘{found}’; an entry belongs to a batch or a trial"
            ),
            EntryReason::NoSuchThing => write!(
                f,
                "the book has never had ‘{found}’; make it first, then send the entry again"
            ),
            EntryReason::OtherContent => write!(
                f,
                "‘{found}’ is the key of another entry, which stays as it is; enter it under a new key"
            ),
            EntryReason::NothingToStrike => write!(
                f,
                "there is no earlier entry ‘{found}’ of the same batch or trial to strike through; send that one first"
            ),
        }
    }
}
