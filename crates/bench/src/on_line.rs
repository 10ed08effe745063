//! Checks on the line: samples across the band, one after another, with limits from themselves.

use crate::{BatchState, Part, What};
use measure::estimate::Z95;
use measure::{Constant, Grade, Range};
use serde::Serialize;
use trials::stats::distribution::t_quantile;
use trials::stats::normal_range;

/// Samples that limits stand on; with fewer they are drawn, and said to be loose.
pub static ENOUGH_SAMPLES: Constant = Constant {
    name: "samples that limits of a chart stand on",
    value: 20.0,
    unit: "",
    range: Range::new(5.0, 100.0),
    source: "20 to 25 are asked for in common practice of control charts, from memory, to be confirmed",
    grade: Grade::Recalled,
};
/// Fewer samples give no limits.
const FEWEST_SAMPLES: usize = 5;
/// Limits stand so many standard deviations off, as is common practice.
const LIMIT_SD: f64 = 3.0;

/// Something that a run of samples shows which chance seldom does.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Rule {
    /// A mean beyond a limit.
    MeanBeyondLimit,
    /// A range beyond its limit.
    RangeBeyondLimit,
    /// Eight means in a row on one side of the middle.
    EightOnOneSide,
    /// Six means in a row, each higher or each lower than the one before.
    SixOneWay,
    /// Two of three means in the last third before one limit, or beyond it.
    TwoOfThreeFarOut,
}

impl Rule {
    /// Every rule.
    pub const ALL: [Self; 5] = [
        Self::MeanBeyondLimit,
        Self::RangeBeyondLimit,
        Self::EightOnOneSide,
        Self::SixOneWay,
        Self::TwoOfThreeFarOut,
    ];

    /// Where the rules come from.
    pub const SOURCE: &'static str =
        "Rules of control charts in common use; from memory, to be confirmed.";

    /// In words.
    pub const fn words(self) -> &'static str {
        match self {
            Self::MeanBeyondLimit => "a mean beyond a limit",
            Self::RangeBeyondLimit => "a range beyond its limit",
            Self::EightOnOneSide => "eight on one side",
            Self::SixOneWay => "six in a row, each higher or each lower",
            Self::TwoOfThreeFarOut => "two of three close to one limit",
        }
    }

    /// What it often comes from.
    pub const fn often(self) -> &'static str {
        match self {
            Self::MeanBeyondLimit => {
                "something changed at once: a gauge, a dough, a scale that wasn’t at nought"
            }
            Self::RangeBeyondLimit => "the band isn’t fed evenly across, or one piece was damaged",
            Self::EightOnOneSide => "it runs at another weight than before",
            Self::SixOneWay => "something drifts: dough that dries or warms, a gauge that creeps",
            Self::TwoOfThreeFarOut => "it begins to move",
        }
    }
}

/// A sample: what was read at each position at one time.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Sample {
    /// Its number, as it was written.
    pub number: String,
    /// The moment of its first value.
    pub at: String,
    /// Position and value.
    pub values: Vec<(String, f64)>,
    /// Their mean.
    pub mean: f64,
    /// Their range, once the usual differences between positions are taken out; none of one value alone.
    pub range: Option<f64>,
    /// Limits of the mean of so many values.
    pub mean_limits: Option<(f64, f64)>,
    /// Middle and limits of the range of so many values.
    pub range_limits: Option<(f64, f64, f64)>,
}

/// A position across the band.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Position {
    /// What it is called.
    pub name: String,
    /// Values read there.
    pub values: usize,
    /// How far it usually lies from the mean of its samples.
    pub off: f64,
    /// The 95 % interval of that; none of one value alone.
    pub off95: Option<(f64, f64)>,
}

/// A rule that a sample fulfils, as the last of those that do.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Shown {
    /// The rule.
    pub rule: Rule,
    /// Number of the sample.
    pub sample: String,
}

/// What the checks of a batch come to.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct OnLine {
    /// What was read.
    pub what: What,
    /// The samples, in the order of the book.
    pub samples: Vec<Sample>,
    /// The positions, in the order in which they were first read.
    pub positions: Vec<Position>,
    /// Mean of all samples.
    pub centre: f64,
    /// Standard deviation of one value within a sample, from the ranges; none with too few samples.
    pub sd: Option<f64>,
    /// What the samples show.
    pub shown: Vec<Shown>,
}

impl OnLine {
    /// Whether the limits stand on fewer samples than is asked for.
    pub fn is_loose(&self) -> bool {
        (self.samples.len() as f64) < ENOUGH_SAMPLES.value
    }
}

/// What the checks of a batch come to; none where there are none. A value belongs to the sample that its part `reading`
/// names; values that are set aside are left out.
///
/// The limits come from the samples themselves: the scatter within samples is the mean range over the range that so many
/// normal values have, and a mean lies within three standard deviations of the middle. Before ranges are taken the usual
/// difference of each position is taken out, so that a band that is always heavier on the left doesn’t widen the limits.
pub fn on_line(state: &BatchState, what: What) -> Option<OnLine> {
    let mut samples: Vec<Sample> = Vec::new();
    let mut names: Vec<String> = Vec::new();
    for value in state.of(what).filter(|v| v.set_aside().is_none()) {
        let number = value.on.get(Part::Reading)?.to_owned();
        let position = value.on.get(Part::Position).unwrap_or_default().to_owned();
        if !names.contains(&position) {
            names.push(position.clone());
        }
        let at = samples.iter().position(|s| s.number == number);
        let at = at.unwrap_or_else(|| {
            samples.push(Sample {
                number,
                at: value.told.at.clone(),
                values: Vec::new(),
                mean: f64::NAN,
                range: None,
                mean_limits: None,
                range_limits: None,
            });
            samples.len() - 1
        });
        samples[at].values.push((position, value.value));
    }
    if samples.is_empty() {
        return None;
    }
    for sample in &mut samples {
        let all = sample.values.iter().map(|v| v.1);
        sample.mean = all.sum::<f64>() / sample.values.len() as f64;
    }
    let positions: Vec<Position> = names.iter().map(|n| position(n, &samples)).collect();
    let off = |name: &str| {
        let found = positions.iter().find(|p| p.name == name);
        found.map_or(0.0, |p| p.off)
    };
    for sample in samples.iter_mut().filter(|s| s.values.len() > 1) {
        let evened: Vec<f64> = sample.values.iter().map(|(n, v)| v - off(n)).collect();
        let high = evened.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        let low = evened.iter().copied().fold(f64::INFINITY, f64::min);
        sample.range = Some(high - low);
    }
    let centre = samples.iter().map(|s| s.mean).sum::<f64>() / samples.len() as f64;
    let sd = scatter(&samples);
    if let Some(sd) = sd {
        for sample in &mut samples {
            let n = sample.values.len();
            let half = LIMIT_SD * sd / (n as f64).sqrt();
            sample.mean_limits = Some((centre - half, centre + half));
            sample.range_limits = normal_range::mean_and_sd(n).map(|(mean, of_range)| {
                let low = (mean - LIMIT_SD * of_range).max(0.0);
                (sd * low, sd * mean, sd * (mean + LIMIT_SD * of_range))
            });
        }
    }
    let shown = rules(&samples, centre);
    Some(OnLine {
        what,
        samples,
        positions,
        centre,
        sd,
        shown,
    })
}

/// How far a position lies from the means of the samples that have it beside others.
fn position(name: &str, samples: &[Sample]) -> Position {
    let beside = samples.iter().filter(|s| s.values.len() > 1);
    let off: Vec<f64> = beside
        .flat_map(|s| {
            let of = s.values.iter().filter(|v| v.0 == name);
            of.map(|v| v.1 - s.mean)
        })
        .collect();
    let n = off.len() as f64;
    let mean = if off.is_empty() {
        0.0
    } else {
        off.iter().sum::<f64>() / n
    };
    let off95 = (off.len() > 1).then(|| {
        let variance = off.iter().map(|d| (d - mean).powi(2)).sum::<f64>() / (n - 1.0);
        let half = t_quantile(0.975, n - 1.0).max(Z95) * (variance / n).sqrt();
        (mean - half, mean + half)
    });
    let all = samples.iter().flat_map(|s| &s.values);
    Position {
        name: name.to_owned(),
        values: all.filter(|v| v.0 == name).count(),
        off: mean,
        off95,
    }
}

/// Standard deviation within a sample: the mean of the ranges, each over what so many normal values have. What the positions
/// were evened out by is paid back.
fn scatter(samples: &[Sample]) -> Option<f64> {
    let each: Vec<f64> = samples
        .iter()
        .filter_map(|s| {
            let (mean, _) = normal_range::mean_and_sd(s.values.len())?;
            Some(s.range? / mean)
        })
        .collect();
    let m = each.len() as f64;
    (each.len() >= FEWEST_SAMPLES).then(|| each.iter().sum::<f64>() / m * (m / (m - 1.0)).sqrt())
}

fn rules(samples: &[Sample], centre: f64) -> Vec<Shown> {
    let mut shown = Vec::new();
    for (i, sample) in samples.iter().enumerate() {
        let mut say = |rule: Rule| {
            shown.push(Shown {
                rule,
                sample: sample.number.clone(),
            });
        };
        if sample
            .mean_limits
            .is_some_and(|(low, high)| sample.mean < low || sample.mean > high)
        {
            say(Rule::MeanBeyondLimit);
        }
        if let (Some(range), Some((low, _, high))) = (sample.range, sample.range_limits)
            && (range < low || range > high)
        {
            say(Rule::RangeBeyondLimit);
        }
        let last = |n: usize| (i + 1 >= n).then(|| &samples[i + 1 - n..=i]);
        let side = |s: &Sample| (s.mean - centre).partial_cmp(&0.0);
        if let Some(eight) = last(8)
            && sample.mean != centre
            && eight.iter().all(|s| side(s) == side(sample))
        {
            say(Rule::EightOnOneSide);
        }
        if let Some(six) = last(6)
            && (six.windows(2).all(|p| p[1].mean > p[0].mean)
                || six.windows(2).all(|p| p[1].mean < p[0].mean))
        {
            say(Rule::SixOneWay);
        }
        let far = |s: &Sample, up: bool| {
            s.mean_limits.is_some_and(|(low, high)| {
                let third = (high - low) / 6.0;
                if up {
                    s.mean > high - third
                } else {
                    s.mean < low + third
                }
            })
        };
        if let Some(three) = last(3)
            && [true, false]
                .iter()
                .any(|up| far(sample, *up) && three.iter().filter(|s| far(s, *up)).count() >= 2)
        {
            say(Rule::TwoOfThreeFarOut);
        }
    }
    shown
}

/// What is given away beyond a target, per piece and in money.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct GiveAway {
    /// Beyond the target, g a piece; below 0 it falls short.
    pub piece_g: f64,
    /// The same, % of the target.
    pub percent: f64,
    /// Its worth, in the book’s currency per 1,000 pieces.
    pub per_1000_pieces: f64,
}

/// What pieces of a mean mass give away beyond a target, at what a kilogram costs.
///
/// ```
/// // 0.2 g beyond 10 g at 2.50 a kg: 2 %, and 0.50 for 1,000 pieces.
/// let away = bench::give_away(10.2, 10.0, 2.5).unwrap();
/// assert!((away.percent - 2.0).abs() < 1e-9 && (away.per_1000_pieces - 0.5).abs() < 1e-9);
/// assert_eq!(bench::give_away(10.2, 0.0, 2.5), None);
/// ```
pub fn give_away(mean_g: f64, target_g: f64, cost_per_kg: f64) -> Option<GiveAway> {
    let piece_g = mean_g - target_g;
    (target_g > 0.0 && cost_per_kg >= 0.0 && piece_g.is_finite()).then(|| GiveAway {
        piece_g,
        percent: 100.0 * piece_g / target_g,
        per_1000_pieces: piece_g * cost_per_kg,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{Entry, fold};
    use trials::random::SplitMix64;

    fn state(samples: &[[f64; 3]]) -> BatchState {
        let batch = crate::read_form(
            "code = 'B01'\nstudy = 's'\nrevision = 1\nhash = ''\ntreatment = 'c'\nlabel = 'c'",
        )
        .unwrap();
        let mut rows = Vec::new();
        for (i, sample) in samples.iter().enumerate() {
            for (name, value) in ["left", "middle", "right"].iter().zip(sample) {
                let id = rows.len() as u64 + 1;
                rows.push(Entry {
                    id,
                    key: format!("k{id}"),
                    at: "2026-03-02T09:00:00Z".to_owned(),
                    arrived: "2026-03-02T09:00:00Z".to_owned(),
                    who: "Ada".to_owned(),
                    what: "line-mass".to_owned(),
                    on: Some(format!("position={name};reading={}", i + 1)),
                    value: value.to_string(),
                    ..Entry::default()
                });
            }
        }
        fold(&batch, &rows)
    }

    fn rules_of(means: &[f64]) -> Vec<(Rule, String)> {
        // A scatter of 1 within each sample, whatever the mean: the ranges are alike.
        let samples: Vec<[f64; 3]> = means.iter().map(|m| [m - 0.5, *m, m + 0.5]).collect();
        let mut turned = samples;
        for (i, s) in turned.iter_mut().enumerate() {
            s.rotate_left(i % 3);
        }
        let found = on_line(&state(&turned), What::LineMass).unwrap();
        let each = found.shown.into_iter();
        each.map(|s| (s.rule, s.sample)).collect()
    }

    /// The truth is drawn here: scatter 0.2, the left 0.3 heavier than the middle, the right 0.1 lighter.
    #[test]
    fn scatter_and_positions_are_found_again() {
        let mut random = SplitMix64::stream(7, 1);
        let mut normal = || {
            let (u, v) = (1.0 - random.unit(), random.unit());
            (-2.0 * u.ln()).sqrt() * (std::f64::consts::TAU * v).cos()
        };
        let samples: Vec<[f64; 3]> = (0..60)
            .map(|_| [10.3, 10.0, 9.9].map(|m| m + 0.2 * normal()))
            .collect();
        let found = on_line(&state(&samples), What::LineMass).unwrap();
        let sd = found.sd.unwrap();
        assert!((sd - 0.2).abs() < 0.03, "{sd}");
        for (position, off) in found
            .positions
            .iter()
            .zip([0.7 / 3.0, -0.2 / 3.0, -0.5 / 3.0])
        {
            let (low, high) = position.off95.unwrap();
            assert!(low <= off && off <= high, "{position:?}");
        }
        let beyond = |r: Rule| found.shown.iter().filter(|s| s.rule == r).count();
        assert!(beyond(Rule::MeanBeyondLimit) <= 1 && beyond(Rule::RangeBeyondLimit) <= 2);
        assert!(!found.is_loose());
        let (low, high) = found.samples[0].mean_limits.unwrap();
        assert!((high - low - 6.0 * sd / 3.0_f64.sqrt()).abs() < 1e-9);
    }

    #[test]
    fn each_rule_is_shown_by_what_it_says_and_by_nothing_else() {
        let level: Vec<f64> = (0..24).map(|i| 10.0 + 0.05 * f64::from(i % 2)).collect();
        assert_eq!(rules_of(&level), []);
        let with = |from: usize, values: &[f64]| {
            let mut all = level.clone();
            all[from..from + values.len()].copy_from_slice(values);
            rules_of(&all)
        };
        assert!(with(12, &[13.0]).contains(&(Rule::MeanBeyondLimit, "13".to_owned())));
        let higher = with(12, &[10.3, 10.2, 10.3, 10.2, 10.3, 10.2, 10.3, 10.2]);
        assert!(
            higher.contains(&(Rule::EightOnOneSide, "20".to_owned())),
            "{higher:?}"
        );
        let rising = with(12, &[10.01, 10.02, 10.03, 10.06, 10.08, 10.1]);
        assert!(
            rising.contains(&(Rule::SixOneWay, "18".to_owned())),
            "{rising:?}"
        );
        let far = with(12, &[10.8, 10.0, 10.8]);
        assert!(
            far.contains(&(Rule::TwoOfThreeFarOut, "15".to_owned())),
            "{far:?}"
        );
        for rule in Rule::ALL {
            assert!(!rule.words().is_empty() && !rule.often().is_empty());
        }
    }

    #[test]
    fn few_samples_give_no_limits_and_none_give_nothing() {
        let found = on_line(&state(&[[10.0, 10.1, 9.9]; 4]), What::LineMass).unwrap();
        assert!(found.sd.is_none() && found.samples[0].mean_limits.is_none() && found.is_loose());
        assert_eq!(on_line(&BatchState::default(), What::LineMass), None);
    }
}
