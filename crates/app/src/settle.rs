//! Two changed the same revision: what touches other cells comes together by itself, and of a cell that both wrote
//! somebody chooses.

use crate::cells::{joined, named, way_of_list};
use crate::changes::{Change, amount, diff, told, words};
use crate::drafts::{Asked, Becomes, Standing};
use crate::reading::readable;
use crate::sheet::StudyView;
use crate::{App, AppError};
use serde::Serialize;
use std::collections::BTreeMap;
use study::written::tables::{FormulaLineRow, TreatmentRow};
use study::written::{Entry, Row, StudyWritten, Value};

/// Whose writing of a cell is to stand.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Side {
    /// What this person typed.
    Typed,
    /// What stands in the book now.
    Stands,
}

impl Side {
    /// Both.
    pub const ALL: [Self; 2] = [Self::Stands, Self::Typed];

    /// The word in forms.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Typed => "typed",
            Self::Stands => "stands",
        }
    }
}

/// What was chosen, by the way to a cell.
pub type Choices = BTreeMap<String, Side>;

/// A cell that both wrote.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct BothWrote {
    /// The way to it, by which it is chosen.
    pub way: String,
    /// The same in words, such as `Barley for wheat · salt`.
    pub what: String,
    /// What it was when both began; none where there was nothing.
    pub was: Option<String>,
    /// What stands there now; none where it was taken out.
    pub stands: Option<String>,
    /// What was typed; none where it was taken out.
    pub typed: Option<String>,
}

/// How two changes of the same revision come together.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Settling {
    /// Cells that both wrote.
    pub both: Vec<BothWrote>,
    /// What the other changed and comes in by itself.
    pub comes_in: Vec<Change>,
    /// What this person changed and stays.
    pub stays: Vec<Change>,
}

/// How what was typed on a revision and what stands now come together.
///
/// # Errors
/// A text that can't be read.
pub fn settling(base: &str, stands: &str, typed: &str) -> Result<Settling, AppError> {
    let (base, stands, typed) = (readable(base)?, readable(stands)?, readable(typed)?);
    let joined = |side| together(&base, &stands, &typed, &|_| Some(side));
    let (mine, both) = joined(Side::Typed);
    let (other, _) = joined(Side::Stands);
    Ok(Settling {
        both,
        comes_in: diff(&typed, &mine),
        stays: diff(&stands, &other),
    })
}

impl App {
    /// Puts what was typed on top of what somebody else saved meanwhile: each cell that both wrote as it was chosen, the
    /// rest by itself. `seen` is the revision that was looked at. It is kept as a draft, to be saved.
    ///
    /// # Errors
    /// A cell that nobody chose; [`AppError::Unseen`] where somebody saved once more; what the book tells.
    pub async fn settle(
        &self,
        who: &str,
        thing: &str,
        seen: u64,
        choices: &Choices,
    ) -> Result<StudyView, AppError> {
        let asked = Asked::Settled { seen, choices };
        self.change(who, thing, &seen.into(), asked).await
    }

    pub(crate) async fn settled(
        &self,
        thing: &str,
        seen: u64,
        choices: &Choices,
        stood: &Standing,
    ) -> Result<Becomes, AppError> {
        if stood.newest.number != seen {
            return Err(AppError::Unseen);
        }
        if stood.draft.is_none() || stood.base == seen {
            return Err(AppError::NothingTo("settle"));
        }
        let base = readable(&self.form_at(thing, stood.base).await?)?;
        let stands = readable(&self.form_at(thing, seen).await?)?;
        let typed = readable(&stood.text)?;
        let (written, both) = together(&base, &stands, &typed, &|way| choices.get(way).copied());
        if let Some(cell) = both.iter().find(|c| !choices.contains_key(&c.way)) {
            return Err(AppError::Value {
                field: cell.what.clone(),
                why: "both wrote here; choose what is to stand".to_owned(),
            });
        }
        Ok(Becomes {
            base: seen,
            written,
        })
    }
}

/// Three versions of something: what both began with, what stands, what was typed.
type Three<'a, T> = [Option<&'a T>; 3];

struct Together<'c> {
    choose: &'c dyn Fn(&str) -> Option<Side>,
    both: Vec<(String, [Option<String>; 3])>,
}

/// A study in which what both wrote is as chosen (as typed where nobody chose), and what both wrote.
fn together(
    base: &StudyWritten,
    stands: &StudyWritten,
    typed: &StudyWritten,
    choose: &dyn Fn(&str) -> Option<Side>,
) -> (StudyWritten, Vec<BothWrote>) {
    let mut t = Together {
        choose,
        both: Vec::new(),
    };
    let root = t.rows(
        [Some(&base.root), Some(&stands.root), Some(&typed.root)],
        "",
    );
    let written = StudyWritten {
        root: root.unwrap_or_else(|| stands.root.clone()),
        end: stands.end.clone(),
    };
    let told = |(way, [was, stands, typed]): (String, [Option<String>; 3])| BothWrote {
        what: in_words(&way, base),
        way,
        was,
        stands,
        typed,
    };
    (written, t.both.into_iter().map(told).collect())
}

impl Together<'_> {
    /// What becomes of something that both changed in different ways and that has no parts.
    fn chosen<'a, T>(
        &mut self,
        way: &str,
        of: Three<'a, T>,
        tell: fn(&T) -> String,
    ) -> Option<&'a T> {
        self.both.push((way.to_owned(), of.map(|v| v.map(tell))));
        match (self.choose)(way) {
            Some(Side::Stands) => of[1],
            _ => of[2],
        }
    }

    /// Tables, key by key.
    fn rows(&mut self, of: Three<'_, Row>, way: &str) -> Option<Row> {
        let [_, stands, typed] = of;
        let mut out = Row::new(stands.or(typed)?.table);
        out.comment = stands.or(typed)?.comment.clone();
        for key in out.table.keys() {
            let entries = of.map(|row| row.and_then(|r| r.entry(key)));
            out.entries.extend(self.entry(entries, key, way));
        }
        Some(out)
    }

    fn entry(&mut self, of: Three<'_, Entry>, key: &str, way: &str) -> Option<Entry> {
        let [was, stands, typed] = of;
        let value = |e: Option<&Entry>| e.map(|e| e.value.clone());
        if value(stands) == value(typed) || value(typed) == value(was) {
            return stands.cloned();
        }
        if value(stands) == value(was) {
            return typed.cloned();
        }
        let here = joined(way, key);
        let mut out = stands.or(typed)?.clone();
        let table = |e: Option<&Entry>| e.is_none_or(|e| matches!(e.value, Value::Row(_)));
        let list = |e: Option<&Entry>| e.is_none_or(|e| matches!(e.value, Value::Rows(_)));
        if stands.is_some() && typed.is_some() && of.into_iter().all(table) {
            out.value = Value::Row(self.rows(of.map(row_of), &here)?);
        } else if of.into_iter().all(list) {
            let rows = self.lists(of.map(rows_of), way_of_list(key, way, &here));
            if rows.is_empty() {
                return None;
            }
            out.value = Value::Rows(rows);
        } else {
            return self.chosen(&here, of, |e| told(&e.value)).cloned();
        }
        Some(out)
    }

    /// Lists, row by row: in the order of whoever changed it, with the rows of the other after those that they follow.
    fn lists(&mut self, of: [&[Row]; 3], way: &str) -> Vec<Row> {
        let [was, stands, typed] = of.map(named);
        let names =
            |list: &[(String, &Row)]| list.iter().map(|(n, _)| n.clone()).collect::<Vec<_>>();
        let (old, there, here) = (names(&was), names(&stands), names(&typed));
        let same_order = |list: &[String]| {
            let kept: Vec<&String> = list.iter().filter(|n| old.contains(n)).collect();
            let left: Vec<&String> = old.iter().filter(|n| list.contains(n)).collect();
            kept == left
        };
        let (mut order, other) = if same_order(&there) {
            (here, there)
        } else {
            (there, here)
        };
        for (i, name) in other.iter().enumerate() {
            if !order.contains(name) {
                let after = i
                    .checked_sub(1)
                    .and_then(|b| order.iter().position(|n| *n == other[b]));
                order.insert(after.map_or(0, |a| a + 1).min(order.len()), name.clone());
            }
        }
        let find = |list: &[(String, &Row)], name: &str| list.iter().position(|(n, _)| n == name);
        let mut out = Vec::new();
        for name in order {
            let of = [&was, &stands, &typed].map(|l| find(l, &name).map(|i| l[i].1));
            out.extend(self.item(of, &joined(way, &name)));
        }
        out
    }

    fn item(&mut self, of: Three<'_, Row>, way: &str) -> Option<Row> {
        match of {
            [_, Some(_), Some(_)] => self.rows(of, way),
            // Taken out by one and left as it was by the other.
            [Some(was), Some(one), None] | [Some(was), None, Some(one)] if was == one => None,
            [None, one, None] | [None, None, one] => one.cloned(),
            _ => self.chosen(way, of, amount).cloned(),
        }
    }
}

fn row_of(entry: Option<&Entry>) -> Option<&Row> {
    match &entry?.value {
        Value::Row(row) => Some(row),
        _ => None,
    }
}

fn rows_of(entry: Option<&Entry>) -> &[Row] {
    match entry.map(|e| &e.value) {
        Some(Value::Rows(rows)) => rows,
        _ => &[],
    }
}

/// The way to a cell as a person reads it: names for short names, without what goes without saying.
fn in_words(way: &str, study: &StudyWritten) -> String {
    let plain = [TreatmentRow::lines.name, FormulaLineRow::amount.name];
    let parts = way.split(" · ").filter(|p| !plain.contains(p));
    let word = |part: &str| {
        let treatment = study
            .treatment(part)
            .and_then(|t| t.get(TreatmentRow::name));
        treatment.map_or_else(|| words(part), str::to_owned)
    };
    parts.map(word).collect::<Vec<_>>().join(" · ")
}

#[cfg(test)]
mod tests {
    use super::*;
    use study::edit::{Edit, apply};
    use study::written::{read_written, write};

    fn amount_of(treatment: &str, material: &str, amount: f64) -> Edit {
        Edit::SetAmount {
            treatment: treatment.into(),
            material: material.into(),
            amount,
        }
    }

    fn with(edits: &[Edit]) -> StudyWritten {
        let start = read_written(crate::DEMONSTRATION).unwrap();
        edits.iter().fold(start, |w, e| apply(&w, e).unwrap())
    }

    fn come_together(
        stands: &[Edit],
        typed: &[Edit],
        side: Option<Side>,
    ) -> (StudyWritten, Vec<BothWrote>) {
        together(&with(&[]), &with(stands), &with(typed), &|_| side)
    }

    #[test]
    fn what_touches_other_cells_comes_together_by_itself() {
        let salt = amount_of("barley", "salt", 0.5);
        let molasses = amount_of("control", "molasses", 2.5);
        let gone = Edit::RemoveTreatment {
            treatment: "rice_chickpea_egg".into(),
        };
        let note = Edit::SetNote {
            treatment: Some("barley".into()),
            note: "drinks more".into(),
        };
        let gone = if apply(&with(&[]), &gone).is_ok() {
            vec![gone]
        } else {
            Vec::new()
        };
        let theirs = [vec![salt.clone()], gone.clone()].concat();
        let (written, both) = come_together(&theirs, &[molasses.clone(), note.clone()], None);
        assert!(both.is_empty(), "{both:?}");
        let all = [vec![salt], gone, vec![molasses, note]].concat();
        assert!(diff(&with(&all), &written).is_empty());
        // It is read again as it was written.
        assert_eq!(read_written(&write(&written)).unwrap(), written);
        // The same from both is no question, and who changed nothing loses nothing.
        let (written, both) = come_together(&all, &all, None);
        assert!(both.is_empty() && diff(&with(&all), &written).is_empty());
        let (written, both) = come_together(&[], &all, None);
        assert!(both.is_empty() && diff(&with(&all), &written).is_empty());
    }

    #[test]
    fn a_cell_that_both_wrote_is_as_chosen() {
        let (theirs, mine) = (
            amount_of("control", "salt", 0.4),
            amount_of("control", "salt", 0.5),
        );
        for (side, stands) in [(Side::Stands, 0.4), (Side::Typed, 0.5)] {
            let (written, both) = come_together(
                std::slice::from_ref(&theirs),
                std::slice::from_ref(&mine),
                Some(side),
            );
            assert_eq!(both.len(), 1, "{both:?}");
            assert_eq!(
                (
                    both[0].was.as_deref(),
                    both[0].stands.as_deref(),
                    both[0].typed.as_deref()
                ),
                (Some("0.3"), Some("0.4"), Some("0.5"))
            );
            assert!(both[0].what.ends_with(" · salt"), "{}", both[0].what);
            assert!(diff(&with(&[amount_of("control", "salt", stands)]), &written).is_empty());
        }
    }

    #[test]
    fn taken_out_by_one_and_changed_by_the_other_is_a_question() {
        let gone = Edit::RemoveLine {
            treatment: "control".into(),
            material: "molasses".into(),
        };
        let more = amount_of("control", "molasses", 3.0);
        let (kept, both) = come_together(
            std::slice::from_ref(&gone),
            std::slice::from_ref(&more),
            Some(Side::Typed),
        );
        assert_eq!((both.len(), both[0].stands.as_deref()), (1, None));
        assert!(diff(&with(std::slice::from_ref(&more)), &kept).is_empty());
        let (left, _) = come_together(std::slice::from_ref(&gone), &[more], Some(Side::Stands));
        assert!(diff(&with(&[gone]), &left).is_empty());
    }

    #[test]
    fn rows_of_both_find_their_places() {
        let line = |material: &str| Edit::AddLine {
            treatment: "control".into(),
            material: material.into(),
            amount: 1.0,
            stage: None,
        };
        let (written, both) = come_together(&[line("egg_white_dried")], &[line("oat_flour")], None);
        assert!(both.is_empty(), "{both:?}");
        let text = write(&written);
        let control = text.split("[[treatment]]").nth(1).unwrap();
        assert!(
            control.contains("egg_white_dried") && control.contains("oat_flour"),
            "{control}"
        );
    }
}
