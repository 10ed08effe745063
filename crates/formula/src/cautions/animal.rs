//! Raw meat, offal, fish, egg and blood in a formula: what the bake has to kill, and how far.

use super::danger::{HEATED, RAW};
use super::dangers::flesh::{BLOOD, EGG, FISH, MEAT, PORK_GAME, POULTRY, SALMON};
use crate::formula::Formula;
use crate::material::{Category, Material};
use crate::names::{Folded, NO_NAMES, Names, Text};
use measure::{Constant, Grade, Range};
use serde::Serialize;
use std::sync::LazyLock;

/// A raw material of an animal.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct RawAnimal {
    /// Name of the material.
    pub name: String,
    /// Whether it is poultry, eggs apart: more kill is asked for.
    pub poultry: bool,
    /// Whether it is dried and nobody said by what heat: drying alone kills little, so it counts.
    pub dried: bool,
}

/// Moisture below which a material of an animal is taken to be dried, wet basis.
pub static DRIED_BELOW: Constant = Constant {
    name: "moisture below which a material of an animal is dried",
    value: 0.25,
    unit: "kg/kg",
    range: Range::new(0.10, 0.40),
    source: "judgement: jerky and stockfish stay below it, flesh and egg hold half water and more",
    grade: Grade::Assumed,
};
/// Kill of Salmonella asked for beside raw meat, fish, egg or blood.
pub static KILL_ASKED: Constant = Constant {
    name: "kill asked for",
    value: 5.0,
    unit: "powers of ten",
    range: Range::new(4.0, 7.0),
    source: "compliance guideline for jerky (FSIS), for meat; the usual expectation for baked food in the US, seen",
    grade: Grade::Published,
};
/// Kill of Salmonella asked for beside raw poultry.
pub static KILL_ASKED_OF_POULTRY: Constant = Constant {
    name: "kill asked for beside poultry",
    value: 7.0,
    unit: "powers of ten",
    range: Range::new(5.0, 7.0),
    source: "compliance guideline for jerky (FSIS), for poultry, seen",
    grade: Grade::Published,
};

static ANIMAL: LazyLock<Vec<Folded>> = LazyLock::new(|| {
    [EGG, SALMON, FISH, POULTRY, MEAT, PORK_GAME, BLOOD]
        .iter()
        .map(Names::folded)
        .collect()
});
static EGGS: LazyLock<Folded> = LazyLock::new(|| EGG.folded());
static BIRDS: LazyLock<Folded> = LazyLock::new(|| POULTRY.folded());
static SAID_RAW: LazyLock<Folded> = LazyLock::new(|| words(RAW).folded());
static SAID_HEATED: LazyLock<Folded> = LazyLock::new(|| words(HEATED).folded());
static RENDERED: LazyLock<Folded> = LazyLock::new(|| MADE_BY_HEAT.folded());

const fn words(list: &'static [&'static str]) -> Names {
    Names {
        en: list,
        ..NO_NAMES
    }
}

/// What is made by heat: rendered, boiled down, or dried in hot air within seconds. A dried, air-dried
/// or freeze-dried material isn't.
#[rustfmt::skip]
const MADE_BY_HEAT: Names = Names {
    en: &["meal", "rendered", "gelatin", "collagen", "hydrolysate", "hydrolysed", "hydrolyzed", "broth", "spray dried", "drum dried", "roller dried", "heat dried"],
    de: &["Fleischmehl", "Fleischknochenmehl", "Tiermehl", "Geflügelmehl", "Hühnermehl", "Fischmehl", "Blutmehl", "Kollagen", "Hydrolysat", "hydrolysiert", "Brühe", "sprühgetrocknet", "walzengetrocknet", "ausgeschmolzen"],
    fr: &["farine de viande", "farine de volaille", "farine de poisson", "farine de sang", "gélatine", "collagène", "hydrolysat", "bouillon", "atomisé", "atomisée", "séché par atomisation"],
    es: &["harina de carne", "harina de pollo", "harina de ave", "harina de pescado", "harina de sangre", "gelatina", "colágeno", "hidrolizado", "caldo", "atomizado", "secado por aspersión"],
    ..NO_NAMES
};

fn called(material: &Material) -> Text {
    Text::of(&[&material.id, &material.name, &material.label_name])
}

/// Whether a material is flesh, offal, fish or blood: raw, cooked or rendered.
pub(super) fn is_flesh(material: &Material) -> bool {
    let text = called(material);
    matches!(material.category, Category::ProteinAnimal | Category::Other)
        && !EGGS.named_in(&text)
        && ANIMAL.iter().any(|names| names.named_in(&text))
}

fn of_material(material: &Material) -> Option<RawAnimal> {
    let text = called(material);
    let said_raw = SAID_RAW.named_in(&text) || SAID_HEATED.denied_in(&text);
    let named = || ANIMAL.iter().any(|names| names.named_in(&text));
    let animal = match material.category {
        Category::ProteinAnimal => true,
        Category::Other => named(),
        // What stands under another kind by mistake.
        _ => said_raw && named(),
    };
    let heated = SAID_HEATED.said_in(&text) || (!said_raw && RENDERED.said_in(&text));
    if !animal || heated {
        return None;
    }
    Some(RawAnimal {
        name: material.name.clone(),
        poultry: BIRDS.named_in(&text),
        dried: !said_raw
            && material
                .moisture()
                .is_some_and(|moisture| moisture.0 < DRIED_BELOW.value),
    })
}

/// The raw materials of animals in a formula: meat, offal, fish, egg and blood whose name doesn't say
/// that they were cooked, pasteurised, rendered or dried by heat. What is only dried counts and is
/// marked. Milk isn't among them. The list of names isn't complete.
///
/// ```
/// use formula::cautions::{kill_asked, raw_animal};
/// use formula::{Formula, Line, shelf};
/// let of = |id| {
///     let line = |id, parts| Line::new(shelf::find(id).unwrap(), parts);
///     raw_animal(&Formula::new(vec![line("wheat_flour_soft", 80.0), line(id, 20.0)]).unwrap())
/// };
/// let chicken = of("chicken_ground_raw");
/// assert!(chicken[0].poultry && !chicken[0].dried);
/// assert_eq!(kill_asked(&chicken).unwrap().value, 7.0);
/// assert_eq!(kill_asked(&of("beef_liver_raw")).unwrap().value, 5.0);
/// // Dried, and nobody said how.
/// assert!(of("egg_whole_dried")[0].dried);
/// assert!(of("chicken_meal").is_empty());
/// assert!(kill_asked(&of("chicken_meal")).is_none());
/// ```
pub fn raw_animal(formula: &Formula) -> Vec<RawAnimal> {
    formula
        .lines()
        .iter()
        .filter(|line| line.parts > 0.0)
        .filter_map(|line| of_material(&line.material))
        .collect()
}

/// The kill of Salmonella that is asked for beside raw materials of animals, powers of ten; none without
/// any. A process authority decides.
pub fn kill_asked(raw: &[RawAnimal]) -> Option<&'static Constant> {
    if raw.iter().any(|animal| animal.poultry) {
        Some(&KILL_ASKED_OF_POULTRY)
    } else {
        raw.first().map(|_| &KILL_ASKED)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::cautions::limit_tests::dry;
    use crate::formula::Line;
    use crate::shelf;
    use std::sync::Arc;

    fn named(name: &str, category: Category) -> Option<RawAnimal> {
        let mut material = Arc::unwrap_or_clone(dry("x", name));
        material.category = category;
        of_material(&material)
    }

    /// What is sold and how it was made (common practice, no source).
    #[test]
    fn what_isnt_told_as_heated_is_raw() {
        use Category::{FatOil, FruitVeg, Other, ProteinAnimal};
        for (name, category, poultry) in [
            ("Chicken breast", ProteinAnimal, true),
            ("Turkey liver, not cooked", Other, true),
            ("Pute, nicht gekocht", Other, true),
            ("Poulet non cuit", Other, true),
            ("Egg, whole, liquid", Other, false),
            ("Duck eggs", Other, false),
            ("Hühnereier", Other, false),
            ("Pig ears, air dried", Other, false),
            ("Rinderlunge", Other, false),
            ("Freeze-dried raw chicken", ProteinAnimal, true),
            ("Raw beef", FruitVeg, false),
            ("Blood", Other, false),
            ("Kangaroo", ProteinAnimal, false),
            ("Unpasteurised egg", Other, false),
            ("Chicken, not pasteurised", ProteinAnimal, true),
        ] {
            let found = named(name, category);
            assert_eq!(found.map(|f| f.poultry), Some(poultry), "{name}");
        }
        for (name, category) in [
            ("Chicken, cooked, minced", ProteinAnimal),
            ("Huhn, gekocht", Other),
            ("Pasteurised liquid egg", ProteinAnimal),
            ("Vollei, pasteurisiert", ProteinAnimal),
            ("Oeuf pasteurisé", ProteinAnimal),
            ("Chicken meal", ProteinAnimal),
            ("Fischmehl", ProteinAnimal),
            ("Spray-dried plasma", ProteinAnimal),
            ("Beef gelatine", ProteinAnimal),
            ("Chicken fat", FatOil),
            ("Chicken fat", Other),
            ("Fish oil", Other),
            ("Blood orange, raw", FruitVeg),
            ("Kidney beans, raw", Other),
            ("Gooseberries", Other),
            ("Egg shell", Other),
            ("Sweet potato, raw", FruitVeg),
        ] {
            assert_eq!(named(name, category), None, "{name}");
        }
    }

    #[test]
    fn the_rows_of_the_shelf_that_are_raw() {
        let all = shelf::shelf()
            .iter()
            .map(|m| Line::new(Arc::clone(m), 1.0))
            .collect();
        let raw = raw_animal(&Formula::new(all).unwrap());
        let told: Vec<_> = raw
            .iter()
            .map(|r| (r.name.as_str(), r.poultry, r.dried))
            .collect();
        assert_eq!(
            told,
            [
                ("Whole egg, dried", false, true),
                ("Egg white, dried", false, true),
                ("Egg yolk, dried", false, true),
                ("Beef liver powder (dried, computed)", false, true),
                ("Beef liver, raw", false, false),
                ("Chicken liver, raw", true, false),
                ("Chicken, ground, raw", true, false),
                ("Salmon, pink, raw", false, false),
            ]
        );
    }
}
