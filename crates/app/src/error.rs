//! What a person is told when something can't be done: what happened, and the way out.

use book::{BookError, SaveError, exchange::TableError};
use std::path::PathBuf;
use study::edit::EditError;
use study::written::Problem;

/// Why something couldn't be done.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum AppError {
    /// The book.
    #[error(transparent)]
    Book(#[from] BookError),
    /// Somebody saved in between; both versions are in the error of the book.
    #[error(transparent)]
    Stale(Box<SaveError>),
    /// No folder for the book.
    #[error("the folder {} for the book could not be made: {what}. Give another place with --book PATH.", path.display())]
    Folder {
        /// The folder.
        path: PathBuf,
        /// The words of the system.
        what: String,
    },
    /// No home folder.
    #[error("no home folder was found to keep the book in. Give a place with --book PATH.")]
    NoHome,
    /// No such study.
    #[error(
        "the book holds no study ‘{0}’. Look in the list of studies, or among the removed ones."
    )]
    NoStudy(String),
    /// No such trial.
    #[error(
        "the book holds no trial ‘{0}’. Look in the list of trials of its study, or with `hardtack bench list`."
    )]
    NoTrial(String),
    /// No such batch.
    #[error("the book holds no batch ‘{0}’. Look in its trial, or with `hardtack bench list`.")]
    NoBatch(String),
    /// No such treatment.
    #[error("the study has no treatment ‘{0}’.")]
    NoTreatment(String),
    /// No such revision.
    #[error("‘{thing}’ has no revision {number}. Look in its history for what there is.")]
    NoRevision {
        /// The study.
        thing: String,
        /// The number asked for.
        number: u64,
    },
    /// No such material.
    #[error("there is no material ‘{0}’ on the shelf or among your own.")]
    NoMaterial(String),
    /// No such lot.
    #[error(
        "the book holds no lot ‘{code}’ of ‘{material}’. Look on the page of the material, or write it down there."
    )]
    NoLot {
        /// The material.
        material: String,
        /// What was said to stand on the bag.
        code: String,
    },
    /// A study that can't be read as written.
    #[error("this study can't be read: {}", first(problems))]
    Unreadable {
        /// Its text.
        text: String,
        /// What is wrong.
        problems: Vec<Problem>,
    },
    /// An edit that can't be made.
    #[error(transparent)]
    Edit(#[from] EditError),
    /// The page was looking at an older state than somebody's unsaved work.
    #[error(
        "this page showed revision {seen}, while your unsaved changes stand on revision {draft}. Load the page again to see them; nothing was changed."
    )]
    Moved {
        /// What the page showed.
        seen: u64,
        /// What the draft stands on.
        draft: u64,
    },
    /// Another window changed the same cell.
    #[error(
        "{cell} was changed in another window. What stands there now: ‘{theirs}’. What you typed: ‘{yours}’. Nothing was changed; look at it again and type it anew if it is still wanted."
    )]
    Overtaken {
        /// The cell.
        cell: String,
        /// What the other window made of it.
        theirs: String,
        /// What this one wanted.
        yours: String,
    },
    /// Another window changed something that this one would undo or drop unseen.
    #[error(
        "another window has changed this study since this page was loaded. Load the page again to see it; nothing was changed."
    )]
    Unseen,
    /// The page tells of a state that the book hasn't come to.
    #[error(
        "this page tells of a later state than the book holds, as one that was loaded from another copy of the book. Load the page again; nothing was changed."
    )]
    NotYet,
    /// A revision would be taken up over unsaved changes.
    #[error(
        "there are unsaved changes of this study. Save or discard them first; nothing was changed."
    )]
    WithDraft,
    /// Others were always faster.
    #[error("others are changing this at the same moment. Nothing was changed; try again.")]
    Busy,
    /// Nothing to undo or redo.
    #[error("there is nothing to {0}.")]
    NothingTo(&'static str),
    /// Nothing to save.
    #[error("there is nothing to save: the study stands as in revision {0}.")]
    NothingToSave(u64),
    /// A table.
    #[error(transparent)]
    Table(#[from] TableError),
    /// A value that can't be.
    #[error("{field}: {why}.")]
    Value {
        /// The field.
        field: String,
        /// What is wrong and what is allowed.
        why: String,
    },
    /// A code that isn't looked at for a while.
    #[error(
        "too many wrong codes were typed for this name, so none is looked at for {minutes} minutes. Wait, or have a new code given at the desk."
    )]
    Rests {
        /// For how long yet, minutes.
        minutes: u64,
    },
    /// Too much long work that waits.
    #[error(
        "{most} bakes are waiting. Stop one, or wait until one has ended; nothing was changed."
    )]
    Full {
        /// How many may wait.
        most: usize,
    },
    /// Work that was broken off.
    #[error("the calculation was broken off: {0}. Nothing was changed; try again.")]
    BrokenOff(String),
}

impl From<SaveError> for AppError {
    fn from(error: SaveError) -> Self {
        match error {
            SaveError::Book(book) => Self::Book(book),
            SaveError::DraftMoved => Self::Busy,
            stale @ SaveError::Stale { .. } => Self::Stale(Box::new(stale)),
        }
    }
}

fn first(problems: &[Problem]) -> String {
    let rest = problems.len().saturating_sub(1);
    let first = problems
        .first()
        .map_or_else(String::new, ToString::to_string);
    match rest {
        0 => first,
        1 => format!("{first} (and one more problem)"),
        n => format!("{first} (and {n} more problems)"),
    }
}
