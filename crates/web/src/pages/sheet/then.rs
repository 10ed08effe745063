//! What the newest revision was saved with, where this program tells it otherwise.

use crate::pages::InStudy;
use app::{AppError, Then};
use maud::{Markup, html};
use study::MODEL_VERSION;

/// Lines that a table shows without being asked.
const SHORT: usize = 12;

/// The note on the sheet; nothing where the study was saved under this version of the model.
pub async fn note(here: &InStudy<'_>) -> Result<Markup, AppError> {
    let (Some(then), Some(study)) = (here.app.then(&here.view.thing).await?, &here.view.study)
    else {
        return Ok(html! {});
    };
    let dates = here.settings.dates;
    Ok(match then {
        Then::Otherwise {
            revision,
            when,
            model,
            moved,
        } => html! {
            section .then aria-label="Saved under another version of the model" {
                details open[moved.len() <= SHORT] {
                    summary {
                        "Revision " (revision) " was saved under model " (model) " on " (dates.written(&when))
                        "; this program tells it by model " (MODEL_VERSION) ". "
                        @match moved.len() {
                            0 => { "No figure that both tell has moved." }
                            1 => { "One figure has moved; then and now:" }
                            n => { (n) " figures have moved; then and now:" }
                        }
                    }
                    (report::moved_figures(study, &moved))
                }
            }
        },
        Then::NotKept { revision, when } => html! {
            p .then .second {
                "The figures that revision " (revision) " was saved with on " (dates.written(&when))
                " weren’t kept: an earlier program saved it, or the program ended in the midst of it. They may have been others than these of model "
                (MODEL_VERSION) "."
            }
        },
    })
}
