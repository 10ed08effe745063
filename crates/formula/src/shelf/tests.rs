//! The table as a whole: every column plausible, every row read, every value graded.

use super::*;
use crate::Code;
use crate::composition::Nutrient;
use crate::material::{Category, Gluten};
use measure::{Grade, Range};
use std::collections::BTreeSet;

#[test]
fn every_row_is_read_once_and_has_its_own_name() {
    assert_eq!(shelf().len(), 130);
    let ids: BTreeSet<_> = shelf().iter().map(|m| &m.id).collect();
    assert_eq!(ids.len(), 130);
    let used: BTreeSet<_> = shelf().iter().map(|m| m.category).collect();
    assert_eq!(
        used.len(),
        Category::ALL.len() - 1,
        "all kinds but `other` stand on the shelf"
    );
    for c in Category::ALL {
        assert_eq!(Category::from_written(c.written()), Some(*c));
    }
}

/// Percent or mg per 100 g that a column may hold (plausibility; common practice, no source).
fn plausible(nutrient: Nutrient) -> Range {
    match nutrient {
        Nutrient::Moisture | Nutrient::CrudeFat | Nutrient::Ash | Nutrient::Sugars => {
            Range::new(0.0, 100.0)
        }
        Nutrient::CrudeProtein => Range::new(0.0, 97.0),
        Nutrient::CrudeFibre => Range::new(0.0, 80.0),
        Nutrient::DietaryFibre => Range::new(0.0, 95.0),
        Nutrient::Starch => Range::new(0.0, 90.0),
        // The elements: pure calcium carbonate 40 %, dicalcium phosphate 22.8 % P (dihydrate 18),
        // sodium chloride 39.3 %, potassium sorbate 26 %.
        Nutrient::Calcium => Range::new(0.0, 40_040.0),
        Nutrient::Phosphorus => Range::new(0.0, 22_800.0),
        Nutrient::Sodium => Range::new(0.0, 39_340.0),
        Nutrient::Potassium => Range::new(0.0, 26_100.0),
    }
}

#[test]
fn every_column_is_plausible() {
    for m in shelf() {
        for n in Nutrient::ALL {
            if let Some(v) = m.composition.get(n) {
                let shown = v.fraction * n.per_unit();
                assert!(
                    shown <= plausible(n).high + 1e-9 && shown >= 0.0,
                    "{} {}: {shown}",
                    m.id,
                    n.word()
                );
                assert!(v.sd_or_default(n) >= 0.0);
            }
        }
        let factor = m.nitrogen_factor.unwrap();
        assert!((5.2..=6.4).contains(&factor), "{}", m.id);
        let density = m.bulk_density_kg_per_m3.unwrap();
        assert!((100.0..=1500.0).contains(&density), "{}", m.id);
        let price = m.price.as_ref().unwrap();
        assert!(price.low_per_kg > 0.0 && price.low_per_kg <= price.high_per_kg);
        assert_eq!(price.source.grade, Grade::Assumed);
        assert!((0.0..=1.0).contains(&m.loss_on_baking_fraction.fraction));
        assert!(!m.source.text.is_empty() && !m.label_name.is_empty());
    }
}

#[test]
fn elements_fit_into_the_ash_and_parts_into_the_whole() {
    for m in shelf() {
        let c = |n| m.composition.fraction(n).unwrap_or(0.0);
        // Alkali salts that go off as gas or organic acid keep their metal in the ash; what is
        // told as ash of a whole salt may be a little below its elements by rounding.
        let elements = c(Nutrient::Calcium)
            + c(Nutrient::Phosphorus)
            + c(Nutrient::Sodium)
            + c(Nutrient::Potassium);
        assert!(elements <= c(Nutrient::Ash) + 0.005, "{}: {elements}", m.id);
        assert!(
            c(Nutrient::Sugars) + c(Nutrient::Starch) + c(Nutrient::Moisture) <= 1.0 + 1e-9,
            "{}",
            m.id
        );
        let gas = m.loss_on_baking_fraction.fraction;
        assert!(
            gas + c(Nutrient::Moisture) + c(Nutrient::Ash) <= 1.01,
            "{}",
            m.id
        );
    }
}

#[test]
fn crude_protein_is_nitrogen_times_6_25() {
    for m in shelf() {
        let (Some(own), Some(factor)) = (&m.protein_reported, m.nitrogen_factor) else {
            continue;
        };
        let crude = m.composition.fraction(Nutrient::CrudeProtein).unwrap();
        let expected = own.fraction * 6.25 / factor;
        assert!(
            (crude - expected).abs() < 6e-6,
            "{}: {crude} {expected}",
            m.id
        );
    }
}

#[test]
fn only_the_two_known_rows_do_not_close() {
    let loud: Vec<_> = shelf()
        .iter()
        .filter(|m| !m.findings().is_empty())
        .map(|m| (m.id.as_str(), m.findings()[0].code))
        .collect();
    // Gelatin: its own nitrogen factor is 5.55, so nitrogen × 6.25 makes 110.8 %. Raw salmon: the
    // parts of the food table were analysed apart and add to 101.9 %.
    let code = measure::Code::from(Code::CompositionDoesNotClose);
    assert_eq!(loud, [("gelatin", code), ("salmon_pink_raw", code)]);
    // By its own factor gelatin closes, so it is a note.
    let gelatin = find("gelatin").unwrap();
    assert_eq!(gelatin.findings()[0].severity, measure::Severity::Note);
    let others: f64 = [
        Nutrient::Moisture,
        Nutrient::CrudeFat,
        Nutrient::CrudeFibre,
        Nutrient::Ash,
    ]
    .into_iter()
    .map(|n| gelatin.composition.fraction(n).unwrap())
    .sum();
    assert!((others + gelatin.protein_mass().unwrap() - 1.0).abs() < 0.005);
}

#[test]
fn grades_follow_confidence_and_column() {
    let grade = |id: &str, n| find(id).unwrap().composition.get(n).unwrap().source.grade;
    assert_eq!(
        grade("wheat_flour_ap", Nutrient::CrudeFat),
        Grade::Published
    );
    // Converted from 5.7 to 6.25, factor from the table: computed; factor assumed: recalled.
    assert_eq!(
        grade("wheat_flour_ap", Nutrient::CrudeProtein),
        Grade::Computed
    );
    assert_eq!(
        grade("wheat_flour_soft", Nutrient::CrudeProtein),
        Grade::Recalled
    );
    assert_eq!(
        grade("chickpea_flour", Nutrient::CrudeProtein),
        Grade::Published
    );
    assert_eq!(grade("fish_meal", Nutrient::CrudeFibre), Grade::Published);
    assert_eq!(grade("wheat_second_clear", Nutrient::Ash), Grade::Recalled);
    assert_eq!(grade("liver_powder", Nutrient::CrudeFat), Grade::Computed);
    assert_eq!(grade("baking_soda", Nutrient::Ash), Grade::Computed);
    for m in shelf() {
        if m.source.text.starts_with("USDA")
            && let Some(v) = m.composition.get(Nutrient::CrudeFibre)
        {
            assert_eq!(v.source.grade, Grade::Recalled, "{}", m.id);
        }
    }
}

#[test]
fn grades_stand_in_columns_and_no_word_of_a_source_or_note_moves_one() {
    for mut row in read::rows().unwrap() {
        let before = read::material(&row).unwrap();
        for words in [
            "computed: after a report",
            "from memory",
            "stoichiometry",
            "",
        ] {
            words.clone_into(&mut row.source);
            words.clone_into(&mut row.notes);
            let after = read::material(&row).unwrap();
            for n in Nutrient::ALL {
                let grade = |m: &Material| m.composition.get(n).map(|v| v.source.grade);
                assert_eq!(grade(&before), grade(&after), "{} {}", row.id, n.word());
            }
            assert_eq!(
                before.loss_on_baking_fraction.source,
                after.loss_on_baking_fraction.source
            );
            assert_eq!(before.source.grade, after.source.grade);
        }
    }
    // Sodium and potassium of fish meal are from memory where the rest was seen in print.
    let fish = find("fish_meal").unwrap();
    let grade = |n| fish.composition.get(n).unwrap().source.grade;
    assert_eq!(grade(Nutrient::Calcium), Grade::Published);
    assert_eq!(grade(Nutrient::Sodium), Grade::Recalled);
}

#[test]
fn a_price_tells_by_data_whether_it_is_invented_and_in_which_currency() {
    assert!(
        shelf()
            .iter()
            .all(|m| m.price.as_ref().unwrap().invented_in() == Some("USD"))
    );
    let mut patch = crate::MaterialPatch::new(measure::Source::new(
        Grade::Published,
        "market price after the USDA report, USD",
    ));
    patch.price_per_kg = Some((0.5, 0.6));
    let own = patch
        .apply(&find("wheat_flour_soft").unwrap(), "our_flour")
        .unwrap();
    assert_eq!(own.price.unwrap().invented_in(), None);
    // A certificate that says nothing of the price leaves the built-in one as invented as it was.
    patch.price_per_kg = None;
    let kept = patch
        .apply(&find("wheat_flour_soft").unwrap(), "our_flour")
        .unwrap();
    assert_eq!(kept.price.unwrap().invented_in(), Some("USD"));
}

#[test]
fn empty_cells_are_unknown() {
    let ap = find("wheat_flour_ap").unwrap();
    assert_eq!(ap.composition.get(Nutrient::Starch), None);
    let meal = find("soybean_meal").unwrap();
    assert_eq!(meal.composition.get(Nutrient::DietaryFibre), None);
    let count = |n| {
        shelf()
            .iter()
            .filter(|m| m.composition.get(n).is_none())
            .count()
    };
    // Of 78 empty cells of starch and 7 of sugars, 33 and 1 can only be none (pure
    // fats, salt, water, meat, eggs, milk, sugars); the rest stays unknown.
    assert_eq!(count(Nutrient::Starch), 45);
    assert_eq!(count(Nutrient::Sugars), 6);
    for id in ["sunflower_oil", "water", "salt", "gelatin"] {
        let starch = find(id)
            .unwrap()
            .composition
            .get(Nutrient::Starch)
            .cloned()
            .unwrap();
        assert_eq!(
            (starch.fraction, starch.source.grade),
            (0.0, Grade::Computed)
        );
    }
    assert_eq!(count(Nutrient::DietaryFibre), 1);
    assert_eq!(count(Nutrient::Moisture), 0);
}

#[test]
fn every_material_but_water_has_a_water_uptake() {
    for m in shelf() {
        let Some(uptake) = &m.water_uptake else {
            assert_eq!(m.id, "water");
            continue;
        };
        let a = m.water_uptake_kg_per_kg().unwrap();
        assert!((-1.0..=9.0).contains(&a), "{}: {a}", m.id);
        assert!(uptake.sd > 0.0 && uptake.sd <= 4.5, "{}", m.id);
    }
    let grade = |id: &str| find(id).unwrap().water_uptake.clone().unwrap().source.grade;
    assert_eq!(grade("wheat_gluten"), Grade::Published);
    assert_eq!(grade("wheat_flour_soft"), Grade::Recalled);
    assert_eq!(grade("cmc"), Grade::Assumed);
    // A wet food gives its free water: the rule meets the table's own row for canned pumpkin.
    let pumpkin = uptake::by_kind(Category::FruitVeg, measure::WetBasis(0.90)).unwrap();
    assert!((pumpkin.kg_per_kg + 0.75).abs() < 1e-12);
    assert!(
        find("chicken_ground_raw")
            .unwrap()
            .water_uptake_kg_per_kg()
            .unwrap()
            < 0.0
    );
}

#[test]
fn gluten_sources_are_wheat_rye_barley_and_what_comes_of_them() {
    for m in shelf() {
        let text = format!("{} {}", m.id, m.name).to_lowercase();
        let grain = [
            "wheat",
            "rye flour",
            "spelt",
            "barley",
            "malt_extract",
            "brewers_grains",
        ]
        .iter()
        .any(|w| text.contains(w) && !text.contains("buckwheat"));
        assert_eq!(m.gluten == Gluten::Contains, grain, "{}", m.id);
    }
}

#[test]
fn a_misspelt_name_finds_its_neighbours() {
    assert_eq!(closest("Chickpea flower")[0], "chickpea_flour");
    assert!(closest("oil").contains(&"canola_oil"));
    assert!(closest("zzzz").is_empty());
}
