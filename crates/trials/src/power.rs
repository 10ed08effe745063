//! How many batches or dogs a question needs, and what a plan of a given size can find.
//!
//! Every n counts experimental units: batches mixed and baked on their own, or dogs; never pieces
//! of a batch and never days of a dog.

mod first_choice;
mod subsamples;

pub(crate) use first_choice::binomial_from;
pub use first_choice::{ExactPower, first_choice_power, smallest_significant};
pub use subsamples::{batch_mean_sd, design_effect, pieces_per_batch};

use crate::plan::{PlanError, Unit};
use crate::stats::distribution::{
    f_quantile, mean_over_scaled_chi, noncentral_f_below, normal_below, normal_quantile,
    root_above, t_quantile,
};
use first_choice::{MOST_DOGS, first_choice_n};
use serde::{Deserialize, Serialize};

/// Units beyond which a search gives up and says so.
pub const MOST_UNITS: usize = 100_000;

/// What is to be compared, and how large the difference is that must not be missed.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(tag = "comparison", rename_all = "snake_case")]
pub enum Comparison {
    /// Two treatments in one random order; n per treatment.
    TwoSample {
        /// Difference of the means.
        difference: f64,
        /// Standard deviation between units of one treatment, same unit.
        sd: f64,
        /// Whether only one direction counts.
        one_sided: bool,
    },
    /// Two treatments on the same day or dog; n pairs.
    Paired {
        /// Mean difference.
        difference: f64,
        /// Standard deviation of the differences within pairs.
        sd_of_differences: f64,
        /// Whether only one direction counts.
        one_sided: bool,
    },
    /// Several treatments in one random order; n per treatment. Two of them differ by the
    /// difference and the others lie midway, the hardest case to find.
    OneWay {
        /// Number of treatments.
        treatments: usize,
        /// Largest difference between two means.
        difference: f64,
        /// Standard deviation between units of one treatment.
        sd: f64,
    },
    /// Several treatments with the means given; n per treatment.
    Means {
        /// Expected mean of each treatment.
        means: Vec<f64>,
        /// Standard deviation between units of one treatment.
        sd: f64,
    },
    /// Several treatments in blocks; n blocks, one unit of each treatment in each.
    Blocks {
        /// Number of treatments.
        treatments: usize,
        /// Largest difference between two means.
        difference: f64,
        /// Standard deviation left after the blocks are taken out.
        sd: f64,
    },
    /// Two shares of independent yes/no outcomes, normal approximation; n per treatment.
    Proportions {
        /// Share under the first treatment.
        first: f64,
        /// Share under the second.
        second: f64,
    },
    /// Whether a treatment is as good as the control: no worse by a margin (one direction counts) or
    /// within it either way; n per treatment in one random order.
    AsGood {
        /// Difference too small to matter.
        margin: f64,
        /// How much worse the treatment really is; 0 where they are thought alike.
        difference: f64,
        /// Standard deviation between units of one treatment.
        sd: f64,
        /// Whether only being worse counts against it.
        one_sided: bool,
    },
    /// First choice between two foods against an even split, exact binomial; n dogs.
    FirstChoice {
        /// Share of dogs that choose the preferred food.
        share: f64,
    },
}

/// What cannot be answered.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum PowerError {
    /// A value out of its range.
    #[error("{name} is {value}; it must be {allowed}")]
    Value {
        /// What was given.
        name: &'static str,
        /// Its value.
        value: f64,
        /// What is allowed.
        allowed: &'static str,
    },
    /// Pieces or trays offered as units.
    #[error(transparent)]
    Unit(#[from] PlanError),
    /// No reasonable number of units is enough.
    #[error("more than {most} {units} would be needed; a larger difference, a smaller spread or less power must do", units = unit.plural())]
    Unreachable {
        /// Where the search ended.
        most: usize,
        /// What was counted.
        unit: Unit,
    },
}

/// An answer on size and power.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Replicates {
    /// Units needed (or planned): per treatment, pairs, blocks or dogs.
    pub n: usize,
    /// The same before rounding up, where it is defined between whole numbers.
    pub exact_n: Option<f64>,
    /// Power with `n` units.
    pub power: f64,
    /// Two-sided (or one-sided) risk of a false alarm that was asked for.
    pub alpha: f64,
    /// What n counts.
    pub unit: Unit,
    /// The answer in words.
    pub sentence: String,
}

impl Comparison {
    /// What one n is, in words.
    const fn counts(&self) -> &'static str {
        match self {
            Self::TwoSample { .. }
            | Self::OneWay { .. }
            | Self::Means { .. }
            | Self::AsGood { .. }
            | Self::Proportions { .. } => "per treatment",
            Self::Paired { .. } => "as pairs (both treatments on each)",
            Self::Blocks { .. } => "per treatment, one in each block,",
            Self::FirstChoice { .. } => "with a clear first choice",
        }
    }

    /// What is to be found, in words.
    fn wish(&self) -> String {
        match self {
            Self::TwoSample { difference, sd, .. } => {
                format!(
                    "a difference of {} where units vary by {}",
                    shown(*difference),
                    shown(*sd)
                )
            }
            Self::Paired {
                difference,
                sd_of_differences,
                ..
            } => format!(
                "a mean difference of {} where differences vary by {}",
                shown(*difference),
                shown(*sd_of_differences)
            ),
            Self::OneWay {
                treatments,
                difference,
                sd,
            }
            | Self::Blocks {
                treatments,
                difference,
                sd,
            } => format!(
                "a difference of {} between two of {treatments} treatments where units vary by {}",
                shown(*difference),
                shown(*sd)
            ),
            Self::Means { means, sd } => format!(
                "that the {} means differ where units vary by {}",
                means.len(),
                shown(*sd)
            ),
            Self::Proportions { first, second } => {
                format!("{:.0} % against {:.0} %", 100.0 * first, 100.0 * second)
            }
            Self::AsGood {
                margin,
                difference,
                sd,
                one_sided,
            } => format!(
                "that a treatment which is really {} worse is {} {} where units vary by {}",
                shown(*difference),
                if *one_sided {
                    "no worse than the control by"
                } else {
                    "as the control within"
                },
                shown(*margin),
                shown(*sd)
            ),
            Self::FirstChoice { share } => format!("a preference of {:.0} %", 100.0 * share),
        }
    }

    fn check(&self, alpha: f64) -> Result<(), PowerError> {
        let positive = |name, value: f64| {
            if value > 0.0 && value.is_finite() {
                Ok(())
            } else {
                Err(PowerError::Value {
                    name,
                    value,
                    allowed: "above 0",
                })
            }
        };
        let share = |name, value: f64| {
            if value > 0.0 && value < 1.0 {
                Ok(())
            } else {
                Err(PowerError::Value {
                    name,
                    value,
                    allowed: "between 0 and 1 (a fraction, not percent)",
                })
            }
        };
        let several = |count: usize| {
            if (2..=1000).contains(&count) {
                Ok(())
            } else {
                Err(PowerError::Value {
                    name: "number of treatments",
                    value: count as f64,
                    allowed: "2 to 1000",
                })
            }
        };
        // Beyond these, numbers are a slip of the pen, and the distributions take for ever.
        let in_proportion = |difference: f64, sd: f64| {
            let value = difference.abs() / sd;
            if (1e-6..=1e6).contains(&value) {
                Ok(())
            } else {
                Err(PowerError::Value {
                    name: "difference in standard deviations",
                    value,
                    allowed: "between 0.000001 and 1000000",
                })
            }
        };
        if !(1e-9..0.5).contains(&alpha) {
            return Err(PowerError::Value {
                name: "risk of a false alarm",
                value: alpha,
                allowed: "between 0.000000001 and 0.5",
            });
        }
        match self {
            Self::TwoSample { difference, sd, .. }
            | Self::Paired {
                difference,
                sd_of_differences: sd,
                ..
            } => {
                positive("difference", difference.abs())?;
                positive("standard deviation", *sd)?;
                in_proportion(*difference, *sd)
            }
            Self::OneWay {
                treatments,
                difference,
                sd,
            }
            | Self::Blocks {
                treatments,
                difference,
                sd,
            } => {
                several(*treatments)?;
                positive("difference", difference.abs())?;
                positive("standard deviation", *sd)?;
                in_proportion(*difference, *sd)
            }
            Self::Means { means, sd } => {
                several(means.len())?;
                positive("spread of the means", squares_about_mean(means))?;
                positive("standard deviation", *sd)?;
                in_proportion(squares_about_mean(means).sqrt(), *sd)
            }
            Self::Proportions { first, second } => {
                share("first share", *first)?;
                share("second share", *second)?;
                positive("difference of the shares", (first - second).abs())
            }
            Self::AsGood {
                margin,
                difference,
                sd,
                ..
            } => {
                positive("margin", *margin)?;
                positive("standard deviation", *sd)?;
                positive("margin less the real difference", margin - difference)
            }
            Self::FirstChoice { share: s } => {
                share("share", *s)?;
                positive("distance from an even split", (s - 0.5).abs())
            }
        }
    }

    /// Power with n units: the probability that the test comes out significant at `alpha` when
    /// the difference is real.
    ///
    /// t and F tests by the noncentral distributions, both directions counted; shares by the usual
    /// normal approximation; first choice exactly. `n` may lie between whole numbers except for
    /// first choice, where it is rounded down.
    ///
    /// Check: two groups of 20, difference of one standard deviation: 0.868953 (R 4.2.2).
    ///
    /// - Equation: P(test significant), by noncentral t and F, normal for shares, binomial for first choice
    /// - Units: n \[units\], risk and power \[1\]
    /// - Valid: enough units for a degree of freedom
    /// - Source: R's power.t.test in the example
    ///
    /// ```
    /// use trials::power::Comparison;
    /// let c = Comparison::TwoSample { difference: 1.0, sd: 1.0, one_sided: false };
    /// assert!((c.power(20.0, 0.05).unwrap() - 0.868953).abs() < 1e-6);
    /// ```
    ///
    /// # Errors
    /// [`PowerError::Value`] for values out of range.
    pub fn power(&self, n: f64, alpha: f64) -> Result<f64, PowerError> {
        self.check(alpha)?;
        if n.is_nan() || n < self.fewest() as f64 || n > 10.0 * MOST_UNITS as f64 {
            return Err(PowerError::Value {
                name: "n",
                value: n,
                allowed: "large enough to leave a degree of freedom for error, and at most a million",
            });
        }
        Ok(self.power_unchecked(n, alpha))
    }

    fn power_unchecked(&self, n: f64, alpha: f64) -> f64 {
        match self {
            Self::TwoSample {
                difference,
                sd,
                one_sided,
            } => t_power(
                difference.abs() / sd * (n / 2.0).sqrt(),
                2.0 * (n - 1.0),
                alpha,
                *one_sided,
            ),
            Self::Paired {
                difference,
                sd_of_differences,
                one_sided,
            } => t_power(
                difference.abs() / sd_of_differences * n.sqrt(),
                n - 1.0,
                alpha,
                *one_sided,
            ),
            Self::OneWay {
                treatments,
                difference,
                sd,
            } => {
                let k = *treatments as f64;
                let squares = 0.5 * difference * difference;
                f_power(n * squares / (sd * sd), k - 1.0, k * (n - 1.0), alpha)
            }
            Self::Means { means, sd } => {
                let k = means.len() as f64;
                f_power(
                    n * squares_about_mean(means) / (sd * sd),
                    k - 1.0,
                    k * (n - 1.0),
                    alpha,
                )
            }
            Self::Blocks {
                treatments,
                difference,
                sd,
            } => {
                let k = *treatments as f64;
                let squares = 0.5 * difference * difference;
                f_power(
                    n * squares / (sd * sd),
                    k - 1.0,
                    (k - 1.0) * (n - 1.0),
                    alpha,
                )
            }
            Self::Proportions { first, second } => {
                let (p, q) = (*first, *second);
                let z = normal_quantile(1.0 - alpha / 2.0);
                let pooled = ((p + q) * (2.0 - p - q) / 2.0).sqrt();
                let apart = (p * (1.0 - p) + q * (1.0 - q)).sqrt();
                normal_below((n.sqrt() * (p - q).abs() - z * pooled) / apart)
            }
            Self::AsGood {
                margin,
                difference,
                sd,
                one_sided,
            } => as_good_power(
                *margin,
                *difference,
                sd * (2.0 / n).sqrt(),
                2.0 * (n - 1.0),
                alpha,
                *one_sided,
            ),
            Self::FirstChoice { share } => first_choice_power(n as usize, *share, alpha).power,
        }
    }

    const fn fewest(&self) -> usize {
        match self {
            Self::Proportions { .. } | Self::FirstChoice { .. } => 1,
            _ => 2,
        }
    }

    /// The fewest units with at least the wanted power. For first choice, whose power rises in
    /// saw teeth, the fewest from which on the power stays above the wish.
    ///
    /// - Rule: the fewest units whose power is at least the wanted
    /// - Units: power and risk \[1\], n \[units\]
    /// - Valid: power above the risk
    /// - Source: R's power.t.test: 33.37 pairs, so 34
    ///
    /// ```
    /// use trials::plan::Unit;
    /// use trials::power::Comparison;
    /// let c = Comparison::Paired { difference: 0.5, sd_of_differences: 1.0, one_sided: false };
    /// let answer = c.replicates(0.8, 0.05, Unit::Dog).unwrap();
    /// assert_eq!(answer.n, 34);
    /// assert!(answer.sentence.contains("dogs"));
    /// ```
    ///
    /// # Errors
    /// Values out of range, pieces offered as units, or no reasonable number being enough.
    pub fn replicates(&self, power: f64, alpha: f64, unit: Unit) -> Result<Replicates, PowerError> {
        self.check(alpha)?;
        unit.check()?;
        if !(power > alpha && power < 1.0) {
            return Err(PowerError::Value {
                name: "wanted power",
                value: power,
                allowed: "above the risk of a false alarm and below 1",
            });
        }
        let unreachable = |most| PowerError::Unreachable { most, unit };
        let (n, exact_n) = if let Self::FirstChoice { share } = self {
            let n = first_choice_n(*share, power, alpha).ok_or_else(|| unreachable(MOST_DOGS))?;
            (n, None)
        } else {
            let low = self.fewest() as f64;
            if self.power_unchecked(MOST_UNITS as f64, alpha) < power {
                return Err(unreachable(MOST_UNITS));
            }
            let exact = root_above(|n| self.power_unchecked(n, alpha) - power, low, 2.0);
            ((exact - 1e-9).ceil() as usize, Some(exact))
        };
        Ok(self.answer(n, exact_n, alpha, unit))
    }

    /// What a plan of n units can find.
    ///
    /// - Rule: the power of n units, in words
    /// - Units: n \[units\], risk and power \[1\]
    /// - Valid: as `power`
    /// - Source: R's power.t.test: 0.868953
    ///
    /// ```
    /// use trials::{plan::Unit, power::Comparison};
    /// let c = Comparison::TwoSample { difference: 1.0, sd: 1.0, one_sided: false };
    /// assert!((c.of_plan(20, 0.05, Unit::Dog).unwrap().power - 0.868_953).abs() < 1e-6);
    /// ```
    ///
    /// # Errors
    /// As [`Self::power`], and pieces offered as units.
    pub fn of_plan(&self, n: usize, alpha: f64, unit: Unit) -> Result<Replicates, PowerError> {
        unit.check()?;
        self.power(n as f64, alpha)?;
        Ok(self.answer(n, None, alpha, unit))
    }

    fn answer(&self, n: usize, exact_n: Option<f64>, alpha: f64, unit: Unit) -> Replicates {
        let power = self.power_unchecked(n as f64, alpha);
        let sentence = format!(
            "{n} {} {} find {} in {:.0} of 100 such trials, with a false alarm in {:.0} of 100 when there is no difference. The number counts {}, however many pieces or days are measured on each.",
            if n == 1 { unit.word() } else { unit.plural() },
            self.counts(),
            self.wish(),
            100.0 * power,
            100.0 * alpha,
            unit.plural(),
        );
        Replicates {
            n,
            exact_n,
            power,
            alpha,
            unit,
            sentence,
        }
    }

    /// Power for each number of units, to draw; numbers too small for the test have power 0.
    ///
    /// - Rule: `power` at each number, 0 where there are too few
    /// - Units: units \[counted\], risk and power \[1\]
    /// - Valid: as `power`
    /// - Source: R's power.t.test: 0.868953
    ///
    /// ```
    /// use trials::power::Comparison;
    /// let c = Comparison::TwoSample { difference: 1.0, sd: 1.0, one_sided: false };
    /// let curve = c.curve(&[1, 20], 0.05).unwrap();
    /// assert!(curve[0] == (1, 0.0) && (curve[1].1 - 0.868_953).abs() < 1e-6);
    /// ```
    ///
    /// # Errors
    /// As [`Self::power`], for the comparison itself.
    pub fn curve(&self, units: &[usize], alpha: f64) -> Result<Vec<(usize, f64)>, PowerError> {
        self.check(alpha)?;
        let at = |n: usize| {
            if n < self.fewest() {
                0.0
            } else {
                self.power_unchecked(n as f64, alpha)
            }
        };
        Ok(units.iter().map(|&n| (n, at(n))).collect())
    }

    /// The smallest difference that n units find with the wanted power: the honest width of a
    /// planned trial. None for comparisons that are not stated as one difference.
    ///
    /// - Equation: the difference whose power at n units is the wanted
    /// - Units: n \[units\], power and risk \[1\], difference \[as the response\]
    /// - Valid: comparisons that are stated as one difference
    /// - Source: R's power.t.test: one standard deviation has 0.868953 with 20
    ///
    /// ```
    /// use trials::power::Comparison;
    /// let c = Comparison::TwoSample { difference: 9.0, sd: 1.0, one_sided: false };
    /// let found = c.smallest_difference(20, 0.868_952_801_692_498, 0.05).unwrap().unwrap();
    /// assert!((found - 1.0).abs() < 1e-6);
    /// ```
    ///
    /// # Errors
    /// As [`Self::power`].
    pub fn smallest_difference(
        &self,
        n: usize,
        power: f64,
        alpha: f64,
    ) -> Result<Option<f64>, PowerError> {
        self.power(n as f64, alpha)?;
        if !(power > alpha && power < 1.0) {
            return Err(PowerError::Value {
                name: "wanted power",
                value: power,
                allowed: "above the risk of a false alarm and below 1",
            });
        }
        let with = |d: f64| {
            let mut other = self.clone();
            match &mut other {
                Self::TwoSample { difference, .. }
                | Self::Paired { difference, .. }
                | Self::OneWay { difference, .. }
                | Self::Blocks { difference, .. } => *difference = d,
                // Not stated as one difference: answered with none below.
                Self::Means { .. }
                | Self::Proportions { .. }
                | Self::AsGood { .. }
                | Self::FirstChoice { .. } => {}
            }
            other
        };
        let sd = match self {
            Self::TwoSample { sd, .. } | Self::OneWay { sd, .. } | Self::Blocks { sd, .. } => *sd,
            Self::Paired {
                sd_of_differences, ..
            } => *sd_of_differences,
            Self::Means { .. }
            | Self::Proportions { .. }
            | Self::AsGood { .. }
            | Self::FirstChoice { .. } => {
                return Ok(None);
            }
        };
        let gap = |d: f64| with(d).power_unchecked(n as f64, alpha) - power;
        Ok(Some(root_above(gap, 0.0, sd)))
    }
}

/// Power of a t test with noncentrality δ ≥ 0.
fn t_power(delta: f64, df: f64, alpha: f64, one_sided: bool) -> f64 {
    if one_sided {
        let critical = t_quantile(1.0 - alpha, df);
        // P(T > t) = E[Φ(δ − t·s)] over the scaled chi s.
        return mean_over_scaled_chi(df, delta / critical, |s| normal_below(delta - critical * s));
    }
    // t² of the two-sided test is a noncentral F with one degree of freedom above.
    f_power(delta * delta, 1.0, df, alpha)
}

/// Power of an F test with noncentrality λ.
fn f_power(lambda: f64, df1: f64, df2: f64, alpha: f64) -> f64 {
    // Far out everything is found, and the Poisson sum has nothing left to add.
    if lambda > 2_000.0 {
        return 1.0;
    }
    1.0 - noncentral_f_below(f_quantile(1.0 - alpha, df1, df2), df1, df2, lambda)
}

/// A number as a person would write it: four digits at most, no tail of noughts.
fn shown(value: f64) -> String {
    let text = measure::rounding::significant(value, 4);
    match text.contains('.') {
        true => text.trim_end_matches('0').trim_end_matches('.').to_owned(),
        false => text,
    }
}

fn squares_about_mean(values: &[f64]) -> f64 {
    let mean = values.iter().sum::<f64>() / values.len() as f64;
    values.iter().map(|v| (v - mean).powi(2)).sum()
}
/// Power of the one-sided test of no more than a margin worse, or of both one-sided tests together:
/// the estimate must lie a t from the margin(s), averaged over the estimated spread.
fn as_good_power(
    margin: f64,
    difference: f64,
    se: f64,
    df: f64,
    alpha: f64,
    one_sided: bool,
) -> f64 {
    let t = t_quantile(1.0 - alpha, df);
    mean_over_scaled_chi(df, margin / (t * se), |s| {
        let room = margin - t * s * se;
        let upper = normal_below((room - difference) / se);
        if one_sided {
            upper
        } else {
            (upper - normal_below((-room - difference) / se)).max(0.0)
        }
    })
    .clamp(0.0, 1.0)
}
