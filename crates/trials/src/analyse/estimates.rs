//! Means and their differences, from whatever model: intervals, adjusted p-values and letters.

use super::continuous::MOST_LEVELS;
use super::look::RISK;
use super::{ComparisonLine, EquivalenceLine, MeanLine, Scale};
use crate::response::Better;
use crate::stats::compare::{self, Difference, pairs};
use crate::stats::distribution::t_quantile;
use crate::stats::dunnett::{self, Sides};
use crate::stats::equivalence::{non_inferiority, tost};
use crate::stats::letters::letters;

/// Means of the levels of a term and the standard errors of their differences.
#[derive(Clone, Debug)]
pub(super) struct Estimates {
    pub term: String,
    /// How many such families share the 5 %.
    pub families: f64,
    pub levels: Vec<String>,
    pub n: Vec<usize>,
    /// (mean, standard error, degrees of freedom) of each level.
    pub means: Vec<Option<(f64, f64, f64)>>,
    /// (difference, standard error, degrees of freedom) for pairs in the order of
    /// [`pairs`]; none when it can't be estimated.
    pub differences: Vec<Option<(f64, f64, f64)>>,
}

/// Whose spread a difference stands on, which names the method: in both the family is guarded at
/// once, test and interval by the same critical value.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Guard {
    /// One error for all: Tukey–Kramer and Dunnett.
    Common,
    /// Each pair its own: Games–Howell, and Dunnett with Welch's standard errors.
    Own,
}

impl Guard {
    /// The method's name.
    fn word(self, with_control: bool, levels: usize) -> &'static str {
        match (self, with_control) {
            (Self::Common, _) if levels == 2 => "t",
            (Self::Own, _) if levels == 2 => "Welch's t",
            (Self::Common, true) => "Dunnett",
            (Self::Common, false) => "Tukey–Kramer",
            (Self::Own, true) => "Dunnett, Welch's errors",
            (Self::Own, false) => "Games–Howell",
        }
    }
}

/// Partners that a treatment's share in common with the control is worked out from.
const TRIADS: usize = 40;

/// A difference that can be judged: finite, with a spread and degrees of freedom.
fn judged(difference: Option<(f64, f64, f64)>) -> Option<(f64, f64, f64)> {
    difference.filter(|(d, se, df)| d.is_finite() && se.is_finite() && *se > 0.0 && *df > 0.0)
}

impl Estimates {
    /// The letters of each level, `a` for the highest mean.
    fn letters(&self, all: &[Option<Difference>]) -> Vec<String> {
        let k = self.levels.len();
        let mut known: Vec<(usize, f64)> =
            (0..k).filter_map(|i| Some((i, self.means[i]?.0))).collect();
        known.sort_by(|a, b| b.1.total_cmp(&a.1));
        let order: Vec<usize> = known.into_iter().map(|(i, _)| i).collect();
        let found = letters(order.len(), |i, j| {
            let (a, b) = (order[i].max(order[j]), order[i].min(order[j]));
            all.iter()
                .flatten()
                .any(|d| (d.a, d.b) == (a, b) && d.p < 0.05)
        });
        let mut out = vec![String::new(); k];
        for (at, letter) in order.into_iter().zip(found) {
            out[at] = letter;
        }
        out
    }

    fn all_pairs(&self, shares: f64) -> Vec<Option<Difference>> {
        let k = self.levels.len();
        let usable: Vec<(usize, usize, f64, f64, f64)> = pairs(k)
            .into_iter()
            .zip(&self.differences)
            .filter_map(|((a, b), d)| judged(*d).map(|(d, se, df)| (a, b, d, se, df)))
            .collect();
        let found = compare::tukey_of(&usable, k, shares);
        let mut found = found.into_iter().peekable();
        pairs(k)
            .into_iter()
            .map(|(a, b)| found.next_if(|d| (d.a, d.b) == (a, b)))
            .collect()
    }

    /// a less b.
    pub(super) fn difference(&self, a: usize, b: usize) -> Option<(f64, f64, f64)> {
        if a == b {
            return None;
        }
        let (k, high, low) = (self.levels.len(), a.max(b), a.min(b));
        // The place of the pair in the order of `pairs`: all pairs of lower first levels lie before.
        let at = (low * (2 * k - low - 1) / 2 + high).checked_sub(low + 1)?;
        judged(*self.differences.get(at)?).map(|(d, se, df)| (if a > b { d } else { -d }, se, df))
    }

    fn with_control(&self, control: usize, shares: f64) -> Vec<Difference> {
        let rows: Vec<(usize, usize, f64, f64, f64)> = (0..self.levels.len())
            .filter(|&i| i != control)
            .filter_map(|i| {
                self.difference(i, control)
                    .map(|(d, se, df)| (i, control, d, se, df))
            })
            .collect();
        let loadings = self.loadings(&rows);
        let mut known: Vec<(f64, f64)> = Vec::new();
        rows.iter()
            .map(|&(a, b, difference, se, df)| {
                let critical = known
                    .iter()
                    .find(|(d, _)| *d == df)
                    .map(|(_, c)| *c)
                    .unwrap_or_else(|| {
                        let c =
                            dunnett::quantile(1.0 - RISK.value / shares, &loadings, df, Sides::Two);
                        known.push((df, c));
                        c
                    });
                Difference {
                    a,
                    b,
                    difference,
                    se,
                    df,
                    low: difference - critical * se,
                    high: difference + critical * se,
                    p: (shares * dunnett::p_value(difference / se, &loadings, df, Sides::Two))
                        .min(1.0),
                }
            })
            .collect()
    }

    /// The control's share in each difference, from the standard errors: the correlation of two
    /// differences is `(v_i + v_j - v_ij) / (2 sqrt(v_i v_j)) = λ_i λ_j`.
    fn loadings(&self, rows: &[(usize, usize, f64, f64, f64)]) -> Vec<f64> {
        let m = rows.len();
        let correlation = |i: usize, j: usize| -> f64 {
            let (a, b) = (rows[i], rows[j]);
            // Two treatments that can't be compared with each other: as in equal numbers.
            self.difference(a.0, b.0).map_or(0.5, |(_, between, _)| {
                let r = (a.3 * a.3 + b.3 * b.3 - between * between) / (2.0 * a.3 * b.3);
                r.clamp(1e-6, 0.999)
            })
        };
        match m {
            0 | 1 => vec![0.5f64.sqrt(); m],
            2 => vec![correlation(0, 1).sqrt(); 2],
            _ => (0..m)
                .map(|i| {
                    let mut total = 0.0;
                    let mut count = 0.0;
                    // Of many treatments some partners tell enough.
                    let step = m / TRIADS + 1;
                    for j in (0..m).step_by(step).filter(|&j| j != i) {
                        for l in (j + 1..m).step_by(step).filter(|&l| l != i) {
                            total += correlation(i, j) * correlation(i, l) / correlation(j, l);
                            count += 1.0;
                        }
                    }
                    f64::sqrt(total / count).clamp(1e-3, 0.999)
                })
                .collect(),
        }
    }

    /// Mean lines, with letters from all pairs; and the differences asked for, guarded at `risk` in
    /// all (0.05, or what is left for a look before the end).
    pub(super) fn lines(
        &self,
        control: Option<usize>,
        guard: Guard,
        compared: bool,
        scale: Scale,
        risk: f64,
    ) -> (Vec<MeanLine>, Vec<ComparisonLine>) {
        // A look has its share of the 5 % as a family among others has.
        let shares = self.families * RISK.value / risk;
        let compared = compared && self.levels.len() <= MOST_LEVELS;
        let all = if compared && self.levels.len() <= 40 {
            self.all_pairs(shares)
        } else {
            Vec::new()
        };
        let letters = if all.iter().any(Option::is_some) {
            self.letters(&all)
        } else {
            vec![String::new(); self.levels.len()]
        };
        let means = self
            .levels
            .iter()
            .enumerate()
            .map(|(i, level)| {
                let found = self.means[i];
                let half = found
                    .filter(|(_, se, df)| se.is_finite() && *df > 0.0)
                    .map(|(_, se, df)| t_quantile(0.975, df) * se);
                let mean = found.map(|f| f.0);
                MeanLine {
                    level: level.clone(),
                    term: self.term.clone(),
                    n: self.n[i],
                    mean,
                    se: found.map(|f| f.1).filter(|s| s.is_finite()),
                    low95: mean.zip(half).map(|(m, h)| m - h),
                    high95: mean.zip(half).map(|(m, h)| m + h),
                    letters: letters[i].clone(),
                }
            })
            .collect();
        if !compared {
            return (means, Vec::new());
        }
        let chosen: Vec<Difference> = match control {
            Some(control) => self.with_control(control, shares),
            None if all.is_empty() => self.all_pairs(shares).into_iter().flatten().collect(),
            None => all.into_iter().flatten().collect(),
        };
        let mut method = guard.word(control.is_some(), self.levels.len()).to_owned();
        if let Some(word) = scale.word() {
            method += &format!(" on {word}");
        }
        if self.families > 1.0 {
            method += &format!(", Bonferroni over {}", self.families);
        }
        let comparisons = chosen
            .into_iter()
            .map(|d| ComparisonLine {
                a: self.levels[d.a].clone(),
                b: self.levels[d.b].clone(),
                term: self.term.clone(),
                scale,
                difference: d.difference,
                low95: Some(d.low),
                high95: Some(d.high),
                p_adjusted: d.p,
                method: method.clone(),
                se: d.se,
                df: d.df.is_finite().then_some(d.df),
            })
            .collect();
        (means, comparisons)
    }

    /// Is each treatment as good as the control? Each is a question of its own, asked at 5 %.
    pub(super) fn equivalence(
        &self,
        control: usize,
        margin: f64,
        better: Option<Better>,
        scale: Scale,
    ) -> Vec<EquivalenceLine> {
        (0..self.levels.len())
            .filter(|&i| i != control)
            .filter_map(|i| {
                let (difference, se, df) = self.difference(i, control)?;
                let found = tost(difference, se, df, margin);
                // One-sided where one direction is better; both where a target is to be kept.
                let sign = match better {
                    Some(Better::Higher) => Some(1.0),
                    Some(Better::Lower) => Some(-1.0),
                    Some(Better::Target) | None => None,
                };
                let one_sided = sign.map(|s| non_inferiority(s * difference, se, df, margin));
                Some(EquivalenceLine {
                    a: self.levels[i].clone(),
                    b: self.levels[control].clone(),
                    term: self.term.clone(),
                    scale,
                    margin,
                    difference,
                    se,
                    df: df.is_finite().then_some(df),
                    low90: found.low90,
                    high90: found.high90,
                    p: found.p,
                    equivalent: found.equivalent,
                    better,
                    bound95: sign.zip(one_sided).map(|(s, n)| s * n.bound95),
                    p_not_worse: one_sided.map(|n| n.p),
                    not_worse: one_sided.map(|n| n.not_worse),
                })
            })
            .collect()
    }
}
