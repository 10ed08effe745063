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
//! What is written at the bench is a [`BenchEntry`] of a batch or trial, in the same chain; photographs are kept by the
//! hash of their bytes.
//!
//! Every statement stands in one file behind `store::Store`; beside the book lie its rotating copies
//! and, of studies, texts that any editor reads.
//!
//! A revision that was handed back has reached the disk: it is there after a crash.
//!
//! ```
//! # #[tokio::main(flavor = "current_thread")] async fn main() -> Result<(), Box<dyn std::error::Error>> {
//! # let folder = tempfile::tempdir()?;
//! use book::{Book, Kind, Save, SaveError};
//!
//! let book = Book::open(&folder.path().join("lab.book"), true).await?;
//! let mut change = Save {
//!     kind: Kind::Study,
//!     thing: "spent-grain".into(),
//!     base: None,
//!     who: "Ada".into(),
//!     when: "2026-03-02T12:00:00Z".into(),
//!     why: Some("first try".into()),
//!     title: "Spent grain biscuits".into(),
//!     form_version: 1,
//!     form: "flour = 60".into(),
//! };
//! let first = book.save(change.clone()).await?;
//! assert_eq!(first.entry.number, 1);
//!
//! // Somebody who did not see that revision is told so, and nothing is overwritten.
//! change.form = "flour = 40".into();
//! assert!(matches!(book.save(change).await, Err(SaveError::Stale { .. })));
//! # Ok(()) }
//! ```

mod bench_entry;
mod chain;
mod change;
mod check;
mod copies;
mod copy;
mod draft;
mod enter;
mod error;
pub mod exchange;
mod files;
mod form;
mod info;
mod kind;
mod ledger;
mod open;
mod page;
mod picture;
mod read;
mod revision;
mod store;
mod text;
mod verify;

pub use bench_entry::{BenchEntry, Entered, EntryReason, EntryRefused, NewBenchEntry, ThingEnd};
pub use change::{FORM_LIMIT_BYTES, NAME_LIMIT_BYTES, Remove, Restore, Save, TEXT_LIMIT_BYTES};
pub use copies::{COPIES_KEPT, Copy};
pub use copy::{CopyReport, restore_file, restore_telling};
pub use draft::{Draft, Unsaved};
pub use enter::{KEY_LIMIT_BYTES, SHORT_LIMIT_BYTES, VALUE_LIMIT_BYTES};
pub use error::{BookError, SaveError};
pub use info::{Count, Info};
pub use kind::{Action, Kind};
pub use open::Book;
pub use page::{Order, Page, Pageful};
pub use picture::PICTURE_LIMIT_BYTES;
pub use revision::{Entry, Revision, Tip};
pub use store::sqlite::SCHEMA;
pub use verify::{Broken, VerifyReport, verify_file};
