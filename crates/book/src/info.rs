//! What a book holds, in numbers.

use std::path::PathBuf;

use serde::{Deserialize, Serialize};

use crate::files::beside;
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
    /// How many rows of the bench it holds.
    pub entries: u64,
    /// How many pictures it holds.
    pub pictures: u64,
    /// The end of the chain.
    pub tip: Tip,
    /// When the first row was made.
    pub first_when: Option<String>,
    /// When the last row was made.
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
        let mut session = self.read().await?;
        let tip = session.tip().await?;
        let lengths = session.lengths().await?;
        let mut when = Vec::new();
        for id in [1, tip.id] {
            when.push(session.link(id).await?.map(|link| link.when));
        }
        let (last_when, first_when) = (when.pop().flatten(), when.pop().flatten());
        let drafts = session.unsaved_count().await?;
        let mut counts: Vec<Count> = Kind::ALL
            .iter()
            .map(|&kind| Count {
                kind,
                in_use: 0,
                removed: 0,
            })
            .collect();
        for (kind, all, removed) in session.counts().await? {
            let Some(count) = counts.iter_mut().find(|count| count.kind == kind) else {
                continue;
            };
            count.removed = removed;
            count.in_use = all.saturating_sub(removed);
        }
        let size = |ending: &str| {
            std::fs::metadata(beside(self.path(), ending)).map_or(0, |file| file.len())
        };
        Ok(Info {
            path: self.path().to_owned(),
            bytes: size("") + size("-wal"),
            schema: crate::SCHEMA,
            revisions: lengths.revisions,
            entries: lengths.entries,
            pictures: lengths.pictures,
            tip,
            first_when,
            last_when,
            counts,
            drafts,
        })
    }
}
