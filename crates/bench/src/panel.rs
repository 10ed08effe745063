//! What a panel of dogs ate, chose first and ranked, as the tables that the questions of a panel are asked of.

use crate::{Asked, Made, Part, Reading, Sheet, Trial, readings};
use std::collections::BTreeMap;
use trials::response::Response;

/// A reading with the food that it is of; what was set aside is left out.
struct OfFood {
    food: usize,
    reading: Reading,
}

/// The readings of a response on all batches that weren't given up, each with its food: its place among the treatments,
/// the control first.
fn of_foods(foods: &[&str], made: &[Made], asked: &Asked) -> Vec<OfFood> {
    let mut all = Vec::new();
    for one in made.iter().filter(|m| m.state.abandoned.is_none()) {
        let Some(food) = foods.iter().position(|f| *f == one.batch.label) else {
            continue;
        };
        let found = readings(&one.state, asked);
        let stands = found.into_iter().filter(|r| r.set_aside.is_none());
        all.extend(stands.map(|reading| OfFood { food, reading }));
    }
    all
}

/// The treatments of a trial, the control first.
fn foods(trial: &Trial) -> Vec<&str> {
    let mut all: Vec<&str> = trial.treatments.iter().map(|t| t.label.as_str()).collect();
    all.sort_by_key(|l| trial.control.as_deref() != Some(*l));
    all
}

/// A dog on a day.
#[derive(Default)]
struct Bowls {
    eaten: [Option<f64>; 2],
    offered: [Option<f64>; 2],
    left: Option<usize>,
    first: Option<usize>,
}

/// The response of a trial that is what was offered of a food, in grams.
const OFFERED: &str = "offered_g";

/// What two foods offered side by side came to: a row for each dog and day with what it ate of each, the food on its left,
/// and the one it went to first. The intakes are those of the trial, each with its dog and day; its position tells the side, and
/// a response `offered_g` what was offered.
/// Beside the table stand the two foods, A and B. None where a trial has other than two foods, or no dog ate.
pub fn two_bowl_sheet(trial: &Trial, made: &[Made]) -> Option<(Sheet, [String; 2])> {
    let foods = foods(trial);
    let [a, b] = foods.as_slice() else {
        return None;
    };
    let of = |id: &str| Some(of_foods(&foods, made, trial.response(id)?));
    let mut days: BTreeMap<(String, String), Bowls> = BTreeMap::new();
    let at = |r: &Reading| {
        let dog = r.on.get(Part::Dog)?.to_owned();
        let day = r.on.get(Part::Day).or(r.on.get(Part::Period))?;
        Some((dog, day.to_owned()))
    };
    for OfFood { food, reading } in of(Response::Intake.about().id)? {
        let Some(at) = at(&reading) else { continue };
        let bowls = days.entry(at).or_default();
        bowls.eaten[food] = Some(reading.value);
        match reading
            .on
            .get(Part::Position)
            .map(str::to_lowercase)
            .as_deref()
        {
            Some("left") => bowls.left = Some(food),
            Some("right") => bowls.left = bowls.left.or(Some(1 - food)),
            _ => {}
        }
    }
    if days.is_empty() {
        return None;
    }
    for OfFood { food, reading } in of(OFFERED).unwrap_or_default() {
        if let Some(bowls) = at(&reading).and_then(|at| days.get_mut(&at)) {
            bowls.offered[food] = Some(reading.value);
        }
    }
    for OfFood { food, reading } in of(Response::FirstChoice.about().id).unwrap_or_default() {
        // Yes says that the dog went to this food first, no that it went to the other one.
        if let Some(bowls) = at(&reading).and_then(|at| days.get_mut(&at)) {
            let first = if reading.value == 0.0 { 1 - food } else { food };
            bowls.first = bowls.first.or(Some(first));
        }
    }
    let head = [
        "dog",
        "day",
        "left",
        "offered_a_g",
        "offered_b_g",
        "intake_a_g",
        "intake_b_g",
        "first",
    ];
    let letter = |food: Option<usize>| food.map_or_else(String::new, |f| ["A", "B"][f].to_owned());
    let grams = |g: Option<f64>| g.map_or_else(String::new, |g| g.to_string());
    let rows = days.into_iter().map(|((dog, day), bowls)| {
        let [eaten_a, eaten_b] = bowls.eaten;
        vec![
            dog,
            day,
            letter(bowls.left),
            grams(bowls.offered[0]),
            grams(bowls.offered[1]),
            grams(eaten_a),
            grams(eaten_b),
            letter(bowls.first),
        ]
    });
    let sheet = Sheet {
        head: head.map(str::to_owned).to_vec(),
        rows: rows.collect(),
    };
    Some((sheet, [(*a).to_owned(), (*b).to_owned()]))
}

/// The response of a trial that is a rank: 1 for the food that a dog likes most.
const RANK: &str = "rank";

/// What dogs ranked: a row for each dog, a column for each food. The ranks are the response `rank` of the trial, each with
/// its dog. None where nothing was ranked.
pub fn ranking_sheet(trial: &Trial, made: &[Made]) -> Option<Sheet> {
    let foods = foods(trial);
    let asked = trial.response(RANK)?;
    let mut dogs: BTreeMap<String, Vec<Option<f64>>> = BTreeMap::new();
    for OfFood { food, reading } in of_foods(&foods, made, asked) {
        let Some(dog) = reading.on.get(Part::Dog) else {
            continue;
        };
        let ranks = dogs.entry(dog.to_owned()).or_default();
        ranks.resize(foods.len(), None);
        ranks[food] = Some(reading.value);
    }
    if dogs.is_empty() {
        return None;
    }
    let mut head = vec![Part::Dog.word().to_owned()];
    head.extend(foods.iter().map(|f| (*f).to_owned()));
    let rows = dogs.into_iter().map(|(dog, ranks)| {
        let cells = ranks
            .into_iter()
            .map(|r| r.map_or_else(String::new, |r| r.to_string()));
        std::iter::once(dog).chain(cells).collect()
    });
    Some(Sheet {
        head,
        rows: rows.collect(),
    })
}
