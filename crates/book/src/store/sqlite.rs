//! A book in one SQLite file: how it is opened, and how each session begins and ends.

mod bench;
mod layout;
mod place;
mod rows;
mod statements;
mod told;

use std::ops::{Deref, DerefMut};
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::time::{Duration, SystemTime};

use sqlx::pool::PoolConnection;
use sqlx::sqlite::{
    SqliteConnectOptions, SqliteConnection, SqlitePool, SqlitePoolOptions, SqliteSynchronous,
};
use sqlx::{ConnectOptions, Connection as _};

use super::{Doing, For, Session, Store};
use crate::BookError;
use crate::copies::copy_before;
use crate::files::{Part, beside, file_told, look_at};
pub use layout::SCHEMA;
use place::Stands;
use told::told;

/// How long a change waits for another program that is writing.
const WAIT: Duration = Duration::from_secs(5);
/// How long closing waits for what goes on.
const CLOSING: Duration = Duration::from_secs(2);
/// Readings that can go on at once.
const READERS: u32 = 4;

/// A book in a file.
#[derive(Debug)]
pub(crate) struct Sqlite {
    path: Arc<Path>,
    stands: Arc<Stands>,
    readers: SqlitePool,
    /// One connection: changes within a program queue up here in order, and only then meet other
    /// programs at the file's lock.
    writer: SqlitePool,
}

/// Opens the book at an absolute path; makes it where there is no file if `create` is set. A book of an older layout is
/// copied and then brought up to date. Says whether it is new.
pub(crate) async fn open(path: &Path, create: bool) -> Result<(Sqlite, bool), BookError> {
    let is_new = look_at(path, create)? && make(path).await?;
    let mut talk = Talk::alone(path, options(path)).await?;
    match layout::layout_of(&mut talk.line, path).await? {
        None => return Err(not_a_book(path, "it is empty")),
        Some(SCHEMA) => {}
        Some(layout) => {
            copy_before(&mut talk, path, layout).await?;
            layout::bring_up_to_date(&mut talk.line, path).await?;
        }
    }
    write_ahead(&mut talk.line, path).await?;
    if let Some(what) = talk.examine(false).await? {
        return Err(BookError::Damaged {
            path: path.to_owned(),
            what,
        });
    }
    if let Line::Own(connection) = talk.line {
        connection
            .close()
            .await
            .map_err(|error| told(path, error))?;
    }
    let pool = |most| {
        SqlitePoolOptions::new()
            .max_connections(most)
            .acquire_timeout(2 * WAIT)
    };
    let store = Sqlite {
        stands: Arc::new(Stands::of(path)?),
        path: path.into(),
        readers: pool(READERS).connect_lazy_with(options(path).pragma("query_only", "ON")),
        writer: pool(1).connect_lazy_with(options(path)),
    };
    Ok((store, is_new))
}

/// Makes a new book under another name and then gives it its own, so that there is never half a book. Says whether
/// it was this one and not somebody else's, made at the same moment.
async fn make(path: &Path) -> Result<bool, BookError> {
    let words = |error| told(path, error);
    let part = match Part::of(path) {
        Err(BookError::InTheWay { path: found }) if found == path => return Ok(false),
        part => part?,
    };
    let mut connection = options(part.path()).connect().await.map_err(words)?;
    layout::bring_up_to_date(&mut connection, path).await?;
    write_ahead(&mut connection, path).await?;
    connection.close().await.map_err(words)?;
    match part.finish() {
        Err(BookError::InTheWay { .. }) => Ok(false),
        finished => finished.map(|_| true),
    }
}

/// How a book is looked at that isn't opened.
#[derive(Debug)]
pub(crate) enum Looked {
    /// With the locks that others heed.
    Locked,
    /// Without any, which needs that nobody writes meanwhile.
    Unlocked(Stamp),
    /// In a copy, whose folder goes when this is dropped.
    Copied { _folder: tempfile::TempDir },
}

/// A file as it was at a moment.
#[derive(Debug)]
pub(crate) struct Stamp {
    path: PathBuf,
    length: u64,
    modified: Option<SystemTime>,
}

impl Stamp {
    pub(crate) fn of(path: &Path) -> Result<Self, BookError> {
        let found = std::fs::metadata(path).map_err(|error| file_told(path, &error))?;
        Ok(Self {
            path: path.to_owned(),
            length: found.len(),
            modified: found.modified().ok(),
        })
    }

    /// Whether it is another by now.
    pub(crate) fn has_changed(&self) -> bool {
        Self::of(&self.path).map_or(true, |now| {
            (now.length, now.modified) != (self.length, self.modified)
        })
    }
}

impl Looked {
    /// Whether somebody may have written to it while it was looked at, so that what was seen of it may never have been.
    pub(crate) fn was_disturbed(&self) -> bool {
        let Self::Unlocked(then) = self else {
            return false;
        };
        beside(&then.path, "-wal").exists() || then.has_changed()
    }
}

/// Opens a book to look at it without changing anything, be it in a folder that can't be written.
pub(crate) async fn look(path: &Path) -> Result<(Box<dyn Session>, Looked), BookError> {
    look_at(path, false)?;
    let stamp = Stamp::of(path)?;
    let log = beside(path, "-wal");
    if !log.exists() {
        // Nobody has it open, or is only just opening it; that is looked at again afterwards.
        let talk = Talk::alone(path, options(path).read_only(true).immutable(true)).await?;
        return Ok((talk.seeing_now().await?, Looked::Unlocked(stamp)));
    }
    if let Ok(talk) = Talk::alone(path, options(path).read_only(true)).await
        && let Ok(session) = talk.seeing_now().await
    {
        return Ok((session, Looked::Locked));
    }
    let folder = tempfile::tempdir().map_err(|error| file_told(path, &error))?;
    let copy = folder.path().join("book");
    for ending in ["", "-wal"] {
        std::fs::copy(beside(path, ending), beside(&copy, ending))
            .map_err(|error| file_told(path, &error))?;
    }
    let mut talk = Talk::alone(&copy, options(&copy)).await?;
    talk.path = path.into();
    Ok((talk.seeing_now().await?, Looked::Copied { _folder: folder }))
}

/// How every connection is made: foreign keys on, and every commit on the disk before it is
/// acknowledged.
fn options(path: &Path) -> SqliteConnectOptions {
    SqliteConnectOptions::new()
        .filename(path)
        .create_if_missing(false)
        .foreign_keys(true)
        .synchronous(SqliteSynchronous::Full)
        .busy_timeout(WAIT)
        // What the stored layout says is data, not to be trusted with anything but tables.
        .pragma("trusted_schema", "OFF")
        .pragma("cell_size_check", "ON")
        .disable_statement_logging()
}

/// Switches to the write-ahead log, in which readers and a writer do not wait for each other. A book
/// that cannot be written stays as it is and can be read.
async fn write_ahead(connection: &mut SqliteConnection, path: &Path) -> Result<(), BookError> {
    match sqlx::query("PRAGMA journal_mode = WAL")
        .execute(connection)
        .await
    {
        Ok(_) => Ok(()),
        Err(error) => match told(path, error) {
            // Somebody else is switching or has switched; whoever comes next finds it done.
            BookError::Locked { .. } | BookError::ReadOnly { .. } => Ok(()),
            other => Err(other),
        },
    }
}

fn not_a_book(path: &Path, what: &str) -> BookError {
    BookError::NotABook {
        path: path.to_owned(),
        what: what.to_owned(),
    }
}

impl Sqlite {
    async fn began(&self, what: For) -> Result<Box<dyn Session>, BookError> {
        let words = |error| told(&self.path, error);
        self.stands.still_there(&self.path)?;
        let talk = |line| Talk {
            line,
            path: Arc::clone(&self.path),
            open: false,
            stands: Some(Arc::clone(&self.stands)),
            up_to_date: true,
        };
        let held = |connection| {
            Line::Pooled(Held {
                connection,
                open: false,
            })
        };
        match what {
            For::Reading => {
                let connection = self.readers.acquire().await.map_err(words)?;
                Ok(Box::new(talk(held(connection))))
            }
            For::Looking => {
                let mut aside = Talk::alone(&self.path, options(&self.path)).await?;
                aside.stands = Some(Arc::clone(&self.stands));
                aside.seeing_now().await
            }
            For::Writing => {
                let mut talk = talk(held(self.writer.acquire().await.map_err(words)?));
                talk.begin("BEGIN IMMEDIATE").await?;
                Ok(Box::new(talk))
            }
        }
    }
}

impl Store for Sqlite {
    fn begin(&self, what: For) -> Doing<'_, Box<dyn Session>> {
        Box::pin(self.began(what))
    }

    fn settle(&self) -> Doing<'_, ()> {
        Box::pin(async {
            let words = |error| told(&self.path, error);
            let mut line = self.writer.acquire().await.map_err(words)?;
            sqlx::query("PRAGMA wal_checkpoint(PASSIVE)")
                .execute(&mut *line)
                .await
                .map(|_| ())
                .map_err(words)
        })
    }

    fn close(&self) -> Doing<'_, ()> {
        Box::pin(async {
            let all = async {
                self.readers.close().await;
                self.writer.close().await;
            };
            // What doesn't come back in time has lost its reader or waits for a damaged file.
            let _closed_or_left = tokio::time::timeout(CLOSING, all).await;
            Ok(())
        })
    }
}

/// A connection from a pool. One that was left in the middle of a transaction isn't worth reasoning about: closing it
/// undoes what it did.
struct Held {
    connection: PoolConnection<sqlx::Sqlite>,
    open: bool,
}

impl Drop for Held {
    fn drop(&mut self) {
        if self.open {
            self.connection.close_on_drop();
        }
    }
}

/// A connection, from a pool or of its own.
enum Line {
    Pooled(Held),
    Own(SqliteConnection),
}

impl Deref for Line {
    type Target = SqliteConnection;
    fn deref(&self) -> &SqliteConnection {
        match self {
            Self::Pooled(held) => &held.connection,
            Self::Own(connection) => connection,
        }
    }
}

impl DerefMut for Line {
    fn deref_mut(&mut self) -> &mut SqliteConnection {
        match self {
            Self::Pooled(held) => &mut held.connection,
            Self::Own(connection) => connection,
        }
    }
}

/// A session.
struct Talk {
    line: Line,
    path: Arc<Path>,
    /// Whether a transaction was begun and not ended.
    open: bool,
    stands: Option<Arc<Stands>>,
    /// Whether the book was brought up to date before.
    up_to_date: bool,
}

impl Talk {
    async fn alone(path: &Path, options: SqliteConnectOptions) -> Result<Self, BookError> {
        let connection = options.connect().await.map_err(|error| told(path, error))?;
        Ok(Self {
            line: Line::Own(connection),
            path: path.into(),
            open: false,
            stands: None,
            up_to_date: false,
        })
    }

    /// Whether the layout has a place for rows of the bench.
    async fn knows_the_bench(&mut self) -> Result<bool, BookError> {
        if self.up_to_date {
            return Ok(true);
        }
        let layout = layout::layout_of(&mut self.line, &self.path).await?;
        Ok(layout.is_some_and(|layout| layout >= layout::WITH_BENCH))
    }

    /// The same, seeing the book as it is now until it ends.
    async fn seeing_now(mut self) -> Result<Box<dyn Session>, BookError> {
        self.begin("BEGIN").await?;
        // The moment is that of the first reading.
        let _the_first = layout::layout_of(&mut self.line, &self.path).await?;
        Ok(Box::new(self))
    }

    async fn begin(&mut self, how: &'static str) -> Result<(), BookError> {
        self.set_open(true);
        match sqlx::query(how).execute(&mut *self.line).await {
            Ok(_) => Ok(()),
            Err(error) => Err(told(&self.path, error)),
        }
    }

    fn set_open(&mut self, open: bool) {
        self.open = open;
        if let Line::Pooled(held) = &mut self.line {
            held.open = open;
        }
    }

    async fn end(&mut self, how: &'static str) -> Result<(), BookError> {
        if self.open {
            sqlx::query(how)
                .execute(&mut *self.line)
                .await
                .map_err(|error| told(&self.path, error))?;
            self.set_open(false);
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Numbers as https://sqlite.org/pragma.html gives them (from memory, to be confirmed):
    /// `synchronous` 2 is FULL.
    #[tokio::test]
    async fn every_connection_is_careful() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("lab.book");
        let (store, _) = open(&path, true).await.unwrap();
        for (pool, reads_only) in [(&store.readers, 1), (&store.writer, 0)] {
            let mut connection = pool.acquire().await.unwrap();
            let numbers = [
                ("PRAGMA synchronous", 2_i64),
                ("PRAGMA foreign_keys", 1),
                ("PRAGMA busy_timeout", 5000),
                ("PRAGMA query_only", reads_only),
            ];
            for (pragma, expected) in numbers {
                let found: i64 = sqlx::query_scalar(pragma)
                    .fetch_one(&mut *connection)
                    .await
                    .unwrap();
                assert_eq!(found, expected, "{pragma}");
            }
            let mode: String = sqlx::query_scalar("PRAGMA journal_mode")
                .fetch_one(&mut *connection)
                .await
                .unwrap();
            assert_eq!(mode, "wal");
        }
    }
}
