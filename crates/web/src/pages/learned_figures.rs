//! What batches measured, followed over the formulas: learned figures of every treatment under the sheet.

use super::InStudy;
use super::next::address_for;
use app::{AppError, ResponseLearned};
use maud::{Markup, html};
use paper::number;
use paper::parts::{Known, known};

/// Each measured response as a figure of every treatment, with the interval of the next batch; nothing where nothing was
/// measured.
pub(crate) async fn part(page: &InStudy<'_>) -> Result<Markup, AppError> {
    let all = page.app.responses_learned(page.view).await?;
    let told: Vec<&ResponseLearned> = all.iter().filter_map(|r| r.as_ref().ok()).collect();
    let not: Vec<&(String, String)> = all.iter().filter_map(|r| r.as_ref().err()).collect();
    let names = told.first().map_or(&[][..], |r| &r.of_treatments[..]);
    Ok(html! {
        @if !all.is_empty() {
            section .part #learned-figures {
                h2 { "Learned from batches" }
                @if !told.is_empty() {
                    div .scroll role="region" aria-label="Learned from batches" tabindex="0" { table .list .learned {
                        thead { tr { th scope="col" { "the next batch, 95 %" } @for (name, _) in names { th .n scope="col" { (name) } } } }
                        tbody { @for r in &told { tr {
                            th scope="row" { a href=(address_for(&page.view.thing, &r.id)) { (r.response.0) } @if !r.response.1.is_empty() { span .unit { ", " (r.response.1) } } span .second { ", " (r.batches) " batches" } }
                            @for (_, told) in &r.of_treatments {
                                @let [low, high] = told.next_interval();
                                td .n { (known(&number::three(told.mean), Known::Learned)) p .second { (number::three(low)) " to " (number::three(high)) } }
                            }
                        } } }
                    } }
                    p .second { "What trials of this study measured, followed over the formulas by the model that tells unseen formulas better. A wide interval means that no batch was near." }
                }
                @for (name, why) in not { p .second { (name) ": " (why) "." } }
            }
        }
    })
}
