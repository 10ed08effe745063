//! Looking along time for the one at which a moisture is met: one way for every bake.

use measure::Range;

/// Two times nearer than this share of each other tell the noise of their steps, not a slope.
///
/// - Units: \[1\]
/// - Source: a numerical tolerance, chosen here
const NEAREST: f64 = 5e-3;
/// A search moves on by at least this share of the time.
///
/// - Units: \[1\]
/// - Source: a numerical tolerance, chosen here
const LEAST_MOVE: f64 = 2e-4;

/// A search along time with what is known so far.
pub(super) struct Seek {
    allowed_s: Range,
    target: f64,
    low: Option<f64>,
    high: Option<f64>,
    before: (f64, f64),
    slope_per_s: f64,
    width_s: f64,
}

/// Where to look next.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Next {
    /// It is met here.
    Met,
    /// Still too wet at the longest time.
    TooWet,
    /// Already too dry at the shortest time.
    TooDry,
    /// Nothing is left between a time that is too wet and one that is too dry.
    Lost,
    /// At this time.
    Try(f64),
}

impl Seek {
    /// For a wet-basis moisture; at no time at all it is that of the dough. Most of the way moisture falls nearly evenly.
    pub(super) fn new(allowed_s: Range, target: f64, dough: f64) -> Self {
        Self {
            allowed_s,
            target,
            low: None,
            high: None,
            before: (0.0, dough),
            slope_per_s: -dough / allowed_s.high,
            width_s: f64::INFINITY,
        }
    }

    /// The same search once more, with other bakes: how moisture falls is known, where it is met isn't.
    pub(super) fn again(&self) -> Self {
        Self {
            low: None,
            high: None,
            before: (0.0, f64::NAN),
            width_s: f64::INFINITY,
            ..*self
        }
    }

    /// Forgets on which side it looked: the target lies before `time_s`.
    pub(super) fn before(&mut self, time_s: f64) {
        *self = Self {
            high: Some(time_s),
            ..self.again()
        };
    }

    /// Where to look after `wet` was found at `t`.
    pub(super) fn next(&mut self, t: f64, wet: f64, tolerance: f64) -> Next {
        let (other, other_wet) = std::mem::replace(&mut self.before, (t, wet));
        let slope = (wet - other_wet) / (t - other);
        if (t - other).abs() > NEAREST * t && slope < 0.0 {
            self.slope_per_s = slope;
        }
        let miss = wet - self.target;
        if miss.abs() <= tolerance {
            return Next::Met;
        }
        if miss > 0.0 {
            if t >= self.allowed_s.high {
                return Next::TooWet;
            }
            self.low = Some(t);
        } else {
            if t <= self.allowed_s.low {
                return Next::TooDry;
            }
            self.high = Some(t);
            // It was wetter at a longer time: it took moisture up again, and the first crossing is what counts.
            self.low = self.low.filter(|low| *low < t);
        }
        let wish = t - miss / self.slope_per_s;
        let next = match (self.low, self.high) {
            (Some(a), Some(b)) if b - a < 1e-6 * b => return Next::Lost,
            (Some(a), Some(b)) => {
                let shrinks = b - a < 0.999 * self.width_s;
                self.width_s = b - a;
                if shrinks && wish > a && wish < b {
                    wish
                } else {
                    0.5 * (a + b)
                }
            }
            (Some(_), None) => wish.clamp((1.0 + LEAST_MOVE) * t, 2.5 * t),
            _ => wish.clamp(0.4 * t, (1.0 - LEAST_MOVE) * t),
        };
        Next::Try(self.allowed_s.clamp(next))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Bakes until the search ends.
    fn look(wetness: impl Fn(f64) -> f64, allowed_s: Range, start: f64) -> (f64, Next, usize) {
        let (mut seek, mut t) = (Seek::new(allowed_s, 0.08, wetness(0.0)), start);
        for bakes in 1..60 {
            match seek.next(t, wetness(t), 1e-6) {
                Next::Try(next) => t = next,
                end => return (t, end, bakes),
            }
        }
        panic!("the search doesn't end")
    }

    #[test]
    fn an_even_fall_is_met_at_the_second_bake_and_a_bent_one_soon() {
        let allowed = Range::new(10.0, 10_000.0);
        for start in [400.0, 700.0, 1500.0] {
            let (t, end, bakes) = look(|t| 0.3 - 0.22 * t / 700.0, allowed, start);
            assert_eq!(end, Next::Met);
            assert!(
                (t / 700.0 - 1.0).abs() < 1e-4 && bakes <= 2,
                "{start}: {t} {bakes}"
            );
            let (t, end, bakes) = look(|t| 0.3 * (0.08_f64 / 0.3).powf(t / 700.0), allowed, start);
            assert_eq!(end, Next::Met);
            assert!(
                (t / 700.0 - 1.0).abs() < 1e-4 && bakes <= 14,
                "{start}: {t} {bakes}"
            );
        }
    }

    #[test]
    fn ends_and_jumps_are_told() {
        let allowed = Range::new(100.0, 1000.0);
        assert_eq!(look(|_| 0.2, allowed, 300.0).1, Next::TooWet);
        assert_eq!(look(|_| 0.01, allowed, 300.0).1, Next::TooDry);
        let (t, end, _) = look(|t| if t < 471.0 { 0.09 } else { 0.07 }, allowed, 300.0);
        assert_eq!(end, Next::Lost);
        assert!((t - 471.0).abs() < 1e-3);
    }
}
