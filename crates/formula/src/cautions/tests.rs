//! The list finds what it should, and nothing else.

use super::limit_tests::one_kg;
use super::*;
use crate::formula::Line;
use crate::material::Gluten;
use crate::material_patch::MaterialPatch;
use crate::shelf;
use measure::{Grade, Severity, Source};

fn named(name: &str, notes: &str) -> Material {
    let mut patch =
        MaterialPatch::new(Source::fixed(Grade::Assumed, "test")).value(Nutrient::Moisture, 0.1);
    patch.name = Some(name.to_owned());
    patch.notes = Some(notes.to_owned());
    patch.category = Some(Category::Other);
    patch.gluten = Some(Gluten::FreeByNature);
    patch.define("x").unwrap()
}

fn worst(name: &str, notes: &str, species: Species, code: &str) -> Option<Severity> {
    of_material(&named(name, notes), species)
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
        ("garlic granules", "garlic", Cat, Stop),
        ("Macadamias", "macadamia", Dog, Stop),
        ("hops pellets", "hops", Dog, Stop),
        ("Brewer's grains, dried", "hops", Dog, Warn),
        ("Propylene glycol", "propylene-glycol", Cat, Stop),
        ("tea tree oil", "essential-oils", Dog, Stop),
        ("ground nutmeg", "nutmeg", Dog, Warn),
        ("raw egg white", "raw-egg-white", Dog, Warn),
        ("walnut meal", "tree-nuts", Dog, Warn),
        ("Kidney beans, raw, ground", "bean-lectin", Dog, Stop),
        ("Red kidney bean flour", "bean-lectin", Dog, Stop),
        ("White bean flour", "bean-lectin", Dog, Warn),
        ("Soy flour, full-fat, raw", "raw-soy", Dog, Warn),
        ("Bone meal, steamed", "bone-meal", Dog, Warn),
        ("Meat and bone meal", "bone-meal", Dog, Note),
        ("Mixed allium powder", "onion", Dog, Stop),
        ("Pork shoulder, raw", "raw-pork-game", Dog, Warn),
        ("Wild boar, raw", "raw-pork-game", Cat, Warn),
        ("Raw venison", "raw-pork-game", Dog, Warn),
        ("Herring, raw", "raw-fish", Cat, Warn),
        ("Chicken, ground, raw", "raw-meat", Dog, Note),
        ("Rhubarb leaves, dried", "oxalate", Dog, Stop),
        ("Rhubarb", "oxalate", Dog, Warn),
        ("Tomato leaf powder", "solanine", Dog, Stop),
        ("Comfrey root", "pyrrolizidines", Dog, Stop),
        ("Titanium dioxide", "titanium-dioxide", Dog, Warn),
        ("Cream of tartar", "tartaric-acid", Dog, Warn),
        ("Ethoxyquin", "ethoxyquin", Dog, Warn),
        ("Sodium nitrite", "nitrite", Cat, Stop),
        ("Corn meal, whole", "mycotoxin", Dog, Note),
        ("Rye flour, dark", "mycotoxin", Dog, Note),
        ("Theobromine", "chocolate", Dog, Stop),
        ("Currants", "grapes", Dog, Stop),
        ("Zante currants", "grapes", Dog, Stop),
        ("Currants and dried black currants", "grapes", Dog, Stop),
        ("Grapes, grapefruit", "grapes", Dog, Stop),
        ("Chicken, raw, not cooked", "raw-meat", Dog, Note),
        ("Chicken, not yet cooked", "raw-meat", Dog, Note),
        ("Chicken, non-cooked", "raw-meat", Dog, Note),
        ("Kidney beans, not cooked", "bean-lectin", Dog, Stop),
        ("Kidney beans, roasted", "bean-lectin", Dog, Stop),
        ("Kidney beans, heat treated", "bean-lectin", Dog, Stop),
        ("White bean flour, toasted", "bean-lectin", Dog, Warn),
        ("Soybean meal, defatted", "raw-soy", Dog, Note),
        ("Soy flour", "raw-soy", Dog, Note),
        ("Additive E 250", "nitrite", Cat, Stop),
        ("Vitamin E, E 250", "nitrite", Cat, Stop),
        ("red wine", "alcohol", Dog, Stop),
    ] {
        assert_eq!(worst(name, "", species, code), Some(severity), "{name}");
    }
}

/// Three grains are one note that names them; what is more than a note stands beside each material.
#[test]
fn a_note_is_told_once_for_all_materials_that_it_concerns() {
    let found = |ids: &[&str]| {
        let lines = ids
            .iter()
            .map(|id| Line::new(shelf::find(id).unwrap(), 10.0));
        cautions(&Formula::new(lines.collect()).unwrap(), Species::Dog)
    };
    let codes = |found: &[Finding], code: &str| -> Vec<Finding> {
        found.iter().filter(|f| f.code == code).cloned().collect()
    };
    let grains = found(&["wheat_flour_soft", "barley_flour", "oat_flour"]);
    let [told] = codes(&grains, "mycotoxin").try_into().unwrap();
    let names = |id: &str| shelf::find(id).unwrap().name.clone();
    assert!(
        told.message.starts_with(&format!(
            "{}, {} and {} point to grain",
            names("wheat_flour_soft"),
            names("barley_flour"),
            names("oat_flour")
        )),
        "{}",
        told.message
    );
    assert_eq!((told.severity, told.about.as_str()), (Note, "formula"));
    // Maize has other limits, and one grain alone is told as before.
    let two = codes(&found(&["oat_flour", "corn_flour_whole"]), "mycotoxin");
    assert_eq!(two.len(), 2, "{two:?}");
    assert_eq!(two[0].about, "material:oat_flour");
    assert!(two[0].message.contains(" points to "));
    let hops = codes(&found(&["brewers_grains", "brewers_yeast"]), "hops");
    assert!(
        hops.iter()
            .all(|f| f.severity == Note || f.about.starts_with("material:"))
    );
}

/// The same dangers as other people write them: German, French, Spanish, E numbers, with and
/// without accents.
#[test]
fn other_languages_and_e_numbers_are_found() {
    use Species::{Cat, Dog};
    for (name, code, species, severity) in [
        ("Rosinen", "grapes", Dog, Stop),
        ("Raisins secs de Corinthe", "grapes", Dog, Stop),
        ("Uvas pasas", "grapes", Dog, Stop),
        ("Birkenzucker", "xylitol", Dog, Stop),
        ("Sucre de bouleau", "xylitol", Dog, Stop),
        ("Azucar de abedul", "xylitol", Dog, Stop),
        ("E-967", "xylitol", Dog, Stop),
        ("E 967", "xylitol", Cat, Stop),
        ("Röstzwiebeln", "onion", Dog, Stop),
        ("Roestzwiebeln", "onion", Dog, Stop),
        ("Poudre de poireau", "onion", Dog, Stop),
        ("Cebollino seco", "onion", Dog, Stop),
        ("Knoblauchpulver", "garlic", Cat, Stop),
        ("Ail en poudre", "garlic", Cat, Stop),
        ("Ajo en polvo", "garlic", Cat, Stop),
        ("Kakaopulver", "chocolate", Dog, Stop),
        ("Chocolat noir", "chocolate", Dog, Stop),
        ("Schokolade", "chocolate", Dog, Stop),
        ("Grüner Tee, Tee", "caffeine", Dog, Stop),
        ("Kaffee", "caffeine", Dog, Stop),
        ("Hopfenpellets", "hops", Dog, Stop),
        ("Houblon", "hops", Dog, Stop),
        ("Muskatnuss", "nutmeg", Dog, Warn),
        ("Aguacate", "avocado", Dog, Warn),
        ("Teebaumöl", "essential-oils", Cat, Stop),
        ("Teebaumoel", "essential-oils", Cat, Stop),
        ("Huile d'arbre à thé", "essential-oils", Cat, Stop),
        ("Propylenglykol", "propylene-glycol", Cat, Stop),
        ("E1520", "propylene-glycol", Cat, Stop),
        ("Nitritpökelsalz", "nitrite", Cat, Stop),
        ("Sel nitrité", "nitrite", Cat, Stop),
        ("E 250", "nitrite", Cat, Stop),
        ("rohe Kidneybohnen", "bean-lectin", Dog, Stop),
        ("Haricots rouges crus", "bean-lectin", Dog, Stop),
        ("Alubias rojas crudas", "bean-lectin", Dog, Stop),
        ("Sojamehl, roh", "raw-soy", Dog, Warn),
        ("Soja cru", "raw-soy", Dog, Warn),
        ("Knochenmehl", "bone-meal", Dog, Warn),
        ("Poudre d’os", "bone-meal", Dog, Warn),
        ("Harina de huesos", "bone-meal", Dog, Warn),
        ("Schweinefleisch, roh", "raw-pork-game", Dog, Warn),
        ("Sanglier cru", "raw-pork-game", Dog, Warn),
        ("Carne de jabalí cruda", "raw-pork-game", Dog, Warn),
        ("Rhabarberblätter", "oxalate", Dog, Stop),
        ("Feuilles de rhubarbe", "oxalate", Dog, Stop),
        ("Hoja de tomate", "solanine", Dog, Stop),
        ("Beinwellwurzel", "pyrrolizidines", Dog, Stop),
        ("Consoude", "pyrrolizidines", Dog, Stop),
        ("Titandioxid", "titanium-dioxide", Dog, Warn),
        ("E171", "titanium-dioxide", Dog, Warn),
        ("Weinstein", "tartaric-acid", Dog, Warn),
        ("E336", "tartaric-acid", Dog, Warn),
        ("Maismehl", "mycotoxin", Dog, Note),
        ("Walnüsse", "tree-nuts", Dog, Warn),
        ("Bière", "alcohol", Dog, Stop),
        ("Leinsamen", "cyanide", Dog, Note),
        ("Yuca", "cyanide", Dog, Warn),
        ("Weinbeeren", "grapes", Dog, Stop),
        ("Huhn, roh, nicht gekocht", "raw-meat", Dog, Note),
        ("Huhn, noch nicht gekocht", "raw-meat", Dog, Note),
        ("Poulet non cuit", "raw-meat", Dog, Note),
        ("Pollo crudo, sin cocer", "raw-meat", Dog, Note),
        ("Wildfleisch, roh", "raw-pork-game", Dog, Warn),
        ("Kidneybohnen, nicht gekocht", "bean-lectin", Dog, Stop),
        ("Vin rouge", "alcohol", Dog, Stop),
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
        ("Salmonella tested meal", "raw-salmon"),
        ("Kidney beans, cooked, dried", "bean-lectin"),
        ("Kidneybohnen, gekocht", "bean-lectin"),
        ("Kidney beans, raw", "raw-meat"),
        ("Soybean meal, toasted", "raw-soy"),
        ("Soybean oil", "raw-soy"),
        ("Soy flour, heat treated", "raw-soy"),
        ("Soy sauce", "raw-soy"),
        ("Grapefruit peel", "grapes"),
        ("Dried black currants", "grapes"),
        ("Red currant", "grapes"),
        ("White currants", "grapes"),
        ("Vinaigre de vin rouge", "alcohol"),
        ("Vinaigre d’alcool", "alcohol"),
        ("Alkoholfreies Aroma", "alcohol"),
        ("Wild rice, raw", "raw-pork-game"),
        ("Wildreis, roh; wild rice", "raw-pork-game"),
        ("Chicken, cooked", "raw-meat"),
        ("Huhn, roh, dann gekocht", "raw-meat"),
        ("Vitamin E 320 IU", "antioxidants"),
        ("Traubenzucker", "grapes"),
        ("Traubenkernöl", "grapes"),
        ("Weinessig", "alcohol"),
        ("Bierhefe", "alcohol"),
        ("Levure de bière", "alcohol"),
        ("Allium sativum", "onion"),
        ("Tomato pomace, dried", "solanine"),
        ("Pork meal, rendered", "raw-pork-game"),
        ("Tapioca starch", "cyanide"),
        ("Manioc starch", "cyanide"),
        ("Corn starch", "mycotoxin"),
        ("the best flour", "caffeine"),
        ("Sweet potato, raw", "raw-meat"),
    ] {
        assert_eq!(worst(name, "", Species::Dog, code), None, "{name}");
    }
}

/// The amount of a vitamin is no number of an additive, for cats neither.
#[test]
fn an_amount_of_vitamin_e_is_no_e_number() {
    for name in [
        "Vitamin E 250",
        "Vitamin E250",
        "Vitamin E 2500",
        "vitamine E-250",
        "vit. E 250",
        "Vitamin A 500 IU, E 250 IU",
        "Vitamin E 250 IE/kg",
    ] {
        assert_eq!(worst(name, "", Species::Cat, "nitrite"), None, "{name}");
    }
    let weighed = |name: &str| {
        let lines = one_kg(name, 0.001);
        amounts(&Formula::new(lines).unwrap())
            .iter()
            .map(|a| a.substance.code)
            .collect::<Vec<_>>()
    };
    assert_eq!(weighed("Vitamin E 320"), [""; 0]);
    assert_eq!(weighed("E 320"), ["antioxidants"]);
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
            for f in of_material(m, species) {
                assert!(f.severity < Stop, "{}: {}", m.id, f.message);
            }
        }
    }
}

/// What a name must not hold to be found: the words that have to stand beside it.
fn beside(names: &Names) -> &'static str {
    names.with.first().copied().unwrap_or("")
}

#[test]
fn every_row_can_fire_in_every_language_and_tells_what_to_do() {
    for d in DANGERS.iter().copied().flatten() {
        assert!(!d.advice.is_empty() && !d.source.is_empty() && !d.threshold.is_empty());
        for name in d.names.all() {
            let m = named(&format!("{name} {}", beside(&d.names)), "");
            let found = of_material(&m, d.species[0]);
            assert!(found.iter().any(|f| f.code == d.code), "{name}");
        }
    }
    for s in SUBSTANCES {
        assert!(!s.advice.is_empty() && !s.limits.is_empty());
        for c in s.carriers {
            for name in c.names.all() {
                let called = format!("{name} {}", beside(&c.names));
                let lines = one_kg(&called, 0.5);
                let all = amounts(&Formula::new(lines).unwrap());
                assert!(
                    all.iter().any(|a| a.substance.code == s.code),
                    "{called}: {}",
                    s.code
                );
            }
        }
    }
}
