//! Figures that are told otherwise than when the study was saved.

use maud::{Markup, html};
use study::compare::Moved;
use study::{Figure, Study};

/// What was told then and what is told now, a line for each figure of a treatment; nothing where none moved.
pub fn moved_figures(study: &Study, moved: &[Moved]) -> Markup {
    let name = |id: &str| {
        let named = study.treatment(id).map(|t| t.name.clone());
        named.unwrap_or_else(|| id.to_owned())
    };
    html! {
        @if !moved.is_empty() {
            div .scroll role="region" aria-label="Figures then and now" tabindex="0" {
                table .list {
                    thead { tr { th scope="col" { "treatment" } th scope="col" { "figure" } th scope="col" { "unit" } th .figure scope="col" { "then" } th .figure scope="col" { "now" } } }
                    tbody {
                        @for (i, m) in moved.iter().enumerate() {
                            @if let Some(about) = Figure::with_key(m.figure).map(Figure::about) {
                                @let again = i > 0 && moved[i - 1].treatment == m.treatment;
                                tr {
                                    th scope="row" { span .unseen[again] { (name(&m.treatment)) } }
                                    td { (about.name) }
                                    td .unit { (about.unit.replace('¤', &study.currency)) }
                                    td .figure { (m.then) }
                                    td .figure { (m.now) }
                                }
                            }
                        }
                    }
                }
            }
        }
    }
}
