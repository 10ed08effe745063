//! Which copy of the program has a book open: a locked file beside the book, and its address in another that only the
//! person can read.

use std::fs::{File, TryLockError};
use std::path::{Path, PathBuf};

/// This copy of the program has the book.
#[derive(Debug)]
pub(crate) struct Running {
    /// Holds the lock as long as it is open.
    _lock: File,
    address: PathBuf,
}

/// Who has a book.
#[derive(Debug)]
pub(crate) enum Taken {
    /// This copy, from now on.
    Here(Running),
    /// Another copy, at this address.
    Elsewhere(String),
    /// That can't be told, as on a disk without locks.
    Unknown,
}

impl Running {
    /// Takes a book, unless another copy has it.
    pub(crate) fn take(book: &Path) -> Taken {
        let beside = |ending: &str| {
            let mut name = book.as_os_str().to_owned();
            name.push(ending);
            PathBuf::from(name)
        };
        let address = beside(".open");
        let Ok(lock) = private().open(beside(".lock")) else {
            return Taken::Unknown;
        };
        match lock.try_lock() {
            Ok(()) => Taken::Here(Self {
                _lock: lock,
                address,
            }),
            Err(TryLockError::WouldBlock) => match std::fs::read_to_string(&address) {
                Ok(told) if told.starts_with("http://") => Taken::Elsewhere(told.trim().to_owned()),
                _ => Taken::Unknown,
            },
            Err(TryLockError::Error(_)) => Taken::Unknown,
        }
    }

    /// Writes down where it is served.
    pub(crate) fn tell(&mut self, address: &str) {
        use std::io::Write;
        let _there_may_be_none = std::fs::remove_file(&self.address);
        // Made here and for the person alone from its first byte, or not written at all.
        let written = private()
            .create_new(true)
            .open(&self.address)
            .and_then(|mut file| file.write_all(format!("{address}\n").as_bytes()));
        // Without it a second start serves the book as well, which does no harm.
        let _served_twice_at_worst = written;
    }
}

impl Drop for Running {
    fn drop(&mut self) {
        let _it_may_be_gone = std::fs::remove_file(&self.address);
    }
}

/// A file for the person alone.
pub(crate) fn private() -> std::fs::OpenOptions {
    let mut options = File::options();
    options.write(true).create(true).truncate(false);
    #[cfg(unix)]
    std::os::unix::fs::OpenOptionsExt::mode(&mut options, 0o600);
    options
}

#[cfg(all(test, unix))]
mod tests {
    use super::*;
    use std::os::unix::fs::{PermissionsExt, symlink};

    /// Whoever may write into the folder puts no file of theirs, and no way to one, in the place of the address.
    #[test]
    fn the_address_is_written_into_a_file_of_its_own() {
        let folder = tempfile::tempdir().unwrap();
        let book = folder.path().join("lab.book");
        let theirs = folder.path().join("theirs");
        std::fs::write(&theirs, "").unwrap();
        symlink(&theirs, folder.path().join("lab.book.open")).unwrap();
        let Taken::Here(mut running) = Running::take(&book) else {
            panic!("the book is free");
        };
        running.tell("http://127.0.0.1:1/?start=x");
        let written = folder.path().join("lab.book.open");
        assert_eq!(std::fs::read_to_string(&theirs).unwrap(), "");
        let told = written.symlink_metadata().unwrap();
        assert!(told.is_file());
        assert_eq!(told.permissions().mode() & 0o777, 0o600);
        assert!(matches!(Running::take(&book), Taken::Elsewhere(_)));
        // What can't be taken away isn't written to either.
        std::fs::remove_file(&written).unwrap();
        std::fs::create_dir(&written).unwrap();
        running.tell("http://127.0.0.1:1/?start=y");
        assert!(written.is_dir());
    }
}
