//! Opening a book.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use crate::BookError;
use crate::files::file_told;
use crate::store::sqlite;
use crate::store::{For, Session, Store};

/// An open book. Clones share the same file; any number of them may be used at once.
///
/// Keep the file on a disk of this computer: the locks it relies on do not hold on a network share.
#[derive(Debug, Clone)]
pub struct Book {
    path: PathBuf,
    store: Arc<dyn Store>,
    is_new: bool,
}

impl Book {
    /// Opens the book at `path`. With `create`, makes a new one if there is no file (the folder has
    /// to exist). A book of an older version is copied and brought up to date; a newer one is refused. Whether the
    /// book is whole is looked at as far as that takes no time; [`Book::verify`] looks at all of it.
    ///
    /// # Errors
    /// [`BookError::NotThere`], [`BookError::NotABook`], [`BookError::Newer`], [`BookError::Damaged`],
    /// [`BookError::Locked`], [`BookError::DiskFull`], [`BookError::Storage`].
    pub async fn open(path: &Path, create: bool) -> Result<Book, BookError> {
        let path = std::path::absolute(path).map_err(|error| file_told(path, &error))?;
        let (store, is_new) = sqlite::open(&path, create).await?;
        Ok(Book {
            path,
            store: Arc::new(store),
            is_new,
        })
    }

    /// Where the book is.
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// Whether this opening made it.
    pub fn is_new(&self) -> bool {
        self.is_new
    }

    /// Waits for what is going on, though not for ever, and closes the file tidily. A book that is merely dropped, or
    /// whose program is killed, loses nothing either.
    pub async fn close(self) {
        let _nothing_is_lost = self.store.close().await;
    }

    pub(crate) async fn begin(&self, what: For) -> Result<Box<dyn Session>, BookError> {
        self.store.begin(what).await
    }

    pub(crate) async fn read(&self) -> Result<Box<dyn Session>, BookError> {
        self.begin(For::Reading).await
    }

    /// What was saved is put into the book itself, so that a copy of the one file has it. It is on the disk either way.
    pub(crate) async fn settle(&self) {
        let _next_time = self.store.settle().await;
    }
}
