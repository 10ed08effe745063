//! What can go wrong, in plain words with the next step.

use std::path::PathBuf;

use crate::{Kind, Revision};

/// Why the book could not do what was asked.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum BookError {
    /// No file at the path.
    #[error("there is no book at {}. Check the path, or ask for a new book to be made there.", path.display())]
    NotThere {
        /// Where it was looked for.
        path: PathBuf,
    },
    /// A file is in the way.
    #[error("{} exists already and is not overwritten. Give another name, or move that file aside first.", path.display())]
    InTheWay {
        /// The file that exists.
        path: PathBuf,
    },
    /// The file is something else.
    #[error("{} is not a book: {what}. It was left as it is; give the path of a book.", path.display())]
    NotABook {
        /// The file.
        path: PathBuf,
        /// What it is.
        what: String,
    },
    /// The book was written by a later program.
    #[error(
        "{} was written by a newer version of this program (book layout {found}; this one knows up to {known}). \
         It was left as it is; use the newer version.",
        path.display()
    )]
    Newer {
        /// The file.
        path: PathBuf,
        /// The layout found.
        found: u64,
        /// The newest layout known here.
        known: u64,
    },
    /// The file or its folder cannot be written.
    #[error(
        "{} cannot be written: the file or its folder is read-only. Nothing was changed. \
         Change its permission, or copy the book to a folder that you may write.",
        path.display()
    )]
    ReadOnly {
        /// The file.
        path: PathBuf,
    },
    /// Someone else is writing.
    #[error(
        "another program is writing to {} and did not finish in time. Nothing was changed. \
         Try again; if it lasts, close the other program.",
        path.display()
    )]
    Locked {
        /// The file.
        path: PathBuf,
    },
    /// No space left.
    #[error(
        "the disk that holds {} is full. This change was not saved; everything saved before it is safe. \
         Free some space and save again.",
        path.display()
    )]
    DiskFull {
        /// The file.
        path: PathBuf,
    },
    /// The file is damaged.
    #[error("{} is damaged: {what}. Keep the file, and restore the newest backup under another name.", path.display())]
    Damaged {
        /// The file.
        path: PathBuf,
        /// What is wrong.
        what: String,
    },
    /// Another file stands in its place, or none.
    #[error(
        "{} was removed or replaced by another file while it was open. Nothing is written to it any more. \
         Put the file back that was there, or stop the program and start it again on the file that is there now.",
        path.display()
    )]
    Replaced {
        /// The file.
        path: PathBuf,
    },
    /// There is no such thing or revision.
    #[error("the book holds no {what}. Look in its history for what there is.")]
    NoSuch {
        /// What was asked for.
        what: String,
    },
    /// What was given cannot be kept.
    #[error("{field} cannot be kept: {why}.")]
    Refused {
        /// The field.
        field: &'static str,
        /// What is wrong and what is allowed.
        why: String,
    },
    /// Anything else the storage reports.
    #[error("the book {} could not be read or written: {what}. Check the disk and the folder's permissions, then try again.", path.display())]
    Storage {
        /// The file.
        path: PathBuf,
        /// The words of the storage.
        what: String,
    },
}

/// Why a change was not written.
#[derive(Debug, thiserror::Error)]
pub enum SaveError {
    /// Someone saved in between. Nothing was written; both versions are here to be compared.
    #[error("{}", stale_words(*yours_base, current))]
    Stale {
        /// The number the change was made from.
        yours_base: Option<u64>,
        /// What the book holds now.
        current: Box<Revision>,
        /// The revision the change was made from, if it named one that exists.
        base: Option<Box<Revision>>,
    },
    /// The draft that was to be saved has another counter by now. Nothing was written.
    #[error(
        "these unsaved changes were changed, saved or dropped in between. Nothing was saved: look at them again."
    )]
    DraftMoved,
    /// The book could not write.
    #[error(transparent)]
    Book(#[from] BookError),
}

fn stale_words(yours_base: Option<u64>, current: &Revision) -> String {
    let now = &current.entry;
    let yours = match yours_base {
        Some(number) => format!("you worked from revision {number}"),
        None => "you were making it new".to_owned(),
    };
    format!(
        "{} ‘{}’ is at revision {} ({} by {}, {}), while {yours}. Nothing was saved: compare the two and save again.",
        now.kind, now.thing, now.number, now.action, now.who, now.when
    )
}

pub(crate) fn no_such(kind: Kind, thing: &str, number: Option<u64>) -> BookError {
    let what = match number {
        Some(number) => format!("revision {number} of {kind} ‘{thing}’"),
        None => format!("{kind} ‘{thing}’"),
    };
    BookError::NoSuch { what }
}
