//! Lines to fill in by hand: weights, names, signatures.

use maud::{Markup, html};

/// A line to write on, with what belongs there.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Line {
    /// What belongs on it, e.g. `weighed by`.
    pub name: String,
}

/// Draws lines to fill in, side by side.
pub fn lines_to_fill(lines: &[Line]) -> Markup {
    html! {
        div .to-fill {
            @for line in lines { div { span .rule {} span .name { (line.name) } } }
        }
    }
}
