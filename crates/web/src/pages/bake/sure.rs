//! How sure a bake is: its checks, the kill with its caution, findings, and what it stands on.

use super::Shown;
use maud::{Markup, html};
use measure::{Finding, Given};
use paper::number;
use paper::parts::{findings, givens, reason};

/// Parts of the answer whose findings belong to the bake.
const ABOUT: [&str; 4] = ["bake", "oven", "piece", "line.cooler"];

pub(super) fn sure(here: &Shown<'_>) -> Markup {
    let b = &here.answer.bake;
    let found: Vec<Finding> = here
        .answer
        .findings
        .iter()
        .filter(|f| ABOUT.iter().any(|part| f.about.starts_with(part)))
        .cloned()
        .collect();
    // What is least sure comes first: it is what to replace.
    let mut stands_on: Vec<Given> = here.answer.given.clone();
    stands_on.sort_by_key(|g| std::cmp::Reverse(g.source.grade));
    html! {
        dl .facts .sure {
            dt { "edges" }
            dd {
                @if let Some(pct) = b.edge_correction_pct {
                    "the edges make the bake " (number::fixed(pct, 1)) " % faster than an endless slab of this thickness"
                } @else { "what the edges do isn’t known, for the target isn’t reached" }
                @match here.treatment.setting.edge_path_share {
                    Some(share) => {
                        "; a correction for edges and docker holes together, fitted to a bake of this piece as a whole or to your own bakes (inner path " (number::fixed(share, 2)) " of area over perimeter). How far off it is for this treatment, "
                        a href="#whole-piece" { "its own bake of the whole piece" } " tells"
                    }
                    None => { "; a correction that knows no docker holes: " a href="#whole-piece" { "the bake of the whole piece" } " tells how far off it is" }
                }
            }
            @if let Some(points) = b.grid_error_points {
                dt { "grid" }
                dd { "mean moisture at the oven’s exit is within about " (number::fixed(points, 2)) " points (20 against 40 cells)" }
            }
            dt { "kill" }
            dd {
                "at the least treated place " (b.kill_shown) ". "
                span .second { "A computed log reduction is no validation of a kill step: a process authority has to validate it for this product, this oven and the organisms of concern." }
            }
        }
        (findings(&found))
        (reason(&format!("What it stands on: {} numbers with their sources", stands_on.len()), &givens(&stands_on)))
    }
}
