//! A figure opens downward into its reason.

use super::known::{Known, known};
use crate::number;
use maud::{Markup, html};
use measure::Given;

/// Something that opens into why it is so.
pub fn reason(summary: &str, body: &Markup) -> Markup {
    html! {
        details .reason {
            summary { (summary) }
            (body)
        }
    }
}

/// What a result stands on, with the source and grade of each number.
pub fn givens(givens: &[Given]) -> Markup {
    html! {
        table .givens {
            thead { tr { th scope="col" { "stands on" } th .figure scope="col" { "value" } th scope="col" { "unit" } th scope="col" { "how it is known" } } }
            tbody {
                @for given in givens {
                    tr {
                        th scope="row" { (given.name) }
                        td .figure { @if let Some(value) = given.value { (known(&number::plain(value), Known::from(given.source.grade))) } @else { span .empty { "–" } } }
                        td .unit { (given.unit) }
                        td .source { (given.source.grade.word()) @if !given.source.text.is_empty() { ": " (given.source.text) } }
                    }
                }
            }
        }
    }
}
