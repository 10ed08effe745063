//! What a database has to do to keep a book: its few statements, and nothing of what they mean.
//!
//! Everything else in this crate speaks to a [`Store`] and to the [`Session`]s that it begins. SQLite is the only
//! one there is ([`sqlite`]); another is one more file beside it.

pub(crate) mod sqlite;

use std::future::Future;
use std::path::Path;
use std::pin::Pin;

use crate::{BenchEntry, BookError, Draft, Entry, Kind, Page, ThingEnd, Tip, Unsaved};

/// Something that the database is waited for.
pub(crate) type Doing<'a, T> = Pin<Box<dyn Future<Output = Result<T, BookError>> + Send + 'a>>;

/// What a session is begun for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum For {
    /// A reading that is over soon.
    Reading,
    /// Long work that sees the book as of one moment, on a connection of its own.
    Looking,
    /// A change: everything up to [`Session::commit`] or nothing, and nobody else writes meanwhile.
    Writing,
}

/// A row of the ledger with its form still packed.
#[derive(Clone, Debug)]
pub(crate) struct Stored {
    pub entry: Entry,
    pub packed: Vec<u8>,
    /// The revision against whose form it is packed; none when packed alone.
    pub form_base: Option<u64>,
    pub form_length: u64,
}

/// How much of each a book has, by its own note.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(crate) struct Lengths {
    pub revisions: u64,
    /// Rows of the bench.
    pub entries: u64,
    pub pictures: u64,
}

/// A place in the chain: its hash, and when it was written.
#[derive(Clone, Debug)]
pub(crate) struct Link {
    pub hash: String,
    pub when: String,
}

/// A place that keeps a book.
pub(crate) trait Store: std::fmt::Debug + Send + Sync {
    /// Begins to read or to write.
    fn begin(&self, what: For) -> Doing<'_, Box<dyn Session>>;
    /// Makes sure that what was saved stands in the book itself and not only beside it.
    fn settle(&self) -> Doing<'_, ()>;
    /// Waits for what goes on and ends.
    fn close(&self) -> Doing<'_, ()>;
}

/// A conversation with the database. One that is dropped without [`Session::commit`] has written nothing.
pub(crate) trait Session: BenchSession + Send {
    /// Where the book is, for messages.
    fn path(&self) -> &Path;
    /// The layout that the book has; none where there is nothing yet.
    fn layout(&mut self) -> Doing<'_, Option<u64>>;

    /// The last row's place and hash, be it a revision or of the bench.
    fn tip(&mut self) -> Doing<'_, Tip>;
    /// The same as noted in the second place; none in a layout that has no such place.
    fn head(&mut self) -> Doing<'_, Option<Tip>>;
    /// What stands at a place of the chain.
    fn link(&mut self, id: u64) -> Doing<'_, Option<Link>>;
    /// The revision at a place of the book.
    fn at(&mut self, id: u64) -> Doing<'_, Option<Stored>>;
    /// A thing's revision of a number, or its newest.
    fn of<'a>(
        &'a mut self,
        kind: Kind,
        thing: &'a str,
        number: Option<u64>,
    ) -> Doing<'a, Option<Stored>>;
    /// The revisions after a place up to another, in order, each with its place; one that can't be read tells why.
    fn after(&mut self, id: u64, up_to: u64) -> Doing<'_, Vec<(u64, Result<Stored, String>)>>;
    /// The entries of the whole book, the newest first.
    fn recent(&mut self, page: Page) -> Doing<'_, Vec<Entry>>;
    /// A thing's entries, the newest first.
    fn history<'a>(&'a mut self, kind: Kind, thing: &'a str, page: Page) -> Doing<'a, Vec<Entry>>;
    /// The newest entry of every thing of a kind, removals among them, in no order.
    fn newest_of(&mut self, kind: Kind) -> Doing<'_, Vec<Entry>>;
    /// For each kind, how many things there are and how many of them are removed.
    fn counts(&mut self) -> Doing<'_, Vec<(Kind, u64, u64)>>;
    /// The lasting names of a kind that are `stem` or begin with `stem-`.
    fn names<'a>(&'a mut self, kind: Kind, stem: &'a str) -> Doing<'a, Vec<String>>;
    /// Adds a revision after the last one and notes it in the second place.
    fn add<'a>(&'a mut self, stored: &'a Stored) -> Doing<'a, ()>;

    /// A person's unsaved work on a thing.
    fn unsaved<'a>(&'a mut self, kind: Kind, thing: &'a str, who: &'a str) -> Doing<'a, Unsaved>;
    /// All unsaved work of a person, the latest first.
    fn unsaved_of<'a>(&'a mut self, who: &'a str) -> Doing<'a, Vec<Draft>>;
    /// How much unsaved work there is.
    fn unsaved_count(&mut self) -> Doing<'_, u64>;
    /// Puts a draft, whose counter is the new one, in the place of what had the counter `over`. Says whether it was so.
    fn put_unsaved<'a>(&'a mut self, draft: &'a Draft, over: u64) -> Doing<'a, bool>;
    /// Drops unsaved work; with `over` only what has that counter. Says whether there was any.
    fn drop_unsaved<'a>(
        &'a mut self,
        kind: Kind,
        thing: &'a str,
        who: &'a str,
        over: Option<u64>,
    ) -> Doing<'a, bool>;

    /// The store's own check, of everything or of what can be looked at in a moment; the first thing that is wrong.
    fn examine(&mut self, whole: bool) -> Doing<'_, Option<String>>;
    /// Writes everything, as it is at this moment, to a file that doesn't exist or is empty.
    fn copy_to<'a>(&'a mut self, file: &'a Path) -> Doing<'a, ()>;

    /// Keeps what was written: when this returns, it is on the disk.
    fn commit(self: Box<Self>) -> Doing<'static, ()>;
    /// Ends without keeping anything.
    fn leave(self: Box<Self>) -> Doing<'static, ()>;
}

/// The part of a conversation that is about the bench.
pub(crate) trait BenchSession {
    /// How much of each there is, by the book's own note.
    fn lengths(&mut self) -> Doing<'_, Lengths>;
    /// The rows of the bench after a place up to another, in order, each with its place; one that can't be read tells why.
    fn bench_after(
        &mut self,
        id: u64,
        up_to: u64,
    ) -> Doing<'_, Vec<(u64, Result<BenchEntry, String>)>>;
    /// Up to `most` of a thing's rows after a place of the book, in order.
    fn bench_of<'a>(
        &'a mut self,
        kind: Kind,
        thing: &'a str,
        after: u64,
        most: u64,
    ) -> Doing<'a, Vec<BenchEntry>>;
    /// The number and the place in the book of a thing's row of a number, or of its last one; found by another way than
    /// the rows themselves.
    fn bench_numbered<'a>(
        &'a mut self,
        kind: Kind,
        thing: &'a str,
        number: Option<u64>,
    ) -> Doing<'a, Option<(u64, u64)>>;
    /// How far each thing of a kind has come, removed ones among them, in no order.
    fn bench_ends(&mut self, kind: Kind) -> Doing<'_, Vec<ThingEnd>>;
    /// Up to `most` of the last rows of each of these things, those of a thing in order.
    fn bench_last<'a>(
        &'a mut self,
        kind: Kind,
        things: &'a [String],
        most: u64,
    ) -> Doing<'a, Vec<BenchEntry>>;
    /// The rows that have one of these keys, in no order.
    fn bench_by_key<'a>(&'a mut self, keys: Vec<&'a str>) -> Doing<'a, Vec<BenchEntry>>;
    /// The rows of a kind of thing that say one thing, in order, found by looking through all.
    fn bench_saying<'a>(&'a mut self, kind: Kind, what: &'a str) -> Doing<'a, Vec<BenchEntry>>;
    /// Adds rows after the last one and notes the end.
    fn add_bench<'a>(&'a mut self, entries: &'a [BenchEntry]) -> Doing<'a, ()>;
    /// The bytes of a picture.
    fn picture<'a>(&'a mut self, hash: &'a str) -> Doing<'a, Option<Vec<u8>>>;
    /// Some pictures after a hash, in order of their hashes.
    fn pictures_after<'a>(&'a mut self, hash: &'a str) -> Doing<'a, Vec<(String, Vec<u8>)>>;
    /// Adds a picture.
    fn add_picture<'a>(&'a mut self, hash: &'a str, bytes: &'a [u8]) -> Doing<'a, ()>;
}
