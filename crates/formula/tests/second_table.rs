//! The material table against a later edition of its food table, carried by other people, and
//! against analyses made apart from it: no value may have slipped by a decimal.
//!
//! Source and licence of the data: `data/README.md`.

use formula::{Nutrient, shelf};

const COLUMNS: [(&str, Nutrient); 8] = [
    ("protein_pct", Nutrient::CrudeProtein),
    ("fat_pct", Nutrient::CrudeFat),
    ("dietary_fibre_pct", Nutrient::DietaryFibre),
    ("sugars_pct", Nutrient::Sugars),
    ("ca_mg_100g", Nutrient::Calcium),
    ("p_mg_100g", Nutrient::Phosphorus),
    ("na_mg_100g", Nutrient::Sodium),
    ("k_mg_100g", Nutrient::Potassium),
];

/// Every pair of values of a kind: material, constituent, ours, theirs, as shown.
fn pairs(kind: &str) -> Vec<(String, Nutrient, f64, f64)> {
    let mut reader = csv::Reader::from_reader(include_str!("data/food_table_2018.csv").as_bytes());
    let header = reader.headers().expect("the table has a head").clone();
    let at = |name: &str| {
        header
            .iter()
            .position(|h| h == name)
            .expect("a column of that name")
    };
    let mut list = Vec::new();
    for row in reader.records() {
        let row = row.expect("the table is whole");
        if &row[at("kind")] != kind {
            continue;
        }
        let m = shelf::find(&row[0]).expect("row names a material of the shelf");
        for (column, nutrient) in COLUMNS {
            let Ok(theirs) = row[at(column)].parse::<f64>() else {
                continue;
            };
            // The food tables report protein by the food's own factor.
            let ours = match nutrient {
                Nutrient::CrudeProtein => m.protein_mass(),
                _ => m.composition.fraction(nutrient),
            };
            if let Some(ours) = ours {
                list.push((m.id.clone(), nutrient, ours * nutrient.per_unit(), theirs));
            }
        }
    }
    list
}

/// 81 rows stand in the later edition under the same name, and are the same but for rounding.
#[test]
fn the_later_edition_says_the_same() {
    let pairs = pairs("edition");
    let materials: std::collections::BTreeSet<_> = pairs.iter().map(|p| &p.0).collect();
    assert_eq!((materials.len(), pairs.len()), (81, PAIRS_OF_EDITION));
    let different: std::collections::BTreeSet<_> = pairs
        .iter()
        .filter(|(_, n, ours, theirs)| {
            let rounding = if n.unit() == "%" { 0.02 } else { 1.0 };
            (ours - theirs).abs() > f64::max(rounding, 0.02 * ours.max(*theirs))
        })
        .map(|(id, ..)| id.as_str())
        .collect();
    // Split peas were analysed anew between the editions (fat 1.16 and 3.89 %, sugars 8.0 and 3.14 %).
    assert_eq!(different.into_iter().collect::<Vec<_>>(), ["pea_flour"]);
}

/// Analyses apart from the table: other samples, other years. Factor 3 catches a slipped decimal
/// and lets variety and soil be.
#[test]
fn analyses_apart_find_no_slipped_decimal() {
    let pairs = pairs("analysis");
    let materials: std::collections::BTreeSet<_> = pairs.iter().map(|p| &p.0).collect();
    assert_eq!(materials.len(), 35);
    let told: Vec<String> = pairs
        .iter()
        .filter(|(_, n, ours, theirs)| {
            let least = if n.unit() == "%" { 0.5 } else { 15.0 };
            let (low, high) = (ours.min(*theirs), ours.max(*theirs));
            high - low > least && high > 3.0 * low
        })
        .map(|(id, n, ours, theirs)| format!("{id} {}: {ours:.2} against {theirs:.2}", n.word()))
        .collect();
    assert_eq!(told, EXPLAINED, "{told:#?}");
}

/// Sodium of grain and seed is a trace that differs by soil and washing, and one peanut butter is
/// salted; the fibre of white rice hangs on its milling; the white of an egg carries what is left of
/// the yolk.
const EXPLAINED: &[&str] = &[
    "oat_flour sodium: 19.00 against 3.62",
    "barley_flour sodium: 4.00 against 20.33",
    "rice_flour_white dietary fibre: 2.40 against 0.50",
    "peanut_butter sodium: 17.00 against 220.70",
    "egg_white_dried crude fat: 0.00 against 0.65",
    "chia_seed sodium: 16.00 against 0.00",
];
const PAIRS_OF_EDITION: usize = 641;
