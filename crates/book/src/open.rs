//! Opening a book.

use std::io::Read;
use std::path::{Path, PathBuf};
use std::time::Duration;

use sqlx::pool::PoolConnection;
use sqlx::sqlite::{
    SqliteConnectOptions, SqliteConnection, SqlitePool, SqlitePoolOptions, SqliteSynchronous,
};
use sqlx::{ConnectOptions, Connection, Sqlite};

use crate::BookError;
use crate::error::{file_told, told};
use crate::migrate;

/// How long a change waits for another program that is writing.
const WAIT: Duration = Duration::from_secs(5);
/// Readings that can go on at once.
const READERS: u32 = 4;

/// An open book. Clones share the same file; any number of them may be used at once.
///
/// Keep the file on a disk of this computer: the locks it relies on do not hold on a network share.
#[derive(Debug, Clone)]
pub struct Book {
    path: PathBuf,
    readers: SqlitePool,
    /// One connection: changes within a program queue up here in order, and only then meet other
    /// programs at the file's lock.
    writer: SqlitePool,
}

impl Book {
    /// Opens the book at `path`. With `create`, makes a new one if there is no file (the folder has
    /// to exist). A book of an older version is brought up to date; a newer one is refused.
    ///
    /// # Errors
    /// [`BookError::NotThere`], [`BookError::NotABook`], [`BookError::Newer`],
    /// [`BookError::Locked`], [`BookError::DiskFull`], [`BookError::Storage`].
    pub async fn open(path: &Path, create: bool) -> Result<Book, BookError> {
        let path = std::path::absolute(path).map_err(|error| file_told(path, &error))?;
        let is_new = look_at(&path, create)?;

        let mut connection = options(&path)
            .create_if_missing(create)
            .connect()
            .await
            .map_err(|error| told(&path, error))?;
        migrate::bring_up_to_date(&mut connection, &path, create).await?;
        write_ahead(&mut connection, &path).await?;
        connection
            .close()
            .await
            .map_err(|error| told(&path, error))?;
        if is_new {
            settle_folder(&path);
        }

        let pool = |most| {
            SqlitePoolOptions::new()
                .max_connections(most)
                .acquire_timeout(2 * WAIT)
        };
        Ok(Book {
            readers: pool(READERS).connect_lazy_with(options(&path).pragma("query_only", "ON")),
            writer: pool(1).connect_lazy_with(options(&path)),
            path,
        })
    }

    /// Where the book is.
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// Waits for what is going on and closes the file tidily. A book that is merely dropped, or
    /// whose program is killed, loses nothing either.
    pub async fn close(self) {
        self.readers.close().await;
        self.writer.close().await;
    }

    pub(crate) fn told(&self, error: sqlx::Error) -> BookError {
        told(&self.path, error)
    }

    pub(crate) async fn reader(&self) -> Result<PoolConnection<Sqlite>, BookError> {
        self.reader_raw().await.map_err(|error| self.told(error))
    }

    pub(crate) async fn reader_raw(&self) -> Result<PoolConnection<Sqlite>, sqlx::Error> {
        self.readers.acquire().await
    }

    pub(crate) async fn writer(&self) -> Result<PoolConnection<Sqlite>, BookError> {
        self.writer
            .acquire()
            .await
            .map_err(|error| self.told(error))
    }

    /// A connection of its own, for work that may take long.
    pub(crate) async fn aside(&self) -> Result<SqliteConnection, BookError> {
        options(&self.path)
            .connect()
            .await
            .map_err(|error| self.told(error))
    }
}

/// How every connection is made: foreign keys on, and every commit on the disk before it is
/// acknowledged.
pub(crate) fn options(path: &Path) -> SqliteConnectOptions {
    SqliteConnectOptions::new()
        .filename(path)
        .create_if_missing(false)
        .foreign_keys(true)
        .synchronous(SqliteSynchronous::Full)
        .busy_timeout(WAIT)
        .disable_statement_logging()
}

/// Looks at the file before the database does. Says whether it is new.
pub(crate) fn look_at(path: &Path, create: bool) -> Result<bool, BookError> {
    /// The first bytes of every SQLite database (https://sqlite.org/fileformat.html, 1.3).
    const HEAD: &[u8; 16] = b"SQLite format 3\0";

    let not_a_book = |what: &str| BookError::NotABook {
        path: path.to_owned(),
        what: what.to_owned(),
    };
    match std::fs::metadata(path) {
        Ok(found) if found.is_dir() => return Err(not_a_book("it is a folder")),
        // Reading from a pipe or a device could wait for ever.
        Ok(found) if !found.is_file() => return Err(not_a_book("it is no ordinary file")),
        _ => {}
    }
    let mut file = match std::fs::File::open(path) {
        Ok(file) => file,
        Err(error) if error.kind() == std::io::ErrorKind::NotFound && create => {
            let folder = path.parent().unwrap_or(Path::new("."));
            return if folder.is_dir() {
                Ok(true)
            } else {
                Err(BookError::Storage {
                    path: path.to_owned(),
                    what: format!("the folder {} does not exist", folder.display()),
                })
            };
        }
        Err(error) => return Err(file_told(path, &error)),
    };
    let mut head = Vec::new();
    file.by_ref()
        .take(HEAD.len() as u64)
        .read_to_end(&mut head)
        .map_err(|error| file_told(path, &error))?;
    match head.as_slice() {
        // Left by a program that was stopped between making the file and writing to it.
        [] if create => Ok(true),
        [] => Err(not_a_book("it is empty")),
        head if head == HEAD => Ok(false),
        _ => Err(not_a_book("it is another kind of file")),
    }
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

/// Makes sure that the name of a new file survives a power cut. Not every file system can; the book
/// itself is whole either way.
pub(crate) fn settle_folder(path: &Path) {
    if let Some(folder) = path.parent()
        && let Ok(folder) = std::fs::File::open(folder)
    {
        let _not_everywhere = folder.sync_all();
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
        let book = Book::open(&folder.path().join("lab.book"), true)
            .await
            .unwrap();
        for (mut connection, reads_only) in [
            (book.reader().await.unwrap(), 1),
            (book.writer().await.unwrap(), 0),
        ] {
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
