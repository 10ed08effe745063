//! The layout of the book, grown one step at a time.
//!
//! Steps are only ever added at the end. A step that has been published is never edited: books made
//! with it exist.

use std::path::Path;

use sqlx::{Connection, SqliteConnection};

use crate::BookError;
use crate::error::told;

struct Step {
    number: u64,
    name: &'static str,
    /// What every database takes.
    portable: &'static str,
    /// What only SQLite takes.
    sqlite: &'static str,
}

const STEPS: &[Step] = &[Step {
    number: 1,
    name: "ledger",
    portable: include_str!("../migrations/0001_ledger.sql"),
    sqlite: include_str!("../migrations/0001_ledger.sqlite.sql"),
}];

/// The newest layout this program knows.
pub const SCHEMA: u64 = STEPS.len() as u64;

/// Stands in the head of the file, so that it can be told from any other database: ‘HTBK’.
const APPLICATION_ID: i64 = 0x4854_424b;

/// Brings the book to the newest layout, in one transaction. An empty database becomes a book if
/// `create` is set.
pub(crate) async fn bring_up_to_date(
    connection: &mut SqliteConnection,
    path: &Path,
    create: bool,
) -> Result<(), BookError> {
    if layout_of(connection, path).await? == Some(SCHEMA) {
        return Ok(());
    }
    let mut transaction = connection
        .begin_with("BEGIN IMMEDIATE")
        .await
        .map_err(|error| told(path, error))?;
    // Looked at again, now that nobody else can change it.
    let found = match layout_of(&mut transaction, path).await? {
        Some(found) => found,
        None if create => 0,
        None => {
            let what = "it is empty".to_owned();
            return Err(BookError::NotABook {
                path: path.to_owned(),
                what,
            });
        }
    };
    let done = apply_after(&mut transaction, found).await;
    done.map_err(|error| told(path, error))?;
    transaction
        .commit()
        .await
        .map_err(|error| told(path, error))
}

async fn apply_after(connection: &mut SqliteConnection, found: u64) -> Result<(), sqlx::Error> {
    if found == 0 {
        // 1213481547 is APPLICATION_ID; a pragma takes no arguments.
        sqlx::raw_sql(
            "PRAGMA application_id = 1213481547;
             CREATE TABLE migration (number BIGINT NOT NULL PRIMARY KEY, name TEXT NOT NULL);",
        )
        .execute(&mut *connection)
        .await?;
    }
    for step in STEPS.iter().filter(|step| step.number > found) {
        sqlx::raw_sql(step.portable)
            .execute(&mut *connection)
            .await?;
        sqlx::raw_sql(step.sqlite).execute(&mut *connection).await?;
        sqlx::query("INSERT INTO migration (number, name) VALUES ($1, $2)")
            .bind(crate::revision::as_stored(step.number))
            .bind(step.name)
            .execute(&mut *connection)
            .await?;
    }
    Ok(())
}

/// The layout of a book; none if the database is empty. Anything that is not a book, or is a newer
/// one, is an error.
pub(crate) async fn layout_of(
    connection: &mut SqliteConnection,
    path: &Path,
) -> Result<Option<u64>, BookError> {
    let words = |error| told(path, error);
    let not_a_book = |what: &str| BookError::NotABook {
        path: path.to_owned(),
        what: what.to_owned(),
    };

    let mark: i64 = sqlx::query_scalar("PRAGMA application_id")
        .fetch_one(&mut *connection)
        .await
        .map_err(words)?;
    if mark != APPLICATION_ID {
        let tables: i64 = sqlx::query_scalar("SELECT COUNT(*) FROM sqlite_master")
            .fetch_one(&mut *connection)
            .await
            .map_err(words)?;
        return if mark == 0 && tables == 0 {
            Ok(None)
        } else {
            Err(not_a_book("it is a database of another program"))
        };
    }
    let found: Option<i64> = sqlx::query_scalar("SELECT MAX(number) FROM migration")
        .fetch_one(&mut *connection)
        .await
        .map_err(words)?;
    let found = found
        .and_then(|found| u64::try_from(found).ok())
        .ok_or_else(|| not_a_book("it does not say which layout it has"))?;
    if found > SCHEMA {
        return Err(BookError::Newer {
            path: path.to_owned(),
            found,
            known: SCHEMA,
        });
    }
    Ok(Some(found))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::chain::hexadecimal;
    use sha2::{Digest, Sha256};

    #[test]
    fn steps_are_numbered_from_one_without_a_gap() {
        for (index, step) in STEPS.iter().enumerate() {
            assert_eq!(step.number, index as u64 + 1, "{}", step.name);
        }
    }

    #[test]
    fn the_mark_in_the_file_spells_the_book() {
        assert_eq!(APPLICATION_ID, i64::from(u32::from_be_bytes(*b"HTBK")));
        assert_eq!(APPLICATION_ID, 1_213_481_547);
    }

    /// A published step is never edited: add another one instead.
    #[test]
    fn published_steps_are_as_they_were() {
        let pinned = ["9723c4f117e93b61c9c384294ddc3b1905c60fdc50beabdd4eebf6c324824d77"];
        let now: Vec<String> = STEPS
            .iter()
            .map(|step| hexadecimal(&Sha256::digest([step.portable, step.sqlite].concat())))
            .collect();
        assert_eq!(now, pinned);
    }
}
