//! One draw of a formula from its spread: every lot a little different.
//!
//! The draws themselves come from outside as standard normal numbers, so that the same material
//! can get the same draw in every treatment (shared ignorance then cancels in a difference), and a
//! seed means the same for ever.

use crate::composition::{Nutrient, Value};
use crate::formula::Formula;
use crate::material::Material;
use std::collections::HashMap;
use std::sync::Arc;

/// What is drawn of a material.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Quantity {
    /// A constituent.
    Nutrient(Nutrient),
    /// Its water uptake.
    WaterUptake,
    /// Its price.
    Price,
}

impl Quantity {
    /// Everything that is drawn, in a fixed order.
    pub fn all() -> impl Iterator<Item = Self> {
        Nutrient::ALL
            .into_iter()
            .map(Self::Nutrient)
            .chain([Self::WaterUptake, Self::Price])
    }

    /// The word shown to people.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Nutrient(n) => n.word(),
            Self::WaterUptake => "water uptake",
            Self::Price => "price",
        }
    }
}

/// A material with every known value moved by its standard deviation times a standard normal
/// number; fractions stay between 0 and 1, prices at 0 or more.
///
/// Protein by the material's own factor moves with crude protein. Water itself stays as it is.
pub(crate) fn drawn_material(
    material: &Material,
    mut normal: impl FnMut(Quantity) -> f64,
) -> Material {
    let mut drawn = material.clone();
    if material.is_water() {
        return drawn;
    }
    for nutrient in Nutrient::ALL {
        let Some(value) = material.composition.get(nutrient) else {
            continue;
        };
        let moved =
            value.fraction + value.sd_or_default(nutrient) * normal(Quantity::Nutrient(nutrient));
        let fraction = moved.clamp(0.0, 1.0);
        if nutrient == Nutrient::CrudeProtein
            && value.fraction > 0.0
            && let Some(own) = &mut drawn.protein_reported
        {
            own.fraction = (own.fraction * fraction / value.fraction).min(1.0);
        }
        let sd = value.sd;
        let source = value.source.clone();
        drawn.composition.set(
            nutrient,
            Value {
                fraction,
                sd,
                source,
            },
        );
    }
    if let Some(uptake) = &mut drawn.water_uptake {
        uptake.kg_per_kg += uptake.sd * normal(Quantity::WaterUptake);
    }
    if let Some(price) = &mut drawn.price {
        let mid = price.mid_per_kg() + price.sd_per_kg() * normal(Quantity::Price);
        price.low_per_kg = mid.max(0.0);
        price.high_per_kg = price.low_per_kg;
    }
    drawn
}

/// A formula whose materials are drawn; `normal` gives one standard normal number for a material's
/// id and a quantity, and a material that stands in several lines is drawn once.
///
/// - Rule: each material drawn once: mean + sd · z, held to what can be
/// - Units: z standard normal \[1\], quantities \[kg/kg\] and \[money/kg\]
/// - Valid: any formula
/// - Source: an identity: without deviations the formula comes back
///
/// ```
/// use formula::{Formula, Line, shelf, spread::drawn};
/// let dough = Formula::new(vec![Line::new(shelf::find("wheat_flour_soft").unwrap(), 100.0)]).unwrap();
/// assert!((drawn(&dough, |_, _| 0.0).solids() - dough.solids()).abs() < 1e-9);
/// ```
pub fn drawn(formula: &Formula, mut normal: impl FnMut(&str, Quantity) -> f64) -> Formula {
    let mut done: HashMap<String, Arc<Material>> = HashMap::new();
    formula.with_materials(|m| {
        let id = m.id.clone();
        let draw = || Arc::new(drawn_material(m, |q| normal(&m.id, q)));
        Arc::clone(done.entry(id).or_insert_with(draw))
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::formula::Line;
    use crate::shelf;

    fn formula() -> Formula {
        let line = |id: &str, parts| Line::new(shelf::find(id).unwrap(), parts);
        Formula::new(vec![
            line("wheat_flour_ap", 90.0),
            line("sunflower_oil", 10.0),
            line("water", 30.0),
        ])
        .unwrap()
    }

    #[test]
    fn a_draw_of_zero_changes_nothing_but_the_price_range() {
        let f = formula();
        let d = drawn(&f, |_, _| 0.0);
        assert_eq!(
            d.mass_of(Nutrient::CrudeProtein),
            f.mass_of(Nutrient::CrudeProtein)
        );
        assert_eq!(d.dough_moisture(), f.dough_moisture());
        let cost = |f: &Formula| crate::cost::ingredient_cost(f).per_kg_dough.mean;
        assert!((cost(&d) - cost(&f)).abs() < 1e-12);
    }

    #[test]
    fn a_draw_moves_by_its_standard_deviation_and_stays_legal() {
        let flour = shelf::find("wheat_flour_ap").unwrap();
        let up = drawn_material(&flour, |_| 1.0);
        let protein = |m: &Material| m.composition.fraction(Nutrient::CrudeProtein).unwrap();
        assert!((protein(&up) / protein(&flour) - 1.03).abs() < 1e-12);
        let own = |m: &Material| m.protein_mass().unwrap();
        assert!((own(&up) / own(&flour) - 1.03).abs() < 1e-12);
        for z in [-50.0, 50.0] {
            let d = drawn(&formula(), |_, _| z);
            assert!((0.0..=1.0).contains(&d.dough_moisture().0));
        }
    }
}
