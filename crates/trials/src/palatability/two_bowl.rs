//! Two bowls over two days: how much more is eaten of one food.

use super::first_choice::{FirstChoices, first_choices};
use super::how_often;
use super::rows::{BowlRow, BowlRules, Food, PalatabilityError};
use crate::Code;
use crate::power::smallest_significant;
use crate::stats::distribution::{t_quantile, t_two_sided};
use crate::stats::moments;
use crate::stats::wilcoxon::{SignedRank, Zeros, signed_rank};
use measure::rounding::significant;
use measure::{Constant, Finding, Grade, Range, Severity};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// A bowl with no more than this left in it counts as empty, g.
const EMPTY_G: Constant = Constant {
    name: "a bowl with no more than this left in it counts as empty",
    value: 0.5,
    unit: "g",
    range: Range::new(0.0, 5.0),
    source: "house rule, assumed",
    grade: Grade::Assumed,
};

/// A mean against a value with its t test and 95 % interval.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct MeanTest {
    /// Mean.
    pub mean: f64,
    /// Standard deviation between dogs.
    pub sd: f64,
    /// t; none where all dogs differ from it by the same amount, which no t can tell.
    pub t: Option<f64>,
    /// Degrees of freedom.
    pub df: f64,
    /// Two-sided p-value.
    pub p: f64,
    /// Lower end of the 95 % interval.
    pub low95: f64,
    /// Upper end.
    pub high95: f64,
}

/// Mean of values against `against`; none of fewer than two.
fn mean_test(values: &[f64], against: f64) -> Option<MeanTest> {
    let n = values.len() as f64;
    let mean = moments::mean(values)?;
    let sd = moments::variance(values)?.sqrt();
    Some(test_of(mean, sd, sd / n.sqrt(), n - 1.0, against))
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
        t: Some(t).filter(|t| t.is_finite()),
        df,
        p: t_two_sided(t, df),
        low95: mean - half,
        high95: mean + half,
    }
}

/// Wilcoxon's signed-rank test.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct SignedRanks {
    /// Sum of the ranks of the positive differences.
    pub statistic: f64,
    /// Differences that counted.
    pub n: usize,
    /// Two-sided p-value.
    pub p: f64,
    /// Whether it is exact.
    pub exact: bool,
    /// Median of the pairwise means of the differences (Hodges and Lehmann); none without differences.
    pub shift: Option<f64>,
}

impl From<SignedRank> for SignedRanks {
    fn from(test: SignedRank) -> Self {
        let SignedRank {
            statistic,
            n,
            p,
            p_greater: _,
            exact,
            shift,
        } = test;
        Self {
            statistic,
            n,
            p,
            exact,
            shift,
        }
    }
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
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct TwoBowl {
    /// Dogs that count: the n of every test.
    pub dogs: usize,
    /// Dogs that were left out, with the reason.
    pub left_out: Vec<LeftOut>,
    /// Intake ratio A/(A + B), mean of the days of each dog, against 0.5.
    pub ratio: MeanTest,
    /// Wilcoxon's signed-rank test of the ratio against 0.5.
    pub ratio_ranks: SignedRanks,
    /// Grams of A less grams of B per day, mean of the days of each dog, against 0.
    pub grams: MeanTest,
    /// Wilcoxon's signed-rank test of the grams.
    pub grams_ranks: SignedRanks,
    /// How zero differences were ranked, in words.
    pub zeros: &'static str,
    /// Mean difference of the grams over its standard deviation; none without spread.
    pub effect_dz: Option<f64>,
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
    let ratio_of = |r: &BowlRow| r.intake_a_g / (r.intake_a_g + r.intake_b_g);
    let ratios: Vec<f64> = used
        .iter()
        .map(|p| 0.5 * (ratio_of(p[0]) + ratio_of(p[1])))
        .collect();
    let grams: Vec<f64> = used
        .iter()
        .map(|p| 0.5 * p.iter().map(|r| r.intake_a_g - r.intake_b_g).sum::<f64>())
        .collect();
    let (Some(ratio), Some(grams_test)) = (mean_test(&ratios, 0.5), mean_test(&grams, 0.0)) else {
        let reasons: Vec<String> = left_out
            .iter()
            .take(5)
            .map(|l| format!("; {}: {}", l.dog, l.reason))
            .collect();
        return Err(PalatabilityError::TooFew {
            dogs: used.len(),
            reasons: reasons.concat(),
        });
    };
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
            Code::NoSpread,
            "ratio",
            "Every dog has the same ratio; check whether the figures were copied.",
        ));
    }
    let sentence = sentence(used.len(), &ratio, first.as_ref());
    Ok(TwoBowl {
        dogs: used.len(),
        left_out,
        ratio,
        ratio_ranks: signed_rank(&about_half, zeros).into(),
        grams: grams_test,
        grams_ranks: signed_rank(&grams, zeros).into(),
        zeros: "differences of exactly zero left out (Wilcoxon)",
        effect_dz: (grams_test.sd > 0.0).then(|| grams_test.mean / grams_test.sd),
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
            |offered: Option<f64>, eaten: f64| offered.is_some_and(|o| eaten >= o - EMPTY_G.value);
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
    let squares = moments::sum_of_squares(&to_left) + moments::sum_of_squares(&to_right);
    let sd = (squares / df).sqrt();
    let se = 0.5 * sd * (1.0 / l + 1.0 / r).sqrt();
    let both = moments::mean(&to_left).zip(moments::mean(&to_right));
    (
        both.map(|(l, r)| test_of(0.5 * (l - r), sd, se, df, 0.0)),
        both.map(|(l, r)| test_of(0.5 * (l + r), sd, se, df, 0.0)),
    )
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
            Code::DogsLeftOut,
            "dogs",
            format!("Left out: {}.", list.join("; ")),
        ));
    }
    let emptied = used
        .iter()
        .flatten()
        .filter(|r| {
            r.offered_a_g
                .is_some_and(|o| r.intake_a_g >= o - EMPTY_G.value)
                || r.offered_b_g
                    .is_some_and(|o| r.intake_b_g >= o - EMPTY_G.value)
        })
        .count();
    if emptied > 0 {
        out.push(
            Finding::new(Severity::Warn, Code::BowlEmptied, "intake", format!("A bowl was emptied on {emptied} dog-days: the dog might have eaten more of it, so the ratio lies too close to a half."))
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
            Code::OfferedUnknown,
            "intake",
            "The amounts offered are not all noted, so emptied bowls cannot be seen.",
        ));
    }
    match side {
        Some(s) if s.p < 0.05 => out.push(Finding::new(
            Severity::Note,
            Code::SideBias,
            "side",
            format!("A food is eaten more on the {}: its ratio changes by {} (95 % interval {} to {}) with the side. Changing the bowls over evens this out.",
                if s.mean > 0.0 { "left" } else { "right" }, significant(s.mean, 2), significant(s.low95, 2), significant(s.high95, 2)),
        )),
        None => out.push(
            Finding::new(Severity::Note, Code::SidesUneven, "side", "Nearly all dogs had the same food on the left on the first day, so side and day cannot be told apart.")
                .help("Let half the dogs start with the bowls the other way round."),
        ),
        Some(_) => {}
    }
    if first.is_some_and(|f| f.split > 0) {
        out.push(Finding::new(Severity::Note, Code::FirstChoiceSplit, "first choice", "Dogs that chose differently on the two days say nothing on first choice and are counted apart; counting dog-days as if they were dogs would overstate what is known."));
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
