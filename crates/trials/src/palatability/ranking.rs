//! Ranking of several foods: Friedman, exact pairs, Bradley and Terry's strengths.

use super::first_choice::even_split_p;
use super::how_often;
use super::rows::PalatabilityError;
use crate::stats::adjust::{Adjustment, adjust};
use crate::stats::ranks::friedman;
use serde::{Deserialize, Serialize};

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

/// Friedman's test, chi-square approximation.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct FriedmanTest {
    /// The statistic, corrected for ties.
    pub statistic: f64,
    /// Degrees of freedom.
    pub df: f64,
    /// p-value.
    pub p: f64,
}

/// A preference ranking.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Ranking {
    /// Dogs.
    pub dogs: usize,
    /// The foods, best first.
    pub foods: Vec<RankedFood>,
    /// Friedman's test that the foods differ at all; none where every dog likes all foods alike.
    pub friedman: Option<FriedmanTest>,
    /// All pairs.
    pub pairs: Vec<RankedPair>,
    /// The result in plain words.
    pub sentence: String,
}

/// Analyses rankings of several foods: `ranks[dog][food]`, 1 for the most liked, ties as
/// mid-ranks; all foods ranked by every dog.
///
/// - Rule: Friedman's test over dogs, strengths by Bradley and Terry, pairs by sign tests with Holm
/// - Units: ranks \[1 the most liked\], p \[1\]
/// - Valid: two dogs and two foods or more, every dog ranks every food
/// - Source: Friedman 1937 (from memory, to be confirmed): four dogs of one mind on three foods give 4 · 2
///
/// ```
/// let foods = ["a", "b", "c"].map(String::from);
/// let found = trials::palatability::ranking(&foods, &vec![vec![1.0, 2.0, 3.0]; 4]).unwrap();
/// assert!((found.friedman.unwrap().statistic - 8.0).abs() < 1e-12);
/// ```
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
    let test = friedman(ranks).map(|found| FriedmanTest {
        statistic: found.statistic,
        df: found.df,
        p: found.p,
    });
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
    let sentence = match test {
        Some(test) if test.p < 0.05 => format!(
            "The {n} dogs rank the foods differently ({}, best first); if all were liked alike, rankings this far apart would come up in {} trials.",
            order.join(", "),
            how_often(test.p)
        ),
        Some(test) => format!(
            "The rankings of {n} dogs do not show that any food is liked more (order seen: {}); rankings this far apart come up in {} trials even when all foods are liked alike.",
            order.join(", "),
            how_often(test.p)
        ),
        None => format!("Each of the {n} dogs ranks all foods alike, so nothing is shown."),
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
/// - Equation: P(i before j) = πᵢ/(πᵢ + πⱼ)
/// - Units: wins \[counted\], π \[shares\]
/// - Valid: foods joined by wins both ways
/// - Source: Bradley and Terry 1952; Hunter 2004 (from memory, to be confirmed); two foods by hand
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
