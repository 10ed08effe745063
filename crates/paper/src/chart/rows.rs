//! Rows of a horizontal drawing: a name, then something on a common scale.

use super::label::{cut, text_width};
use super::svg::{Anchor, LINE, Width, line, text_mid};
use maud::{Markup, html};

/// How much wider a strong name is than a plain one, by the fonts that were looked at.
const STRONG: f64 = 1.2;

/// How rows stand in a drawing: names to the left where there is room, above where not.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Rows {
    pub left: f64,
    pub right: f64,
    top: f64,
    pitch: f64,
    name_above: bool,
    count: usize,
}

impl Rows {
    /// Lays out rows for these names, `above` units from the top, leaving `right_room`.
    pub fn new<'a>(
        width: Width,
        names: impl Iterator<Item = &'a str> + Clone,
        above: f64,
        right_room: f64,
    ) -> Self {
        let name_above = width == Width::Narrow;
        let widest = names.clone().map(text_width).fold(0.0, f64::max);
        Self {
            left: if name_above {
                1.0
            } else {
                (STRONG * widest).min(200.0) + 12.0
            },
            right: width.units() - right_room,
            top: above,
            pitch: if name_above { 44.0 } else { 28.0 },
            name_above,
            count: names.count(),
        }
    }

    /// The middle of a row's drawing.
    pub fn middle(&self, row: usize) -> f64 {
        let within = if self.name_above { 0.68 } else { 0.5 };
        self.top + (row as f64 + within) * self.pitch
    }

    /// Under the last row.
    pub fn bottom(&self) -> f64 {
        self.top + self.count as f64 * self.pitch + 4.0
    }

    /// The zero line: one down all rows, or a short one per row where names stand above.
    pub fn axis(&self) -> Markup {
        html! {
            @if self.name_above {
                @for row in 0..self.count {
                    @let y = self.middle(row);
                    (line("axis", (self.left, y - 11.0), (self.left, y + 11.0)))
                }
            } @else {
                (line("axis", (self.left, self.top), (self.left, self.bottom())))
            }
        }
    }

    pub fn name(&self, row: usize, class: &str, name: &str) -> Markup {
        let middle = self.middle(row);
        html! {
            @if self.name_above {
                (text_mid(0.0, middle - LINE - 3.0, Anchor::Start, class, &cut(name, self.right)))
            } @else {
                (text_mid(self.left - 12.0, middle, Anchor::End, class, &cut(name, (self.left - 12.0) / STRONG + 0.5)))
            }
        }
    }
}
