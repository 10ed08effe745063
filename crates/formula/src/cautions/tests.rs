//! The list finds what it should, and nothing else.

use super::limit_tests::one_kg;
use super::*;
use crate::Code;
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

fn worst(name: &str, notes: &str, species: Species, code: Code) -> Option<Severity> {
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
        ("Pumpkin + Raisin Bites", Code::Grapes, Dog, Stop),
        ("birch sugar", Code::Xylitol, Dog, Stop),
        ("Sweetener E967", Code::Xylitol, Dog, Stop),
        ("Sultanas, chopped", Code::Grapes, Dog, Stop),
        ("Trail mix", Code::Grapes, Dog, Warn),
        ("dark Chocolate chips", Code::Chocolate, Dog, Stop),
        ("Cocoa-powder", Code::Chocolate, Cat, Stop),
        ("green tea extract", Code::Caffeine, Dog, Stop),
        ("leek powder", Code::Onion, Dog, Stop),
        ("garlic granules", Code::Garlic, Cat, Stop),
        ("Macadamias", Code::Macadamia, Dog, Stop),
        ("hops pellets", Code::Hops, Dog, Stop),
        ("Brewer's grains, dried", Code::Hops, Dog, Warn),
        ("Propylene glycol", Code::PropyleneGlycol, Cat, Stop),
        ("tea tree oil", Code::EssentialOils, Dog, Stop),
        ("ground nutmeg", Code::Nutmeg, Dog, Warn),
        ("raw egg white", Code::RawEggWhite, Dog, Warn),
        ("walnut meal", Code::TreeNuts, Dog, Warn),
        ("Kidney beans, raw, ground", Code::BeanLectin, Dog, Stop),
        ("Red kidney bean flour", Code::BeanLectin, Dog, Stop),
        ("White bean flour", Code::BeanLectin, Dog, Warn),
        ("Soy flour, full-fat, raw", Code::RawSoy, Dog, Warn),
        ("Bone meal, steamed", Code::BoneMeal, Dog, Warn),
        ("Meat and bone meal", Code::BoneMeal, Dog, Note),
        ("Mixed allium powder", Code::Onion, Dog, Stop),
        ("Pork shoulder, raw", Code::RawPorkGame, Dog, Warn),
        ("Wild boar, raw", Code::RawPorkGame, Cat, Warn),
        ("Raw venison", Code::RawPorkGame, Dog, Warn),
        ("Herring, raw", Code::RawFish, Cat, Warn),
        ("Chicken, ground, raw", Code::RawMeat, Dog, Note),
        ("Rhubarb leaves, dried", Code::Oxalate, Dog, Stop),
        ("Rhubarb", Code::Oxalate, Dog, Warn),
        ("Tomato leaf powder", Code::Solanine, Dog, Stop),
        ("Comfrey root", Code::Pyrrolizidines, Dog, Stop),
        ("Titanium dioxide", Code::TitaniumDioxide, Dog, Warn),
        ("Cream of tartar", Code::TartaricAcid, Dog, Warn),
        ("Ethoxyquin", Code::Ethoxyquin, Dog, Warn),
        ("Sodium nitrite", Code::Nitrite, Cat, Stop),
        ("Corn meal, whole", Code::Mycotoxin, Dog, Note),
        ("Rye flour, dark", Code::Mycotoxin, Dog, Note),
        ("Theobromine", Code::Chocolate, Dog, Stop),
        ("Currants", Code::Grapes, Dog, Stop),
        ("Zante currants", Code::Grapes, Dog, Stop),
        ("Currants and dried black currants", Code::Grapes, Dog, Stop),
        ("Grapes, grapefruit", Code::Grapes, Dog, Stop),
        ("Chicken, raw, not cooked", Code::RawMeat, Dog, Note),
        ("Chicken, not yet cooked", Code::RawMeat, Dog, Note),
        ("Chicken, non-cooked", Code::RawMeat, Dog, Note),
        ("Kidney beans, not cooked", Code::BeanLectin, Dog, Stop),
        ("Kidney beans, roasted", Code::BeanLectin, Dog, Stop),
        ("Kidney beans, heat treated", Code::BeanLectin, Dog, Stop),
        ("White bean flour, toasted", Code::BeanLectin, Dog, Warn),
        ("Soybean meal, defatted", Code::RawSoy, Dog, Note),
        ("Soy flour", Code::RawSoy, Dog, Note),
        ("Additive E 250", Code::Nitrite, Cat, Stop),
        ("Vitamin E, E 250", Code::Nitrite, Cat, Stop),
        ("red wine", Code::Alcohol, Dog, Stop),
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
    let codes = |found: &[Finding], code: Code| -> Vec<Finding> {
        found.iter().filter(|f| f.code == code).cloned().collect()
    };
    let grains = found(&["wheat_flour_soft", "barley_flour", "oat_flour"]);
    let [told] = codes(&grains, Code::Mycotoxin).try_into().unwrap();
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
    let two = codes(&found(&["oat_flour", "corn_flour_whole"]), Code::Mycotoxin);
    assert_eq!(two.len(), 2, "{two:?}");
    assert_eq!(two[0].about, "material:oat_flour");
    assert!(two[0].message.contains(" points to "));
    let hops = codes(&found(&["brewers_grains", "brewers_yeast"]), Code::Hops);
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
        ("Rosinen", Code::Grapes, Dog, Stop),
        ("Raisins secs de Corinthe", Code::Grapes, Dog, Stop),
        ("Uvas pasas", Code::Grapes, Dog, Stop),
        ("Birkenzucker", Code::Xylitol, Dog, Stop),
        ("Sucre de bouleau", Code::Xylitol, Dog, Stop),
        ("Azucar de abedul", Code::Xylitol, Dog, Stop),
        ("E-967", Code::Xylitol, Dog, Stop),
        ("E 967", Code::Xylitol, Cat, Stop),
        ("Röstzwiebeln", Code::Onion, Dog, Stop),
        ("Roestzwiebeln", Code::Onion, Dog, Stop),
        ("Poudre de poireau", Code::Onion, Dog, Stop),
        ("Cebollino seco", Code::Onion, Dog, Stop),
        ("Knoblauchpulver", Code::Garlic, Cat, Stop),
        ("Ail en poudre", Code::Garlic, Cat, Stop),
        ("Ajo en polvo", Code::Garlic, Cat, Stop),
        ("Kakaopulver", Code::Chocolate, Dog, Stop),
        ("Chocolat noir", Code::Chocolate, Dog, Stop),
        ("Schokolade", Code::Chocolate, Dog, Stop),
        ("Grüner Tee, Tee", Code::Caffeine, Dog, Stop),
        ("Kaffee", Code::Caffeine, Dog, Stop),
        ("Hopfenpellets", Code::Hops, Dog, Stop),
        ("Houblon", Code::Hops, Dog, Stop),
        ("Muskatnuss", Code::Nutmeg, Dog, Warn),
        ("Aguacate", Code::Avocado, Dog, Warn),
        ("Teebaumöl", Code::EssentialOils, Cat, Stop),
        ("Teebaumoel", Code::EssentialOils, Cat, Stop),
        ("Huile d'arbre à thé", Code::EssentialOils, Cat, Stop),
        ("Propylenglykol", Code::PropyleneGlycol, Cat, Stop),
        ("E1520", Code::PropyleneGlycol, Cat, Stop),
        ("Nitritpökelsalz", Code::Nitrite, Cat, Stop),
        ("Sel nitrité", Code::Nitrite, Cat, Stop),
        ("E 250", Code::Nitrite, Cat, Stop),
        ("rohe Kidneybohnen", Code::BeanLectin, Dog, Stop),
        ("Haricots rouges crus", Code::BeanLectin, Dog, Stop),
        ("Alubias rojas crudas", Code::BeanLectin, Dog, Stop),
        ("Sojamehl, roh", Code::RawSoy, Dog, Warn),
        ("Soja cru", Code::RawSoy, Dog, Warn),
        ("Knochenmehl", Code::BoneMeal, Dog, Warn),
        ("Poudre d’os", Code::BoneMeal, Dog, Warn),
        ("Harina de huesos", Code::BoneMeal, Dog, Warn),
        ("Schweinefleisch, roh", Code::RawPorkGame, Dog, Warn),
        ("Sanglier cru", Code::RawPorkGame, Dog, Warn),
        ("Carne de jabalí cruda", Code::RawPorkGame, Dog, Warn),
        ("Rhabarberblätter", Code::Oxalate, Dog, Stop),
        ("Feuilles de rhubarbe", Code::Oxalate, Dog, Stop),
        ("Hoja de tomate", Code::Solanine, Dog, Stop),
        ("Beinwellwurzel", Code::Pyrrolizidines, Dog, Stop),
        ("Consoude", Code::Pyrrolizidines, Dog, Stop),
        ("Titandioxid", Code::TitaniumDioxide, Dog, Warn),
        ("E171", Code::TitaniumDioxide, Dog, Warn),
        ("Weinstein", Code::TartaricAcid, Dog, Warn),
        ("E336", Code::TartaricAcid, Dog, Warn),
        ("Maismehl", Code::Mycotoxin, Dog, Note),
        ("Walnüsse", Code::TreeNuts, Dog, Warn),
        ("Bière", Code::Alcohol, Dog, Stop),
        ("Leinsamen", Code::Cyanide, Dog, Note),
        ("Yuca", Code::Cyanide, Dog, Warn),
        ("Weinbeeren", Code::Grapes, Dog, Stop),
        ("Huhn, roh, nicht gekocht", Code::RawMeat, Dog, Note),
        ("Huhn, noch nicht gekocht", Code::RawMeat, Dog, Note),
        ("Poulet non cuit", Code::RawMeat, Dog, Note),
        ("Pollo crudo, sin cocer", Code::RawMeat, Dog, Note),
        ("Wildfleisch, roh", Code::RawPorkGame, Dog, Warn),
        ("Kidneybohnen, nicht gekocht", Code::BeanLectin, Dog, Stop),
        ("Vin rouge", Code::Alcohol, Dog, Stop),
    ] {
        assert_eq!(worst(name, "", species, code), Some(severity), "{name}");
    }
}

#[test]
fn lookalikes_stay_quiet() {
    for (name, code) in [
        ("grapeseed oil", Code::Grapes),
        ("tea tree oil", Code::Caffeine),
        ("chopped steak", Code::Hops),
        ("steak", Code::Caffeine),
        ("coconut", Code::Chocolate),
        ("red wine vinegar", Code::Alcohol),
        ("rumen powder", Code::Alcohol),
        ("Salmonella tested meal", Code::RawSalmon),
        ("Kidney beans, cooked, dried", Code::BeanLectin),
        ("Kidneybohnen, gekocht", Code::BeanLectin),
        ("Kidney beans, raw", Code::RawMeat),
        ("Soybean meal, toasted", Code::RawSoy),
        ("Soybean oil", Code::RawSoy),
        ("Soy flour, heat treated", Code::RawSoy),
        ("Soy sauce", Code::RawSoy),
        ("Grapefruit peel", Code::Grapes),
        ("Dried black currants", Code::Grapes),
        ("Red currant", Code::Grapes),
        ("White currants", Code::Grapes),
        ("Vinaigre de vin rouge", Code::Alcohol),
        ("Vinaigre d’alcool", Code::Alcohol),
        ("Alkoholfreies Aroma", Code::Alcohol),
        ("Wild rice, raw", Code::RawPorkGame),
        ("Wildreis, roh; wild rice", Code::RawPorkGame),
        ("Chicken, cooked", Code::RawMeat),
        ("Huhn, roh, dann gekocht", Code::RawMeat),
        ("Vitamin E 320 IU", Code::Antioxidants),
        ("Traubenzucker", Code::Grapes),
        ("Traubenkernöl", Code::Grapes),
        ("Weinessig", Code::Alcohol),
        ("Bierhefe", Code::Alcohol),
        ("Levure de bière", Code::Alcohol),
        ("Allium sativum", Code::Onion),
        ("Tomato pomace, dried", Code::Solanine),
        ("Pork meal, rendered", Code::RawPorkGame),
        ("Tapioca starch", Code::Cyanide),
        ("Manioc starch", Code::Cyanide),
        ("Corn starch", Code::Mycotoxin),
        ("the best flour", Code::Caffeine),
        ("Sweet potato, raw", Code::RawMeat),
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
        assert_eq!(worst(name, "", Species::Cat, Code::Nitrite), None, "{name}");
    }
    let weighed = |name: &str| {
        let lines = one_kg(name, 0.001);
        amounts(&Formula::new(lines).unwrap())
            .iter()
            .map(|a| a.substance.code)
            .collect::<Vec<_>>()
    };
    assert_eq!(weighed("Vitamin E 320"), []);
    assert_eq!(weighed("E 320"), [Code::Antioxidants]);
}

#[test]
fn notes_count_less_than_names() {
    let dog = Species::Dog;
    assert_eq!(
        worst("fruit mix", "contains raisins", dog, Code::Grapes),
        Some(Warn)
    );
    assert_eq!(
        worst("carob", "chocolate substitute", dog, Code::Chocolate),
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
                    "{called}: {:?}",
                    s.code
                );
            }
        }
    }
}
