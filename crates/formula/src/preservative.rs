//! Weak acids that keep moulds down as long as they aren't dissociated: how much of each is in a dough,
//! and what is known of its pH.
//!
//! Without a measured pH nothing is credited: sorbate in a neutral or soda-leavened dough is no use and
//! at 0.025 to 0.05 % even helped moulds (Guynot and others 2003, abstract seen).

use crate::formula::Formula;
use crate::material::{Category, Material};
use measure::WetBasis;
use serde::{Deserialize, Serialize};

/// A weak acid.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum WeakAcid {
    /// Sorbic.
    Sorbic,
    /// Propionic.
    Propionic,
    /// Benzoic.
    Benzoic,
    /// Acetic.
    Acetic,
    /// Lactic.
    Lactic,
}

impl WeakAcid {
    /// Every acid.
    pub const ALL: [Self; 5] = [
        Self::Sorbic,
        Self::Propionic,
        Self::Benzoic,
        Self::Acetic,
        Self::Lactic,
    ];

    /// The word shown to people.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Sorbic => "sorbic",
            Self::Propionic => "propionic",
            Self::Benzoic => "benzoic",
            Self::Acetic => "acetic",
            Self::Lactic => "lactic",
        }
    }

    /// pKa at 25 °C (handbook values, from memory; sorbic 70 % at pH 4.4, 37 % at 5.0, 6 % at 6.0 seen).
    pub const fn p_ka(self) -> f64 {
        match self {
            Self::Sorbic | Self::Acetic => 4.76,
            Self::Propionic => 4.87,
            Self::Benzoic => 4.19,
            Self::Lactic => 3.86,
        }
    }

    /// Share that isn't dissociated at a pH: 1/(1 + 10^(pH − pKa)).
    ///
    /// ```
    /// use formula::preservative::WeakAcid;
    /// assert!((WeakAcid::Sorbic.undissociated(5.0) - 0.3653).abs() < 1e-4);
    /// assert!((WeakAcid::Propionic.undissociated(6.0) - 0.0690).abs() < 1e-4);
    /// ```
    pub fn undissociated(self, ph: f64) -> f64 {
        1.0 / (1.0 + 10f64.powf(ph - self.p_ka()))
    }

    /// Highest pH at which it is credited: sorbate in neutral doughs is no use and may even help moulds (Guynot et al.
    /// 2003, abstract seen); the others by judgement.
    pub const fn highest_ph(self) -> f64 {
        match self {
            Self::Sorbic => 6.0,
            Self::Propionic | Self::Benzoic | Self::Acetic | Self::Lactic => 6.5,
        }
    }
}

/// A salt in which an acid is bought.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Salt {
    /// Its name in the trade.
    pub name: &'static str,
    /// The acid in it.
    pub acid: WeakAcid,
    /// Acid per salt \[kg/kg\], from the molar masses.
    pub acid_share: f64,
}

/// Salts of the acids.
pub const SALTS: [Salt; 4] = [
    Salt {
        name: "K sorbate",
        acid: WeakAcid::Sorbic,
        acid_share: 112.13 / 150.22,
    },
    Salt {
        name: "Ca propionate",
        acid: WeakAcid::Propionic,
        acid_share: 2.0 * 74.08 / 186.22,
    },
    Salt {
        name: "Na propionate",
        acid: WeakAcid::Propionic,
        acid_share: 74.08 / 96.06,
    },
    Salt {
        name: "Na benzoate",
        acid: WeakAcid::Benzoic,
        acid_share: 122.12 / 144.10,
    },
];

/// A weak acid in a material as received.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Acid {
    /// Which.
    pub acid: WeakAcid,
    /// kg as acid per kg as received.
    pub fraction: f64,
}

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
