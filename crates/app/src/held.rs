//! Files that somebody looks at before they are read in: held for a while, found again by what is in them.

use crate::{App, AppError};
use quick_cache::Weighter;
use quick_cache::sync::Cache;
use sha2::{Digest, Sha256};
use std::sync::Arc;

/// Bytes that all of them may take: two of the largest that are read.
const MOST_BYTES: u64 = 128 << 20;

#[derive(Clone, Debug)]
struct Length;

impl Weighter<String, Arc<[u8]>> for Length {
    fn weight(&self, _: &String, bytes: &Arc<[u8]>) -> u64 {
        64 + bytes.len() as u64
    }
}

/// The files that are held.
#[derive(Debug)]
pub(crate) struct Held(Cache<String, Arc<[u8]>, Length>);

impl Default for Held {
    fn default() -> Self {
        Self(Cache::with_weighter(16, MOST_BYTES, Length))
    }
}

impl App {
    /// Holds a file, and gives the word that it is found by.
    pub fn hold(&self, bytes: Vec<u8>) -> String {
        let hash = Sha256::digest(&bytes);
        let word: String = hash.iter().map(|b| format!("{b:02x}")).collect();
        self.held.0.insert(word.clone(), bytes.into());
        word
    }

    /// A file that is held.
    ///
    /// # Errors
    /// One that isn’t held any more.
    pub fn held(&self, word: &str) -> Result<Arc<[u8]>, AppError> {
        self.held.0.get(word).ok_or_else(|| AppError::Value {
            field: "file".to_owned(),
            why: "it was looked at too long ago, or the program was started again; choose it once more"
                .to_owned(),
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_held_is_bounded() {
        let held = Held::default();
        for n in 0..10_u8 {
            let bytes: Arc<[u8]> = vec![n; 40 << 20].into();
            held.0.insert(n.to_string(), bytes);
        }
        assert!(held.0.weight() <= MOST_BYTES && held.0.get("9").is_some());
    }
}
