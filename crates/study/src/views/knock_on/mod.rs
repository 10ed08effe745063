//! The knock-on block: what a treatment's formula does to the dough, the bake, the line, the label, the keeping and
//! the cost.

mod answer;
mod bake;
mod beyond;
mod cost;
mod dough;
mod findings;
mod label;
mod line;

pub use answer::*;
pub use beyond::{Axis, Beyond};

use crate::chain::Run;

/// The knock-on of a treatment that was worked through.
///
/// ```
/// use study::{BakeOptions, Sample, Workspace, knock_on, run};
///
/// let study = study::written::read(include_str!("../../../../../examples/spent-grain.toml")).unwrap();
/// let control = run(study.control(), &BakeOptions::QUICK, Sample::Centre, &mut Workspace::new()).unwrap();
/// let told = knock_on(&control);
/// assert!(told.bake.reached && told.piece.baked_mass_g < told.piece.green_mass_g);
/// ```
pub fn knock_on(run: &Run) -> KnockOn {
    let label = label::label(run);
    let cost = cost::cost(run);
    let beyond = beyond::beyond(run);
    KnockOn {
        id: run.treatment.id.clone(),
        name: run.treatment.name.clone(),
        dough: dough::dough(run),
        piece: dough::piece(run),
        bake: bake::bake(run),
        line: line::line(&run.line),
        nutrition: label::nutrition(run),
        label,
        findings: findings::findings(run, &cost, &beyond),
        beyond,
        cost,
        given: run.given.clone(),
        learned: own_learned(run),
    }
}

fn own_learned(run: &Run) -> OwnLearned {
    let Some(taken_up) = &run.treatment.setting.learned else {
        return OwnLearned::default();
    };
    OwnLearned {
        bake: taken_up.bake.as_ref().is_some_and(|b| b.holds()),
        water: taken_up.water.is_some(),
        whole: taken_up.whole.is_some(),
    }
}
