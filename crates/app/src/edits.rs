//! Changing a study: edits, undo and redo go into a draft that is kept at once.

use crate::cells::{cells, touched};
use crate::drafts::{Asked, Becomes, Seen, Standing, Stands};
use crate::reading::{readable, reading};
use crate::sheet::StudyView;
use crate::steps::Step;
use crate::{App, AppError};
use study::edit::{self, Edit, EditError, Why};
use study::written::tables::TreatmentRow;
use study::written::{StudyWritten, write};

/// Whether an edit is about amounts; what else can't be is told at its field by the page that sent it.
fn of_amounts(edit: &Edit) -> bool {
    match edit {
        Edit::SetAmount { .. } | Edit::Swap { .. } | Edit::SetBalance { .. } => true,
        Edit::SetField { path, .. } => path == "percent_of",
        _ => false,
    }
}

/// Refuses edits of amounts after which a study that is worked out couldn't be any more.
pub(crate) fn still_worked_out(
    edits: &[Edit],
    before: &StudyWritten,
    after: &StudyWritten,
) -> Result<(), AppError> {
    if !edits.iter().any(of_amounts) {
        return Ok(());
    }
    let read = |written: &StudyWritten| reading(&write(written)).ok();
    let Some(now) = read(after) else {
        return Ok(());
    };
    let now = now.resolved();
    if now.study.is_some() || read(before).is_none_or(|r| r.resolved().study.is_none()) {
        return Ok(());
    }
    let Some(problem) = now.problems.first().cloned() else {
        return Ok(());
    };
    let treatment = problem.path.treatment().and_then(|id| after.treatment(id));
    let name = treatment.and_then(|t| t.get(TreatmentRow::name));
    let whose = name.map_or_else(|| "the study".to_owned(), |name| format!("“{name}”"));
    Err(EditError::NotNow {
        what: format!("after this {whose} couldn't be worked out, so nothing was changed"),
        why: Why::Problem(Box::new(problem)),
    }
    .into())
}

impl App {
    /// Makes edits, all or none, in the person's draft. `seen` is what they looked at: where another window of theirs
    /// has changed other cells since, the edits are made on that; where it has changed the same ones, they are refused
    /// with both values.
    ///
    /// # Errors
    /// What an edit can't do, and then nothing is changed; [`AppError::Overtaken`]; what the book tells.
    pub async fn edit(
        &self,
        who: &str,
        thing: &str,
        seen: impl Into<Seen>,
        edits: &[Edit],
    ) -> Result<StudyView, AppError> {
        let asked = Asked::Edits(edits);
        self.change(who, thing, &seen.into(), asked).await
    }

    /// Puts a whole text in the draft, as after an import into a study.
    ///
    /// # Errors
    /// A text that can't be read; [`AppError::Overtaken`]; what the book tells.
    pub async fn put_text(
        &self,
        who: &str,
        thing: &str,
        seen: impl Into<Seen>,
        text: &str,
    ) -> Result<StudyView, AppError> {
        let written = readable(text)?;
        let asked = Asked::Whole(&written);
        self.change(who, thing, &seen.into(), asked).await
    }

    /// What a change makes of what stands.
    pub(crate) async fn becomes(
        &self,
        who: &str,
        thing: &str,
        seen: &Seen,
        asked: Asked<'_>,
        stood: &Standing,
    ) -> Result<Becomes, AppError> {
        seen.is_of_the_past(stood)?;
        let (stands, written) = match asked {
            Asked::Step { forth } => return self.stepping(who, thing, seen, forth, stood).await,
            Asked::Settled { seen, choices } => {
                return self.settled(thing, seen, choices, stood).await;
            }
            Asked::Whole(written) => {
                let stands = self.made_on(who, thing, seen, stood).await?;
                (stands, written.clone())
            }
            Asked::Edits(edits) => {
                let stands = self.made_on(who, thing, seen, stood).await?;
                let written = edit::apply_all(&stands.written, edits)?;
                still_worked_out(edits, &stands.written, &written)?;
                (stands, written)
            }
        };
        self.overtaken(who, thing, seen, &stands, &written).await?;
        Ok(Becomes {
            base: stands.base,
            written,
        })
    }

    async fn stepping(
        &self,
        who: &str,
        thing: &str,
        seen: &Seen,
        forth: bool,
        stood: &Standing,
    ) -> Result<Becomes, AppError> {
        self.all_seen(who, thing, seen, stood)?;
        let step = match self.steps.next(who, thing, forth) {
            Some(step) => step,
            None if forth => return Err(AppError::NothingTo("redo")),
            // Steps from before the program was started are gone; the revision stays.
            None if stood.draft.is_some() => Step {
                base: stood.base,
                form: self.form_at(thing, stood.base).await?,
            },
            None => self
                .before(thing, stood.base)
                .await?
                .ok_or(AppError::NothingTo("undo"))?,
        };
        Ok(Becomes {
            base: step.base,
            written: StudyWritten::clone(&*readable(&step.form)?),
        })
    }

    /// Notes a change among the steps, as long as nobody else of the person's can change anything.
    pub(crate) fn stepped(
        &self,
        who: &str,
        thing: &str,
        asked: Asked<'_>,
        view: &mut StudyView,
        before: Step,
    ) {
        match asked {
            Asked::Step { forth } => {
                // What can't be read can't be come back to.
                let before = Some(before).filter(|step| readable(&step.form).is_ok());
                self.steps.taken(who, thing, forth, before);
                let (back, forth) = self.steps.count(who, thing);
                view.can_undo = back > 0 || view.draft.is_some() || view.newest.number > 1;
                view.can_redo = forth > 0;
            }
            Asked::Edits(_) | Asked::Whole(_) | Asked::Settled { .. }
                if view.text != before.form =>
            {
                self.steps.made(who, thing, before);
                (view.can_undo, view.can_redo) = (true, false);
            }
            Asked::Edits(_) | Asked::Whole(_) | Asked::Settled { .. } => {}
        }
    }

    /// The state that an edit is made on: the draft, or the revision that was looked at.
    async fn made_on(
        &self,
        who: &str,
        thing: &str,
        seen: &Seen,
        stood: &Standing,
    ) -> Result<Stands, AppError> {
        let stood = stood.clone();
        if stood.base == seen.base {
            return stood.read();
        }
        match &stood.draft {
            // It was this person who saved, in another window.
            _ if stood.base == stood.newest.number
                && stood.newest.who == who
                && seen.counter.is_some() =>
            {
                stood.read()
            }
            Some(_) => Err(AppError::Moved {
                seen: seen.base,
                draft: stood.base,
            }),
            // Somebody saved since; the edit belongs to what was looked at, and saving will tell.
            None => {
                let text = self.form_at(thing, seen.base).await?;
                Standing {
                    base: seen.base,
                    text,
                    ..stood
                }
                .read()
            }
        }
    }

    /// Refuses a change of a cell that was changed in a way this window couldn't see.
    async fn overtaken(
        &self,
        who: &str,
        thing: &str,
        seen: &Seen,
        stands: &Stands,
        after: &StudyWritten,
    ) -> Result<(), AppError> {
        // A change of an older revision meets the newer ones when it is saved.
        if stands.draft.is_none() && stands.base != stands.newest.number {
            return Ok(());
        }
        let unseen = self.unseen(who, thing, seen, stands).await?;
        if unseen.is_empty() {
            return Ok(());
        }
        let (theirs, yours) = (cells(&stands.written), cells(after));
        let both = touched(&theirs, &yours)
            .into_iter()
            .find(|cell| unseen.contains(cell));
        both.map_or(Ok(()), |cell| {
            let value = |cells: &crate::cells::Cells| {
                let none = || "nothing".to_owned();
                cells
                    .get(&cell)
                    .map_or_else(none, |v| v.chars().take(200).collect())
            };
            Err(AppError::Overtaken {
                theirs: value(&theirs),
                yours: value(&yours),
                cell,
            })
        })
    }

    /// One step back: in the draft, else to the revision before.
    ///
    /// # Errors
    /// Nothing to undo; [`AppError::Unseen`]; what the book tells.
    pub async fn undo(
        &self,
        who: &str,
        thing: &str,
        seen: impl Into<Seen>,
    ) -> Result<StudyView, AppError> {
        let asked = Asked::Step { forth: false };
        self.change(who, thing, &seen.into(), asked).await
    }

    /// One step forth again.
    ///
    /// # Errors
    /// Nothing to redo; [`AppError::Unseen`]; what the book tells.
    pub async fn redo(
        &self,
        who: &str,
        thing: &str,
        seen: impl Into<Seen>,
    ) -> Result<StudyView, AppError> {
        let asked = Asked::Step { forth: true };
        self.change(who, thing, &seen.into(), asked).await
    }

    /// The form of the revision before one, as a change of that one.
    async fn before(&self, thing: &str, number: u64) -> Result<Option<Step>, AppError> {
        for earlier in (1..number).rev() {
            let form = self.form_at(thing, earlier).await?;
            if !form.is_empty() {
                return Ok(Some(Step { base: number, form }));
            }
        }
        Ok(None)
    }
}
