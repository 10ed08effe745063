//! Copies that are kept beside the book without being asked for: one a day, and one before the layout changes.

use std::path::{Path, PathBuf};

use crate::copy::copy;
use crate::files::{beside, file_told, own_folder};
use crate::store::Session;
use crate::{Book, BookError, CopyReport};

/// Daily copies that are kept.
pub const COPIES_KEPT: usize = 14;

/// A daily copy.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Copy {
    /// The day it was made, such as `2026-11-25`.
    pub day: String,
    /// Where it is.
    pub path: PathBuf,
}

impl Book {
    /// The daily copies there are, the latest first.
    ///
    /// # Errors
    /// A folder of copies that can't be read.
    pub fn copies(&self) -> Result<Vec<Copy>, BookError> {
        let folder = folder(self.path());
        let listed = match std::fs::read_dir(&folder) {
            Ok(listed) => listed,
            Err(error) if error.kind() == std::io::ErrorKind::NotFound => return Ok(Vec::new()),
            Err(error) => return Err(file_told(&folder, &error)),
        };
        let mut copies: Vec<Copy> = listed
            .filter_map(|entry| {
                let path = entry.ok()?.path();
                let day = path.file_name()?.to_str()?.strip_suffix(".book")?;
                is_day(day).then(|| Copy {
                    day: day.to_owned(),
                    path: path.clone(),
                })
            })
            .collect();
        copies.sort_by(|a, b| b.day.cmp(&a.day));
        Ok(copies)
    }

    /// Makes the copy of a day, unless it is there; gives it if it was made. It is read back and its chain walked before
    /// the oldest goes; the last [`COPIES_KEPT`] stay.
    ///
    /// # Errors
    /// As [`Book::backup`]; a day that isn't written like `2026-11-25`.
    pub async fn keep_copy(&self, day: &str) -> Result<Option<CopyReport>, BookError> {
        if !is_day(day) {
            return Err(BookError::Refused {
                field: "the day of the copy",
                why: "it isn't written like 2026-11-25".to_owned(),
            });
        }
        let folder = folder(self.path());
        own_folder(&folder)?;
        let made = match self.backup(&folder.join(format!("{day}.book"))).await {
            Err(BookError::InTheWay { .. }) => return Ok(None),
            made => made?,
        };
        for old in self.copies()?.into_iter().skip(COPIES_KEPT) {
            std::fs::remove_file(&old.path).map_err(|error| file_told(&old.path, &error))?;
        }
        Ok(Some(made))
    }
}

fn folder(book: &Path) -> PathBuf {
    beside(book, ".copies")
}

fn is_day(text: &str) -> bool {
    crate::check::check_when(&format!("{text}T00:00:00Z")).is_ok()
}

/// Copies a book as it is in an older layout; a copy of it that is there already stays.
pub(crate) async fn copy_before(
    session: &mut dyn Session,
    book: &Path,
    layout: u64,
) -> Result<(), BookError> {
    let folder = folder(book);
    own_folder(&folder)?;
    let out = folder.join(format!("before-layout-{}.book", layout + 1));
    match copy(session, &out, |_, _| ()).await {
        Err(BookError::InTheWay { .. }) => Ok(()),
        made => made.map(|_| ()),
    }
}
