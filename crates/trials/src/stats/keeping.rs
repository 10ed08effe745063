//! How long batches keep: regression of a measured value on time with the batch as unit, the
//! pooling rule of the open guideline on stability data (ICH Q1E, from memory, to be confirmed),
//! and the time at which the confidence bound of the mean meets a limit.

use super::distribution::{f_above, root_between, t_quantile};
use super::least_squares::{Fit, fit};
use measure::{Constant, Grade, Range};

/// The level at which lines are pooled.
pub const POOLING: Constant = Constant {
    name: "level at which lines of batches are pooled",
    value: 0.25,
    unit: "1",
    range: Range::new(0.05, 0.5),
    source: "ICH Q1E, evaluation of stability data, 0.25 (from memory, to be confirmed)",
    grade: Grade::Recalled,
};

/// Which lines the batches share.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Lines {
    /// One line for all.
    Common,
    /// One slope, each batch its own start.
    Parallel,
    /// Each batch its own line.
    Separate,
}

/// On which side the limit lies.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Side {
    /// The value falls to it.
    Lower,
    /// The value rises to it.
    Upper,
}

/// A test of pooling.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PoolTest {
    /// Ratio.
    pub f: f64,
    /// p-value.
    pub p: f64,
}

/// A batch's line with the time at which its bound meets the limit; none when never within reach.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BatchLine {
    /// Value at time 0.
    pub start: f64,
    /// Change per unit of time.
    pub slope: f64,
    /// Time at which the bound of the mean meets the limit; 0 when it is beyond from the start.
    pub keeps: Option<f64>,
}

/// How long batches keep.
#[derive(Clone, Debug, PartialEq)]
pub struct Keeping {
    /// Do slopes differ?
    pub slopes: PoolTest,
    /// Do starts differ, against the error of separate lines?
    pub starts: PoolTest,
    /// The same against the error of parallel lines.
    pub starts_reduced: PoolTest,
    /// The lines chosen.
    pub lines: Lines,
    /// All batches in one line.
    pub common: BatchLine,
    /// One slope: a line per batch.
    pub parallel: Vec<BatchLine>,
    /// Own lines, the error put together from all batches.
    pub separate: Vec<BatchLine>,
    /// Own lines, each with its own error; none for a batch of fewer than three values.
    pub alone: Vec<Option<BatchLine>>,
    /// Residual variance of separate lines.
    pub variance: f64,
    /// The time that holds for every batch, by the lines chosen (separate lines with their own
    /// errors); none when some batch never meets the limit.
    pub keeps: Option<f64>,
}

/// How far ahead is looked, in times the longest storage.
///
/// - Units: times the longest storage \[1\]
/// - Source: a limit on the search, chosen here
const REACH: f64 = 50.0;

fn meets(
    found: &Fit,
    row: impl Fn(f64) -> Vec<f64>,
    limit: f64,
    side: Side,
    level: f64,
    last: f64,
) -> Option<f64> {
    let t = t_quantile(level, found.df);
    let s2 = found.variance()?;
    // Room left between bound and limit; none where the line isn't told.
    let room = |at: f64| -> Option<f64> {
        let (mean, form) = found.combine(&row(at))?;
        let half = t * (form * s2).sqrt();
        Some(match side {
            Side::Lower => mean - half - limit,
            Side::Upper => limit - mean - half,
        })
    };
    if room(0.0)? < 0.0 {
        return Some(0.0);
    }
    let steps = 1000;
    let step = REACH * last / f64::from(steps);
    (1..=steps)
        .map(|i| step * f64::from(i))
        .find(|&at| room(at).is_some_and(|r| r < 0.0))
        .map(|at| root_between(|x| room(x).map_or(0.0, |r| -r), at - step, at))
}

/// Works out how long batches keep. `level` is the one-sided confidence of the bound (0.95 where
/// only one side can go wrong, 0.975 where both can).
///
/// None when a batch has fewer than two times or nothing is left to judge by.
///
/// - Rule: lines in time for each batch, put together where F tests at 25 % allow; keeps until the bound of the
///   mean meets the limit
/// - Units: times \[as given, such as months\], y and limit \[as the response\], level \[1\]
/// - Valid: two times or more for every batch
/// - Source: ICH Q1E, evaluation of stability data (from memory, to be confirmed)
///
/// ```
/// use trials::stats::keeping::{Side, keeping};
/// // Two batches that lose 1 a month from 100, with a scatter of a tenth: 90 comes at ten months, the bound before it.
/// let (batch, time) = ([0, 0, 0, 0, 1, 1, 1, 1], [0.0, 3.0, 6.0, 9.0, 0.0, 3.0, 6.0, 9.0]);
/// let y = [100.1, 96.9, 94.0, 91.0, 99.9, 97.1, 94.1, 90.9];
/// let found = keeping(&batch, &time, &y, 90.0, Side::Lower, 0.95).unwrap();
/// assert!((9.0..10.1).contains(&found.keeps.unwrap()));
/// ```
pub fn keeping(
    batch: &[usize],
    time: &[f64],
    y: &[f64],
    limit: f64,
    side: Side,
    level: f64,
) -> Option<Keeping> {
    let batches = batch.iter().max()? + 1;
    let n = y.len();
    let dummy =
        |b: usize| -> Vec<f64> { batch.iter().map(|&c| f64::from(u8::from(c == b))).collect() };
    let own_time = |b: usize| -> Vec<f64> {
        batch
            .iter()
            .zip(time)
            .map(|(&c, &t)| if c == b { t } else { 0.0 })
            .collect()
    };
    let one = fit(&[vec![1.0; n], time.to_vec()], y);
    let mut columns: Vec<Vec<f64>> = (0..batches).map(dummy).collect();
    columns.push(time.to_vec());
    let parallel = fit(&columns, y);
    columns.pop();
    columns.extend((0..batches).map(own_time));
    let full = fit(&columns, y);
    let variance = full.variance()?;
    if full.kept.len() < 2 * batches {
        return None;
    }
    let last = time.iter().fold(0.0_f64, |m, t| m.max(*t));
    let test = |small: &Fit, large: &Fit, error: &Fit| -> Option<PoolTest> {
        let df = small.df - large.df;
        if df <= 0.0 {
            return Some(PoolTest { f: 0.0, p: 1.0 });
        }
        let f = (small.rss - large.rss).max(0.0) / df / error.variance()?;
        // Points that all lie on their lines leave no error to test against.
        f.is_finite().then(|| PoolTest {
            f,
            p: f_above(f, df, error.df),
        })
    };
    let slopes = test(&parallel, &full, &full)?;
    let starts = test(&one, &parallel, &full)?;
    let starts_reduced = test(&one, &parallel, &parallel)?;
    let lines = if slopes.p < POOLING.value {
        Lines::Separate
    } else if starts.p < POOLING.value {
        Lines::Parallel
    } else {
        Lines::Common
    };
    let line = |f: &Fit, start: usize, slope: usize, keeps: Option<f64>| {
        Some(BatchLine {
            start: f.coefficients[start]?,
            slope: f.coefficients[slope]?,
            keeps,
        })
    };
    let common = line(
        &one,
        0,
        1,
        meets(&one, |t| vec![1.0, t], limit, side, level, last),
    )?;
    let of_parallel = (0..batches)
        .map(|b| {
            let keeps = meets(
                &parallel,
                |t| {
                    let mut row = vec![0.0; batches + 1];
                    (row[b], row[batches]) = (1.0, t);
                    row
                },
                limit,
                side,
                level,
                last,
            );
            line(&parallel, b, batches, keeps)
        })
        .collect::<Option<Vec<_>>>()?;
    let separate = (0..batches)
        .map(|b| {
            let keeps = meets(
                &full,
                |t| {
                    let mut row = vec![0.0; 2 * batches];
                    (row[b], row[batches + b]) = (1.0, t);
                    row
                },
                limit,
                side,
                level,
                last,
            );
            line(&full, b, batches + b, keeps)
        })
        .collect::<Option<Vec<_>>>()?;
    let alone: Vec<Option<BatchLine>> = (0..batches)
        .map(|b| {
            let rows: Vec<usize> = (0..n).filter(|&i| batch[i] == b).collect();
            let times: Vec<f64> = rows.iter().map(|&i| time[i]).collect();
            let values: Vec<f64> = rows.iter().map(|&i| y[i]).collect();
            let own = fit(&[vec![1.0; rows.len()], times], &values);
            own.variance()?;
            let keeps = meets(&own, |t| vec![1.0, t], limit, side, level, last);
            line(&own, 0, 1, keeps)
        })
        .collect();
    let shortest = |all: &[BatchLine]| -> Option<f64> {
        all.iter()
            .try_fold(f64::INFINITY, |m, l| l.keeps.map(|k| m.min(k)))
    };
    let keeps = match lines {
        Lines::Common => common.keeps,
        Lines::Parallel => shortest(&of_parallel),
        // A batch that never meets the limit doesn't shorten the time.
        Lines::Separate => {
            let times: Vec<f64> = alone.iter().flatten().filter_map(|l| l.keeps).collect();
            let every = alone.iter().all(Option::is_some);
            (every && !times.is_empty()).then(|| times.iter().fold(f64::INFINITY, |m, t| m.min(*t)))
        }
    };
    Some(Keeping {
        slopes,
        starts,
        starts_reduced,
        lines,
        common,
        parallel: of_parallel,
        separate,
        alone,
        variance,
        keeps,
    })
}
