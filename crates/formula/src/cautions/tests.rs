//! The list finds what it should, and nothing else.

use super::*;
use crate::formula::Line;
use crate::material::Gluten;
use crate::material_patch::MaterialPatch;
use crate::shelf;
use measure::{Grade, Severity, Source};
use std::sync::Arc;

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
        ("Salmonella tested meal", "raw-salmon"),
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
