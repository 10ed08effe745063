//! What the answers are not.

use maud::{Markup, html};
use study::compare::Limit;

/// The limits of what a report says, in plain words.
pub fn limits_of_validity() -> Markup {
    html! {
        ul .limits-of-validity {
            @for (head, rest) in Limit::ALL.map(Limit::words) { li { b { (head) " " } (rest) } }
        }
    }
}
