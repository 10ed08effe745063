//! How long the next step is: the same control for every bake in time.

/// A step grows or shrinks at most by these factors from one to the next.
///
/// - Units: \[1\]
/// - Source: a numerical choice, usual in step control
const LEAST_FACTOR: f64 = 0.2;
/// The most.
///
/// - Units: \[1\]
/// - Source: a numerical choice, usual in step control
const MOST_FACTOR: f64 = 6.0;

/// What a control gives up at.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Limits {
    /// Steps tried over one stretch.
    pub most_steps: usize,
    /// Length of a refused step's next try \[s\].
    pub least_s: f64,
}

/// A step to be tried.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Step {
    /// Time of its start since the stretch began \[s\].
    pub from_s: f64,
    /// Its length \[s\].
    pub length_s: f64,
    /// Whether it starts where none was tried yet.
    pub fresh: bool,
}

/// The steps over a stretch of time: each one's length follows from its own error and from that of the one before
/// (a proportional and an integral part, after K. Gustafsson), and the last ends on the border.
#[derive(Clone, Debug)]
pub(crate) struct StepControl {
    duration_s: f64,
    limits: Limits,
    order: f64,
    time_s: f64,
    length_s: f64,
    is_last: bool,
    fresh: bool,
    error_before: f64,
    tried: usize,
    lost: bool,
}

impl StepControl {
    /// Steps over `duration_s` that begin with at most `first_s`; `order` is that of the embedded method plus one.
    pub(crate) fn new(duration_s: f64, first_s: f64, limits: Limits, order: f64) -> Self {
        Self {
            duration_s,
            limits,
            order,
            time_s: 0.0,
            length_s: first_s.min(0.1 * duration_s),
            is_last: false,
            fresh: true,
            error_before: 1.0,
            tried: 0,
            lost: false,
        }
    }

    /// The next step to try; none at the end of the stretch, or when the control has lost its way.
    pub(crate) fn next_step(&mut self) -> Option<Step> {
        let left = self.duration_s - self.time_s;
        if self.lost || left <= 0.0 {
            return None;
        }
        self.is_last = self.length_s >= left * (1.0 - 1e-12);
        if self.is_last {
            self.length_s = left;
        } else if 2.0 * self.length_s > left {
            self.length_s = 0.5 * left;
        }
        self.tried += 1;
        Some(Step {
            from_s: self.time_s,
            length_s: self.length_s,
            fresh: self.fresh,
        })
    }

    /// Whether the step last given is taken, by its error in units of the tolerance.
    pub(crate) fn takes(&mut self, error: f64) -> bool {
        let mut factor = if error.is_finite() {
            let (now, before) = (error.max(1e-10), self.error_before);
            0.9 * now.powf(-0.7 / self.order) * before.powf(0.3 / self.order)
        } else {
            LEAST_FACTOR
        };
        let taken = error <= 1.0;
        if taken {
            self.time_s = if self.is_last {
                self.duration_s
            } else {
                self.time_s + self.length_s
            };
            if !self.fresh {
                factor = factor.min(1.0);
            }
            self.error_before = error.max(1e-4);
        }
        self.fresh = taken;
        self.length_s *= factor.clamp(LEAST_FACTOR, MOST_FACTOR);
        self.lost =
            self.tried > self.limits.most_steps || (!taken && self.length_s < self.limits.least_s);
        taken
    }

    /// Time reached since the stretch began \[s\].
    pub(crate) fn time_s(&self) -> f64 {
        self.time_s
    }

    /// Steps tried.
    pub(crate) fn tried(&self) -> usize {
        self.tried
    }

    /// Whether too many steps were tried, or too short ones.
    pub(crate) fn is_lost(&self) -> bool {
        self.lost
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const LIMITS: Limits = Limits {
        most_steps: 1_000,
        least_s: 1e-9,
    };

    /// A method of order 1 whose error is (h/0.1)²: the steps settle just under 0.1 s.
    #[test]
    fn steps_settle_at_their_tolerance() {
        let mut control = StepControl::new(1.0, 0.01, LIMITS, 2.0);
        let mut tried = 0;
        while let Some(step) = control.next_step() {
            let error = (step.length_s / 0.1).powi(2);
            assert_eq!(control.takes(error), error <= 1.0);
            tried += 1;
        }
        assert!(!control.is_lost() && control.time_s() == 1.0);
        assert!((10..20).contains(&tried));
    }

    #[test]
    fn a_step_that_never_fits_is_a_loss() {
        let mut control = StepControl::new(1.0, 0.2, LIMITS, 3.0);
        let mut lengths = Vec::new();
        while let Some(step) = control.next_step() {
            lengths.push(step.length_s);
            assert_eq!(step.fresh, lengths.len() == 1);
            assert!(!control.takes(f64::NAN));
        }
        assert!(control.is_lost() && control.time_s() == 0.0);
        assert_eq!(control.tried(), lengths.len());
        assert!(lengths.windows(2).all(|w| w[1] == LEAST_FACTOR * w[0]));
    }

    #[test]
    fn after_a_refusal_a_step_does_not_grow() {
        let mut control = StepControl::new(100.0, 1.0, LIMITS, 3.0);
        let first = control.next_step().unwrap();
        assert!(!control.takes(2.0));
        let second = control.next_step().unwrap();
        assert!(second.length_s < first.length_s && second.from_s == 0.0 && !second.fresh);
        assert!(control.takes(1e-6));
        let third = control.next_step().unwrap();
        assert_eq!(third.length_s, second.length_s);
        assert!(third.fresh && third.from_s == second.length_s);
        assert!(control.takes(1e-6));
        assert_eq!(
            control.next_step().unwrap().length_s,
            MOST_FACTOR * third.length_s
        );
    }
}
