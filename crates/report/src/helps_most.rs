//! Which setting would help most, ranked.

use maud::{Markup, html};
use paper::number;
use study::compare::sensitivity::Sensitivity;

/// Half the width of the drawing in a row, in its units.
const HALF: f64 = 60.0;

/// How the bake time answers to each setting, the strongest first; `bake_min` is the time now.
pub fn helps_most(all: &[Sensitivity], bake_min: f64) -> Markup {
    let most = all
        .iter()
        .filter_map(|s| s.minutes)
        .map(f64::abs)
        .fold(0.0, f64::max);
    html! {
        table .helps-most {
            caption { "Which setting would help most" }
            thead { tr {
                th scope="col" { "one change at a time" }
                th .figure scope="col" { "bake, min" }
                th .swing scope="col" { span .shorter { "shorter" } span { "longer" } }
                th .figure scope="col" { "of the bake, %" }
            } }
            tbody {
                @for s in all {
                    tr {
                        th scope="row" { (s.setting) }
                        @match s.minutes {
                            Some(minutes) => {
                                td .figure { (signed(minutes, 2)) }
                                td .swing { (swing(minutes, most)) }
                                td .figure { (signed(100.0 * minutes / bake_min, 1)) }
                            }
                            None => td colspan="3" .second { "the target isn’t reached any more" },
                        }
                    }
                }
            }
        }
    }
}

fn signed(value: f64, places: usize) -> String {
    let text = number::fixed(value, places);
    let nothing = text.bytes().all(|b| matches!(b, b'0' | b'.'));
    if value > 0.0 && !nothing {
        format!("+{text}")
    } else {
        text
    }
}

fn swing(minutes: f64, most: f64) -> Markup {
    let long = HALF * (minutes.abs() / most.max(1e-9)).min(1.0);
    let from = if minutes < 0.0 { HALF - long } else { HALF };
    html! {
        svg .swing viewBox="0 0 120 14" aria-hidden="true" {
            rect .bar .strong[minutes < 0.0] x=(format!("{from:.1}")) y="3" width=(format!("{long:.1}")) height="8" {}
            line .axis x1="60" x2="60" y1="0" y2="14" {}
        }
    }
}
