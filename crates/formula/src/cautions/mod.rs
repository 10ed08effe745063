//! Cautions: ingredients that harm the animal, limits of use, and what harms the people who bake.
//!
//! One list, [`DANGERS`], with source and grade per row; matched against id, name, label name and
//! notes of every material. The list is never complete: what isn't on it is not thereby safe, and
//! a veterinarian decides.

mod dangers;

pub use dangers::{DANGERS, Danger};

use crate::composition::Nutrient;
use crate::dough::SALT_PER_SODIUM;
use crate::formula::Formula;
use crate::material::{Allergen, Category, Material};
use crate::nutrition::Species;
use measure::Finding;
use measure::Severity::{Note, Stop, Warn};

/// Share of the mix as salt from which it is told (house rule).
pub const SALT_WARN: f64 = 0.01;
/// Share of the mix as salt at which to stop (house rule).
pub const SALT_STOP: f64 = 0.03;
/// Share of the dry matter as fat from which pancreatitis is spoken of (house rule).
pub const FAT_WARN: f64 = 0.25;

/// The cautions of a formula for an animal: dangers by material, limits of use, and last that no
/// list is complete.
pub fn cautions(formula: &Formula, species: Species) -> Vec<Finding> {
    let solids = formula.solids();
    let mut list = Vec::new();
    for line in formula.lines().iter().filter(|l| l.parts > 0.0) {
        let dry = line.material.composition.dry_matter().unwrap_or(1.0);
        let share = if solids > 0.0 {
            line.parts * dry / solids
        } else {
            0.0
        };
        list.extend(of_material(&line.material, species, share));
    }
    list.extend(limits(formula));
    list.extend(sulfite(formula));
    list.sort_by_key(|f: &Finding| std::cmp::Reverse(f.severity));
    list.push(closing());
    list
}

/// The dangers that a material's words give away, at a share of the dry matter (1 = on its own),
/// the weightiest for each danger.
///
/// A word in id, name or label name counts in full. In notes and cautions, where people also write
/// what a material is *not*, it counts as a caution at most, and as a note beside a word of denial.
///
/// ```
/// use formula::{cautions::of_material, nutrition::Species, shelf};
/// let grain = shelf::find("brewers_grains").unwrap();
/// let found = of_material(&grain, Species::Dog, 0.2);
/// assert!(found.iter().any(|f| f.code == "hops" && f.severity == measure::Severity::Warn));
/// ```
pub fn of_material(material: &Material, species: Species, share: f64) -> Vec<Finding> {
    let name = words(&[&material.id, &material.name, &material.label_name].map(String::as_str));
    let notes = words(&[&material.notes, &material.caution].map(String::as_str));
    let denies = notes.iter().any(|w| {
        [
            "no",
            "not",
            "never",
            "without",
            "substitute",
            "check",
            "only",
        ]
        .contains(&w.as_str())
    });
    let mut found: Vec<Finding> = Vec::new();
    for danger in DANGERS {
        if !danger.species.contains(&species) || share < danger.from_share {
            continue;
        }
        let (severity, whence) = if gives_away(danger, &name) {
            (danger.severity, format!("{} points", material.name))
        } else if gives_away(danger, &notes) {
            let most = if denies { Note } else { Warn };
            (
                danger.severity.min(most),
                format!("The notes of {} point", material.name),
            )
        } else {
            continue;
        };
        let finding = Finding::new(
            severity,
            danger.code,
            format!("material:{}", material.id),
            format!(
                "{whence} to {} ({}): {}.",
                danger.substance,
                species.word(),
                danger.threshold
            ),
        )
        .help(danger.advice)
        .source(format!("{} ({})", danger.source, danger.grade.word()));
        match found.iter_mut().find(|f| f.code == danger.code) {
            Some(there) if there.severity < finding.severity => *there = finding,
            Some(_) => {}
            None => found.push(finding),
        }
    }
    found
}

/// Lower-case words of the texts, anything but letters and digits parting them.
fn words(texts: &[&str]) -> Vec<String> {
    let mut all = Vec::new();
    for text in texts {
        let lower = text.to_lowercase();
        all.extend(
            lower
                .split(|c: char| !c.is_alphanumeric())
                .filter(|w| !w.is_empty())
                .map(str::to_owned),
        );
        // Parts one text from the next, so that no phrase is read across them.
        all.push(String::from("|"));
    }
    all
}

fn gives_away(danger: &Danger, text: &[String]) -> bool {
    let mut masked = text.to_vec();
    for phrase in danger.except {
        while let Some((at, len)) = position(phrase, &masked) {
            for word in &mut masked[at..at + len] {
                *word = String::from("|");
            }
        }
    }
    danger
        .synonyms
        .iter()
        .any(|phrase| position(phrase, &masked).is_some())
}

fn position(phrase: &str, text: &[String]) -> Option<(usize, usize)> {
    let wanted: Vec<&str> = phrase.split(' ').collect();
    let same = |want: &str, word: &str| {
        if want.len() >= 5 {
            word.starts_with(want)
        } else {
            word == want || word.strip_suffix('s') == Some(want)
        }
    };
    text.windows(wanted.len())
        .position(|w| w.iter().zip(&wanted).all(|(word, want)| same(want, word)))
        .map(|at| (at, wanted.len()))
}

/// Salt and fat against their house limits.
fn limits(formula: &Formula) -> Vec<Finding> {
    let mut list = Vec::new();
    let sodium: f64 = formula
        .lines()
        .iter()
        .filter(|l| l.material.category != Category::Leavening)
        .map(|l| {
            l.parts
                * l.material
                    .composition
                    .fraction(Nutrient::Sodium)
                    .unwrap_or(0.0)
        })
        .sum();
    let salt = sodium * SALT_PER_SODIUM / formula.total();
    if salt > SALT_WARN {
        list.push(
            Finding::new(
                if salt > SALT_STOP { Stop } else { Warn },
                "salt-high",
                "formula.salt",
                format!(
                    "Sodium of the formula, leavening apart, comes to {:.2} % salt; signs of salt poisoning begin at 2 to 3 g, death is near at 4 g per kg body mass.",
                    100.0 * salt
                ),
            )
            .help("Keep salt at or below 1 %; ask a veterinarian above it. More than 3 % is not a treat.")
            .source("dose levels seen in print; limits are a house rule (assumed)"),
        );
    }
    let fat = formula.mass_of(Nutrient::CrudeFat).at_least / formula.solids();
    if fat > FAT_WARN {
        list.push(
            Finding::new(
                Warn,
                "fat-high",
                "formula.fat",
                format!(
                    "Fat is {:.1} % of dry matter, above 25 %: rich treats go with pancreatitis.",
                    100.0 * fat
                ),
            )
            .help("Lower the fat, or ask a veterinarian and tell small portions on the label.")
            .source("from memory, to be confirmed (house rule)"),
        );
    }
    list
}

/// Sulfite and thiamine.
fn sulfite(formula: &Formula) -> Option<Finding> {
    let has_sulfite = |m: &Material| {
        m.allergens.iter().any(|f| f.allergen == Allergen::Sulfite)
            || words(&[&m.name, &m.id])
                .iter()
                .any(|w| w.contains("sulfite") || w.contains("sulphite"))
    };
    let is_meat = |m: &Material| {
        let flesh = [
            "meat", "chicken", "beef", "pork", "lamb", "turkey", "liver", "fish", "salmon",
            "poultry", "blood",
        ];
        m.category == Category::ProteinAnimal
            && words(&[&m.name, &m.id])
                .iter()
                .any(|w| flesh.contains(&w.as_str()))
    };
    let present = || formula.lines().iter().filter(|l| l.parts > 0.0);
    let carriers: Vec<&str> = present()
        .filter(|l| has_sulfite(&l.material))
        .map(|l| l.material.name.as_str())
        .collect();
    if carriers.is_empty() {
        return None;
    }
    let meat = present().any(|l| is_meat(&l.material));
    Some(
        Finding::new(
            if meat { Stop } else { Warn },
            "sulfite-thiamine",
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

fn closing() -> Finding {
    Finding::new(
        Note,
        "list-not-complete",
        "formula",
        "This check knows a list of dangerous ingredients; an ingredient that is not on the list is not thereby safe.",
    )
    .help("Ask a veterinarian about every ingredient that is new to you.")
}

/// What harms the people who bake, for paper and screens.
pub fn bakery_cautions() -> Vec<Finding> {
    let note = |code: &str, about: &str, message: &str, help: &str, source: &str| {
        Finding::new(Note, code, about, message)
            .help(help)
            .source(source)
    };
    vec![
        note(
            "flour-dust",
            "bakery.dust",
            "Flour dust makes bakers' asthma and can explode (limit at work 0.5 mg/m³ inhalable over 8 hours in one list, other lists differ; gluten dust is easiest to ignite).",
            "Keep dust down, extract it, keep flames and sparks away; local codes and a competent person decide.",
            "national limit lists and a millers' dust guide, seen in excerpts",
        ),
        note(
            "raw-dough",
            "bakery.dough",
            "Raw flour and raw dough can carry E. coli and Salmonella; yeast dough goes on fermenting.",
            "Don't taste it, feed none of it to an animal, wash hands, keep raw and baked apart.",
            "public health warnings, seen",
        ),
        note(
            "hot-surfaces",
            "bakery.oven",
            "Oven, trays, band and fresh pieces burn.",
            "Wear gloves, let pieces cool before you handle or feed them; lock out the drive before reaching in.",
            "common practice, no source",
        ),
        note(
            "feeding",
            "label.feeding",
            "Hard pieces can choke or break teeth.",
            "Say on the pack: supervise your pet, break for small animals, give fresh water, wash hands, keep dry.",
            "common practice, no source",
        ),
    ]
}

#[cfg(test)]
mod tests;
