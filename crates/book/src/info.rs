//! What a book holds, in numbers.

use std::path::PathBuf;

use serde::{Deserialize, Serialize};

use crate::ledger::tip;
use crate::revision::{kind_of, wrong};
use crate::{Book, BookError, Kind, Tip};

/// What a book holds.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Info {
    /// Where it is.
    pub path: PathBuf,
    /// Size of the file, with what waits beside it to be put in.
    pub bytes: u64,
    /// Which layout it has.
    pub schema: u64,
    /// How many revisions it holds.
    pub revisions: u64,
    /// The end of the chain.
    pub tip: Tip,
    /// When the first revision was made.
    pub first_when: Option<String>,
    /// When the last revision was made.
    pub last_when: Option<String>,
    /// How many things of each kind.
    pub counts: Vec<Count>,
    /// How many drafts wait to be saved.
    pub drafts: u64,
}

/// How many things of a kind a book holds.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Count {
    /// The kind.
    pub kind: Kind,
    /// Things in use.
    pub in_use: u64,
    /// Things removed.
    pub removed: u64,
}

impl Book {
    /// What the book holds.
    ///
    /// # Errors
    /// What [`BookError`] tells of the storage.
    pub async fn info(&self) -> Result<Info, BookError> {
        self.gathered().await.map_err(|error| self.told(error))
    }

    async fn gathered(&self) -> Result<Info, sqlx::Error> {
        let mut reader = self.reader_raw().await?;
        let tip = tip(&mut reader).await?;
        let when = "SELECT at_utc FROM revision WHERE id = $1";
        let first_when = sqlx::query_scalar(when)
            .bind(1_i64)
            .fetch_optional(&mut *reader)
            .await?;
        let last_when = sqlx::query_scalar(when)
            .bind(crate::revision::as_stored(tip.id))
            .fetch_optional(&mut *reader)
            .await?;
        let drafts: i64 = sqlx::query_scalar("SELECT COUNT(*) FROM draft")
            .fetch_one(&mut *reader)
            .await?;
        let grouped: Vec<(String, i64, i64)> = sqlx::query_as(
            "SELECT kind, COUNT(*), SUM(CASE WHEN action = 'remove' THEN 1 ELSE 0 END)
             FROM newest GROUP BY kind",
        )
        .fetch_all(&mut *reader)
        .await?;

        let mut counts: Vec<Count> = Kind::ALL
            .iter()
            .map(|&kind| Count {
                kind,
                in_use: 0,
                removed: 0,
            })
            .collect();
        for (word, all, removed) in grouped {
            let kind = kind_of(&word)?;
            let count = counts
                .iter_mut()
                .find(|count| count.kind == kind)
                .ok_or_else(|| wrong(format!("no kind is called ‘{word}’")))?;
            count.removed = removed.unsigned_abs();
            count.in_use = all.unsigned_abs() - count.removed;
        }

        let size = |ending: &str| {
            let mut name = self.path().as_os_str().to_owned();
            name.push(ending);
            std::fs::metadata(name).map_or(0, |file| file.len())
        };
        Ok(Info {
            path: self.path().to_owned(),
            bytes: size("") + size("-wal"),
            schema: crate::SCHEMA,
            revisions: tip.id,
            tip,
            first_when,
            last_when,
            counts,
            drafts: drafts.unsigned_abs(),
        })
    }
}
