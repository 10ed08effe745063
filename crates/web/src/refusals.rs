//! What was refused or went wrong, in a file beside the book: when, what kind of request, why. No names, no values, no
//! secrets: nothing that a person typed.

use crate::running::private;
use axum::http::{Method, StatusCode};
use std::io::Write;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, PoisonError};

/// Bytes after which a new file is begun; the one before is kept.
const MOST_BYTES: u64 = 1_000_000;

/// Why a request was refused, as a short general sentence that rides along with the answer.
#[derive(Clone, Debug)]
pub(crate) struct Reason(pub String);

/// The file.
#[derive(Clone, Debug)]
pub(crate) struct Refusals(Arc<Mutex<PathBuf>>);

impl Refusals {
    /// Beside a book.
    pub(crate) fn beside(book: &Path) -> Self {
        let mut name = book.as_os_str().to_owned();
        name.push(".log");
        Self(Arc::new(Mutex::new(PathBuf::from(name))))
    }

    /// Notes one. `route` is the pattern of the address, not the address. What can't be noted is let go.
    pub(crate) fn note(&self, method: &Method, route: &str, status: StatusCode, reason: &str) {
        let path = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        if std::fs::metadata(&*path).is_ok_and(|file| file.len() > MOST_BYTES) {
            let mut before = path.as_os_str().to_owned();
            before.push(".1");
            let _the_same_file_goes_on = std::fs::rename(&*path, before);
        }
        let line = format!(
            "{} {} {method} {route} {reason}\n",
            app::now(),
            status.as_u16()
        );
        let _the_disk_may_be_full = private()
            .append(true)
            .open(&*path)
            .and_then(|mut file| file.write_all(line.as_bytes()));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_file_is_turned_over_and_never_grows_past_twice_its_size() {
        let folder = tempfile::tempdir().unwrap();
        let refusals = Refusals::beside(&folder.path().join("lab.book"));
        let long = "x".repeat(10_000);
        for _ in 0..350 {
            refusals.note(
                &Method::POST,
                "/study/{thing}/edit",
                StatusCode::CONFLICT,
                &long,
            );
        }
        let size = |name: &str| std::fs::metadata(folder.path().join(name)).unwrap().len();
        assert!(size("lab.book.log") <= MOST_BYTES + 20_000);
        assert!(size("lab.book.log.1") <= MOST_BYTES + 20_000);
        assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 2);
    }
}
