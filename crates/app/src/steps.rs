//! The steps of somebody's unsaved work, for undo and redo. They live as long as the program runs;
//! the draft itself is in the book.

use std::collections::HashMap;
use std::sync::Mutex;

/// Steps that are kept for one study.
const MOST: usize = 200;

/// A state that can be gone back to: the form, and the revision it stands on.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Step {
    pub base: u64,
    pub form: String,
}

#[derive(Debug, Default)]
struct Trail {
    back: Vec<Step>,
    forth: Vec<Step>,
}

/// Steps by person and study.
#[derive(Debug, Default)]
pub(crate) struct Steps(Mutex<HashMap<(String, String), Trail>>);

impl Steps {
    fn with<T>(&self, who: &str, thing: &str, work: impl FnOnce(&mut Trail) -> T) -> Option<T> {
        let mut trails = self.0.lock().ok()?;
        let trail = trails
            .entry((who.to_owned(), thing.to_owned()))
            .or_default();
        Some(work(trail))
    }

    /// A new edit: what stood before can be gone back to, and nothing can be redone.
    pub(crate) fn made(&self, who: &str, thing: &str, before: Step) {
        self.with(who, thing, |trail| {
            trail.forth.clear();
            trail.back.push(before);
            if trail.back.len() > MOST {
                trail.back.remove(0);
            }
        });
    }

    /// One step back from `now`.
    pub(crate) fn back(&self, who: &str, thing: &str, now: Step) -> Option<Step> {
        self.with(who, thing, |trail| {
            let step = trail.back.pop()?;
            trail.forth.push(now);
            Some(step)
        })?
    }

    /// Goes back to a state that isn't among the steps.
    pub(crate) fn left(&self, who: &str, thing: &str, now: Step) {
        self.with(who, thing, |trail| trail.forth.push(now));
    }

    /// One step forth again from `now`.
    pub(crate) fn forth(&self, who: &str, thing: &str, now: Step) -> Option<Step> {
        self.with(who, thing, |trail| {
            let step = trail.forth.pop()?;
            trail.back.push(now);
            Some(step)
        })?
    }

    /// How many steps there are back and forth.
    pub(crate) fn count(&self, who: &str, thing: &str) -> (usize, usize) {
        self.with(who, thing, |trail| (trail.back.len(), trail.forth.len()))
            .unwrap_or_default()
    }

    /// Forgets the steps, as when the study was saved, restored or removed.
    pub(crate) fn forget(&self, who: &str, thing: &str) {
        if let Ok(mut trails) = self.0.lock() {
            trails.remove(&(who.to_owned(), thing.to_owned()));
        }
    }
}
