//! What is sold: what it contains, what its label may promise, what its ingredients cost.

use crate::model::Treatment;
use formula::cost::{IngredientCost, ingredient_cost};
use formula::label::{self, Flags, Guarantee};
use formula::nutrition::{Nutrition, nutrition};
use formula::{Formula, FormulaError};
use measure::WetBasis;

/// What is sold.
#[derive(Clone, Debug)]
pub struct LabelAndCost {
    /// What the packed product contains.
    pub nutrition: Nutrition,
    /// The guaranteed analysis.
    pub guarantees: Vec<Guarantee>,
    /// Gluten and allergens.
    pub flags: Flags,
    /// Cost of the ingredients.
    pub ingredients: IngredientCost,
}

/// Contents, label and ingredients' cost of a formula packed at a moisture.
///
/// # Errors
/// A formula without dry matter.
pub fn label_and_cost(
    treatment: &Treatment,
    formula: &Formula,
    packed: WetBasis,
) -> Result<LabelAndCost, FormulaError> {
    let nutrition = nutrition(formula, packed, treatment.species)?;
    Ok(LabelAndCost {
        guarantees: label::guaranteed_analysis(&nutrition),
        flags: label::flags(formula),
        ingredients: ingredient_cost(formula),
        nutrition,
    })
}
