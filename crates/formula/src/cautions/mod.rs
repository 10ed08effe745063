//! Cautions: ingredients that harm the animal, limits of use, and what harms the people who bake.
//!
//! Two lists: [`DANGERS`] are told for being there, [`SUBSTANCES`] are weighed per kg of treat
//! against limits; each row has its source and grade. Both are matched against what a material is
//! called, in four languages and by E number. No list is complete: what isn't on it is not thereby
//! safe, and a veterinarian decides.

mod amounts;
mod animal;
mod danger;
mod dangers;
mod people;
mod substance;
mod substances;

pub use crate::names::Names;
pub use amounts::{Amount, amounts};
pub use animal::{
    DRIED_BELOW, KILL_ASKED, KILL_ASKED_OF_POULTRY, RawAnimal, kill_asked, raw_animal,
};
pub use danger::Danger;
pub use dangers::DANGERS;
pub use people::always;
pub use substance::{AmountUnit, Basis, Carrier, FEED_MOISTURE, Limit, Substance};
pub use substances::SUBSTANCES;

use crate::Code;
use crate::composition::{Nutrient, SALT_PER_SODIUM};
use crate::formula::Formula;
use crate::material::{Allergen, Category, Material};
use crate::names::{Folded, NEGATIONS, Text};
use crate::nutrition::Species;
use measure::Severity::{Note, Stop, Warn};
use measure::{Constant, Finding, Grade, Range, Severity, Tally};
use std::sync::LazyLock;

const fn house_rule(name: &'static str, value: f64, most: f64, source: &'static str) -> Constant {
    Constant {
        name,
        value,
        unit: "kg per kg treat at 12 % moisture",
        range: Range::new(0.0, most),
        source,
        grade: Grade::Assumed,
    }
}

/// Salt of the treat above which it is told.
pub static SALT_WARN: Constant = house_rule(
    "salt that is told",
    0.01,
    0.1,
    "house rule from dose levels seen in print",
);
/// Salt of the treat above which to stop.
pub static SALT_STOP: Constant = house_rule(
    "salt that stops",
    0.03,
    0.1,
    "house rule from dose levels seen in print",
);
/// Fat of the treat above which pancreatitis is spoken of.
pub static FAT_WARN: Constant = house_rule(
    "fat that is told",
    0.25,
    1.0,
    "house rule, as fed, from memory, to be confirmed",
);

/// The cautions of a formula for an animal: dangers by material, amounts against their limits,
/// limits of use, and last that no list is complete.
pub fn cautions(formula: &Formula, species: Species) -> Vec<Finding> {
    let present = formula.lines().iter().filter(|l| l.parts > 0.0);
    let mut list: Vec<Finding> = told_once(present.map(|l| &*l.material), species)
        .iter()
        .map(|p| p.finding(species))
        .collect();
    list.extend(amounts::findings(formula, species));
    list.extend(limits(formula));
    list.extend(sulfite(formula));
    list.sort_by_key(|f: &Finding| std::cmp::Reverse(f.severity));
    list.push(closing());
    list
}

static FOLDED: LazyLock<Vec<(&'static Danger, Folded)>> = LazyLock::new(|| {
    DANGERS
        .iter()
        .copied()
        .flatten()
        .map(|danger| (danger, danger.names.folded()))
        .collect()
});

/// A danger, and the materials that point to it.
struct Pointed<'a> {
    danger: &'static Danger,
    severity: Severity,
    /// Whether it stands in their notes alone.
    by_notes: bool,
    materials: Vec<&'a Material>,
}

impl Pointed<'_> {
    fn finding(&self, species: Species) -> Finding {
        let danger = self.danger;
        let names: Vec<&str> = self.materials.iter().map(|m| m.name.as_str()).collect();
        let (named, point) = match names.as_slice() {
            [one] => ((*one).to_owned(), "points"),
            [most @ .., last] => (format!("{} and {last}", most.join(", ")), "point"),
            [] => Default::default(),
        };
        let about = match self.materials.as_slice() {
            [one] => format!("material:{}", one.id),
            _ => "formula".to_owned(),
        };
        let whence = if self.by_notes {
            format!("The notes of {named} point")
        } else {
            format!("{named} {point}")
        };
        Finding::new(
            self.severity,
            danger.code,
            about,
            format!(
                "{whence} to {} ({}): {}.",
                danger.substance,
                species.word(),
                danger.threshold
            ),
        )
        .help(danger.advice)
        .source(format!("{} ({})", danger.source, danger.grade.word()))
    }
}

/// The dangers of materials. What is only a note, as mould poisons of grain are, is told once for all that it concerns.
fn told_once<'a>(
    materials: impl Iterator<Item = &'a Material>,
    species: Species,
) -> Vec<Pointed<'a>> {
    let mut all: Vec<Pointed<'a>> = Vec::new();
    for new in materials.flat_map(|m| pointed(m, species)) {
        let alike = |there: &&mut Pointed<'a>| {
            std::ptr::eq(there.danger, new.danger)
                && (there.severity, there.by_notes) == (Note, new.by_notes)
                && new.severity == Note
        };
        match all.iter_mut().find(alike) {
            Some(there) => {
                for material in new.materials {
                    if !there.materials.iter().any(|m| m.id == material.id) {
                        there.materials.push(material);
                    }
                }
            }
            None => all.push(new),
        }
    }
    all
}

/// The dangers that a material's words give away, the weightiest for each danger.
///
/// A word in id, name or label name counts in full. In notes and cautions, where people also write
/// what a material is *not*, it counts as a caution at most, and as a note beside a word of denial.
///
/// ```
/// use formula::{cautions::of_material, nutrition::Species, shelf};
/// let grain = shelf::find("brewers_grains").unwrap();
/// let found = of_material(&grain, Species::Dog);
/// assert!(found.iter().any(|f| f.code == formula::Code::Hops && f.severity == measure::Severity::Warn));
/// ```
pub fn of_material(material: &Material, species: Species) -> Vec<Finding> {
    let pointed = pointed(material, species);
    pointed.iter().map(|p| p.finding(species)).collect()
}

fn pointed(material: &Material, species: Species) -> Vec<Pointed<'_>> {
    let name = Text::of(&[&material.id, &material.name, &material.label_name]);
    let notes = Text::of(&[&material.notes, &material.caution]);
    let denies = notes.has_any(NEGATIONS) || notes.has_any(DOUBTS);
    let mut found: Vec<Pointed> = Vec::new();
    for (danger, folded) in FOLDED.iter().filter(|(d, _)| d.species.contains(&species)) {
        let (severity, by_notes) = if folded.named_in(&name) {
            (danger.severity, false)
        } else if folded.named_in(&notes) {
            let most = if denies { Note } else { Warn };
            (danger.severity.min(most), true)
        } else {
            continue;
        };
        let new = Pointed {
            danger,
            severity,
            by_notes,
            materials: vec![material],
        };
        match found.iter_mut().find(|p| p.danger.code == danger.code) {
            Some(there) if there.severity < severity => *there = new,
            Some(_) => {}
            None => found.push(new),
        }
    }
    found
}

/// Salt and fat against their house limits: per treat at 12 % moisture, as the limits of feed are told,
/// for the dough's water leaves in the oven.
fn limits(formula: &Formula) -> Vec<Finding> {
    let mut list = Vec::new();
    let per_treat =
        |kg: f64| kg * (1.0 - FEED_MOISTURE) / (formula.solids() - formula.decomposed());
    let at_least = |sum: &Tally| {
        if sum.unknown.is_empty() {
            ""
        } else {
            "at least "
        }
    };
    let mut sodium = Tally::default();
    for line in formula.lines() {
        if line.material.category != Category::Leavening {
            sodium.add(
                &line.material.id,
                line.parts,
                line.fraction(Nutrient::Sodium),
            );
        }
    }
    let salt = per_treat(sodium.at_least * SALT_PER_SODIUM);
    if above(salt, &SALT_WARN) {
        list.push(
            Finding::new(
                if above(salt, &SALT_STOP) { Stop } else { Warn },
                Code::SaltHigh,
                "formula.salt",
                format!(
                    "Sodium of the formula, leavening apart, comes to {}{:.2} % salt of treat at 12 % moisture; signs of salt poisoning begin at 2 to 3 g, death is near at 4 g per kg body mass.",
                    at_least(&sodium),
                    100.0 * salt
                ),
            )
            .help("Keep salt at or below 1 %; ask a veterinarian above it. More than 3 % is not a treat.")
            .source("dose levels seen in print; limits are a house rule (assumed)"),
        );
    }
    let fats = formula.mass_of(Nutrient::CrudeFat);
    let fat = per_treat(fats.at_least);
    if above(fat, &FAT_WARN) {
        list.push(
            Finding::new(
                Warn,
                Code::FatHigh,
                "formula.fat",
                format!(
                    "Fat is {}{:.1} % of treat at 12 % moisture, above 25 %: rich treats go with pancreatitis.",
                    at_least(&fats),
                    100.0 * fat
                ),
            )
            .help("Lower the fat, or ask a veterinarian and tell small portions on the label.")
            .source("from memory, to be confirmed (house rule)"),
        );
    }
    list
}

/// A hair of tolerance keeps what stands exactly at a limit from passing it by a rounding error.
fn above(share: f64, limit: &Constant) -> bool {
    share > limit.value * (1.0 + 1e-9)
}

/// Sulfite and thiamine.
fn sulfite(formula: &Formula) -> Option<Finding> {
    let has_sulfite = |m: &Material| {
        let called = Text::of(&[&m.id, &m.name, &m.label_name]);
        m.allergens.iter().any(|f| f.allergen == Allergen::Sulfite)
            || SULFITE.iter().any(|names| names.named_in(&called))
    };
    let present = || formula.lines().iter().filter(|l| l.parts > 0.0);
    let carriers: Vec<&str> = present()
        .filter(|l| has_sulfite(&l.material))
        .map(|l| l.material.name.as_str())
        .collect();
    if carriers.is_empty() {
        return None;
    }
    let meat = present().any(|l| animal::is_flesh(&l.material));
    Some(
        Finding::new(
            if meat { Stop } else { Warn },
            Code::SulfiteThiamine,
            "formula.sulfite",
            format!(
                "Sulfite from {} destroys thiamine{}; cases in dogs and cats are documented.",
                carriers.join(", "),
                if meat { ", and the formula has meat or fish, where it is not allowed" } else { "" }
            ),
        )
        .help("Claim nothing about vitamin B1, use no sulfite with meat, and name it for people who are sensitive.")
        .source("21 CFR 582.3766 and 582.3739, seen"),
    )
}

static SULFITE: LazyLock<Vec<Folded>> = LazyLock::new(|| {
    SUBSTANCES
        .iter()
        .filter(|s| s.code == Code::Sulfite)
        .flat_map(|s| s.carriers)
        .map(|carrier| carrier.names.folded())
        .collect()
});

fn closing() -> Finding {
    Finding::new(
        Note,
        Code::ListNotComplete,
        "formula",
        "This check knows a list of dangerous ingredients; an ingredient that is not on the list is not thereby safe.",
    )
    .help("Ask a veterinarian about every ingredient that is new to you.")
}

/// Words, besides those of denial, with which a note says what a material isn't.
const DOUBTS: &[&str] = &["substitute", "check", "only"];

#[cfg(test)]
mod limit_tests;
#[cfg(test)]
mod tests;
