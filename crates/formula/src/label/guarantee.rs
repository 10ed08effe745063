//! The guaranteed analysis: what every lot will meet, not what the average is.

use crate::composition::Nutrient;
use measure::{Constant, Given, Grade, Range, Source};
use serde::{Deserialize, Serialize};

/// Which way a guarantee binds.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Bound {
    /// Not less than.
    Min,
    /// Not more than.
    Max,
}

/// How wide the margin is.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Margin {
    /// No analyses: twice the default relative spread of the nutrient, at least [`laboratory_pct`].
    FormulaOnly,
    /// Lots analysed: k(n) × their standard deviation, one-sided, 95 % of lots with 95 %
    /// confidence.
    Lots {
        /// Number of lots, 3 or more.
        n: u32,
        /// Standard deviation over lots and laboratory, kg per kg.
        sd: f64,
    },
}

/// Standard deviations taken as margin when there are no analyses.
pub static MARGIN_SDS: Constant = Constant {
    name: "margin of a guarantee without analyses",
    value: 2.0,
    unit: "standard deviations",
    range: Range::new(1.0, 4.0),
    source: "house default",
    grade: Grade::Assumed,
};

/// The least margin of a value without analyses, percentage points: what two standard deviations of
/// the laboratory alone come to, however small the value is. Without it a crude fibre of 0.45 %, from
/// memory, would be guaranteed to a tenth.
///
/// Protein 0.4 up to 10 %, 0.6 up to 20, 0.8 up to 30, then 1.0; fat 0.5; fibre 0.5 up to 10 %, then
/// 0.8; ash like protein up to 20 %, then 0.8; calcium and phosphorus 0.3 (Nevada NAC 587.620, seen).
/// The others have none in print.
///
/// - Rule: steps by nutrient and level as listed
/// - Units: mean and margin \[% as fed\]
/// - Valid: levels of dry and wet pet food
/// - Source: Nevada Administrative Code 587.620 (seen)
///
/// ```
/// use formula::{Nutrient, label::guarantee::laboratory_pct};
/// assert_eq!(laboratory_pct(Nutrient::CrudeFibre, 0.45), 0.5);
/// assert_eq!(laboratory_pct(Nutrient::CrudeProtein, 18.0), 0.6);
/// assert_eq!(laboratory_pct(Nutrient::Moisture, 8.0), 0.0);
/// ```
pub fn laboratory_pct(nutrient: Nutrient, mean_pct: f64) -> f64 {
    let by_tens = |steps: &[f64]| {
        let at = steps.len().min((mean_pct / 10.0).ceil().max(1.0) as usize) - 1;
        steps[at]
    };
    match nutrient {
        Nutrient::CrudeProtein => by_tens(&[0.4, 0.6, 0.8, 1.0]),
        Nutrient::CrudeFat => 0.5,
        Nutrient::CrudeFibre => by_tens(&[0.5, 0.8]),
        Nutrient::Ash => by_tens(&[0.4, 0.6, 0.8]),
        Nutrient::Calcium | Nutrient::Phosphorus => 0.3,
        _ => 0.0,
    }
}

/// One-sided tolerance factors for 95 % content at 95 % confidence, computed from the non-central
/// t distribution: (lots, k).
///
/// - Units: lots \[counted\], k \[standard deviations\]
/// - Source: computed; 4.203 for five lots also in handbooks (from memory, to be confirmed)
pub const TOLERANCE_FACTORS: [(u32, f64); 11] = [
    (3, 7.656),
    (4, 5.144),
    (5, 4.203),
    (6, 3.708),
    (8, 3.187),
    (10, 2.911),
    (12, 2.736),
    (15, 2.566),
    (20, 2.396),
    (30, 2.220),
    (50, 2.065),
];

/// The tolerance factor of the largest tabulated number of lots not above `n`, so on the safe side; none
/// below 3.
///
/// - Rule: factor of the largest tabulated number of lots not above n
/// - Units: factor \[1\], lots \[counted\]
/// - Valid: 3 lots or more
/// - Source: one-sided 95 % tolerance factors at 95 % confidence for normal data, computed with the non-central t;
///   k(5) 4.203 also in handbooks (from memory, to be confirmed)
///
/// ```
/// use formula::label::guarantee::tolerance_factor;
/// assert_eq!(tolerance_factor(5), Some(4.203));
/// assert_eq!(tolerance_factor(7), tolerance_factor(6));
/// assert_eq!(tolerance_factor(2), None);
/// ```
pub fn tolerance_factor(n: u32) -> Option<f64> {
    TOLERANCE_FACTORS
        .iter()
        .rev()
        .find(|(lots, _)| *lots <= n)
        .map(|(_, k)| *k)
}

/// One line of the guaranteed analysis.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Guarantee {
    /// What.
    pub nutrient: Nutrient,
    /// Which way.
    pub bound: Bound,
    /// Average expected, %.
    pub mean_pct: f64,
    /// The guarantee, %.
    pub guarantee_pct: f64,
    /// What the margin stands on.
    pub margin: Given,
}

impl Guarantee {
    /// The line in words.
    pub fn text(&self) -> String {
        let word = self.nutrient.word();
        let name = word[..1].to_uppercase() + &word[1..];
        let bound = match self.bound {
            Bound::Min => "min",
            Bound::Max => "max",
        };
        format!("{name} ({bound}) {:.1} %", self.guarantee_pct)
    }
}

/// A guarantee from an average and its margin, both in percent, rounded to the safe side in steps
/// of 0.5 (0.1 under 2 %), never below 0.
///
/// Check: protein mean 14.3, s 0.30, 5 lots: 13.0 min; moisture mean 8.0, s 0.6: 11.0 max
/// (computed).
///
/// - Equation: mean ∓ margin, floored or ceiled in steps of 0.5 (0.1 below 2)
/// - Units: mean, margin and guarantee \[% as fed\]
/// - Valid: 0 to 100
/// - Source: house rule, no source; the examples computed apart
///
/// ```
/// use formula::label::guarantee::{Bound, rounded_pct, tolerance_factor};
/// let k = tolerance_factor(5).unwrap();
/// assert_eq!(rounded_pct(Bound::Min, 14.3, k * 0.30), 13.0);
/// assert_eq!(rounded_pct(Bound::Max, 8.0, k * 0.6), 11.0);
/// ```
pub fn rounded_pct(bound: Bound, mean_pct: f64, margin_pct: f64) -> f64 {
    let limit = match bound {
        Bound::Min => mean_pct - margin_pct,
        Bound::Max => mean_pct + margin_pct,
    }
    .max(0.0);
    let per_percent = if limit < 2.0 { 10.0 } else { 2.0 };
    // A hair of tolerance keeps 13.0 from becoming 12.5 by a rounding error of the sum.
    match bound {
        Bound::Min => (limit * per_percent + 1e-9).floor() / per_percent,
        Bound::Max => (limit * per_percent - 1e-9).ceil() / per_percent,
    }
}

/// One guarantee from an average in percent and a margin rule.
///
/// - Equation: guarantee = mean ∓ max(2 cv · mean, laboratory) or mean ∓ k s
/// - Units: mean \[% as fed\], sd of lots \[kg/kg\]
/// - Valid: means from 0 to 100
/// - Source: tolerance limits of normal data; laboratory spreads of Nevada Administrative Code 587.620 (seen); the
///   rest a house rule
///
/// ```
/// use formula::{Nutrient, label::guarantee::{Bound, Margin, guarantee}};
/// // Five lots with s 0.30 points about 14.3 %: 14.3 − 4.203 · 0.30 = 13.04.
/// let g = guarantee(Nutrient::CrudeProtein, Bound::Min, 14.3, Margin::Lots { n: 5, sd: 0.0030 });
/// assert_eq!(g.guarantee_pct, 13.0);
/// ```
pub fn guarantee(nutrient: Nutrient, bound: Bound, mean_pct: f64, margin: Margin) -> Guarantee {
    let by_lots = MARGIN_SDS.value * nutrient.default_cv() * mean_pct;
    let by_laboratory = laboratory_pct(nutrient, mean_pct);
    let default_pct = by_lots.max(by_laboratory);
    let (margin_pct, source) = match margin {
        Margin::FormulaOnly if by_laboratory > by_lots => (
            default_pct,
            Source::fixed(
                Grade::Published,
                "two standard deviations of the laboratory (Nevada NAC 587.620, seen)",
            ),
        ),
        Margin::FormulaOnly => (default_pct, nutrient.default_cv_source()),
        Margin::Lots { n, sd } => match tolerance_factor(n) {
            Some(k) => (
                k * sd * 100.0,
                Source::new(Grade::Measured, format!("{n} lots analysed, k = {k}")),
            ),
            None => (
                default_pct,
                Source::new(
                    Grade::Assumed,
                    format!("{n} lots are too few for a tolerance limit (3 needed); house default"),
                ),
            ),
        },
    };
    Guarantee {
        nutrient,
        bound,
        mean_pct,
        guarantee_pct: rounded_pct(bound, mean_pct, margin_pct),
        margin: Given {
            name: format!("margin on {}", nutrient.word()).into(),
            value: Some(margin_pct),
            unit: "percentage points".into(),
            source,
        },
    }
}
