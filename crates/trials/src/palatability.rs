//! Which food the dogs prefer: two bowls, first choice, ranking.
//!
//! The dog is the experimental unit. Two days with the bowls changed over are one trial of a dog
//! and are averaged before anything is tested.

use crate::power::{binomial_from, smallest_significant};
use crate::stats::adjust::{Adjustment, adjust};
use crate::stats::distribution::{t_quantile, t_two_sided};
use crate::stats::moments;
use crate::stats::proportion::{exact_interval, score_interval};
use crate::stats::ranks::{RankTest, friedman};
use crate::stats::wilcoxon::{SignedRank, Zeros, signed_rank};
use measure::rounding::significant;
use measure::{Finding, Severity};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// A bowl with no more than this left in it counts as empty, g.
const EMPTY_G: f64 = 0.5;

/// One of the two foods.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub enum Food {
    /// The first food.
    A,
    /// The second food.
    B,
}

/// One dog on one day.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct BowlRow {
    /// The dog.
    pub dog: String,
    /// The day.
    pub day: String,
    /// The food on the dog's left.
    pub left: Food,
    /// Eaten of A, g.
    pub intake_a_g: f64,
    /// Eaten of B, g.
    pub intake_b_g: f64,
    /// Offered of A, g, if written down.
    pub offered_a_g: Option<f64>,
    /// Offered of B, g.
    pub offered_b_g: Option<f64>,
    /// The food eaten from first, if seen.
    pub first: Option<Food>,
}

/// What a dog must have done to count.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct BowlRules {
    /// Least intake of both foods together on each day, g; set before the trial.
    pub least_total_g: f64,
}

/// What is wrong with the data.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum PalatabilityError {
    /// A column is missing.
    #[error(
        "there is no column '{name}'; needed are dog, day, left, intake_a, intake_b, and offered_a, offered_b and first where they were noted"
    )]
    Column {
        /// Its name.
        name: &'static str,
    },
    /// A cell cannot be read.
    #[error("row {row}, column '{column}': '{text}' is not {wanted}")]
    Cell {
        /// Row of the data, from 1, headings not counted.
        row: usize,
        /// Its column.
        column: &'static str,
        /// What stands there.
        text: String,
        /// What should.
        wanted: &'static str,
    },
    /// A dog stands twice on a day.
    #[error("dog '{dog}' stands twice on day '{day}'; keep one line per dog and day")]
    Twice {
        /// The dog.
        dog: String,
        /// The day.
        day: String,
    },
    /// Too few dogs are left.
    #[error("{dogs} dogs can be used, at least 2 are needed{reasons}")]
    TooFew {
        /// Dogs left.
        dogs: usize,
        /// Why others were left out, starting with a separator.
        reasons: String,
    },
    /// A ranking that is none.
    #[error("line {line}: {reason}")]
    Ranking {
        /// Line from 1.
        line: usize,
        /// What is wrong.
        reason: String,
    },
}

/// Reads tidy rows: one line per dog and day. Column names may be in any case and order, with or
/// without `_g`.
///
/// # Errors
/// The row, column and text that cannot be read.
pub fn read_rows(
    headings: &[String],
    lines: &[Vec<String>],
) -> Result<Vec<BowlRow>, PalatabilityError> {
    let find = |name: &str| {
        headings.iter().position(|h| {
            let h = h.trim().to_lowercase().replace([' ', '-'], "_");
            h.strip_suffix("_g").unwrap_or(&h) == name
        })
    };
    let need = |name: &'static str| find(name).ok_or(PalatabilityError::Column { name });
    let (dog, day, left) = (need("dog")?, need("day")?, need("left")?);
    let (a, b) = (need("intake_a")?, need("intake_b")?);
    let (offered_a, offered_b, first) = (find("offered_a"), find("offered_b"), find("first"));
    let mut rows = Vec::with_capacity(lines.len());
    for (i, line) in lines.iter().enumerate() {
        let row = i + 1;
        let text = |column: usize| line.get(column).map_or("", |s| s.trim());
        let bad = |column, text: &str, wanted| PalatabilityError::Cell {
            row,
            column,
            text: text.to_owned(),
            wanted,
        };
        let grams = |column: &'static str, at: usize| {
            let t = text(at);
            match t.parse::<f64>() {
                Ok(x) if x.is_finite() && x >= 0.0 => Ok(x),
                Ok(_) => Err(bad(column, t, "an amount in grams, 0 or more")),
                Err(_) if t.contains(',') => Err(bad(
                    column,
                    t,
                    "a number with a decimal point; commas are not read as decimals",
                )),
                Err(_) => Err(bad(column, t, "a number")),
            }
        };
        let optional = |column, at: Option<usize>| match at {
            Some(at) if !is_missing(text(at)) => grams(column, at).map(Some),
            _ => Ok(None),
        };
        let food = |column, at: usize| match text(at) {
            "A" | "a" => Ok(Food::A),
            "B" | "b" => Ok(Food::B),
            other => Err(bad(column, other, "A or B")),
        };
        if text(dog).is_empty() {
            return Err(bad("dog", "", "the name of a dog"));
        }
        rows.push(BowlRow {
            dog: text(dog).to_owned(),
            day: text(day).to_owned(),
            left: food("left", left)?,
            intake_a_g: grams("intake_a", a)?,
            intake_b_g: grams("intake_b", b)?,
            offered_a_g: optional("offered_a", offered_a)?,
            offered_b_g: optional("offered_b", offered_b)?,
            first: match first {
                Some(at) if !is_missing(text(at)) => Some(food("first", at)?),
                _ => None,
            },
        });
    }
    Ok(rows)
}

fn is_missing(text: &str) -> bool {
    matches!(text, "" | "NA" | "na" | "-" | "–")
}

/// A mean against a value with its t test and 95 % interval.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct MeanTest {
    /// Mean.
    pub mean: f64,
    /// Standard deviation between dogs.
    pub sd: f64,
    /// t.
    pub t: f64,
    /// Degrees of freedom.
    pub df: f64,
    /// Two-sided p-value.
    pub p: f64,
    /// Lower end of the 95 % interval.
    pub low95: f64,
    /// Upper end.
    pub high95: f64,
}

/// Mean of values against `against`.
fn mean_test(values: &[f64], against: f64) -> MeanTest {
    let n = values.len() as f64;
    let mean = moments::mean(values);
    let sd = moments::variance(values).sqrt();
    test_of(mean, sd, sd / n.sqrt(), n - 1.0, against)
}

fn test_of(mean: f64, sd: f64, se: f64, df: f64, against: f64) -> MeanTest {
    // Values that are all alike leave only the rounding of their sum.
    let alike = se <= 1e-12 * mean.abs().max(against.abs());
    let t = match (mean - against, alike) {
        (d, true) if d.abs() <= 1e-12 => 0.0,
        (d, true) => d.signum() * f64::INFINITY,
        (d, false) => d / se,
    };
    let half = t_quantile(0.975, df) * if alike { 0.0 } else { se };
    MeanTest {
        mean,
        sd,
        t,
        df,
        p: t_two_sided(t, df),
        low95: mean - half,
        high95: mean + half,
    }
}

/// First choices over both days.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct FirstChoices {
    /// Dogs that went to A on both days.
    pub both_a: u64,
    /// Dogs that went to B on both days.
    pub both_b: u64,
    /// Dogs that went to one on one day and to the other on the other.
    pub split: u64,
    /// Dogs without two noted first choices.
    pub unknown: u64,
    /// Exact two-sided p-value of the dogs that agreed with themselves, against an even split.
    pub p: f64,
    /// Share of A among them.
    pub share_a: f64,
    /// Clopper and Pearson's 95 % interval of that share.
    pub exact95: (f64, f64),
    /// Wilson's 95 % interval.
    pub score95: (f64, f64),
    /// First choices of A counted over dog-days: not independent, so never tested here.
    pub days_a: u64,
    /// Dog-days with a first choice.
    pub days: u64,
    /// Dog-days on which the left bowl came first.
    pub days_left: u64,
}

/// Why a dog was left out.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct LeftOut {
    /// The dog.
    pub dog: String,
    /// The reason.
    pub reason: String,
}

/// The two-bowl trial.
#[derive(Clone, Debug, PartialEq)]
pub struct TwoBowl {
    /// Dogs that count: the n of every test.
    pub dogs: usize,
    /// Dogs that were left out, with the reason.
    pub left_out: Vec<LeftOut>,
    /// Intake ratio A/(A + B), mean of the days of each dog, against 0.5.
    pub ratio: MeanTest,
    /// Wilcoxon's signed-rank test of the ratio against 0.5.
    pub ratio_ranks: SignedRank,
    /// Grams of A less grams of B per day, mean of the days of each dog, against 0.
    pub grams: MeanTest,
    /// Wilcoxon's signed-rank test of the grams.
    pub grams_ranks: SignedRank,
    /// How zero differences were ranked, in words.
    pub zeros: &'static str,
    /// Mean difference over its standard deviation.
    pub effect_dz: f64,
    /// All eaten of A over all eaten; dogs that eat much weigh more.
    pub pooled_ratio: f64,
    /// All eaten of A over all eaten of B; none when B was not eaten.
    pub a_to_b: Option<f64>,
    /// How much higher the ratio is for a food on the left than on the right, from the differences
    /// within dogs.
    pub side: Option<MeanTest>,
    /// Ratio on the second day less that on the first, sides evened out.
    pub day: Option<MeanTest>,
    /// First choices, where noted.
    pub first: Option<FirstChoices>,
    /// What to know beside the result.
    pub findings: Vec<Finding>,
    /// The result in plain words.
    pub sentence: String,
}

/// Analyses a two-bowl trial.
///
/// A dog counts when it has two days with the bowls changed over, ate at least the minimum on
/// each, and did not empty both bowls on a day.
///
/// # Errors
/// A dog twice on a day, or fewer than two dogs left.
pub fn two_bowl(rows: &[BowlRow], rules: BowlRules) -> Result<TwoBowl, PalatabilityError> {
    let mut by_dog: BTreeMap<&str, Vec<&BowlRow>> = BTreeMap::new();
    let mut days: Vec<&str> = Vec::new();
    for row in rows {
        let own = by_dog.entry(&row.dog).or_default();
        if own.iter().any(|r| r.day == row.day) {
            return Err(PalatabilityError::Twice {
                dog: row.dog.clone(),
                day: row.day.clone(),
            });
        }
        own.push(row);
        if !days.contains(&row.day.as_str()) {
            days.push(&row.day);
        }
    }
    let place = |r: &BowlRow| days.iter().position(|d| *d == r.day);
    let mut left_out = Vec::new();
    let mut used: Vec<[&BowlRow; 2]> = Vec::new();
    for (dog, mut own) in by_dog {
        own.sort_by_key(|r| place(r));
        match usable(&own, rules) {
            Ok(pair) => used.push(pair),
            Err(reason) => left_out.push(LeftOut {
                dog: dog.to_owned(),
                reason,
            }),
        }
    }
    if used.len() < 2 {
        let reasons: Vec<String> = left_out
            .iter()
            .take(5)
            .map(|l| format!("; {}: {}", l.dog, l.reason))
            .collect();
        return Err(PalatabilityError::TooFew {
            dogs: used.len(),
            reasons: reasons.concat(),
        });
    }
    let ratio_of = |r: &BowlRow| r.intake_a_g / (r.intake_a_g + r.intake_b_g);
    let ratios: Vec<f64> = used
        .iter()
        .map(|p| 0.5 * (ratio_of(p[0]) + ratio_of(p[1])))
        .collect();
    let grams: Vec<f64> = used
        .iter()
        .map(|p| 0.5 * p.iter().map(|r| r.intake_a_g - r.intake_b_g).sum::<f64>())
        .collect();
    let ratio = mean_test(&ratios, 0.5);
    let grams_test = mean_test(&grams, 0.0);
    let zeros = Zeros::Drop;
    let about_half: Vec<f64> = ratios.iter().map(|r| snap(r - 0.5)).collect();
    let eaten = |f: fn(&BowlRow) -> f64| used.iter().flatten().map(|r| f(r)).sum::<f64>();
    let (all_a, all_b) = (eaten(|r| r.intake_a_g), eaten(|r| r.intake_b_g));
    let (side, day) = side_and_day(&used, ratio_of);
    let first = first_choices(&used);
    let mut findings = findings(&used, &left_out, side.as_ref(), first.as_ref());
    if ratio.sd <= 1e-12 {
        findings.push(Finding::new(
            Severity::Warn,
            "no-spread",
            "ratio",
            "Every dog has the same ratio; check whether the figures were copied.",
        ));
    }
    let sentence = sentence(used.len(), &ratio, first.as_ref());
    Ok(TwoBowl {
        dogs: used.len(),
        left_out,
        ratio,
        ratio_ranks: signed_rank(&about_half, zeros),
        grams: grams_test,
        grams_ranks: signed_rank(&grams, zeros),
        zeros: "differences of exactly zero left out (Wilcoxon)",
        effect_dz: grams_test.mean / grams_test.sd,
        pooled_ratio: all_a / (all_a + all_b),
        a_to_b: (all_b > 0.0).then(|| all_a / all_b),
        side,
        day,
        first,
        findings,
        sentence,
    })
}

/// Ties of computed ratios must not be broken by their last bits.
fn snap(x: f64) -> f64 {
    (x * 1e12).round() / 1e12
}

fn usable<'a>(own: &[&'a BowlRow], rules: BowlRules) -> Result<[&'a BowlRow; 2], String> {
    let &[one, two] = own else {
        return Err(match own.len() {
            1 => "one day only, two are needed".to_owned(),
            n => format!("{n} days, two are needed"),
        });
    };
    if one.left == two.left {
        return Err(
            "the bowls were not changed over, so food and side cannot be told apart".into(),
        );
    }
    for row in [one, two] {
        let total = row.intake_a_g + row.intake_b_g;
        if total <= 0.0 || total < rules.least_total_g {
            return Err(format!(
                "ate {} g on day {}, less than the {} g set as the least",
                significant(total, 3),
                row.day,
                rules.least_total_g
            ));
        }
        let emptied =
            |offered: Option<f64>, eaten: f64| offered.is_some_and(|o| eaten >= o - EMPTY_G);
        if emptied(row.offered_a_g, row.intake_a_g) && emptied(row.offered_b_g, row.intake_b_g) {
            return Err(format!(
                "emptied both bowls on day {}, which tells nothing of preference",
                row.day
            ));
        }
    }
    Ok([one, two])
}

/// Side and day effects on the ratio from the differences within dogs: the difference day 2 − day 1
/// is day + side for dogs whose A moved to the left, and day − side for the others.
fn side_and_day(
    used: &[[&BowlRow; 2]],
    ratio: impl Fn(&BowlRow) -> f64,
) -> (Option<MeanTest>, Option<MeanTest>) {
    let mut to_left = Vec::new();
    let mut to_right = Vec::new();
    for [one, two] in used {
        let change = ratio(two) - ratio(one);
        if two.left == Food::A {
            to_left.push(change)
        } else {
            to_right.push(change)
        }
    }
    let (l, r) = (to_left.len() as f64, to_right.len() as f64);
    if l < 2.0 || r < 2.0 {
        return (None, None);
    }
    let df = l + r - 2.0;
    let squares =
        moments::variance(&to_left) * (l - 1.0) + moments::variance(&to_right) * (r - 1.0);
    let sd = (squares / df).sqrt();
    let se = 0.5 * sd * (1.0 / l + 1.0 / r).sqrt();
    let (ml, mr) = (moments::mean(&to_left), moments::mean(&to_right));
    (
        Some(test_of(0.5 * (ml - mr), sd, se, df, 0.0)),
        Some(test_of(0.5 * (ml + mr), sd, se, df, 0.0)),
    )
}

fn first_choices(used: &[[&BowlRow; 2]]) -> Option<FirstChoices> {
    let noted = used
        .iter()
        .flatten()
        .filter_map(|r| r.first.map(|f| (f, r.left)));
    let (mut days, mut days_a, mut days_left) = (0, 0, 0);
    for (first, left) in noted {
        days += 1;
        days_a += u64::from(first == Food::A);
        days_left += u64::from(first == left);
    }
    if days == 0 {
        return None;
    }
    let count = |wanted: fn(Option<Food>, Option<Food>) -> bool| {
        used.iter()
            .filter(|p| wanted(p[0].first, p[1].first))
            .count() as u64
    };
    let both_a = count(|x, y| x == Some(Food::A) && y == Some(Food::A));
    let both_b = count(|x, y| x == Some(Food::B) && y == Some(Food::B));
    let unknown = count(|x, y| x.is_none() || y.is_none());
    let n = both_a + both_b;
    let (exact95, score95) = if n > 0 {
        (
            exact_interval(both_a, n, 0.95),
            score_interval(both_a, n, 0.95),
        )
    } else {
        ((0.0, 1.0), (0.0, 1.0))
    };
    Some(FirstChoices {
        both_a,
        both_b,
        split: used.len() as u64 - both_a - both_b - unknown,
        unknown,
        p: even_split_p(both_a, n),
        share_a: if n > 0 {
            both_a as f64 / n as f64
        } else {
            f64::NAN
        },
        exact95,
        score95,
        days_a,
        days,
        days_left,
    })
}

/// Exact two-sided p-value of k of n against an even split.
///
/// ```
/// // R 4.2.2 binom.test(15, 20)
/// assert!((trials::palatability::even_split_p(15, 20) - 0.0413894653320313).abs() < 1e-13);
/// ```
pub fn even_split_p(k: u64, n: u64) -> f64 {
    let more = k.max(n - k.min(n)) as usize;
    (2.0 * binomial_from(n as usize, more, 0.5)).min(1.0)
}

fn findings(
    used: &[[&BowlRow; 2]],
    left_out: &[LeftOut],
    side: Option<&MeanTest>,
    first: Option<&FirstChoices>,
) -> Vec<Finding> {
    let mut out = Vec::new();
    if !left_out.is_empty() {
        let list: Vec<String> = left_out
            .iter()
            .map(|l| format!("{} ({})", l.dog, l.reason))
            .collect();
        out.push(Finding::new(
            Severity::Warn,
            "dogs-left-out",
            "dogs",
            format!("Left out: {}.", list.join("; ")),
        ));
    }
    let emptied = used
        .iter()
        .flatten()
        .filter(|r| {
            r.offered_a_g.is_some_and(|o| r.intake_a_g >= o - EMPTY_G)
                || r.offered_b_g.is_some_and(|o| r.intake_b_g >= o - EMPTY_G)
        })
        .count();
    if emptied > 0 {
        out.push(
            Finding::new(Severity::Warn, "bowl-emptied", "intake", format!("A bowl was emptied on {emptied} dog-days: the dog might have eaten more of it, so the ratio lies too close to a half."))
                .help("Offer more, or take the bowls away sooner."),
        );
    }
    if used
        .iter()
        .flatten()
        .any(|r| r.offered_a_g.is_none() || r.offered_b_g.is_none())
    {
        out.push(Finding::new(
            Severity::Note,
            "offered-unknown",
            "intake",
            "The amounts offered are not all noted, so emptied bowls cannot be seen.",
        ));
    }
    match side {
        Some(s) if s.p < 0.05 => out.push(Finding::new(
            Severity::Note,
            "side-bias",
            "side",
            format!("A food is eaten more on the {}: its ratio changes by {} (95 % interval {} to {}) with the side. Changing the bowls over evens this out.",
                if s.mean > 0.0 { "left" } else { "right" }, significant(s.mean, 2), significant(s.low95, 2), significant(s.high95, 2)),
        )),
        None => out.push(
            Finding::new(Severity::Note, "sides-uneven", "side", "Nearly all dogs had the same food on the left on the first day, so side and day cannot be told apart.")
                .help("Let half the dogs start with the bowls the other way round."),
        ),
        Some(_) => {}
    }
    if first.is_some_and(|f| f.split > 0) {
        out.push(Finding::new(Severity::Note, "first-choice-split", "first choice", "Dogs that chose differently on the two days say nothing on first choice and are counted apart; counting dog-days as if they were dogs would overstate what is known."));
    }
    out
}

fn sentence(dogs: usize, ratio: &MeanTest, first: Option<&FirstChoices>) -> String {
    let percent = |x: f64| format!("{:.0}", 100.0 * x);
    let interval = format!(
        "95 % interval {} to {} %",
        percent(ratio.low95),
        percent(ratio.high95)
    );
    let share = percent(ratio.mean);
    let mut text = if ratio.p < 0.05 {
        format!(
            "The {dogs} dogs ate more of {}: A made up {share} % of the intake ({interval}); if they had no preference, a result this far from half would come up in {} trials.",
            if ratio.mean > 0.5 { "A" } else { "B" },
            how_often(ratio.p)
        )
    } else {
        format!(
            "The {dogs} dogs do not show which food is preferred: A made up {share} % of the intake, and anything from {} to {} % agrees with these data. That is not proof that the foods are liked equally.",
            percent(ratio.low95),
            percent(ratio.high95)
        )
    };
    if let Some(f) = first {
        let n = f.both_a + f.both_b;
        text.push_str(&format!(
            " On first choice {} of the {n} dogs that chose alike on both days went to A ({} of 100 by chance alone would lie this far from half); {} changed.",
            f.both_a,
            percent(f.p),
            f.split
        ));
        if smallest_significant(n as usize, 0.05).is_none() {
            text.push_str(" So few dogs can never settle first choice.");
        }
    }
    text
}

/// A probability as "1 in so many".
fn how_often(p: f64) -> String {
    if p < 1e-4 {
        "fewer than 1 in 10 000".to_owned()
    } else {
        format!("1 in {}", significant(1.0 / p, 2))
    }
}

/// A line of the table of minimum numbers.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct MinimumNumber {
    /// Dogs with a clear first choice.
    pub dogs: usize,
    /// The least number for one food that is significant; none if no number is.
    pub least: Option<usize>,
    /// Its exact two-sided p-value.
    pub p: Option<f64>,
}

/// For each number of dogs the least number choosing one food that is significant, two-sided.
pub fn minimum_numbers(dogs: &[usize], alpha: f64) -> Vec<MinimumNumber> {
    dogs.iter()
        .map(|&n| {
            let least = smallest_significant(n, alpha);
            MinimumNumber {
                dogs: n,
                least,
                p: least.map(|k| even_split_p(k as u64, n as u64)),
            }
        })
        .collect()
}

/// One food in a ranking.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct RankedFood {
    /// The food.
    pub food: String,
    /// Mean rank, 1 the best.
    pub mean_rank: f64,
    /// Bradley and Terry's strength: the share it would win against an equal mixture of
    /// rivals rises with it; all strengths add up to one. None when the rankings do not tie the
    /// foods together both ways.
    pub strength: Option<f64>,
}

/// Two foods in a ranking.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct RankedPair {
    /// First food.
    pub a: String,
    /// Second food.
    pub b: String,
    /// Dogs that rank a before b.
    pub a_first: u64,
    /// Dogs that rank b before a.
    pub b_first: u64,
    /// Exact sign test, Holm's adjustment over all pairs.
    pub p_adjusted: f64,
}

/// A preference ranking.
#[derive(Clone, Debug, PartialEq)]
pub struct Ranking {
    /// Dogs.
    pub dogs: usize,
    /// The foods, best first.
    pub foods: Vec<RankedFood>,
    /// Friedman's test that the foods differ at all.
    pub friedman: RankTest,
    /// All pairs.
    pub pairs: Vec<RankedPair>,
    /// The result in plain words.
    pub sentence: String,
}

/// Analyses rankings of several foods: `ranks[dog][food]`, 1 for the most liked, ties as
/// mid-ranks; all foods ranked by every dog.
///
/// # Errors
/// A line of another length, or values that are not ranks.
pub fn ranking(foods: &[String], ranks: &[Vec<f64>]) -> Result<Ranking, PalatabilityError> {
    let k = foods.len();
    if k < 2 {
        return Err(PalatabilityError::Ranking {
            line: 0,
            reason: "a ranking needs at least two foods".into(),
        });
    }
    for (i, row) in ranks.iter().enumerate() {
        let fail = |reason| {
            Err(PalatabilityError::Ranking {
                line: i + 1,
                reason,
            })
        };
        if row.len() != k {
            return fail(format!(
                "{} ranks for {k} foods; every dog has to rank every food",
                row.len()
            ));
        }
        if row.iter().any(|r| !(1.0..=k as f64).contains(r)) {
            return fail(format!("ranks run from 1 to {k}"));
        }
        if (row.iter().sum::<f64>() - (k * (k + 1)) as f64 / 2.0).abs() > 1e-9 {
            return fail(
                "the ranks do not add up; give foods that are liked alike the mean of their ranks"
                    .into(),
            );
        }
    }
    if ranks.len() < 2 {
        return Err(PalatabilityError::TooFew {
            dogs: ranks.len(),
            reasons: String::new(),
        });
    }
    let mut wins = vec![vec![0u64; k]; k];
    for row in ranks {
        for i in 0..k {
            for j in 0..k {
                wins[i][j] += u64::from(row[i] < row[j]);
            }
        }
    }
    let strengths = bradley_terry(&wins);
    let test = friedman(ranks);
    let places: Vec<(usize, usize)> = (0..k)
        .flat_map(|i| (i + 1..k).map(move |j| (i, j)))
        .collect();
    let p: Vec<f64> = places
        .iter()
        .map(|&(i, j)| even_split_p(wins[i][j], wins[i][j] + wins[j][i]))
        .collect();
    let pairs = places
        .iter()
        .zip(adjust(&p, Adjustment::Holm))
        .map(|(&(i, j), p_adjusted)| RankedPair {
            a: foods[i].clone(),
            b: foods[j].clone(),
            a_first: wins[i][j],
            b_first: wins[j][i],
            p_adjusted,
        })
        .collect();
    let mut list: Vec<RankedFood> = (0..k)
        .map(|i| RankedFood {
            food: foods[i].clone(),
            mean_rank: ranks.iter().map(|r| r[i]).sum::<f64>() / ranks.len() as f64,
            strength: strengths.as_ref().map(|s| s[i]),
        })
        .collect();
    list.sort_by(|a, b| a.mean_rank.total_cmp(&b.mean_rank));
    let n = ranks.len();
    let order: Vec<&str> = list.iter().map(|f| f.food.as_str()).collect();
    let sentence = if test.p < 0.05 {
        format!(
            "The {n} dogs rank the foods differently ({}, best first); if all were liked alike, rankings this far apart would come up in {} trials.",
            order.join(", "),
            how_often(test.p)
        )
    } else {
        format!(
            "The rankings of {n} dogs do not show that any food is liked more (order seen: {}); rankings this far apart come up in {} trials even when all foods are liked alike.",
            order.join(", "),
            how_often(test.p)
        )
    };
    Ok(Ranking {
        dogs: n,
        foods: list,
        friedman: test,
        pairs,
        sentence,
    })
}

/// Strengths π with P(i before j) = π_i/(π_i + π_j), by Hunter's MM steps; none unless every food
/// is beaten, directly or through others, by every other (Ford's condition).
///
/// ```
/// // Two foods: the strengths are the shares of the wins.
/// let s = trials::palatability::bradley_terry(&[vec![0, 12], vec![4, 0]]).unwrap();
/// assert!((s[0] - 0.75).abs() < 1e-9);
/// assert!(trials::palatability::bradley_terry(&[vec![0, 12], vec![0, 0]]).is_none());
/// ```
pub fn bradley_terry(wins: &[Vec<u64>]) -> Option<Vec<f64>> {
    let k = wins.len();
    let mut reach: Vec<Vec<bool>> = wins
        .iter()
        .map(|r| r.iter().map(|w| *w > 0).collect())
        .collect();
    for via in 0..k {
        for i in 0..k {
            for j in 0..k {
                reach[i][j] |= reach[i][via] && reach[via][j];
            }
        }
    }
    if (0..k).any(|i| (0..k).any(|j| i != j && !reach[i][j])) {
        return None;
    }
    let mut strength = vec![1.0 / k as f64; k];
    for _ in 0..10_000 {
        let next: Vec<f64> = (0..k)
            .map(|i| {
                let won: u64 = wins[i].iter().sum();
                let met: f64 = (0..k)
                    .filter(|&j| j != i)
                    .map(|j| (wins[i][j] + wins[j][i]) as f64 / (strength[i] + strength[j]))
                    .sum();
                won as f64 / met
            })
            .collect();
        let total: f64 = next.iter().sum();
        let next: Vec<f64> = next.into_iter().map(|s| s / total).collect();
        let moved = next
            .iter()
            .zip(&strength)
            .map(|(a, b)| (a - b).abs())
            .fold(0.0, f64::max);
        strength = next;
        if moved < 1e-13 {
            break;
        }
    }
    Some(strength)
}
