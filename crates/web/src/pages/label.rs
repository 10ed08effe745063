//! The label: the drafts of all treatments beside each other, with their cautions.

use super::chosen::nothing;
use super::{InStudy, troubles};
use ::study::compare::bound::Bound;
use app::AppError;
use maud::{Markup, html};
use serde_json::{Value, json};

/// What stands inside `<main>`.
pub(crate) async fn body(page: &InStudy<'_>) -> Result<Markup, AppError> {
    let all = &page.view.answers.compared;
    let species = page.view.study.as_deref().map(|s| s.species.word());
    Ok(html! {
        h1 { "Label drafts" }
        (troubles(page))
        @if all.is_empty() { (nothing(page, "label")) } @else {
            p .draft-notice { b { "Draft." } " Have it checked against the rules in force where the treat is sold, and the analysis by a laboratory, before anything is printed." }
            p .second {
                @if let Some(species) = species { "For " (species) "s. " }
                "Calculated at the packed moisture. " (Bound::LEGEND) " A guarantee is the calculated mean with a simple margin; it knows nothing yet of how your lots vary."
            }
            (report::labels_beside(all))
        }
    })
}

/// The same as JSON.
pub(crate) async fn json(page: &InStudy<'_>) -> Result<Value, AppError> {
    let labels = page.view.answers.compared.iter().map(|c| {
        json!({
            "id": c.answer.id,
            "name": c.answer.name,
            "draft": "have it checked against the rules in force where the treat is sold",
            "label": c.answer.label,
            "nutrition": c.answer.nutrition,
            "findings": c.answer.findings,
        })
    });
    Ok(json!({ "treatments": labels.collect::<Vec<_>>() }))
}
