//! Treatments beside the control.

use crate::answer::KnockOn;
use crate::draw::Draw;
use crate::figure::Figure;
use crate::knock_on::{KnockOnError, knock_on};
use crate::prepare::{Asked, prepare};
use crate::spread::Spread;
use crate::study::{Study, Treatment};
use crate::sure::Sure;
use baking::bake::Workspace;
use rayon::prelude::*;
use serde::Serialize;
use serde_json::{Map, Value};
use std::collections::BTreeMap;

/// One treatment's answer with its differences from the control.
#[derive(Clone, Debug, Serialize)]
pub struct Compared {
    /// The answer.
    #[serde(flatten)]
    pub answer: KnockOn,
    /// Differences from the control, by part and figure; nothing for the control itself.
    pub versus_control: Value,
    /// Differences that are not exact, by the key of the figure: values of a material are unknown.
    #[serde(skip_serializing_if = "BTreeMap::is_empty")]
    pub versus_control_unsure: BTreeMap<&'static str, Sure>,
    /// 95 % limits, when a spread was asked for.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub spread: Option<Spread>,
}

impl Compared {
    /// An answer beside that of the control; the control stands beside itself.
    pub fn beside(answer: KnockOn, control: &KnockOn) -> Self {
        let unsure = |f: Figure| {
            let sure = f.sure(&answer).less(f.sure(control));
            let there = f.told(&answer).is_ok() && f.told(control).is_ok();
            (there && sure != Sure::Exactly).then_some((f.about().key, sure))
        };
        Self {
            versus_control: differences(&answer, control),
            versus_control_unsure: if answer.id == control.id {
                BTreeMap::new()
            } else {
                Figure::ALL.into_iter().filter_map(unsure).collect()
            },
            answer,
            spread: None,
        }
    }

    /// The difference of a figure from the control, and how it stands to what it tells; none for the control itself
    /// and where one of the two is unknown.
    pub fn difference(&self, figure: Figure) -> Option<(f64, Sure)> {
        let key = figure.about().key;
        let (part, name) = key.split_once('.')?;
        let gap = self.versus_control.get(part)?.get(name)?.as_f64()?;
        let sure = self.versus_control_unsure.get(key).copied();
        Some((gap, sure.unwrap_or(Sure::Exactly)))
    }
}

/// What every treatment of a study does.
///
/// Treatments are worked out side by side on all cores; the result doesn't depend on how many.
///
/// # Errors
/// The first treatment that has no answer, in the order of the study.
pub fn compare(
    study: &Study,
    wanted: &[&Treatment],
    asked: &Asked,
) -> Result<Vec<Compared>, KnockOnError> {
    let control = study.control();
    let mut order: Vec<&Treatment> = vec![control];
    order.extend(wanted.iter().filter(|t| t.id != control.id));
    let answers: Vec<Result<KnockOn, KnockOnError>> = order
        .par_iter()
        .map_init(Workspace::new, |w, t| {
            knock_on(study, t, asked, Draw::Centre, w)
        })
        .collect();
    let answers: Vec<KnockOn> = answers.into_iter().collect::<Result<_, _>>()?;
    let control_answer = answers[0].clone();
    Ok(answers
        .into_iter()
        .map(|answer| Compared::beside(answer, &control_answer))
        .collect())
}

/// Differences of every figure that both tell, nested as `part → name`; empty for the control itself.
pub fn differences(answer: &KnockOn, control: &KnockOn) -> Value {
    let mut parts = Map::new();
    if answer.id == control.id {
        return Value::Object(parts);
    }
    for figure in Figure::ALL {
        let key = figure.about().key;
        let (Ok(here), Ok(there)) = (figure.told(answer), figure.told(control)) else {
            continue;
        };
        let mut names: Vec<&str> = key.split('.').collect();
        let name = names.remove(0);
        let part = parts
            .entry(name)
            .or_insert_with(|| Value::Object(Map::new()));
        if let Value::Object(part) = part {
            part.insert(names.join("."), Value::from(here - there));
        }
    }
    Value::Object(parts)
}

/// A point of the curve of oven output against dough water.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct WaterPoint {
    /// Water added, kg per 100 kg dry mix.
    pub water_kg_per_100kg_dry_mix: f64,
    /// Dough moisture, % wet basis.
    pub dough_moisture_pct: f64,
    /// Bake time, min.
    pub bake_min: f64,
    /// What the oven alone gives, kg/h.
    pub oven_kg_per_h: f64,
    /// Line output, kg/h.
    pub output_kg_per_h: f64,
    /// Whether the target is reached there.
    pub reached: bool,
}

/// The oven's output against dough water around the water of a treatment, `points` (at least 9)
/// evenly from 25 % less to 25 % more.
///
/// # Errors
/// A point that can't be worked out.
pub fn water_curve(
    study: &Study,
    treatment: &Treatment,
    asked: &Asked,
    points: usize,
) -> Result<Vec<WaterPoint>, KnockOnError> {
    let centre = prepare(treatment, asked, Draw::Centre)
        .map_err(|e| KnockOnError {
            id: treatment.id.clone(),
            why: e.into(),
        })?
        .formula
        .water_kg_per_100kg_dry_mix();
    let points = points.max(9);
    (0..points)
        .into_par_iter()
        .map_init(Workspace::new, |w, i| {
            let share = 0.75 + 0.5 * i as f64 / (points - 1) as f64;
            let asked = Asked {
                water_kg_per_100kg: Some(centre * share),
                checks: false,
                ..*asked
            };
            let k = knock_on(study, treatment, &asked, Draw::Centre, w)?;
            Ok(WaterPoint {
                water_kg_per_100kg_dry_mix: k.dough.water_added_kg_per_100kg_dry_mix,
                dough_moisture_pct: k.dough.moisture_pct,
                bake_min: k.bake.time_min,
                oven_kg_per_h: k.line.oven_kg_per_h,
                output_kg_per_h: k.line.output_kg_per_h,
                reached: k.bake.reached,
            })
        })
        .collect::<Vec<Result<WaterPoint, KnockOnError>>>()
        .into_iter()
        .collect()
}
