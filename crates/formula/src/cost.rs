//! What it costs: ingredients per kg dough with their spread.

use crate::Code;
use crate::formula::Formula;
use measure::{Estimate, Finding, Severity};
use serde::Serialize;

/// Ingredient cost of a dough.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct IngredientCost {
    /// Currency per kg dough; prices vary independently of each other.
    pub per_kg_dough: Estimate,
    /// Line by line: id, currency per kg dough at the middle of the range.
    pub lines: Vec<(String, f64)>,
    /// Materials without a price; the cost is at least what is told.
    pub unknown: Vec<String>,
}

impl IngredientCost {
    /// Tells missing prices.
    pub fn findings(&self) -> Vec<Finding> {
        if self.unknown.is_empty() {
            return Vec::new();
        }
        vec![
            Finding::new(
                Severity::Warn,
                Code::PriceUnknown,
                "cost",
                format!(
                    "No price for {}: the cost isn't known.",
                    self.unknown.join(", ")
                ),
            )
            .help("Give the price per kg as received."),
        ]
    }
}

/// The ingredient cost of a formula per kg dough.
///
/// Mean Σ x_i p_i with the middle of each price range; standard deviation √Σ (x_i s_i)², where a
/// range is read as 95 % of prices.
pub fn ingredient_cost(formula: &Formula) -> IngredientCost {
    let total = formula.total();
    let mut mean = 0.0;
    let mut variance = 0.0;
    let mut lines = Vec::new();
    let mut unknown = Vec::new();
    for line in formula.lines() {
        let share = line.parts / total;
        match &line.material.price {
            Some(price) => {
                mean += share * price.mid_per_kg();
                variance += (share * price.sd_per_kg()).powi(2);
                lines.push((line.material.id.clone(), share * price.mid_per_kg()));
            }
            None if share > 0.0 => unknown.push(line.material.id.clone()),
            None => {}
        }
    }
    IngredientCost {
        per_kg_dough: Estimate {
            mean,
            sd: f64::sqrt(variance),
        },
        lines,
        unknown,
    }
}

/// Cost of a piece of a mass \[kg\], from the cost per kg.
///
/// - Equation: mean and spread times the mass
/// - Units: mass \[kg\], cost \[money per kg\]
/// - Valid: mass from 0
/// - Source: an identity
///
/// ```
/// use measure::Estimate;
/// let piece = formula::cost::per_piece(Estimate { mean: 2.5, sd: 0.4 }, 0.020);
/// assert!((piece.mean - 0.05).abs() < 1e-12 && (piece.sd - 0.008).abs() < 1e-12);
/// ```
pub fn per_piece(per_kg: Estimate, piece_kg: f64) -> Estimate {
    Estimate {
        mean: per_kg.mean * piece_kg,
        sd: per_kg.sd * piece_kg,
    }
}
