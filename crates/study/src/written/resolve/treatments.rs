//! Treatments, each after the one it starts from.

use super::super::path::At;
use super::super::problem::{Problems, What};
use super::super::row::Row;
use super::super::tables::{RootRow, TreatmentRow};
use super::over::over;
use super::sections::{SECTIONS, Sections, only};
use super::{Aim, setting, unknown_treatment};
use crate::model::{Basis, Setting, Treatment, WaterChoice};
use formula::Material;
use std::collections::BTreeMap;
use std::rc::Rc;
use std::sync::Arc;

pub(super) type Own = BTreeMap<String, Arc<Material>>;

/// Every treatment in the order written; `None` when one of them can't be built.
pub(super) fn all(
    root: &RootRow<'_>,
    own: &Own,
    study: Option<&Setting>,
    aim: Option<&Aim>,
    problems: &mut Problems,
) -> Option<Vec<Treatment>> {
    let rows = &root.treatment.value;
    let treatments = At::WHOLE.key(RootRow::treatment.name);
    let mut work = Work {
        root,
        own,
        study,
        aim,
        sections: Rc::new(only(root.row)),
        done: vec![Done::NotYet; rows.len()],
    };
    for (i, row) in rows.iter().enumerate() {
        let Some(id) = row.id.value else { continue };
        if rows[..i].iter().any(|r| r.id.value == Some(id)) {
            let at = treatments.with_id(id);
            let two = What::TwoTreatments { id: id.to_owned() };
            problems.tell(&at.key(TreatmentRow::id.name), &row.id.place, two);
        }
    }
    for i in 0..rows.len() {
        work.build(i, problems);
    }
    if rows.is_empty() {
        if root.treatment.written {
            problems.tell(&treatments, &root.treatment.place, What::NoTreatments);
        }
        return None;
    }
    let built = work.done.into_iter().map(|d| match d {
        Done::Built(built) => Some(Rc::unwrap_or_clone(built).treatment),
        _ => None,
    });
    built.collect()
}

#[derive(Clone)]
enum Done {
    NotYet,
    Failed,
    Built(Rc<Built>),
}

/// A treatment with its sections merged, for those that start from it.
#[derive(Clone)]
struct Built {
    treatment: Treatment,
    sections: Rc<Row>,
}

pub(super) struct Work<'r, 'a> {
    pub root: &'r RootRow<'a>,
    pub own: &'r Own,
    study: Option<&'r Setting>,
    aim: Option<&'r Aim>,
    sections: Rc<Row>,
    done: Vec<Done>,
}

impl Work<'_, '_> {
    /// Builds a treatment after those that it starts from, however many these are.
    fn build(&mut self, i: usize, problems: &mut Problems) {
        let rows = &self.root.treatment.value;
        let base = |i: usize| {
            let from = rows[i].from.value?;
            rows.iter().position(|r| r.id.value == Some(from))
        };
        let mut chain = Vec::new();
        let mut next = Some(i);
        while let Some(i) =
            next.filter(|i| matches!(self.done[*i], Done::NotYet) && !chain.contains(i))
        {
            chain.push(i);
            next = base(i);
        }
        for n in (0..chain.len()).rev() {
            let built = self.treatment(&chain[..=n], problems);
            self.done[chain[n]] = built.map_or(Done::Failed, |built| Done::Built(Rc::new(built)));
        }
    }

    /// The last of a chain, each of which starts from the next.
    fn treatment(&self, chain: &[usize], problems: &mut Problems) -> Option<Built> {
        let i = *chain.last()?;
        let root = self.root;
        let row = &root.treatment.value[i];
        let id = row.id.value?;
        let whole = At::WHOLE;
        let at = whole.key(RootRow::treatment.name).with_id(id);
        let base = match row.from.value {
            Some(from) => Some(self.base(from, row, &at, chain, problems)?),
            None => None,
        };
        let below = base.as_ref().map(|(_, built)| &built.treatment);
        let basis = row.percent_of.value.or(below.map(|t| t.basis));
        let basis = basis.unwrap_or(Basis::Mix);
        let water = row.water.value.or(below.map(|t| t.water));
        let water = water.unwrap_or(WaterChoice::Given);
        let formula = match (below, row.lines.written) {
            (None, true) => {
                if row.changes.written {
                    let at = at.key(TreatmentRow::changes.name);
                    problems.tell(&at, &row.changes.place, What::ChangesAlone);
                }
                self.formula(row, basis, water, &at, problems)
                    .map(|f| (f, Vec::new()))
            }
            (Some(base), false) => self.changed(row, base, basis, &at, problems),
            (Some(_), true) => {
                problems.tell(&at, &row.from.place, What::FromAndLines);
                None
            }
            (None, false) => {
                if !row.lines.failed && !row.from.failed {
                    let what = What::NoFormula { id: id.to_owned() };
                    problems.tell(&at, &row.row.place, what);
                }
                None
            }
        };
        let writes: Vec<&'static str> = SECTIONS.into_iter().filter(|s| row.row.has(s)).collect();
        let mut sections = base.as_ref().map_or_else(
            || Rc::clone(&self.sections),
            |(_, b)| Rc::clone(&b.sections),
        );
        if !writes.is_empty() {
            sections = Rc::new(over(&sections, &only(row.row)));
        }
        setting::contradictions(&Sections::from(row), &at, problems);
        // One that writes nothing of its own has the setting of its base, so that a problem of the
        // study isn't told again at every treatment.
        let setting = match self.study {
            None => None,
            Some(study) if writes.is_empty() => Some(below.map_or(study, |b| &b.setting).clone()),
            Some(_) => {
                let merged = TreatmentRow::read(&sections)?;
                setting::from(&Sections::from(&merged), &at, problems)
            }
        };
        let mut own = below.map_or_else(Vec::new, |t| t.own.clone());
        own.extend(
            writes
                .iter()
                .filter(|s| !below.is_some_and(|t| t.own.contains(s))),
        );
        let (formula, changes) = formula?;
        let aim = self.aim?;
        Some(Built {
            treatment: Treatment {
                species: aim.species,
                currency: aim.currency.clone(),
                target: aim.target,
                id: id.to_owned(),
                name: row.name.value.unwrap_or(id).to_owned(),
                note: row.note.value.unwrap_or_default().to_owned(),
                from: base.as_ref().map(|(from, _)| *from),
                basis,
                water,
                formula,
                changes,
                setting: setting?,
                own,
            },
            sections,
        })
    }

    fn base(
        &self,
        from: &str,
        row: &TreatmentRow<'_>,
        at: &At<'_>,
        chain: &[usize],
        problems: &mut Problems,
    ) -> Option<(usize, Rc<Built>)> {
        let rows = &self.root.treatment.value;
        let at = at.key(TreatmentRow::from.name);
        let Some(i) = rows.iter().position(|r| r.id.value == Some(from)) else {
            unknown_treatment(from, rows, &at, &row.from, problems);
            return None;
        };
        match &self.done[i] {
            Done::Built(built) => Some((i, Rc::clone(built))),
            // Told at the treatment that failed.
            Done::Failed => None,
            Done::NotYet => {
                let round = chain.iter().skip_while(|c| **c != i);
                let ids = round.filter_map(|&i| rows[i].id.value);
                let ids = ids.map(str::to_owned).collect();
                problems.tell(&at, &row.from.place, What::TreatmentsInARound { ids });
                None
            }
        }
    }
}
