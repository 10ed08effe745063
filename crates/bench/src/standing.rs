//! What a list of batches needs to know of one, whether everything of it was looked at or its last rows alone.

use crate::{BatchState, Entry, Kept, Signed, Station, What};
use serde::Serialize;

/// Where a batch stands.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Standing {
    /// Rows written of it.
    pub rows: u64,
    /// The station that it stands at; none where not all of it was looked at.
    pub station: Option<Station>,
    /// The signature of its sheet.
    pub signed: Option<Signed>,
    /// Why it was given up.
    pub abandoned: Option<Kept>,
}

impl Standing {
    /// Whether it is done with: signed or given up.
    pub fn is_closed(&self) -> bool {
        self.signed.is_some() || self.abandoned.is_some()
    }

    /// Whether anything at all was written.
    pub fn is_begun(&self) -> bool {
        self.rows > 0
    }
}

impl BatchState {
    /// Where it stands.
    pub fn standing(&self) -> Standing {
        Standing {
            rows: self.rows as u64,
            station: Some(self.station()),
            signed: self.signed.clone(),
            abandoned: self.abandoned.clone(),
        }
    }
}

/// Where a closed batch stands, told from the last of its `rows` rows: a row that closes it and isn't struck through.
/// What would strike that row through comes after it, so the rest isn't needed. None where these rows don't close it.
///
/// ```
/// use bench::{Entry, closed};
/// let row = |id, key: &str, what: &str| Entry { id, key: key.into(), what: what.into(), ..Entry::default() };
/// let signed = row(8, "a", "signed");
/// assert!(closed(&[row(7, "b", "note"), signed.clone()], 40).unwrap().signed.is_some());
/// let strike = Entry { strikes: Some("a".into()), ..row(9, "c", "signed") };
/// assert_eq!(closed(&[signed, strike], 40), None);
/// ```
pub fn closed(last: &[Entry], rows: u64) -> Option<Standing> {
    let stands = |e: &&Entry| {
        let struck = |by: &Entry| by.id > e.id && by.strikes.as_deref() == Some(&e.key);
        !last.iter().any(struck) && (e.strikes.is_none() || !e.value.is_empty())
    };
    let found = |what: What| {
        let word = what.about().word;
        last.iter().filter(stands).filter(move |e| e.what == word)
    };
    let signed = found(What::Signed).next().map(|e| Signed {
        hash: e.value.clone(),
        told: crate::fold::told(e, None),
    });
    let abandoned = found(What::Abandoned).next_back().map(|e| Kept {
        what: What::Abandoned,
        of: e.of.clone(),
        words: e.value.clone(),
        told: crate::fold::told(e, signed.as_ref().map(|s| s.told.id)),
    });
    let standing = Standing {
        rows,
        station: None,
        signed,
        abandoned,
    };
    standing.is_closed().then_some(standing)
}
