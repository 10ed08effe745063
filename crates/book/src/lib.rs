//! The stored book: an append-only ledger of written forms, and tables in and out.
//!
//! Knows the database and the written forms, which to it are opaque text with a title.
//! Must not know any formula, oven, statistic, screen or clock: it computes nothing, and the
//! moment of every change is told to it.
//!
//! A book is one SQLite file. Every change to a study, material, oven, line, piece or setting is a
//! new [`Revision`]: who, when, why, the written form, and a hash that chains to the revision
//! before. Nothing is changed in place and nothing is deleted; a removal is a revision too. What
//! someone is typing and has not yet saved is a [`Draft`], which is no part of the record.
//!
//! A revision that was handed back has reached the disk: it is there after a crash.

mod chain;
mod copy;
mod draft;
mod error;
pub mod exchange;
mod form;
mod info;
mod kind;
mod ledger;
mod migrate;
mod open;
mod page;
mod read;
mod revision;
mod verify;

pub use copy::{CopyReport, restore_file};
pub use draft::Draft;
pub use error::{BookError, SaveError};
pub use info::{Count, Info};
pub use kind::{Action, Kind};
pub use ledger::{FORM_LIMIT_BYTES, NAME_LIMIT_BYTES, Remove, Restore, Save, TEXT_LIMIT_BYTES};
pub use migrate::SCHEMA;
pub use open::Book;
pub use page::{Order, Page, Pageful};
pub use revision::{Entry, Revision, Tip};
pub use verify::{Broken, VerifyReport};
