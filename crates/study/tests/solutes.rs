//! What dissolves beside sugars and salt reaches the water activity of the treat, or makes it unknown.
#![allow(clippy::unwrap_used, reason = "a test may fail by panicking")]

use formula::{Formula, Line, Material, shelf};
use std::sync::Arc;
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
    let told: Vec<&str> = k.findings.iter().map(|f| f.code.as_ref()).collect();
    assert!(told.contains(&"solute-unknown"), "{told:?}");
    assert!(
        !k.findings
            .iter()
            .any(|f| f.message.contains("counts as starch")),
        "nothing is counted as starch"
    );
}
