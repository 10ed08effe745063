//! What to try next: which bake to read, which dough to titrate, which formula to make.

use crate::fits::looked_at;
use crate::sheet::StudyView;
use crate::{App, AppError};
use baking::bake::Workspace;
use bench::{Made, readings, water_taught};
use learning::next::{Means, NextBake};
use measure::estimate::Z95;
use rayon::prelude::*;
use serde::Serialize;
use serde_json::{Value, json};
use std::collections::BTreeSet;
use std::sync::Arc;
use study::chain::dough_and_piece::water_added;
use study::chain::learned::{TITRATION, water_believed, water_model};
use study::compare::{blended, limits};
use study::{BakeOptions, Compared, Figure, Sample, Study, Treatment, knock_on, run};
use trials::learn::{
    Point, ResponseModel, ResponseTold, WaterModel, expected_improvement, learn_response,
};
use trials::response::{Better, Response};

/// Shares of the second of two formulas that are looked at.
const SHARES: [f64; 3] = [0.25, 0.5, 0.75];
/// Most formulas that are looked at.
const MOST_FORMULAS: usize = 160;
/// Most batches that a response is learned from.
const MOST_POINTS: usize = 120;
/// Most batches that are proposed at once.
pub const MOST_BATCHES: usize = 12;

/// A dough that could be titrated.
#[derive(Clone, Debug, Serialize)]
pub struct NextDough {
    /// The treatment.
    pub name: String,
    /// What is held of its own need, kg per 100 kg dry mix: standard deviation of the mean before and after.
    pub own_sd: [f64; 2],
    /// The mean over all treatments of the same.
    pub all_sd: [f64; 2],
    /// What a kg of its product costs, where that is known.
    pub cost_per_kg: Option<f64>,
}

impl NextDough {
    /// Half widths of 95 %, now and after it: of its own need, and of all in the mean.
    pub fn half_widths(&self) -> [[f64; 2]; 2] {
        [self.own_sd, self.all_sd].map(|both| both.map(|sd| Z95 * sd))
    }

    /// The share that it takes off the intervals of all needs.
    pub fn all_narrower(&self) -> f64 {
        1.0 - self.all_sd[1] / self.all_sd[0]
    }
}

/// A formula that could be made.
#[derive(Clone, Debug, Serialize)]
pub struct NextFormula {
    /// Its name.
    pub name: String,
    /// Whether it is a treatment of the study as it stands.
    pub is_treatment: bool,
    /// What is told of the response.
    pub told: ResponseTold,
    /// What making it is expected to improve on the best so far.
    pub improvement: f64,
    /// The chance that it is better than the best so far.
    pub chance: f64,
    /// Limits that its best values don't keep, by name; none where all are kept.
    pub breaks: Vec<String>,
    /// Figures that can be told of it: bake \[min\], output \[kg/h\], cost of a kg.
    pub figures: [Option<f64>; 3],
}

/// Which formula to make for a response.
#[derive(Clone, Debug, Serialize)]
pub struct NextFormulas {
    /// The response's name and unit.
    pub response: (String, String),
    /// How it is told, in words, with what each model missed of formulas it hadn't seen.
    pub how: String,
    /// Batches it is learned from.
    pub batches: usize,
    /// The best formula so far by what is held of it, and its value.
    pub best: (String, f64),
    /// Those to make, in the order of making, each chosen as if those before it had come out as expected.
    pub pick: Vec<NextFormula>,
    /// Formulas that were looked at, and how many of them keep every limit.
    pub looked_at: (usize, usize),
}

/// Everything there is to say of what to try next.
#[derive(Clone, Debug, Default)]
pub struct Next {
    /// The bake: by each of the means.
    pub bake: Vec<(Means, NextBake)>,
    /// The treatment that is meant, and the fit that is stood on, if any.
    pub bake_of: (String, Option<String>),
    /// The doughs, what narrows most first.
    pub doughs: Vec<NextDough>,
    /// Responses that are measured in the study's trials: id and name.
    pub responses: Vec<(String, String)>,
    /// The formulas for the response that was asked for, or why there are none.
    pub formulas: Option<Result<NextFormulas, String>>,
}

impl Next {
    /// The whole as one document.
    pub fn document(&self) -> Value {
        let bake = self.bake.iter().map(|(means, n)| {
            json!({
                "means": means.name(), "minutes": n.readings.iter().map(|r| r.time_s / 60.0).collect::<Vec<_>>(),
                "height_mm": n.readings.first().and_then(|r| r.height_m).map(|m| 1000.0 * m),
                "sd_ln_before": n.sd_ln_before, "sd_ln": n.sd_ln, "time_min": n.time_s / 60.0,
            })
        });
        let (formulas, why) = match &self.formulas {
            Some(Ok(told)) => (Some(told), None),
            Some(Err(why)) => (None, Some(why)),
            None => (None, None),
        };
        json!({
            "bake_of": self.bake_of, "bake": bake.collect::<Vec<_>>(), "doughs": self.doughs,
            "responses": self.responses, "formulas": formulas, "why_no_formulas": why,
        })
    }
}

/// What of a response is to be learned.
#[derive(Clone, Debug)]
pub struct ResponseLearned {
    /// Its id.
    pub id: String,
    /// Its name and unit.
    pub response: (String, String),
    /// The model.
    pub model: ResponseModel,
    /// Which way is better.
    pub better: Better,
    /// Batches it is learned from.
    pub batches: usize,
    /// What it tells of each treatment of the study.
    pub of_treatments: Vec<(String, ResponseTold)>,
}

impl ResponseLearned {
    /// How it is told, in words.
    pub fn how(&self) -> String {
        let [straight, smooth] = self.model.missed;
        let three = measure::rounding::significant;
        format!(
            "{}: of formulas it hadn't seen the straight model missed {} (root mean square), the smooth one {}, where they \
             scatter by {}",
            self.model.shape.name(),
            three(straight, 2),
            three(smooth, 2),
            three(self.model.sd, 2)
        )
    }
}

/// A trial with its batches.
pub(crate) type OfTrial = (bench::Trial, Arc<[Made]>);

/// The batches that weren't given up.
pub(crate) fn standing(all: &[OfTrial]) -> impl Iterator<Item = &Made> {
    let made = all.iter().flat_map(|(_, made)| made.iter());
    made.filter(|m| m.state.abandoned.is_none())
}

/// The materials that any treatment has, in one order.
fn materials(study: &Study) -> Vec<String> {
    let lines = study.treatments.iter().flat_map(|t| t.formula.lines());
    let ids: BTreeSet<String> = lines
        .filter(|l| !l.material.is_water())
        .map(|l| l.material.id.clone())
        .collect();
    ids.into_iter().collect()
}

/// Where a formula lies: kg of each material per 100 kg dry mix, and the water.
fn place(treatment: &Treatment, materials: &[String]) -> Vec<f64> {
    let formula = treatment
        .formula
        .scaled(100.0 / treatment.formula.dry_mix());
    let of = |id: &String| {
        let lines = formula.lines().iter().filter(|l| l.material.id == *id);
        lines.map(|l| l.parts).sum::<f64>()
    };
    // A water that can't be told leaves the formula without it.
    let water = water_added(treatment).unwrap_or(0.0);
    materials.iter().map(of).chain([water]).collect()
}

impl App {
    /// The trials of a study with their batches, the newest trial first.
    pub(crate) async fn batches_of(&self, thing: &str) -> Result<Vec<OfTrial>, AppError> {
        let mut all = Vec::new();
        for line in self.trials(Some(thing)).await? {
            let view = self.trial(&line.entry.thing).await?;
            all.push((view.trial, view.made));
        }
        Ok(all)
    }

    /// What batches say of a response, as a figure of any formula between those that were made.
    ///
    /// # Errors
    /// A response that no trial measures; too few batches; what the book tells.
    pub async fn response_learned(
        &self,
        view: &StudyView,
        response: &str,
    ) -> Result<ResponseLearned, AppError> {
        let all = self.batches_of(&view.thing).await?;
        learned(view, &all, response)
    }

    /// What batches say of everything that was measured and isn't a count of the study itself, as figures of every
    /// treatment; or why one can't be told.
    ///
    /// # Errors
    /// What the book tells.
    pub async fn responses_learned(
        &self,
        view: &StudyView,
    ) -> Result<Vec<Result<ResponseLearned, (String, String)>>, AppError> {
        let all = self.batches_of(&view.thing).await?;
        let mut ids: Vec<(String, String)> = Vec::new();
        for (trial, made) in &all {
            for asked in &trial.responses {
                let new = !ids.iter().any(|(id, _)| *id == asked.id);
                if new && bench::is_measured(made, asked) {
                    ids.push((asked.id.clone(), asked.name.clone()));
                }
            }
        }
        let told = ids.into_iter().map(|(id, name)| {
            learned(view, &all, &id).map_err(|e| match e {
                AppError::Value { why, .. } => (name, why),
                other => (name, other.to_string()),
            })
        });
        Ok(told.collect())
    }

    /// What to try next: bakes, doughs, and formulas for a response where one is named.
    ///
    /// # Errors
    /// What the book tells; a study that can't be worked out.
    pub async fn next(
        &self,
        view: &StudyView,
        response: Option<&str>,
        batches: usize,
    ) -> Result<Next, AppError> {
        let Some(study) = view.study.clone() else {
            return Ok(Next::default());
        };
        let fits = self.fits(&view.thing).await?;
        let fit = fits.into_iter().map(|f| f.kept).find(|k| k.fit.holds());
        let all = self.batches_of(&view.thing).await?;
        let mut next = Next::default();
        for (trial, made) in &all {
            for asked in &trial.responses {
                let known = next.responses.iter().any(|(id, _)| *id == asked.id);
                if !known && bench::is_measured(made, asked) {
                    next.responses.push((asked.id.clone(), asked.name.clone()));
                }
            }
        }
        let learned = response.map(|r| learned(view, &all, r).map_err(|e| e.to_string()));
        let compared = view.answers.compared.clone();
        let batches = batches.clamp(1, MOST_BATCHES);
        let work = move || {
            let treatment = fit
                .as_ref()
                .and_then(|k| study.treatment(&k.treatment))
                .unwrap_or_else(|| study.control());
            let own = fit.as_ref().filter(|k| k.treatment == treatment.id);
            next.bake_of = (treatment.name.clone(), own.map(|k| k.name.clone()));
            next.bake = looked_at(treatment, own.map(|k| &k.fit))
                .map_or_else(|_| Vec::new(), |look| look.next);
            next.doughs = doughs(&study, &all, &compared);
            next.formulas = learned.map(|l| l.map(|l| formulas(&study, &l, &compared, batches)));
            next
        };
        tokio::task::spawn_blocking(work)
            .await
            .map_err(|e| AppError::BrokenOff(e.to_string()))
    }
}

fn learned(view: &StudyView, all: &[OfTrial], response: &str) -> Result<ResponseLearned, AppError> {
    let wrong = |why: String| AppError::Value {
        field: "response".to_owned(),
        why,
    };
    let Some(study) = view.study.as_deref() else {
        return Err(wrong("the study has problems; solve them first".to_owned()));
    };
    let materials = materials(study);
    let (mut points, mut of) = (Vec::new(), None);
    for (trial, made) in all {
        let Some(asked) = trial.responses.iter().find(|r| r.id == response) else {
            continue;
        };
        of.get_or_insert_with(|| (asked.name.clone(), asked.unit.clone()));
        // The newest say most of the doughs and ovens of now, and a model of more takes too long to wait for.
        for one in made.iter().rev() {
            if points.len() == MOST_POINTS || one.state.abandoned.is_some() {
                continue;
            }
            let Some(treatment) = study.treatment(&one.batch.treatment) else {
                continue;
            };
            let found = readings(&one.state, asked);
            let stands = found.iter().filter(|r| r.set_aside.is_none());
            let values: Vec<f64> = stands
                .map(|r| r.out_of.map_or(r.value, |n| 100.0 * r.value / n))
                .collect();
            if !values.is_empty() {
                points.push(Point {
                    at: place(treatment, &materials),
                    value: values.iter().sum::<f64>() / values.len() as f64,
                });
            }
        }
    }
    let Some(of) = of else {
        return Err(wrong(format!(
            "no trial of this study measures ‘{}’",
            crate::texts::shown(response)
        )));
    };
    let model = learn_response(&points).map_err(|e| wrong(e.to_string()))?;
    let known = Response::ALL.into_iter().find(|r| r.about().id == response);
    Ok(ResponseLearned {
        of_treatments: (study.treatments.iter())
            .map(|t| (t.name.clone(), model.at(&place(t, &materials))))
            .collect(),
        better: known.map_or(Better::Higher, |r| r.about().better),
        id: response.to_owned(),
        response: of,
        batches: points.len(),
        model,
    })
}

/// Doughs by what one titration of each takes off what isn't known of all needs.
fn doughs(study: &Study, all: &[OfTrial], compared: &[Compared]) -> Vec<NextDough> {
    let believed = water_believed(study);
    let taught = water_taught(&believed, standing(all).map(|m| (&m.batch, &m.state)));
    let noise = TITRATION.0.value.hypot(TITRATION.1.value);
    let model = match taught {
        Ok(Some(taught)) => Some(taught.after),
        _ => WaterModel::new(&believed, noise).ok(),
    };
    let Some(model) = model else {
        return Vec::new();
    };
    let amounts: Vec<Vec<f64>> = study
        .treatments
        .iter()
        .map(|t| {
            let need = formula::water::need(&t.formula, t.setting.process.forming);
            let own = water_model(&need, None, Sample::Centre).ok();
            let own = own.map_or_else(Vec::new, |(m, a)| m.names.into_iter().zip(a).collect());
            let of = |name: &String| {
                let found = own.iter().find(|(n, _): &&(String, f64)| n == name);
                found.map_or(0.0, |(_, a)| *a)
            };
            model.names.iter().map(of).collect()
        })
        .collect();
    let sd = |model: &WaterModel, a: &[f64]| model.predict(a).map_or(f64::NAN, |p| p.sd_mean_kg);
    let mean = |model: &WaterModel| {
        amounts.iter().map(|a| sd(model, a)).sum::<f64>() / amounts.len() as f64
    };
    let mut told: Vec<NextDough> = study
        .treatments
        .iter()
        .zip(&amounts)
        .filter_map(|(treatment, own)| {
            let expected = model.predict(own).ok()?.mean_kg.max(0.0);
            // What is taught doesn't hang on what comes out.
            let after = model.update(own, expected).ok()?.model;
            let answer = compared.iter().find(|c| c.answer.id == treatment.id);
            Some(NextDough {
                name: treatment.name.clone(),
                own_sd: [sd(&model, own), sd(&after, own)],
                all_sd: [mean(&model), mean(&after)],
                cost_per_kg: answer.and_then(|c| Figure::CostPerKg.value(&c.answer)),
            })
        })
        .collect();
    told.sort_by(|a, b| a.all_sd[1].total_cmp(&b.all_sd[1]));
    told
}

/// Formulas by what making them is expected to improve, within the limits.
fn formulas(
    study: &Study,
    learned: &ResponseLearned,
    compared: &[Compared],
    batches: usize,
) -> NextFormulas {
    let materials = materials(study);
    let mut all: Vec<(Treatment, bool)> =
        study.treatments.iter().map(|t| (t.clone(), true)).collect();
    let pairs = study.treatments.iter().enumerate();
    let pairs = pairs.flat_map(|(i, first)| {
        let rest = study.treatments[i + 1..].iter();
        rest.map(move |second| [first, second])
    });
    let mixtures = pairs.flat_map(|two| SHARES.iter().filter_map(move |s| blended(two, *s).ok()));
    let room = MOST_FORMULAS.saturating_sub(all.len());
    all.extend(mixtures.take(room).map(|t| (t, false)));
    // Formulas that only differ in what isn't in the formula are one.
    let mut seen: Vec<Vec<f64>> = Vec::new();
    all.retain(|(t, _)| {
        let at = place(t, &materials);
        let new = !seen.contains(&at);
        if new {
            seen.push(at);
        }
        new
    });
    let control = compared.first().map(|c| &c.answer);
    let told: Vec<Option<Compared>> = all
        .par_iter()
        .map_init(Workspace::new, |w, (treatment, is_treatment)| {
            if *is_treatment {
                let own = compared.iter().find(|c| c.answer.id == treatment.id);
                return own.cloned();
            }
            let run = run(treatment, &BakeOptions::QUICK, Sample::Centre, w).ok()?;
            let answer = Arc::new(knock_on(&run));
            let beside = control.map_or_else(|| Arc::clone(&answer), Arc::clone);
            Some(Compared::beside(answer, &beside))
        })
        .collect();
    let sign = if learned.better == Better::Lower {
        -1.0
    } else {
        1.0
    };
    let mut candidates: Vec<(Vec<f64>, NextFormula)> = Vec::new();
    for ((treatment, is_treatment), compared) in all.iter().zip(&told) {
        let Some(compared) = compared else { continue };
        let at = place(treatment, &materials);
        let broken = limits(study, std::slice::from_ref(compared))
            .into_iter()
            .filter(|(_, stands)| stands[0].kept == Some(false))
            .map(|(limit, _)| limit.figure.about().name.to_owned());
        let figure = |f: Figure| f.told(&compared.answer).ok();
        candidates.push((
            at.clone(),
            NextFormula {
                name: treatment.name.clone(),
                is_treatment: *is_treatment,
                told: learned.model.at(&at),
                improvement: 0.0,
                chance: 0.0,
                breaks: broken.collect(),
                figures: [Figure::BakeTime, Figure::Output, Figure::CostPerKg].map(figure),
            },
        ));
    }
    let keeping = |c: &(Vec<f64>, NextFormula)| c.1.breaks.is_empty();
    let kept = candidates.iter().filter(|c| keeping(c)).count();
    let made = candidates
        .iter()
        .filter(|c| learned.model.has(&c.0) && (kept == 0 || keeping(c)));
    let best = made.max_by(|a, b| (sign * a.1.told.mean).total_cmp(&(sign * b.1.told.mean)));
    let best = best.map_or((String::new(), f64::NAN), |b| {
        (b.1.name.clone(), b.1.told.mean)
    });
    let mut model = learned.model.clone();
    let mut open: Vec<(Vec<f64>, NextFormula)> =
        candidates.iter().filter(|c| keeping(c)).cloned().collect();
    let mut pick = Vec::new();
    while pick.len() < batches && !open.is_empty() {
        for (at, one) in &mut open {
            one.told = model.at(at);
            let (mean, sd) = (sign * one.told.mean, one.told.sd);
            one.improvement = expected_improvement(mean, sd, sign * best.1);
            let u = (mean - sign * best.1) / sd.max(1e-12);
            one.chance = trials::stats::distribution::normal_below(u);
        }
        let Some(first) = (0..open.len())
            .max_by(|a, b| open[*a].1.improvement.total_cmp(&open[*b].1.improvement))
        else {
            break;
        };
        let (at, one) = open.remove(first);
        // The next one is chosen as if this one had come out as expected.
        model = model.with(&Point {
            at,
            value: one.told.mean,
        });
        pick.push(one);
    }
    NextFormulas {
        response: learned.response.clone(),
        how: learned.how(),
        batches: learned.batches,
        best,
        pick,
        looked_at: (candidates.len(), kept),
    }
}
