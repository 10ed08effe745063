//! A study that can't be worked out: what is wrong, and its formulas as written, to be mended.

use super::head;
use app::{Settings, StudyView};
use maud::{Markup, html};
use std::collections::BTreeMap;
use study::edit::Edit;
use study::written::Row;

/// The name of a cell of a study that isn't worked out.
fn name(treatment: &str, material: &str) -> String {
    format!("c:{treatment}:written:{material}")
}

pub fn body(view: &StudyView) -> Markup {
    let text = |row: &Row, key: &str| row.text(key).unwrap_or_default().to_owned();
    html! {
        div .broken {
            div data-p="problems" { (head::problems(view)) }
            p { "Undo takes back the last change. The formulas below can be changed as they are written." }
            form method="post" action={ "/study/" (view.thing) "/sheet" } {
                (crate::shell::seen(view))
                input type="hidden" name="act" value="cells";
                @for treatment in view.written.root.rows("treatment") {
                    @let id = text(treatment, "id");
                    h3 { (treatment.text("name").unwrap_or(&id)) }
                    @if treatment.has("from") {
                        p .second { "Starts from " (text(treatment, "from")) "." }
                    } @else {
                        table { tbody { @for line in treatment.rows("lines") {
                            @let material = text(line, "material");
                            tr { th scope="row" { (material) } td .figure {
                                @if line.flag("balance") { "balance" }
                                @else { input .amount type="text" inputmode="decimal" name=(name(&id, &material)) value=[line.number("amount").map(|n| n.to_string())] aria-label={ (material) ", " (id) }; }
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
