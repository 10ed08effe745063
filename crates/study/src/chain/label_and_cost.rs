//! What is sold: what it contains, what its label may promise, what its ingredients cost.

use crate::model::Treatment;
use formula::cost::{IngredientCost, ingredient_cost};
use formula::label::{self, Flags, Guarantee, Kept};
use formula::nutrition::{Nutrition, nutrition};
use formula::{Formula, FormulaError};
use measure::WetBasis;

/// What is sold.
#[derive(Clone, Debug)]
pub struct LabelAndCost {
    /// What the packed product contains.
    pub nutrition: Nutrition,
    /// Its moisture to the end of shelf life; none when the pack couldn't be followed, and the label then
    /// holds for the day of packing.
    pub kept: Option<Kept>,
    /// The guaranteed analysis.
    pub guarantees: Vec<Guarantee>,
    /// Gluten and allergens.
    pub flags: Flags,
    /// Cost of the ingredients.
    pub ingredients: IngredientCost,
}

/// Contents, label and ingredients' cost of a formula packed at a moisture, with the moisture that its pack has at the
/// end of shelf life where that is known.
///
/// # Errors
/// A formula without dry matter.
pub fn label_and_cost(
    treatment: &Treatment,
    formula: &Formula,
    packed: WetBasis,
    end: Option<WetBasis>,
) -> Result<LabelAndCost, FormulaError> {
    let nutrition = nutrition(formula, packed, treatment.species)?;
    let kept = end.map(|end| Kept::until(packed, end));
    Ok(LabelAndCost {
        guarantees: label::guaranteed_analysis_kept(
            &nutrition,
            &kept.unwrap_or(Kept::as_packed(packed)),
        ),
        kept,
        flags: label::flags(formula),
        ingredients: ingredient_cost(formula),
        nutrition,
    })
}
