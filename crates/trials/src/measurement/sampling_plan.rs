//! Lot inspection by attributes: the normal single plans of ISO 2859-1, level II, and what they
//! promise.
//!
//! Such a plan is no assurance against pathogens: rare contamination slips through any number of
//! pieces that one can test. The kill step and hygiene carry that, and a qualified person.

use super::MeasurementError;
use crate::stats::distribution::{beta_below, beta_quantile, root_between};
use crate::stats::glm::ln_choose;
use measure::{Constant, Grade, Range};
use serde::{Deserialize, Serialize};

/// Acceptance quality limits of the table, % of pieces.
///
/// - Units: \[%\]
/// - Source: ISO 2859-1 (from memory, to be confirmed)
pub const LIMITS_PCT: [f64; 6] = [0.65, 1.0, 1.5, 2.5, 4.0, 6.5];

/// One line of the table: smallest lot, code letter, sample, acceptance number per limit. A blank
/// is an arrow.
struct Line {
    lot_from: u64,
    letter: char,
    sample: u32,
    accept: [Option<u32>; 6],
}

const fn line(lot_from: u64, letter: char, sample: u32, accept: [i32; 6]) -> Line {
    let mut numbers = [None; 6];
    let mut i = 0;
    while i < 6 {
        if accept[i] >= 0 {
            numbers[i] = Some(accept[i] as u32);
        }
        i += 1;
    }
    Line {
        lot_from,
        letter,
        sample,
        accept: numbers,
    }
}

/// ISO 2859-1 (as ANSI/ASQ Z1.4), normal inspection, single sampling, general level II; seen in
/// print in two public copies. −1 is an arrow.
const TABLE: [Line; 15] = [
    line(2, 'A', 2, [-1, -1, -1, -1, -1, 0]),
    line(9, 'B', 3, [-1, -1, -1, -1, 0, -1]),
    line(16, 'C', 5, [-1, -1, -1, 0, -1, -1]),
    line(26, 'D', 8, [-1, -1, 0, -1, -1, 1]),
    line(51, 'E', 13, [-1, 0, -1, -1, 1, 2]),
    line(91, 'F', 20, [0, -1, -1, 1, 2, 3]),
    line(151, 'G', 32, [-1, -1, 1, 2, 3, 5]),
    line(281, 'H', 50, [-1, 1, 2, 3, 5, 7]),
    line(501, 'J', 80, [1, 2, 3, 5, 7, 10]),
    line(1_201, 'K', 125, [2, 3, 5, 7, 10, 14]),
    line(3_201, 'L', 200, [3, 5, 7, 10, 14, 21]),
    line(10_001, 'M', 315, [5, 7, 10, 14, 21, -1]),
    line(35_001, 'N', 500, [7, 10, 14, 21, -1, -1]),
    line(150_001, 'P', 800, [10, 14, 21, -1, -1, -1]),
    line(500_001, 'Q', 1_250, [14, 21, -1, -1, -1, -1]),
];

/// A single sampling plan.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct SamplingPlan {
    /// Code letter of the lot size.
    pub letter: char,
    /// Code letter of the plan after following an arrow.
    pub plan_letter: char,
    /// Pieces to inspect.
    pub sample: u32,
    /// Accept with at most this many defective pieces.
    pub accept: u32,
    /// Whether the sample is the whole lot.
    pub whole_lot: bool,
    /// Pieces in the lot.
    pub lot: u64,
}

/// A sample that takes more than this share of the lot is drawn without putting back, and counts
/// as such; below, the binomial is as good.
const LARGE_SHARE: Constant = Constant {
    name: "share of the lot beyond which a sample counts as drawn without putting back",
    value: 0.25,
    unit: "1",
    range: Range::new(0.05, 0.5),
    source: "working rule, no source: below it the binomial is as good",
    grade: Grade::Assumed,
};

/// The plan for a lot.
///
/// Where the table has an arrow, the plan it points to is used, with its own sample: between
/// acceptance numbers 0 and 1 the first arrow points up and the second down. A sample as large as
/// the lot means every piece.
///
/// - Rule: code letter of the lot size, then the plan of its row and column, arrows followed
/// - Units: lot and sample \[pieces\], limit \[%\]
/// - Valid: lots of 2 or more, normal inspection, level II
/// - Source: ISO 2859-1, single sampling (table from memory, to be confirmed)
///
/// ```
/// use trials::measurement::sampling_plan::for_lot;
/// let p = for_lot(400, 2.5).unwrap();
/// assert_eq!((p.letter, p.sample, p.accept), ('H', 50, 3));
/// // Lot of 40 at 2.5 %: letter D has an arrow up to C.
/// let p = for_lot(40, 2.5).unwrap();
/// assert_eq!((p.letter, p.plan_letter, p.sample, p.accept), ('D', 'C', 5, 0));
/// ```
///
/// # Errors
/// A lot below 2, or a limit that the table does not have.
pub fn for_lot(lot: u64, limit_pct: f64) -> Result<SamplingPlan, MeasurementError> {
    let column = LIMITS_PCT
        .iter()
        .position(|l| (l - limit_pct).abs() < 1e-9)
        .ok_or(MeasurementError {
            name: "acceptance quality limit, %",
            value: limit_pct,
            allowed: "0.65, 1, 1.5, 2.5, 4 or 6.5",
        })?;
    let row = TABLE
        .iter()
        .rposition(|l| l.lot_from <= lot)
        .ok_or(MeasurementError {
            name: "lot size",
            value: lot as f64,
            allowed: "2 or more",
        })?;
    let used = follow(row, column);
    let accept = TABLE[used].accept[column].expect("arrows end at a number");
    let sample = u64::from(TABLE[used].sample).min(lot) as u32;
    Ok(SamplingPlan {
        letter: TABLE[row].letter,
        plan_letter: TABLE[used].letter,
        sample,
        accept,
        whole_lot: u64::from(sample) == lot,
        lot,
    })
}

/// The line an arrow points to.
fn follow(row: usize, column: usize) -> usize {
    let has = |r: &usize| TABLE[*r].accept[column].is_some();
    if has(&row) {
        return row;
    }
    let above = (0..row).rev().find(has);
    let below = (row + 1..TABLE.len()).find(has);
    match (above, below) {
        (Some(a), Some(b)) => {
            if row - a <= b - row {
                a
            } else {
                b
            }
        }
        (Some(a), None) => a,
        (None, Some(b)) => b,
        (None, None) => row,
    }
}

impl SamplingPlan {
    /// Probability that a lot with a share of defective pieces is accepted: binomial for lots much
    /// larger than the sample, else hypergeometric with the defective pieces there then are. A lot
    /// that is looked at wholly passes or it doesn't.
    ///
    /// Check (computed independently): sample 50, accept 3, 2.5 % defective: 0.963796.
    ///
    /// - Equation: P(X ≤ c), X binomial, or hypergeometric where the sample is a large share of the lot
    /// - Units: shares and probability \[1\]
    /// - Valid: shares from 0 to 1
    /// - Source: definition; the example computed apart
    ///
    /// ```
    /// let p = trials::measurement::sampling_plan::for_lot(400, 2.5).unwrap();
    /// assert!((p.accepted(0.025) - 0.963795677961647).abs() < 1e-12);
    /// ```
    pub fn accepted(&self, defective: f64) -> f64 {
        let (n, c) = (f64::from(self.sample), f64::from(self.accept));
        if self.accept >= self.sample {
            return 1.0;
        }
        let defective = defective.clamp(0.0, 1.0);
        let lot = self.lot as f64;
        if n <= LARGE_SHARE.value * lot {
            return 1.0 - beta_below(c + 1.0, n - c, defective);
        }
        // Between two whole numbers of defective pieces, in proportion.
        let bad = defective * lot;
        let (below, above) = ((bad + 1e-9).floor(), (bad - 1e-9).ceil());
        let at_below = self.drawn_at_most(below);
        if below >= above {
            return at_below;
        }
        at_below + (bad - below) * (self.drawn_at_most(above) - at_below)
    }

    /// Hypergeometric: at most the acceptance number among the sample when so many are in the lot.
    fn drawn_at_most(&self, bad: f64) -> f64 {
        let (n, lot) = (f64::from(self.sample), self.lot as f64);
        let all = ln_choose(lot, n);
        (0..=self.accept)
            .map(f64::from)
            .filter(|k| *k <= bad && n - k <= lot - bad)
            .map(|k| (ln_choose(bad, k) + ln_choose(lot - bad, n - k) - all).exp())
            .sum::<f64>()
            .min(1.0)
    }

    /// The share of defective pieces that is accepted with a probability: at 0.95 the producer's
    /// point, at 0.10 the buyer's.
    ///
    /// - Equation: p with P(X ≤ c) = accepted
    /// - Units: shares and probability \[1\]
    /// - Valid: probabilities between 0 and 1
    /// - Source: an identity: the inverse of `accepted`
    ///
    /// ```
    /// let p = trials::measurement::sampling_plan::for_lot(400, 2.5).unwrap();
    /// assert!((p.accepted(p.defective_at(0.10)) - 0.10).abs() < 1e-9);
    /// ```
    pub fn defective_at(&self, accepted: f64) -> f64 {
        let (n, c) = (f64::from(self.sample), f64::from(self.accept));
        if self.accept >= self.sample {
            return 1.0;
        }
        if n <= LARGE_SHARE.value * self.lot as f64 {
            return beta_quantile(1.0 - accepted, c + 1.0, n - c);
        }
        root_between(|p| accepted - self.accepted(p), 0.0, 1.0)
    }

    /// The operating curve: shares of defective pieces with the probability of acceptance, from 0
    /// to where one lot in a thousand is still accepted.
    ///
    /// - Rule: `accepted` at evenly spaced shares, up to where one lot in a thousand passes
    /// - Units: shares and probabilities \[1\]
    /// - Valid: two points or more
    /// - Source: an identity: a lot without defects always passes
    ///
    /// ```
    /// let curve = trials::measurement::sampling_plan::for_lot(400, 2.5).unwrap().operating_curve(5);
    /// assert_eq!((curve.len(), curve[0]), (5, (0.0, 1.0)));
    /// assert!((curve[4].1 - 0.001).abs() < 1e-6);
    /// ```
    pub fn operating_curve(&self, points: usize) -> Vec<(f64, f64)> {
        let top = self.defective_at(0.001);
        let last = points.max(2) - 1;
        (0..=last)
            .map(|i| {
                let p = top * i as f64 / last as f64;
                (p, self.accepted(p))
            })
            .collect()
    }

    /// What the plan promises, in words.
    pub fn sentence(&self) -> String {
        if self.whole_lot {
            return format!(
                "Look at all {} pieces; accept with at most {} defective.",
                self.sample, self.accept
            );
        }
        format!(
            "Look at {} pieces and accept with at most {} defective. Lots with {:.1} % defective pass 95 times in 100, lots with {:.1} % still pass 10 times in 100. It says nothing about pathogens.",
            self.sample,
            self.accept,
            100.0 * self.defective_at(0.95),
            100.0 * self.defective_at(0.10)
        )
    }
}
