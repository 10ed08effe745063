//! Cautions: ingredients that harm the animal, limits of use, and what harms the people who bake.
//!
//! One list, [`DANGERS`], with source and grade per row; matched against id, name, label name and
//! notes of every material. The list is never complete: what isn't on it is not thereby safe, and
//! a veterinarian decides.

use crate::composition::Nutrient;
use crate::formula::{Formula, SALT_PER_SODIUM};
use crate::material::{Allergen, Category, Material};
use crate::nutrition::Species;
use measure::{Finding, Grade, Severity};

/// A substance that harms, and how its presence shows.
#[derive(Clone, Debug, PartialEq)]
pub struct Danger {
    /// Short name, code of the finding; rows of one code are one danger seen from two sides.
    pub code: &'static str,
    /// The substance in words.
    pub substance: &'static str,
    /// Words that give it away; several words stand in that order. Five letters or more match the
    /// beginning of a word, so `raisin` finds "raisins" and "raisinbread".
    pub synonyms: &'static [&'static str],
    /// Words that look like it and aren't.
    pub except: &'static [&'static str],
    /// The animals it concerns.
    pub species: &'static [Species],
    /// How much it weighs when it stands in a name.
    pub severity: Severity,
    /// Share of the dry matter from which it is told; 0 = any amount.
    pub from_share: f64,
    /// Dose level in words.
    pub threshold: &'static str,
    /// What to do.
    pub advice: &'static str,
    /// Where it comes from.
    pub source: &'static str,
    /// How sure it is.
    pub grade: Grade,
}

const BOTH: &[Species] = &[Species::Dog, Species::Cat];
const LEAVE_OUT: &str = "Leave it out; ask a veterinarian before any exception.";

#[allow(clippy::too_many_arguments, reason = "one row of a table")]
const fn row(
    code: &'static str,
    substance: &'static str,
    synonyms: &'static [&'static str],
    species: &'static [Species],
    severity: Severity,
    threshold: &'static str,
    advice: &'static str,
    source: &'static str,
    grade: Grade,
) -> Danger {
    Danger {
        code,
        substance,
        synonyms,
        except: &[],
        species,
        severity,
        from_share: 0.0,
        threshold,
        advice,
        source,
        grade,
    }
}

const fn but_not(danger: Danger, except: &'static [&'static str]) -> Danger {
    Danger { except, ..danger }
}

const fn from_share(danger: Danger, from_share: f64) -> Danger {
    Danger {
        from_share,
        ..danger
    }
}

use Grade::{Computed, Published, Recalled};
use Severity::{Note, Stop, Warn};

/// Every danger the program knows of.
#[rustfmt::skip]
pub const DANGERS: &[Danger] = &[
    row("xylitol", "xylitol", &["xylitol", "birch sugar", "birch sweetener", "wood sugar", "e967", "e 967"], BOTH, Stop,
        "dogs: low blood sugar above 0.1 g, liver failure above 0.5 g per kg body mass", LEAVE_OUT,
        "veterinary review on xylitol poisoning, abstract seen (2010)", Published),
    but_not(row("grapes", "grapes, raisins, sultanas, currants", &["grape", "raisin", "sultana", "currant", "zante"], BOTH, Stop,
        "no safe dose is known; signs from about 3 g raisins or 20 g grapes per kg body mass", LEAVE_OUT,
        "veterinary trade press, seen; gram values computed", Published), &["grapeseed", "grape seed", "blackcurrant", "redcurrant"]),
    row("grapes", "a mixed food that often carries raisins", &["trail mix", "fruit bread", "fruit cake", "fruitcake", "mincemeat", "muesli", "granola", "dried fruit mix", "mixed dried fruit"], BOTH, Warn,
        "no safe dose of raisins is known", "Read its ingredient list and use it only if it is free of raisins, chocolate, macadamia and xylitol.",
        "common practice, no source", Recalled),
    but_not(row("chocolate", "chocolate or cocoa (theobromine, caffeine)", &["chocolate", "cocoa", "cacao"], BOTH, Stop,
        "methylxanthines: mild signs 20, heart 40 to 50, seizures from 60 mg per kg body mass; cocoa powder carries about 23 mg/g, milk chocolate 2.3 mg/g", LEAVE_OUT,
        "veterinary manual text, copy seen; contents from public food composition data", Published), &["cocoa substitute"]),
    but_not(row("caffeine", "coffee, tea, guarana, caffeine", &["caffeine", "coffee", "tea", "guarana", "yerba mate", "kola nut", "matcha"], BOTH, Stop,
        "as for chocolate", LEAVE_OUT, "from memory, to be confirmed", Recalled), &["tea tree"]),
    row("onion", "onion, leek, chive, shallot", &["onion", "leek", "chive", "shallot", "scallion"], BOTH, Stop,
        "red cells are damaged from about 15 g (dog) or 5 g (cat) fresh onion per kg body mass; powder is 5 to 8 times as strong", LEAVE_OUT,
        "veterinary review, reprint seen; factor for powder from memory", Published),
    row("garlic", "garlic", &["garlic"], &[Species::Dog], Warn,
        "the same poison as onion in smaller amounts; no safe dose is agreed", "Leave it out, or ask a veterinarian for a limit.",
        "from memory, to be confirmed", Recalled),
    row("garlic", "garlic", &["garlic"], &[Species::Cat], Stop,
        "cats are more sensitive than dogs", LEAVE_OUT, "from memory, to be confirmed", Recalled),
    row("macadamia", "macadamia", &["macadamia", "queensland nut"], BOTH, Stop,
        "weakness in dogs from 0.7, usually 2.4 g per kg body mass", LEAVE_OUT, "case series, abstract seen", Published),
    but_not(row("alcohol", "alcohol", &["alcohol", "ethanol", "wine", "beer", "liqueur", "rum", "brandy", "whisky"], BOTH, Stop,
        "no level is set", LEAVE_OUT, "veterinary review, abstract seen", Published), &["wine vinegar", "beer yeast"]),
    row("live-yeast", "live yeast", &["bakers yeast", "baker s yeast", "active dry yeast", "fresh yeast", "sourdough"], BOTH, Warn,
        "raw dough that goes on fermenting in the stomach bloats it and makes alcohol", "Bake every piece through; keep raw dough and trimmings away from animals.",
        "veterinary review, abstract seen", Published),
    row("hops", "hops", &["hop", "hops", "hop pellet", "hop extract"], BOTH, Stop,
        "runaway body temperature in dogs; no safe dose is known", LEAVE_OUT, "from memory, to be confirmed", Recalled),
    row("hops", "spent grain that may have met hops", &["spent grain", "brewers grain", "brewer s grain", "brewers dried grain", "brewers spent", "draff"], BOTH, Warn,
        "hops make the body temperature of dogs run away; no safe dose is known", "Use only grain that was never hopped, from a lot whose brewer confirms it in writing.",
        "from memory, to be confirmed", Recalled),
    row("nutmeg", "nutmeg or mace", &["nutmeg", "mace", "pumpkin pie mix", "pumpkin pie spice"], BOTH, Warn,
        "no level is set", "Leave it out.", "from memory, to be confirmed", Recalled),
    row("avocado", "avocado", &["avocado", "guacamole"], BOTH, Warn,
        "no level is set", "Leave it out, above all skin and stone.", "from memory, to be confirmed", Recalled),
    row("kernels", "stones and seeds of fruit (amygdalin)", &["apple seed", "cherry stone", "cherry pit", "peach stone", "peach pit", "plum stone", "apricot kernel", "bitter almond"], BOTH, Warn,
        "they set free cyanide", "Leave them out.", "from memory, to be confirmed", Recalled),
    row("raw-salmon", "raw salmon and its kin", &["salmon", "trout"], &[Species::Dog], Note,
        "raw salmonids can carry the agent of salmon poisoning", "Bake it through; feed none of it raw.", "from memory, to be confirmed", Recalled),
    row("raw-egg-white", "egg white (avidin)", &["egg white", "albumen"], BOTH, Note,
        "raw egg white binds biotin", "Use heat-treated egg white, or bake it through.", "from memory, to be confirmed", Recalled),
    row("raw-egg-white", "raw egg white (avidin)", &["raw egg white", "egg white raw"], BOTH, Warn,
        "raw egg white binds biotin, and can carry Salmonella", "Use heat-treated egg white, or bake it through.", "from memory, to be confirmed", Recalled),
    but_not(row("tree-nuts", "tree nuts", &["almond", "walnut", "pecan", "hazelnut", "pistachio", "cashew", "brazil nut", "pine nut"], BOTH, Warn,
        "rich in fat, may be mouldy, and an allergen for people", "Leave them out, or ask a veterinarian.", "from memory, to be confirmed", Recalled), &["bitter almond"]),
    row("essential-oils", "essential oils", &["essential oil", "tea tree", "melaleuca", "citrus oil", "orange oil", "lemon oil", "peppermint oil", "eucalyptus", "wintergreen", "pennyroyal", "clove oil"], BOTH, Stop,
        "small amounts harm, cats above all", LEAVE_OUT, "from memory, to be confirmed", Recalled),
    from_share(row("liver", "liver", &["liver"], BOTH, Warn,
        "fresh beef liver carries 16 898 IU vitamin A and 9.76 mg copper per 100 g; house cap 5 % of the formula as dried liver", "Lower the liver, and have vitamin A and copper of the product reckoned.",
        "public food composition data; the cap is a house rule", Computed), 0.05),
    row("vitamin-d", "vitamin D", &["cod liver oil", "vitamin d", "cholecalciferol", "vitamin premix"], BOTH, Warn,
        "complete foods hold 500 to 3000 IU per kg dry matter", "Reckon the daily dose of the smallest animal on the label; ask a veterinary nutritionist.",
        "from memory, to be confirmed", Recalled),
    row("propylene-glycol", "propylene glycol", &["propylene glycol", "propane 1 2 diol", "e1520"], &[Species::Cat], Stop,
        "not to be used in or on cat food", LEAVE_OUT, "21 CFR 500.50, seen", Published),
    row("propylene-glycol", "propylene glycol", &["propylene glycol", "propane 1 2 diol", "e1520"], &[Species::Dog], Note,
        "allowed for dogs, forbidden for cats", "Keep the line and its rework away from anything for cats.", "21 CFR 500.50, seen", Published),
    row("ethoxyquin", "ethoxyquin", &["ethoxyquin"], BOTH, Warn,
        "at most 150 mg per kg feed", "Reckon its share, and ask whether the market takes it.", "21 CFR 573.380, seen", Published),
    row("synthetic-antioxidant", "BHA or BHT", &["bha", "bht", "butylated hydroxy"], BOTH, Note,
        "antioxidants together at most 0.02 % of the fat", "Reckon the share on the fat.", "21 CFR 582, seen", Published),
    from_share(row("benzoate", "benzoic acid or benzoate", &["benzoic acid", "benzoate"], BOTH, Warn,
        "at most 0.1 %", "Lower it; cats handle benzoate badly.", "21 CFR 582, seen; remark on cats from memory", Published), 0.001),
    row("hemp", "hemp or cannabidiol", &["hemp", "cbd", "cannabidiol", "cannabis"], BOTH, Warn,
        "not approved or only under conditions", "Ask counsel and the feed authority.", "from memory, to be confirmed", Recalled),
    row("menadione", "menadione", &["menadione"], BOTH, Warn,
        "not approved or only under conditions", "Ask counsel and the feed authority.", "from memory, to be confirmed", Recalled),
    from_share(row("cinnamon", "cinnamon", &["cinnamon", "cassia"], BOTH, Warn,
        "irritant; cassia carries coumarin", "Keep it at or below 0.5 %.", "from memory, to be confirmed", Recalled), 0.005),
    but_not(row("mycotoxin", "material at risk of aflatoxin", &["peanut", "groundnut"], BOTH, Note,
        "aflatoxin 20 µg per kg where the use is not known", "Buy tested lots and keep the certificate.", "summary of FDA action levels, seen", Published), &["peanut oil"]),
    row("xylitol", "a food that is sometimes sweetened with xylitol", &["peanut butter", "applesauce", "apple sauce", "nut butter"], BOTH, Note,
        "dogs: low blood sugar above 0.1 g xylitol per kg body mass", "Read its ingredient list: no xylitol, birch sugar or E967.", "common practice, no source", Recalled),
];

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
            (danger.severity, "")
        } else if gives_away(danger, &notes) {
            let most = if denies { Note } else { Warn };
            (danger.severity.min(most), "the notes of ")
        } else {
            continue;
        };
        let finding = Finding::new(
            severity,
            danger.code,
            format!("material:{}", material.id),
            format!(
                "{whence}{} point to {} ({}): {}.",
                material.name,
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
                "{} bring sulfite, which destroys thiamine{}; cases in dogs and cats are documented.",
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
mod tests {
    use super::*;
    use crate::formula::Line;
    use crate::material::{Gluten, MaterialPatch};
    use crate::shelf;
    use measure::Source;
    use std::sync::Arc;

    fn named(name: &str, notes: &str) -> Material {
        let mut patch = MaterialPatch::new(Source::fixed(Grade::Assumed, "test"))
            .value(Nutrient::Moisture, 0.1);
        patch.name = Some(name.to_owned());
        patch.notes = Some(notes.to_owned());
        patch.category = Some(Category::Other);
        patch.gluten = Some(Gluten::FreeByNature);
        patch.define("x").unwrap()
    }

    fn worst(name: &str, notes: &str, species: Species, code: &str) -> Option<Severity> {
        of_material(&named(name, notes), species, 1.0)
            .into_iter()
            .find(|f| f.code == code)
            .map(|f| f.severity)
    }

    #[test]
    fn names_synonyms_and_composites_are_found() {
        use Species::{Cat, Dog};
        for (name, code, species, severity) in [
            // The product name of a published label example: the raisin row must fire.
            ("Pumpkin + Raisin Bites", "grapes", Dog, Stop),
            ("birch sugar", "xylitol", Dog, Stop),
            ("Sweetener E967", "xylitol", Dog, Stop),
            ("Sultanas, chopped", "grapes", Dog, Stop),
            ("Trail mix", "grapes", Dog, Warn),
            ("dark Chocolate chips", "chocolate", Dog, Stop),
            ("Cocoa-powder", "chocolate", Cat, Stop),
            ("green tea extract", "caffeine", Dog, Stop),
            ("leek powder", "onion", Dog, Stop),
            ("garlic granules", "garlic", Dog, Warn),
            ("garlic granules", "garlic", Cat, Stop),
            ("Macadamias", "macadamia", Dog, Stop),
            ("hops pellets", "hops", Dog, Stop),
            ("Brewer's grains, dried", "hops", Dog, Warn),
            ("Propylene glycol", "propylene-glycol", Cat, Stop),
            ("Propylene glycol", "propylene-glycol", Dog, Note),
            ("tea tree oil", "essential-oils", Dog, Stop),
            ("ground nutmeg", "nutmeg", Dog, Warn),
            ("raw egg white", "raw-egg-white", Dog, Warn),
            ("walnut meal", "tree-nuts", Dog, Warn),
        ] {
            assert_eq!(worst(name, "", species, code), Some(severity), "{name}");
        }
    }

    #[test]
    fn lookalikes_stay_quiet() {
        for (name, code) in [
            ("grapeseed oil", "grapes"),
            ("tea tree oil", "caffeine"),
            ("chopped steak", "hops"),
            ("steak", "caffeine"),
            ("coconut", "chocolate"),
            ("red wine vinegar", "alcohol"),
            ("rumen powder", "alcohol"),
        ] {
            assert_eq!(worst(name, "", Species::Dog, code), None, "{name}");
        }
    }

    #[test]
    fn notes_count_less_than_names() {
        let dog = Species::Dog;
        assert_eq!(
            worst("fruit mix", "contains raisins", dog, "grapes"),
            Some(Warn)
        );
        assert_eq!(
            worst("carob", "chocolate substitute", dog, "chocolate"),
            Some(Note)
        );
    }

    #[test]
    fn the_shelf_has_no_stop_of_its_own() {
        for m in shelf::shelf() {
            for species in Species::ALL {
                for f in of_material(m, species, 0.01) {
                    assert!(f.severity < Stop, "{}: {}", m.id, f.message);
                }
            }
        }
    }

    #[test]
    fn salt_sulfite_and_liver_have_limits() {
        let line = |id: &str, parts| Line::new(shelf::find(id).unwrap(), parts);
        let codes = |lines| {
            cautions(&Formula::new(lines).unwrap(), Species::Dog)
                .into_iter()
                .map(|f| (f.code, f.severity))
                .collect::<Vec<_>>()
        };
        let has = |list: &[(String, Severity)], code: &str| {
            list.iter().find(|(c, _)| c == code).map(|(_, s)| *s)
        };
        let mild = codes(vec![line("wheat_flour_soft", 98.0), line("salt", 2.0)]);
        assert_eq!(has(&mild, "salt-high"), Some(Warn));
        let strong = codes(vec![line("wheat_flour_soft", 95.0), line("salt", 5.0)]);
        assert_eq!(has(&strong, "salt-high"), Some(Stop));
        let quiet = codes(vec![line("wheat_flour_soft", 99.5), line("salt", 0.5)]);
        assert_eq!(has(&quiet, "salt-high"), None);
        let relaxed = codes(vec![
            line("wheat_flour_soft", 99.9),
            line("sodium_metabisulfite", 0.1),
        ]);
        assert_eq!(has(&relaxed, "sulfite-thiamine"), Some(Warn));
        let meaty = codes(vec![
            line("wheat_flour_soft", 90.0),
            line("chicken_meal", 9.9),
            line("sodium_metabisulfite", 0.1),
        ]);
        assert_eq!(has(&meaty, "sulfite-thiamine"), Some(Stop));
        let little = codes(vec![
            line("wheat_flour_soft", 98.0),
            line("liver_powder", 2.0),
        ]);
        assert_eq!(has(&little, "liver"), None);
        let much = codes(vec![
            line("wheat_flour_soft", 90.0),
            line("liver_powder", 10.0),
        ]);
        assert_eq!(has(&much, "liver"), Some(Warn));
        assert_eq!(
            much.last().map(|(c, _)| c.as_str()),
            Some("list-not-complete")
        );
    }

    #[test]
    fn every_row_can_fire_and_tells_what_to_do() {
        for d in DANGERS {
            assert!(!d.advice.is_empty() && !d.source.is_empty() && !d.threshold.is_empty());
            for synonym in d.synonyms {
                let m = Arc::new(named(synonym, ""));
                let found = of_material(&m, d.species[0], 1.0);
                assert!(found.iter().any(|f| f.code == d.code), "{synonym}");
            }
        }
    }
}
