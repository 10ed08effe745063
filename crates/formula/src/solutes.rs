//! The solutes of a dough, and of a material that nobody described.

use crate::formula::Formula;
use crate::material::{Category, Material};
use crate::solute::{Dissolves, Solute};
use serde::Serialize;

/// What a material that stands on no shelf dissolves, by its name: all of its dry matter, where the
/// name is that of a solute and its moisture is known.
pub fn by_name(material: &Material) -> Option<Dissolves> {
    let carries = matches!(
        material.category,
        Category::Humectant
            | Category::Sweetener
            | Category::Acidulant
            | Category::Preservative
            | Category::Other
    );
    if !carries {
        return None;
    }
    let called = [&material.id, &material.name, &material.label_name].map(String::as_str);
    let solute = Solute::ALL
        .iter()
        .copied()
        .find(|s| s.names().found_in(&called))?;
    Some(Dissolves {
        solute,
        fraction: material.composition.dry_matter()?,
    })
}

/// The solutes of a dough, per kg of dry solid.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct Solutes {
    /// Which and how much, kg per kg dry solid, in the order of [`Solute::ALL`].
    pub known: Vec<(Solute, f64)>,
    /// Humectants of which nobody said what dissolves: water activity is then unknown.
    pub unknown: Vec<String>,
}

impl Solutes {
    /// kg per kg dry solid of one.
    ///
    /// - Rule: the amount stored, 0 where there is none
    /// - Units: \[kg/kg dry solid\]
    /// - Valid: every solute of the list
    /// - Source: a look-up, nothing is reckoned
    ///
    /// ```
    /// use formula::{Formula, Line, Solute, shelf};
    /// let plain = Formula::new(vec![Line::new(shelf::find("wheat_flour_soft").unwrap(), 1.0)]).unwrap();
    /// assert_eq!(plain.solutes().of(Solute::Glycerol), 0.0);
    /// ```
    pub fn of(&self, solute: Solute) -> f64 {
        self.known
            .iter()
            .find(|(s, _)| *s == solute)
            .map_or(0.0, |(_, kg)| *kg)
    }
}

impl Formula {
    /// The solutes of the dough.
    ///
    /// ```
    /// use formula::{Formula, Line, Solute, shelf};
    /// let line = |id, parts| Line::new(shelf::find(id).unwrap(), parts);
    /// let f = Formula::new(vec![line("wheat_flour_soft", 90.0), line("glycerin", 10.0)]).unwrap();
    /// // 9.95 kg glycerol in 89.28 kg dry solid.
    /// assert!((f.solutes().of(Solute::Glycerol) - 9.95 / 89.285).abs() < 1e-6);
    /// ```
    pub fn solutes(&self) -> Solutes {
        let solids = self.solids();
        let mut solutes = Solutes::default();
        for line in self.lines().iter().filter(|l| l.parts > 0.0) {
            let m = &line.material;
            if m.category == Category::Humectant && m.dissolves.is_empty() {
                solutes.unknown.push(m.name.clone());
            }
        }
        for solute in Solute::ALL {
            let kg: f64 = self
                .lines()
                .iter()
                .flat_map(|l| l.material.dissolves.iter().map(move |d| (l.parts, d)))
                .filter(|(_, d)| d.solute == *solute)
                .map(|(parts, d)| parts * d.fraction)
                .sum();
            if kg > 0.0 {
                solutes.known.push((*solute, kg / solids));
            }
        }
        solutes
    }
}
