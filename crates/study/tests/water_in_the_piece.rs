//! What dissolves, what was read, and how water moves: each reaches the answers, or makes them unknown.
#![allow(clippy::unwrap_used, reason = "a test may fail by panicking")]

use formula::{Formula, Line, Material, shelf};
use std::sync::Arc;
use study::Code;
use study::{BakeOptions, Figure, KnockOn, Sample, Workspace, knock_on, run};

/// The demonstration's control with so many parts of a material on top.
fn with(material: impl Into<Arc<Material>>, parts: f64) -> KnockOn {
    let study = study::written::read(include_str!("../../../examples/spent-grain.toml")).unwrap();
    let mut treatment = study.control().clone();
    let mut lines = treatment.formula.lines().to_vec();
    lines.push(Line::new(
        material.into(),
        parts * treatment.formula.total() / 100.0,
    ));
    treatment.formula = Formula::new(lines).unwrap();
    let options = BakeOptions {
        checks: true,
        ..BakeOptions::QUICK
    };
    knock_on(&run(&treatment, &options, Sample::Centre, &mut Workspace::new()).unwrap())
}

fn activity(k: &KnockOn) -> Option<f64> {
    Figure::PackedActivity.value(k)
}

/// At the same moisture 4 parts of glycerol take more from the water activity than 4 parts of starch, which count as
/// any other starch. By how much stands with the law (`baking::properties::sorption::Solute`).
#[test]
fn glycerol_lowers_the_water_activity_of_the_treat() {
    let starch = with(shelf::find("corn_starch").unwrap(), 4.0);
    let glycerol = with(shelf::find("glycerin").unwrap(), 4.0);
    let (starch, glycerol) = (activity(&starch).unwrap(), activity(&glycerol).unwrap());
    assert!(
        (0.03..0.20).contains(&(starch - glycerol)),
        "{starch} with starch, {glycerol} with glycerol"
    );
}

/// Unknown is not zero: no water activity, no days crisp, and the findings say why.
#[test]
fn a_humectant_without_a_law_makes_the_water_activity_unknown() {
    let mut unnamed = Material::clone(&shelf::find("glycerin").unwrap());
    unnamed.dissolves.clear();
    let k = with(unnamed, 4.0);
    assert_eq!(activity(&k), None);
    assert_eq!(k.bake.exit_water_activity, None);
    let told: Vec<measure::Code> = k.findings.iter().map(|f| f.code).collect();
    assert!(told.contains(&Code::SoluteUnknown.into()), "{told:?}");
    assert!(
        !k.findings
            .iter()
            .any(|f| f.message.contains("counts as starch")),
        "nothing is counted as starch"
    );
}

/// The demonstration with lines added to its dough.
fn dough_with(lines: &str) -> Result<KnockOn, Vec<study::written::Problem>> {
    let text = include_str!("../../../examples/spent-grain.toml");
    let text = text.replacen("gas_pct = 8\n", &format!("gas_pct = 8\n{lines}\n"), 1);
    let study = study::written::read(&text)?;
    let mut w = Workspace::new();
    let options = BakeOptions::QUICK;
    Ok(knock_on(
        &run(study.control(), &options, Sample::Centre, &mut w).unwrap(),
    ))
}

/// Readings of one's own piece are the answer where they stand: 0.47 at the 8 % that the study packs at.
#[test]
fn own_readings_take_the_place_of_the_ingredients() {
    let own = "sorption = [ { moisture_pct = 4.5, water_activity = 0.24 }, { moisture_pct = 8.0, water_activity = 0.47 }, { moisture_pct = 11.0, water_activity = 0.64 } ]";
    let (own, usual) = (dough_with(own).unwrap(), dough_with("").unwrap());
    assert!((own.bake.packed_moisture_pct - 8.0).abs() < 0.05);
    let (read, classes) = (activity(&own).unwrap(), activity(&usual).unwrap());
    let cooled = own.bake.cooled_moisture_pct;
    assert!((read - 0.47).abs() < 0.02, "{read} at {cooled} %");
    assert!((classes - 0.47).abs() > 0.05, "{classes}");
    assert!(own.given.iter().all(|g| !g.name.contains("monolayer")));
}

#[test]
fn readings_that_contradict_each_other_are_told_at_their_field() {
    let own = "sorption = [ { moisture_pct = 4.5, water_activity = 0.60 }, { moisture_pct = 8.0, water_activity = 0.47 } ]";
    let problems = dough_with(own).unwrap_err();
    assert_eq!(problems.len(), 1, "{problems:#?}");
    assert_eq!(problems[0].path.to_string(), "dough.sorption");
}

/// A third of the liquid diffusivity makes the bake longer and the piece less even, and the answer tells the number.
#[test]
fn own_numbers_of_the_movement_of_water_are_used_and_told() {
    let own = dough_with("water_moves = { liquid_diffusivity_m2_per_s = 2e-10 }").unwrap();
    let usual = dough_with("").unwrap();
    assert!(own.bake.time_min > 1.02 * usual.bake.time_min);
    let told = own
        .given
        .iter()
        .find(|g| g.name == "liquid diffusivity at 60 °C")
        .unwrap();
    assert_eq!(told.value, Some(2e-10));
}

/// A preservative counts by what of it isn't dissociated, and that only where somebody measured the pH.
#[test]
fn a_preservative_is_credited_with_a_measured_ph_alone() {
    let told = |ph: Option<f64>| {
        let study =
            study::written::read(include_str!("../../../examples/spent-grain.toml")).unwrap();
        let mut treatment = study.control().clone();
        let mut lines = treatment.formula.lines().to_vec();
        let kg = 0.002 * treatment.formula.total();
        lines.push(Line::new(shelf::find("potassium_sorbate").unwrap(), kg));
        treatment.formula = Formula::new(lines).unwrap();
        treatment.target.moisture = measure::WetBasis(0.13);
        treatment.setting.dough.ph = ph;
        let options = BakeOptions {
            checks: true,
            ..BakeOptions::QUICK
        };
        let k =
            knock_on(&run(&treatment, &options, Sample::Centre, &mut Workspace::new()).unwrap());
        let grows = k
            .findings
            .iter()
            .find(|f| f.code == baking::Code::GrowsInThePack);
        grows.unwrap().message.clone()
    };
    assert!(
        told(None).contains("its effect isn't known"),
        "{}",
        told(None)
    );
    assert!(
        told(Some(5.0)).contains("is counted in"),
        "{}",
        told(Some(5.0))
    );
    assert!(told(Some(6.8)).contains("its effect isn't known"));
}
