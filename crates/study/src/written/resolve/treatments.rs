//! Treatments, each after the one it starts from.

use super::super::problem::{Code, Problem};
use super::super::reader::Reader;
use super::super::row::Row;
use super::super::tables::TREATMENT;
use super::super::told::quote;
use super::setting::{self, SECTIONS};
use super::{Aim, all_named, chosen, line, oven, unknown_treatment};
use crate::model::{Basis, Setting, Treatment, WaterChoice};
use formula::Material;
use std::collections::BTreeMap;
use std::sync::Arc;

pub(super) type Own = BTreeMap<String, Arc<Material>>;

/// Every treatment in the order written; `None` when one of them can't be built.
pub(super) fn all(
    root: &Row,
    own: &Own,
    study: Option<&Setting>,
    aim: Option<&Aim>,
    reader: &mut Reader<'_>,
) -> Option<Vec<Treatment>> {
    let rows = root.rows("treatment");
    let mut work = Work {
        root,
        rows,
        own,
        study,
        aim,
        done: vec![Done::NotYet; rows.len()],
    };
    for (i, row) in rows.iter().enumerate() {
        let Some(id) = row.text("id") else { continue };
        if rows[..i].iter().any(|r| r.text("id") == Some(id)) {
            reader.tell(
                Problem::new(
                    Code::Duplicate,
                    row.place("id"),
                    format!("treatment[{id}].id"),
                    format!("there are two treatments {}", quote(id)),
                )
                .allowed("every id once")
                .suggest("give one of them another id"),
            );
        }
    }
    for i in 0..rows.len() {
        work.build(i, &mut Vec::new(), reader);
    }
    if rows.is_empty() {
        if root.has("treatment") {
            reader.tell(
                Problem::new(
                    Code::Missing,
                    root.place("treatment"),
                    "treatment",
                    "a study needs at least one treatment",
                )
                .suggest("add a section [[treatment]]"),
            );
        }
        return None;
    }
    work.done
        .into_iter()
        .map(|d| match d {
            Done::Built(b) => Some(b.treatment),
            _ => None,
        })
        .collect()
}

#[derive(Clone)]
enum Done {
    NotYet,
    Failed,
    Built(Box<Built>),
}

/// A treatment with its sections merged, for those that start from it.
#[derive(Clone)]
struct Built {
    treatment: Treatment,
    sections: Row,
}

pub(super) struct Work<'a> {
    pub root: &'a Row,
    rows: &'a [Row],
    pub own: &'a Own,
    study: Option<&'a Setting>,
    aim: Option<&'a Aim>,
    done: Vec<Done>,
}

impl Work<'_> {
    fn build(&mut self, i: usize, under_way: &mut Vec<usize>, reader: &mut Reader<'_>) {
        if !matches!(self.done[i], Done::NotYet) {
            return;
        }
        under_way.push(i);
        let built = self.treatment(i, under_way, reader);
        under_way.pop();
        self.done[i] = match built {
            Some(built) => Done::Built(Box::new(built)),
            None => Done::Failed,
        };
    }

    fn treatment(
        &mut self,
        i: usize,
        under_way: &mut Vec<usize>,
        reader: &mut Reader<'_>,
    ) -> Option<Built> {
        let rows = self.rows;
        let row = &rows[i];
        let id = row.text("id")?;
        let path = format!("treatment[{id}]");
        let base = match row.text("from") {
            Some(from) => Some(self.base(from, row, &path, under_way, reader)?),
            None => None,
        };
        let basis = row
            .text("percent_of")
            .and_then(|w| chosen(Basis::ALL, Basis::written, w))
            .or_else(|| base.as_ref().map(|(_, b)| b.treatment.basis))
            .unwrap_or(Basis::Mix);
        let water = row
            .text("water")
            .and_then(|w| chosen(WaterChoice::ALL, WaterChoice::written, w))
            .or_else(|| base.as_ref().map(|(_, b)| b.treatment.water))
            .unwrap_or(WaterChoice::Given);
        let formula = match (&base, row.has("lines")) {
            (None, true) => {
                if row.has("changes") {
                    reader.tell(
                        Problem::new(
                            Code::Contradiction,
                            row.place("changes"),
                            format!("{path}.changes"),
                            "changes need a treatment to start from",
                        )
                        .suggest("write from = \"…\" in place of lines, or leave the changes out"),
                    );
                }
                self.formula(row, basis, water, &path, reader)
                    .map(|f| (f, Vec::new()))
            }
            (Some((_, b)), false) => self.changed(row, &b.treatment, basis, &path, reader),
            (Some(_), true) => {
                reader.tell(
                    Problem::new(
                        Code::Contradiction,
                        row.place("from"),
                        path.clone(),
                        "`from` and `lines` exclude each other",
                    )
                    .allowed("lines alone, or from with changes")
                    .suggest("take one of them out"),
                );
                None
            }
            (None, false) if row.failed("lines") || row.failed("from") => None,
            (None, false) => {
                reader.tell(
                    Problem::new(
                        Code::Missing,
                        row.place.0.clone(),
                        path.clone(),
                        format!("treatment {} has no formula", quote(id)),
                    )
                    .allowed("lines, or from with changes")
                    .suggest("write lines = [ { material = \"…\", amount = … }, … ]"),
                );
                None
            }
        };
        let sections = self.sections(row, base.as_ref().map(|(_, b)| &b.sections));
        let setting = self.setting(
            row,
            base.as_ref().map(|(_, b)| &b.treatment),
            &sections,
            &path,
            reader,
        );
        let mut own = base
            .as_ref()
            .map_or_else(Vec::new, |(_, b)| b.treatment.own.clone());
        for section in SECTIONS {
            if row.has(section) && !own.contains(&section) {
                own.push(section);
            }
        }
        let (formula, changes) = formula?;
        let aim = self.aim?;
        Some(Built {
            treatment: Treatment {
                species: aim.species,
                currency: aim.currency.clone(),
                target: aim.target,
                id: id.to_owned(),
                name: row.text("name").unwrap_or(id).to_owned(),
                note: row.text("note").unwrap_or_default().to_owned(),
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
        &mut self,
        from: &str,
        row: &Row,
        path: &str,
        under_way: &mut Vec<usize>,
        reader: &mut Reader<'_>,
    ) -> Option<(usize, Box<Built>)> {
        let rows = self.rows;
        let Some(at) = rows.iter().position(|r| r.text("id") == Some(from)) else {
            if all_named(rows) {
                let ids = rows.iter().filter_map(|r| r.text("id"));
                reader.tell(unknown_treatment(
                    from,
                    ids,
                    &format!("{path}.from"),
                    row.place("from"),
                ));
            }
            return None;
        };
        if under_way.contains(&at) {
            let round: Vec<_> = under_way
                .iter()
                .filter_map(|&i| rows[i].text("id"))
                .collect();
            reader.tell(
                Problem::new(
                    Code::Circular,
                    row.place("from"),
                    format!("{path}.from"),
                    if round.len() == 1 {
                        format!("{} starts from itself", quote(from))
                    } else {
                        format!("{} start from each other", round.join(", "))
                    },
                )
                .suggest("write one of them out in full, with lines"),
            );
            return None;
        }
        self.build(at, under_way, reader);
        match &self.done[at] {
            Done::Built(built) => Some((at, built.clone())),
            // Told at the treatment that failed.
            _ => None,
        }
    }

    /// The setting of a treatment; one that writes nothing of its own has that of its base, so that
    /// a problem of the study isn't told again at every treatment.
    fn setting(
        &self,
        row: &Row,
        base: Option<&Treatment>,
        sections: &Row,
        path: &str,
        reader: &mut Reader<'_>,
    ) -> Option<Setting> {
        if let Some(piece) = row.row("piece") {
            setting::idle_measures(piece, &format!("{path}.piece"), reader);
        }
        if let Some(row) = row.row("oven") {
            oven::contradictions(row, &format!("{path}.oven"), reader);
        }
        if let Some(row) = row.row("line") {
            line::idle_measures(row, &format!("{path}.line"), reader);
        }
        let study = self.study?;
        if SECTIONS.iter().any(|s| row.has(s)) {
            return setting::from(sections, path, reader);
        }
        Some(base.map_or(study, |b| &b.setting).clone())
    }

    /// The sections of a treatment: its own over those it starts from, else over the study's.
    fn sections(&self, row: &Row, base: Option<&Row>) -> Row {
        let mut below = Row::new(&TREATMENT);
        below.place = row.place.clone();
        for entry in base
            .unwrap_or(self.root)
            .entries
            .iter()
            .filter(|e| SECTIONS.contains(&e.key))
        {
            below.push(entry.clone());
        }
        let mut own = row.clone();
        own.entries.retain(|e| SECTIONS.contains(&e.key));
        setting::over(&below, &own)
    }
}
