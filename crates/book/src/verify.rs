//! Walking the chain from the first revision to the last.

use std::collections::HashMap;
use std::path::Path;

use serde::{Deserialize, Serialize};
use sqlx::{Connection, SqliteConnection};

use crate::chain::{BEFORE_THE_FIRST, hash_of};
use crate::error::told;
use crate::form;
use crate::ledger::tip;
use crate::revision::{Stored, as_stored, form_packed_alone, revision_columns, stored_of};
use crate::{Action, Book, BookError, Kind, Tip};

/// What walking the chain found.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct VerifyReport {
    /// How many revisions are sound, from the first on.
    pub revisions: u64,
    /// The end of the sound part of the chain.
    pub tip: Tip,
    /// The first thing that is wrong; none if all is well.
    pub broken: Option<Broken>,
}

/// The first thing that is wrong in a book.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Broken {
    /// The revision's place in the book; none if the file itself is damaged.
    pub id: Option<u64>,
    /// What it is about, such as `study ‘spent-grain’, revision 4`.
    pub about: String,
    /// What is wrong with it.
    pub what: String,
}

impl VerifyReport {
    /// Whether all is well.
    pub fn is_sound(&self) -> bool {
        self.broken.is_none()
    }
}

impl std::fmt::Display for VerifyReport {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match &self.broken {
            None => write!(
                f,
                "{} revisions, all sound; the chain ends in {}",
                self.revisions, self.tip.hash
            ),
            Some(Broken {
                id: Some(id),
                about,
                what,
            }) => write!(
                f,
                "revision {id} of the book ({about}) is broken: {what}. The {} before it are sound. \
                 Keep the file, and restore the newest backup under another name.",
                self.revisions
            ),
            Some(Broken {
                id: None,
                about,
                what,
            }) => write!(
                f,
                "{about} is damaged: {what}. Keep the file, and restore the newest backup under another name."
            ),
        }
    }
}

impl Book {
    /// Walks the whole chain and says the first thing that is wrong. `progress` is told how many
    /// revisions are done, and of how many. Others may go on reading and writing meanwhile; what
    /// they add is not looked at.
    ///
    /// # Errors
    /// What [`BookError`] tells of the storage. A broken chain is no error but the answer.
    pub async fn verify(
        &self,
        progress: impl FnMut(u64, u64) + Send,
    ) -> Result<VerifyReport, BookError> {
        let mut connection = self.aside().await?;
        let report = walk(&mut connection, self.path(), progress).await?;
        connection.close().await.map_err(|error| self.told(error))?;
        Ok(report)
    }
}

/// How many revisions are read at a time.
const STRIDE: i64 = 500;

/// What the walk has to remember of what it passed.
struct Walked {
    tip: Tip,
    /// For each thing, its last number and whether that was a removal.
    things: HashMap<(Kind, String), (u64, Action)>,
    /// For each thing, its last form that was packed alone.
    alone: HashMap<(Kind, String), (u64, String)>,
}

pub(crate) async fn walk(
    connection: &mut SqliteConnection,
    path: &Path,
    mut progress: impl FnMut(u64, u64) + Send,
) -> Result<VerifyReport, BookError> {
    let words = |error| told(path, error);
    let mut walked = Walked {
        tip: Tip {
            id: 0,
            hash: BEFORE_THE_FIRST.to_owned(),
        },
        things: HashMap::new(),
        alone: HashMap::new(),
    };
    // One transaction, so that the whole walk sees the book as of one moment.
    let mut transaction = connection.begin().await.map_err(words)?;

    let pages: String = sqlx::query_scalar("PRAGMA quick_check(1)")
        .fetch_one(&mut *transaction)
        .await
        .map_err(words)?;
    if pages != "ok" {
        let broken = Broken {
            id: None,
            about: "the file".to_owned(),
            what: pages,
        };
        return Ok(VerifyReport {
            revisions: 0,
            tip: walked.tip,
            broken: Some(broken),
        });
    }

    let total = tip(&mut transaction).await.map_err(words)?.id;
    progress(0, total);
    loop {
        let sql = concat!(
            "SELECT ",
            revision_columns!(),
            " FROM revision WHERE id > $1 ORDER BY id LIMIT $2"
        );
        let rows = sqlx::query(sql)
            .bind(as_stored(walked.tip.id))
            .bind(STRIDE)
            .fetch_all(&mut *transaction)
            .await
            .map_err(words)?;
        if rows.is_empty() {
            break;
        }
        for row in &rows {
            let (id, about, checked) = match stored_of(row) {
                Ok(stored) => {
                    let entry = &stored.entry;
                    let about = format!(
                        "{} ‘{}’, revision {}",
                        entry.kind, entry.thing, entry.number
                    );
                    (
                        entry.id,
                        about,
                        check(&mut transaction, &mut walked, stored).await,
                    )
                }
                Err(error) => (
                    walked.tip.id + 1,
                    "unreadable".to_owned(),
                    Err(error.to_string()),
                ),
            };
            if let Err(what) = checked {
                let broken = Some(Broken {
                    id: Some(id),
                    about,
                    what,
                });
                return Ok(VerifyReport {
                    revisions: walked.tip.id,
                    tip: walked.tip,
                    broken,
                });
            }
        }
        progress(walked.tip.id, total);
    }
    Ok(VerifyReport {
        revisions: walked.tip.id,
        tip: walked.tip,
        broken: None,
    })
}

/// Checks one revision against all before it, and remembers it.
async fn check(
    connection: &mut SqliteConnection,
    walked: &mut Walked,
    stored: Stored,
) -> Result<(), String> {
    let Stored {
        entry,
        packed,
        form_base,
        form_length,
    } = stored;
    let key = (entry.kind, entry.thing.clone());

    if entry.id != walked.tip.id + 1 {
        return Err(format!(
            "revision {} is missing before it",
            walked.tip.id + 1
        ));
    }
    if entry.previous != walked.tip.hash {
        return Err("it does not follow the revision before it".to_owned());
    }
    let last = walked.things.get(&key).copied();
    let parent = last.map(|(number, _)| number);
    if entry.number != parent.unwrap_or(0) + 1 || entry.parent != parent {
        return Err("its number does not follow the thing's last one".to_owned());
    }
    if entry.action == Action::Remove && !matches!(last, Some((_, Action::Save | Action::Restore)))
    {
        return Err("it removes what was not there".to_owned());
    }

    let base = match form_base {
        Some(id) => match walked.alone.get(&key) {
            Some((known, form)) if *known == id => Some(form.clone()),
            _ => Some(
                form_packed_alone(connection, id)
                    .await
                    .map_err(|error| error.to_string())?,
            ),
        },
        None => None,
    };
    let form = form::unpack(&packed, form_length, base.as_deref())
        .map_err(|what| format!("its form cannot be read: {what}"))?;
    if hash_of(&entry, &form) != entry.hash {
        return Err("it is not what was written: its hash does not fit".to_owned());
    }

    walked.tip = Tip {
        id: entry.id,
        hash: entry.hash,
    };
    walked
        .things
        .insert(key.clone(), (entry.number, entry.action));
    if form_base.is_none() {
        walked.alone.insert(key, (entry.id, form));
    }
    Ok(())
}
