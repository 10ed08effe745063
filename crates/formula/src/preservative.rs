//! Weak acids that keep moulds down as long as they aren't dissociated: how much of each is in a dough,
//! and what is known of its pH.
//!
//! Without a measured pH nothing is credited: sorbate in a neutral or soda-leavened dough is no use and
//! at 0.025 to 0.05 % even helped moulds (Guynot and others 2003, abstract seen).

pub use crate::acid::{Acid, SALTS, Salt, WeakAcid};
use crate::formula::Formula;
use crate::material::{Category, Material};
use measure::WetBasis;
use serde::Serialize;

/// Whether the pH can make a weak acid work.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Alkalinity {
    /// Soda or ammonium bicarbonate without an acid beside it: neutral to alkaline.
    Alkaline,
    /// Nothing tells; a dough of flour is near 6.
    NotKnown,
    /// An acid is in it and no soda: acid, how far isn't known.
    Acid,
}

/// Weak acids of a dough and what is known of their effect.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Preservation {
    /// Each acid, kg per kg of dry solid.
    pub acids: Vec<(WeakAcid, f64)>,
    /// Preservatives of which it isn't known what acid they are.
    pub unknown: Vec<String>,
    /// What the formula tells of the pH; a measured pH is better.
    pub alkalinity: Alkalinity,
}

impl Preservation {
    /// Acid in the water of the piece, kg per kg, at a moisture: all of it is taken to be there.
    ///
    /// - Equation: u = s (1 − M)/M
    /// - Units: s \[kg acid per kg dry solid\], M \[kg/kg, wet basis\], u \[kg/kg water\]
    /// - Valid: M above 0; all the acid in the water
    /// - Source: an identity; the example by hand
    ///
    /// ```
    /// use formula::{Formula, Line, preservative::WeakAcid, shelf};
    /// use measure::WetBasis;
    /// let line = |id, parts| Line::new(shelf::find(id).unwrap(), parts);
    /// let f = Formula::new(vec![line("wheat_flour_soft", 99.8), line("potassium_sorbate", 0.2)]).unwrap();
    /// let p = f.preservation();
    /// // 0.149 kg of acid on 88.17 kg dry solid, in 20 % moisture: 0.68 % of the water.
    /// let share = p.kg_per_kg_water(WeakAcid::Sorbic, WetBasis(0.20));
    /// assert!((share - 0.00677).abs() < 1e-4, "{share}");
    /// ```
    pub fn kg_per_kg_water(&self, acid: WeakAcid, moisture: WetBasis) -> f64 {
        let per_solid = self
            .acids
            .iter()
            .find(|(a, _)| *a == acid)
            .map_or(0.0, |(_, kg)| *kg);
        if per_solid == 0.0 {
            return 0.0;
        }
        per_solid * (1.0 - moisture.0) / moisture.0
    }

    /// Undissociated acid in the water of the piece, kg per kg, at a moisture and a measured pH: of every acid that is
    /// credited at that pH.
    ///
    /// - Equation: Σ u/(1 + 10^(pH − pKa)) over the acids credited at that pH
    /// - Units: u \[kg/kg water\], M \[kg/kg, wet basis\], pH \[1\]
    /// - Valid: pH up to the highest at which an acid is credited
    /// - Source: Henderson and Hasselbalch; limits of pH from challenge tests in print (seen); the example by hand
    ///
    /// ```
    /// use formula::{Formula, Line, shelf};
    /// use measure::WetBasis;
    /// let line = |id, parts| Line::new(shelf::find(id).unwrap(), parts);
    /// let f = Formula::new(vec![line("wheat_flour_soft", 99.8), line("potassium_sorbate", 0.2)]).unwrap();
    /// let p = f.preservation();
    /// // 0.68 % of the water, of which 36.5 % at pH 5.0; nothing at 6.2.
    /// assert!((p.undissociated_kg_per_kg_water(WetBasis(0.20), 5.0) - 0.00247).abs() < 1e-5);
    /// assert_eq!(p.undissociated_kg_per_kg_water(WetBasis(0.20), 6.2), 0.0);
    /// ```
    pub fn undissociated_kg_per_kg_water(&self, moisture: WetBasis, ph: f64) -> f64 {
        self.acids
            .iter()
            .filter(|(acid, _)| ph <= acid.highest_ph())
            .map(|(acid, _)| self.kg_per_kg_water(*acid, moisture) * acid.undissociated(ph))
            .sum()
    }
}

impl Formula {
    /// Weak acids of the dough.
    pub fn preservation(&self) -> Preservation {
        let solids = self.solids();
        let present = || self.lines().iter().filter(|l| l.parts > 0.0);
        let acids = WeakAcid::ALL
            .into_iter()
            .filter_map(|acid| {
                let kg: f64 = present()
                    .filter_map(|l| Some((l.parts, l.material.weak_acid?)))
                    .filter(|(_, a)| a.acid == acid)
                    .map(|(parts, a)| parts * a.fraction)
                    .sum();
                (kg > 0.0).then_some((acid, kg / solids))
            })
            .collect();
        let acid = present()
            .any(|l| crate::leavening::as_acid(&l.material) != crate::leavening::AsAcid::None);
        let soda = present().any(|l| {
            l.material.category == Category::Leavening
                && crate::leavening::gives_alkali(&l.material)
        });
        Preservation {
            acids,
            unknown: present()
                .filter(|l| l.material.category == Category::Preservative)
                .filter(|l| l.material.weak_acid.is_none() && !is_sulfite(&l.material))
                .map(|l| l.material.name.clone())
                .collect(),
            alkalinity: match (soda, acid) {
                (true, false) => Alkalinity::Alkaline,
                (false, true) => Alkalinity::Acid,
                _ => Alkalinity::NotKnown,
            },
        }
    }
}

fn is_sulfite(m: &Material) -> bool {
    m.allergens
        .iter()
        .any(|a| a.allergen == crate::material::Allergen::Sulfite)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::shelf;

    /// Shares of acid by standard atomic weights: sorbic acid 112.13 in potassium sorbate 150.22, two
    /// propionic acids 74.08 in calcium propionate 186.22 g/mol, in the dry matter of the row.
    #[test]
    fn acid_of_a_salt_is_what_molar_masses_make_it() {
        for (id, acid, share) in [
            ("potassium_sorbate", WeakAcid::Sorbic, 112.13 / 150.22),
            (
                "calcium_propionate",
                WeakAcid::Propionic,
                2.0 * 74.08 / 186.22,
            ),
        ] {
            let m = shelf::find(id).unwrap();
            let told = m.weak_acid.unwrap();
            let wanted = share * m.composition.dry_matter().unwrap();
            assert_eq!(told.acid, acid);
            assert!((told.fraction - wanted).abs() < 5e-4, "{id}");
        }
    }
}
