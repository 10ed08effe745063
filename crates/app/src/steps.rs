//! The steps of somebody's unsaved work, for undo and redo, and what each of them touched, so that a window that
//! hasn't seen one can be told. They live as long as the program runs; the draft itself is in the book.

use std::collections::{BTreeSet, HashMap, VecDeque};
use std::sync::{Mutex, MutexGuard, PoisonError};

/// Steps that are kept for one study.
const MOST: usize = 200;
/// Bytes that all steps together may take; the oldest of who hasn't worked for longest go first.
const MOST_BYTES: usize = 32 * 1024 * 1024;

/// A state that can be gone back to: the form, and the revision it stands on.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Step {
    pub base: u64,
    pub form: String,
}

/// A change that was made of somebody's unsaved work.
#[derive(Clone, Debug)]
struct Done {
    /// The counter of the work after it.
    counter: u64,
    window: Option<String>,
    touched: BTreeSet<String>,
}

#[derive(Debug, Default)]
struct Trail {
    back: VecDeque<Step>,
    forth: Vec<Step>,
    done: VecDeque<Done>,
    used: u64,
}

impl Trail {
    fn bytes(&self) -> usize {
        let forms = self.back.iter().chain(&self.forth).map(|s| s.form.len());
        let names = self
            .done
            .iter()
            .flat_map(|d| d.touched.iter().map(String::len));
        forms.sum::<usize>() + names.sum::<usize>()
    }

    /// Takes away what is oldest; false when there is nothing left.
    fn shed(&mut self) -> bool {
        if self.back.pop_front().is_some() {
            return true;
        }
        if !self.forth.is_empty() {
            self.forth.remove(0);
            return true;
        }
        self.done.pop_front().is_some()
    }
}

#[derive(Debug, Default)]
struct Trails {
    clock: u64,
    all: HashMap<(String, String), Trail>,
}

/// Steps by person and study.
#[derive(Debug, Default)]
pub(crate) struct Steps(Mutex<Trails>);

impl Steps {
    fn trails(&self) -> MutexGuard<'_, Trails> {
        self.0.lock().unwrap_or_else(PoisonError::into_inner)
    }

    fn with<T>(&self, who: &str, thing: &str, work: impl FnOnce(&mut Trail) -> T) -> T {
        let mut trails = self.trails();
        trails.clock += 1;
        let clock = trails.clock;
        let key = (who.to_owned(), thing.to_owned());
        let trail = trails.all.entry(key).or_default();
        trail.used = clock;
        let answer = work(trail);
        let mut bytes: usize = trails.all.values().map(Trail::bytes).sum();
        while bytes > MOST_BYTES {
            let oldest = trails.all.iter().min_by_key(|(_, trail)| trail.used);
            let Some(key) = oldest.map(|(key, _)| key.clone()) else {
                break;
            };
            if let Some(trail) = trails.all.get_mut(&key) {
                let before = trail.bytes();
                let some = trail.shed();
                bytes -= before - trail.bytes();
                if !some {
                    trails.all.remove(&key);
                }
            }
        }
        answer
    }

    /// A new edit: what stood before can be gone back to, and nothing can be redone.
    pub(crate) fn made(&self, who: &str, thing: &str, before: Step) {
        self.with(who, thing, |trail| {
            trail.forth.clear();
            trail.back.push_back(before);
            if trail.back.len() > MOST {
                trail.back.pop_front();
            }
        });
    }

    /// The state one step back, or one forth.
    pub(crate) fn next(&self, who: &str, thing: &str, forth: bool) -> Option<Step> {
        self.with(who, thing, |trail| {
            if forth {
                trail.forth.last().cloned()
            } else {
                trail.back.back().cloned()
            }
        })
    }

    /// That step was taken from `now`, which is none where it can't be come back to.
    pub(crate) fn taken(&self, who: &str, thing: &str, forth: bool, now: Option<Step>) {
        self.with(who, thing, |trail| {
            if forth {
                trail.forth.pop();
                trail.back.extend(now);
            } else {
                trail.back.pop_back();
                trail.forth.extend(now);
            }
        });
    }

    /// How many steps there are back and forth.
    pub(crate) fn count(&self, who: &str, thing: &str) -> (usize, usize) {
        self.with(who, thing, |trail| (trail.back.len(), trail.forth.len()))
    }

    /// Forgets the steps, as when the study was saved or restored.
    pub(crate) fn forget(&self, who: &str, thing: &str) {
        self.with(who, thing, |trail| {
            trail.back.clear();
            trail.forth.clear();
        });
    }

    /// Notes what a change touched that gave the unsaved work its counter.
    pub(crate) fn noted(
        &self,
        who: &str,
        thing: &str,
        counter: u64,
        window: Option<&str>,
        touched: BTreeSet<String>,
    ) {
        self.with(who, thing, |trail| {
            trail.done.push_back(Done {
                counter,
                window: window.map(str::to_owned),
                touched,
            });
            if trail.done.len() > MOST {
                trail.done.pop_front();
            }
        });
    }

    /// What other windows touched after the counter that one looked at; none when that isn't known any more.
    pub(crate) fn unseen(
        &self,
        who: &str,
        thing: &str,
        seen: u64,
        now: u64,
        window: Option<&str>,
    ) -> Option<BTreeSet<String>> {
        self.with(who, thing, |trail| {
            let mut all = BTreeSet::new();
            for counter in seen + 1..=now {
                let done = trail.done.iter().find(|d| d.counter == counter)?;
                if window.is_none() || done.window.as_deref() != window {
                    all.extend(done.touched.iter().cloned());
                }
            }
            Some(all)
        })
    }

    /// Whether every change after the counter that a window looked at was its own.
    pub(crate) fn all_own(
        &self,
        who: &str,
        thing: &str,
        seen: u64,
        now: u64,
        window: Option<&str>,
    ) -> bool {
        self.with(who, thing, |trail| {
            (seen + 1..=now).all(|counter| {
                let done = trail.done.iter().find(|d| d.counter == counter);
                window.is_some() && done.is_some_and(|d| d.window.as_deref() == window)
            })
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The limit is the project's own.
    #[test]
    fn steps_of_large_studies_stay_within_their_bytes() {
        let steps = Steps::default();
        for study in 0..3 {
            for _ in 0..MOST {
                let form = "x".repeat(1_900_000);
                steps.made("Ada", &format!("s{study}"), Step { base: 1, form });
            }
        }
        let bytes: usize = steps.trails().all.values().map(Trail::bytes).sum();
        assert!(bytes <= MOST_BYTES && bytes > MOST_BYTES / 2, "{bytes}");
        // Who works now keeps the steps.
        assert!(steps.count("Ada", "s2").0 > 10);
        assert_eq!(steps.count("Ada", "s0").0, 0);
    }
}
