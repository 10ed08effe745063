//! Drafts: what someone is typing and has not saved. No part of the record.
//!
//! A person's unsaved work on a thing has a counter that every change of it raises, dropping and saving included, and
//! that never goes back. A writer says which counter it looked at, so that nobody overwrites what they didn't see.

use serde::{Deserialize, Serialize};

use crate::check::{check_form, check_name, check_text, check_when, check_who};
use crate::store::For;
use crate::{Book, BookError, Kind, TEXT_LIMIT_BYTES};

/// One person's unsaved work on one thing.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Draft {
    /// What kind of thing it is.
    pub kind: Kind,
    /// The name that the thing keeps for ever.
    pub thing: String,
    /// Whose it is.
    pub who: String,
    /// Its counter; where it is put, that of what it takes the place of.
    pub counter: u64,
    /// The number of the revision it started from; none for a new thing.
    pub base: Option<u64>,
    /// When it was last put, in UTC.
    pub when: String,
    /// What people will call the thing.
    pub title: String,
    /// Version of the language the form is written in.
    pub form_version: u32,
    /// The form.
    pub form: String,
}

/// What stands in the place of a person's unsaved work on a thing.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Unsaved {
    /// Its counter; 0 where there never was any.
    pub counter: u64,
    /// The work; none where it was saved or dropped.
    pub draft: Option<Draft>,
}

impl Book {
    /// Keeps a draft in the place of what has its counter. Gives the new counter; none if somebody was faster, and then
    /// nothing is changed.
    ///
    /// # Errors
    /// What [`BookError`] tells. What was there stays then.
    pub async fn put_draft(&self, draft: &Draft) -> Result<Option<u64>, BookError> {
        check_name(&draft.thing)?;
        check_who(&draft.who)?;
        check_when(&draft.when)?;
        check_text("the title", &draft.title, TEXT_LIMIT_BYTES)?;
        check_form(&draft.form)?;
        let over = draft.counter;
        let next = Draft {
            counter: over + 1,
            ..draft.clone()
        };
        let mut session = self.begin(For::Writing).await?;
        if session.put_unsaved(&next, over).await? {
            session.commit().await?;
            Ok(Some(next.counter))
        } else {
            session.leave().await?;
            Ok(None)
        }
    }

    /// What stands in the place of a person's unsaved work on a thing.
    ///
    /// # Errors
    /// What [`BookError`] tells of the storage.
    pub async fn unsaved(&self, kind: Kind, thing: &str, who: &str) -> Result<Unsaved, BookError> {
        self.read().await?.unsaved(kind, thing, who).await
    }

    /// All drafts of a person, the latest first.
    ///
    /// # Errors
    /// What [`BookError`] tells of the storage.
    pub async fn drafts(&self, who: &str) -> Result<Vec<Draft>, BookError> {
        self.read().await?.unsaved_of(who).await
    }

    /// Drops a person's draft of a thing; with `over` only the one that has that counter. Says whether it was so.
    ///
    /// # Errors
    /// What [`BookError`] tells of the storage.
    pub async fn drop_draft(
        &self,
        kind: Kind,
        thing: &str,
        who: &str,
        over: Option<u64>,
    ) -> Result<bool, BookError> {
        let mut session = self.begin(For::Writing).await?;
        let dropped = session.drop_unsaved(kind, thing, who, over).await?;
        session.commit().await?;
        Ok(dropped)
    }
}
