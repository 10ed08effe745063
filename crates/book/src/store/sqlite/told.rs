//! The plain words for what the database reports.

use std::path::Path;

use crate::BookError;

/// Runs statements and tells their errors in plain words.
macro_rules! doing {
    ($talk:ident, $work:block) => {
        Box::pin(async move {
            let path = std::sync::Arc::clone(&$talk.path);
            let done: Result<_, sqlx::Error> = async $work.await;
            done.map_err(|error| $crate::store::sqlite::told::told(&path, error))
        })
    };
}
pub(super) use doing;

/// The codes are SQLite's result codes (https://sqlite.org/rescode.html): the low byte is the
/// primary code, the rest says more.
pub(super) fn told(path: &Path, error: sqlx::Error) -> BookError {
    const BUSY: i32 = 5;
    const LOCKED: i32 = 6;
    const READ_ONLY: i32 = 8;
    const CORRUPT: i32 = 11;
    const FULL: i32 = 13;
    const CANNOT_OPEN: i32 = 14;
    const NOT_A_DATABASE: i32 = 26;
    // The memory-mapped index beside the book could not grow, which only a full disk does.
    const INDEX_CANNOT_GROW: i32 = 10 | (19 << 8);

    let path = path.to_owned();
    match &error {
        sqlx::Error::PoolTimedOut => BookError::Locked { path },
        sqlx::Error::ColumnDecode { .. }
        | sqlx::Error::Decode(_)
        | sqlx::Error::ColumnNotFound(_)
        | sqlx::Error::ColumnIndexOutOfBounds { .. } => BookError::Damaged {
            path,
            what: error.to_string(),
        },
        // A row that has to be there isn't: the file has lost it.
        sqlx::Error::RowNotFound => BookError::Damaged {
            path,
            what: "a row that has to be there is missing".to_owned(),
        },
        sqlx::Error::Database(database) => {
            let code = database
                .code()
                .and_then(|code| code.parse::<i32>().ok())
                .unwrap_or(0);
            if code == INDEX_CANNOT_GROW {
                return BookError::DiskFull { path };
            }
            let what = database.message().to_owned();
            match code & 0xff {
                BUSY | LOCKED => BookError::Locked { path },
                READ_ONLY => BookError::ReadOnly { path },
                FULL => BookError::DiskFull { path },
                CORRUPT => BookError::Damaged { path, what },
                NOT_A_DATABASE => BookError::NotABook { path, what },
                CANNOT_OPEN => BookError::Storage {
                    path,
                    what: "the file, or the files that stand beside it while it is in use, could not be opened; \
                           if its folder is read-only, copy the book to one that you may write"
                        .to_owned(),
                },
                _ => BookError::Storage { path, what },
            }
        }
        _ => BookError::Storage {
            path,
            what: error.to_string(),
        },
    }
}
