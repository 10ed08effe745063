//! A row as it was written at the bench.

use serde::{Deserialize, Serialize};

/// A row of a batch or trial, as it is kept. Nothing in it is trusted but its place among the others.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Entry {
    /// Place in the book: later rows have higher numbers.
    pub id: u64,
    /// Name of the row, made by the device that wrote it.
    pub key: String,
    /// Moment at the bench, as the device told it, in UTC.
    pub at: String,
    /// Moment of arrival in the book, in UTC.
    pub arrived: String,
    /// Who wrote it.
    pub who: String,
    /// On which device, where one was told.
    pub device: Option<String>,
    /// What it says: a word of [`crate::What`].
    pub what: String,
    /// Of which material, response, tray or setting.
    pub of: Option<String>,
    /// On which unit within the batch, as [`crate::On`] reads it.
    pub on: Option<String>,
    /// The value as typed.
    pub value: String,
    /// The unit it was typed in; none for the one that it is kept in.
    pub unit: Option<String>,
    /// The key of an earlier row that this one strikes through. With an empty value it does no more than that; else
    /// its value stands in the other's place (a moment that is written again has any word for a value).
    pub strikes: Option<String>,
    /// Why: of a strike, or of a value that was confirmed beyond what is plausible.
    pub why: Option<String>,
}
