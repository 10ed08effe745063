//! Backups and restoring from them.

use std::path::{Path, PathBuf};

use serde::{Deserialize, Serialize};
use sqlx::{ConnectOptions, Connection, SqliteConnection};

use crate::error::{file_told, told};
use crate::migrate;
use crate::open::{look_at, options, settle_folder};
use crate::verify::walk;
use crate::{Book, BookError, Tip};

/// A copy that was made, read back and found sound.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct CopyReport {
    /// Where it is.
    pub path: PathBuf,
    /// Its size.
    pub bytes: u64,
    /// How many revisions it holds.
    pub revisions: u64,
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
        let mut connection = self.aside().await?;
        let report = copy(&mut connection, out).await?;
        connection.close().await.map_err(|error| self.told(error))?;
        Ok(report)
    }
}

/// Makes the book at `to` from the backup at `from`, which is left as it is. The backup's chain is
/// walked first, the new book's after.
///
/// # Errors
/// [`BookError::InTheWay`] if `to` exists: a book is never overwritten, move it aside first.
/// Otherwise as [`Book::open`] and [`Book::backup`].
pub async fn restore_file(from: &Path, to: &Path) -> Result<CopyReport, BookError> {
    let from = std::path::absolute(from).map_err(|error| file_told(from, &error))?;
    look_at(&from, false)?;
    let mut connection = options(&from)
        .read_only(true)
        .connect()
        .await
        .map_err(|error| told(&from, error))?;
    if migrate::layout_of(&mut connection, &from).await?.is_none() {
        return Err(BookError::NotABook {
            path: from,
            what: "it is empty".to_owned(),
        });
    }
    require_sound(&mut connection, &from).await?;
    let report = copy(&mut connection, to).await?;
    connection
        .close()
        .await
        .map_err(|error| told(&from, error))?;
    Ok(report)
}

async fn copy(connection: &mut SqliteConnection, out: &Path) -> Result<CopyReport, BookError> {
    let out = std::path::absolute(out).map_err(|error| file_told(out, &error))?;
    // Files that a book left here would be taken for the copy's own.
    for beside in ["-wal", "-shm", "-journal"] {
        let beside = with_ending(&out, beside);
        if beside.exists() {
            return Err(BookError::InTheWay { path: beside });
        }
    }
    // Taking the name decides who may write there; the copy grows under another one until it is whole.
    if let Err(error) = std::fs::File::create_new(&out) {
        let folder_is_missing = out.parent().is_some_and(|folder| !folder.is_dir());
        return Err(if folder_is_missing {
            BookError::Storage {
                path: out,
                what: "its folder does not exist".to_owned(),
            }
        } else {
            file_told(&out, &error)
        });
    }
    let part = with_ending(&out, ".part");
    let outcome = copy_over(connection, &part, &out).await;
    if outcome.is_err() {
        for unfinished in [&part, &out] {
            let _it_may_not_be_there = std::fs::remove_file(unfinished);
        }
    }
    outcome
}

async fn copy_over(
    connection: &mut SqliteConnection,
    part: &Path,
    out: &Path,
) -> Result<CopyReport, BookError> {
    let files = |error: std::io::Error| file_told(out, &error);
    let name = part.to_str().ok_or_else(|| BookError::Refused {
        field: "the file name",
        why: "it is not Unicode text; give another one".to_owned(),
    })?;
    std::fs::File::create_new(part).map_err(|error| file_told(part, &error))?;
    sqlx::query("VACUUM INTO $1")
        .bind(name)
        .execute(connection)
        .await
        .map_err(|error| told(out, error))?;

    let mut copied = options(part)
        .read_only(true)
        .connect()
        .await
        .map_err(|error| told(out, error))?;
    let (revisions, tip) = require_sound(&mut copied, out).await?;
    copied.close().await.map_err(|error| told(out, error))?;

    let file = std::fs::File::options()
        .write(true)
        .open(part)
        .map_err(files)?;
    file.sync_all().map_err(files)?;
    let bytes = file.metadata().map_err(files)?.len();
    drop(file);
    std::fs::rename(part, out).map_err(files)?;
    settle_folder(out);
    Ok(CopyReport {
        path: out.to_owned(),
        bytes,
        revisions,
        tip,
    })
}

async fn require_sound(
    connection: &mut SqliteConnection,
    path: &Path,
) -> Result<(u64, Tip), BookError> {
    let report = walk(connection, path, |_, _| ()).await?;
    match report.broken {
        None => Ok((report.revisions, report.tip)),
        Some(broken) => {
            let what = format!("{}: {}", broken.about, broken.what);
            Err(BookError::Damaged {
                path: path.to_owned(),
                what,
            })
        }
    }
}

fn with_ending(path: &Path, ending: &str) -> PathBuf {
    let mut name = path.as_os_str().to_owned();
    name.push(ending);
    PathBuf::from(name)
}
