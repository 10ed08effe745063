//! Whether the file that is open is still the one that stands under its name.

use std::path::Path;

use crate::BookError;
use crate::files::file_told;

/// Which file it was when it was opened.
#[derive(Debug)]
pub(super) struct Stands {
    #[cfg(unix)]
    device_and_file: (u64, u64),
}

impl Stands {
    #[cfg(unix)]
    pub(super) fn of(path: &Path) -> Result<Self, BookError> {
        use std::os::unix::fs::MetadataExt;
        let found = std::fs::metadata(path).map_err(|error| file_told(path, &error))?;
        Ok(Self {
            device_and_file: (found.dev(), found.ino()),
        })
    }

    /// Where an open file can neither be removed nor replaced, there is nothing to look at.
    #[cfg(not(unix))]
    pub(super) fn of(_path: &Path) -> Result<Self, BookError> {
        Ok(Self {})
    }

    /// Refuses to go on with a file that was removed or replaced: what is written there would be lost.
    pub(super) fn still_there(&self, path: &Path) -> Result<(), BookError> {
        #[cfg(unix)]
        {
            let replaced = match Self::of(path) {
                Ok(now) => now.device_and_file != self.device_and_file,
                Err(BookError::NotThere { .. }) => true,
                Err(other) => return Err(other),
            };
            if replaced {
                return Err(BookError::Replaced {
                    path: path.to_owned(),
                });
            }
        }
        #[cfg(not(unix))]
        let _ = path;
        Ok(())
    }
}
