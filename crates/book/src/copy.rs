//! Backups and restoring from them.

use std::path::{Path, PathBuf};

use serde::{Deserialize, Serialize};

use crate::files::{Part, file_told};
use crate::store::{For, Session, sqlite};
use crate::verify::walk;
use crate::{Book, BookError, Tip, VerifyReport};

/// A copy that was made, read back and found sound.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct CopyReport {
    /// Where it is.
    pub path: PathBuf,
    /// Its size.
    pub bytes: u64,
    /// How many revisions it holds.
    pub revisions: u64,
    /// How many rows of the bench it holds.
    pub entries: u64,
    /// How many pictures it holds.
    pub pictures: u64,
    /// The end of its chain.
    pub tip: Tip,
}

impl Book {
    /// Writes a copy of the book, as it is at one moment, to a new file. Others may go on reading
    /// and writing meanwhile. The copy is read back and its chain walked before this returns.
    ///
    /// # Errors
    /// [`BookError::InTheWay`] if the file exists; [`BookError::Damaged`] if the copy does not
    /// verify; what [`BookError`] tells of the storage. No half-made file stays behind.
    pub async fn backup(&self, out: &Path) -> Result<CopyReport, BookError> {
        self.backup_telling(out, |_, _| ()).await
    }

    /// The same; `progress` is told how many rows of the copy were read back, and of how many.
    ///
    /// # Errors
    /// As [`Book::backup`].
    pub async fn backup_telling(
        &self,
        out: &Path,
        progress: impl FnMut(u64, u64) + Send,
    ) -> Result<CopyReport, BookError> {
        let mut session = self.begin(For::Looking).await?;
        let copied = copy(&mut *session, out, progress).await?;
        session.leave().await?;
        Ok(copied)
    }
}

/// Makes the book at `to` from the backup at `from`, which is left as it is, be it on a disk that can't be written.
/// The backup's chain is walked first, the new book's after.
///
/// # Errors
/// [`BookError::InTheWay`] if `to` exists: a book is never overwritten, move it aside first.
/// Otherwise as [`Book::open`] and [`Book::backup`].
pub async fn restore_file(from: &Path, to: &Path) -> Result<CopyReport, BookError> {
    restore_telling(from, to, |_, _| ()).await
}

/// The same; `progress` is told how many rows were read, of the backup and then of the new book, and of how many.
///
/// # Errors
/// As [`restore_file`].
pub async fn restore_telling(
    from: &Path,
    to: &Path,
    mut progress: impl FnMut(u64, u64) + Send,
) -> Result<CopyReport, BookError> {
    let from = std::path::absolute(from).map_err(|error| file_told(from, &error))?;
    let (mut session, looked) = sqlite::look(&from).await?;
    if session.layout().await?.is_none() {
        return Err(BookError::NotABook {
            path: from,
            what: "it is empty".to_owned(),
        });
    }
    let first = require_sound(&mut *session, |done, all| progress(done, 2 * all)).await;
    let copied = match first {
        Ok(_) => copy(&mut *session, to, |done, all| progress(all + done, 2 * all)).await,
        Err(error) => Err(error),
    };
    // The copy is sound whatever happened to the backup; that something is wrong may come of somebody's writing.
    match copied {
        Err(BookError::Damaged { .. }) if looked.was_disturbed() => {
            Err(BookError::Locked { path: from })
        }
        copied => copied,
    }
}

/// Copies everything into a file that grows beside `out` and takes its name when it was read back and found sound.
pub(crate) async fn copy(
    session: &mut dyn Session,
    out: &Path,
    progress: impl FnMut(u64, u64) + Send,
) -> Result<CopyReport, BookError> {
    let out = std::path::absolute(out).map_err(|error| file_told(out, &error))?;
    let named_out = |error| match error {
        BookError::DiskFull { .. } => BookError::DiskFull { path: out.clone() },
        other => other,
    };
    let part = Part::of(&out)?;
    session.copy_to(part.path()).await.map_err(named_out)?;
    let sound = {
        let (mut copied, _copy) = sqlite::look(part.path()).await?;
        let sound = require_sound(&mut *copied, progress).await?;
        copied.leave().await?;
        sound
    };
    Ok(CopyReport {
        bytes: part.finish().map_err(named_out)?,
        path: out,
        revisions: sound.revisions,
        entries: sound.entries,
        pictures: sound.pictures,
        tip: sound.tip,
    })
}

async fn require_sound(
    session: &mut dyn Session,
    progress: impl FnMut(u64, u64) + Send,
) -> Result<VerifyReport, BookError> {
    let report = walk(session, None, progress).await?;
    match &report.broken {
        None => Ok(report),
        Some(broken) => {
            let what = format!("{}: {}", broken.about, broken.what);
            Err(BookError::Damaged {
                path: session.path().to_owned(),
                what,
            })
        }
    }
}
