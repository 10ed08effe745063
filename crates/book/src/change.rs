//! What a person asks to be written.

use crate::Kind;

/// The longest form, in bytes.
pub const FORM_LIMIT_BYTES: usize = 16 * 1024 * 1024;
/// The longest title, person's name or reason, in bytes.
pub const TEXT_LIMIT_BYTES: usize = 100_000;
/// The longest lasting name of a thing, in bytes.
pub const NAME_LIMIT_BYTES: usize = 200;

/// A form to be saved.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Save {
    /// What kind of thing it is.
    pub kind: Kind,
    /// The name that the thing keeps for ever.
    pub thing: String,
    /// The number of the revision it was made from; none for a new thing.
    pub base: Option<u64>,
    /// Who saves.
    pub who: String,
    /// Now, in UTC, such as `2026-11-25T09:00:44Z`.
    pub when: String,
    /// Why, if they say.
    pub why: Option<String>,
    /// What people call it.
    pub title: String,
    /// Version of the language the form is written in.
    pub form_version: u32,
    /// The form.
    pub form: String,
}

/// A thing to be taken out of use.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Remove {
    /// What kind of thing it is.
    pub kind: Kind,
    /// The name that the thing keeps for ever.
    pub thing: String,
    /// The number of the revision that was looked at.
    pub base: u64,
    /// Who removes.
    pub who: String,
    /// Now, in UTC.
    pub when: String,
    /// Why, if they say.
    pub why: Option<String>,
}

/// An earlier form to be taken up again.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Restore {
    /// What kind of thing it is.
    pub kind: Kind,
    /// The name that the thing keeps for ever.
    pub thing: String,
    /// The number whose form is taken up again.
    pub number: u64,
    /// The number of the newest revision that was looked at.
    pub base: u64,
    /// Who restores.
    pub who: String,
    /// Now, in UTC.
    pub when: String,
    /// Why, if they say.
    pub why: Option<String>,
}
