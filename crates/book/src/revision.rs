//! Lines of the ledger, and the forms they wrote.

use serde::{Deserialize, Serialize};

use crate::form;
use crate::store::{Session, Stored};
use crate::{Action, BookError, Kind};

/// One line of the ledger, without the form.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Entry {
    /// Place in the whole book, rows of the bench counted with the revisions: 1, 2, 3 … without a gap.
    pub id: u64,
    /// What kind of thing it is about.
    pub kind: Kind,
    /// The name that the thing keeps for ever, such as `spent-grain-biscuits`.
    pub thing: String,
    /// Place among the revisions of this thing: 1, 2, 3 …
    pub number: u64,
    /// The number it was made from; none for the first.
    pub parent: Option<u64>,
    /// What was done.
    pub action: Action,
    /// For a restoring, the number whose form was taken up again.
    pub restored: Option<u64>,
    /// Who did it.
    pub who: String,
    /// When, in UTC, such as `2026-11-25T09:00:44Z`.
    pub when: String,
    /// Why, if they said.
    pub why: Option<String>,
    /// What people call the thing; found by search.
    pub title: String,
    /// Version of the language the form is written in.
    pub form_version: u32,
    /// Hash of the row before this one in the book, be it one of the bench.
    pub previous: String,
    /// Hash of this revision, over all of the above, the form and `previous`.
    pub hash: String,
}

/// One change with the form it wrote.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Revision {
    /// The line of the ledger.
    pub entry: Entry,
    /// The written form; empty for a removal.
    pub form: String,
}

/// The end of the chain at some moment. Noted elsewhere (on a signed sheet, say), it proves later
/// that nothing up to there was altered or cut off.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Tip {
    /// The last row's place in the book; 0 in an empty book.
    pub id: u64,
    /// Its hash.
    pub hash: String,
}

fn damaged(session: &dyn Session, what: String) -> BookError {
    BookError::Damaged {
        path: session.path().to_owned(),
        what,
    }
}

/// The form of the revision with this id, which has to be packed alone.
pub(crate) async fn form_packed_alone(
    session: &mut dyn Session,
    id: u64,
) -> Result<String, BookError> {
    let what = match session.at(id).await? {
        None => format!("the form of revision {id} is missing"),
        Some(stored) if stored.form_base.is_some() => {
            format!("the form of revision {id} does not stand alone")
        }
        Some(stored) => match form::unpack(&stored.packed, stored.form_length, None) {
            Ok(form) => return Ok(form),
            Err(what) => format!("the form of revision {id} cannot be read: {what}"),
        },
    };
    Err(damaged(session, what))
}

/// Unpacks a stored row.
pub(crate) async fn unpacked(
    session: &mut dyn Session,
    stored: Stored,
) -> Result<Revision, BookError> {
    let base = match stored.form_base {
        Some(id) => Some(form_packed_alone(session, id).await?),
        None => None,
    };
    let form = form::unpack(&stored.packed, stored.form_length, base.as_deref());
    match form {
        Ok(form) => Ok(Revision {
            entry: stored.entry,
            form,
        }),
        Err(what) => {
            let id = stored.entry.id;
            let what = format!("the form of revision {id} cannot be read: {what}");
            Err(damaged(session, what))
        }
    }
}

/// Unpacks a stored row, where there is one.
pub(crate) async fn unpacked_if_any(
    session: &mut dyn Session,
    stored: Option<Stored>,
) -> Result<Option<Revision>, BookError> {
    match stored {
        Some(stored) => unpacked(session, stored).await.map(Some),
        None => Ok(None),
    }
}
