//! Gluten sources and allergens of a formula.

use crate::Code;
use crate::formula::Formula;
use crate::material::{Allergen, Gluten};
use measure::{Finding, Severity};
use serde::Serialize;

/// What people who handle or feed the product should know.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Flags {
    /// The most that any line brings.
    pub gluten: Gluten,
    /// Ids of the materials that bring it, by state: sources first.
    pub gluten_from: Vec<(String, Gluten)>,
    /// Allergens with the materials that bring them; the flag tells "only possible".
    pub allergens: Vec<(Allergen, bool, Vec<String>)>,
}

impl Flags {
    /// The flags as findings.
    pub fn findings(&self) -> Vec<Finding> {
        let mut list = Vec::new();
        if self.gluten == Gluten::CrossContactRisk {
            let names: Vec<&str> = self.gluten_from.iter().map(|(m, _)| m.as_str()).collect();
            list.push(
                Finding::new(
                    Severity::Warn,
                    Code::GlutenCrossContact,
                    "label.gluten",
                    format!(
                        "No gluten source, but {} usually meet gluten grain in field or mill.",
                        names.join(", ")
                    ),
                )
                .help("Claim nothing about gluten without analysed lots and a cleaned line; ask counsel before a claim.")
                .source("human food rule: under 20 mg/kg and no gluten grain (21 CFR 101.91); no pet-food definition is known, from memory, to be confirmed"),
            );
        }
        for (allergen, possible, from) in &self.allergens {
            list.push(Finding::new(
                Severity::Note,
                Code::Allergen,
                "label.allergens",
                format!(
                    "{} {} ({}): matters to the people who mix, pack and feed.",
                    if *possible { "May contain" } else { "Contains" },
                    allergen.word(),
                    from.join(", ")
                ),
            ));
        }
        list
    }
}

/// The flags of a formula.
pub fn flags(formula: &Formula) -> Flags {
    let present = || formula.lines().iter().filter(|l| l.parts > 0.0);
    let mut gluten_from: Vec<(String, Gluten)> = present()
        .filter(|l| l.material.gluten != Gluten::FreeByNature)
        .map(|l| (l.material.id.clone(), l.material.gluten))
        .collect();
    gluten_from.sort_by_key(|(_, state)| std::cmp::Reverse(*state));
    let allergens = Allergen::ALL
        .into_iter()
        .filter_map(|allergen| {
            let carriers: Vec<_> = present()
                .filter_map(|l| {
                    let flag = l
                        .material
                        .allergens
                        .iter()
                        .find(|f| f.allergen == allergen)?;
                    Some((l.material.name.clone(), flag.possible))
                })
                .collect();
            let possible = carriers.iter().all(|(_, possible)| *possible);
            let names = carriers.into_iter().map(|(id, _)| id).collect::<Vec<_>>();
            (!names.is_empty()).then_some((allergen, possible, names))
        })
        .collect();
    Flags {
        gluten: gluten_from
            .first()
            .map_or(Gluten::FreeByNature, |(_, g)| *g),
        gluten_from,
        allergens,
    }
}
