//! The history of a study: its revisions, what changed between any two, in words and numbers.

use crate::changes::{Change, diff};
use crate::reading::reading;
use crate::{App, AppError};
use book::{Entry, Kind, Page, Pageful};
use serde::Serialize;
use std::sync::Arc;
use study::Figure;

/// What a figure of a treatment was and is.
#[derive(Clone, Debug, Serialize)]
pub struct FigureChange {
    /// The treatment.
    pub treatment: String,
    /// Key of the figure.
    pub figure: &'static str,
    /// Its value before; none when it wasn't known or the treatment wasn't there.
    pub was: Option<f64>,
    /// Its value after.
    pub is: Option<f64>,
}

/// What changed from one revision to another.
#[derive(Clone, Debug, Serialize)]
pub struct Difference {
    /// The earlier revision.
    pub from: u64,
    /// The later one.
    pub to: u64,
    /// What was written differently.
    pub changes: Vec<Change>,
    /// What came out differently.
    pub figures: Vec<FigureChange>,
}

impl App {
    /// The revisions of a study, the newest first.
    ///
    /// # Errors
    /// No such study; what the book tells.
    pub async fn history(&self, thing: &str, page: Page) -> Result<Pageful<Entry>, AppError> {
        self.newest(thing).await?;
        Ok(self.book.history(Kind::Study, thing, page).await?)
    }

    /// What changed from one revision of a study to another.
    ///
    /// # Errors
    /// No such study or revision; a form that can't be read; what the book tells.
    pub async fn difference(
        &self,
        thing: &str,
        from: u64,
        to: u64,
    ) -> Result<Difference, AppError> {
        let before = reading(&self.form_at(thing, from).await?)?;
        let after = reading(&self.form_at(thing, to).await?)?;
        let changes = diff(&before.written, &after.written);
        let desk = Arc::clone(&self.desk);
        let figures = tokio::task::spawn_blocking(move || {
            let (before, after) = (before.answers(&desk), after.answers(&desk));
            let mut figures = Vec::new();
            for now in &after.compared {
                let Some(then) = before
                    .compared
                    .iter()
                    .find(|c| c.answer.id == now.answer.id)
                else {
                    continue;
                };
                for figure in Figure::ALL {
                    let about = figure.about();
                    let (was, is) = (figure.value(&then.answer), figure.value(&now.answer));
                    let decimals = figure.decimals_for(was.or(is).unwrap_or(0.0));
                    let shown = |v: Option<f64>| v.map(|v| format!("{v:.decimals$}"));
                    if shown(was) != shown(is) {
                        figures.push(FigureChange {
                            treatment: now.answer.name.clone(),
                            figure: about.key,
                            was,
                            is,
                        });
                    }
                }
            }
            figures
        })
        .await
        .map_err(|e| AppError::BrokenOff(e.to_string()))?;
        Ok(Difference {
            from,
            to,
            changes,
            figures,
        })
    }

    /// The revisions of the whole book, the newest first.
    ///
    /// # Errors
    /// What the book tells.
    pub async fn recent(&self, page: Page) -> Result<Pageful<Entry>, AppError> {
        Ok(self.book.recent(page).await?)
    }
}
