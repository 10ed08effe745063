//! Several responses at once: the setting, among those that were tried between, at which all wishes are met best.

use super::model::SurfaceModel;
use crate::stats::desirability::{Wish, overall};
use crate::stats::mixture::Prediction;

/// Points of the lattice along one variable, and most of them together.
const ALONG: usize = 9;
const MOST_POINTS: usize = 6_561;
/// The search ends when a step is this share of half the tried range.
///
/// - Units: \[1\]
/// - Source: a numerical tolerance, chosen here
const LEAST_STEP: f64 = 1e-3;

/// A response at the best setting.
#[derive(Clone, Debug)]
pub struct BestResponse {
    /// The response.
    pub response: String,
    /// How far its wish is met, 0 to 1.
    pub desirability: f64,
    /// What is predicted there.
    pub prediction: Prediction,
}

/// The best setting.
#[derive(Clone, Debug)]
pub struct Best {
    /// The setting, in the variables' own units.
    pub at: Vec<f64>,
    /// The geometric mean of the desirabilities: one worthless response sinks all.
    pub overall: f64,
    /// Every response there.
    pub responses: Vec<BestResponse>,
}

/// The setting with the highest overall desirability within the region that was tried; none when no setting there
/// meets every wish at all. All models are of the same variables.
///
/// A lattice over the tried range and the tried points themselves, then a search from the best of them with steps
/// that halve: the same answer every time.
pub fn best(models: &[(SurfaceModel, Wish)]) -> Option<Best> {
    let (first, _) = models.first()?;
    let coding = &first.model.coding;
    let own = |coded: &[f64]| -> Vec<f64> {
        let pairs = coded.iter().zip(coding);
        pairs.map(|(z, (middle, half))| middle + half * z).collect()
    };
    let worth = |coded: &[f64]| -> f64 {
        let point = own(coded);
        let all: Option<Vec<f64>> = models
            .iter()
            .map(|(m, wish)| m.predict(&point).ok().map(|p| wish.of(p.mean)))
            .collect();
        all.map_or(0.0, |d| overall(&d))
    };
    let k = coding.len();
    let mut along = ALONG;
    while along > 3 && along.pow(k as u32) > MOST_POINTS {
        along -= 2;
    }
    let mut at = vec![0.0; k];
    let mut value = worth(&at);
    for number in 0..along.pow(k as u32) {
        let mut rest = number;
        let point: Vec<f64> = (0..k)
            .map(|_| {
                let step = rest % along;
                rest /= along;
                2.0 * step as f64 / (along - 1) as f64 - 1.0
            })
            .collect();
        let found = worth(&point);
        if found > value {
            (at, value) = (point, found);
        }
    }
    let mut step = 1.0 / (along - 1) as f64;
    while step > LEAST_STEP {
        let mut moved = false;
        for i in 0..k {
            for sign in [1.0, -1.0] {
                let mut point = at.clone();
                point[i] += sign * step;
                let found = worth(&point);
                if found > value {
                    (at, value, moved) = (point, found, true);
                }
            }
        }
        if !moved {
            step *= 0.5;
        }
    }
    if value <= 0.0 {
        return None;
    }
    let at = own(&at);
    let responses = models
        .iter()
        .filter_map(|(m, wish)| {
            let prediction = m.predict(&at).ok()?;
            Some(BestResponse {
                response: m.report.response.clone(),
                desirability: wish.of(prediction.mean),
                prediction,
            })
        })
        .collect();
    Some(Best {
        at,
        overall: value,
        responses,
    })
}

/// Reads a wish: `larger 10..20`, `smaller 5..9`, `target 6..8..10`.
///
/// ```
/// use trials::analyse::best::wish;
/// use trials::stats::desirability::Wish;
/// let fine = wish("larger 10..20").unwrap();
/// assert_eq!(fine, Wish::Larger { low: 10.0, high: 20.0, weight: 1.0 });
/// assert!(wish("larger 20..10").is_none() && wish("more").is_none());
/// ```
pub fn wish(text: &str) -> Option<Wish> {
    let (word, ends) = text.trim().split_once(char::is_whitespace)?;
    let ends: Vec<f64> = ends
        .split("..")
        .map(|e| e.trim().parse::<f64>().ok().filter(|e| e.is_finite()))
        .collect::<Option<_>>()?;
    let rising = ends.windows(2).all(|w| w[0] < w[1]);
    match (word, ends.as_slice()) {
        ("larger", &[low, high]) if rising => Some(Wish::Larger {
            low,
            high,
            weight: 1.0,
        }),
        ("smaller", &[low, high]) if rising => Some(Wish::Smaller {
            low,
            high,
            weight: 1.0,
        }),
        ("target", &[low, target, high]) if rising => Some(Wish::Target {
            low,
            target,
            high,
            weight: 1.0,
        }),
        _ => None,
    }
}
