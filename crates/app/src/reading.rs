//! A study's text, read and resolved once however often it is asked for: one edit looks at the same two texts, the one
//! before and the one after, in many places.

use crate::AppError;
use crate::answers::{self, Answers};
use crate::desk::Desk;
use quick_cache::Weighter;
use quick_cache::sync::Cache;
use std::sync::{Arc, LazyLock, OnceLock};
use study::Study;
use study::chain::Key;
use study::edit;
use study::written::{Problem, StudyWritten, read_written};

/// Bytes that all readings together may take, about.
const MOST_BYTES: u64 = 48 << 20;
/// What a text comes to when it is read and resolved with its materials, in its own length, about.
const TIMES_ITS_LENGTH: u64 = 40;
/// Texts expected at once.
const USUAL_TEXTS: usize = 64;

/// A text that was read.
#[derive(Debug)]
pub(crate) struct Reading {
    text: String,
    /// The study as written.
    pub written: Arc<StudyWritten>,
    resolved: OnceLock<Resolved>,
    keys: OnceLock<Vec<Key>>,
}

/// A study resolved as far as it can be.
#[derive(Clone, Debug)]
pub(crate) struct Resolved {
    /// The study; none when there are problems that keep it from being worked out.
    pub study: Option<Arc<Study>>,
    /// What is wrong, if anything.
    pub problems: Vec<Problem>,
    /// Treatments that are taken in proportion.
    pub in_proportion: Vec<String>,
}

impl Reading {
    /// The study, worked out when it is asked for the first time.
    pub fn resolved(&self) -> &Resolved {
        self.resolved.get_or_init(|| {
            let (study, problems, in_proportion) = edit::in_proportion(&self.written, &self.text);
            Resolved {
                study: study.map(Arc::new),
                problems,
                in_proportion,
            }
        })
    }

    /// The answers of the study, empty where there is none; what they are found by is worked out once.
    pub fn answers(&self, desk: &Desk) -> Answers {
        let study = self.resolved().study.as_deref();
        study.map_or_else(Answers::default, |study| {
            answers::answers(study, self.keys.get_or_init(|| answers::keys(study)), desk)
        })
    }
}

#[derive(Clone, Debug)]
struct Length;

impl Weighter<Key, Arc<Reading>> for Length {
    fn weight(&self, _: &Key, reading: &Arc<Reading>) -> u64 {
        TIMES_ITS_LENGTH * reading.text.len() as u64
    }
}

/// What a text says depends on nothing but the text, so that readings are shared by all books that are open.
static READ: LazyLock<Cache<Key, Arc<Reading>, Length>> =
    LazyLock::new(|| Cache::with_weighter(USUAL_TEXTS, MOST_BYTES, Length));

/// Reads a text.
///
/// # Errors
/// [`AppError::Unreadable`].
pub(crate) fn reading(text: &str) -> Result<Arc<Reading>, AppError> {
    let key = Key::of_bytes(text.as_bytes());
    if let Some(reading) = READ.get(&key) {
        return Ok(reading);
    }
    let written = read_written(text)
        .map(Arc::new)
        .map_err(|problems| AppError::Unreadable {
            text: text.to_owned(),
            problems,
        })?;
    let reading = Arc::new(Reading {
        text: text.to_owned(),
        written,
        resolved: OnceLock::new(),
        keys: OnceLock::new(),
    });
    READ.insert(key, Arc::clone(&reading));
    Ok(reading)
}

/// The study as written.
///
/// # Errors
/// [`AppError::Unreadable`].
pub(crate) fn readable(text: &str) -> Result<Arc<StudyWritten>, AppError> {
    Ok(Arc::clone(&reading(text)?.written))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_text_is_read_once_and_what_is_kept_is_bounded() {
        let text = crate::DEMONSTRATION;
        let first = reading(text).unwrap();
        assert!(Arc::ptr_eq(&first, &reading(text).unwrap()));
        assert!(first.resolved().study.is_some());
        assert!(reading("[").is_err());
        for number in 0..400 {
            reading(&format!("{text}# {number}\n")).unwrap();
        }
        assert!(READ.weight() <= MOST_BYTES, "{}", READ.weight());
    }
}
