//! Two searches at once, told as one.

use std::sync::Mutex;

/// Two searches at once, each telling its share of the work.
pub(super) struct Both<'a> {
    told: Mutex<Told<'a>>,
    /// What each is of the whole.
    parts: [f64; 2],
}

struct Told<'a> {
    go_on: &'a mut (dyn FnMut(f64) -> bool + Send),
    shares: [f64; 2],
    /// Told to stop once is told to stop for good.
    stopped: bool,
}

impl<'a> Both<'a> {
    pub(super) fn new(go_on: &'a mut (dyn FnMut(f64) -> bool + Send), second: bool) -> Self {
        let parts = if second { [0.6, 0.4] } else { [1.0, 0.0] };
        Self {
            told: Mutex::new(Told {
                go_on,
                shares: [0.0; 2],
                stopped: false,
            }),
            parts,
        }
    }

    /// Whether to go on.
    pub(super) fn tell(&self, which: usize, done: f64) -> bool {
        // A search that ended in a panic takes the other along.
        let Ok(mut told) = self.told.lock() else {
            return false;
        };
        told.shares[which] = done;
        let share = self.parts[0] * told.shares[0] + self.parts[1] * told.shares[1];
        told.stopped = told.stopped || !(told.go_on)(share);
        !told.stopped
    }

    /// The other search has nothing left to be compared with.
    pub(super) fn stop(&self) {
        if let Ok(mut told) = self.told.lock() {
            told.stopped = true;
        }
    }
}
