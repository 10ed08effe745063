//! A study that can't be worked out: what is wrong, and its formulas as written, to be mended.

use super::head;
use app::{Settings, StudyView};
use maud::{Markup, html};
use measure::Units;
use std::collections::BTreeMap;
use study::edit::Edit;
use study::written::tables::{MaterialRow, RootRow, TreatmentRow};

/// The name of a cell of a study that isn't worked out.
fn name(treatment: &str, material: &str) -> String {
    format!("c:{treatment}:written:{material}")
}

/// A material by the name that people know.
fn called(view: &StudyView, id: &str) -> String {
    let own = view.written.root.rows(RootRow::material).iter();
    let own = own
        .filter_map(MaterialRow::read)
        .find(|m| m.id.value == Some(id));
    let own = own.and_then(|m| m.name.value.map(str::to_owned));
    let shelf = || formula::shelf::find(id).map(|m| m.name.clone());
    own.or_else(shelf).unwrap_or_else(|| id.to_owned())
}

pub fn body(view: &StudyView, units: Units) -> Markup {
    html! {
        div .broken {
            div data-p="problems" { (head::problems(view, units)) }
            p { "Undo takes back the last change. The formulas below can be changed as they are written." }
            form method="post" action={ "/study/" (view.thing) "/sheet" } {
                (crate::shell::seen(view))
                input type="hidden" name="act" value="cells";
                @for treatment in view.written.treatments().iter().filter_map(TreatmentRow::read) {
                    @let id = treatment.id.value.unwrap_or_default();
                    h3 { (treatment.name.value.unwrap_or(id)) }
                    @if treatment.from.written {
                        p .second { "Starts from " (treatment.from.value.unwrap_or_default()) "." }
                    } @else {
                        table { tbody { @for line in &treatment.lines.value {
                            @let material = line.material.value.unwrap_or_default();
                            @let called = called(view, material);
                            tr { th scope="row" { (called) } td .figure {
                                @if line.balance.value == Some(true) { "balance" }
                                @else { input .amount type="text" inputmode="decimal" name=(name(id, material)) value=[line.amount.value.map(|n| n.to_string())] aria-label={ (called) ", " (treatment.name.value.unwrap_or(id)) }; }
                            } }
                        } } }
                    }
                }
                button .main { "Keep these amounts" }
            }
        }
    }
}

/// Amounts as they are written; cells that say what stands there already change nothing.
pub fn typed(
    settings: &Settings,
    cells: &BTreeMap<String, String>,
) -> (Vec<Edit>, BTreeMap<String, String>) {
    let (mut edits, mut errors) = (Vec::new(), BTreeMap::new());
    for (cell, text) in cells {
        let mut parts = cell.split(':').skip(1);
        let (Some(treatment), Some(_), Some(material)) = (parts.next(), parts.next(), parts.next())
        else {
            continue;
        };
        let (treatment, material) = (treatment.to_owned(), material.to_owned());
        if text.trim().is_empty() {
            edits.push(Edit::RemoveLine {
                treatment,
                material,
            });
            continue;
        }
        match settings.number("amount", text) {
            Ok(amount) => edits.push(Edit::SetAmount {
                treatment,
                material,
                amount,
            }),
            Err(error) => {
                errors.insert(cell.clone(), error.to_string());
            }
        }
    }
    (edits, errors)
}
