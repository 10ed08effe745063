//! A trial planned and kept: its runs drawn, its treatments pinned to the study as saved, its batches made.

use crate::reading::reading;
use crate::studies::lasting_name;
use crate::texts::shown;
use crate::{App, AppError, now};
use bench::{
    Asked, BATCH_FORM_VERSION, Batch, Drinks, Place, PlanKept, TRIAL_FORM_VERSION, Trial, trial_of,
};
use book::{Kind, Save, SaveError};
use std::collections::HashMap;
use std::sync::Arc;
use study::chain::dough_and_piece::{DoughAndPiece, dough_and_piece};
use study::chain::learned::water_model;
use study::model::LearnedWater;
use study::{BakeOptions, Sample, Study, Treatment};
use trials::plan::{Request, RunSheet, Unit, plan};

/// Most good pieces that are wanted of one batch.
const MOST_PIECES: u32 = 1_000_000;

/// What a person wants planned.
#[derive(Clone, Debug)]
pub struct TrialAsked {
    /// What the trial is called; its lasting name comes from it.
    pub name: String,
    /// What it wants to know.
    pub question: String,
    /// Lasting name of the study.
    pub study: String,
    /// The design with its counts.
    pub wish: Request,
    /// What gets a treatment on its own.
    pub unit: Unit,
    /// The seed of the order.
    pub seed: u64,
    /// The control, by its name in the study or in the plan.
    pub control: Option<String>,
    /// What is measured.
    pub responses: Vec<Asked>,
    /// Good pieces wanted of each batch.
    pub pieces: Option<u32>,
    /// Share of dough and pieces lost on the way, %.
    pub loss_pct: f64,
    /// Whether sheets call the treatments by codes.
    pub blind: bool,
}

/// What a batch weighs and drinks by the study.
struct Recipe {
    made: DoughAndPiece,
    /// What was learned of the water and taken up.
    taught: Option<LearnedWater>,
}

impl Recipe {
    fn of(treatment: &Treatment) -> Result<Self, AppError> {
        let made = dough_and_piece(treatment, &BakeOptions::QUICK, Sample::Centre);
        let made = made.map_err(|e| AppError::Value {
            field: format!("treatment {}", treatment.id),
            why: e.to_string(),
        })?;
        let taken_up = treatment.setting.learned.as_ref();
        let taught = taken_up.and_then(|l| l.water.clone());
        Ok(Self { made, taught })
    }

    fn fill(&self, batch: &mut Batch, pieces: Option<u32>, loss_pct: f64) -> Result<(), AppError> {
        let made = &self.made;
        let wrong = |why: String| AppError::Value {
            field: format!("batch {}", batch.code),
            why,
        };
        let (model, amounts) = water_model(&made.need, self.taught.as_ref(), Sample::Centre)
            .map_err(|e| wrong(e.to_string()))?;
        let predicted = model.predict(&amounts).map_err(|e| wrong(e.to_string()))?;
        // The consistency that is wanted scales the whole need.
        let stiff = if predicted.mean_kg > 0.0 {
            made.need.mean / predicted.mean_kg
        } else {
            1.0
        };
        let sds = model.sd();
        batch.drinks = (model.names.iter().zip(&amounts))
            .zip(model.mean.iter().zip(&sds))
            .map(|((name, amount), (mean, sd))| Drinks {
                name: name.clone(),
                kg_per_100kg: *amount,
                uptake_kg_per_kg: stiff * mean,
                uptake_sd: stiff * sd,
            })
            .collect();
        batch.titration_sd_kg = Some(stiff * model.titration_sd_kg);
        batch.pieces = pieces;
        if let Some(pieces) = pieces {
            let dough_kg = f64::from(pieces) * made.green_kg / (1.0 - loss_pct / 100.0);
            batch.dough_kg = Some(dough_kg);
            batch.dry_mix_kg = Some(dough_kg * made.formula.dry_mix() / made.formula.total());
        }
        Ok(())
    }
}

/// The name in the study of a label of the plan: a treatment's short name or its name.
fn name_in(study: &Study, label: &str) -> Option<String> {
    let wanted = label.trim();
    let found = study
        .treatments
        .iter()
        .find(|t| t.id.eq_ignore_ascii_case(wanted) || t.name.eq_ignore_ascii_case(wanted));
    found.map(|t| t.id.clone())
}

fn draw(asked: &TrialAsked) -> Result<RunSheet, AppError> {
    plan(&asked.wish, asked.unit, asked.seed).map_err(|e| AppError::Value {
        field: "plan".to_owned(),
        why: e.to_string().trim_end_matches('.').to_owned(),
    })
}

/// Whether so many pieces can be wanted of a batch, and so much lost on the way.
fn size_checked(pieces: Option<u32>, loss_pct: f64) -> Result<(), AppError> {
    let wrong = |field: &str, why: String| AppError::Value {
        field: field.to_owned(),
        why,
    };
    if !(0.0..=90.0).contains(&loss_pct) {
        let why = format!("{loss_pct} % can’t be; give 0 to 90");
        return Err(wrong("lost on the way", why));
    }
    match pieces {
        Some(0) => Err(wrong("pieces", "give 1 or more".to_owned())),
        Some(n) if n > MOST_PIECES => {
            let why = format!("{n} are too many for one batch; at most {MOST_PIECES}");
            Err(wrong("pieces", why))
        }
        _ => Ok(()),
    }
}

fn checked(asked: &TrialAsked, sheet: &RunSheet) -> Result<(), AppError> {
    let wrong = |field: &str, why: String| {
        Err(AppError::Value {
            field: field.to_owned(),
            why,
        })
    };
    match asked.name.trim().chars().count() {
        0 => return wrong("name", "give the trial a name".to_owned()),
        n if n > 200 => return wrong("name", format!("it has {n} letters; at most 200")),
        _ => {}
    }
    size_checked(asked.pieces, asked.loss_pct)?;
    if asked.responses.is_empty() {
        return wrong(
            "responses",
            "choose at least one that is measured".to_owned(),
        );
    }
    if i64::try_from(asked.seed).is_err() {
        return wrong(
            "seed",
            format!("{} is too large; give at most {}", asked.seed, i64::MAX),
        );
    }
    let heads = sheet.headings();
    for (i, response) in asked.responses.iter().enumerate() {
        let same = |r: &Asked| r.id.eq_ignore_ascii_case(&response.id);
        if response.id.is_empty() || asked.responses[..i].iter().any(same) {
            return wrong(
                "responses",
                format!("‘{}’ is there twice, or has no name", response.name),
            );
        }
        if heads.iter().any(|h| h.eq_ignore_ascii_case(&response.id)) {
            return wrong(
                "responses",
                format!(
                    "‘{}’ is a column of the plan; call it otherwise",
                    response.id
                ),
            );
        }
    }
    Ok(())
}

/// A batch on its own, as a person wants it begun.
#[derive(Clone, Debug)]
pub struct BatchAsked {
    /// Lasting name of the study.
    pub study: String,
    /// The treatment, by its short name or its name.
    pub treatment: String,
    /// Good pieces wanted.
    pub pieces: Option<u32>,
    /// Share of dough and pieces lost on the way, %.
    pub loss_pct: f64,
}

impl App {
    /// Begins a batch that belongs to no trial: one mixing of a treatment of a study as it was last saved. Gives its lasting
    /// name, made of the day and the treatment.
    ///
    /// # Errors
    /// No such study or treatment, or one that can’t be worked out; what the book tells.
    pub async fn keep_batch(&self, who: &str, asked: &BatchAsked) -> Result<String, AppError> {
        size_checked(asked.pieces, asked.loss_pct)?;
        let newest = self
            .book()
            .newest(Kind::Study, &asked.study)
            .await?
            .ok_or_else(|| AppError::NoStudy(shown(&asked.study)))?;
        let study = resolved(&newest.form)?;
        let named = name_in(&study, &asked.treatment).and_then(|id| study.treatment(&id));
        let treatment = named.ok_or_else(|| AppError::Value {
            field: "treatment".to_owned(),
            why: format!(
                "the study has no ‘{}’; it has {}",
                shown(&asked.treatment),
                study
                    .treatments
                    .iter()
                    .map(|t| t.id.as_str())
                    .collect::<Vec<_>>()
                    .join(", ")
            ),
        })?;
        let when = now();
        let day: String = when.chars().take(10).collect();
        let same_day = self.batch_ends().await?;
        let before = same_day.keys().filter(|thing| thing.starts_with(&day));
        let stem = lasting_name(&format!("{day}-{}", treatment.id));
        let thing = self.book().free_name(Kind::Batch, &stem).await?;
        let mut batch = Batch {
            // Month and day, and which batch of that day.
            code: format!(
                "{}-{}",
                day.get(5..).unwrap_or_default().replace('-', ""),
                1 + before.count()
            ),
            trial: None,
            study: asked.study.clone(),
            revision: newest.entry.number,
            hash: newest.entry.hash.clone(),
            treatment: treatment.id.clone(),
            label: treatment.name.clone(),
            order: None,
            places: vec![Place {
                name: "day".to_owned(),
                value: day,
            }],
            settings: Vec::new(),
            pieces: None,
            dough_kg: None,
            dry_mix_kg: None,
            titration_sd_kg: None,
            drinks: Vec::new(),
            responses: Vec::new(),
        };
        Recipe::of(treatment)?.fill(&mut batch, asked.pieces, asked.loss_pct)?;
        let title = format!("{} of no trial: {}", batch.code, batch.label);
        let form = batch_form(&batch)?;
        let save = save(Kind::Batch, &thing, who, &when, &title, form);
        self.book()
            .save_all(vec![save])
            .await
            .map_err(|e| match e {
                SaveError::Stale { .. } => AppError::Busy,
                other => other.into(),
            })?;
        Ok(thing)
    }

    /// The runs that a wish gives, drawn anew each time alike; nothing is kept.
    ///
    /// # Errors
    /// What keeps it from being drawn.
    pub fn drawn(&self, asked: &TrialAsked) -> Result<RunSheet, AppError> {
        draw(asked)
    }

    /// The short name of a study's control, as it was last saved.
    ///
    /// # Errors
    /// No such study, or one that can't be worked out; what the book tells.
    pub async fn control_of(&self, study: &str) -> Result<Option<String>, AppError> {
        let newest = self.book().newest(Kind::Study, study).await?;
        let newest = newest.ok_or_else(|| AppError::NoStudy(shown(study)))?;
        Ok(Some(resolved(&newest.form)?.control().id.clone()))
    }

    /// Keeps a trial with its batches, all in one transaction, pinned to the study as it was last saved. Gives the
    /// lasting name. `id` is the lasting name that is wanted; without one it comes from the name.
    ///
    /// # Errors
    /// What keeps it from being drawn; no such study, or one that can't be worked out; a name that is taken; what the
    /// book tells.
    pub async fn keep_trial(
        &self,
        who: &str,
        asked: &TrialAsked,
        id: Option<&str>,
    ) -> Result<String, AppError> {
        let sheet = draw(asked)?;
        checked(asked, &sheet)?;
        let newest = self
            .book()
            .newest(Kind::Study, &asked.study)
            .await?
            .ok_or_else(|| AppError::NoStudy(shown(&asked.study)))?;
        let study = resolved(&newest.form)?;
        let stem = match id {
            Some(id) if lasting_name(id) != id => {
                return Err(AppError::Value {
                    field: "lasting name".to_owned(),
                    why: format!(
                        "‘{}’ has other signs than small letters, digits and hyphens",
                        shown(id)
                    ),
                });
            }
            Some(id) => id.to_owned(),
            None => lasting_name(&asked.name),
        };
        let thing = match id {
            Some(id) if self.book().newest(Kind::Trial, id).await?.is_some() => {
                return Err(AppError::Value {
                    field: "lasting name".to_owned(),
                    why: format!("there is a trial ‘{}’ already; choose another", shown(id)),
                });
            }
            _ => self.book().free_name(Kind::Trial, &stem).await?,
        };
        let labels: Vec<&str> = sheet.runs.iter().map(|r| r.treatment.as_str()).collect();
        let names: Vec<(String, String)> = labels
            .iter()
            .filter_map(|l| Some(((*l).to_owned(), name_in(&study, l)?)))
            .collect();
        let control = asked.control.as_deref().map(|c| {
            let named = name_in(&study, c);
            let same = |l: &&&str| {
                l.eq_ignore_ascii_case(c) || name_in(&study, l) == named && named.is_some()
            };
            labels.iter().find(same).map_or(c, |l| l).to_owned()
        });
        let kept = PlanKept {
            id: thing.clone(),
            name: asked.name.trim().to_owned(),
            question: asked.question.trim().to_owned(),
            study: asked.study.clone(),
            revision: newest.entry.number,
            hash: newest.entry.hash.clone(),
            control,
            names,
            responses: asked.responses.clone(),
            blind: asked.blind,
        };
        let (mut trial, mut batches) = trial_of(&sheet, &asked.wish, &kept);
        trial.invented = study.invented;
        for pinned in &mut trial.treatments {
            let named = pinned.treatment.as_deref();
            let found = named.and_then(|id| study.treatment(id));
            pinned.title = found.map(|t| t.name.clone());
        }
        fill(&study, asked, &mut batches)?;
        let when = now();
        let mut saves = vec![save(
            Kind::Trial,
            &thing,
            who,
            &when,
            &trial.name,
            trial_form(&trial)?,
        )];
        for (batch_thing, batch) in &batches {
            let title = format!("{} of {}: {}", batch.code, trial.name, batch.label);
            saves.push(save(
                Kind::Batch,
                batch_thing,
                who,
                &when,
                &title,
                batch_form(batch)?,
            ));
        }
        self.book().save_all(saves).await.map_err(|e| match e {
            SaveError::Stale { .. } => AppError::Busy,
            other => other.into(),
        })?;
        Ok(thing)
    }
}

pub(crate) fn resolved(form: &str) -> Result<Arc<Study>, AppError> {
    let read = reading(form)?;
    let resolved = read.resolved();
    resolved.study.clone().ok_or_else(|| AppError::Unreadable {
        text: form.to_owned(),
        problems: resolved.problems.clone(),
    })
}

/// Fills in what each batch weighs and drinks. Settings that the study doesn't have are made by its control.
fn fill(
    study: &Study,
    asked: &TrialAsked,
    batches: &mut [(String, Batch)],
) -> Result<(), AppError> {
    let mut recipes: HashMap<String, Recipe> = HashMap::new();
    for (_, batch) in batches {
        let treatment = study.treatment(&batch.treatment).unwrap_or(study.control());
        if batch.treatment.is_empty() {
            batch.treatment.clone_from(&treatment.id);
        }
        if !recipes.contains_key(&treatment.id) {
            recipes.insert(treatment.id.clone(), Recipe::of(treatment)?);
        }
        if let Some(recipe) = recipes.get(&treatment.id) {
            recipe.fill(batch, asked.pieces, asked.loss_pct)?;
        }
    }
    Ok(())
}

pub(crate) fn trial_form(trial: &Trial) -> Result<String, AppError> {
    trial.write().map_err(|e| unwritten("trial", &e))
}

pub(crate) fn batch_form(batch: &Batch) -> Result<String, AppError> {
    batch.write().map_err(|e| unwritten("batch", &e))
}

fn unwritten(field: &str, error: &bench::FormError) -> AppError {
    AppError::Value {
        field: field.to_owned(),
        why: error.to_string(),
    }
}

pub(crate) fn save(
    kind: Kind,
    thing: &str,
    who: &str,
    when: &str,
    title: &str,
    form: String,
) -> Save {
    Save {
        kind,
        thing: thing.to_owned(),
        base: None,
        who: who.to_owned(),
        when: when.to_owned(),
        why: None,
        title: title.to_owned(),
        form_version: if kind == Kind::Trial {
            TRIAL_FORM_VERSION
        } else {
            BATCH_FORM_VERSION
        },
        form,
    }
}
