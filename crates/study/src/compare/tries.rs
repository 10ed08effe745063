//! What to try for a figure: the changes that move it most the way that is better, each worked through the chain.

use super::Figure;
use super::bridge::Depth;
use super::figure::Better;
use crate::chain::{BakeOptions, Run, Sample, run};
use crate::model::Treatment;
use crate::views::knock_on;
use baking::bake::Workspace;
use formula::{At, Change, Line};
use measure::Severity;
use rayon::prelude::*;
use std::sync::Arc;

/// How far the thickness is moved, m.
pub const THICKNESS_M: f64 = 0.0005;
/// How far the air of a zone is moved, K.
pub const AIR_K: f64 = 10.0;
/// How much of a line is exchanged for another, share.
pub const EXCHANGED: f64 = 0.2;
/// Least share of the mix that a line to exchange has.
const LEAST_LINE: f64 = 0.03;
/// Most lines that are exchanged for each other: the largest.
const MOST_LINES: usize = 4;
/// How many are told.
const TOLD: usize = 2;

/// Something that can be changed.
#[derive(Clone, Debug, PartialEq)]
pub enum Lever {
    /// The piece by so much thicker, or thinner, m.
    Thickness(f64),
    /// The air of a zone by so much hotter, or cooler, K.
    Air {
        /// Its place in the oven.
        zone: usize,
        /// By how much.
        by_k: f64,
    },
    /// A fifth of a line for another that stands in the formula and goes in at the same stage.
    Exchange {
        /// Id of the material that goes out.
        out: String,
        /// Id of the material that comes in.
        with: String,
    },
}

/// Something to try, and what it would do to the figure.
#[derive(Clone, Debug, PartialEq)]
pub struct Try {
    /// What is changed.
    pub lever: Lever,
    /// What the figure would move by.
    pub gap: f64,
}

/// The two changes, of different kinds, that move a figure most the way that is better; either way where none is.
/// Nothing that a finding stops, and nothing that doesn't get dry.
///
/// ```
/// use study::compare::tries::{Lever, tries};
/// use study::{BakeOptions, Figure, Sample, Workspace, run};
///
/// let study = study::written::read(include_str!("../../../../examples/spent-grain.toml")).unwrap();
/// let control = run(study.control(), &BakeOptions::COARSE, Sample::Centre, &mut Workspace::new()).unwrap();
/// let found = tries(&control, Figure::BakeTime);
/// assert!(found.len() == 2 && found.iter().all(|t| t.gap < 0.0), "{found:?}");
/// ```
pub fn tries(of: &Run, figure: Figure) -> Vec<Try> {
    let options = match Depth::of(figure) {
        Depth::Pack => BakeOptions {
            checks: true,
            ..BakeOptions::COARSE
        },
        Depth::Bake | Depth::Need => BakeOptions::COARSE,
    };
    let value = |t: &Treatment, w: &mut Workspace| {
        let ran = run(t, &options, Sample::Centre, w).ok()?;
        let answer = knock_on(&ran);
        let stops = answer.findings.iter().any(|f| f.severity == Severity::Stop);
        let told = figure.told(&answer).ok()?;
        (answer.bake.reached && !stops).then_some(told)
    };
    let Some(now) = value(&of.treatment, &mut Workspace::new()) else {
        return Vec::new();
    };
    let sign = match figure.about().better {
        Better::Lower => -1.0,
        Better::Higher | Better::Neither => 1.0,
    };
    let good = |gap: f64| match figure.about().better {
        Better::Neither => gap.abs(),
        Better::Lower | Better::Higher => gap * sign,
    };
    let mut found: Vec<Try> = levers(of)
        .into_par_iter()
        .map_init(Workspace::new, |w, lever| {
            let there = value(&moved(&of.treatment, of, &lever)?, w)?;
            let gap = there - now;
            Some(Try { lever, gap })
        })
        .flatten()
        .filter(|t| good(t.gap) > 0.0)
        .collect();
    found.sort_by(|a, b| good(b.gap).total_cmp(&good(a.gap)));
    let mut told: Vec<Try> = Vec::new();
    for one in found {
        let kind = std::mem::discriminant(&one.lever);
        let new = told
            .iter()
            .all(|t| std::mem::discriminant(&t.lever) != kind);
        if new && told.len() < TOLD {
            told.push(one);
        }
    }
    told
}

fn levers(of: &Run) -> Vec<Lever> {
    let mut levers = vec![
        Lever::Thickness(-THICKNESS_M),
        Lever::Thickness(THICKNESS_M),
    ];
    for zone in 0..of.treatment.setting.oven.zones.len() {
        levers.extend([-AIR_K, AIR_K].map(|by_k| Lever::Air { zone, by_k }));
    }
    let formula = &of.treatment.formula;
    let least = LEAST_LINE * formula.total();
    let mut lines: Vec<&Line> = formula
        .lines()
        .iter()
        .filter(|l| !l.material.is_water() && l.parts >= least)
        .collect();
    lines.sort_by(|a, b| b.parts.total_cmp(&a.parts));
    lines.truncate(MOST_LINES);
    for out in &lines {
        let fits = |l: &&&Line| l.material.id != out.material.id && l.stage == out.stage;
        for with in lines.iter().filter(fits) {
            levers.push(Lever::Exchange {
                out: out.material.id.clone(),
                with: with.material.id.clone(),
            });
        }
    }
    levers
}

/// The treatment with a lever moved; none where it can't be.
fn moved(treatment: &Treatment, of: &Run, lever: &Lever) -> Option<Treatment> {
    let mut t = treatment.clone();
    match lever {
        Lever::Thickness(by) => t.setting.piece.thickness_m += by,
        Lever::Air { zone, by_k } => t.setting.oven.zones.get_mut(*zone)?.air_k += by_k,
        Lever::Exchange { out, with } => {
            let lines = of.treatment.formula.lines();
            let with = lines.iter().find(|l| l.material.id == *with)?;
            let swap = Change::Swap {
                out: out.clone(),
                with: Arc::clone(&with.material),
                at: At::ALL[0],
                share: EXCHANGED,
            };
            t.formula = formula::treatment::apply(&t.formula, &[swap]).ok()?;
        }
    }
    Some(t)
}
