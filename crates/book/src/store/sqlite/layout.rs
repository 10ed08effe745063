//! The layout of the book, grown one step at a time.
//!
//! Steps are only ever added at the end. A step that has been published is never edited: books made
//! with it exist.

use std::path::Path;

use sqlx::{ConnectOptions, Connection, SqliteConnection};

use super::rows::as_stored;
use super::told::told;
use crate::BookError;

struct Step {
    number: u64,
    name: &'static str,
    /// What every database takes.
    portable: &'static str,
    /// What only SQLite takes.
    sqlite: &'static str,
}

const STEPS: &[Step] = &[
    Step {
        number: 1,
        name: "ledger",
        portable: include_str!("../../../migrations/0001_ledger.sql"),
        sqlite: include_str!("../../../migrations/0001_ledger.sqlite.sql"),
    },
    Step {
        number: 2,
        name: "counted",
        portable: include_str!("../../../migrations/0002_counted.sql"),
        sqlite: "",
    },
    Step {
        number: 3,
        name: "figures",
        portable: include_str!("../../../migrations/0003_figures.sql"),
        sqlite: "",
    },
    Step {
        number: 4,
        name: "bench",
        portable: include_str!("../../../migrations/0004_bench.sql"),
        sqlite: include_str!("../../../migrations/0004_bench.sqlite.sql"),
    },
];

/// The newest layout this program knows.
pub const SCHEMA: u64 = STEPS.len() as u64;

/// The first layout that has rows of the bench.
pub(super) const WITH_BENCH: u64 = 4;

/// Stands in the head of the file, so that it can be told from any other database: ‘HTBK’.
const APPLICATION_ID: i64 = 0x4854_424b;

/// Brings the book, or an empty database, to the newest layout, in one transaction.
pub(super) async fn bring_up_to_date(
    connection: &mut SqliteConnection,
    path: &Path,
) -> Result<(), BookError> {
    let words = |error| told(path, error);
    let mut transaction = connection
        .begin_with("BEGIN IMMEDIATE")
        .await
        .map_err(words)?;
    // Looked at now that nobody else can change it.
    let found = layout_of(&mut transaction, path).await?.unwrap_or(0);
    apply_after(&mut transaction, found).await.map_err(words)?;
    transaction.commit().await.map_err(words)
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
            .bind(as_stored(step.number))
            .bind(step.name)
            .execute(&mut *connection)
            .await?;
    }
    Ok(())
}

/// What the stored layout lacks of what it ought to be; none when all is there as it was made. What another program
/// added beside it does no harm.
pub(super) async fn differs(
    connection: &mut SqliteConnection,
    path: &Path,
) -> Result<Option<String>, BookError> {
    let words = |error| told(path, error);
    let Some(layout) = layout_of(connection, path).await? else {
        return Ok(Some("it is empty".to_owned()));
    };
    let mut model = sqlx::sqlite::SqliteConnectOptions::new()
        .in_memory(true)
        .connect()
        .await
        .map_err(words)?;
    apply_up_to(&mut model, layout).await.map_err(words)?;
    let wanted = parts(&mut model).await.map_err(words)?;
    let found = parts(connection).await.map_err(words)?;
    let missing = wanted.iter().find(|part| !found.contains(part));
    Ok(missing
        .map(|(kind, name, ..)| format!("its {kind} ‘{name}’ is missing or not as it was made")))
}

async fn apply_up_to(model: &mut SqliteConnection, layout: u64) -> Result<(), sqlx::Error> {
    sqlx::raw_sql(
        "CREATE TABLE migration (number BIGINT NOT NULL PRIMARY KEY, name TEXT NOT NULL);",
    )
    .execute(&mut *model)
    .await?;
    for step in STEPS.iter().filter(|step| step.number <= layout) {
        sqlx::raw_sql(step.portable).execute(&mut *model).await?;
        sqlx::raw_sql(step.sqlite).execute(&mut *model).await?;
    }
    Ok(())
}

type Part = (String, String, String, Option<String>);

async fn parts(connection: &mut SqliteConnection) -> Result<Vec<Part>, sqlx::Error> {
    sqlx::query_as("SELECT type, name, tbl_name, sql FROM sqlite_master")
        .fetch_all(connection)
        .await
}

/// The layout of a book; none if the database is empty. Anything that is not a book, or is a newer
/// one, is an error.
pub(super) async fn layout_of(
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
    // The driver reads the type of each stored column as text, on a thread that ends where it isn't; whoever waits for
    // an answer then waits for ever.
    let texts: Vec<Vec<u8>> =
        sqlx::query_scalar("SELECT CAST(sql AS BLOB) FROM sqlite_master WHERE sql IS NOT NULL")
            .fetch_all(&mut *connection)
            .await
            .map_err(words)?;
    if texts.iter().any(|text| std::str::from_utf8(text).is_err()) {
        return Err(BookError::Damaged {
            path: path.to_owned(),
            what: "what it says of its own tables isn’t text".to_owned(),
        });
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
        let pinned = [
            "9723c4f117e93b61c9c384294ddc3b1905c60fdc50beabdd4eebf6c324824d77",
            "1de7af36655868f3bf0eac4acbc2748f5e28d6e054c0a315020fdf2af19e45e8",
            "372b1c384742a80f5a10de63d5ad6235a3dcb1b3a248956e0d1e109b39974ccc",
            "9c2daacb5c4a00030d6cb0745bd5863fbcb8d7bdd2bd00a4bfebfb4744004361",
        ];
        let now: Vec<String> = STEPS
            .iter()
            .map(|step| hexadecimal(&Sha256::digest([step.portable, step.sqlite].concat())))
            .collect();
        assert_eq!(now, pinned);
    }
}
