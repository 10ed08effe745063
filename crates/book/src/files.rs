//! Files: looking before touching, and never half of one under a name that counts.

use std::io::Read;
use std::path::{Path, PathBuf};

use crate::BookError;

/// A file beside another: its name with an ending.
pub(crate) fn beside(path: &Path, ending: &str) -> PathBuf {
    let mut name = path.as_os_str().to_owned();
    name.push(ending);
    PathBuf::from(name)
}

/// Looks at the file before the database does. Says whether a new one is to be made, which needs `create`.
pub(crate) fn look_at(path: &Path, create: bool) -> Result<bool, BookError> {
    /// The first bytes of every SQLite database (https://sqlite.org/fileformat.html, 1.3).
    const HEAD: &[u8; 16] = b"SQLite format 3\0";

    let not_a_book = |what: &str| BookError::NotABook {
        path: path.to_owned(),
        what: what.to_owned(),
    };
    match std::fs::metadata(path) {
        Ok(found) if found.is_dir() => return Err(not_a_book("it is a folder")),
        // Reading from a pipe or a device could wait for ever.
        Ok(found) if !found.is_file() => return Err(not_a_book("it is no ordinary file")),
        _ => {}
    }
    let mut file = match std::fs::File::open(path) {
        Ok(file) => file,
        Err(error) if error.kind() == std::io::ErrorKind::NotFound && create => {
            let folder = path.parent().unwrap_or(Path::new("."));
            if !folder.is_dir() {
                return Err(BookError::Storage {
                    path: path.to_owned(),
                    what: format!("the folder {} does not exist", folder.display()),
                });
            }
            // What a lost book left here isn't a new one's.
            let log = beside(path, "-wal");
            return if log.exists() {
                Err(BookError::InTheWay { path: log })
            } else {
                Ok(true)
            };
        }
        Err(error) => return Err(file_told(path, &error)),
    };
    let mut head = Vec::new();
    file.by_ref()
        .take(HEAD.len() as u64)
        .read_to_end(&mut head)
        .map_err(|error| file_told(path, &error))?;
    match head.as_slice() {
        [] => Err(not_a_book(
            "it is empty. If a book stood here, restore its newest copy under another name; \
             if not, remove the empty file and open again",
        )),
        head if head == HEAD => Ok(false),
        _ => Err(not_a_book("it is another kind of file")),
    }
}

/// A file that grows under another name in the same folder until it is whole: whatever happens, under its own name
/// there is the whole file or none. It is the person's own (0600), and gone when it is dropped.
pub(crate) struct Part {
    file: tempfile::NamedTempFile,
    out: PathBuf,
}

impl Part {
    /// Begins a file that is to become `out`, which may not be there yet.
    pub(crate) fn of(out: &Path) -> Result<Self, BookError> {
        if out.parent().is_some_and(|folder| !folder.is_dir()) {
            return Err(BookError::Storage {
                path: out.to_owned(),
                what: "its folder does not exist".to_owned(),
            });
        }
        // Files that a book left here would be taken for the new one's own.
        for path in std::iter::once(out.to_owned()).chain(companions(out)) {
            if path.symlink_metadata().is_ok() {
                return Err(BookError::InTheWay { path });
            }
        }
        Ok(Self {
            file: part_beside(out)?,
            out: out.to_owned(),
        })
    }

    pub(crate) fn path(&self) -> &Path {
        self.file.path()
    }

    /// Brings it to the disk and gives it its name, unless something has that by now. Gives its size.
    pub(crate) fn finish(self) -> Result<u64, BookError> {
        let files = |error: std::io::Error| file_told(&self.out, &error);
        let file = std::fs::File::options()
            .write(true)
            .open(self.file.path())
            .map_err(files)?;
        file.sync_all().map_err(files)?;
        let bytes = file.metadata().map_err(files)?.len();
        drop(file);
        for path in companions(self.file.path()) {
            let _there_is_none_usually = std::fs::remove_file(path);
        }
        let out = self.out;
        self.file
            .persist_noclobber(&out)
            .map_err(|error| file_told(&out, &error.error))?;
        settle_folder(&out);
        Ok(bytes)
    }
}

fn part_beside(out: &Path) -> Result<tempfile::NamedTempFile, BookError> {
    tempfile::Builder::new()
        .prefix(".")
        .suffix(".part")
        .tempfile_in(out.parent().unwrap_or(Path::new(".")))
        .map_err(|error| file_told(out, &error))
}

/// What stands beside a book while it is in use.
fn companions(path: &Path) -> [PathBuf; 3] {
    ["-wal", "-shm", "-journal"].map(|ending| beside(path, ending))
}

/// Writes a whole small file, or nothing, in the place of what may be there.
pub(crate) fn put(path: &Path, text: &str) -> Result<(), BookError> {
    use std::io::Write;
    let files = |error: std::io::Error| file_told(path, &error);
    let mut part = part_beside(path)?;
    part.write_all(text.as_bytes()).map_err(files)?;
    part.as_file().sync_all().map_err(files)?;
    part.persist(path).map_err(|error| files(error.error))?;
    settle_folder(path);
    Ok(())
}

/// Makes a folder that only the person can look into, if it isn't there.
pub(crate) fn own_folder(path: &Path) -> Result<(), BookError> {
    let mut builder = std::fs::DirBuilder::new();
    builder.recursive(true);
    #[cfg(unix)]
    {
        use std::os::unix::fs::DirBuilderExt;
        builder.mode(0o700);
    }
    builder
        .create(path)
        .map_err(|error| file_told(path, &error))
}

/// Makes sure that the name of a new file survives a power cut. Not every file system can; the file
/// itself is whole either way.
pub(crate) fn settle_folder(path: &Path) {
    if let Some(folder) = path.parent()
        && let Ok(folder) = std::fs::File::open(folder)
    {
        let _not_everywhere = folder.sync_all();
    }
}

/// The plain words for what the file system reports.
pub(crate) fn file_told(path: &Path, error: &std::io::Error) -> BookError {
    use std::io::ErrorKind;
    let path = path.to_owned();
    match error.kind() {
        ErrorKind::NotFound => BookError::NotThere { path },
        ErrorKind::AlreadyExists => BookError::InTheWay { path },
        ErrorKind::PermissionDenied | ErrorKind::ReadOnlyFilesystem => BookError::ReadOnly { path },
        ErrorKind::StorageFull | ErrorKind::QuotaExceeded => BookError::DiskFull { path },
        _ => BookError::Storage {
            path,
            what: error.to_string(),
        },
    }
}
