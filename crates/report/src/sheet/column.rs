//! A treatment as it stands in the sheet.

use super::Per;
use formula::Stage;
use std::collections::HashMap;
use study::model::WaterChoice;
use study::views::knock_on::KnockOn;
use study::{Compared, Study};

/// A treatment as it stands in the sheet.
pub(super) struct Column<'a> {
    pub compared: &'a Compared,
    /// Amount by stage and material; none when the basis has no meaning for the formula.
    pub amounts: Option<HashMap<(Stage, String), f64>>,
    pub lines: Vec<(Stage, String, String, bool)>,
    pub need: Option<(f64, f64, f64)>,
    pub water_from_need: bool,
}

impl<'a> Column<'a> {
    pub fn new(study: &Study, compared: &'a Compared, per: Per) -> Self {
        let answer = &compared.answer;
        let Some(treatment) = study.treatment(&answer.id) else {
            return Self {
                compared,
                amounts: None,
                lines: Vec::new(),
                need: None,
                water_from_need: false,
            };
        };
        // The formula as it is made: with the water that the answer was worked out for.
        let with = |water: f64| treatment.formula.with_water(water).ok();
        let made = with(answer.dough.water_added_kg_per_100kg_dry_mix)
            .unwrap_or_else(|| treatment.formula.clone());
        let water = |kg: f64| {
            let formula = with(kg)?;
            let amounts = per.amounts(&formula)?;
            Some(
                formula
                    .lines()
                    .iter()
                    .zip(amounts)
                    .filter(|(l, _)| l.material.is_water())
                    .map(|(_, a)| a)
                    .sum(),
            )
        };
        let need = answer.dough.water_need;
        let need = match per {
            Per::DryMatter => None,
            Per::Mix | Per::Flour => water(need.mean)
                .zip(water(need.low95))
                .zip(water(need.high95))
                .map(|((m, l), h)| (m, l, h)),
        };
        let lines: Vec<_> = made
            .lines()
            .iter()
            .map(|l| {
                (
                    l.stage,
                    l.material.id.clone(),
                    l.material.name.clone(),
                    l.material.is_water(),
                )
            })
            .collect();
        let amounts = per.amounts(&made).map(|a| {
            lines
                .iter()
                .zip(a)
                .map(|(l, a)| ((l.0, l.1.clone()), a))
                .collect()
        });
        Self {
            compared,
            amounts,
            lines,
            need,
            water_from_need: treatment.water == WaterChoice::FromNeed,
        }
    }

    pub fn answer(&self) -> &'a KnockOn {
        &self.compared.answer
    }

    pub fn amount(&self, stage: Stage, id: &str) -> Option<f64> {
        self.amounts
            .as_ref()?
            .get(&(stage, id.to_owned()))
            .copied()
            .filter(|a| *a > 0.0)
    }
}
