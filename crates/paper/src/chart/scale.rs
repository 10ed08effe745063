//! From values to places on paper, with few round ticks.

use crate::number;

/// A straight map from values to coordinates.
#[derive(Clone, Copy, Debug)]
pub struct Scale {
    /// First and last value.
    pub values: (f64, f64),
    /// Where they stand.
    pub places: (f64, f64),
}

impl Scale {
    /// The coordinate of a value; NaN stays NaN.
    pub fn at(&self, value: f64) -> f64 {
        let (v0, v1) = self.values;
        let (p0, p1) = self.places;
        if v1 == v0 {
            return p0;
        }
        p0 + (value - v0) / (v1 - v0) * (p1 - p0)
    }

    /// The value at a coordinate.
    pub fn value(&self, place: f64) -> f64 {
        let (v0, v1) = self.values;
        let (p0, p1) = self.places;
        if p1 == p0 {
            return v0;
        }
        v0 + (place - p0) / (p1 - p0) * (v1 - v0)
    }
}

/// Smallest step of 1, 2 or 5 times a power of ten that cuts `span` into at most `most` parts.
///
/// ```
/// assert_eq!(paper::chart::scale::nice_step(17.0, 5), 5.0);
/// assert_eq!(paper::chart::scale::nice_step(0.9, 5), 0.2);
/// ```
pub fn nice_step(span: f64, most: usize) -> f64 {
    let raw = span / most.max(1) as f64;
    if !raw.is_finite() || raw <= 0.0 {
        return 1.0;
    }
    let power = raw.log10().floor() as i32;
    for (digit, extra) in [(1.0, 0), (2.0, 0), (5.0, 0), (1.0, 1)] {
        let step = decimal(digit, power + extra);
        if step >= raw * (1.0 - 1e-9) {
            return step;
        }
    }
    decimal(1.0, power + 1)
}

/// `digit` times ten to `power`, as near as a float can be (0.2, not 0.2000…1).
fn decimal(digit: f64, power: i32) -> f64 {
    if power < 0 {
        digit / 10f64.powi(-power)
    } else {
        digit * 10f64.powi(power)
    }
}

/// Decimals that a tick at this step needs.
pub fn places(step: f64) -> usize {
    (-step.log10() - 1e-9).ceil().clamp(0.0, 9.0) as usize
}

/// The step of ticks in a range: at most `most` parts, finer when fewer than two ticks would show.
fn tick_step(low: f64, high: f64, most: usize) -> f64 {
    let step = nice_step(high - low, most);
    let shown = (high / step + 1e-9).floor() - (low / step - 1e-9).ceil();
    if shown >= 1.0 {
        step
    } else {
        // Five parts or more are never wider than half the range, so two ticks fall inside.
        nice_step(high - low, (2 * most).max(5))
    }
}

/// Round ticks inside a range: two at least, and at most `most + 1` (six when `most` is smaller).
///
/// ```
/// assert_eq!(paper::chart::scale::ticks(0.0, 18.3, 4), [0.0, 5.0, 10.0, 15.0]);
/// ```
pub fn ticks(low: f64, high: f64, most: usize) -> Vec<f64> {
    let (low, high) = proper(low, high);
    let step = tick_step(low, high, most);
    let first = (low / step - 1e-9).ceil();
    let last = (high / step + 1e-9).floor();
    (0..=(last - first) as usize)
        .map(|i| (first + i as f64) * step)
        .map(|v| measure::rounding::to_division(v, step))
        .collect()
}

/// Ticks with their texts, decimals as the step needs.
pub fn labelled_ticks(low: f64, high: f64, most: usize) -> Vec<(f64, String)> {
    let (low, high) = proper(low, high);
    let places = places(tick_step(low, high, most));
    ticks(low, high, most)
        .into_iter()
        .map(|v| (v, number::fixed(v, places)))
        .collect()
}

/// A range widened to whole ticks.
pub fn nice_range(low: f64, high: f64, most: usize) -> (f64, f64) {
    let (low, high) = proper(low, high);
    let step = nice_step(high - low, most);
    (
        (low / step + 1e-9).floor() * step,
        (high / step - 1e-9).ceil() * step,
    )
}

/// The smallest range that holds all finite values; nothing when there is none.
pub fn extent(values: impl IntoIterator<Item = f64>) -> Option<(f64, f64)> {
    values
        .into_iter()
        .filter(|v| v.is_finite())
        .fold(None, |range, v| {
            let (low, high) = range.unwrap_or((v, v));
            Some((low.min(v), high.max(v)))
        })
}

/// A range that can be drawn: finite, in order and not empty.
pub fn proper(low: f64, high: f64) -> (f64, f64) {
    if !low.is_finite() || !high.is_finite() {
        return (0.0, 1.0);
    }
    let (low, high) = (low.min(high), low.max(high));
    let least = low.abs().max(high.abs()) * 1e-6;
    if high - low > least {
        (low, high)
    } else {
        let half = if low == 0.0 { 1.0 } else { low.abs() * 0.1 };
        (low - half, high + half)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn ticks_are_few_round_even_and_inside(
            low in -1e6..1e6f64, span in 1e-3..1e7f64, most in 2usize..9
        ) {
            let high = low + span;
            let (low, high) = proper(low, high);
            let ticks = ticks(low, high, most);
            let step = tick_step(low, high, most);
            prop_assert!((2..=most.max(5) + 1).contains(&ticks.len()), "{ticks:?}");
            let slack = step * 1e-6;
            for t in &ticks {
                prop_assert!(*t >= low - slack && *t <= high + slack);
                let n = t / step;
                prop_assert!((n - n.round()).abs() < 1e-6, "{t} is no multiple of {step}");
            }
            for w in ticks.windows(2) {
                prop_assert!((w[1] - w[0] - step).abs() < slack);
            }
            let lead = step / 10f64.powf((step.log10() + 1e-9).floor());
            prop_assert!([1.0, 2.0, 5.0].iter().any(|d| (lead - d).abs() < 1e-6), "{lead}");
        }

        #[test]
        fn a_nice_range_holds_the_data(low in -1e6..1e6f64, span in 0.0..1e6f64) {
            let (a, b) = nice_range(low, low + span, 5);
            let slack = (b - a) * 1e-6;
            prop_assert!(a <= low + slack && b >= low + span - slack && b > a);
        }
    }

    #[test]
    fn tick_texts_tell_neighbours_apart() {
        for (low, high) in [(0.0, 1.0), (0.61, 0.68), (-3.0, 14.0), (9_000.0, 61_000.0)] {
            let mut texts: Vec<_> = labelled_ticks(low, high, 5)
                .into_iter()
                .map(|(_, t)| t)
                .collect();
            let count = texts.len();
            texts.dedup();
            assert!(count >= 3 && texts.len() == count, "{texts:?}");
        }
    }

    #[test]
    fn nothing_to_show_is_still_a_range() {
        assert_eq!(proper(f64::NAN, 1.0), (0.0, 1.0));
        assert_eq!(proper(0.0, 0.0), (-1.0, 1.0));
        assert_eq!(extent([f64::NAN]), None);
    }
}
