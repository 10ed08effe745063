//! What a saleable kilogram and a piece cost.

use serde::{Deserialize, Serialize};

/// What the line costs beside the ingredients, in the study's currency.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Conversion {
    /// Pack, labels and whatever else goes by mass \[per kg saleable\].
    pub per_kg: f64,
    /// People and plant \[per hour the line runs\]: a slower bake makes each kilogram dearer.
    pub per_line_hour: f64,
    /// Fuel or electricity of the oven \[per kWh\].
    pub per_kwh: f64,
}

/// Cost of a saleable kilogram and of a piece.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Cost {
    /// Ingredients \[per kg saleable\].
    pub ingredients_per_kg: f64,
    /// Everything else \[per kg saleable\].
    pub conversion_per_kg: f64,
    /// Both \[per kg saleable\].
    pub per_kg: f64,
    /// Both \[per piece\].
    pub per_piece: f64,
}

/// Ingredient cost per kg saleable: dough cost / (yield · (1 − waste)(1 − breakage)(1 − giveaway)).
///
/// Giveaway is the share of the mean fill above the label.
///
/// - Equation: c = c_dough/(y (1 − w)(1 − b)(1 − g))
/// - Units: costs \[money per kg\], yield, waste, breakage, giveaway \[shares\]
/// - Valid: shares from 0 to under 1
/// - Source: an identity; the example worked out apart
///
/// ```
/// use baking::line::cost::ingredients_per_kg;
/// // 45 per 100 kg dough, yield 72/93, 2 % waste, 3 % breakage, 1.5 % giveaway: 0.620767.
/// let cost = ingredients_per_kg(0.45, 72.0 / 93.0, 0.02, 0.03, 0.015);
/// assert!((cost - 0.6207674).abs() < 1e-7);
/// ```
pub fn ingredients_per_kg(
    per_kg_dough: f64,
    yield_: f64,
    waste: f64,
    breakage: f64,
    giveaway: f64,
) -> f64 {
    per_kg_dough / (yield_ * (1.0 - waste) * (1.0 - breakage) * (1.0 - giveaway))
}
