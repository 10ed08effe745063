//! The tables of docs/model tell the constants as the code has them: value, and how each is known.
#![allow(clippy::unwrap_used, reason = "a test that can't go on has failed")]

use baking::after::{checking, growth, keeping};
use baking::oven::cooling;
use measure::Constant;
use std::path::Path;

/// The row that begins with a name tells the value in its second cell and the grade somewhere after it.
fn told(page: &str, name: &str, constant: &Constant) {
    let row = page
        .lines()
        .find(|l| l.starts_with(&format!("| {name}")))
        .unwrap_or_else(|| panic!("no row `{name}`"));
    let value = row.split('|').nth(2).unwrap().trim();
    let number = value.split(' ').next().unwrap().replace("·10⁻⁴", "e-4");
    let number = if number == "10⁻⁴" {
        "1e-4"
    } else {
        &number
    };
    assert_eq!(number.parse::<f64>().unwrap(), constant.value, "{row}");
    assert!(row.contains(constant.grade.word()), "{row}");
}

fn page(name: &str) -> String {
    let path = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("../../docs/model")
        .join(name);
    std::fs::read_to_string(path).unwrap()
}

#[test]
fn cooling_and_checking() {
    let text = page("cooling-and-checking.md");
    for (name, constant) in [
        ("cooling time, when", &cooling::USUAL_S),
        ("cooling time over bake time", &cooling::OF_BAKE_TIME),
        ("heat transfer while cooling", &cooling::STILL_AIR),
        ("modulus E", &checking::MODULUS),
        ("Poisson's ratio ν", &checking::POISSON),
        ("expansion α", &checking::EXPANSION),
        ("strength in tension", &checking::STRENGTH),
        ("setting temperature", &checking::SETTING_CELSIUS),
    ] {
        told(&text, name, constant);
    }
}

#[test]
fn keeping_pages() {
    let text = page("keeping.md");
    for (name, constant) in [
        ("limit of crispness", &keeping::CRISP_WATER_ACTIVITY),
        ("moulds may grow", &keeping::MOULD_WATER_ACTIVITY),
        ("u₂, doubles", &growth::DOUBLING_ACID),
        ("least that is credited", &growth::LEAST_ACID),
        ("most that acids make", &growth::MOST_TIMES),
    ] {
        told(&text, name, constant);
    }
    for film in baking::after::Film::ALL {
        let Some((low, high)) = film.g_per_m2_d else {
            continue;
        };
        let cells = format!("| {low} | {high} |");
        assert!(
            text.contains(&cells) || text.contains(&format!("| {low:.1} | {high:.1} |")),
            "{}: {cells}",
            film.name
        );
    }
}
